//! The smallest causes of what was seen or measured.
//!
//! The camshafts' errors are `A n`: whole teeth `n` slipped at each engagement of each chain, each
//! tooth worth one crank angle on every shaft behind it. To these come what moves a shaft by parts
//! of a tooth (a phaser off its lock, a longer chain) or by fixed steps (a dowel in another hole, the
//! crankshaft one turn out). All sets of faults are tried by their number, the fewest first; the
//! reckoning is in whole units of a common denominator, so nothing is rounded but an elongation, which
//! is an estimate in any case and is told in millionths.

use crate::drive::error::CheckError;
use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::spec::raw::Parked;
use crate::timing::measure::Measured;
use crate::units::quantity::{CrankDegrees, Exact, OutOfRange, Teeth, greatest_common_divisor};

/// One thing that went wrong.
#[derive(Clone, Copy, PartialEq, Debug)]
#[non_exhaustive]
pub enum Fault {
    /// The chain sits this many teeth off at that sprocket: the sprocket is that far ahead.
    Slip {
        /// The sprocket.
        at: Engagement,
        /// How far the sprocket is ahead against the chain.
        teeth: Teeth,
    },
    /// The phaser is this far from its parked position.
    Phaser {
        /// The camshaft.
        shaft: ShaftId,
        /// Above zero: advanced.
        angle: CrankDegrees,
    },
    /// The dowel sits in another hole.
    Dowel {
        /// The shaft.
        shaft: ShaftId,
        /// How far ahead that puts it.
        angle: CrankDegrees,
    },
    /// The crankshaft was one whole turn from where it was taken to be.
    CrankTurn,
    /// The chains have grown longer.
    Elongation {
        /// The least elongation that explains it, as a fraction of the length.
        least: Exact,
        /// The most.
        most: Exact,
    },
}

/// A set of faults that explains everything that was measured.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// What went wrong. Empty: nothing, within the tolerances.
    pub faults: Vec<Fault>,
    /// What is left over of each measurement, in the order in which they were given; within its tolerance.
    pub residuals: Vec<CrankDegrees>,
    /// Teeth slipped, all together.
    pub teeth: i64,
}

/// The smallest causes.
#[derive(Clone, PartialEq, Debug)]
pub struct Explanation {
    /// Every cause with the fewest faults, the likeliest first: those with the fewest teeth, the least
    /// left over and the fewest other shafts disturbed; a chain worn beyond its limit last. Empty if
    /// nothing with at most [`MOST_FAULTS`] faults explains what was measured. A slip is looked for up to
    /// half a turn of the sprocket or of the shafts that it moves, and up to 20 teeth where there are
    /// several faults.
    pub causes: Vec<Cause>,
    /// More were found than were asked for.
    pub more: bool,
    /// So many sets of faults would have had to be tried that not all of them were: there may be others.
    pub cut_short: bool,
    /// The shafts of which nothing can be told: by their tolerance they may be in time and a tooth
    /// or more off as well. Then there are no causes, though no fault at all would fit too.
    pub swallowed: Vec<ShaftId>,
}

impl Fault {
    /// Can the marks show it? Dots and coloured links tell how the chain lies on its sprockets; what
    /// lies between a sprocket and its camshaft, and a longer chain, they do not show.
    pub fn shows_in_marks(&self) -> bool {
        matches!(self, Self::Slip { .. } | Self::CrankTurn)
    }
}

/// Faults that are looked for together.
pub const MOST_FAULTS: usize = 4;

/// Most teeth that are tried at one engagement when several faults are looked for together.
const MOST_TEETH: i128 = 20;

/// What is known of a drive beyond its model, as far as causes go.
pub trait Strands {
    /// Links in the free tight strands between a shaft and the shaft that drives it, if known.
    fn tight_links(&self, at: Engagement) -> Option<Exact>;
}

/// Link counts from the marks alone: from dot to dot along the tight side. This counts the links on
/// the sprockets too, so it is more than the free strand.
#[derive(Clone, Copy, Debug)]
pub struct FromMarks<'a>(pub &'a Drive);

impl Strands for FromMarks<'_> {
    fn tight_links(&self, at: Engagement) -> Option<Exact> {
        let chain = self.0.chain(at.chain);
        let own = self.0.sprocket(at).mark()?;
        let driver = self.0.sprocket(self.0.driver_of(at.chain)).mark()?;
        // The chain runs from the driven sprocket to the driver under pull.
        driver
            .link
            .since(own.link)
            .and_then(|links| links.get().modulo(chain.links().to_exact()))
            .ok()
    }
}

/// A place where something can have gone wrong, with what it does to each measured shaft.
enum Site {
    /// Crank-degree units for each tooth, by measurement.
    Slip {
        at: Engagement,
        effect: Vec<i128>,
        least: i128,
        most: i128,
        at_driver: bool,
        /// Its teeth, if it sits on the crankshaft.
        crank_teeth: Option<i128>,
    },
    Dowel {
        shaft: ShaftId,
        angle: i128,
        only: usize,
    },
    CrankTurn {
        units: i128,
    },
    Phaser {
        shaft: ShaftId,
        least: i128,
        most: i128,
        only: usize,
    },
    /// Units of retard for an elongation of 1, by measurement.
    Elongation {
        effect: Vec<i128>,
    },
}

/// Everything in whole units of one common denominator.
struct Bench {
    unit: Exact,
    angle: Vec<i128>,
    tolerance: Vec<i128>,
    period: Vec<i128>,
    sites: Vec<Site>,
    /// The elongation at which a chain is to be replaced, in millionths.
    limit: i128,
    /// One crank turn, if that is a fault of its own.
    turn: Option<i128>,
    /// Values that may still be tried.
    tries: u32,
}

/// Elongation is reckoned in millionths.
const MILLION: i128 = 1_000_000;

/// Largest elongation that is taken for one, in millionths: 3 in 100.
const MOST_ELONGATION: i128 = 30_000;

/// Most values that are tried: a second or so, which only questions of no use come to.
const MOST_TRIES: u32 = 5_000_000;

/// Angles finer than this part of a crank degree are not reckoned with, so that no product of them
/// overflows.
const FINEST: i128 = 1_000_000_000_000;

/// The smallest causes of `measured`, at most `limit` of them.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::timing::{Fault, FromMarks, Measured, explain};
/// use tautmark::units::CrankDegrees;
///
/// // Both camshafts a tooth of 20 crank degrees behind: one slip at the crankshaft, not two.
/// let tolerance = CrankDegrees::ZERO;
/// let measured = [
///     Measured::read(&drive, "intake", "1 behind", tolerance)?,
///     Measured::read(&drive, "exhaust", "1 behind", tolerance)?,
/// ];
/// let explanation = explain(&drive, &measured, &FromMarks(&drive), 10)?;
/// let first = &explanation.causes[0];
/// assert!(matches!(first.faults[..], [Fault::Slip { .. }]));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`CheckError::OtherDrive`] if something was measured at another drive; [`CheckError::OutOfRange`] if the
/// measurements and the drive have no common denominator that can be held.
pub fn explain(
    drive: &Drive,
    measured: &[Measured],
    strands: &dyn Strands,
    limit: usize,
) -> Result<Explanation, CheckError> {
    if !measured.iter().all(|one| drive.owns_shaft(one.shaft)) {
        return Err(CheckError::OtherDrive);
    }
    let mut bench = Bench::new(drive, measured, strands)?;
    // One is kept even where none is wanted: whether there is any decides how far to look.
    let mut causes = Shortlist::new(limit.max(1));
    for faults in 0..=MOST_FAULTS.min(bench.sites.len()) {
        let mut chosen = Vec::with_capacity(faults);
        bench.choose(faults, 0, &mut chosen, &mut causes);
        if !causes.found.is_empty() || bench.tries == 0 {
            break;
        }
    }
    causes.shorten(&bench);
    let nothing = causes
        .found
        .iter()
        .any(|found: &Found| found.faults.is_empty());
    let swallowed: Vec<ShaftId> = if nothing {
        (0..measured.len())
            .filter(|m| bench.swallows_a_tooth(*m))
            .map(|m| measured[m].shaft)
            .collect()
    } else {
        Vec::new()
    };
    if !swallowed.is_empty() {
        causes.found.clear();
        causes.more = false;
    }
    let cut_short = bench.tries == 0;
    let more = causes.more || causes.found.len() > limit;
    causes.found.truncate(limit);
    Ok(Explanation {
        causes: causes
            .found
            .iter()
            .map(|found| bench.cause(found))
            .collect::<Result<_, _>>()?,
        more,
        cut_short,
        swallowed,
    })
}

/// A set of sites with a value for each, that fits.
struct Found {
    /// Each site with what it is given.
    faults: Vec<(usize, Value)>,
    residuals: Vec<i128>,
    teeth: i128,
    left: i128,
}

/// The likeliest of what was found; what comes behind them is dropped as it goes, so that they take no more
/// room however many there are.
struct Shortlist {
    found: Vec<Found>,
    most: usize,
    /// Was anything dropped?
    more: bool,
}

impl Shortlist {
    fn new(most: usize) -> Self {
        Self {
            found: Vec::new(),
            most,
            more: false,
        }
    }

    fn add(&mut self, bench: &Bench, one: Found) {
        self.found.push(one);
        if self.found.len() > self.most.saturating_mul(2).saturating_add(64) {
            self.shorten(bench);
        }
    }

    /// Of equals the first found comes first, however often this is done on the way.
    fn shorten(&mut self, bench: &Bench) {
        self.found.sort_by_cached_key(|found| bench.rank(found));
        self.more |= self.found.len() > self.most;
        self.found.truncate(self.most);
    }
}

/// Sites that are tried together.
struct Chosen<'a> {
    sites: &'a [usize],
    /// [`Bench::within_reach`] of the sites from each one on.
    within: &'a [Vec<i128>],
}

#[derive(Clone, Copy)]
enum Value {
    Teeth(i128),
    Units(i128),
    /// Least and most, in millionths.
    Span(i128, i128),
    Nothing,
}

impl Bench {
    fn new(
        drive: &Drive,
        measured: &[Measured],
        strands: &dyn Strands,
    ) -> Result<Self, OutOfRange> {
        // 1 / unit is the least common denominator of every number that comes up.
        let mut denominator = Exact::ONE;
        let mut share = |value: Exact| -> Result<(), OutOfRange> {
            denominator = denominator.checked_mul(Exact::integer(
                value.checked_mul(denominator)?.denominator(),
            )?)?;
            Ok(())
        };
        for (_, chain) in drive.chains() {
            share(chain.tooth().get())?;
        }
        let mut limit = MOST_ELONGATION;
        for (_, chain) in drive.chains() {
            if let Some(given) = chain.elongation_limit() {
                limit = limit.min(given.checked_mul(Exact::integer(MILLION)?)?.floor());
            }
        }
        let full = Exact::whole(360);
        let mut period = Vec::with_capacity(measured.len());
        for one in measured {
            share(one.angle.get())?;
            share(one.tolerance.get())?;
            let turn = drive.shaft(one.shaft).turn()?.get();
            share(turn)?;
            period.push(turn);
            if let Some(phaser) = drive.shaft(one.shaft).phaser() {
                share(phaser.range.get().checked_div(Exact::whole(2))?)?;
            }
            for hole in drive.dowel_holes(one.shaft)? {
                share(hole.get())?;
            }
        }
        if denominator.numerator() > FINEST {
            return Err(OutOfRange);
        }
        let units = |value: Exact| -> Result<i128, OutOfRange> {
            Ok(value.checked_mul(denominator)?.numerator())
        };
        let mut bench = Self {
            unit: Exact::ONE.checked_div(denominator)?,
            angle: collect(measured, |one| units(one.angle.get()))?,
            tolerance: collect(measured, |one| units(one.tolerance.get().abs()))?,
            period: period
                .iter()
                .map(|turn| units(*turn))
                .collect::<Result<_, _>>()?,
            sites: Vec::new(),
            limit,
            turn: None,
            tries: MOST_TRIES,
        };
        bench.add_slips(drive, measured, &units)?;
        for (only, one) in measured.iter().enumerate() {
            if one.at_camshaft {
                for hole in drive.dowel_holes(one.shaft)? {
                    bench.sites.push(Site::Dowel {
                        shaft: one.shaft,
                        angle: units(hole.get())?,
                        only,
                    });
                }
            }
        }
        let turn = units(full)?;
        if bench.period.iter().any(|period| turn % period != 0) {
            bench.sites.push(Site::CrankTurn { units: turn });
            bench.turn = Some(turn);
        }
        bench.add_elongation(drive, measured, strands)?;
        // Phasers come last: each takes up whatever the others leave of its shaft.
        for (only, one) in measured.iter().enumerate() {
            if let (true, Some(phaser)) = (one.at_camshaft, drive.shaft(one.shaft).phaser()) {
                let range = units(phaser.range.get())?;
                let (least, most) = match phaser.parked {
                    Parked::Retarded => (0, range),
                    Parked::Advanced => (-range, 0),
                    Parked::Middle => (-range / 2, range / 2),
                };
                bench.sites.push(Site::Phaser {
                    shaft: one.shaft,
                    least,
                    most,
                    only,
                });
            }
        }
        Ok(bench)
    }

    fn add_slips(
        &mut self,
        drive: &Drive,
        measured: &[Measured],
        units: &impl Fn(Exact) -> Result<i128, OutOfRange>,
    ) -> Result<(), OutOfRange> {
        for (at, sprocket) in drive.engagements() {
            let driver = drive.driver_of(at.chain);
            // A chain over two sprockets is off between the two, at whichever it slipped.
            if at == driver && drive.chain(at.chain).sprockets().len() == 2 {
                continue;
            }
            let tooth = units(drive.chain(at.chain).tooth().get())?;
            let effect: Vec<i128> = measured
                .iter()
                .map(|one| {
                    drive
                        .way_to(one.shaft)
                        .map(|(driver, driven)| {
                            if driven == at {
                                tooth
                            } else if driver == at {
                                -tooth
                            } else {
                                0
                            }
                        })
                        .sum()
                })
                .collect();
            // Half a turn either way of the sprocket, or of the measured shaft that takes the most
            // teeth for it.
            let wraps = self
                .period
                .iter()
                .zip(&effect)
                .filter(|(_, effect)| **effect != 0)
                .map(|(period, effect)| period / (2 * effect.abs()))
                .max();
            if let Some(wraps) = wraps {
                let around = i128::from(sprocket.teeth().get());
                // No chain slips by more than half of its links.
                let links = i128::from(drive.chain(at.chain).links().get());
                let most = wraps.max((around + 1) / 2).min(links / 2);
                // What comes around to the same for all that was measured is told once.
                let (least, most) = match (1..=2 * most).find(|k| self.come_to(&effect, *k, 0)) {
                    Some(same) => (-((same - 1) / 2), same / 2),
                    None => (-most, most),
                };
                self.sites.push(Site::Slip {
                    at,
                    effect,
                    least,
                    most,
                    at_driver: at == driver,
                    crank_teeth: (sprocket.shaft() == drive.crank()).then_some(around),
                });
            }
        }
        Ok(())
    }

    fn add_elongation(
        &mut self,
        drive: &Drive,
        measured: &[Measured],
        strands: &dyn Strands,
    ) -> Result<(), OutOfRange> {
        let mut effect = Vec::with_capacity(measured.len());
        for (one, tolerance) in measured.iter().zip(&self.tolerance) {
            let mut retard = Exact::ZERO;
            for (_, driven) in drive.way_to(one.shaft) {
                // Neither belts nor gears have pins to wear.
                if !drive.chain(driven.chain).has_pins() {
                    continue;
                }
                let Some(links) = strands.tight_links(driven) else {
                    return Ok(());
                };
                let tooth = drive.chain(driven.chain).tooth().get();
                retard = retard.checked_add(links.checked_mul(tooth)?)?;
            }
            let retard = retard.checked_div(self.unit)?.floor();
            // Wear is no whole number of teeth: a reading that is exact cannot come of it.
            if retard != 0 && *tolerance == 0 {
                return Ok(());
            }
            effect.push(retard);
        }
        if effect.iter().any(|effect| *effect != 0) {
            self.sites.push(Site::Elongation { effect });
        }
        Ok(())
    }

    /// Every set of `more` further sites from `from` on.
    fn choose(&mut self, more: usize, from: usize, chosen: &mut Vec<usize>, found: &mut Shortlist) {
        if self.tries == 0 {
            return;
        }
        if more == 0 {
            // Most sets cannot come to it at all, and that is soon seen.
            let first = self.within_reach(chosen);
            // To look at a set is as much work as there are measurements.
            let work = u32::try_from(self.angle.len() / 4).unwrap_or(u32::MAX);
            self.tries = self.tries.saturating_sub(work.saturating_add(1));
            if self.tries == 0 || !self.reaches(&self.angle, &first) {
                return;
            }
            let mut rest = self.angle.clone();
            let mut values = Vec::with_capacity(chosen.len());
            let mut within = Vec::with_capacity(chosen.len() + 1);
            within.push(first);
            within.extend((1..=chosen.len()).map(|next| self.within_reach(&chosen[next..])));
            let set = Chosen {
                sites: chosen,
                within: &within,
            };
            let mut tries = self.tries;
            self.assign(&set, 0, &mut rest, &mut values, found, &mut tries);
            self.tries = tries;
            return;
        }
        for site in from..=self.sites.len() - more {
            // Two things that move one shaft freely, or the same dowel twice, explain nothing more.
            if !chosen.iter().any(|other| self.excludes(*other, site)) {
                chosen.push(site);
                self.choose(more - 1, site + 1, chosen, found);
                chosen.pop();
            }
        }
    }

    fn excludes(&self, a: usize, b: usize) -> bool {
        matches!(
            (&self.sites[a], &self.sites[b]),
            (Site::Dowel { only: a, .. }, Site::Dowel { only: b, .. }) if a == b
        )
    }

    fn moves(&self, site: usize, measurement: usize) -> bool {
        match &self.sites[site] {
            Site::Slip { effect, .. } | Site::Elongation { effect } => effect[measurement] != 0,
            Site::Dowel { only, .. } | Site::Phaser { only, .. } => *only == measurement,
            Site::CrankTurn { .. } => true,
        }
    }

    /// By what step each measurement can be moved by `sites`: what is left of it must be a multiple of
    /// that. Zero: by any.
    fn within_reach(&self, sites: &[usize]) -> Vec<i128> {
        (0..self.period.len())
            .map(|m| {
                sites
                    .iter()
                    .filter(|site| self.moves(**site, m))
                    .try_fold(self.period[m], |step, site| match &self.sites[*site] {
                        Site::Slip { effect, .. } => Some(greatest_common_divisor(step, effect[m])),
                        Site::Dowel { angle, .. } => Some(greatest_common_divisor(step, *angle)),
                        Site::CrankTurn { units } => Some(greatest_common_divisor(step, *units)),
                        Site::Phaser { .. } | Site::Elongation { .. } => None,
                    })
                    .unwrap_or(0)
            })
            .collect()
    }

    /// Is what is `left` of every measurement within its tolerance of a multiple of its step?
    fn reaches(&self, left: &[i128], steps: &[i128]) -> bool {
        left.iter()
            .zip(steps)
            .zip(&self.tolerance)
            .all(|((left, step), tolerance)| {
                *step == 0 || nearest(*left, *step).abs() <= *tolerance
            })
    }

    /// Gives every chosen site from `next` on each value that can fit.
    fn assign(
        &self,
        chosen: &Chosen<'_>,
        next: usize,
        rest: &mut Vec<i128>,
        values: &mut Vec<(usize, Value)>,
        found: &mut Shortlist,
        tries: &mut u32,
    ) {
        if *tries == 0 {
            return;
        }
        *tries -= 1;
        // What the remaining sites cannot move to zero is no use.
        if !self.reaches(rest, &chosen.within[next]) {
            return;
        }
        let Some(site) = chosen.sites.get(next).copied() else {
            found.add(
                self,
                Found {
                    faults: values.clone(),
                    teeth: values
                        .iter()
                        .map(|(_, value)| match value {
                            Value::Teeth(teeth) => teeth.abs(),
                            _ => 0,
                        })
                        .sum(),
                    left: (0..rest.len())
                        .map(|m| self.nearest(m, rest[m]).abs())
                        .sum(),
                    residuals: (0..rest.len()).map(|m| self.nearest(m, rest[m])).collect(),
                },
            );
            return;
        };
        match &self.sites[site] {
            Site::Slip {
                effect,
                least,
                most,
                crank_teeth,
                ..
            } => {
                let (least, most) = if chosen.sites.len() == 1 {
                    (*least, *most)
                } else {
                    ((*least).max(-MOST_TEETH), (*most).min(MOST_TEETH))
                };
                for teeth in (least..=most).filter(|teeth| *teeth != 0) {
                    // A chain laid a whole turn of the crankshaft further on is told as that turn.
                    let whole = crank_teeth.is_some_and(|around| teeth % around == 0);
                    if whole
                        && self
                            .turn
                            .is_some_and(|turn| self.come_to(effect, teeth, turn))
                    {
                        continue;
                    }
                    shift(rest, effect, teeth);
                    values.push((site, Value::Teeth(teeth)));
                    self.assign(chosen, next + 1, rest, values, found, tries);
                    values.pop();
                    shift(rest, effect, -teeth);
                }
            }
            Site::Dowel { angle, only, .. } => {
                rest[*only] -= angle;
                values.push((site, Value::Nothing));
                self.assign(chosen, next + 1, rest, values, found, tries);
                values.pop();
                rest[*only] += angle;
            }
            Site::CrankTurn { units } => {
                for left in rest.iter_mut() {
                    *left -= units;
                }
                values.push((site, Value::Nothing));
                self.assign(chosen, next + 1, rest, values, found, tries);
                values.pop();
                for left in rest.iter_mut() {
                    *left += units;
                }
            }
            Site::Phaser {
                least, most, only, ..
            } => {
                let left = self.nearest(*only, rest[*only]);
                let angle = left.clamp(*least, *most);
                if angle != 0 {
                    rest[*only] -= angle;
                    values.push((site, Value::Units(angle)));
                    self.assign(chosen, next + 1, rest, values, found, tries);
                    values.pop();
                    rest[*only] += angle;
                }
            }
            Site::Elongation { effect } => {
                self.elongate(chosen, next, effect, (rest, values), found, tries)
            }
        }
    }

    /// One elongation for all: every measurement bounds it from below and above.
    fn elongate(
        &self,
        chosen: &Chosen<'_>,
        next: usize,
        effect: &[i128],
        (rest, values): (&mut Vec<i128>, &mut Vec<(usize, Value)>),
        found: &mut Shortlist,
        tries: &mut u32,
    ) {
        let (mut least, mut most) = (0, MOST_ELONGATION);
        for (m, links) in effect.iter().enumerate() {
            if *links == 0
                || chosen.sites[next + 1..]
                    .iter()
                    .any(|site| self.moves(*site, m))
            {
                continue;
            }
            // It holds the shaft back: -eps * effect = what is left, give or take the tolerance.
            let left = -self.nearest(m, rest[m]);
            let (from, to) = (left - self.tolerance[m], left + self.tolerance[m]);
            least = least.max(-(-from * MILLION).div_euclid(*links));
            most = most.min((to * MILLION).div_euclid(*links));
        }
        if least > most || most <= 0 {
            return;
        }
        // In the middle, what is left over is smallest on the whole.
        let middle = least.midpoint(most);
        let retard: Vec<i128> = effect
            .iter()
            .map(|links| (links * middle).div_euclid(MILLION))
            .collect();
        for (left, retard) in rest.iter_mut().zip(&retard) {
            *left += retard;
        }
        values.push((chosen.sites[next], Value::Span(least, most)));
        self.assign(chosen, next + 1, rest, values, found, tries);
        values.pop();
        for (left, retard) in rest.iter_mut().zip(&retard) {
            *left -= retard;
        }
    }

    /// Would a measurement that fits no fault fit a slip of some teeth as well?
    fn swallows_a_tooth(&self, measurement: usize) -> bool {
        self.sites.iter().any(|site| match site {
            Site::Slip { effect, .. } if effect[measurement] != 0 => {
                [1, -1].into_iter().any(|teeth| {
                    let left = self.angle[measurement] - teeth * effect[measurement];
                    self.nearest(measurement, left).abs() <= self.tolerance[measurement]
                })
            }
            _ => false,
        })
    }

    /// Do that many teeth move every measured shaft by `angle`, give or take whole turns of itself?
    fn come_to(&self, effect: &[i128], teeth: i128, angle: i128) -> bool {
        effect
            .iter()
            .zip(&self.period)
            .all(|(effect, period)| (teeth * effect - angle) % period == 0)
    }

    /// The likeliest first.
    fn rank(&self, found: &Found) -> (bool, i128, i128, usize) {
        let worn = |value: &Value| matches!(value, Value::Span(least, _) if *least > self.limit);
        let disturbing = |site: usize| {
            matches!(
                self.sites[site],
                Site::Slip {
                    at_driver: true,
                    ..
                }
            )
        };
        (
            found.faults.iter().any(|(_, value)| worn(value)),
            found.teeth,
            found.left,
            found
                .faults
                .iter()
                .filter(|(site, _)| disturbing(*site))
                .count(),
        )
    }

    /// The smallest representative modulo one turn of the measured shaft.
    fn nearest(&self, measurement: usize, units: i128) -> i128 {
        nearest(units, self.period[measurement])
    }

    fn cause(&self, found: &Found) -> Result<Cause, OutOfRange> {
        let angle = |units: i128| -> Result<CrankDegrees, OutOfRange> {
            Exact::integer(units)?
                .checked_mul(self.unit)
                .map(CrankDegrees::new)
        };
        let mut faults = Vec::with_capacity(found.faults.len());
        for (site, value) in &found.faults {
            faults.push(match (&self.sites[*site], value) {
                (Site::Slip { at, .. }, Value::Teeth(teeth)) => Fault::Slip {
                    at: *at,
                    teeth: Teeth::new(Exact::integer(*teeth)?),
                },
                (Site::Phaser { shaft, .. }, Value::Units(units)) => Fault::Phaser {
                    shaft: *shaft,
                    angle: angle(*units)?,
                },
                (
                    Site::Dowel {
                        shaft,
                        angle: units,
                        ..
                    },
                    _,
                ) => Fault::Dowel {
                    shaft: *shaft,
                    angle: angle(*units)?,
                },
                (Site::Elongation { .. }, Value::Span(least, most)) => Fault::Elongation {
                    least: Exact::integer(*least)?.checked_div(Exact::integer(MILLION)?)?,
                    most: Exact::integer(*most)?.checked_div(Exact::integer(MILLION)?)?,
                },
                _ => Fault::CrankTurn,
            });
        }
        Ok(Cause {
            faults,
            residuals: found
                .residuals
                .iter()
                .map(|units| angle(*units))
                .collect::<Result<_, _>>()?,
            teeth: i64::try_from(found.teeth).map_err(|_| OutOfRange)?,
        })
    }
}

/// The smallest representative modulo `period`.
fn nearest(units: i128, period: i128) -> i128 {
    let rest = units.rem_euclid(period);
    if 2 * rest > period {
        rest - period
    } else {
        rest
    }
}

fn shift(rest: &mut [i128], effect: &[i128], teeth: i128) {
    for (left, effect) in rest.iter_mut().zip(effect) {
        *left -= teeth * effect;
    }
}

fn collect<T, U>(
    from: &[T],
    make: impl Fn(&T) -> Result<U, OutOfRange>,
) -> Result<Vec<U>, OutOfRange> {
    from.iter().map(make).collect()
}
