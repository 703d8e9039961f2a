//! Marks of one's own: what to paint before a chain comes off, so that its timing can be proven when it is
//! on again. Nothing here says by a rule of its own that marks suffice: the chain is hung by them, and the proof is asked.

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Drive, Mark};
use crate::proof::check::{Check, CheckError, check, contradictions};
use crate::spec::edit::{self, Edit};
use crate::spec::finding::{Finding, MarkProblem, Problem, Severity};
use crate::spec::format::key;
use crate::spec::source::Source;
use crate::timing::check::Verdict;
use crate::timing::lookalike::Lookalike;
use crate::timing::observe::{Observations, Seen};
use crate::units::quantity::{LinkPosition, Teeth};

/// The fewest marks to paint.
#[derive(Clone, PartialEq, Debug)]
pub struct OwnMarks {
    /// A tooth, and the link that lies on it. With every one of these teeth on its own link the timing is
    /// proven; with one of them fewer it is not.
    pub pairs: Vec<Pair>,
    /// The fewest shafts on which a tooth has to be marked against the engine, too, before everything that looks the
    /// same is ruled out: a chain hung inside out, or numbered from the other side.
    pub lines: Vec<ShaftId>,
    /// The shafts of which a tooth, marked against the engine, proves the timing without any link: once the engine has
    /// been turned, the links have moved on.
    pub turned: Vec<ShaftId>,
    /// What looks the same by the pairs alone.
    pub alike: Vec<Lookalike>,
    /// Is it known how many links there are between the pairs? Otherwise `lines` are all that can be needed, and the
    /// links are still to be counted.
    pub counted: bool,
}

/// A tooth, and the link that lies on it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pair {
    /// The sprocket, and its chain.
    pub at: Engagement,
    /// Where on the chain, if the spec says so: at a half, both links beside it are painted.
    pub link: Option<LinkPosition>,
    /// Has the spec no dot there, so that a tooth has to be painted as well?
    pub tooth: bool,
    /// Which paint: `white two-stroke`. No two of a drive are the same.
    pub paint: String,
}

/// Why there are no marks to paint.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum PaintError {
    /// The spec has mistakes that are not about missing marks, or contradicts itself; these.
    Spec(Vec<Finding>),
    /// Nothing on the drive has to be in time.
    NothingTimed,
    /// The proof does not follow even with every mark painted.
    NotProven,
    /// It is not known how many links there are between the marks of this chain.
    Uncounted {
        /// The chain.
        chain: String,
    },
    /// The spec says that the engine has another number of camshafts.
    Camshafts {
        /// By the spec.
        spec: usize,
        /// As given.
        given: u16,
    },
    /// The lines of the marks cannot be changed as text, as where an alias stands for an entry.
    Unwritable,
    /// See there.
    Check(CheckError),
}

impl std::fmt::Display for PaintError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Spec(_) => f.write_str("the spec has mistakes that have to be put right first"),
            Self::NothingTimed => f.write_str(
                "nothing on this drive has to be in time, so there is nothing to mark (give its camshafts 'kind: camshaft')",
            ),
            Self::NotProven => f.write_str(
                "marks of one's own would not prove this drive (follow the maker's service information)",
            ),
            Self::Uncounted { chain } => write!(
                f,
                "the spec does not say how many links of chain '{chain}' there are between the marks (paint them, count, and give each sprocket its 'link')"
            ),
            Self::Camshafts { spec, given } => write!(
                f,
                "the spec says that the engine has {spec} camshafts, not {given} (count those of all banks, and put the spec right)"
            ),
            Self::Unwritable => f.write_str(
                "the lines of the marks cannot be changed as text (write out aliases and quoted keys)",
            ),
            Self::Check(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for PaintError {}

impl From<CheckError> for PaintError {
    fn from(error: CheckError) -> Self {
        Self::Check(error)
    }
}

impl From<crate::units::quantity::OutOfRange> for PaintError {
    fn from(error: crate::units::quantity::OutOfRange) -> Self {
        Self::Check(error.into())
    }
}

/// What to paint before anything is taken off, with the drive that it is about. A spec without any mark will do.
///
/// ```
/// use tautmark::{Source, proof::own_marks};
///
/// let text = "
/// tautmark: 1
/// engine: Example single
/// crank_turns: clockwise
/// shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// chains: { main: { links: 90, path: [
///   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 44 } ] } }
/// ";
/// let (drive, marks) = own_marks(&Source::new("example.yaml", text.into())?)?;
/// // A tooth and a link on each sprocket prove it.
/// assert_eq!(marks.pairs.len(), 2);
/// assert_eq!(marks.pairs[1].paint, "white two-stroke");
/// // But 44 links one way are 46 the other: inside out, the camshaft would be two teeth off.
/// let lines: Vec<&str> = marks.lines.iter().map(|id| drive.shaft(*id).name()).collect();
/// assert_eq!(lines, ["crank", "cam"]);
///
/// // With 45 both ways there is nothing to rule out.
/// let even = Source::new("example.yaml", text.replace("44", "45").into())?;
/// assert!(own_marks(&even)?.1.lines.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`PaintError`].
pub fn own_marks(source: &Source) -> Result<(Drive, OwnMarks), PaintError> {
    let reading = Drive::read(source);
    let mut errors = reading.findings;
    errors.retain(|finding| {
        finding.severity() == Severity::Error
            && !matches!(
                finding.problem,
                Problem::Mark(MarkProblem::NothingToSee { .. })
            )
    });
    if !errors.is_empty() {
        return Err(PaintError::Spec(errors));
    }
    // Marks that are not there yet are what is asked for.
    let drive = reading.drive.or_else(|| Drive::read_unmarked(source).0);
    let drive = drive.ok_or(PaintError::NotProven)?;
    let doubts = contradictions(&drive);
    if !doubts.is_empty() {
        return Err(PaintError::Spec(doubts));
    }
    let marks = plan(&drive)?;
    Ok((drive, marks))
}

/// The same spec, saying how many camshafts the engine has, all banks together.
///
/// # Errors
/// [`PaintError::Camshafts`] if it says another number, [`PaintError::Unwritable`] if no line can be added.
pub fn with_camshafts(source: &Source, camshafts: u16) -> Result<String, PaintError> {
    let drive = |source: &Source| {
        let read = Drive::read(source).drive;
        read.or_else(|| Drive::read_unmarked(source).0)
    };
    let said = drive(source).and_then(|drive| drive.camshafts());
    let text = source.text();
    match said {
        Some(said) if said == usize::from(camshafts) => return Ok(text.to_owned()),
        Some(spec) => {
            let given = camshafts;
            return Err(PaintError::Camshafts { spec, given });
        }
        None => {}
    }
    let mut out = String::with_capacity(text.len() + 16);
    for line in text.split_inclusive('\n') {
        out.push_str(line);
        if line.starts_with(key::CRANK_TURNS) && line.ends_with('\n') {
            // The file's own line ending.
            let ending = if line.ends_with("\r\n") { "\r\n" } else { "\n" };
            out.push_str(&format!("{}: {camshafts}{ending}", key::CAMSHAFTS));
        }
    }
    // Nothing is promised that would not come of it. More camshafts than that are told by whoever reads it.
    let again = Source::new(source.name(), out.clone().into_bytes());
    let again = again.map_err(|_| PaintError::Unwritable)?;
    match drive(&again) {
        Some(drive) if drive.camshafts() == Some(usize::from(camshafts)) => Ok(out),
        _ => Err(PaintError::Unwritable),
    }
}

/// The same spec with the marks painted: every other mark on a link is gone from it, everything else stays.
///
/// # Errors
/// [`PaintError::Uncounted`] if the spec does not give the links, [`PaintError::Unwritable`] if its lines cannot be changed.
pub fn painted(source: &Source) -> Result<String, PaintError> {
    let (drive, marks) = own_marks(source)?;
    if !marks.counted {
        let bare = marks.pairs.iter().find(|pair| pair.link.is_none());
        let chain = bare.map_or("", |pair| drive.chain(pair.at.chain).name());
        return Err(PaintError::Uncounted {
            chain: chain.to_owned(),
        });
    }
    let mut edits: Vec<Edit> = Vec::new();
    for (at, sprocket) in drive.engagements() {
        let places = drive.part_places(at).ok_or(PaintError::Unwritable)?;
        let change = match marks.pairs.iter().find(|pair| pair.at == at) {
            Some(pair) => {
                let text = pair.paint.clone();
                match places.colour {
                    Some(span) => Some(Edit { span, text }),
                    None => edit::insertion(source, &places, &[format!("colour: {text}")]),
                }
            }
            None if sprocket.mark().is_some() => {
                if let Some(span) = places.colour {
                    edits.push(edit::removal(source, &places, span).ok_or(PaintError::Unwritable)?);
                }
                places
                    .link
                    .and_then(|span| edit::removal(source, &places, span))
            }
            None => continue,
        };
        edits.push(change.ok_or(PaintError::Unwritable)?);
    }
    let edits = edit::in_order(edits).ok_or(PaintError::Unwritable)?;
    let text = edit::made(source, &edits);
    // Nothing is promised that would not come of it.
    let again = Source::new(source.name(), text.clone().into_bytes());
    let reading = again.ok().map(|again| Drive::read(&again));
    let Some(new) = reading.and_then(|reading| reading.drive) else {
        return Err(PaintError::Unwritable);
    };
    let wanted = |at: Engagement| {
        let pair = marks.pairs.iter().find(|pair| pair.at == at)?;
        Some(Mark {
            link: pair.link?,
            colour: Some(pair.paint.clone()),
        })
    };
    let as_planned = drive
        .engagements()
        .zip(new.engagements())
        .all(|((at, _), (_, sprocket))| sprocket.mark().cloned() == wanted(at));
    if as_planned && plan(&new)?.pairs.len() == marks.pairs.len() {
        Ok(text)
    } else {
        Err(PaintError::Unwritable)
    }
}

/// The fewest marks of a drive.
fn plan(drive: &Drive) -> Result<OwnMarks, PaintError> {
    let timed: Vec<ShaftId> = drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id))
        .map(|(id, _)| id)
        .collect();
    if timed.is_empty() {
        return Err(PaintError::NothingTimed);
    }
    // At each chain on the way to a shaft that must be in time, the sprocket that drives it and the one that is driven.
    let way: Vec<Engagement> = timed
        .iter()
        .flat_map(|id| drive.way_to(*id))
        .flat_map(|(driver, driven)| [driver, driven])
        .collect();
    let mut pairs = Vec::new();
    for (number, (id, _)) in drive.chains().enumerate() {
        pairs.extend(pairs_of(drive, id, number, &way));
    }
    let counted = pairs.iter().all(|pair| pair.link.is_some());
    let hung = Painted::new(drive, &pairs);
    let by_pairs = hung.look(&pairs, &[])?;
    if by_pairs.verdict() != Verdict::InTime {
        return Err(PaintError::NotProven);
    }
    let mut turned = vec![drive.crank()];
    turned.extend(timed);
    let by_dots = hung.look(&[], &turned)?;
    if !by_dots.release_tensioner() {
        return Err(PaintError::NotProven);
    }
    let lines = if counted {
        hung.fewest_lines(&pairs)?
    } else {
        turned.clone()
    };
    let alike = by_pairs.fits().iter().map(|fit| fit.lookalike.clone());
    Ok(OwnMarks {
        alike: if counted { alike.collect() } else { Vec::new() },
        pairs,
        lines,
        turned,
        counted,
    })
}

/// The paint of the mark `number` of a chain, both counted from 0 and from the crankshaft on: a pen for each chain, and as
/// many strokes as there are marks so far, so that no two are alike whatever pens there are.
pub(super) fn paint_of(chain: usize, number: usize) -> String {
    const PENS: [&str; 8] = [
        "white", "yellow", "red", "blue", "green", "orange", "pink", "grey",
    ];
    const STROKES: [&str; 6] = ["one", "two", "three", "four", "five", "six"];
    let pen = PENS.get(chain).copied().unwrap_or("other");
    match STROKES.get(number) {
        Some(strokes) => format!("{pen} {strokes}-stroke"),
        None => format!("{pen} {}-stroke", number + 1),
    }
}

/// The pairs of one chain, from the sprocket that drives it on.
fn pairs_of(drive: &Drive, id: ChainId, number: usize, way: &[Engagement]) -> Vec<Pair> {
    let chain = drive.chain(id);
    let mut all: Vec<_> = chain.engagements(id).collect();
    all.rotate_left(usize::from(chain.driver()));
    all.retain(|(at, _)| way.contains(at));
    all.into_iter()
        .enumerate()
        .map(|(i, (at, sprocket))| Pair {
            at,
            link: sprocket.mark().map(|mark| mark.link),
            tooth: !sprocket.is_marked(),
            paint: paint_of(number, i),
        })
        .collect()
}

/// A drive with those marks and no others.
struct Painted {
    drive: Drive,
}

impl Painted {
    fn new(drive: &Drive, pairs: &[Pair]) -> Self {
        let marks: Vec<(Engagement, Mark)> = (0_i64..)
            .zip(pairs)
            .map(|(i, pair)| {
                let mark = Mark {
                    // Where nobody has counted yet any place will do: nothing is told of it.
                    link: pair.link.unwrap_or_else(|| LinkPosition::whole(i)),
                    colour: Some(pair.paint.clone()),
                };
                (pair.at, mark)
            })
            .collect();
        Self {
            drive: drive.with_marks(&marks),
        }
    }

    /// The chain hung by the marks: every one of these on, and nothing else looked at.
    fn look(&self, pairs: &[Pair], lines: &[ShaftId]) -> Result<Check, PaintError> {
        let mut seen = Observations::at_timed_position();
        let on = Seen::Teeth(Teeth::ZERO);
        for pair in pairs {
            seen.see_link(&self.drive, pair.at, on)
                .map_err(|_| PaintError::NotProven)?;
        }
        for id in lines {
            let at = self
                .drive
                .shaft(*id)
                .engagements()
                .iter()
                .find(|at| self.drive.sprocket(**at).is_marked());
            let at = at.ok_or(PaintError::NotProven)?;
            seen.see_dot(&self.drive, *at, on)
                .map_err(|_| PaintError::NotProven)?;
        }
        Ok(check(&self.drive, &seen)?)
    }

    /// The fewest shafts, in the order of the spec, whose teeth have to be marked against the engine before the
    /// tensioner may be released: all choices are tried, the smallest first.
    fn fewest_lines(&self, pairs: &[Pair]) -> Result<Vec<ShaftId>, PaintError> {
        let bare = self.look(pairs, &[])?;
        // Only shafts that a look-alike puts off can tell it, and the crankshaft, from which they are measured.
        let of_use = |id: ShaftId| {
            id == self.drive.crank()
                || bare
                    .fits()
                    .iter()
                    .any(|fit| fit.lookalike.off.iter().any(|(off, _)| *off == id))
        };
        let shafts: Vec<ShaftId> = self
            .drive
            .shafts()
            .map(|(id, _)| id)
            .filter(|id| of_use(*id) && self.drive.is_marked(*id))
            .collect();
        // At most 16 shafts.
        let mut choices: Vec<u32> = (0..1_u32 << shafts.len().min(16)).collect();
        choices.sort_by_key(|choice| choice.count_ones());
        for choice in choices {
            let lines: Vec<ShaftId> = (0..)
                .zip(&shafts)
                .filter(|(i, _)| choice >> i & 1 == 1)
                .map(|(_, id)| *id)
                .collect();
            if self.look(pairs, &lines)?.release_tensioner() {
                return Ok(lines);
            }
        }
        Err(PaintError::NotProven)
    }
}
