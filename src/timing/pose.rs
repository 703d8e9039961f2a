//! Step 3, once more for a picture: where every dot and every link sprockets, whether it is hung as it
//! was seen, hung wrong on purpose, or right. Exact.
//!
//! Let `a` be how far a shaft is ahead of where it belongs, in its own turns, `z` the teeth of its
//! sprocket and `X` how far the chain is ahead of where it belongs, in links. The link on a dot
//! lies `d = a z - X` past the one that belongs there. The sprocket that drives the chain gives
//! `X = a z - d`, every other one then `a = (d + X) / z`.

use crate::drive::error::CheckError;
use crate::drive::ids::{ChainId, DriveTag, Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::timing::check::link_due;
use crate::timing::hang::hang;
use crate::timing::observe::Observations;
use crate::units::quantity::{CrankDegrees, Exact, LinkPosition, OutOfRange, Teeth, Turns};

/// On what grounds a sprocket is said to stand as it does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Basis {
    /// It is given to stand so.
    Given,
    /// It was seen.
    Seen,
    /// Nobody looked: it is where it belongs on its chain, or where the chain carries it, and that
    /// proves nothing.
    Unseen,
}

/// How one sprocket sprockets.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SprocketPose {
    /// The sprocket.
    pub at: Engagement,
    /// How far its dot is past its timed place, in turns of its shaft: from 0 up to 1.
    pub past: Turns,
    /// How far past it the dot belongs now.
    pub due: Turns,
    /// How far the dot is ahead of where it belongs.
    pub ahead: Teeth,
    /// How far the link on the dot lies past the one that belongs there.
    pub seat: Teeth,
    /// The link that belongs on its dot, if its dot belongs in its timed place now and has a link.
    pub link_due: Option<LinkPosition>,
    /// On what grounds.
    pub basis: Basis,
}

/// A drive as it sprockets.
#[derive(Clone, PartialEq, Debug)]
pub struct Pose {
    drive: DriveTag,
    turned: Turns,
    sprockets: Vec<SprocketPose>,
    /// Links by which each chain has moved on since it was timed.
    moved: Vec<Exact>,
    /// Turns by which each shaft is ahead.
    ahead: Vec<Exact>,
}

impl Pose {
    /// Hung with the dot of each sprocket in `slips` so many teeth past its link (below zero:
    /// before it), all others on theirs, and turned by hand after that.
    ///
    /// ```
    /// use tautmark::{Drive, Source, link_named, timing::Pose, units::{Teeth, Turns}};
    ///
    /// let source = Source::new("wren", std::fs::read("engines/wren-single.yaml")?)?;
    /// let drive = Drive::read(&source).drive.ok_or("not usable")?;
    /// let (crank, cam) = (link_named(&drive, "crank")?, link_named(&drive, "cam")?);
    /// // The crankshaft is what all is measured from: its sprocket one tooth ahead in the chain
    /// // leaves the camshaft one tooth behind, its dot on its own link all the same.
    /// let pose = Pose::slipped(&drive, Turns::ZERO, &[(crank, Teeth::whole(1))])?;
    /// assert_eq!(pose.sprocket(&drive, cam).map(|cam| (cam.ahead, cam.seat)), Some((Teeth::whole(-1), Teeth::ZERO)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`CheckError::OtherDrive`] if a sprocket is of another drive.
    pub fn slipped(
        drive: &Drive,
        turned: Turns,
        slips: &[(Engagement, Teeth)],
    ) -> Result<Self, CheckError> {
        if !slips.iter().all(|(at, _)| drive.owns(*at)) {
            return Err(CheckError::OtherDrive);
        }
        let seat = |at: Engagement| {
            let slip = slips.iter().find(|(other, _)| *other == at);
            Some(slip.map_or(Teeth::ZERO, |(_, teeth)| *teeth))
        };
        Ok(Self::new(drive, turned, &seat, &|_| None, &|_| {
            Basis::Given
        })?)
    }

    /// As it was seen. Where links and dots contradict each other, the links are drawn.
    ///
    /// # Errors
    /// [`CheckError::OtherDrive`] if it was seen at another drive.
    pub fn seen(drive: &Drive, seen: &Observations) -> Result<Self, CheckError> {
        if !seen.are_of(drive) {
            return Err(CheckError::OtherDrive);
        }
        let hung = hang(drive, seen)?;
        let basis = |at: Engagement| {
            let shaft = drive.sprocket(at).shaft();
            if hung.seat(drive, at).is_some() || seen.dot(drive, shaft).is_some() {
                Basis::Seen
            } else {
                Basis::Unseen
            }
        };
        let by_dots = |id: ShaftId| Some(hung.shafts().get(id.index())?.by_dots?.angle);
        Ok(Self::new(
            drive,
            seen.turned(),
            &|at| hung.seat(drive, at),
            &by_dots,
            &basis,
        )?)
    }

    fn new(
        drive: &Drive,
        turned: Turns,
        seat: &dyn Fn(Engagement) -> Option<Teeth>,
        by_dots: &dyn Fn(ShaftId) -> Option<CrankDegrees>,
        basis: &dyn Fn(Engagement) -> Basis,
    ) -> Result<Self, OutOfRange> {
        let mut ahead = vec![Exact::ZERO; drive.shafts().count()];
        // X of a chain, once it is known how its driver sprockets.
        let shift = |ahead: &[Exact], chain: ChainId| {
            let driver = drive.driver_of(chain);
            let sprocket = drive.sprocket(driver);
            let own = ahead[sprocket.shaft().index()].checked_mul(sprocket.teeth().to_exact())?;
            let links = drive.chain(chain).links().to_exact();
            let base = seat(driver).unwrap_or(Teeth::ZERO).get();
            own.checked_sub(base.nearest_modulo(links)?)
        };
        for id in drive.driven() {
            let shaft = drive.shaft(id);
            let Some(at) = shaft.driven_at() else {
                continue;
            };
            let links = drive.chain(at.chain).links().to_exact();
            let teeth = drive.sprocket(at).teeth().to_exact();
            let driver = drive.driver_of(at.chain);
            let by_dot = match by_dots(id) {
                // In crank degrees against the crankshaft; here in turns of the shaft itself.
                Some(angle) => Some(
                    angle
                        .get()
                        .checked_div(Exact::whole(360))?
                        .checked_mul(shaft.speed())?,
                ),
                None => None,
            };
            ahead[id.index()] = match (seat(at), by_dot) {
                (None, Some(by_dot)) => by_dot,
                (Some(_), Some(by_dot)) if seat(driver).is_none() => by_dot,
                (own, _) => {
                    let base = seat(driver).unwrap_or(Teeth::ZERO);
                    let own = own.unwrap_or(base).checked_sub(base)?.get();
                    // d + X, with d - d of the driver as small as it can be.
                    let own = own.nearest_modulo(links)?;
                    let sprocket = drive.sprocket(driver);
                    let carried =
                        ahead[sprocket.shaft().index()].checked_mul(sprocket.teeth().to_exact())?;
                    own.checked_add(carried)?.checked_div(teeth)?
                }
            };
        }
        let mut moved = Vec::new();
        for (id, chain) in drive.chains() {
            let along = chain.speed().checked_mul(turned.get())?;
            let along = along.checked_add(shift(&ahead, id)?)?;
            moved.push(along.modulo(chain.links().to_exact())?);
        }
        let mut sprockets = Vec::new();
        for (at, sprocket) in drive.engagements() {
            let id = sprocket.shaft();
            let due = drive.shaft(id).speed().checked_mul(turned.get())?;
            let off = ahead[id.index()];
            let teeth = off.checked_mul(sprocket.teeth().to_exact())?;
            let links = drive.chain(at.chain).links().to_exact();
            let seat = teeth.checked_sub(shift(&ahead, at.chain)?)?;
            sprockets.push(SprocketPose {
                at,
                past: Turns::new(due.checked_add(off)?.modulo(Exact::ONE)?),
                due: Turns::new(due.modulo(Exact::ONE)?),
                ahead: Teeth::new(teeth),
                seat: Teeth::new(seat.nearest_modulo(links)?),
                link_due: link_due(drive, at, turned)?,
                basis: basis(at),
            });
        }
        Ok(Self {
            drive: drive.tag(),
            turned,
            sprockets,
            moved,
            ahead,
        })
    }

    /// Crank turns since it was timed.
    pub fn turned(&self) -> Turns {
        self.turned
    }

    /// Is this a pose of `drive`?
    pub fn is_of(&self, drive: &Drive) -> bool {
        self.drive == drive.tag()
    }

    /// Every sprocket, in the order of [`Drive::engagements`].
    pub fn sprockets(&self) -> &[SprocketPose] {
        &self.sprockets
    }

    /// One sprocket.
    pub fn sprocket(&self, drive: &Drive, at: Engagement) -> Option<&SprocketPose> {
        self.sprockets.get(drive.index(at))
    }

    /// Links by which a chain has moved on since it was timed, modulo its links.
    pub fn moved(&self, chain: ChainId) -> Exact {
        self.moved
            .get(chain.index())
            .copied()
            .unwrap_or(Exact::ZERO)
    }

    /// How far a shaft is ahead of where it belongs, as crankshaft rotation.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn off(&self, drive: &Drive, id: ShaftId) -> Result<CrankDegrees, OutOfRange> {
        let turns = self.ahead.get(id.index()).copied().unwrap_or(Exact::ZERO);
        let crank = turns.checked_div(drive.shaft(id).speed())?;
        Turns::new(crank).to_crank_degrees()
    }
}

impl SprocketPose {
    /// Is anything off: its dot, or the link on it?
    pub fn is_off(&self) -> bool {
        !self.ahead.is_zero() || !self.seat.is_zero()
    }

    /// The link on the dot, if the dot is where one can be told ([`SprocketPose::link_due`]).
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn link_on_dot(&self, drive: &Drive) -> Result<Option<LinkPosition>, OutOfRange> {
        let links = drive.chain(self.at.chain).links();
        self.link_due
            .map(|due| due.moved(self.seat, links))
            .transpose()
    }
}
