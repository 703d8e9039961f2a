//! Marks from centres: which link each dot belongs on, or where the dot points, and the lines of the spec that would
//! have to change. Nothing is written; the changes are for a person to look at.
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::{Chain, Drive, Part, Sprocket};
use crate::plane::geometry::{Limits, PathFinding};
use crate::plane::layout::{Layout, LayoutError, MissingGeometry};
use crate::plane::survey::{AGREES, half_link, lint};
use crate::spec::conform::is_unprintable;
use crate::spec::edit::{Edit, in_order, insertion, link_key, link_with_key, made};
use crate::spec::finding::{Finding, FitProblem, Problem};
use crate::spec::format::key;
use crate::spec::raw::ShaftKind;
use crate::spec::source::{Source, Span};
use crate::units::quantity::LinkPosition;

/// A mark that has to change is brought to agree this well, in links; if its nearest link does not, its dot is turned.
const FITS: f64 = 0.05;

/// What fitting the marks of a spec came to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Fitting {
    /// The lines that change, from the top. Empty if all marks agree.
    pub changes: Vec<Change>,
    /// The values of those lines that change, in the same order.
    pub marks: Vec<FittedMark>,
    /// What could not be fitted, and why.
    pub unfitted: Vec<Unfitted>,
}

/// A line that changes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// Its number, from 1.
    pub line: usize,
    /// As it is.
    pub old: String,
    /// What it becomes: one line, or more where lines are added.
    pub new: String,
}

/// A value that changes.
#[derive(Clone, PartialEq, Debug)]
pub struct FittedMark {
    /// The line of its sprocket's entry, or of the value itself where it stands there already; from 1.
    pub line: usize,
    /// The chain.
    pub chain: String,
    /// The shaft.
    pub shaft: String,
    /// `dot`, `link` or `links`.
    pub key: &'static str,
    /// As it is, with its key; `None` where nothing stands there.
    pub old: Option<String>,
    /// What it becomes, without its key.
    pub new: String,
    /// Why.
    pub why: FittedWhy,
}

/// Why a value of a mark changes.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum FittedWhy {
    /// Links are counted from here, and nothing was given.
    Origin,
    /// Counted along the path.
    Counted {
        /// The shaft from whose dot the links were counted.
        from: String,
        /// The links from there to the dot here.
        links: f64,
        /// How far the mark that was given is ahead of that, in links.
        off: Option<f64>,
    },
    /// The dot as written leaves no whole or half link, or none was given.
    Turned {
        /// The whole link that it was turned to.
        link: LinkPosition,
    },
}

/// Something that could not be fitted.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum Unfitted {
    /// A chain of which the spec says too little.
    Missing(MissingGeometry),
    /// A chain that does not run as chains do: see [`lint`].
    NoPath {
        /// The chain.
        chain: String,
    },
    /// A dot where no chain lies, so that no link can be on it.
    DotOffChain {
        /// The chain.
        chain: String,
        /// The shaft.
        shaft: String,
        /// Is there a link on it all the same?
        marked: bool,
    },
    /// A chain with another number of links than its loop and its tensioner hold.
    Length {
        /// The chain.
        chain: String,
    },
    /// A sprocket to which only a slack strand of unknown length leads.
    NoCount {
        /// The chain.
        chain: String,
        /// The shaft.
        shaft: String,
    },
}

/// Why marks cannot be fitted at all.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum FittingError {
    /// The spec has mistakes that are not about marks; these.
    Spec(Vec<Finding>),
    /// The values are found but the lines cannot be changed as text, as where an alias stands for an entry.
    Unwritable,
    /// A line at or near one that changes has characters that cannot be shown, so that a patch would not be what it looks like.
    Unshowable {
        /// The line, from 1.
        line: usize,
    },
}

impl std::fmt::Display for FittingError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Unshowable { line } => {
                return write!(
                    f,
                    "line {line} has characters that cannot be shown, so a patch would not be what it looks like (take them out)"
                );
            }
            Self::Spec(_) => "the spec has mistakes that have to be put right first",
            Self::Unwritable => {
                "the lines of the marks cannot be changed as text (write out aliases and quoted keys)"
            }
        })
    }
}

impl std::error::Error for FittingError {}

/// Computes where dots and coloured links belong from centres, tooth counts and the driver's mark, and the lines that change.
///
/// What agrees within a quarter link stays. Where link and dot of a sprocket disagree, its dot is believed and its link
/// changed; where that leaves no whole or half link, the dot is turned too. Where one of the two is
/// missing it comes from the other, and where both are the mark is put on the whole link nearest to the middle of the chain's arc on
/// the sprocket. A crankshaft without marks gets link 0 there. Idlers and pumps without marks stay without.
///
/// # Errors
/// [`FittingError`].
///
/// # Example
/// ```
/// use tautmark::{Source, plane::fit_marks};
///
/// let text = include_str!("../../engines/wren-single.yaml");
/// let bare = text.replace(", dot: 22.5, link: 48, colour: yellow", "");
/// let fitting = fit_marks(&Source::new("wren", bare.into())?)?;
/// assert_eq!(fitting.changes.len(), 1);
/// assert_eq!(fitting.changes[0].new.trim(), "- { sprocket: cam, teeth: 40, dot: 355.5, link: 45 }");
///
/// // Nothing to do.
/// assert!(fit_marks(&Source::new("wren", text.into())?)?.changes.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit_marks(source: &Source) -> Result<Fitting, FittingError> {
    let (drive, errors) = Drive::read_unmarked(source);
    let Some(drive) = drive else {
        return Err(FittingError::Spec(errors));
    };
    let mut fitting = Fitting::default();
    let mut edits = Vec::new();
    for (id, chain) in drive.chains() {
        match Layout::new(&drive, id) {
            Ok(layout) if runs(&layout) && !holds(&layout, chain) => {
                fitting.unfitted.push(Unfitted::Length {
                    chain: chain.name().to_owned(),
                });
            }
            Ok(layout) if runs(&layout) => {
                let fitter = Fitter {
                    drive: &drive,
                    id,
                    chain,
                    layout: &layout,
                    source,
                };
                let Fitting {
                    marks, unfitted, ..
                } = &mut fitting;
                fitter.fit(&mut edits, marks, unfitted)?;
            }
            Ok(_) | Err(LayoutError::NoPath(_) | LayoutError::OtherDrive) => {
                fitting.unfitted.push(Unfitted::NoPath {
                    chain: chain.name().to_owned(),
                })
            }
            // The marks of gears are where they mesh, and there is nothing to be counted.
            Err(LayoutError::Gears) => {}
            Err(LayoutError::Missing(missing)) => {
                fitting.unfitted.push(Unfitted::Missing(missing));
            }
        }
    }
    let complete = fitting.unfitted.is_empty();
    fitting.changes = changes(source, edits, complete)?;
    fitting.marks.sort_by_key(|mark| mark.line);
    if let Some(line) = unshowable(source, &fitting.changes) {
        return Err(FittingError::Unshowable { line });
    }
    Ok(fitting)
}

/// A line within three of one that changes whose characters cannot all be shown.
fn unshowable(source: &Source, changes: &[Change]) -> Option<usize> {
    let near = |line: usize| changes.iter().any(|change| change.line.abs_diff(line) <= 3);
    let hidden = |line: &str| {
        line.trim_end_matches('\r')
            .chars()
            .any(|c| is_unprintable(c) && c != '\t')
    };
    let lines = source.text().split('\n').enumerate();
    lines
        .map(|(n, line)| (n + 1, line))
        .find_map(|(n, line)| (near(n) && hidden(line)).then_some(n))
}

fn runs(layout: &Layout) -> bool {
    let findings = layout.path().findings(&Limits::default());
    findings.iter().all(|finding| {
        matches!(
            finding,
            PathFinding::FewTeeth { .. } | PathFinding::Untouched { .. }
        )
    })
}

/// Marks are counted modulo the links of the chain, so those must be right before the marks can be.
fn holds(layout: &Layout, chain: &Chain) -> bool {
    match (layout.tensioners().len(), layout.fit()) {
        (0, _) => crate::plane::survey::holds(layout.path().links(), chain.links().get()),
        (1, fit) => fit.is_some_and(|fit| fit.in_stroke),
        _ => true,
    }
}

/// A mark as it should be.
#[derive(Clone, Copy)]
struct Fitted {
    clock: f64,
    link: LinkPosition,
}

/// The mark from which the others of a chain are counted.
struct Origin {
    wheel: usize,
    mark: Fitted,
    shaft: String,
}

/// One chain being fitted.
struct Fitter<'a> {
    drive: &'a Drive,
    id: ChainId,
    chain: &'a Chain,
    layout: &'a Layout,
    source: &'a Source,
}

impl Fitter<'_> {
    fn fit(
        &self,
        edits: &mut Vec<Edit>,
        marks: &mut Vec<FittedMark>,
        unfitted: &mut Vec<Unfitted>,
    ) -> Result<(), FittingError> {
        let off_chain = |sprocket: &Sprocket| Unfitted::DotOffChain {
            chain: self.chain.name().to_owned(),
            shaft: self.drive.shaft(sprocket.shaft()).name().to_owned(),
            marked: sprocket.mark().is_some(),
        };
        let (at, origin) = match self.origin() {
            Ok(origin) => origin,
            Err(sprocket) => {
                unfitted.push(off_chain(sprocket));
                return Ok(());
            }
        };
        let sprocket = self.drive.sprocket(at);
        if !self.stays_bare(sprocket) {
            self.edit(
                origin.wheel,
                sprocket,
                (origin.mark, FittedWhy::Origin),
                edits,
                marks,
            )?;
        }
        for (other, sprocket) in self.chain.engagements(self.id) {
            let Some(wheel) = self.layout.wheel_of(other).filter(|_| other != at) else {
                continue;
            };
            if self.stays_bare(sprocket) {
                continue;
            }
            let dot = sprocket.dot().map(|dot| dot.get().to_f64());
            if dot.is_some_and(|dot| !self.lies(wheel, dot)) {
                unfitted.push(off_chain(sprocket));
                continue;
            }
            match self.fitted(wheel, sprocket, &origin) {
                Some(fitted) => self.edit(wheel, sprocket, fitted, edits, marks)?,
                None => unfitted.push(Unfitted::NoCount {
                    chain: self.chain.name().to_owned(),
                    shaft: self.drive.shaft(sprocket.shaft()).name().to_owned(),
                }),
            }
        }
        Ok(())
    }

    /// What need not be in time and bears no mark gets none.
    fn stays_bare(&self, sprocket: &Sprocket) -> bool {
        let kind = self.drive.shaft(sprocket.shaft()).kind();
        !sprocket.is_marked() && matches!(kind, ShaftKind::Pump | ShaftKind::Idler)
    }

    /// The mark from which the others are counted: the driver's, or where that bears none and need not, the first one on the path that
    /// has both dot and link. An error is a sprocket whose dot is where no chain lies.
    fn origin(&self) -> Result<(Engagement, Origin), &Sprocket> {
        let driver = self.drive.driver_of(self.id);
        let sprocket = self.drive.sprocket(driver);
        let named = |at: Engagement| {
            let shaft = self.drive.sprocket(at).shaft();
            self.drive.shaft(shaft).name().to_owned()
        };
        if self.stays_bare(sprocket) {
            let marked = self.chain.engagements(self.id).find_map(|(at, sprocket)| {
                let clock = sprocket.dot()?.get().to_f64();
                let link = sprocket.mark()?.link;
                let wheel = self.layout.wheel_of(at)?;
                self.lies(wheel, clock).then(|| {
                    let mark = Fitted { clock, link };
                    (
                        at,
                        Origin {
                            wheel,
                            mark,
                            shaft: named(at),
                        },
                    )
                })
            });
            if let Some(marked) = marked {
                return Ok(marked);
            }
        }
        let wheel = self.layout.driver();
        let clock = sprocket
            .dot()
            .map(|dot| dot.get().to_f64())
            .or_else(|| Some(tenth(self.middle(wheel)?)))
            .filter(|clock| self.lies(wheel, *clock))
            .ok_or(sprocket)?;
        let link = sprocket.mark().map_or(LinkPosition::ZERO, |mark| mark.link);
        let mark = Fitted { clock, link };
        Ok((
            driver,
            Origin {
                wheel,
                mark,
                shaft: named(driver),
            },
        ))
    }

    /// The mark of one sprocket, as near to what is written as the path allows.
    fn fitted(
        &self,
        wheel: usize,
        sprocket: &Sprocket,
        origin: &Origin,
    ) -> Option<(Fitted, FittedWhy)> {
        let links = self.chain.links().to_exact();
        let link_at = |clock: f64| {
            let counted = self
                .layout
                .count((origin.wheel, origin.mark.clock), (wheel, clock))?;
            Some(origin.mark.link.get().to_f64() + counted)
        };
        let dot = sprocket.dot().map(|dot| dot.get().to_f64());
        let mark = sprocket.mark().map(|mark| mark.link);
        // How far `link` is ahead of where the path has `there`.
        let ahead = |link: LinkPosition, there: f64| {
            let off = link.get().to_f64() - there;
            off - (off / links.to_f64()).round() * links.to_f64()
        };
        let sign = self.layout.path().contact(wheel)?.turns.sign();
        let turned = |clock: f64, off: f64| {
            let degrees = off * 360.0 / f64::from(sprocket.teeth().get());
            tenth((clock + sign * degrees).rem_euclid(360.0))
        };
        let counted = |there: f64, off: Option<f64>| FittedWhy::Counted {
            from: origin.shaft.clone(),
            links: (there - origin.mark.link.get().to_f64()).rem_euclid(links.to_f64()),
            off,
        };
        if let (Some(clock), Some(link)) = (dot, mark) {
            let there = link_at(clock)?;
            if ahead(link, there).abs() <= AGREES {
                return Some((Fitted { clock, link }, counted(there, None)));
            }
        }
        if let (None, Some(link)) = (dot, mark) {
            let middle = self.middle(wheel)?;
            let clock = turned(middle, ahead(link, link_at(middle)?));
            if self.lies(wheel, clock) && ahead(link, link_at(clock)?).abs() <= FITS {
                return Some((Fitted { clock, link }, FittedWhy::Turned { link }));
            }
        }
        let clock = dot.or_else(|| self.middle(wheel))?;
        let there = link_at(clock)?;
        let off = mark.map(|mark| ahead(mark, there));
        let half = half_link(there, links)?;
        if dot.is_some() && ahead(half, there).abs() <= FITS {
            return Some((Fitted { clock, link: half }, counted(there, off)));
        }
        let whole = half_link(there.round(), links)?;
        let fitted = Fitted {
            clock: turned(clock, ahead(whole, there)),
            link: whole,
        };
        Some((fitted, counted(there, off)))
    }

    /// The clock angle of the middle of the chain's arc on a wheel.
    fn middle(&self, wheel: usize) -> Option<f64> {
        let contact = self.layout.path().contact(wheel)?;
        let middle = contact.entry_clock + contact.turns.sign() * contact.wrap / 2.0;
        Some(middle.rem_euclid(360.0))
    }

    fn lies(&self, wheel: usize, clock: f64) -> bool {
        let position = self.layout.path().position(wheel, clock);
        position.is_some_and(|(_, lies)| lies)
    }

    /// The edits that give a sprocket its mark.
    fn edit(
        &self,
        wheel: usize,
        sprocket: &Sprocket,
        (fitted, why): (Fitted, FittedWhy),
        edits: &mut Vec<Edit>,
        marks: &mut Vec<FittedMark>,
    ) -> Result<(), FittingError> {
        let places = self
            .drive
            .places()
            .chains
            .get(self.id.index())
            .and_then(|places| places.parts.get(wheel))
            .copied()
            .unwrap_or_default();
        debug_assert!(matches!(
            self.chain.path().get(wheel),
            Some(Part::Sprocket(_))
        ));
        let mut added = Vec::new();
        let mut told = |span: Option<Span>, key: &'static str, old: Option<String>, new: &str| {
            // Where the link that is given keeps its place, the dot is what is turned to it.
            let why = match (&why, key) {
                (FittedWhy::Counted { .. }, key::DOT) => FittedWhy::Turned { link: fitted.link },
                (why, _) => why.clone(),
            };
            marks.push(FittedMark {
                line: self.source.position(span.unwrap_or(places.whole)).line,
                chain: self.chain.name().to_owned(),
                shaft: self.drive.shaft(sprocket.shaft()).name().to_owned(),
                key,
                old,
                new: new.to_owned(),
                why,
            });
        };
        if sprocket
            .dot()
            .is_none_or(|dot| dot.get().to_f64() != fitted.clock)
        {
            let text = decimal(fitted.clock);
            let old = places
                .dot
                .map(|span| format!("{}: {}", key::DOT, self.source.slice(span)));
            told(places.dot, key::DOT, old, &text);
            match places.dot {
                Some(span) => edits.push(Edit { span, text }),
                None => added.push(format!("dot: {text}")),
            }
        }
        if sprocket.mark().is_none_or(|mark| mark.link != fitted.link) {
            let text = link_key(fitted.link, self.chain.links());
            let with_key = match places.link {
                Some(span) => {
                    Some(link_with_key(self.source, span).ok_or(FittingError::Unwritable)?)
                }
                None => None,
            };
            let key = if fitted.link.get().is_whole() {
                key::LINK
            } else {
                key::LINKS
            };
            let old = with_key.map(|span| self.source.slice(span).to_owned());
            let new = text.split_once(": ").map_or(text.as_str(), |(_, new)| new);
            told(with_key, key, old, new);
            match with_key {
                Some(span) => edits.push(Edit { span, text }),
                None => added.push(text),
            }
        }
        if !added.is_empty() {
            edits.push(insertion(self.source, &places, &added).ok_or(FittingError::Unwritable)?);
        }
        Ok(())
    }
}

/// To a tenth of a degree, as dots are written.
fn tenth(clock: f64) -> f64 {
    ((clock * 10.0).round() / 10.0).rem_euclid(360.0)
}

fn decimal(clock: f64) -> String {
    let text = format!("{clock:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// The lines that change when the edits are made. They are made, and the text is read again, so that nothing is
/// promised that would not come of it: a spec that can be read, and where the fitting is complete, one whose marks agree.
fn changes(source: &Source, edits: Vec<Edit>, complete: bool) -> Result<Vec<Change>, FittingError> {
    let edits = in_order(edits).ok_or(FittingError::Unwritable)?;
    let text = source.text();
    let mut changes = Vec::new();
    let whole = made(source, &edits);
    let mut start = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let bare = line.trim_end_matches(['\n', '\r']);
        let mut new = bare.to_owned();
        // An insertion at the end of a line belongs to that line.
        let within = |edit: &&Edit| (start..=start + bare.len()).contains(&edit.span.start);
        let mut any = false;
        for edit in edits.iter().rev().filter(within) {
            let (from, to) = (edit.span.start - start, edit.span.end - start);
            if to > bare.len() {
                return Err(FittingError::Unwritable);
            }
            new.replace_range(from..to, &edit.text);
            any = true;
        }
        if any {
            changes.push(Change {
                line: number + 1,
                old: bare.to_owned(),
                new,
            });
        }
        start += line.len();
    }
    let changed = Source::new(source.name(), whole.into_bytes());
    let agrees = changed.is_ok_and(|changed| {
        if !complete {
            return Drive::read_unmarked(&changed).0.is_some();
        }
        let reading = lint(&changed);
        let disagrees = |finding: &Finding| {
            matches!(
                finding.problem,
                Problem::Fit(FitProblem::LinksDisagree { .. })
            )
        };
        reading.drive.is_some() && !reading.findings.iter().any(disagrees)
    });
    if agrees || changes.is_empty() {
        Ok(changes)
    } else {
        Err(FittingError::Unwritable)
    }
}
