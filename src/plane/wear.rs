//! A worn chain: how far it retards each shaft, how far its tensioner comes out, and whether it may stay in.
//!
//! All of it is an estimate in floating point, but for the comparison with a limit where both numbers are exact.
#![allow(
    clippy::float_arithmetic,
    reason = "the geometry is the place for floating point"
)]

use crate::drive::ids::{ChainId, Engagement, ShaftId};
use crate::drive::model::Drive;
use crate::plane::geometry::{Dot, Path, SeatedPins, Tension, Vec2, elongated};
use crate::plane::layout::{Layout, LayoutError, MissingGeometry};
use crate::units::quantity::Exact;
use std::fmt;

/// No chain holds together at a tenth of its length more; such a number was measured or typed wrong.
const MOST: i64 = 10;

/// Places in one turn of the driver at which polygon action is looked at.
const STEPS: usize = 720;

/// How much longer a chain is than new, as a fraction of its length.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Elongation {
    /// Given, or measured over some links.
    Exact(Exact),
    /// Reckoned from the tensioner.
    Estimate(f64),
}

impl Elongation {
    /// As a floating-point number: a fraction of the length, 0.01 for one per cent.
    pub fn to_f64(self) -> f64 {
        match self {
            Self::Exact(exact) => exact.to_f64(),
            Self::Estimate(estimate) => estimate,
        }
    }

    fn reaches(self, limit: Exact) -> bool {
        match self {
            Self::Exact(exact) => exact >= limit,
            Self::Estimate(estimate) => estimate >= limit.to_f64(),
        }
    }
}

/// What wear came to.
#[derive(Clone, PartialEq, Debug)]
pub struct Wear {
    /// The worn chains.
    pub chains: Vec<ChainWear>,
    /// Every shaft that must be in time.
    pub shafts: Vec<ShaftWear>,
}

/// One worn chain.
#[derive(Clone, PartialEq, Debug)]
pub struct ChainWear {
    /// The chain.
    pub chain: ChainId,
    /// Its elongation.
    pub elongation: Elongation,
    /// What it is held against.
    pub limit: WearLimit,
    /// What came of that.
    pub verdict: WearVerdict,
    /// Its tensioner, if it has one and the geometry is given.
    pub tensioner: Option<Extension>,
    /// Why nothing can be said of places, if nothing can.
    pub unknown: Option<LayoutError>,
}

/// The limit of a chain's elongation: reaching it is beyond it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum WearLimit {
    /// The spec's own, which rules.
    Spec(Exact),
    /// The general limits of published guidance; an estimate.
    Published {
        /// For fixed centres, parallel strands or smooth running, as camshafts ask for.
        smooth: Exact,
        /// For any drive.
        general: Exact,
        /// The teeth of the largest sprocket on the chain.
        teeth: u16,
    },
}

impl WearLimit {
    /// Where the published numbers are from.
    pub const SOURCE: &'static str = "chain makers' published guidance citing ANSI B29.1: 3 %, or 200/N % on a sprocket of N teeth where that is less; about 1.5 % for fixed centres, parallel strands or smooth running";
}

/// May the chain stay in?
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum WearVerdict {
    /// Below its limit, and the tensioner still reaches it.
    Within,
    /// The spec gives no limit, and the published ones do not agree.
    NotProven,
    /// At or above its limit, or out of the tensioner's reach.
    Beyond,
}

/// How far a tensioner has come out, in mm from pushed all the way back.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Extension {
    /// With a new chain, in mm.
    pub new: f64,
    /// With the worn one, in mm; `None` if no travel would tighten it.
    pub worn: Option<f64>,
    /// How far it can, in mm.
    pub stroke: f64,
}

impl Extension {
    /// Does the tensioner still tighten the chain?
    pub fn within_stroke(&self) -> bool {
        self.worn.is_some_and(|worn| worn <= self.stroke)
    }
}

/// What wear and polygon action do to one shaft. What cannot be told is `None`: a chain on the way is not laid out, or the
/// shaft hangs on a slack strand.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ShaftWear {
    /// The shaft.
    pub shaft: ShaftId,
    /// Crank degrees by which it is late: elongation times the free links of the tight strands on the way from the crankshaft, first order.
    pub retard: Option<f64>,
    /// The same by laying the worn chain, whose links ride out on the sprockets.
    pub retard_by_path: Option<f64>,
    /// Crank degrees from the earliest to the latest in one turn because links are straight, on a new chain: a bound where several chains
    /// lie on the way.
    pub ripple: Option<f64>,
}

/// Why wear cannot be calculated.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum WearError {
    /// The spec says too little for this way of measuring.
    Missing(MissingGeometry),
    /// The chain cannot be laid.
    Layout(LayoutError),
    /// Shorter than a new chain: the measured length and that of a new one, in mm.
    Shorter {
        /// As measured.
        measured: f64,
        /// Of a new chain.
        new: f64,
    },
    /// Out less far than a new chain has it.
    LessThanNew {
        /// How far a new chain has it, in mm.
        new: f64,
    },
    /// Elongation outside of 0..=10 %.
    OutOfRange,
    /// Measured over no links, or over more than the chain has.
    Over {
        /// The links of the chain.
        links: u16,
    },
    /// A toothed belt, which has no pins to wear.
    Belt {
        /// The belt.
        belt: String,
    },
    /// A pair of gears, which has no pins to wear.
    Gears {
        /// Its name.
        gears: String,
    },
    /// Not exactly one tensioner on the chain.
    NoTensioner {
        /// The chain.
        chain: String,
    },
    /// An extension that the tensioner does not have.
    NotInStroke {
        /// Its stroke in mm.
        stroke: f64,
    },
    /// An extension at which the loop cannot be laid.
    NoSuchExtension,
}

impl fmt::Display for WearError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(missing) => missing.fmt(f),
            Self::Layout(error) => error.fmt(f),
            Self::Shorter { measured, new } => write!(
                f,
                "{measured:.2} mm is less than the {new:.2} mm of a new chain (measure again, with the chain pulled straight)"
            ),
            Self::LessThanNew { new } => write!(
                f,
                "a new chain has the tensioner out by {new:.1} mm already (is it measured from pushed all the way back?)"
            ),
            Self::OutOfRange => f.write_str(
                "the elongation is not in the required range of 0..=1/10 (1/100 is one per cent)",
            ),
            Self::Over { links } => write!(
                f,
                "the links measured over are not in the required range of 1..={links}"
            ),
            Self::Gears { gears } => write!(
                f,
                "'{gears}' is a pair of gears: it has no pins to wear, and does not grow"
            ),
            Self::Belt { belt } => write!(
                f,
                "'{belt}' is a toothed belt: it has no pins to wear, and nothing follows from its length (what tells is its age, its mileage and the maker's limits)"
            ),
            Self::NoTensioner { chain } => {
                write!(
                    f,
                    "chain '{chain}' does not have exactly one tensioner in the spec"
                )
            }
            Self::NotInStroke { stroke } => write!(
                f,
                "the extension is not in the required range of 0..={stroke} mm, the tensioner's stroke"
            ),
            Self::NoSuchExtension => {
                f.write_str("the loop cannot be laid with the tensioner out that far")
            }
        }
    }
}

impl std::error::Error for WearError {}

impl Elongation {
    /// An elongation as given: 1/100 is one per cent.
    ///
    /// # Errors
    /// [`WearError::OutOfRange`].
    pub fn given(elongation: Exact) -> Result<Self, WearError> {
        let most = Exact::fraction(1, MOST).ok_or(WearError::OutOfRange)?;
        if elongation < Exact::ZERO || elongation > most {
            return Err(WearError::OutOfRange);
        }
        Ok(Self::Exact(elongation))
    }

    /// From the length in mm, from pin to pin, of `checked_div` links of a chain: length / (over * pitch) - 1.
    ///
    /// ```
    /// use tautmark::{Drive, Source, plane::Elongation, units::Exact};
    ///
    /// let source = Source::new("kestrel", std::fs::read("engines/kestrel-four.yaml")?)?;
    /// let drive = Drive::read(&source).drive.ok_or("not usable")?;
    /// let chain = drive.chain_named("main").ok_or("no such chain")?;
    /// let measured = Elongation::measured(&drive, chain, Exact::whole(202), 25)?;
    /// assert_eq!(measured, Elongation::Exact(Exact::parse("1/100")?));
    /// // 25 links of a new chain of 8 mm are 200 mm.
    /// assert!(Elongation::measured(&drive, chain, Exact::whole(199), 25).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`WearError`] if the chain has no pitch or so many links, or the length is that of no worn chain.
    pub fn measured(
        drive: &Drive,
        chain: ChainId,
        length: Exact,
        over: u16,
    ) -> Result<Self, WearError> {
        can_wear(drive, chain)?;
        let of = drive.chain(chain);
        let links = of.links().get();
        if !(1..=links).contains(&over) {
            return Err(WearError::Over { links });
        }
        let Some(pitch) = of.pitch() else {
            return Err(WearError::Missing(MissingGeometry {
                shafts: Vec::new(),
                pitch_of: Some(of.name().to_owned()),
            }));
        };
        let out_of_range = |_| WearError::OutOfRange;
        let new = pitch
            .checked_mul(Exact::whole(i64::from(over)))
            .map_err(out_of_range)?;
        if length < new {
            return Err(WearError::Shorter {
                measured: length.to_f64(),
                new: new.to_f64(),
            });
        }
        let ratio = length.checked_div(new).map_err(out_of_range)?;
        Self::given(ratio.checked_sub(Exact::ONE).map_err(out_of_range)?)
    }

    /// From how far the tensioner has come out, in mm from pushed all the way back: the elongation at which the loop holds the chain's
    /// links with the tensioner there.
    ///
    /// # Errors
    /// [`WearError`] if the chain cannot be laid, has not exactly one tensioner, or no worn chain has it stand there.
    pub fn from_extension(
        drive: &Drive,
        chain: ChainId,
        extension: Exact,
    ) -> Result<Self, WearError> {
        can_wear(drive, chain)?;
        let layout = Layout::new(drive, chain).map_err(|error| match error {
            LayoutError::Missing(missing) => WearError::Missing(missing),
            other => WearError::Layout(other),
        })?;
        let [tensioner] = layout.tensioners() else {
            return Err(WearError::NoTensioner {
                chain: drive.chain(chain).name().to_owned(),
            });
        };
        let extension = extension.to_f64();
        if !(0.0..=tensioner.stroke).contains(&extension) {
            return Err(WearError::NotInStroke {
                stroke: tensioner.stroke,
            });
        }
        let links = f64::from(drive.chain(chain).links().get());
        let pushed = layout.fit().map_or(0.0, |fit| fit.travel);
        let mut wheels = layout.path().wheels().to_vec();
        if let Some(shoe) = wheels.get_mut(tensioner.wheel) {
            shoe.centre = shoe.centre + Vec2::from_clock(tensioner.pushes) * (extension - pushed);
        }
        let path = layout.path();
        let excess = |elongation: f64| {
            Path::new(&wheels, elongated(path.pitch(), elongation), path.travel())
                .map(|path| path.links() - links)
                .map_err(|_| WearError::NoSuchExtension)
        };
        // A longer pitch puts fewer links into the same loop, so the excess falls as the elongation grows.
        if excess(0.0)? < 0.0 {
            return Err(WearError::LessThanNew { new: pushed });
        }
        let (mut short, mut long) = (0.0, 0.1);
        if excess(long)? > 0.0 {
            return Err(WearError::OutOfRange);
        }
        for _ in 0..60 {
            let middle = f64::midpoint(short, long);
            if excess(middle)? > 0.0 {
                short = middle;
            } else {
                long = middle;
            }
        }
        Ok(Self::Estimate(f64::midpoint(short, long)))
    }
}

/// What the elongation of some chains does; the chains that are not named are taken as new.
///
/// A shaft behind several chains is late by the sum: each chain adds its own retard, which in crank degrees is the same at every shaft after
/// it, because the ratios that scale the angle scale it back.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::plane::{Elongation, WearVerdict, wear};
/// use tautmark::units::Exact;
///
/// // One per cent longer: both camshafts are late.
/// let chain = drive.chain_named("main").ok_or("no such chain")?;
/// let worn = wear(&drive, &[(chain, Elongation::given(Exact::parse("1/100")?)?)]);
/// assert!(worn.shafts.iter().all(|shaft| shaft.retard > Some(0.0)));
/// assert_ne!(worn.verdict(), WearVerdict::Within);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn wear(drive: &Drive, elongations: &[(ChainId, Elongation)]) -> Wear {
    let mut of_chain: Vec<Option<OnChain>> = Vec::new();
    for (id, _) in drive.chains() {
        let elongation = elongations.iter().find(|(chain, _)| *chain == id);
        if elongation.is_some() && can_wear(drive, id).is_err() {
            // What is said of its elongation is not known to be so.
            of_chain.push(None);
            continue;
        }
        let elongation = elongation.map_or(0.0, |(_, elongation)| elongation.to_f64());
        of_chain.push(OnChain::new(drive, id, elongation));
    }
    let chains = elongations
        .iter()
        .map(|(id, elongation)| chain_wear(drive, *id, *elongation))
        .collect();
    let shafts = drive
        .shafts()
        .filter(|(id, _)| drive.is_timed(*id))
        .map(|(id, _)| {
            let way: Vec<Engagement> = drive.way_to(id).map(|(_, driven)| driven).collect();
            let sum = |of: &dyn Fn(&OnChain, Engagement) -> Option<f64>| {
                way.iter()
                    .map(|at| of(of_chain.get(at.chain.index())?.as_ref()?, *at))
                    .sum::<Option<f64>>()
            };
            ShaftWear {
                shaft: id,
                retard: sum(&|on, at| on.retard(drive, at)),
                retard_by_path: sum(&|on, at| on.retard_by_path(drive, at)),
                ripple: sum(&|on, at| on.ripple(drive, at)),
            }
        })
        .collect();
    Wear { chains, shafts }
}

impl Wear {
    /// The worst of the chains' verdicts.
    pub fn verdict(&self) -> WearVerdict {
        let verdicts = self.chains.iter().map(|chain| chain.verdict);
        verdicts.max().unwrap_or(WearVerdict::NotProven)
    }
}

/// Has it pins that wear?
///
/// # Errors
/// [`WearError::Belt`], [`WearError::Gears`].
pub fn can_wear(drive: &Drive, chain: ChainId) -> Result<(), WearError> {
    let of = drive.chain(chain);
    if of.is_belt() {
        return Err(WearError::Belt {
            belt: of.name().to_owned(),
        });
    }
    if of.is_gears() {
        return Err(WearError::Gears {
            gears: of.name().to_owned(),
        });
    }
    Ok(())
}

/// The chains that can wear at their pins: all but belts and gears.
///
/// # Errors
/// [`WearError::Belt`] or [`WearError::Gears`] if there is none.
pub fn wearing(drive: &Drive) -> Result<Vec<ChainId>, WearError> {
    let chains: Vec<ChainId> = drive
        .chains()
        .filter(|(_, chain)| chain.has_pins())
        .map(|(id, _)| id)
        .collect();
    match drive.chains().next() {
        Some((belt, _)) if chains.is_empty() => can_wear(drive, belt).map(|()| chains),
        _ => Ok(chains),
    }
}

fn chain_wear(drive: &Drive, id: ChainId, elongation: Elongation) -> ChainWear {
    let chain = drive.chain(id);
    let (tensioner, unknown) = match (
        Layout::new(drive, id),
        Layout::with_elongation(drive, id, elongation.to_f64()),
    ) {
        (Ok(new), Ok(worn)) => {
            let tensioner = match (new.tensioners(), new.fit()) {
                ([tensioner], Some(fit)) => Some(Extension {
                    new: fit.travel,
                    worn: worn.fit().map(|fit| fit.travel),
                    stroke: tensioner.stroke,
                }),
                _ => None,
            };
            (tensioner, None)
        }
        (Err(error), _) | (_, Err(error)) => (None, Some(error)),
    };
    let limit = match chain.elongation_limit() {
        Some(limit) => WearLimit::Spec(limit),
        None => published(chain.sprockets().iter().map(|s| s.teeth().get()).max()),
    };
    let mut verdict = match limit {
        WearLimit::Spec(limit) if elongation.reaches(limit) => WearVerdict::Beyond,
        WearLimit::Published { general, .. } if elongation.reaches(general) => WearVerdict::Beyond,
        WearLimit::Published { smooth, .. } if elongation.reaches(smooth) => WearVerdict::NotProven,
        _ => WearVerdict::Within,
    };
    if tensioner.is_some_and(|tensioner| !tensioner.within_stroke()) {
        verdict = WearVerdict::Beyond;
    }
    // Nothing is known of what a belt's length says, and gears have none.
    if !chain.has_pins() {
        verdict = WearVerdict::NotProven;
    }
    ChainWear {
        chain: id,
        elongation,
        limit,
        verdict,
        tensioner,
        unknown,
    }
}

/// min(3, 200/N) per cent, and no more than 1.5 per cent for smooth running.
fn published(teeth: Option<u16>) -> WearLimit {
    let teeth = teeth.unwrap_or(1).max(1);
    let part = |n, d| Exact::fraction(n, d).unwrap_or(Exact::ZERO);
    let general = part(3, 100).min(part(2, i64::from(teeth)));
    WearLimit::Published {
        smooth: general.min(part(15, 1000)),
        general,
        teeth,
    }
}

/// A chain laid new and worn.
struct OnChain {
    elongation: f64,
    new: Layout,
    worn: Layout,
    /// Polygon action of each wheel that is followed, in degrees of the driver.
    ripples: Vec<(usize, f64)>,
}

impl OnChain {
    fn new(drive: &Drive, id: ChainId, elongation: f64) -> Option<Self> {
        let new = Layout::new(drive, id).ok()?;
        let worn = Layout::with_elongation(drive, id, elongation).ok()?;
        Some(Self {
            elongation,
            // A belt bends: it has no straight links that would make its speed rise and fall.
            ripples: if drive.chain(id).is_belt() {
                let wheels = 0..new.path().wheels().len();
                wheels.map(|wheel| (wheel, 0.0)).collect()
            } else {
                ripples(drive, id, &new).unwrap_or_default()
            },
            new,
            worn,
        })
    }

    /// The wheel of a sprocket, if only tight strands lead from it to the driver.
    fn pulled(&self, at: Engagement) -> Option<usize> {
        let wheel = self.new.wheel_of(at)?;
        let tensions: Vec<Tension> = self.new.strands().map(|(_, tension)| tension).collect();
        let way = self.new.path().strands_between(wheel, self.new.driver());
        let tight = |strand: &usize| tensions.get(*strand) == Some(&Tension::Tight);
        (!way.is_empty() && way.iter().all(tight)).then_some(wheel)
    }

    fn retard(&self, drive: &Drive, at: Engagement) -> Option<f64> {
        let wheel = self.pulled(at)?;
        // Elongation times free links is the links by which the sprocket lags; a link is a tooth.
        let links = self.elongation * self.new.path().free_links(wheel, self.new.driver());
        Some(links * drive.chain(at.chain).tooth().get().to_f64())
    }

    fn retard_by_path(&self, drive: &Drive, at: Engagement) -> Option<f64> {
        let wheel = self.pulled(at)?;
        let driver = self.new.driver();
        let middle = |wheel: usize| {
            let contact = self.new.path().contact(wheel)?;
            Some(contact.entry_clock + contact.turns.sign() * contact.wrap / 2.0)
        };
        // From fixed places on both sprockets; the worn chain has fewer links on that way than the new one.
        let count = |layout: &Layout| {
            let path = layout.path();
            Some(
                path.links_between(wheel, middle(wheel)?, driver, middle(driver)?)?
                    .links,
            )
        };
        let links = count(&self.new)? - count(&self.worn)?;
        Some(links * drive.chain(at.chain).tooth().get().to_f64())
    }

    fn ripple(&self, drive: &Drive, at: Engagement) -> Option<f64> {
        let wheel = self.new.wheel_of(at)?;
        let (_, degrees) = self.ripples.iter().find(|(of, _)| *of == wheel)?;
        // Degrees of the driver to crank degrees: its shaft's turns for one turn of the crankshaft.
        let driver = drive.sprocket(drive.driver_of(at.chain)).shaft();
        Some(degrees / drive.shaft(driver).speed().to_f64())
    }
}

/// Polygon action of a new chain over one turn of its driver.
fn ripples(drive: &Drive, id: ChainId, layout: &Layout) -> Option<Vec<(usize, f64)>> {
    let path = layout.path();
    let mut dots = vec![None; path.wheels().len()];
    for (at, sprocket) in drive.chain(id).engagements(id) {
        let wheel = layout.wheel_of(at)?;
        let mark = sprocket.mark().map(|mark| mark.link.get().to_f64());
        let clock = sprocket.dot().map(|dot| dot.get().to_f64());
        dots[wheel] = match (clock, mark) {
            (Some(clock), Some(link)) => Some(Dot { clock, link }),
            // Any place of the driver's teeth will do: a turn meets them all.
            _ if wheel == layout.driver() => Some(Dot {
                clock: clock.unwrap_or(path.contact(wheel)?.exit_clock),
                link: 0.0,
            }),
            _ => None,
        };
    }
    // The others are found from the driver's; if its link is made up, theirs would not fit it.
    if drive.sprocket(drive.driver_of(id)).mark().is_none() {
        for (wheel, dot) in dots.iter_mut().enumerate() {
            if wheel != layout.driver() {
                *dot = None;
            }
        }
    }
    let tensioners: Vec<usize> = layout.tensioners().iter().map(|t| t.wheel).collect();
    let links = u32::from(drive.chain(id).links().get());
    let pins = SeatedPins::new(path, layout.driver(), &tensioners, &dots, links).ok()?;
    let ripples = pins.ripples(STEPS).ok()?;
    Some(ripples.iter().map(|r| (r.wheel, r.span())).collect())
}
