//! What somebody saw at the engine, taken down exactly and tied to a [`Drive`].

use crate::drive::ids::{DriveTag, Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::spec::conform::nearest;
use crate::spec::raw::ShaftKind;
use crate::units::quantity::{CrankDegrees, Exact, LinkPosition, NumberError, Teeth, Turns};
use std::fmt;

/// Where a dot stands: against its coloured link, or against its reference mark on the engine.
///
/// ```
/// use tautmark::{Seen, units::Teeth};
///
/// assert_eq!("2 behind".parse(), Ok(Seen::Teeth(Teeth::whole(-2))));
/// assert_eq!("on".parse(), Ok(Seen::Teeth(Teeth::ZERO)));
/// assert!("2".parse::<Seen>().is_err()); // ahead or behind?
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Seen {
    /// This many teeth ahead (below zero: behind). `on` is nothing.
    Teeth(Teeth),
    /// This many degrees of its own shaft ahead (below zero: behind).
    ShaftDegrees(Exact),
    /// The same, said to be a camshaft's: refused of any other shaft.
    CamDegrees(Exact),
    /// This many degrees of the crankshaft ahead (below zero: behind).
    CrankDegrees(CrankDegrees),
    /// This link lies on the dot.
    Link(LinkPosition),
}

/// Why a text does not say where a dot stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum SeenError {
    /// Not one of the forms.
    Form,
    /// A number without a direction.
    NoDirection,
    /// A number that cannot be read.
    Number(NumberError),
    /// Finer than can have been seen.
    TooFine,
    /// More than can have been seen.
    TooFar,
}

impl fmt::Display for SeenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => f.write_str(
                "expected on, '2 ahead', '1 behind', +2, -1, '18.5 deg', '18.5 crank deg behind' or 'link 44'",
            ),
            Self::NoDirection => f.write_str("ahead or behind? (say '2 ahead' or '2 behind')"),
            Self::Number(error) => error.fmt(f),
            Self::TooFine => f.write_str(
                "finer than can be seen (give at most three decimals, or a fraction such as 1/16)",
            ),
            Self::TooFar => {
                f.write_str("further than can be seen (at most 400 teeth, 720 degrees or link 1999.5)")
            }
        }
    }
}

impl std::error::Error for SeenError {}

/// As it may be typed: reads back as the same.
///
/// ```
/// use tautmark::{Seen, units::Teeth};
///
/// assert_eq!(Seen::Teeth(Teeth::whole(-2)).to_string(), "2 behind");
/// assert_eq!("18.5 crank deg".parse::<Seen>()?.to_string(), "37/2 crank deg ahead");
/// # Ok::<(), tautmark::SeenError>(())
/// ```
impl fmt::Display for Seen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, unit) = match self {
            Self::Teeth(teeth) if teeth.is_zero() => return f.write_str("on"),
            Self::Link(link) => return write!(f, "link {link}"),
            Self::Teeth(teeth) => (teeth.get(), ""),
            Self::ShaftDegrees(angle) => (*angle, " deg"),
            Self::CamDegrees(angle) => (*angle, " cam deg"),
            Self::CrankDegrees(angle) => (angle.get(), " crank deg"),
        };
        let side = if value.signum() < 0 {
            "behind"
        } else {
            "ahead"
        };
        write!(f, "{}{unit} {side}", value.abs())
    }
}

impl std::str::FromStr for Seen {
    type Err = SeenError;

    fn from_str(text: &str) -> Result<Self, SeenError> {
        /// More words than any form has.
        const MOST: usize = 8;
        // By far the most frequent.
        if text == "on" {
            return Ok(Self::Teeth(Teeth::ZERO));
        }
        let mut all = [""; MOST];
        let mut count = 0;
        let mut add = |word| {
            *all.get_mut(count).ok_or(SeenError::Form)? = word;
            count += 1;
            Ok(())
        };
        let lower;
        if text
            .bytes()
            .all(|byte| matches!(byte, b' '..=b'@' | b'['..=b'~'))
        {
            let mut start = 0;
            for (at, byte) in text.bytes().enumerate() {
                if byte == b' ' {
                    if at > start {
                        add(&text[start..at])?;
                    }
                    start = at + 1;
                }
            }
            if text.len() > start {
                add(&text[start..])?;
            }
        } else {
            lower = text.to_lowercase();
            for word in lower.split_whitespace() {
                add(word)?;
            }
        }
        let mut words = &all[..count];
        match words {
            ["on" | "ok"] => return Ok(Self::Teeth(Teeth::ZERO)),
            ["link", number] => {
                let link = seen_number(number, 2000)?;
                return if link < Exact::ZERO || link >= Exact::whole(2000) {
                    Err(SeenError::TooFar)
                } else {
                    Ok(Self::Link(LinkPosition::new(link)))
                };
            }
            _ => {}
        }
        let direction = match words {
            [rest @ .., "ahead" | "advanced" | "early"] => {
                words = rest;
                Some(1)
            }
            [rest @ .., "behind" | "retarded" | "late"] => {
                words = rest;
                Some(-1)
            }
            _ => None,
        };
        let (number, unit) = words.split_first().ok_or(SeenError::Form)?;
        let signed = number.starts_with(['+', '-']);
        if direction.is_some() && signed {
            return Err(SeenError::Form);
        }
        let max = if matches!(unit, [] | ["tooth" | "teeth"]) {
            400
        } else {
            720
        };
        let mut value = seen_number(number, max)?;
        if direction == Some(-1) {
            value = value.negated();
        }
        match unit {
            [] | ["tooth" | "teeth"] => {
                if direction.is_none() && !signed && !value.is_zero() {
                    return Err(SeenError::NoDirection);
                }
                Ok(Self::Teeth(Teeth::new(value)))
            }
            ["deg" | "degrees"] => Ok(Self::ShaftDegrees(value)),
            ["cam", "deg" | "degrees"] => Ok(Self::CamDegrees(value)),
            ["crank", "deg" | "degrees"] => Ok(Self::CrankDegrees(CrankDegrees::new(value))),
            _ => Err(SeenError::Form),
        }
    }
}

/// A number that can be the outcome of looking or measuring. Its denominator stays small, which is
/// what keeps every later sum within bounds.
fn seen_number(text: &str, max: i64) -> Result<Exact, SeenError> {
    let value = Exact::parse(text).map_err(|error| match error {
        NumberError::Form => SeenError::Form,
        other => SeenError::Number(other),
    })?;
    let below = value.denominator();
    if below > 16 && 1000 % below != 0 {
        return Err(SeenError::TooFine);
    }
    if value.abs() > Exact::whole(max) {
        return Err(SeenError::TooFar);
    }
    Ok(value)
}

/// Everything seen in one look at a drive.
///
/// What is not in here was not looked at, and is never taken to be right.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Observations {
    /// The drive that was looked at, from the first mark on.
    drive: Option<DriveTag>,
    turned: Turns,
    links: Vec<(Engagement, Seen)>,
    dots: Vec<(Engagement, Seen)>,
}

/// Why something seen cannot belong to a drive.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum ObservationError {
    /// No shaft of that name.
    UnknownShaft {
        /// As given.
        name: String,
        /// The nearest one.
        nearest: Option<String>,
        /// All there are.
        known: Vec<String>,
    },
    /// No chain of that name.
    UnknownChain {
        /// As given.
        name: String,
        /// The nearest one.
        nearest: Option<String>,
        /// All there are.
        known: Vec<String>,
    },
    /// That shaft has no sprocket on that chain.
    NotOnChain {
        /// The shaft.
        shaft: String,
        /// The chain.
        chain: String,
    },
    /// The shaft carries several sprockets; which one is meant?
    WhichSprocket {
        /// The shaft.
        shaft: String,
        /// The ways to say it.
        choices: Vec<String>,
    },
    /// The spec gives no coloured link for that sprocket.
    NoLink {
        /// Chain and shaft.
        at: String,
        /// Has it a dot to look at instead?
        dot: bool,
    },
    /// The spec gives no dot for that shaft.
    NoDot {
        /// The shaft.
        shaft: String,
    },
    /// The same thing twice.
    Twice {
        /// Chain and shaft.
        at: String,
    },
    /// A link number for a dot that was compared with the engine.
    LinkForDot {
        /// The shaft.
        shaft: String,
    },
    /// A tooth of a gear by its number, which nobody can see.
    GearTooth {
        /// Chain and shaft.
        at: String,
    },
    /// A link that the chain does not have.
    LinkPastEnd {
        /// Chain and shaft.
        at: String,
        /// As given.
        link: LinkPosition,
        /// The links of the chain.
        links: u16,
    },
    /// More than half a turn of the sprocket: nearer the other way round, and not to be seen there.
    PastHalf {
        /// Chain and shaft.
        at: String,
        /// Its teeth.
        teeth: u16,
    },
    /// Camshaft degrees of a shaft that is none.
    NoCamshaft {
        /// The shaft.
        shaft: String,
        /// Is it the crankshaft?
        crank: bool,
    },
    /// A sprocket of another drive, or something seen at another one.
    OtherDrive,
    /// Crank turns outside of the bounds.
    Turned {
        /// As given.
        turned: Turns,
    },
}

impl fmt::Display for ObservationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unknown = |f: &mut fmt::Formatter<'_>,
                       what: &str,
                       name: &str,
                       nearest: &Option<String>,
                       known: &[String]| match nearest {
            Some(nearest) => write!(
                f,
                "no {what} is called '{name}' (did you mean '{nearest}'?)"
            ),
            None => write!(
                f,
                "no {what} is called '{name}' (the spec has: {})",
                known.join(", ")
            ),
        };
        match self {
            Self::UnknownShaft {
                name,
                nearest,
                known,
            } => unknown(f, "shaft", name, nearest, known),
            Self::UnknownChain {
                name,
                nearest,
                known,
            } => unknown(f, "chain", name, nearest, known),
            Self::NotOnChain { shaft, chain } => {
                write!(f, "shaft '{shaft}' has no sprocket on chain '{chain}'")
            }
            Self::WhichSprocket { shaft, choices } => write!(
                f,
                "'{shaft}' carries several sprockets: which one? (say {})",
                choices.join(" or ")
            ),
            Self::NoLink { at, dot: true } => write!(
                f,
                "the spec gives no coloured link for '{at}': look at its dot instead"
            ),
            Self::NoLink { at, dot: false } => write!(
                f,
                "the spec gives neither a coloured link nor a dot for '{at}' (it need not be looked at)"
            ),
            Self::NoDot { shaft } => write!(f, "the spec gives no dot for shaft '{shaft}'"),
            Self::Twice { at } => write!(f, "'{at}' is given twice (once is enough)"),
            Self::LinkForDot { shaft } => write!(
                f,
                "'{shaft}': a link number says which link lies on a dot; say how far the dot is from its reference mark instead"
            ),
            Self::GearTooth { at } => write!(
                f,
                "'{at}': the teeth of gears have no numbers (say how far its dot is from the line of centres: on, '2 ahead', '1 behind')"
            ),
            Self::LinkPastEnd { at, link, links } => write!(
                f,
                "'{at}': link {link} is not on this chain (its links are 0 to {})",
                links - 1
            ),
            Self::PastHalf { at, teeth } => write!(
                f,
                "'{at}': that is more than half a turn of its sprocket of {teeth} teeth (read it again, and count the shorter way round)"
            ),
            Self::NoCamshaft { shaft, crank: true } => write!(
                f,
                "'{shaft}' is no camshaft (say how far its own dot is: '18 crank deg ahead')"
            ),
            Self::NoCamshaft {
                shaft,
                crank: false,
            } => write!(
                f,
                "'{shaft}' is no camshaft (say how far its own dot is: '18 deg ahead' by its own turn, '18 crank deg ahead' by the crankshaft's)"
            ),
            Self::OtherDrive => {
                f.write_str("this belongs to another engine's drive (look at this one's own marks)")
            }
            Self::Turned { turned }
                if (Exact::ZERO..=Exact::whole(Observations::MAX_TURNED))
                    .contains(&turned.get()) =>
            {
                write!(
                    f,
                    "'{turned}' crank turns is finer than can be seen (give at most three decimals, or a fraction such as 1/1000)"
                )
            }
            Self::Turned { turned } => write!(
                f,
                "'{turned}' is not in the required range of 0..={} crank turns (an engine is turned by hand in its normal direction only)",
                Observations::MAX_TURNED
            ),
        }
    }
}

impl std::error::Error for ObservationError {}

impl Observations {
    /// Most crank turns since the drive was timed.
    pub const MAX_TURNED: i64 = crate::spec::format::MAX_TURNED;

    /// Nothing seen yet, the crankshaft `turned` this far since the drive was timed.
    ///
    /// # Errors
    /// [`ObservationError::Turned`] if that is below zero, more than [`Self::MAX_TURNED`], or finer
    /// than a thousandth of a turn.
    pub fn after(turned: Turns) -> Result<Self, ObservationError> {
        let mut seen = Self::at_timed_position();
        seen.begin(turned)?;
        Ok(seen)
    }

    /// Begins again as [`Self::after`], with the room of what was seen before.
    pub(crate) fn begin(&mut self, turned: Turns) -> Result<(), ObservationError> {
        let (value, max) = (turned.get(), Exact::whole(Self::MAX_TURNED));
        if value < Exact::ZERO || value > max || value.denominator() > 1000 {
            return Err(ObservationError::Turned { turned });
        }
        self.drive = None;
        self.turned = turned;
        self.links.clear();
        self.dots.clear();
        Ok(())
    }

    /// Nothing seen yet, at the timed position.
    pub fn at_timed_position() -> Self {
        Self {
            drive: None,
            turned: Turns::ZERO,
            links: Vec::new(),
            dots: Vec::new(),
        }
    }

    /// The same crank turns, and nothing seen.
    pub(crate) fn without_marks(&self) -> Self {
        Self {
            turned: self.turned,
            ..Self::at_timed_position()
        }
    }

    /// Crank turns since the drive was timed.
    pub fn turned(&self) -> Turns {
        self.turned
    }

    /// Where a dot was seen against its coloured link.
    pub fn link(&self, at: Engagement) -> Option<Seen> {
        find(&self.links, at)
    }

    /// Where the dot of a shaft was seen against its reference mark, and at which of its sprockets.
    pub fn dot(&self, drive: &Drive, shaft: ShaftId) -> Option<(Engagement, Seen)> {
        self.dots
            .iter()
            .find(|(at, _)| drive.sprocket(*at).shaft() == shaft)
            .copied()
    }

    /// Links seen, in the order in which they were given.
    pub fn links(&self) -> &[(Engagement, Seen)] {
        &self.links
    }

    /// Dots seen against their reference marks, in the order in which they were given.
    pub fn dots(&self) -> &[(Engagement, Seen)] {
        &self.dots
    }

    /// Takes down where the dot `at` was seen against its coloured link.
    ///
    /// # Errors
    /// If that sprocket has no coloured link, was given already, or the link does not exist.
    pub fn see_link(
        &mut self,
        drive: &Drive,
        at: Engagement,
        seen: Seen,
    ) -> Result<(), ObservationError> {
        let name = || name_of(drive, at);
        self.belongs(drive, at)?;
        if drive.sprocket(at).mark().is_none() {
            return Err(ObservationError::NoLink {
                at: name(),
                dot: drive.is_marked(drive.sprocket(at).shaft()),
            });
        }
        if find(&self.links, at).is_some() {
            return Err(ObservationError::Twice { at: name() });
        }
        let seen = of_its_own(drive, at, seen)?;
        within_half_a_turn(drive, at, seen)?;
        if matches!(seen, Seen::Link(_)) && drive.chain(at.chain).is_gears() {
            return Err(ObservationError::GearTooth { at: name() });
        }
        let links = drive.chain(at.chain).links();
        if let Seen::Link(link) = seen
            && link.get() >= links.to_exact()
        {
            return Err(ObservationError::LinkPastEnd {
                at: name(),
                link,
                links: links.get(),
            });
        }
        self.drive = Some(drive.tag());
        self.links.push((at, seen));
        Ok(())
    }

    /// Takes down where the dot `at` was seen against its reference mark on the engine.
    ///
    /// # Errors
    /// If the shaft has no dot, or was given already, or a link is given instead.
    pub fn see_dot(
        &mut self,
        drive: &Drive,
        at: Engagement,
        seen: Seen,
    ) -> Result<(), ObservationError> {
        self.belongs(drive, at)?;
        let shaft = drive.sprocket(at).shaft();
        let name = || drive.shaft(shaft).name().to_owned();
        if !drive.sprocket(at).is_marked() {
            return Err(ObservationError::NoDot { shaft: name() });
        }
        if matches!(seen, Seen::Link(_)) {
            return Err(ObservationError::LinkForDot { shaft: name() });
        }
        if self.dot(drive, shaft).is_some() {
            return Err(ObservationError::Twice { at: name() });
        }
        let seen = of_its_own(drive, at, seen)?;
        within_half_a_turn(drive, at, seen)?;
        self.drive = Some(drive.tag());
        self.dots.push((at, seen));
        Ok(())
    }

    /// Was this seen at `drive`? What holds nothing was seen nowhere, and goes with any.
    pub fn are_of(&self, drive: &Drive) -> bool {
        self.drive.is_none_or(|tag| tag == drive.tag())
    }

    fn belongs(&self, drive: &Drive, at: Engagement) -> Result<(), ObservationError> {
        if drive.owns(at) && self.are_of(drive) {
            Ok(())
        } else {
            Err(ObservationError::OtherDrive)
        }
    }
}

/// Degrees that are said to be a camshaft's are its own, of a camshaft. Of another shaft nobody can say what they
/// would be: taken for the crankshaft's, they halve.
fn of_its_own(drive: &Drive, at: Engagement, seen: Seen) -> Result<Seen, ObservationError> {
    let Seen::CamDegrees(angle) = seen else {
        return Ok(seen);
    };
    let id = drive.sprocket(at).shaft();
    let shaft = drive.shaft(id);
    if shaft.kind() == ShaftKind::Camshaft {
        return Ok(Seen::ShaftDegrees(angle));
    }
    Err(ObservationError::NoCamshaft {
        shaft: shaft.name().to_owned(),
        crank: id == drive.crank(),
    })
}

/// Refuses a count that goes past half a turn: nobody sees a dot there against its link, and the other
/// way round is nearer. A link's number says nothing of that by itself.
pub(crate) fn within_half_a_turn(
    drive: &Drive,
    at: Engagement,
    seen: Seen,
) -> Result<(), ObservationError> {
    let sprocket = drive.sprocket(at);
    let within = match seen {
        Seen::Teeth(teeth) => teeth
            .get()
            .is_within_half(sprocket.teeth().get(), Exact::ONE),
        Seen::ShaftDegrees(angle) | Seen::CamDegrees(angle) => {
            angle.is_within_half(360, Exact::ONE)
        }
        Seen::CrankDegrees(angle) => {
            let turn = drive.shaft(sprocket.shaft()).period();
            angle.get().is_within_half(360, turn)
        }
        Seen::Link(_) => true,
    };
    if within {
        return Ok(());
    }
    Err(ObservationError::PastHalf {
        at: name_of(drive, at),
        teeth: sprocket.teeth().get(),
    })
}

fn find(seen: &[(Engagement, Seen)], at: Engagement) -> Option<Seen> {
    seen.iter()
        .find_map(|(other, seen)| (*other == at).then_some(*seen))
}

/// `CHAIN/SHAFT`, or `SHAFT` alone where it carries one sprocket.
pub fn name_of(drive: &Drive, at: Engagement) -> String {
    let shaft = drive.shaft(drive.sprocket(at).shaft());
    if shaft.engagements().len() == 1 {
        shaft.name().to_owned()
    } else {
        format!("{}/{}", drive.chain(at.chain).name(), shaft.name())
    }
}

/// The sprocket meant by `SHAFT` or `CHAIN/SHAFT`, for a coloured link.
///
/// # Errors
/// If there is no such shaft or chain, or the shaft carries several sprockets with coloured links.
pub fn link_named(drive: &Drive, name: &str) -> Result<Engagement, ObservationError> {
    let (shaft, chosen) = shaft_and_chain(drive, name)?;
    if let Some(at) = chosen {
        return Ok(at);
    }
    let all = drive.shaft(shaft).engagements();
    let marked: Vec<Engagement> = all
        .iter()
        .copied()
        .filter(|at| drive.sprocket(*at).mark().is_some())
        .collect();
    match (&marked[..], all) {
        ([only], _) | ([], [only, ..]) => Ok(*only),
        _ => Err(which(drive, shaft, &marked)),
    }
}

/// The sprocket meant by `SHAFT` or `CHAIN/SHAFT`, for a dot and its reference mark. A shaft turns
/// as one, so any of its sprockets will do unless `seen` counts teeth and their numbers differ.
///
/// # Errors
/// If there is no such shaft or chain, or the shaft carries sprockets with different numbers of
/// teeth and `seen` is in teeth.
pub fn dot_named(drive: &Drive, name: &str, seen: Seen) -> Result<Engagement, ObservationError> {
    let (shaft, chosen) = shaft_and_chain(drive, name)?;
    if let Some(at) = chosen {
        return Ok(at);
    }
    let all = drive.shaft(shaft).engagements();
    let dots: Vec<Engagement> = all
        .iter()
        .copied()
        .filter(|at| drive.sprocket(*at).is_marked())
        .collect();
    let (Some(first), Some(any)) = (dots.first().or(all.first()), all.first()) else {
        return Err(ObservationError::NoDot {
            shaft: drive.shaft(shaft).name().to_owned(),
        });
    };
    let same = dots
        .iter()
        .all(|at| drive.sprocket(*at).teeth() == drive.sprocket(*first).teeth());
    match seen {
        Seen::Teeth(teeth) if !teeth.is_zero() && !same => Err(which(drive, shaft, &dots)),
        _ if dots.is_empty() => Ok(*any),
        _ => Ok(*first),
    }
}

fn which(drive: &Drive, shaft: ShaftId, choices: &[Engagement]) -> ObservationError {
    ObservationError::WhichSprocket {
        shaft: drive.shaft(shaft).name().to_owned(),
        choices: choices.iter().map(|at| name_of(drive, *at)).collect(),
    }
}

pub(crate) fn shaft_and_chain(
    drive: &Drive,
    name: &str,
) -> Result<(ShaftId, Option<Engagement>), ObservationError> {
    let (chain, shaft) = match name.split_once('/') {
        Some((chain, shaft)) => (Some(chain), shaft),
        None => (None, name),
    };
    let id = shaft_named(drive, shaft)?;
    let Some(chain) = chain else {
        return Ok((id, None));
    };
    let chain_id = drive.chain_named(chain).ok_or_else(|| {
        let known = || drive.chains().map(|(_, chain)| chain.name());
        ObservationError::UnknownChain {
            name: chain.to_owned(),
            nearest: nearest(chain, known()).map(str::to_owned),
            known: known().map(str::to_owned).collect(),
        }
    })?;
    let at = drive
        .shaft(id)
        .engagements()
        .iter()
        .find(|at| at.chain == chain_id);
    match at {
        Some(at) => Ok((id, Some(*at))),
        None => Err(ObservationError::NotOnChain {
            shaft: shaft.to_owned(),
            chain: chain.to_owned(),
        }),
    }
}

/// The shaft of that name.
///
/// # Errors
/// [`ObservationError::UnknownShaft`], with the nearest name there is.
pub fn shaft_named(drive: &Drive, name: &str) -> Result<ShaftId, ObservationError> {
    // Capitals make no difference, unless they are all that tells two shafts apart.
    let found = drive.shaft_named(name).or_else(|| {
        let lower = name.to_lowercase();
        let mut alike = drive
            .shafts()
            .filter(|(_, shaft)| shaft.name().to_lowercase() == lower);
        let first = alike.next();
        first.filter(|_| alike.next().is_none()).map(|(id, _)| id)
    });
    found.ok_or_else(|| {
        let known = || drive.shafts().map(|(_, shaft)| shaft.name());
        ObservationError::UnknownShaft {
            name: name.to_owned(),
            nearest: nearest(name, known()).map(str::to_owned),
            known: known().map(str::to_owned).collect(),
        }
    })
}
