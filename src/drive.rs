//! Step 2: the checked model. A [`Drive`] exists only if the spec holds together, so everything
//! behind this line can rely on it.

mod valves;

pub use valves::{Cylinders, Lift, Valves};

use crate::conform::nearest;
use crate::finding::{self, Finding, Problem, Severity};
use crate::place::Places;
use crate::plan::{self, Plan};
use crate::quantity::{
    ClockAngle, CrankDegrees, Exact, LinkCount, LinkPosition, OutOfRange, Teeth, ToothCount,
};
use crate::source::{At, Source, Span};
use crate::spec::{
    self, ChainSpec, EntrySpec, Parked, Point, Rotation, ShaftKind, ShaftSpec, ShoeSpec, Spec,
    SprocketSpec,
};
use std::collections::VecDeque;

/// A timing drive that holds together: shafts, the chains that join them, and their marks.
///
/// ```
/// use tautmark::{Drive, Source};
///
/// let text = "
/// tautmark: 1
/// engine: Example single
/// crank_turns: clockwise
/// shafts:
///   crank: { kind: crankshaft }
///   cam: { kind: camshaft }
/// chains:
///   main:
///     links: 90
///     path:
///       - { sprocket: crank, teeth: 18, link: 0 }
///       - { sprocket: cam, teeth: 36, link: 45 }
/// ";
/// let source = Source::new("example.yaml", text.into()).unwrap();
/// let reading = Drive::read(&source);
/// let drive = reading.drive.unwrap();
/// let cam = drive.shaft_named("cam").unwrap();
/// assert_eq!(drive.shaft(cam).ratio().to_string(), "1/2");
///
/// let wrong = Source::new("example.yaml", text.replace("36", "34").into()).unwrap();
/// assert!(Drive::read(&wrong).drive.is_none());
/// ```
#[derive(Clone, Debug)]
pub struct Drive {
    engine: String,
    crank_turns: Rotation,
    timed_position: Option<String>,
    shafts: Vec<Shaft>,
    chains: Vec<Chain>,
    crank: ShaftId,
    /// Every shaft but the crankshaft, each after the shaft that drives it.
    order: Vec<ShaftId>,
    places: Places,
    cylinders: Option<Cylinders>,
    valves: Vec<Valves>,
    plan: Plan,
}

/// What reading a spec came to.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The model; `None` if a finding is an error.
    pub drive: Option<Drive>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
    /// Was the text no mapping at all, so that the one finding is why?
    pub unreadable: bool,
}

/// A shaft of one [`Drive`].
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ShaftId(u8);

/// A chain of one [`Drive`].
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct ChainId(u8);

/// One sprocket on one chain: the place where they engage.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub struct Engagement {
    /// The chain.
    pub chain: ChainId,
    /// Which of its sprockets, in the order of travel.
    pub sprocket: u8,
}

/// A shaft; all its sprockets turn together.
#[derive(Clone, Debug)]
pub struct Shaft {
    name: String,
    kind: ShaftKind,
    phaser: Option<Phaser>,
    centre: Option<Point>,
    ratio: Exact,
    period: Exact,
    driven_at: Option<Engagement>,
    engagements: Vec<Engagement>,
}

/// A phaser: camshaft and sprocket may stand apart by some angle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Phaser {
    /// From end to end.
    pub range: CrankDegrees,
    /// Where its lock holds it.
    pub parked: Parked,
}

/// A chain and what it runs over.
#[derive(Clone, Debug)]
pub struct Chain {
    name: String,
    links: LinkCount,
    pitch: Option<Exact>,
    elongation_limit: Option<Exact>,
    sprockets: Vec<Sprocket>,
    path: Vec<Part>,
    driver: u8,
    speed: Exact,
    tooth: CrankDegrees,
    /// Sprockets on the chains before this one.
    before: usize,
}

/// What a travelling link meets.
#[derive(Clone, Debug)]
pub enum Part {
    /// One of the chain's sprockets.
    Sprocket(u8),
    /// A fixed guide.
    Guide(Shoe),
    /// A tensioner's shoe, the direction in which it pushes, and how far it can, in millimetres.
    Tensioner {
        /// The shoe, pushed all the way back.
        shoe: Shoe,
        /// Where it pushes.
        pushes: ClockAngle,
        /// How far, in mm.
        stroke: Exact,
    },
}

/// An arc on which the chain slides.
#[derive(Clone, Debug)]
pub struct Shoe {
    /// Its centre in mm.
    pub centre: Point,
    /// Its radius in mm.
    pub radius: Exact,
    /// Does it bear on the chain's outside?
    pub outside: bool,
}

/// A sprocket on a chain.
#[derive(Clone, Debug)]
pub struct Sprocket {
    shaft: ShaftId,
    teeth: ToothCount,
    outside: bool,
    dot: Option<ClockAngle>,
    mark: Option<Mark>,
    dowel_holes: Vec<Exact>,
}

/// Where on the chain a dot belongs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mark {
    /// The coloured link, or the half between two.
    pub link: LinkPosition,
    /// Its colour.
    pub colour: Option<String>,
}

impl Drive {
    /// Most findings of one file that are reported each by itself. Nobody mends more in one go, and
    /// a file made to annoy can hold a mistake in every second byte.
    pub const MAX_FINDINGS: usize = 100;

    /// Reads a spec. Every mistake in it is found in one go; beyond [`Self::MAX_FINDINGS`] the rest
    /// is one finding that counts them.
    pub fn read(source: &Source) -> Reading {
        let mut findings = Vec::new();
        let spec = spec::read(source, &mut findings);
        let unreadable = spec.is_none();
        let drive = spec.and_then(|spec| check(&spec, &mut findings));
        finding::in_order(&mut findings, Self::MAX_FINDINGS);
        let broken = findings
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        Reading {
            drive: drive.filter(|_| !broken),
            findings,
            unreadable,
        }
    }

    /// The model of a spec whose marks are still to be found, so that mistakes of marks do not count; the
    /// findings are those that do.
    pub(crate) fn read_unmarked(source: &Source) -> (Option<Self>, Vec<Finding>) {
        let mut findings = Vec::new();
        let drive = spec::read(source, &mut findings).and_then(|spec| check(&spec, &mut findings));
        findings.retain(|finding| {
            finding.severity() == Severity::Error
                && !matches!(
                    finding.problem,
                    Problem::NothingToSee { .. }
                        | Problem::LinksOutOfOrder { .. }
                        | Problem::LinkShared { .. }
                        | Problem::LinkPastEnd { .. }
                        | Problem::LinksNotNeighbours { .. }
                )
        });
        (drive.filter(|_| findings.is_empty()), findings)
    }

    /// The job around the chain.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What the engine is called.
    pub fn engine(&self) -> &str {
        &self.engine
    }

    /// The engine's normal direction of rotation, facing the timing end.
    pub fn crank_turns(&self) -> Rotation {
        self.crank_turns
    }

    /// The timed position in words, if the spec gives it.
    pub fn timed_position(&self) -> Option<&str> {
        self.timed_position.as_deref()
    }

    /// The cylinders, if the spec has that section.
    pub fn cylinders(&self) -> Option<&Cylinders> {
        self.cylinders.as_ref()
    }

    /// The valves, in the order of the file; none without that section.
    pub fn valves(&self) -> &[Valves] {
        &self.valves
    }

    /// The crankshaft.
    pub fn crank(&self) -> ShaftId {
        self.crank
    }

    /// Every shaft, in the order of the file.
    pub fn shafts(&self) -> impl Iterator<Item = (ShaftId, &Shaft)> {
        (0_u8..).map(ShaftId).zip(&self.shafts)
    }

    /// Every chain, in the order of the file.
    pub fn chains(&self) -> impl Iterator<Item = (ChainId, &Chain)> {
        (0_u8..).map(ChainId).zip(&self.chains)
    }

    /// Every sprocket of every chain.
    pub fn engagements(&self) -> impl Iterator<Item = (Engagement, &Sprocket)> {
        self.chains().flat_map(|(id, chain)| chain.engagements(id))
    }

    /// Every shaft but the crankshaft, each after the shaft that drives it.
    pub fn driven(&self) -> impl Iterator<Item = ShaftId> {
        self.order.iter().copied()
    }

    /// One shaft. Ids of another drive give whatever stands in their place, or the crankshaft.
    pub fn shaft(&self, id: ShaftId) -> &Shaft {
        self.shafts
            .get(usize::from(id.0))
            .unwrap_or(&self.shafts[usize::from(self.crank.0)])
    }

    /// One chain. Ids of another drive give whatever stands in their place, or the first.
    pub fn chain(&self, id: ChainId) -> &Chain {
        self.chains
            .get(usize::from(id.0))
            .unwrap_or(&self.chains[0])
    }

    /// One sprocket. Ids of another drive give whatever stands in their place, or the driver's.
    pub fn sprocket(&self, at: Engagement) -> &Sprocket {
        let chain = self.chain(at.chain);
        chain
            .sprockets
            .get(usize::from(at.sprocket))
            .unwrap_or(&chain.sprockets[usize::from(chain.driver)])
    }

    /// Where its values are written.
    pub(crate) fn places(&self) -> &Places {
        &self.places
    }

    /// How many sprockets there are on all chains.
    pub(crate) fn engagement_count(&self) -> usize {
        self.chains.iter().map(|chain| chain.sprockets.len()).sum()
    }

    /// The place of `at` among [`Drive::engagements`].
    pub(crate) fn index(&self, at: Engagement) -> usize {
        self.chain(at.chain).before + usize::from(at.sprocket)
    }

    /// The sprocket that drives a chain.
    pub fn driver_of(&self, chain: ChainId) -> Engagement {
        Engagement {
            chain,
            sprocket: self.chain(chain).driver,
        }
    }

    /// The shaft of that name.
    pub fn shaft_named(&self, name: &str) -> Option<ShaftId> {
        self.shafts()
            .find_map(|(id, shaft)| (shaft.name == name).then_some(id))
    }

    /// The chain of that name.
    pub fn chain_named(&self, name: &str) -> Option<ChainId> {
        self.chains()
            .find_map(|(id, chain)| (chain.name == name).then_some(id))
    }

    /// Must this shaft be in time? The crankshaft is what the others are in time with.
    pub fn is_timed(&self, id: ShaftId) -> bool {
        let shaft = self.shaft(id);
        match shaft.kind {
            ShaftKind::Camshaft | ShaftKind::Balance => true,
            ShaftKind::Pump => self.is_marked(id),
            ShaftKind::Crankshaft | ShaftKind::Idler => false,
        }
    }

    /// Is there anything on this shaft's sprockets that can be looked at?
    pub fn is_marked(&self, id: ShaftId) -> bool {
        self.shaft(id)
            .engagements
            .iter()
            .any(|at| self.sprocket(*at).is_marked())
    }

    /// How far ahead each wrong dowel hole of the sprocket by which a shaft is driven would put it.
    ///
    /// # Errors
    /// [`OutOfRange`] if a number cannot be held.
    pub fn dowel_holes(&self, id: ShaftId) -> Result<Vec<CrankDegrees>, OutOfRange> {
        let shaft = self.shaft(id);
        let Some(at) = shaft.driven_at else {
            return Ok(Vec::new());
        };
        self.sprocket(at)
            .dowel_holes
            .iter()
            .map(|hole| hole.over(shaft.speed()).map(CrankDegrees::new))
            .collect()
    }

    /// The way in which a shaft turns when the engine turns its normal way.
    pub fn rotation(&self, id: ShaftId) -> Rotation {
        if self.shaft(id).ratio.signum() < 0 {
            self.crank_turns.reversed()
        } else {
            self.crank_turns
        }
    }
}

impl ShaftId {
    /// Its place among [`Drive::shafts`].
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

impl ChainId {
    /// Its place among [`Drive::chains`].
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

impl Shaft {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What it is.
    pub fn kind(&self) -> ShaftKind {
        self.kind
    }

    /// Its phaser, if it has one.
    pub fn phaser(&self) -> Option<Phaser> {
        self.phaser
    }

    /// Its turns for one turn of the crankshaft, whichever way it turns: above zero.
    pub fn speed(&self) -> Exact {
        self.ratio.abs()
    }

    /// The crank turns in which it turns once, so that it stands as before.
    pub fn period(&self) -> Exact {
        self.period
    }

    /// The crank degrees in which it turns once.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn turn(&self) -> Result<CrankDegrees, OutOfRange> {
        self.period.times(Exact::whole(360)).map(CrankDegrees::new)
    }

    /// The smallest angle that leaves it standing as `angle` does: whole turns of its own are nothing.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn nearest(&self, angle: CrankDegrees) -> Result<CrankDegrees, OutOfRange> {
        let angle = angle.get().nearest_modulo(self.turn()?.get())?;
        Ok(CrankDegrees::new(angle))
    }

    /// Its centre in mm: x to the right, y up.
    pub fn centre(&self) -> Option<[Exact; 2]> {
        self.centre
    }

    /// Its turns for each turn of the crankshaft; below zero if it turns backwards.
    pub fn ratio(&self) -> Exact {
        self.ratio
    }

    /// The sprocket by which it is driven; `None` for the crankshaft.
    pub fn driven_at(&self) -> Option<Engagement> {
        self.driven_at
    }

    /// All its sprockets.
    pub fn engagements(&self) -> &[Engagement] {
        &self.engagements
    }
}

impl Chain {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How many links it has.
    pub fn links(&self) -> LinkCount {
        self.links
    }

    /// From pin to pin, in mm.
    pub fn pitch(&self) -> Option<Exact> {
        self.pitch
    }

    /// The elongation at which it must be replaced, as a fraction of its length.
    pub fn elongation_limit(&self) -> Option<Exact> {
        self.elongation_limit
    }

    /// Its sprockets, in the order in which a travelling link meets them.
    pub fn sprockets(&self) -> &[Sprocket] {
        &self.sprockets
    }

    /// All that a travelling link meets, in that order.
    pub fn path(&self) -> &[Part] {
        &self.path
    }

    /// Which of its sprockets drives it: the one nearest to the crankshaft.
    pub fn driver(&self) -> u8 {
        self.driver
    }

    /// Links that pass a fixed place in one turn of the crankshaft. It is the same at every
    /// sprocket of the chain: teeth times turns.
    pub fn speed(&self) -> Exact {
        self.speed
    }

    /// The crank angle to which one tooth of slip comes, at any sprocket of this chain:
    /// 360 over the chain's speed. (A chain straight off a crankshaft sprocket: 720 / Z crank
    /// degrees for a camshaft sprocket of Z teeth.)
    pub fn tooth(&self) -> CrankDegrees {
        self.tooth
    }

    /// Its sprockets with the names by which the drive knows them.
    pub fn engagements(&self, id: ChainId) -> impl Iterator<Item = (Engagement, &Sprocket)> {
        (0_u8..)
            .map(move |sprocket| Engagement {
                chain: id,
                sprocket,
            })
            .zip(&self.sprockets)
    }

    /// Crank degrees to teeth of any sprocket on this chain.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn teeth_in(&self, angle: CrankDegrees) -> Result<Teeth, OutOfRange> {
        Ok(Teeth::new(angle.get().over(self.tooth.get())?))
    }

    /// Teeth of any sprocket on this chain to crank degrees.
    ///
    /// # Errors
    /// [`OutOfRange`] if it cannot be held.
    pub fn crank_degrees_of(&self, teeth: Teeth) -> Result<CrankDegrees, OutOfRange> {
        self.tooth.scaled(teeth.get())
    }
}

impl Sprocket {
    /// The shaft that carries it.
    pub fn shaft(&self) -> ShaftId {
        self.shaft
    }

    /// Its teeth.
    pub fn teeth(&self) -> ToothCount {
        self.teeth
    }

    /// Is it driven by the chain's outside?
    pub fn outside(&self) -> bool {
        self.outside
    }

    /// Where its dot points in the timed position.
    pub fn dot(&self) -> Option<ClockAngle> {
        self.dot
    }

    /// The link on which its dot belongs in the timed position.
    pub fn mark(&self) -> Option<&Mark> {
        self.mark.as_ref()
    }

    /// Has it a dot at all?
    pub fn is_marked(&self) -> bool {
        self.dot.is_some() || self.mark.is_some()
    }
}

/// Bounds beyond those of single values. With them no sum or product of the model can leave
/// `i128`; the reckoning stands in DEVELOPERS.md.
mod bounds {
    /// A shaft turns at least 1/100 and at most 100 times as fast as the crankshaft.
    pub(super) const SPEED: i64 = 100;
    /// Largest number on either side of a shaft's ratio.
    pub(super) const RATIO_PART: i128 = 1_000_000;
    /// Largest common denominator of one tooth on every chain, in crank turns.
    pub(super) const COMMON: i128 = 1_000_000_000;
}

/// The model of `spec`, with a finding for everything that does not hold together.
fn check(spec: &Spec, findings: &mut Vec<Finding>) -> Option<Drive> {
    let plan = plan::check(&spec.job, findings);
    if too_large(spec) {
        return None;
    }
    let crank = crankshaft(spec, findings);
    for shaft in &spec.shafts {
        if let (Some(phaser), Some(kind)) = (&shaft.phaser, &shaft.kind)
            && kind.value != ShaftKind::Camshaft
        {
            findings.push(
                Finding::new(
                    Problem::PhaserNotOnCamshaft {
                        shaft: shaft.name.value.clone(),
                    },
                    phaser.span,
                )
                .with(kind.span),
            );
        }
    }
    for chain in &spec.chains {
        check_chain(spec, chain, findings);
    }
    nothing_to_see(spec, findings);
    valves::check(spec, findings);
    let graph = Graph::of(spec, crank?, findings);
    let mut drive = build(spec, crank?, &graph, plan)?;
    // A mark that is wrong is no mark yet: what the links cannot prove shows once it is mended.
    if !findings
        .iter()
        .any(|finding| finding.severity() == Severity::Error)
    {
        links_that_cannot_prove(spec, &drive, findings);
    }
    if drive.too_intricate() {
        findings.push(Finding::new(Problem::TooIntricate, spec.shafts_span));
        return None;
    }
    let mut before = 0;
    for chain in &mut drive.chains {
        chain.before = before;
        before += chain.sprockets.len();
        chain.tooth = CrankDegrees::new(Exact::whole(360).over(chain.speed).ok()?);
    }
    drive.cylinders = valves::build_cylinders(spec);
    drive.valves = valves::build_valves(spec, &drive);
    Some(drive)
}

/// Is there so much more than a drive can have that checking how it hangs together would only cost
/// time? A finding says so already. A few shafts too many are checked all the same.
fn too_large(spec: &Spec) -> bool {
    const TIMES: usize = 4;
    spec.shafts.len() > TIMES * crate::format::MAX_SHAFTS
        || spec.chains.len() > TIMES * crate::format::MAX_CHAINS
        || spec
            .chains
            .iter()
            .any(|chain| chain.path.len() > TIMES * crate::format::MAX_PATH)
}

fn crankshaft(spec: &Spec, findings: &mut Vec<Finding>) -> Option<usize> {
    let mut cranks = spec.shafts.iter().enumerate().filter(|(_, shaft)| {
        shaft
            .kind
            .as_ref()
            .is_some_and(|kind| kind.value == ShaftKind::Crankshaft)
    });
    let Some((crank, first)) = cranks.next() else {
        // Shafts of unknown kind may hide it; then that finding is enough, and if there is only one
        // such shaft the rest is checked as if it were the crankshaft.
        let mut unknown = (0..spec.shafts.len()).filter(|i| spec.shafts[*i].kind.is_none());
        let hidden = unknown.next();
        if hidden.is_none() && !spec.shafts.is_empty() {
            findings.push(Finding::new(Problem::NoCrankshaft, spec.shafts_span));
        }
        return hidden.filter(|_| unknown.next().is_none());
    };
    let mut only = true;
    for (_, second) in cranks {
        only = false;
        findings.push(
            Finding::new(
                Problem::SecondCrankshaft {
                    name: second.name.value.clone(),
                },
                second.name.span,
            )
            .with(first.name.span),
        );
    }
    only.then_some(crank)
}

/// The sprockets of a chain's path.
fn sprockets(chain: &ChainSpec) -> impl Iterator<Item = &SprocketSpec> {
    chain.path.iter().filter_map(|entry| match entry {
        EntrySpec::Sprocket(sprocket) => Some(sprocket),
        _ => None,
    })
}

fn shaft_index(spec: &Spec, sprocket: &SprocketSpec) -> Option<usize> {
    let name = sprocket.shaft.as_ref()?;
    spec.shafts
        .iter()
        .position(|shaft| shaft.name.value == name.value)
}

/// Shafts that must be in time and that no mark could prove.
fn nothing_to_see(spec: &Spec, findings: &mut Vec<Finding>) {
    for shaft in &spec.shafts {
        let needs_sight = shaft.kind.as_ref().is_some_and(|kind| {
            matches!(
                kind.value,
                ShaftKind::Crankshaft | ShaftKind::Camshaft | ShaftKind::Balance
            )
        });
        let its_sprockets = spec.chains.iter().flat_map(sprockets).filter(|sprocket| {
            let name = sprocket.shaft.as_ref();
            name.is_some_and(|name| name.value == shaft.name.value)
        });
        // A shaft without a sprocket is a finding already.
        let mut marks = its_sprockets.map(|sprocket| sprocket.marked);
        if needs_sight && marks.next() == Some(false) && !marks.any(|marked| marked) {
            findings.push(Finding::new(
                Problem::NothingToSee {
                    shaft: shaft.name.value.clone(),
                },
                shaft.name.span,
            ));
        }
    }
}

/// What can be said of one chain by itself.
fn check_chain(spec: &Spec, chain: &ChainSpec, findings: &mut Vec<Finding>) {
    let name = &chain.name.value;
    let all: Vec<&SprocketSpec> = sprockets(chain).collect();
    let unreadable = chain
        .path
        .iter()
        .any(|entry| matches!(entry, EntrySpec::Unreadable));
    if all.len() < 2 && !unreadable {
        findings.push(
            Finding::new(
                Problem::TooFewSprockets {
                    chain: name.clone(),
                    found: all.len(),
                },
                chain.path_span,
            )
            .with(chain.name.span),
        );
    }
    for (i, sprocket) in all.iter().enumerate() {
        let Some(shaft) = &sprocket.shaft else {
            continue;
        };
        if shaft_index(spec, sprocket).is_none() {
            findings.push(Finding::new(
                Problem::UnknownShaft {
                    name: shaft.value.clone(),
                    nearest: nearest(
                        &shaft.value,
                        spec.shafts.iter().map(|shaft| shaft.name.value.as_str()),
                    )
                    .map(str::to_owned),
                },
                shaft.span,
            ));
        }
        let twin = all[..i].iter().find_map(|other| {
            let other = other.shaft.as_ref()?;
            (other.value == shaft.value).then_some(other.span)
        });
        if let Some(twin) = twin {
            findings.push(
                Finding::new(
                    Problem::ShaftTwiceOnChain {
                        shaft: shaft.value.clone(),
                        chain: name.clone(),
                    },
                    shaft.span,
                )
                .with(twin),
            );
        }
    }
    if let Some(links) = chain.links {
        too_short(chain, links, &all, findings);
        marks_of_chain(chain, links, &all, findings);
    }
    for sprocket in &all {
        if let Some(dot) = sprocket.dot
            && (dot.value.get() < Exact::ZERO || dot.value.get() >= Exact::whole(360))
            // Further out is out of range, which was said on reading.
            && dot.value.get().abs() <= Exact::whole(360)
        {
            findings.push(Finding::new(
                Problem::DotAngle { angle: dot.value },
                dot.span,
            ));
        }
        if let (Some(colour), None, None) = (&sprocket.colour, &sprocket.link, &sprocket.links) {
            findings.push(Finding::new(Problem::ColourWithoutLink, colour.span));
        }
    }
}

/// Two sprockets inside the loop take up at least half their teeth each.
fn too_short(
    chain: &ChainSpec,
    links: At<LinkCount>,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let mut teeth: Vec<u32> = all
        .iter()
        .filter(|sprocket| !sprocket.outside)
        .filter_map(|sprocket| Some(u32::from(sprocket.teeth?.value.get())))
        .collect();
    teeth.sort_unstable_by(|a, b| b.cmp(a));
    if let [largest, next, ..] = teeth[..] {
        let least = (largest + next) / 2 + 1;
        if u32::from(links.value.get()) < least {
            findings.push(Finding::new(
                Problem::ChainTooShort {
                    chain: chain.name.value.clone(),
                    least,
                },
                links.span,
            ));
        }
    }
}

/// The link on which a sprocket's dot belongs, where the spec says so in order.
fn mark_of(sprocket: &SprocketSpec, links: LinkCount) -> Option<(LinkPosition, Span)> {
    let count = i64::from(links.get());
    let inside = |link: i64| (0..count).contains(&link);
    if let Some(link) = sprocket.link {
        return inside(link.value).then_some((LinkPosition::whole(link.value), link.span));
    }
    let pair = sprocket.links?;
    let [first, second] = pair.value;
    (inside(first) && inside(second) && (first + 1) % count == second)
        .then(|| Exact::fraction(2 * first + 1, 2))
        .flatten()
        .map(|half| (LinkPosition::new(half), pair.span))
}

fn marks_of_chain(
    chain: &ChainSpec,
    links: At<LinkCount>,
    all: &[&SprocketSpec],
    findings: &mut Vec<Finding>,
) {
    let count = links.value.get();
    let past_end = |link: i64, span: Span, findings: &mut Vec<Finding>| {
        if link >= i64::from(count) {
            findings.push(
                Finding::new(Problem::LinkPastEnd { link, links: count }, span).with(links.span),
            );
        }
    };
    for sprocket in all {
        if let Some(link) = sprocket.link {
            past_end(link.value, link.span, findings);
        }
        let Some(pair) = sprocket.links else { continue };
        if let Some(link) = sprocket.link {
            findings.push(Finding::new(Problem::LinkAndLinks, pair.span).with(link.span));
            continue;
        }
        let [first, second] = pair.value;
        past_end(first.max(second), pair.span, findings);
        if first.max(second) < i64::from(count) && (first + 1) % i64::from(count) != second {
            findings.push(Finding::new(
                Problem::LinksNotNeighbours {
                    first,
                    second,
                    links: count,
                },
                pair.span,
            ));
        }
    }

    let marks: Vec<(LinkPosition, Span, &SprocketSpec)> = all
        .iter()
        .filter_map(|sprocket| {
            let (link, span) = mark_of(sprocket, links.value)?;
            Some((link, span, *sprocket))
        })
        .collect();
    let mut shared = false;
    for (i, (link, span, _)) in marks.iter().enumerate() {
        if let Some((_, first, owner)) = marks[..i].iter().find(|(other, ..)| other == link) {
            shared = true;
            let shaft = owner.shaft.as_ref().map(|shaft| shaft.value.clone());
            findings.push(
                Finding::new(
                    Problem::LinkShared {
                        link: *link,
                        shaft: shaft.unwrap_or_default(),
                    },
                    *span,
                )
                .with(*first),
            );
        }
    }
    // Going once around the path, the numbers rise and start again from the lowest exactly once.
    let falls = |forward: bool| {
        (0..marks.len())
            .filter(|i| {
                let (here, next) = (marks[*i].0, marks[(i + 1) % marks.len()].0);
                if forward { next < here } else { next > here }
            })
            .count()
    };
    if marks.len() > 2 && !shared && falls(true) != 1 {
        let at = (1..marks.len()).find(|i| marks[*i].0 < marks[i - 1].0);
        let offence = at.map_or(marks[0].1, |i| marks[i].1);
        let before = at.map_or(marks[0].1, |i| marks[i - 1].1);
        findings.push(
            Finding::new(
                Problem::LinksOutOfOrder {
                    chain: chain.name.value.clone(),
                    reversed: falls(false) == 1,
                },
                offence,
            )
            .with(before),
        );
    }
}

/// Signed turns per crank turn, and the chain and sprocket (indices) by which a shaft was reached.
type Reached = (Exact, Option<(usize, usize)>);

/// The speeds of the shafts as the chains give them.
struct Graph {
    shafts: Vec<Option<Reached>>,
    /// Which sprocket drives each chain, and the chain's links per crank turn.
    chains: Vec<Option<(usize, Exact)>>,
    /// The shafts in the order in which they were reached.
    order: Vec<usize>,
}

impl Graph {
    fn of(spec: &Spec, crank: usize, findings: &mut Vec<Finding>) -> Self {
        let mut graph = Self {
            shafts: vec![None; spec.shafts.len()],
            chains: vec![None; spec.chains.len()],
            order: Vec::new(),
        };
        graph.shafts[crank] = Some((Exact::ONE, None));
        let mut waiting = VecDeque::from([crank]);
        while let Some(shaft) = waiting.pop_front() {
            for (c, chain) in spec.chains.iter().enumerate() {
                if graph.chains[c].is_some() {
                    continue;
                }
                let driver = sprockets(chain)
                    .position(|sprocket| shaft_index(spec, sprocket) == Some(shaft));
                if let Some(driver) = driver {
                    graph.along(spec, (c, driver), shaft, &mut waiting, findings);
                }
            }
        }
        graph.what_is_wrong(spec, findings);
        graph
    }

    /// Passes the speed of `shaft`, which drives chain `c` at sprocket `driver`, along that chain.
    fn along(
        &mut self,
        spec: &Spec,
        (c, driver): (usize, usize),
        shaft: usize,
        waiting: &mut VecDeque<usize>,
        findings: &mut Vec<Finding>,
    ) {
        let all: Vec<&SprocketSpec> = sprockets(&spec.chains[c]).collect();
        let (Some((ratio, _)), Some(teeth)) = (self.shafts[shaft], all[driver].teeth) else {
            return;
        };
        // A number too large to hold leaves the shaft without a speed; `too_intricate` comes of it.
        let Ok(speed) = ratio.times(teeth.value.to_exact()) else {
            return;
        };
        self.chains[c] = Some((driver, speed.abs()));
        for (i, sprocket) in all.iter().enumerate() {
            let (Some(other), Some(teeth)) = (shaft_index(spec, sprocket), sprocket.teeth) else {
                continue;
            };
            if i == driver || other == shaft {
                continue;
            }
            let backwards = sprocket.outside != all[driver].outside;
            let Ok(found) = speed.over(teeth.value.to_exact()) else {
                continue;
            };
            let found = if backwards { found.negated() } else { found };
            match self.shafts[other] {
                None => {
                    self.shafts[other] = Some((found, Some((c, i))));
                    self.order.push(other);
                    waiting.push_back(other);
                }
                Some((known, by)) if known != found => {
                    let by_chain =
                        by.map_or("its own", |(c, _)| spec.chains[c].name.value.as_str());
                    let mut finding = Finding::new(
                        Problem::RatioOpen {
                            shaft: spec.shafts[other].name.value.clone(),
                            first: (by_chain.to_owned(), known),
                            second: (spec.chains[c].name.value.clone(), found),
                        },
                        teeth.span,
                    );
                    finding.related = by.and_then(|(c, i)| {
                        sprockets(&spec.chains[c])
                            .nth(i)
                            .and_then(|sprocket| sprocket.teeth.map(|teeth| teeth.span))
                    });
                    findings.push(finding);
                }
                Some(_) => {}
            }
        }
    }

    fn what_is_wrong(&self, spec: &Spec, findings: &mut Vec<Finding>) {
        // Where a sprocket is unreadable or its shaft unknown, the speeds behind it are unknown too
        // and the finding about the sprocket is enough.
        let complete = spec.chains.iter().all(|chain| {
            chain.path.iter().all(|entry| match entry {
                EntrySpec::Sprocket(sprocket) => {
                    sprocket.teeth.is_some() && shaft_index(spec, sprocket).is_some()
                }
                EntrySpec::Shoe(_) => true,
                EntrySpec::Unreadable => false,
            })
        });
        let half = Exact::fraction(1, 2).unwrap_or(Exact::ONE);
        for (shaft, speed) in spec.shafts.iter().zip(&self.shafts) {
            match speed {
                None if complete && !self.lost(spec, shaft) => findings.push(Finding::new(
                    Problem::ShaftNotDriven {
                        shaft: shaft.name.value.clone(),
                    },
                    shaft.name.span,
                )),
                Some((ratio, Some((c, i))))
                    if shaft
                        .kind
                        .as_ref()
                        .is_some_and(|kind| kind.value == ShaftKind::Camshaft)
                        && ratio.abs() != half =>
                {
                    let teeth = sprockets(&spec.chains[*c])
                        .nth(*i)
                        .and_then(|sprocket| sprocket.teeth);
                    // speed = teeth * turns, so half speed takes twice the chain's speed in teeth.
                    let right = self.chains[*c]
                        .and_then(|(_, speed)| speed.times(Exact::whole(2)).ok())
                        .filter(|teeth| teeth.is_whole())
                        .and_then(|teeth| u16::try_from(teeth.numerator()).ok())
                        .and_then(ToothCount::new);
                    findings.push(
                        Finding::new(
                            Problem::CamshaftSpeed {
                                shaft: shaft.name.value.clone(),
                                ratio: *ratio,
                                teeth: right.map(ToothCount::get),
                            },
                            teeth.map_or(shaft.name.span, |teeth| teeth.span),
                        )
                        .with(shaft.name.span),
                    );
                }
                _ => {}
            }
        }
    }

    /// Is the shaft on a chain whose speed is known? Then its own was too large to hold.
    fn lost(&self, spec: &Spec, shaft: &ShaftSpec) -> bool {
        spec.chains.iter().zip(&self.chains).any(|(chain, speed)| {
            speed.is_some()
                && sprockets(chain).any(|sprocket| {
                    sprocket
                        .shaft
                        .as_ref()
                        .is_some_and(|name| name.value == shaft.name.value)
                })
        })
    }
}

/// Puts the parts together; `None` if one is missing, for which there is a finding already.
fn build(spec: &Spec, crank: usize, graph: &Graph, plan: Plan) -> Option<Drive> {
    if spec.shafts.len() > crate::format::MAX_SHAFTS
        || spec.chains.len() > crate::format::MAX_CHAINS
    {
        return None;
    }
    let id = |index: usize| u8::try_from(index).ok();
    let mut chains = Vec::with_capacity(spec.chains.len());
    for (c, chain) in spec.chains.iter().enumerate() {
        let (driver, speed) = graph.chains[c]?;
        chains.push(build_chain(spec, chain, id(driver)?, speed)?);
    }
    let mut shafts = Vec::with_capacity(spec.shafts.len());
    for (s, shaft) in spec.shafts.iter().enumerate() {
        let (ratio, driven_at) = graph.shafts[s]?;
        let engagement = |c: usize, i: usize| {
            Some(Engagement {
                chain: ChainId(id(c)?),
                sprocket: id(i)?,
            })
        };
        let engagements = chains
            .iter()
            .enumerate()
            .flat_map(|(c, chain): (usize, &Chain)| {
                chain
                    .sprockets
                    .iter()
                    .enumerate()
                    .filter(move |(_, sprocket)| usize::from(sprocket.shaft.0) == s)
                    .filter_map(move |(i, _)| engagement(c, i))
            })
            .collect();
        shafts.push(Shaft {
            name: shaft.name.value.clone(),
            kind: shaft.kind.as_ref()?.value,
            phaser: match &shaft.phaser {
                None => None,
                Some(phaser) => Some(Phaser {
                    range: CrankDegrees::new(phaser.value.range?.value),
                    parked: phaser.value.parked?.value,
                }),
            },
            centre: shaft.at.map(|at| at.value),
            ratio,
            period: Exact::ONE.over(ratio.abs()).ok()?,
            driven_at: match driven_at {
                None => None,
                Some((c, i)) => Some(engagement(c, i)?),
            },
            engagements,
        });
    }
    Some(Drive {
        plan,
        engine: spec.engine.as_ref()?.value.clone(),
        crank_turns: spec.crank_turns?.value,
        timed_position: spec.timed_position.as_ref().map(|text| text.value.clone()),
        shafts,
        chains,
        crank: ShaftId(id(crank)?),
        order: graph
            .order
            .iter()
            .filter_map(|s| id(*s).map(ShaftId))
            .collect(),
        places: Places::of(spec),
        cylinders: None,
        valves: Vec::new(),
    })
}

fn build_chain(spec: &Spec, chain: &ChainSpec, driver: u8, speed: Exact) -> Option<Chain> {
    let links = chain.links?.value;
    let mut built = Vec::new();
    let mut path = Vec::new();
    for entry in &chain.path {
        match entry {
            EntrySpec::Sprocket(sprocket) => {
                path.push(Part::Sprocket(u8::try_from(built.len()).ok()?));
                built.push(Sprocket {
                    shaft: ShaftId(u8::try_from(shaft_index(spec, sprocket)?).ok()?),
                    teeth: sprocket.teeth?.value,
                    outside: sprocket.outside,
                    dot: sprocket.dot.map(|dot| dot.value),
                    dowel_holes: sprocket.dowel_holes.clone(),
                    mark: mark_of(sprocket, links).map(|(link, _)| Mark {
                        link,
                        colour: sprocket.colour.as_ref().map(|colour| colour.value.clone()),
                    }),
                });
            }
            EntrySpec::Shoe(shoe) => path.push(build_shoe(shoe)?),
            EntrySpec::Unreadable => return None,
        }
    }
    (built.len() >= 2).then_some(Chain {
        name: chain.name.value.clone(),
        links,
        pitch: chain.pitch.map(|pitch| pitch.value),
        elongation_limit: chain.elongation_limit.map(|limit| limit.value),
        sprockets: built,
        path,
        driver,
        speed,
        tooth: CrankDegrees::ZERO,
        before: 0,
    })
}

fn build_shoe(spec: &ShoeSpec) -> Option<Part> {
    let shoe = Shoe {
        centre: spec.centre?.value,
        radius: spec.radius?.value,
        outside: spec.outside,
    };
    Some(match &spec.tensioner {
        None => Part::Guide(shoe),
        Some(tensioner) => Part::Tensioner {
            shoe,
            pushes: tensioner.pushes?.value,
            stroke: tensioner.stroke?.value,
        },
    })
}

impl Drive {
    fn too_intricate(&self) -> bool {
        let (slowest, fastest) = (
            Exact::fraction(1, bounds::SPEED),
            Exact::whole(bounds::SPEED),
        );
        let shaft_fits = |shaft: &Shaft| {
            let ratio = shaft.ratio.abs();
            ratio.numerator() <= bounds::RATIO_PART
                && ratio.denominator() <= bounds::RATIO_PART
                && slowest.is_some_and(|slowest| slowest <= ratio)
                && ratio <= fastest
        };
        let common = self.chains.iter().try_fold(1_i128, |common, chain| {
            // The least common multiple, by way of a fraction in lowest terms: n/common = p/q, so
            // lcm = common * p.
            let part = Exact::whole(i64::try_from(chain.speed.numerator()).ok()?)
                .over(Exact::whole(i64::try_from(common).ok()?))
                .ok()?;
            let next = common.checked_mul(part.numerator())?;
            (next <= bounds::COMMON).then_some(next)
        });
        common.is_none() || !self.shafts.iter().all(shaft_fits)
    }

    /// The sprockets whose links have to be looked at to know a shaft by its links: at each chain
    /// on the way from the crankshaft, the one that drives it and the one that is driven.
    pub(crate) fn way_to(&self, id: ShaftId) -> impl Iterator<Item = (Engagement, Engagement)> {
        let mut next = self.shaft(id).driven_at;
        std::iter::from_fn(move || {
            let driven = next?;
            let driver = self.driver_of(driven.chain);
            next = self.shaft(self.sprocket(driver).shaft).driven_at;
            Some((driver, driven))
        })
    }
}

fn links_that_cannot_prove(spec: &Spec, drive: &Drive, findings: &mut Vec<Finding>) {
    for (id, shaft) in drive.shafts() {
        if !drive.is_timed(id) {
            continue;
        }
        let blind = drive
            .way_to(id)
            .flat_map(|(driver, driven)| [driver, driven])
            .find(|at| drive.sprocket(*at).mark.is_none());
        if let Some(at) = blind {
            let offence = &spec.chains[usize::from(at.chain.0)];
            let span = sprockets(offence)
                .nth(usize::from(at.sprocket))
                .map_or(offence.path_span, |sprocket| sprocket.span);
            findings.push(Finding::new(
                Problem::LinksCannotProve {
                    shaft: shaft.name.clone(),
                    chain: offence.name.value.clone(),
                    at: drive.shaft(drive.sprocket(at).shaft).name.clone(),
                },
                span,
            ));
        }
    }
}
