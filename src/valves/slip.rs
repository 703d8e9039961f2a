//! What slipped teeth and a moved phaser make of the camshafts, and what that makes of the valves.

use crate::drive::error::CheckError;
use crate::drive::ids::{Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::plane::wear::{Elongation, WearError, wear, wearing};
use crate::spec::raw::ShaftKind;
use crate::spec::valves::ValveKind;
use crate::timing::hang::same_angle;
use crate::timing::measure::WHOSE_DEGREES;
use crate::timing::observe::{ObservationError, Seen, SeenError, name_of, shaft_and_chain};
use crate::units::cycle::DeadCentre;
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, NumberError, OutOfRange, Teeth};
use crate::valves::timing::{NoCompression, Timing, ValveTiming, timing};
use std::fmt;

/// By how much a sprocket has slipped on its chain.
///
/// ```
/// use tautmark::{units::Teeth, valves::Slip};
///
/// assert_eq!("1 behind".parse(), Ok(Slip::Teeth(Teeth::whole(-1))));
/// assert!("1".parse::<Slip>().is_err()); // ahead or behind?
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slip {
    /// This many teeth ahead (below zero: behind).
    Teeth(Teeth),
    /// This many degrees of its own shaft, a camshaft, ahead.
    ShaftDegrees(Exact),
    /// This many degrees of the crankshaft ahead.
    CrankDegrees(CrankDegrees),
}

/// Why a slip cannot be reckoned with.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum SlipError {
    /// Not one of the forms.
    Form,
    /// A number without a direction.
    NoDirection,
    /// Degrees of which nobody said whether they are the crankshaft's or the camshaft's.
    WhoseDegrees,
    /// Camshaft degrees of a shaft that is none.
    NoCamshaft {
        /// The shaft.
        shaft: String,
    },
    /// A number that cannot be read.
    Number(NumberError),
    /// Finer than a thousandth, or further than 400 teeth or 720 degrees.
    OutOfBounds,
    /// No such shaft, chain or sprocket.
    Where(Box<ObservationError>),
    /// The same sprocket or phaser twice.
    Twice {
        /// Chain and shaft.
        at: String,
    },
    /// The shaft has no phaser.
    NoPhaser {
        /// The shaft.
        shaft: String,
    },
    /// Further than the phaser goes.
    PastPhaser {
        /// The shaft.
        shaft: String,
        /// As given, ahead.
        given: CrankDegrees,
        /// The furthest behind, and the furthest ahead.
        range: Box<[CrankDegrees; 2]>,
    },
    /// The geometry from which the retard of a worn chain is reckoned.
    NoStrands {
        /// The camshaft whose strands are not known.
        shaft: String,
    },
    /// An elongation that is none.
    NoElongation(WearError),
    /// A shaft in a closed loop of chains that one of them would put elsewhere than the other.
    LoopBroken {
        /// The shaft.
        shaft: String,
    },
    /// The spec lacks the section.
    NoValves,
    /// A number left the range that can be held.
    TooLarge,
}

impl fmt::Display for SlipError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => f.write_str(
                "expected '1 behind', '2 ahead', -1, +2, '20 crank deg ahead' or '10 cam deg ahead'",
            ),
            Self::NoDirection => f.write_str("ahead or behind? (say '2 ahead' or '2 behind')"),
            Self::WhoseDegrees => f.write_str(WHOSE_DEGREES),
            Self::NoCamshaft { shaft } => write!(
                f,
                "'{shaft}' is no camshaft (give crankshaft degrees: '20 crank deg behind')"
            ),
            Self::Number(error) => error.fmt(f),
            Self::OutOfBounds => f.write_str(
                "not in the required range (at most 400 teeth or 720 degrees, at most three decimals or a fraction over 16 at most)",
            ),
            Self::Where(error) => error.fmt(f),
            Self::Twice { at } => write!(f, "'{at}' is given twice (once is enough)"),
            Self::NoPhaser { shaft } => write!(
                f,
                "shaft '{shaft}' has no phaser (slip its sprocket instead: {shaft}='20 crank deg ahead')"
            ),
            Self::PastPhaser {
                shaft,
                given,
                range,
            } => write!(
                f,
                "'{given}' is not in the required range of {}..={} crank degrees ahead of the parked position of the phaser of '{shaft}'",
                range[0], range[1]
            ),
            Self::NoStrands { shaft } => write!(
                f,
                "what a worn chain does to '{shaft}' is calculated from the geometry, which this spec does not give in full (it takes 'at:' of every shaft and 'pitch:' of every chain and belt)"
            ),
            Self::NoElongation(error) => error.fmt(f),
            Self::LoopBroken { shaft } => write!(
                f,
                "shaft '{shaft}' is driven in two ways and this slip would have each put it elsewhere (slip both alike)"
            ),
            Self::NoValves => f.write_str(
                "this spec has no 'valves:' section (add one)",
            ),
            Self::TooLarge => OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for SlipError {}

impl From<OutOfRange> for SlipError {
    fn from(_: OutOfRange) -> Self {
        Self::TooLarge
    }
}

impl From<CheckError> for SlipError {
    fn from(error: CheckError) -> Self {
        match error {
            CheckError::OtherDrive => ObservationError::OtherDrive.into(),
            _ => Self::TooLarge,
        }
    }
}

impl From<ObservationError> for SlipError {
    fn from(error: ObservationError) -> Self {
        Self::Where(Box::new(error))
    }
}

impl std::str::FromStr for Slip {
    type Err = SlipError;

    fn from_str(text: &str) -> Result<Self, SlipError> {
        // The same forms as for what was seen; only a link makes no sense here.
        match text.parse::<Seen>() {
            Ok(Seen::Teeth(teeth)) => Ok(Self::Teeth(teeth)),
            Ok(Seen::ShaftDegrees(_)) => Err(SlipError::WhoseDegrees),
            Ok(Seen::CamDegrees(angle)) => Ok(Self::ShaftDegrees(angle)),
            Ok(Seen::CrankDegrees(angle)) => Ok(Self::CrankDegrees(angle)),
            Ok(Seen::Link(_)) | Err(SeenError::Form) => Err(SlipError::Form),
            Err(SeenError::NoDirection) => Err(SlipError::NoDirection),
            Err(SeenError::Number(error)) => Err(SlipError::Number(error)),
            Err(SeenError::TooFine | SeenError::TooFar) => Err(SlipError::OutOfBounds),
        }
    }
}

/// The sprocket meant by `SHAFT` or `CHAIN/SHAFT`: that by which the shaft is driven, unless a
/// chain is named.
///
/// # Errors
/// If there is no such shaft or chain, or a crankshaft carries several sprockets.
pub fn sprocket_named(drive: &Drive, name: &str) -> Result<Engagement, ObservationError> {
    let (shaft, chosen) = shaft_and_chain(drive, name)?;
    let all = drive.shaft(shaft).engagements();
    let only = match all {
        [only] => Some(*only),
        _ => None,
    };
    match chosen.or(drive.shaft(shaft).driven_at()).or(only) {
        Some(at) => Ok(at),
        None => Err(ObservationError::WhichSprocket {
            shaft: drive.shaft(shaft).name().to_owned(),
            choices: all.iter().map(|at| name_of(drive, *at)).collect(),
        }),
    }
}

/// Everything that has slipped or moved on one drive.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Slips {
    teeth: Vec<(Engagement, Teeth)>,
    phasers: Vec<(ShaftId, CrankDegrees)>,
    elongation: Option<Exact>,
    /// How late the elongation makes each shaft: an estimate, to a thousandth of a crank degree.
    late: Vec<(ShaftId, CrankDegrees)>,
}

impl Slips {
    /// Do all these slips belong to `drive`?
    pub fn are_of(&self, drive: &Drive) -> bool {
        self.teeth.iter().all(|(at, _)| drive.owns(*at))
            && self.phasers.iter().all(|(id, _)| drive.owns_shaft(*id))
            && self.late.iter().all(|(id, _)| drive.owns_shaft(*id))
    }

    /// Nothing has slipped.
    pub const fn none() -> Self {
        Self {
            teeth: Vec::new(),
            phasers: Vec::new(),
            elongation: None,
            late: Vec::new(),
        }
    }

    /// Has nothing slipped, moved or worn?
    pub fn is_empty(&self) -> bool {
        self.teeth.is_empty() && self.phasers.is_empty() && self.elongation.is_none()
    }

    /// By how much every chain has grown, as a fraction of its length.
    pub fn elongation(&self) -> Option<Exact> {
        self.elongation
    }

    /// What has slipped, in the order in which it was given.
    pub fn teeth(&self) -> &[(Engagement, Teeth)] {
        &self.teeth
    }

    /// Where phasers stand, ahead of their parked positions.
    pub fn phasers(&self) -> &[(ShaftId, CrankDegrees)] {
        &self.phasers
    }

    /// By how much a sprocket has slipped.
    pub fn of(&self, at: Engagement) -> Teeth {
        self.teeth
            .iter()
            .find_map(|(other, teeth)| (*other == at).then_some(*teeth))
            .unwrap_or(Teeth::ZERO)
    }

    /// The sprocket `at` slips on its chain.
    ///
    /// # Errors
    /// If it was given already, or camshaft degrees are given of a shaft that is no camshaft.
    pub fn slip(&mut self, drive: &Drive, at: Engagement, slip: Slip) -> Result<(), SlipError> {
        if !drive.owns(at) || !self.are_of(drive) {
            return Err(ObservationError::OtherDrive.into());
        }
        if self.teeth.iter().any(|(other, _)| *other == at) {
            return Err(SlipError::Twice {
                at: name_of(drive, at),
            });
        }
        let shaft = drive.shaft(drive.sprocket(at).shaft());
        let cam = shaft.kind() == ShaftKind::Camshaft;
        let teeth = match slip {
            Slip::Teeth(teeth) => teeth,
            Slip::ShaftDegrees(_) if !cam => {
                return Err(SlipError::NoCamshaft {
                    shaft: shaft.name().to_owned(),
                });
            }
            Slip::ShaftDegrees(angle) => Teeth::new(
                angle
                    .checked_mul(drive.sprocket(at).teeth().to_exact())?
                    .checked_div(Exact::whole(360))?,
            ),
            Slip::CrankDegrees(angle) => drive.chain(at.chain).teeth_in(angle)?,
        };
        self.teeth.push((at, teeth));
        Ok(())
    }

    /// The same with the sprocket `at` at `teeth`, whatever it was before.
    #[must_use]
    pub fn with(&self, at: Engagement, teeth: Teeth) -> Self {
        let mut slips = self.clone();
        slips.teeth.retain(|(other, _)| *other != at);
        slips.teeth.push((at, teeth));
        slips
    }

    /// The phaser of `shaft` stands `ahead` of its parked position.
    ///
    /// # Errors
    /// If it has none, was given already, or does not go that far.
    pub fn phaser(
        &mut self,
        drive: &Drive,
        shaft: ShaftId,
        ahead: CrankDegrees,
    ) -> Result<(), SlipError> {
        let name = || drive.shaft(shaft).name().to_owned();
        let phaser = drive
            .shaft(shaft)
            .phaser()
            .ok_or_else(|| SlipError::NoPhaser { shaft: name() })?;
        if self.phasers.iter().any(|(other, _)| *other == shaft) {
            return Err(SlipError::Twice { at: name() });
        }
        let [min, max] = phaser.reach()?;
        // As fine as an event may be stated; finer would only strain the exact numbers.
        if ahead.get().denominator() > 1000 {
            return Err(SlipError::OutOfBounds);
        }
        if ahead < min || ahead > max {
            return Err(SlipError::PastPhaser {
                shaft: name(),
                given: ahead,
                range: Box::new([min, max]),
            });
        }
        self.phasers.push((shaft, ahead));
        Ok(())
    }

    /// Every chain, belts excepted, has grown by `elongation`, a fraction of its length, which holds every timed shaft
    /// back by an estimate of the geometry (see [`crate::plane::wear`]).
    ///
    /// # Errors
    /// If it was given already, is none, or the spec lacks geometry.
    pub fn wear(&mut self, drive: &Drive, elongation: Exact) -> Result<(), SlipError> {
        if self.elongation.is_some() {
            return Err(SlipError::Twice {
                at: "elongation".to_owned(),
            });
        }
        let grown = Elongation::given(elongation).map_err(SlipError::NoElongation)?;
        let chains = wearing(drive).map_err(SlipError::NoElongation)?;
        let chains: Vec<_> = chains.into_iter().map(|id| (id, grown)).collect();
        for worn in wear(drive, &chains).shafts {
            let retard = worn.retard.ok_or_else(|| SlipError::NoStrands {
                shaft: drive.shaft(worn.shaft).name().to_owned(),
            })?;
            // Written out and read back: no cast that could lose a digit unseen.
            let late = Exact::parse(&format!("{retard:.3}")).map_err(SlipError::Number)?;
            self.late.push((worn.shaft, CrankDegrees::new(late)));
        }
        self.elongation = Some(elongation);
        Ok(())
    }

    /// How the chains are hung, and nothing else: every phaser parked, the chains new.
    #[must_use]
    pub fn hung(&self) -> Self {
        Self {
            teeth: self.teeth.clone(),
            ..Self::none()
        }
    }

    /// How far the elongation holds a shaft back. An estimate, to a thousandth of a crank degree.
    pub fn late(&self, shaft: ShaftId) -> CrankDegrees {
        let of = |(id, late): &(ShaftId, CrankDegrees)| (*id == shaft).then_some(*late);
        self.late.iter().find_map(of).unwrap_or(CrankDegrees::ZERO)
    }

    /// How far every shaft stands off on purpose: where its phaser was put.
    fn meant(&self, drive: &Drive) -> Vec<CrankDegrees> {
        let mut meant = vec![CrankDegrees::ZERO; drive.shafts().count()];
        for (shaft, ahead) in &self.phasers {
            meant[shaft.index()] = *ahead;
        }
        meant
    }

    /// How far every shaft comes to be off, in the order of [`Drive::shafts`]; of camshafts with a
    /// phaser the valves' side. A sprocket that slips ahead of the chain it drives leaves the
    /// others behind.
    ///
    /// # Errors
    /// If a closed loop of chains cannot follow.
    pub fn errors(&self, drive: &Drive) -> Result<Vec<CrankDegrees>, SlipError> {
        let mut errors = vec![CrankDegrees::ZERO; drive.shafts().count()];
        let along = |errors: &[CrankDegrees], at: Engagement| {
            let driver = drive.driver_of(at.chain);
            let own = self.of(at).checked_sub(self.of(driver))?;
            errors[drive.sprocket(driver).shaft().index()]
                .checked_add(drive.chain(at.chain).crank_degrees_of(own)?)
        };
        for id in drive.driven() {
            if let Some(at) = drive.shaft(id).driven_at() {
                errors[id.index()] = along(&errors, at)?;
            }
        }
        for (at, sprocket) in drive.engagements() {
            let shaft = drive.shaft(sprocket.shaft());
            if shaft.driven_at() == Some(at) || at == drive.driver_of(at.chain) {
                continue;
            }
            let again = along(&errors, at)?;
            if !same_angle(shaft, errors[sprocket.shaft().index()], again)? {
                return Err(SlipError::LoopBroken {
                    shaft: shaft.name().to_owned(),
                });
            }
        }
        for (shaft, ahead) in &self.phasers {
            errors[shaft.index()] = errors[shaft.index()].checked_add(*ahead)?;
        }
        for (shaft, late) in &self.late {
            errors[shaft.index()] = errors[shaft.index()].checked_sub(*late)?;
        }
        Ok(errors)
    }
}

/// What a slip does.
#[derive(Clone, PartialEq, Debug)]
pub struct SlipOutcome {
    /// How far every shaft is off, in the order of [`Drive::shafts`].
    pub errors: Vec<CrankDegrees>,
    /// The valves in time, phasers parked.
    pub before: Timing,
    /// The valves after it.
    pub after: Timing,
    /// What one would probably notice of what is wrong, which a phaser moved on purpose is not.
    /// Common practice, no proof.
    pub symptoms: Vec<Symptom>,
}

/// Do valves and piston meet?
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Contact {
    /// In this model some do.
    Meet,
    /// In this model none do.
    Clear,
    /// The spec does not say enough of some valves, and the others stay clear.
    NotKnown,
}

impl Timing {
    /// Do any valves and their piston meet?
    pub fn contact(&self) -> Contact {
        let mut contact = Contact::Clear;
        for valve in &self.valves {
            match &valve.clearance {
                Ok(clearance) if clearance.meet() => return Contact::Meet,
                Ok(_) => {}
                Err(_) => contact = Contact::NotKnown,
            }
        }
        contact
    }
}

/// What `slips` do to the valves of `drive`.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::units::{CrankDegrees, Teeth};
/// use tautmark::valves::{Slip, Slips, slip, sprocket_named};
///
/// let intake = sprocket_named(&drive, "intake")?;
/// let mut slips = Slips::none();
/// slips.slip(&drive, intake, Slip::Teeth(Teeth::whole(-1)))?;
/// let outcome = slip(&drive, &slips)?;
/// let shaft = drive.sprocket(intake).shaft();
/// assert_eq!(outcome.errors[shaft.index()], CrankDegrees::whole(-20));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// If the spec has no valves, or a closed loop of chains cannot follow.
pub fn slip(drive: &Drive, slips: &Slips) -> Result<SlipOutcome, SlipError> {
    if !slips.are_of(drive) {
        return Err(ObservationError::OtherDrive.into());
    }
    if drive.valves().is_empty() {
        return Err(SlipError::NoValves);
    }
    let errors = slips.errors(drive)?;
    let before = timing(drive, &[])?;
    let after = timing(drive, &errors)?;
    let meant = slips.meant(drive);
    let right = timing(drive, &meant)?;
    let symptoms = symptoms(drive, &wrong(drive, &errors, &meant)?, &right, &after)?;
    Ok(SlipOutcome {
        errors,
        before,
        after,
        symptoms,
    })
}

/// One sprocket slipped by one tooth after the other.
#[derive(Clone, PartialEq, Debug)]
pub struct Sweep {
    /// The sprocket.
    pub at: Engagement,
    /// From the furthest behind to the furthest ahead.
    pub rows: Vec<SweepRow>,
}

/// One row of a [`Sweep`].
#[derive(Clone, PartialEq, Debug)]
pub struct SweepRow {
    /// Teeth ahead.
    pub teeth: i64,
    /// How far every shaft is off.
    pub errors: Vec<CrankDegrees>,
    /// The valves.
    pub timing: Timing,
}

impl Sweep {
    /// Most teeth either way.
    pub const MAX_TEETH: i64 = 20;

    /// The fewest teeth ahead (above zero) or behind (below zero) at which valves and piston meet;
    /// the first number is for behind. Zero is counted for both.
    pub fn first_meeting(&self) -> (Option<i64>, Option<i64>) {
        let meets = |row: &&SweepRow| row.timing.contact() == Contact::Meet;
        let first = |sign: i64| {
            self.rows
                .iter()
                .filter(|row| row.teeth.signum() * sign >= 0)
                .filter(meets)
                .map(|row| row.teeth)
                .min_by_key(|teeth| teeth.abs())
        };
        (first(-1), first(1))
    }
}

/// `slips`, with the sprocket `at` slipped by each number of `teeth` in turn.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::valves::{Slips, sprocket_named, sweep};
///
/// let intake = sprocket_named(&drive, "intake")?;
/// let swept = sweep(&drive, &Slips::none(), intake, -4..=4)?;
/// assert_eq!(swept.rows.len(), 9);
/// // How many teeth behind, and how many ahead, it takes for valves and piston to meet.
/// println!("{:?}", swept.first_meeting());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`slip`]; [`SlipError::OutOfBounds`] beyond [`Sweep::MAX_TEETH`].
pub fn sweep(
    drive: &Drive,
    slips: &Slips,
    at: Engagement,
    teeth: std::ops::RangeInclusive<i64>,
) -> Result<Sweep, SlipError> {
    if !slips.are_of(drive) || !drive.owns(at) {
        return Err(ObservationError::OtherDrive.into());
    }
    if drive.valves().is_empty() {
        return Err(SlipError::NoValves);
    }
    let max = Sweep::MAX_TEETH;
    if *teeth.start() < -max || *teeth.end() > max {
        return Err(SlipError::OutOfBounds);
    }
    let rows = teeth
        .map(|teeth| {
            let errors = slips.with(at, Teeth::whole(teeth)).errors(drive)?;
            Ok(SweepRow {
                teeth,
                timing: timing(drive, &errors)?,
                errors,
            })
        })
        .collect::<Result<_, SlipError>>()?;
    Ok(Sweep { at, rows })
}

/// What one would probably notice.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Symptom {
    /// Valves and piston meet.
    Meet,
    /// Intake valves late.
    IntakeLate,
    /// Intake valves early.
    IntakeEarly,
    /// Exhaust valves late.
    ExhaustLate,
    /// Exhaust valves early.
    ExhaustEarly,
    /// More overlap.
    MoreOverlap,
    /// Less overlap.
    LessOverlap,
    /// Less compression is left.
    LessCompression,
    /// More compression is left.
    MoreCompression,
    /// Cylinders differ from each other.
    Uneven,
    /// Crankshaft and camshaft sensors disagree.
    Correlation,
    /// Nothing is compressed.
    NoCompression,
    /// All valves of a cylinder work a whole crank turn from where they belong.
    OtherCentre,
}

/// A shift that one would notice, in crank degrees: less than a tooth of most drives.
const NOTICED: CrankDegrees = CrankDegrees::whole(5);

/// A ratio that one would notice.
const NOTICED_RATIO: f64 = 0.2;

/// How far every shaft is off against what is `meant`, the nearer way around.
fn wrong(
    drive: &Drive,
    errors: &[CrankDegrees],
    meant: &[CrankDegrees],
) -> Result<Vec<CrankDegrees>, OutOfRange> {
    drive
        .shafts()
        .zip(errors.iter().zip(meant))
        .map(|((_, shaft), (error, meant))| {
            let off = error.checked_sub(*meant)?.get();
            off.nearest_modulo(shaft.turn()?.get())
                .map(CrankDegrees::new)
        })
        .collect()
}

/// `wrong` is how far every shaft is off against what was meant, `right` the valves as meant.
fn symptoms(
    drive: &Drive,
    wrong: &[CrankDegrees],
    right: &Timing,
    after: &Timing,
) -> Result<Vec<Symptom>, OutOfRange> {
    let mut found = Vec::new();
    let mut add = |symptom: Symptom, is: bool| {
        if is && !found.contains(&symptom) {
            found.push(symptom);
        }
    };
    add(Symptom::Meet, after.contact() == Contact::Meet);
    for valve in &after.valves {
        let other = valve.no_compression == Some(NoCompression::OtherCentre);
        add(Symptom::OtherCentre, other);
        add(
            Symptom::NoCompression,
            valve.no_compression.is_some() && !other,
        );
    }
    for (i, valve) in drive.valves().iter().enumerate() {
        // A cylinder that compresses nothing neither pulls weakly nor idles unevenly.
        if dead(drive, after, i) {
            continue;
        }
        let shift = wrong[valve.shaft.index()];
        let (early, late) = match valve.kind {
            ValveKind::Intake => (Symptom::IntakeEarly, Symptom::IntakeLate),
            ValveKind::Exhaust => (Symptom::ExhaustEarly, Symptom::ExhaustLate),
        };
        add(early, shift >= NOTICED);
        add(late, shift <= NOTICED.negated());
    }
    for (was, is) in right.pairs.iter().zip(&after.pairs) {
        if dead(drive, after, is.intake) || dead(drive, after, is.exhaust) {
            continue;
        }
        let more = is.overlap.checked_sub(was.overlap)?;
        add(Symptom::MoreOverlap, more >= NOTICED);
        add(Symptom::LessOverlap, more <= NOTICED.negated());
    }
    for (was, is) in right.valves.iter().zip(&after.valves) {
        add_compression(was, is, &mut add);
    }
    for kind in [ValveKind::Intake, ValveKind::Exhaust] {
        let mut shifts = drive
            .valves()
            .iter()
            .filter(|valve| valve.kind == kind)
            .map(|valve| wrong[valve.shaft.index()]);
        if let Some(first) = shifts.next() {
            add(Symptom::Uneven, shifts.any(|shift| shift != first));
        }
    }
    let off = drive.shafts().any(|(id, shaft)| {
        shaft.kind() == ShaftKind::Camshaft && wrong[id.index()].abs() >= NOTICED
    });
    add(Symptom::Correlation, off);
    Ok(found)
}

/// What one would probably notice with every shaft off by `errors`, none of it on purpose. Nothing where the spec has
/// no valves but the code of a camshaft that is off.
pub(crate) fn signs(drive: &Drive, errors: &[CrankDegrees]) -> Result<Vec<Symptom>, OutOfRange> {
    let meant = vec![CrankDegrees::ZERO; errors.len()];
    symptoms(
        drive,
        &wrong(drive, errors, &meant)?,
        &timing(drive, &[])?,
        &timing(drive, errors)?,
    )
}

/// Do the cylinders of the valves at `at` compress nothing where they should?
fn dead(drive: &Drive, timing: &Timing, at: usize) -> bool {
    let no = |valve: &ValveTiming| valve.no_compression.is_some();
    match drive.valves()[at].kind {
        ValveKind::Intake => no(&timing.valves[at]),
        // All of its cylinders: where one of them works, its signs are there.
        ValveKind::Exhaust => {
            let mut intakes = timing
                .pairs
                .iter()
                .filter(|pair| pair.exhaust == at)
                .map(|pair| &timing.valves[pair.intake])
                .peekable();
            intakes.peek().is_some() && intakes.all(no)
        }
    }
}

#[allow(
    clippy::float_arithmetic,
    reason = "compares two estimated compression ratios"
)]
fn add_compression(was: &ValveTiming, is: &ValveTiming, add: &mut impl FnMut(Symptom, bool)) {
    if let (Some(was), Some(is)) = (was.trapped_compression, is.trapped_compression) {
        add(Symptom::LessCompression, is < was - NOTICED_RATIO);
        add(Symptom::MoreCompression, is > was + NOTICED_RATIO);
    }
}

/// The dead centre of the cycle nearest to a place given in floating point, and how far after it
/// the place lies: for words about estimates.
#[allow(clippy::float_arithmetic, reason = "names the place of an estimate")]
pub(crate) fn near_dead_centre(at: f64) -> (f64, DeadCentre, CyclePlace) {
    [
        (0.0, DeadCentre::Top, CyclePlace::FIRING_TDC),
        (180.0, DeadCentre::Bottom, CyclePlace::POWER_BDC),
        (360.0, DeadCentre::Top, CyclePlace::OVERLAP_TDC),
        (540.0, DeadCentre::Bottom, CyclePlace::INTAKE_BDC),
    ]
    .into_iter()
    .map(|(centre, which, place)| {
        let after = (at - centre + 360.0).rem_euclid(720.0) - 360.0;
        (after, which, place)
    })
    .min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    .unwrap_or((at, DeadCentre::Top, CyclePlace::FIRING_TDC))
}
