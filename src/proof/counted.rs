//! A spec made from what somebody counts along the chain before it comes off, and a new chain marked by the same counts.

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::Drive;
use crate::plane::survey::lint;
use crate::proof::check::{CheckError, check};
use crate::proof::paint::paint_of;
use crate::spec::edit::quote;
use crate::spec::finding::band::Band;
use crate::spec::finding::{DriveProblem, Finding, MarkProblem, Problem, Severity};
use crate::spec::raw::{ChainKind, Rotation, ShaftKind};
use crate::spec::source::{Source, SourceError};
use crate::timing::check::Verdict;
use crate::timing::count::Plates;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::{ClockAngle, Exact, LinkPosition, Teeth};
use std::fmt::Write as _;

/// What was counted at an engine with nothing taken off yet.
#[derive(Clone, PartialEq, Debug)]
pub struct Counted {
    /// What the engine is called.
    pub engine: String,
    /// Its normal direction of rotation, facing the timing end.
    pub crank_turns: Rotation,
    /// Where it stood when it was painted.
    pub timed_position: String,
    /// How many camshafts the engine has, all banks together, painted or not.
    pub camshafts: u16,
    /// Every shaft, the crankshaft among them.
    pub shafts: Vec<CountedShaft>,
    /// Every chain.
    pub chains: Vec<CountedChain>,
}

/// A shaft.
#[derive(Clone, PartialEq, Debug)]
pub struct CountedShaft {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: ShaftKind,
    /// Where its painted tooth points, if that was looked at.
    pub points: Option<ClockAngle>,
}

/// A chain, gone around once the way it travels.
#[derive(Clone, PartialEq, Debug)]
pub struct CountedChain {
    /// Its name.
    pub name: String,
    /// All its links, counted by themselves.
    pub links: u16,
    /// Has it a cranked link, so that their number may be odd?
    pub cranked: bool,
    /// Is it a toothed belt? Its links are its teeth then, of one kind, and their number may be odd.
    pub belt: bool,
    /// Its sprockets, in the order of travel.
    pub walk: Vec<CountedSprocket>,
}

/// A sprocket on the way around.
#[derive(Clone, PartialEq, Debug)]
pub struct CountedSprocket {
    /// The shaft that carries it.
    pub shaft: String,
    /// Its teeth.
    pub teeth: u16,
    /// Is it driven by the chain's outside?
    pub outside: bool,
    /// Links from the painted one on it to the next painted one, which is counted and it is not; `None` if none is painted.
    pub to_next: Option<u16>,
    /// Which kind of link is painted, if that was looked at.
    pub plates: Option<Plates>,
}

/// Why counts make no spec.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum CountedError {
    /// The counts from mark to mark are not the links of the chain.
    AddsUp {
        /// The chain.
        chain: String,
        /// Is it a belt?
        belt: bool,
        /// What they come to.
        sum: u32,
        /// The links that were counted by themselves.
        links: u16,
        /// How many counts there are.
        counts: usize,
    },
    /// An odd number of links.
    Odd {
        /// The chain.
        chain: String,
        /// As counted.
        links: u16,
    },
    /// Kinds of links on a belt, which has none.
    NoPlates {
        /// The belt.
        belt: String,
        /// Where they are said.
        at: String,
    },
    /// Links of like kind an odd number apart, or of unlike kind an even one.
    Plates {
        /// From here.
        from: String,
        /// To there.
        to: String,
        /// As counted.
        count: u16,
        /// Are both of one kind?
        alike: bool,
    },
    /// The chain also looks right hung inside out, and nothing shows it.
    LooksAlike {
        /// The chain.
        chain: String,
        /// Is it a belt?
        belt: bool,
        /// The shafts of which one would tell.
        shafts: Vec<String>,
        /// The crankshaft.
        crank: String,
    },
    /// The marks do not prove the timing: these shafts are driven by sprockets without one.
    NotProven {
        /// The shafts.
        shafts: Vec<String>,
    },
    /// The counts contradict each other, in a spec that would read so.
    Spec(Box<Source>, Vec<Finding>),
    /// No text of a spec: too large.
    Text(SourceError),
    /// See there.
    Check(CheckError),
}

impl std::fmt::Display for CountedError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::AddsUp {
                chain,
                belt,
                sum,
                links,
                counts,
            } => {
                let band = band(*belt);
                write!(
                    f,
                    "{band} '{chain}': the counts from mark to mark come to {sum} {}, all the way around you counted {links}. Count again: the painted {} you start from is 0, the one after it is 1",
                    band.links, band.link
                )?;
                if sum.abs_diff(u32::from(*links)) as usize == *counts {
                    write!(
                        f,
                        " (each count is one out: the first {} was counted, or the last one left out)",
                        band.link
                    )?;
                }
                Ok(())
            }
            Self::Odd { chain, links } => write!(
                f,
                "chain '{chain}': {links} links is an odd number, and inner and outer links take turns. Count again, unless the chain has a cranked link, or is a toothed belt"
            ),
            Self::NoPlates { belt, at } => write!(
                f,
                "belt '{belt}': a belt has no outer and inner links (leave that out at '{at}')"
            ),
            Self::Plates {
                from,
                to,
                count,
                alike,
            } => write!(
                f,
                "from '{from}' to '{to}' you counted {count} links, but {} count ends on a link of {} kind. Count again: the painted link you start from is 0",
                if count % 2 == 0 { "an even" } else { "an odd" },
                if *alike { "the other" } else { "the same" },
            ),
            Self::LooksAlike {
                chain,
                belt,
                shafts,
                crank,
            } => write!(
                f,
                "{} '{chain}' would look the same hung {}, or counted from the other side. Mark the painted tooth of '{crank}' and of {} against the engine, and say where both point",
                band(*belt),
                band(*belt).over,
                one_of(shafts)
            ),
            Self::NotProven { shafts } => write!(
                f,
                "these marks do not prove {} (paint a mark on every sprocket between it and the crankshaft, and count to it)",
                one_of(shafts)
            ),
            Self::Spec(..) => f.write_str("what was counted does not hold together (see above)"),
            Self::Text(error) => error.fmt(f),
            Self::Check(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for CountedError {}

fn one_of(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("'{name}'")).collect();
    quoted.join(" or ")
}

fn band(belt: bool) -> &'static Band {
    Band::of_kind(belt.then_some(ChainKind::Belt))
}

impl Counted {
    /// A spec of it, which `lint` takes clean and whose marks, all on, prove the timing.
    ///
    /// ```
    /// use tautmark::proof::{Counted, CountedChain, CountedShaft, CountedSprocket};
    /// use tautmark::spec::{Rotation, ShaftKind};
    ///
    /// let shaft = |name: &str, kind| CountedShaft { name: name.into(), kind, points: None };
    /// let sprocket = |shaft: &str, teeth, to_next| CountedSprocket {
    ///     shaft: shaft.into(), teeth, outside: false, to_next: Some(to_next), plates: None,
    /// };
    /// let mut counted = Counted {
    ///     engine: "Example single".into(),
    ///     crank_turns: Rotation::Clockwise,
    ///     timed_position: "as it stood when it was painted".into(),
    ///     camshafts: 1,
    ///     shafts: vec![shaft("crank", ShaftKind::Crankshaft), shaft("cam", ShaftKind::Camshaft)],
    ///     chains: vec![CountedChain {
    ///         name: "main".into(), links: 90, cranked: false, belt: false,
    ///         walk: vec![sprocket("crank", 18, 45), sprocket("cam", 36, 45)],
    ///     }],
    /// };
    /// assert!(counted.spec()?.contains("teeth: 36, link: 45, colour: white two-stroke"));
    ///
    /// // Counted once more, one out: the counts no longer come to the whole chain.
    /// counted.chains[0].walk[0].to_next = Some(46);
    /// assert!(counted.spec().is_err());
    /// # Ok::<(), tautmark::proof::CountedError>(())
    /// ```
    ///
    /// # Errors
    /// [`CountedError`].
    pub fn spec(&self) -> Result<String, CountedError> {
        for chain in &self.chains {
            chain.holds_together()?;
        }
        let mut text = String::new();
        // Writing to a String cannot fail.
        let _ = self.write(&mut text);
        let source =
            Source::new("what was counted", text.clone().into()).map_err(CountedError::Text)?;
        let reading = lint(&source);
        let mut findings = reading.findings;
        // That the engine has more camshafts is told with the marks, and by every verdict.
        findings.retain(|finding| {
            finding.severity() != Severity::Note
                && !matches!(
                    finding.problem,
                    Problem::Drive(DriveProblem::CamshaftsNotNamed { .. })
                )
        });
        if let Some(alike) = findings.iter().find_map(|finding| self.alike(finding)) {
            return Err(alike);
        }
        let Some(drive) = reading.drive.filter(|_| findings.is_empty()) else {
            return Err(CountedError::Spec(Box::new(source), findings));
        };
        prove(&drive.as_whole_engine())?;
        Ok(text)
    }

    /// The marks of a chain do not tell one way of hanging it from another.
    fn alike(&self, finding: &Finding) -> Option<CountedError> {
        let Problem::Mark(MarkProblem::MarksAmbiguous { chain, off, .. }) = &finding.problem else {
            return None;
        };
        let crank = self
            .shafts
            .iter()
            .find(|shaft| shaft.kind == ShaftKind::Crankshaft);
        Some(CountedError::LooksAlike {
            chain: chain.clone(),
            belt: self
                .chains
                .iter()
                .any(|counted| counted.name == *chain && counted.belt),
            shafts: off.clone(),
            crank: crank.map_or_else(String::new, |shaft| shaft.name.clone()),
        })
    }

    fn write(&self, out: &mut String) -> std::fmt::Result {
        writeln!(
            out,
            "# Marks of one's own, painted and counted before anything was taken off.\n\
             # They prove that the {} hangs as it hung then, not that it was in time then.",
            band(self.chains.iter().all(|chain| chain.belt))
        )?;
        let names: Vec<String> = self.shafts.iter().map(|shaft| quote(&shaft.name)).collect();
        writeln!(
            out,
            "# Shafts: {}. What is not named here is not proven by it.",
            names.join(", ")
        )?;
        writeln!(out, "tautmark: 1\nengine: {}", quote(&self.engine))?;
        writeln!(out, "crank_turns: {}", self.crank_turns.word())?;
        writeln!(out, "timed_position: {}", quote(&self.timed_position))?;
        writeln!(
            out,
            "camshafts: {} # of the engine, all banks together",
            self.camshafts
        )?;
        writeln!(out, "shafts:")?;
        for shaft in &self.shafts {
            let (name, kind) = (quote(&shaft.name), shaft.kind.word());
            writeln!(out, "  {name}: {{ kind: {kind} }}")?;
        }
        writeln!(out, "chains:")?;
        for (number, chain) in self.chains.iter().enumerate() {
            writeln!(out, "  {}:", quote(&chain.name))?;
            writeln!(out, "    links: {}", chain.links)?;
            if chain.belt {
                let (key, kind) = (crate::spec::format::key::KIND, ChainKind::Belt.word());
                writeln!(out, "    {key}: {kind}")?;
            }
            if chain.cranked {
                writeln!(out, "    {}: true", crate::spec::format::key::CRANKED_LINK)?;
            }
            writeln!(out, "    path:")?;
            let mut link = 0_u32;
            let mut marks = 0;
            for sprocket in &chain.walk {
                write!(
                    out,
                    "      - {{ sprocket: {}, teeth: {}",
                    quote(&sprocket.shaft),
                    sprocket.teeth
                )?;
                if sprocket.outside {
                    write!(out, ", outside: true")?;
                }
                if let Some(count) = sprocket.to_next {
                    let named = |shaft: &&CountedShaft| shaft.name == sprocket.shaft;
                    let points = self.shafts.iter().find(named);
                    if let Some(angle) = points.and_then(|shaft| shaft.points) {
                        write!(out, ", dot: {}", angle.get())?;
                    }
                    write!(out, ", link: {link}, colour: {}", paint_of(number, marks))?;
                    link += u32::from(count);
                    marks += 1;
                }
                writeln!(out, " }}")?;
            }
        }
        Ok(())
    }
}

impl CountedChain {
    /// Do the counts come to the whole chain, and end on links of the kind they must?
    fn holds_together(&self) -> Result<(), CountedError> {
        if let Some(at) = self.walk.iter().find(|sprocket| sprocket.plates.is_some())
            && self.belt
        {
            return Err(CountedError::NoPlates {
                belt: self.name.clone(),
                at: at.shaft.clone(),
            });
        }
        if self.links % 2 == 1 && !self.cranked && !self.belt {
            return Err(CountedError::Odd {
                chain: self.name.clone(),
                links: self.links,
            });
        }
        let marks: Vec<(&CountedSprocket, u16)> = self
            .walk
            .iter()
            .filter_map(|sprocket| Some((sprocket, sprocket.to_next?)))
            .collect();
        let sum: u32 = marks.iter().map(|(_, count)| u32::from(*count)).sum();
        if sum != u32::from(self.links) {
            return Err(CountedError::AddsUp {
                chain: self.name.clone(),
                belt: self.belt,
                sum,
                links: self.links,
                counts: marks.len(),
            });
        }
        for (i, (from, count)) in marks.iter().enumerate() {
            let (to, _) = marks[(i + 1) % marks.len()];
            if let (Some(a), Some(b)) = (from.plates, to.plates)
                && !self.cranked
                && (a == b) != (count % 2 == 0)
            {
                return Err(CountedError::Plates {
                    from: from.shaft.clone(),
                    to: to.shaft.clone(),
                    count: *count,
                    alike: a == b,
                });
            }
        }
        Ok(())
    }
}

/// All painted teeth on their links: is that a proof?
fn prove(drive: &Drive) -> Result<(), CountedError> {
    let mut seen = Observations::at_timed_position();
    let marked = drive.engagements().filter(|(_, s)| s.mark().is_some());
    for (at, _) in marked {
        // Refused only if it has no link or was seen before, and neither can be.
        let _ = seen.see_link(drive, at, Seen::Teeth(Teeth::ZERO));
    }
    let outcome = check(drive, &seen).map_err(CountedError::Check)?;
    if outcome.verdict() == Verdict::InTime {
        return Ok(());
    }
    let unknown = outcome.shafts().iter().filter(|state| state.off.is_none());
    let shafts = unknown.map(|state| drive.shaft(state.shaft).name().to_owned());
    Err(CountedError::NotProven {
        shafts: shafts.collect(),
    })
}

/// A mark to be painted on a new chain that lies beside the old one.
#[derive(Clone, PartialEq, Debug)]
pub struct Carried {
    /// Whose mark it is.
    pub at: Engagement,
    /// Links from the first mark, the way the chain travels; at a half, both links beside it.
    pub from_first: LinkPosition,
    /// Links to the next mark; from the last one, back to the first.
    pub to_next: Teeth,
}

/// Why a new chain cannot take the marks of the old one.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum CarryError {
    /// Another number of links.
    OtherLinks {
        /// The chain.
        chain: String,
        /// The old one's.
        old: u16,
        /// The new one's, as counted.
        new: u32,
    },
    /// Nothing on the chain is marked.
    NoMarks {
        /// The chain.
        chain: String,
    },
    /// Too many or too few counts.
    Counts {
        /// The chain.
        chain: String,
        /// As many as there are marks.
        wanted: usize,
        /// As given.
        given: usize,
    },
    /// A number that cannot be held; the bounds of [`Drive`] prevent it.
    OutOfRange,
}

impl std::fmt::Display for CarryError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::OtherLinks { chain, old, new } => write!(
                f,
                "'{chain}': the new one has {new} links or teeth, the old one {old}. It is not the one for this engine, or one was miscounted: lay them side by side again (nothing is carried over)"
            ),
            Self::NoMarks { chain } => write!(
                f,
                "'{chain}' has no marks to carry over (paint the old one first)"
            ),
            Self::Counts {
                chain,
                wanted,
                given,
            } => write!(
                f,
                "'{chain}' has {wanted} marks, so there are {wanted} counts all the way around; {given} were given"
            ),
            Self::OutOfRange => crate::units::quantity::OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for CarryError {}

/// The marks of a chain by count, from the sprocket that drives it on, for a new chain with that many `links`.
///
/// ```
/// use tautmark::{Drive, Source, proof::carried};
///
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let main = drive.chain_named("main").ok_or("no chain")?;
/// let counts: Vec<String> =
///     carried(&drive, main, 118)?.iter().map(|mark| mark.to_next.to_string()).collect();
/// assert_eq!(counts, ["51", "17", "50"]);
/// assert!(carried(&drive, main, 120).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`CarryError`].
pub fn carried(drive: &Drive, id: ChainId, links: u32) -> Result<Vec<Carried>, CarryError> {
    let chain = drive.chain(id);
    let name = || chain.name().to_owned();
    if u32::from(chain.links().get()) != links {
        return Err(CarryError::OtherLinks {
            chain: name(),
            old: chain.links().get(),
            new: links,
        });
    }
    let mut all: Vec<_> = chain.engagements(id).collect();
    all.rotate_left(usize::from(chain.driver()));
    let marks: Vec<(Engagement, LinkPosition)> = all
        .iter()
        .filter_map(|(at, sprocket)| Some((*at, sprocket.mark()?.link)))
        .collect();
    let around = chain.links().to_exact();
    let apart = |from: LinkPosition, to: LinkPosition| -> Result<Exact, CarryError> {
        let links = to.since(from).and_then(|links| links.get().modulo(around));
        links.map_err(|_| CarryError::OutOfRange)
    };
    let Some((_, first)) = marks.first() else {
        return Err(CarryError::NoMarks { chain: name() });
    };
    let mut carried = Vec::with_capacity(marks.len());
    for (i, (at, link)) in marks.iter().enumerate() {
        let (_, next) = marks[(i + 1) % marks.len()];
        let to_next = if marks.len() == 1 {
            around
        } else {
            apart(*link, next)?
        };
        carried.push(Carried {
            at: *at,
            from_first: LinkPosition::new(apart(*first, *link)?),
            to_next: Teeth::new(to_next),
        });
    }
    Ok(carried)
}

/// What the marks on a new chain came to when they were counted again.
#[derive(Clone, PartialEq, Debug)]
pub enum Recount {
    /// Every mark lies where it does on the old chain.
    Same,
    /// The counts are right the other way around: the chain lies the other way, or was counted against its travel.
    OtherWay,
    /// They do not come to the whole chain: one was miscounted.
    AddsUp {
        /// What they come to.
        sum: Exact,
    },
    /// These counts are not those of the old chain.
    Differs(Vec<(Carried, Exact)>),
}

/// Compares the counts from mark to mark on the new chain with those of the old one.
///
/// # Errors
/// [`CarryError`].
pub fn recount(
    drive: &Drive,
    id: ChainId,
    links: u32,
    counts: &[Exact],
) -> Result<Recount, CarryError> {
    let marks = carried(drive, id, links)?;
    if counts.len() != marks.len() {
        return Err(CarryError::Counts {
            chain: drive.chain(id).name().to_owned(),
            wanted: marks.len(),
            given: counts.len(),
        });
    }
    let right: Vec<Exact> = marks.iter().map(|mark| mark.to_next.get()).collect();
    if right == counts {
        return Ok(Recount::Same);
    }
    let mut sum = Exact::ZERO;
    for count in counts {
        sum = sum
            .checked_add(*count)
            .map_err(|_| CarryError::OutOfRange)?;
    }
    if sum != drive.chain(id).links().to_exact() {
        return Ok(Recount::AddsUp { sum });
    }
    if right.iter().rev().eq(counts) {
        return Ok(Recount::OtherWay);
    }
    let pairs = marks.into_iter().zip(counts.iter().copied());
    let differs = pairs.filter(|(mark, count)| mark.to_next.get() != *count);
    Ok(Recount::Differs(differs.collect()))
}
