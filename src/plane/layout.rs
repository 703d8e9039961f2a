//! From the checked model to the plane: one chain of a [`Drive`] laid over its sprockets and shoes.
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

use crate::drive::error::CheckError;
use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::{Drive, Part};
use crate::plane::geometry::{
    Fit, FitError, Path, PathError, Place, Point, Round, Side, Strand, Tension, Tensioner, Travel,
    Wheel, elongated, solve_travel,
};
use crate::spec::raw::Rotation;
use crate::timing::cause::{FromMarks, Strands};
use crate::units::quantity::Exact;
use std::fmt;

/// One chain of a drive in its place: where it runs, how its tensioner stands, which strands are
/// tight.
///
/// A wheel of the [`Path`] has the number of its part in [`crate::drive::Chain::path`], so
/// `drive.chain(id).path()[wheel]` says whether it is a sprocket, a guide or a tensioner;
/// [`Layout::wheel_of`] goes the other way.
///
/// # Drawing links
///
/// Link k lies in the timed position where [`Layout::link`] says, `moved` links further once the chain
/// has travelled that far (a sprocket of z teeth that turns once moves it z links). It spans the pins at
/// `k - 0.5` and `k + 0.5`, so a chain is drawn by asking for the pins:
///
/// ```
/// use tautmark::{Drive, Source, plane::Layout};
///
/// let source = Source::new("wren", std::fs::read("engines/wren-single.yaml")?)?;
/// let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let chain = drive.chain_named("main").ok_or("no such chain")?;
/// let layout = Layout::new(&drive, chain)?;
/// let pins: Vec<_> = (0..90)
///     .filter_map(|link| layout.link(f64::from(link) - 0.5, 0.0))
///     .collect();
/// assert_eq!(pins.len(), 90);
/// // Neighbouring pins are a pitch apart (a chord on a sprocket, and all but a hair of one on a shoe).
/// assert!((pins[0].point.distance(pins[1].point) - 9.525).abs() < 0.05);
/// // The tensioner has to push a little to hold a new chain.
/// assert!((layout.fit().ok_or("no tensioner")?.travel - 3.203).abs() < 0.001);
///
/// // Without a place for each shaft there is nothing to lay.
/// let text = source.text().replace(", at: [0, 0]", "");
/// let source = Source::new("wren", text.into())?;
/// let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let chain = drive.chain_named("main").ok_or("no such chain")?;
/// let error = Layout::new(&drive, chain).err().ok_or("it was laid")?;
/// assert_eq!(error.to_string(), "the spec gives no place ('at:') for shaft 'crank'");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Layout {
    chain: ChainId,
    links: f64,
    path: Path,
    driver: usize,
    /// The wheel of each sprocket, in the order of the chain's sprockets.
    wheels: Vec<usize>,
    tensioners: Vec<Tensioner>,
    fit: Option<Result<Fit, FitError>>,
    /// A wheel, the clock angle of its dot, and the link on that dot.
    anchor: Option<Anchor>,
}

/// The dot from which links are counted.
#[derive(Clone, Copy, Debug)]
struct Anchor {
    at: Engagement,
    wheel: usize,
    clock: f64,
    link: Exact,
}

/// What a spec would have to give before a chain can be laid.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct MissingGeometry {
    /// The shafts of that chain without `at:`, with their names.
    pub shafts: Vec<(ShaftId, String)>,
    /// The name of the chain, if it has no `pitch:`.
    pub pitch_of: Option<String>,
}

/// Why a chain cannot be laid.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum LayoutError {
    /// The chain is of another drive.
    OtherDrive,
    /// The spec says too little.
    Missing(MissingGeometry),
    /// It is a pair of gears, over which nothing runs.
    Gears,
    /// Its wheels carry no chain, wherever the tensioner stands.
    NoPath(PathError),
}

impl fmt::Display for MissingGeometry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut lacks = Vec::new();
        if !self.shafts.is_empty() {
            let names: Vec<String> = self.shafts.iter().map(|(_, n)| format!("'{n}'")).collect();
            let word = if names.len() == 1 { "shaft" } else { "shafts" };
            lacks.push(format!("place ('at:') for {word} {}", names.join(", ")));
        }
        if let Some(chain) = &self.pitch_of {
            lacks.push(format!("pitch ('pitch:') for '{chain}'"));
        }
        write!(f, "the spec gives no {}", lacks.join(" and no "))
    }
}

impl fmt::Display for LayoutError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OtherDrive => CheckError::OtherDrive.fmt(f),
            Self::Missing(missing) => missing.fmt(f),
            Self::Gears => f.write_str("nothing runs over a pair of gears"),
            Self::NoPath(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for LayoutError {}

impl Layout {
    /// Lays a new chain, the tensioner where it has to stand so that the loop holds the chain's links.
    ///
    /// # Errors
    /// [`LayoutError`]. A tensioner that cannot reach that place is no error: see
    /// [`Layout::fit_error`].
    pub fn new(drive: &Drive, chain: ChainId) -> Result<Self, LayoutError> {
        Self::worn(drive, chain, Exact::ZERO)
    }

    /// Lays a chain that has grown by `elongation` (1/100 is one per cent).
    ///
    /// # Errors
    /// As [`Layout::new`].
    pub fn worn(drive: &Drive, chain: ChainId, elongation: Exact) -> Result<Self, LayoutError> {
        Self::with_elongation(drive, chain, elongation.to_f64())
    }

    pub(crate) fn with_elongation(
        drive: &Drive,
        id: ChainId,
        elongation: f64,
    ) -> Result<Self, LayoutError> {
        if !drive.owns_chain(id) {
            return Err(LayoutError::OtherDrive);
        }
        let (wheels, pitch) = wheels(drive, id).map_err(LayoutError::Missing)?;
        if drive.chain(id).is_gears() {
            return Err(LayoutError::Gears);
        }
        let chain = drive.chain(id);
        let pitch = elongated(pitch, elongation);
        let links = f64::from(chain.links().get());
        let travel = travel(drive, id);
        let sprockets = wheel_of_each(drive, id);
        let wheel_of = |sprocket: u8| sprockets.get(usize::from(sprocket)).copied().unwrap_or(0);
        let tensioners: Vec<Tensioner> = chain
            .path()
            .iter()
            .enumerate()
            .filter_map(|(wheel, part)| match part {
                Part::Tensioner { pushes, stroke, .. } => Some(Tensioner {
                    wheel,
                    pushes: pushes.get().to_f64(),
                    stroke: stroke.to_f64(),
                }),
                _ => None,
            })
            .collect();
        // Two tensioners share the work as their springs decide, which no spec says.
        let fit = match tensioners.as_slice() {
            [only] => Some(solve_travel(&wheels, pitch, travel, only, links)),
            _ => None,
        };
        let path = match &fit {
            Some(Ok(fit)) => fit.path.clone(),
            _ => Path::new(&wheels, pitch, travel).map_err(LayoutError::NoPath)?,
        };
        let anchors = |sprocket: u8| {
            let of = chain.sprockets().get(usize::from(sprocket))?;
            let (dot, mark) = (of.dot()?, of.mark()?);
            Some(Anchor {
                at: Engagement {
                    chain: id,
                    sprocket,
                },
                wheel: wheel_of(sprocket),
                clock: dot.get().to_f64(),
                link: mark.link.get(),
            })
        };
        let anchor = std::iter::once(chain.driver())
            .chain((0_u8..).take(sprockets.len()))
            .find_map(anchors);
        Ok(Self {
            chain: id,
            links,
            path,
            driver: wheel_of(chain.driver()),
            wheels: sprockets,
            tensioners,
            fit,
            anchor,
        })
    }

    /// Which chain this is.
    pub fn chain(&self) -> ChainId {
        self.chain
    }

    /// Where the chain runs. Its tensioner stands where [`Layout::fit`] has it, or pushed all the way
    /// back where there is no such place.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The way in which the chain goes round its loop.
    pub fn travel(&self) -> Travel {
        self.path.travel()
    }

    /// The wheel that drives the chain.
    pub fn driver(&self) -> usize {
        self.driver
    }

    /// The wheel of a sprocket of this chain; of another chain's sprocket, `None`.
    pub fn wheel_of(&self, at: Engagement) -> Option<usize> {
        (at.chain == self.chain)
            .then(|| self.wheels.get(usize::from(at.sprocket)).copied())
            .flatten()
    }

    /// The tensioners, pushed all the way back.
    pub fn tensioners(&self) -> &[Tensioner] {
        &self.tensioners
    }

    /// How the chain's one tensioner stands so that the loop holds the chain's links. `None` if there
    /// is none or more than one, or if no travel does it. The travel may lie outside of the stroke.
    pub fn fit(&self) -> Option<&Fit> {
        self.fit.as_ref()?.as_ref().ok()
    }

    /// Why no travel of the chain's one tensioner makes the loop hold its links.
    pub fn fit_error(&self) -> Option<&FitError> {
        self.fit.as_ref()?.as_ref().err()
    }

    /// The strands in the order of travel, tight or slack while the engine turns its normal way.
    pub fn strands(&self) -> impl Iterator<Item = (&Strand, Tension)> {
        let wheels: Vec<usize> = self.tensioners.iter().map(|t| t.wheel).collect();
        // The driver is a touched sprocket: no path is laid otherwise.
        let tensions = self.path.tensions(self.driver, &wheels).unwrap_or_default();
        self.path.strands().iter().zip(tensions)
    }

    /// Where link `link` (a half lies between two links: a pin) is in the timed position, once the chain has
    /// travelled `moved` links. It is counted from the driver's dot, or from the first sprocket that has a
    /// dot and a link; `None` if none has both.
    ///
    /// Where the loop does not hold the chain's links exactly, the links are spread evenly over it, so that
    /// the last one meets the first.
    pub fn link(&self, link: f64, moved: f64) -> Option<Place> {
        let anchor = self.anchor?;
        let along = (link - anchor.link.to_f64() + moved) * self.path.links() / self.links;
        self.path.place_from(anchor.wheel, anchor.clock, along)
    }

    /// The mark of a sprocket against the links counted along the path: over tight strands where they
    /// lead from dot to dot, else over the loop with the tensioner in its place, which holds exactly the
    /// chain's links. `None` if the sprocket lacks a dot or a link, is itself the one counted from, if no chain lies
    /// on one of the two dots, or if only a slack strand of unknown length leads there.
    pub fn residual(&self, drive: &Drive, at: Engagement) -> Option<Residual> {
        let anchor = self.anchor.filter(|anchor| anchor.at != at)?;
        let wheel = self.wheel_of(at)?;
        let sprocket = drive.sprocket(at);
        let (dot, mark) = (sprocket.dot()?.get().to_f64(), sprocket.mark()?);
        let counted = self.count((anchor.wheel, anchor.clock), (wheel, dot))?;
        let links = drive.chain(self.chain).links().to_exact();
        let marked = mark.link.get().checked_sub(anchor.link).ok()?;
        let marked = marked.modulo(links).ok()?;
        let off = marked.to_f64() - counted;
        let off = off - (off / self.links).round() * self.links;
        Some(Residual {
            from: anchor.at,
            marked,
            counted,
            off,
            degrees: off * 360.0 / f64::from(sprocket.teeth().get()),
        })
    }

    /// Links in the direction of travel from a clock angle of one wheel to one of another, where both lie on the chain: over
    /// the tight strands that lead there or back, else over the loop with the tensioner in its place.
    pub(crate) fn count(&self, from: (usize, f64), to: (usize, f64)) -> Option<f64> {
        let count = |from: (usize, f64), to: (usize, f64)| {
            let count = self.path.links_between(from.0, from.1, to.0, to.1)?;
            (!count.from_extrapolated && !count.to_extrapolated).then_some(count.links)
        };
        if self.is_tight(to.0, from.0) {
            Some(self.links - count(to, from)?)
        } else if self.is_tight(from.0, to.0) || self.fit().is_some() {
            count(from, to)
        } else {
            None
        }
    }

    /// Do only tight strands lead from one wheel along the travel to another?
    fn is_tight(&self, from: usize, to: usize) -> bool {
        let tensions: Vec<Tension> = self.strands().map(|(_, tension)| tension).collect();
        let way = self.path.strands_between(from, to);
        !way.is_empty()
            && way
                .iter()
                .all(|strand| tensions.get(*strand) == Some(&Tension::Tight))
    }
}

/// How the mark of a sprocket agrees with the links counted along the path.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Residual {
    /// The sprocket from whose dot the links are counted: the driver, or where that lacks a dot or a
    /// link the first one that has both.
    pub from: Engagement,
    /// Links from there to here by the marks.
    pub marked: Exact,
    /// Links from there to here by the path.
    pub counted: f64,
    /// How far the mark is ahead of the path, in links.
    pub off: f64,
    /// The same in degrees of the sprocket.
    pub degrees: f64,
}

impl MissingGeometry {
    /// What `drive` lacks to lay `chain`; `None` if nothing.
    pub fn of(drive: &Drive, chain: ChainId) -> Option<Self> {
        wheels(drive, chain).err()
    }
}

/// The way in which a chain goes round: its driver's, unless the chain's outside runs on it.
pub(crate) fn travel(drive: &Drive, chain: ChainId) -> Travel {
    let driver = drive.sprocket(drive.driver_of(chain));
    let turns = match drive.rotation(driver.shaft()) {
        Rotation::Clockwise => Travel::Clockwise,
        Rotation::CounterClockwise => Travel::CounterClockwise,
    };
    if driver.outside() {
        turns.reversed()
    } else {
        turns
    }
}

/// The wheel of each sprocket of a chain.
fn wheel_of_each(drive: &Drive, chain: ChainId) -> Vec<usize> {
    let mut wheels = vec![0; drive.chain(chain).sprockets().len()];
    for (wheel, part) in drive.chain(chain).path().iter().enumerate() {
        if let Part::Sprocket(sprocket) = part
            && let Some(place) = wheels.get_mut(usize::from(*sprocket))
        {
            *place = wheel;
        }
    }
    wheels
}

/// The wheels of a chain with tensioners pushed back, and its pitch in mm.
fn wheels(drive: &Drive, id: ChainId) -> Result<(Vec<Wheel>, f64), MissingGeometry> {
    let chain = drive.chain(id);
    let mut missing = MissingGeometry {
        shafts: Vec::new(),
        pitch_of: chain.pitch().is_none().then(|| chain.name().to_owned()),
    };
    let point = |[x, y]: [Exact; 2]| Point::new(x.to_f64(), y.to_f64());
    let side = |outside| {
        if outside { Side::Outside } else { Side::Inside }
    };
    let round = |teeth| {
        if !chain.has_pins() {
            Round::Pulley { teeth }
        } else {
            Round::Sprocket { teeth }
        }
    };
    let mut wheels = Vec::with_capacity(chain.path().len());
    for part in chain.path() {
        match part {
            Part::Sprocket(sprocket) => {
                let sprocket = drive.sprocket(Engagement {
                    chain: id,
                    sprocket: *sprocket,
                });
                let shaft = drive.shaft(sprocket.shaft());
                match shaft.centre() {
                    None => missing
                        .shafts
                        .push((sprocket.shaft(), shaft.name().to_owned())),
                    Some(centre) => wheels.push(Wheel {
                        centre: point(centre),
                        round: round(u32::from(sprocket.teeth().get())),
                        side: side(sprocket.outside()),
                    }),
                }
            }
            Part::Guide(shoe) | Part::Tensioner { shoe, .. } => wheels.push(Wheel {
                centre: point(shoe.centre),
                round: Round::Shoe {
                    radius: shoe.radius.to_f64(),
                },
                side: side(shoe.outside),
            }),
        }
    }
    match chain.pitch() {
        Some(pitch) if missing.shafts.is_empty() => Ok((wheels, pitch.to_f64())),
        _ => Err(missing),
    }
}

/// Link counts of the free tight strands along the paths of the chains, to a thousandth of a link;
/// from mark to mark for a chain that cannot be laid.
#[derive(Clone, Debug)]
pub struct FromPaths<'a> {
    drive: &'a Drive,
    layouts: Vec<Option<Layout>>,
}

impl<'a> FromPaths<'a> {
    /// Lays every chain of `drive` that can be laid.
    pub fn new(drive: &'a Drive) -> Self {
        Self {
            drive,
            layouts: drive
                .chains()
                .map(|(id, _)| Layout::new(drive, id).ok())
                .collect(),
        }
    }
}

impl Strands for FromPaths<'_> {
    fn tight_links(&self, at: Engagement) -> Option<Exact> {
        let layout = self.layouts.get(at.chain.index()).and_then(Option::as_ref);
        let Some(layout) = layout else {
            return FromMarks(self.drive).tight_links(at);
        };
        let links = layout
            .path()
            .free_links(layout.wheel_of(at)?, layout.driver());
        // Written out and read back: no cast that could lose a digit unseen.
        Exact::parse(&format!("{links:.3}")).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::geometry::{Limits, PathFinding};
    use crate::spec::source::Source;

    fn read(text: &str) -> Drive {
        let source = Source::new("test", text.into()).unwrap();
        Drive::read(&source).drive.unwrap()
    }

    #[test]
    fn the_way_round_follows_the_driver_and_its_side() {
        let plover = read(include_str!("../../engines/plover-three.yaml"));
        let heron = read(include_str!("../../engines/heron-v6.yaml"));
        let tern = read(include_str!("../../engines/tern-between.yaml"));
        for (drive, chain, way) in [
            (&plover, "main", Travel::Clockwise),
            (&heron, "left", Travel::Clockwise),
            (&tern, "main", Travel::CounterClockwise),
        ] {
            let id = drive.chain_named(chain).unwrap();
            assert_eq!(Layout::new(drive, id).unwrap().travel(), way, "{chain}");
        }
    }

    #[test]
    fn a_driver_on_the_outside_sends_the_chain_the_other_way() {
        let text = "
tautmark: 1
engine: Outside driver
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 60] }
  left: { kind: camshaft, at: [-100, 0] }
  right: { kind: camshaft, at: [100, 0] }
chains:
  main:
    pitch: 8
    links: 88
    path:
      - { sprocket: crank, teeth: 18, outside: true, dot: 180, link: 0 }
      - { sprocket: left, teeth: 36, dot: 270, link: 21 }
      - { sprocket: right, teeth: 36, dot: 90, link: 65 }
";
        let drive = read(text);
        let chain = drive.chain_named("main").unwrap();
        let layout = Layout::new(&drive, chain).unwrap();
        assert_eq!(layout.travel(), Travel::CounterClockwise);
        // Listed in that order the chain goes round once; only its hold on the driver is short.
        let findings = layout.path().findings(&Limits::default());
        assert!(
            matches!(findings[..], [PathFinding::FewTeeth { wheel: 0, .. }]),
            "{findings:?}"
        );
    }

    #[test]
    fn a_residual_is_the_shorter_way_round() {
        let text = include_str!("../../engines/wren-single.yaml").replace("link: 48", "link: 2");
        let drive = read(&text);
        let chain = drive.chain_named("main").unwrap();
        let layout = Layout::new(&drive, chain).unwrap();
        let cam = drive.engagements().nth(1).unwrap().0;
        // 46 links behind on a chain of 90 are 44 ahead.
        let off = layout.residual(&drive, cam).unwrap().off;
        assert!((off - 44.0).abs() < 0.01, "{off}");
    }

    #[test]
    fn links_stand_on_their_dots() {
        let drive = read(include_str!("../../engines/kestrel-four.yaml"));
        let chain = drive.chain_named("main").unwrap();
        let layout = Layout::new(&drive, chain).unwrap();
        for (at, sprocket) in drive.engagements() {
            let wheel = layout.wheel_of(at).unwrap();
            let (dot, mark) = (sprocket.dot().unwrap(), sprocket.mark().unwrap());
            let there = layout.link(mark.link.get().to_f64(), 0.0).unwrap();
            let dot = layout.path().place_from(wheel, dot.get().to_f64(), 0.0);
            // A hundredth of a link of disagreement is allowed to the spec.
            assert!(there.point.distance(dot.unwrap().point) < 0.08);
            assert_eq!(there.wheel, Some(wheel));
        }
        // One turn of the 18-tooth crank brings link 0 to where link 18 was.
        let (here, there) = (layout.link(0.0, 18.0), layout.link(18.0, 0.0));
        assert!(here.unwrap().point.distance(there.unwrap().point) < 1e-9);
    }

    #[test]
    fn what_is_missing_is_named() {
        let text = include_str!("../../engines/kestrel-four.yaml");
        let drive = read(
            &text
                .replace("    pitch: 8\n", "")
                .replace(", at: [0, 0]", "")
                .replace(", at: [-60, 288]", ""),
        );
        let chain = drive.chain_named("main").unwrap();
        let missing = MissingGeometry::of(&drive, chain).unwrap();
        assert_eq!(
            missing.to_string(),
            "the spec gives no place ('at:') for shafts 'crank', 'exhaust' and no pitch ('pitch:') for 'main'"
        );
        assert_eq!(
            Layout::new(&drive, chain).unwrap_err(),
            LayoutError::Missing(missing)
        );
        let whole = read(text);
        let chain = whole.chain_named("main").unwrap();
        assert_eq!(MissingGeometry::of(&whole, chain), None);
    }
}
