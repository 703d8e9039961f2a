//! Step 3: how the drive is hung, as far as what was seen tells. Closed forms, exact.
//!
//! A chain on which the dot of sprocket i lies `d_i` links past the link it belongs on carries that
//! sprocket `e_i = d_i - d_c` teeth ahead of the sprocket c that drives it (modulo the chain's
//! links, the smallest representative). One tooth is the same crank angle at every sprocket of a
//! chain, so a shaft's whole error is the plain sum of `e * tooth` along the way from the crankshaft.

use crate::drive::ids::Engagement;
use crate::drive::model::{Drive, Shaft};
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, Turns};

/// How far a shaft is from where it belongs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Offset {
    /// Above zero: ahead (advanced). Below zero: behind (retarded).
    pub angle: CrankDegrees,
    /// Exactly half way around, so that ahead and behind are the same.
    pub either_way: bool,
}

/// How far a sprocket is from where it belongs, against the sprocket that drives its chain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OwnOffset {
    /// Above zero: ahead (advanced).
    pub teeth: Teeth,
    /// Exactly half the chain, so that ahead and behind are the same.
    pub either_way: bool,
}

/// What is known of one shaft.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct ShaftHung {
    /// By the links on its dots and on those of the shafts that drive it.
    pub by_links: Option<Offset>,
    /// By its dot against the engine.
    pub by_dots: Option<Offset>,
}

/// A drive as it is hung, as far as it was looked at.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hung {
    /// Links past the one that belongs on the dot, by sprocket.
    seats: Vec<Option<Teeth>>,
    own: Vec<Option<OwnOffset>>,
    shafts: Vec<ShaftHung>,
    /// Links seen on a dot that is not in its timed place at this crank position.
    unreadable: Vec<Engagement>,
    /// Sprockets of closed loops whose links contradict the rest of the loop.
    open_loops: Vec<Engagement>,
    /// The crankshaft's dot is exactly half a turn from its mark.
    crank_half_turn: bool,
    /// Dots that are not where they are due, with nothing to measure them from.
    loose_dots: Vec<(Engagement, Turns)>,
    /// How far the crankshaft's dot is past where it is due, the other dots being measured from it.
    crank_past: Turns,
}

impl Hung {
    /// How many links past the one on which it belongs the dot of `at` lies: counted against its
    /// own coloured link, after the crankshaft has turned; modulo the chain's links.
    pub fn seat(&self, drive: &Drive, at: Engagement) -> Option<Teeth> {
        self.seats.get(drive.index(at)).copied().flatten()
    }

    /// The same, had the dot of `at` been on a link so many further on.
    pub(crate) fn with_link_moved(
        &self,
        drive: &Drive,
        at: Engagement,
        by: Teeth,
    ) -> Result<Self, OutOfRange> {
        let mut hung = self.clone();
        if let Some(Some(seat)) = hung.seats.get_mut(drive.index(at)) {
            *seat = seat.checked_add(by)?;
        }
        Ok(hung)
    }

    /// How far the sprocket `at` is ahead of the one that drives its chain.
    pub fn own(&self, drive: &Drive, at: Engagement) -> Option<OwnOffset> {
        self.own.get(drive.index(at)).copied().flatten()
    }

    /// What is known of each shaft, in the order of [`Drive::shafts`].
    pub fn shafts(&self) -> &[ShaftHung] {
        &self.shafts
    }

    /// Links seen on a dot that is not in its timed place at this crank position.
    pub fn unreadable(&self) -> &[Engagement] {
        &self.unreadable
    }

    /// Sprockets of closed loops whose links contradict the rest of the loop.
    pub fn open_loops(&self) -> &[Engagement] {
        &self.open_loops
    }

    /// The crankshaft's dot is exactly half a turn from its mark, so that it cannot be told which
    /// turn it belongs to, and no dot proves anything.
    pub fn crank_half_turn(&self) -> bool {
        self.crank_half_turn
    }

    /// Dots that are not where they are due, while the crankshaft's dot, or every other one, was not
    /// looked at: each with how far ahead it is in its own turns. They prove nothing, and speak
    /// against everything else.
    pub fn loose_dots(&self) -> &[(Engagement, Turns)] {
        &self.loose_dots
    }

    /// How far the crankshaft's dot is past where it is due after the turns that are given.
    pub fn crank_past(&self) -> Turns {
        self.crank_past
    }
}

/// What `seen` says about `drive`.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{Observations, link_named, timing::hang, units::Teeth};
///
/// let intake = link_named(&drive, "intake")?;
/// let mut seen = Observations::at_timed_position();
/// seen.see_link(&drive, link_named(&drive, "crank")?, "on".parse()?)?;
/// seen.see_link(&drive, intake, "2 behind".parse()?)?;
/// let hung = hang(&drive, &seen)?;
/// let own = hung.own(&drive, intake).ok_or("not known")?;
/// assert_eq!(own.teeth, Teeth::whole(-2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] and [`Observations`] prevent it.
pub fn hang(drive: &Drive, seen: &Observations) -> Result<Hung, OutOfRange> {
    let count = drive.engagement_count();
    let mut hung = Hung {
        seats: vec![None; count],
        own: vec![None; count],
        shafts: vec![ShaftHung::default(); drive.shafts().count()],
        unreadable: Vec::new(),
        open_loops: Vec::new(),
        crank_half_turn: false,
        loose_dots: Vec::new(),
        crank_past: Turns::ZERO,
    };
    let here = Offset {
        angle: CrankDegrees::ZERO,
        either_way: false,
    };
    by_dots(drive, seen, &mut hung)?;
    seats(drive, seen, &mut hung)?;
    hung.shafts[drive.crank().index()].by_links = Some(here);
    for id in drive.driven() {
        let Some(at) = drive.shaft(id).driven_at() else {
            continue;
        };
        hung.shafts[id.index()].by_links = along(drive, &hung, at)?;
    }
    // A shaft in a closed loop is reached a second time; both ways must say the same.
    for (at, sprocket) in drive.engagements() {
        let shaft = drive.shaft(sprocket.shaft());
        if shaft.driven_at() == Some(at)
            || at == drive.driver_of(at.chain)
            || sprocket.shaft() == drive.crank()
        {
            continue;
        }
        let Some(again) = along(drive, &hung, at)? else {
            continue;
        };
        match hung.shafts[sprocket.shaft().index()].by_links {
            None => hung.shafts[sprocket.shaft().index()].by_links = Some(again),
            Some(first) if !same_angle(shaft, first.angle, again.angle)? => {
                hung.open_loops.push(at)
            }
            Some(_) => {}
        }
    }
    if seen.links().is_empty() {
        hung.shafts[drive.crank().index()].by_links = None;
    }
    Ok(hung)
}

/// Are both the same position of that shaft? One whole turn of it changes nothing.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub(crate) fn same_angle(
    shaft: &Shaft,
    a: CrankDegrees,
    b: CrankDegrees,
) -> Result<bool, OutOfRange> {
    if a == b {
        return Ok(true);
    }
    let turn = shaft.turn()?.get();
    Ok(a.checked_sub(b)?.get().modulo(turn)?.is_zero())
}

/// The whole error of the shaft driven at `at`: that of the shaft that drives it, and its own.
fn along(drive: &Drive, hung: &Hung, at: Engagement) -> Result<Option<Offset>, OutOfRange> {
    let driver = drive.sprocket(drive.driver_of(at.chain)).shaft();
    let known = hung.shafts[driver.index()];
    let (Some(base), Some(own)) = (known.by_links.or(known.by_dots), hung.own[drive.index(at)])
    else {
        return Ok(None);
    };
    let own_angle = drive.chain(at.chain).crank_degrees_of(own.teeth)?;
    Ok(Some(Offset {
        angle: base.angle.checked_add(own_angle)?,
        either_way: base.either_way || own.either_way,
    }))
}

/// Fills in where links were seen, and what that makes of each sprocket on its chain.
fn seats(drive: &Drive, seen: &Observations, hung: &mut Hung) -> Result<(), OutOfRange> {
    let turned = seen.turned().get();
    for (at, what) in seen.links() {
        let chain = drive.chain(at.chain);
        let sprocket = drive.sprocket(*at);
        if !turned.is_zero()
            && !drive
                .shaft(sprocket.shaft())
                .speed()
                .checked_mul(turned)?
                .is_whole()
        {
            hung.unreadable.push(*at);
            continue;
        }
        let Some(mark) = sprocket.mark() else {
            continue;
        };
        let past_mark = match what {
            Seen::Teeth(teeth) => *teeth,
            Seen::ShaftDegrees(angle) => Teeth::new(
                angle
                    .checked_mul(sprocket.teeth().to_exact())?
                    .checked_div(Exact::whole(360))?,
            ),
            Seen::CrankDegrees(angle) => chain.teeth_in(*angle)?,
            Seen::Link(link) => link.since(mark.link)?,
        };
        // Since it was timed the chain has moved speed * turned links under each dot's timed place,
        // so that the link that belongs there now is that much lower.
        let moved = Teeth::new(chain.speed().checked_mul(turned)?);
        hung.seats[drive.index(*at)] = Some(past_mark.checked_add(moved)?);
    }
    for (id, chain) in drive.chains() {
        let driver = hung.seats[drive.index(drive.driver_of(id))];
        let Some(driver) = driver else { continue };
        let links = chain.links().to_exact();
        for (at, _) in chain.engagements(id) {
            let index = drive.index(at);
            let Some(seat) = hung.seats[index] else {
                continue;
            };
            let teeth = seat.checked_sub(driver)?.get().nearest_modulo(links)?;
            hung.own[index] = Some(OwnOffset {
                teeth: Teeth::new(teeth),
                either_way: teeth.is_half_of(links),
            });
        }
    }
    Ok(())
}

/// How far ahead of where it should stand the shaft of a dot was seen, in its own turns: the
/// smallest representative, for a dot says nothing about whole turns.
pub(crate) fn ahead(
    drive: &Drive,
    seen: &Observations,
    at: Engagement,
    what: Seen,
) -> Result<Turns, OutOfRange> {
    let sprocket = drive.sprocket(at);
    let speed = drive.shaft(sprocket.shaft()).speed();
    let full = Exact::whole(360);
    let past_mark = match what {
        Seen::Teeth(teeth) => teeth.get().checked_div(sprocket.teeth().to_exact())?,
        Seen::ShaftDegrees(angle) => angle.checked_div(full)?,
        Seen::CrankDegrees(angle) => angle.get().checked_div(full)?.checked_mul(speed)?,
        // Refused when it was taken down.
        Seen::Link(_) => Exact::ZERO,
    };
    let expected = seen.turned().get().checked_mul(speed)?;
    Ok(Turns::new(
        past_mark
            .checked_sub(expected)?
            .nearest_modulo(Exact::ONE)?,
    ))
}

fn by_dots(drive: &Drive, seen: &Observations, hung: &mut Hung) -> Result<(), OutOfRange> {
    let crank = seen.dot(drive, drive.crank());
    let alone = seen.dots().len() == 1;
    let Some((at, what)) = crank.filter(|_| !alone) else {
        for (at, what) in seen.dots() {
            let ahead = ahead(drive, seen, *at, *what)?;
            if !ahead.is_zero() {
                hung.loose_dots.push((*at, ahead));
            }
            // The crankshaft is what the others are measured from, even while there are none.
            let id = drive.sprocket(*at).shaft();
            if id == drive.crank() {
                hung.shafts[id.index()].by_dots = Some(Offset {
                    angle: CrankDegrees::ZERO,
                    either_way: false,
                });
            }
        }
        return Ok(());
    };
    let crank_ahead = ahead(drive, seen, at, what)?;
    hung.crank_past = crank_ahead;
    if crank_ahead.get().is_half_of(Exact::ONE) {
        hung.crank_half_turn = true;
        return Ok(());
    }
    for (at, what) in seen.dots() {
        let id = drive.sprocket(*at).shaft();
        let shaft = drive.shaft(id);
        // In crank turns: where the shaft stands, less where the crankshaft stands.
        let period = shaft.period();
        let own = ahead(drive, seen, *at, *what)?.get().checked_mul(period)?;
        let turns = own.checked_sub(crank_ahead.get())?.nearest_modulo(period)?;
        hung.shafts[id.index()].by_dots = Some(Offset {
            angle: Turns::new(turns).to_crank_degrees()?,
            either_way: turns.is_half_of(period),
        });
    }
    Ok(())
}
