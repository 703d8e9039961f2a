//! Step 2: the checked model. A [`Drive`] exists only if the spec holds together, so everything
//! behind this line can rely on it.

use crate::drive::ids::{ChainId, DriveTag, Engagement, ShaftId};
use crate::drive::lattice::Lattice;
use crate::drive::plan::Plan;
use crate::drive::valves::{Cylinders, Valves};
use crate::spec::place::{PartPlaces, Places};
use crate::spec::raw::{ChainKind, Parked, Rotation, ShaftKind};
use crate::spec::values::Point;
use crate::units::quantity::{
    ClockAngle, CrankDegrees, Exact, LinkCount, LinkPosition, OutOfRange, Teeth, ToothCount,
};
use std::sync::{LazyLock, OnceLock};

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
    pub(super) tag: DriveTag,
    /// In how many places geometry and marks contradict each other, once that was asked.
    pub(super) contradictions: OnceLock<usize>,
    /// The ways to hang a chain wrong that look right, once that was asked.
    pub(super) hung_alike: OnceLock<Result<Vec<Alike>, OutOfRange>>,
    /// What a look is reckoned with, once that was asked.
    pub(super) lattice: OnceLock<Result<Box<Lattice>, OutOfRange>>,
    pub(super) engine: String,
    pub(super) crank_turns: Rotation,
    pub(super) timed_position: Option<String>,
    /// How many camshafts the engine has, if the spec says so.
    pub(super) camshafts: Option<usize>,
    pub(super) shafts: Vec<Shaft>,
    pub(super) chains: Vec<Chain>,
    pub(super) crank: ShaftId,
    /// Every shaft but the crankshaft, each after the shaft that drives it.
    pub(super) order: Vec<ShaftId>,
    pub(super) places: Places,
    pub(super) cylinders: Option<Cylinders>,
    pub(super) valves: Vec<Valves>,
    pub(super) plan: Plan,
}

/// A way to hang a chain wrong that looks right, as far as a verdict asks for it.
#[derive(Clone, Debug)]
pub(crate) struct Alike {
    pub(crate) chain: ChainId,
    /// The shafts that it puts out of place, and how far ahead.
    pub(crate) off: Vec<(ShaftId, CrankDegrees)>,
}

/// A shaft; all its sprockets turn together.
#[derive(Clone, Debug)]
pub struct Shaft {
    pub(super) name: String,
    pub(super) kind: ShaftKind,
    pub(super) phaser: Option<Phaser>,
    pub(super) centre: Option<Point>,
    pub(super) ratio: Exact,
    pub(super) period: Exact,
    pub(super) driven_at: Option<Engagement>,
    pub(super) engagements: Vec<Engagement>,
}

/// A phaser: camshaft and sprocket may stand apart by some angle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Phaser {
    /// From end to end.
    pub range: CrankDegrees,
    /// Where its lock holds it.
    pub parked: Parked,
    /// Do its bolts stay hand-tight until the chain is hung?
    pub hand_tight: bool,
}

/// A chain and what it runs over.
#[derive(Clone, Debug)]
pub struct Chain {
    pub(super) name: String,
    pub(super) kind: Option<ChainKind>,
    pub(super) links: LinkCount,
    pub(super) pitch: Option<Exact>,
    pub(super) elongation_limit: Option<Exact>,
    pub(super) sprockets: Vec<Sprocket>,
    pub(super) path: Vec<Part>,
    pub(super) driver: u8,
    pub(super) speed: Exact,
    pub(super) tooth: CrankDegrees,
    /// Sprockets on the chains before this one.
    pub(super) before: usize,
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
    pub(super) shaft: ShaftId,
    pub(super) teeth: ToothCount,
    pub(super) outside: bool,
    pub(super) dot: Option<ClockAngle>,
    pub(super) mark: Option<Mark>,
    pub(super) dowel_holes: Vec<Exact>,
}

/// Where on the chain a dot belongs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mark {
    /// The coloured link, or the half between two.
    pub link: LinkPosition,
    /// Its colour.
    pub colour: Option<String>,
}

/// What ids of another drive lead to: nothing that anybody could take for a part of this one.
struct Stranger {
    shaft: Shaft,
    chain: Chain,
    sprocket: Sprocket,
}

static STRANGER: LazyLock<Stranger> = LazyLock::new(|| Stranger {
    shaft: Shaft {
        name: String::new(),
        kind: ShaftKind::Idler,
        phaser: None,
        centre: None,
        ratio: Exact::ONE,
        period: Exact::ONE,
        driven_at: None,
        engagements: Vec::new(),
    },
    chain: Chain {
        name: String::new(),
        kind: None,
        links: LinkCount::LEAST,
        pitch: None,
        elongation_limit: None,
        sprockets: Vec::new(),
        path: Vec::new(),
        driver: 0,
        speed: Exact::ONE,
        tooth: CrankDegrees::ZERO,
        before: 0,
    },
    sprocket: Sprocket {
        shaft: ShaftId::new(u8::MAX, DriveTag::NONE),
        teeth: ToothCount::LEAST,
        outside: false,
        dot: None,
        mark: None,
        dowel_holes: Vec::new(),
    },
});

impl Drive {
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
        (0_u8..)
            .map(|index| ShaftId::new(index, self.tag))
            .zip(&self.shafts)
    }

    /// Every chain, in the order of the file.
    pub fn chains(&self) -> impl Iterator<Item = (ChainId, &Chain)> {
        (0_u8..)
            .map(|index| ChainId::new(index, self.tag))
            .zip(&self.chains)
    }

    /// Every sprocket of every chain.
    pub fn engagements(&self) -> impl Iterator<Item = (Engagement, &Sprocket)> {
        self.chains().flat_map(|(id, chain)| chain.engagements(id))
    }

    /// Every shaft but the crankshaft, each after the shaft that drives it.
    pub fn driven(&self) -> impl Iterator<Item = ShaftId> {
        self.order.iter().copied()
    }

    /// One shaft. An id of another drive gives a shaft without a name and without a sprocket; ask
    /// [`Drive::owns`] where ids may come from elsewhere.
    pub fn shaft(&self, id: ShaftId) -> &Shaft {
        let own = (id.drive() == self.tag).then(|| self.shafts.get(id.index()));
        own.flatten().unwrap_or(&STRANGER.shaft)
    }

    /// One chain. An id of another drive gives a chain without a name and without a sprocket.
    pub fn chain(&self, id: ChainId) -> &Chain {
        let own = (id.drive() == self.tag).then(|| self.chains.get(id.index()));
        own.flatten().unwrap_or(&STRANGER.chain)
    }

    /// Is that a sprocket of this drive?
    pub fn owns(&self, at: Engagement) -> bool {
        at.chain.drive() == self.tag
            && self
                .chains
                .get(at.chain.index())
                .is_some_and(|chain| usize::from(at.sprocket) < chain.sprockets.len())
    }

    /// Is that a shaft of this drive?
    pub fn owns_shaft(&self, id: ShaftId) -> bool {
        id.drive() == self.tag && id.index() < self.shafts.len()
    }

    /// Is that a chain of this drive?
    pub fn owns_chain(&self, id: ChainId) -> bool {
        id.drive() == self.tag && id.index() < self.chains.len()
    }

    pub(crate) fn tag(&self) -> DriveTag {
        self.tag
    }

    /// In how many places the spec contradicts itself, as `count` finds it the first time.
    pub(crate) fn contradictions(&self, count: impl FnOnce(&Self) -> usize) -> usize {
        *self.contradictions.get_or_init(|| count(self))
    }

    /// The ways to hang a chain wrong that look right, as `find` finds them the first time.
    ///
    /// # Errors
    /// [`OutOfRange`] every time if it was so the first time: what is not known must not pass for none.
    pub(crate) fn hung_alike(
        &self,
        find: impl FnOnce(&Self) -> Result<Vec<Alike>, OutOfRange>,
    ) -> Result<&[Alike], OutOfRange> {
        match self.hung_alike.get_or_init(|| find(self)) {
            Ok(all) => Ok(all),
            Err(error) => Err(*error),
        }
    }

    /// Are there none, as far as that was found out already?
    pub(crate) fn none_hung_alike(&self) -> bool {
        matches!(self.hung_alike.get(), Some(Ok(all)) if all.is_empty())
    }

    /// One sprocket. An [`Engagement`] of another drive gives a sprocket of that unnamed shaft.
    pub fn sprocket(&self, at: Engagement) -> &Sprocket {
        let sprockets = &self.chain(at.chain).sprockets;
        sprockets
            .get(usize::from(at.sprocket))
            .unwrap_or(&STRANGER.sprocket)
    }

    /// Where its values are written.
    pub(crate) fn places(&self) -> &Places {
        &self.places
    }

    /// Where the entry of a sprocket and its values are written.
    pub(crate) fn part_places(&self, at: Engagement) -> Option<PartPlaces> {
        let part = self.chain(at.chain).path.iter().position(
            |part| matches!(part, Part::Sprocket(sprocket) if *sprocket == at.sprocket),
        )?;
        let chain = self.places.chains.get(at.chain.index())?;
        chain.parts.get(part).copied()
    }

    /// How many camshafts the engine has, all banks together, if the spec says so.
    pub fn camshafts(&self) -> Option<usize> {
        self.camshafts
    }

    /// How many camshafts there are on this drive.
    pub fn camshafts_named(&self) -> usize {
        let all = self.shafts.iter();
        all.filter(|shaft| shaft.kind == ShaftKind::Camshaft)
            .count()
    }

    /// How many camshafts of the engine are not on this drive, by what the spec says. While it is any, nothing that
    /// is seen of the drive proves the engine in time.
    pub fn camshafts_not_named(&self) -> usize {
        let engine = self.camshafts.unwrap_or(0);
        engine.saturating_sub(self.camshafts_named())
    }

    /// The same drive, taken to have all camshafts of its engine.
    pub(crate) fn as_whole_engine(&self) -> Self {
        Self {
            camshafts: None,
            ..self.clone()
        }
    }

    /// The same drive with these marks on its chains and no others, and without its centres: those would be
    /// compared with marks that are only being thought of. It is taken to have all camshafts of its engine.
    pub(crate) fn with_marks(&self, marks: &[(Engagement, Mark)]) -> Self {
        let mut drive = self.as_whole_engine();
        drive.contradictions = OnceLock::new();
        drive.hung_alike = OnceLock::new();
        drive.lattice = OnceLock::new();
        for shaft in &mut drive.shafts {
            shaft.centre = None;
        }
        for (id, chain) in (0_u8..).zip(&mut drive.chains) {
            for (sprocket, entry) in (0_u8..).zip(&mut chain.sprockets) {
                let at = Engagement {
                    chain: ChainId::new(id, self.tag),
                    sprocket,
                };
                let mark = marks.iter().find(|(other, _)| *other == at);
                entry.mark = mark.map(|(_, mark)| mark.clone());
            }
        }
        drive
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
            .map(|hole| hole.checked_div(shaft.speed()).map(CrankDegrees::new))
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
        self.period
            .checked_mul(Exact::whole(360))
            .map(CrankDegrees::new)
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

    /// What kind of chain it is, if the spec says so.
    pub fn kind(&self) -> Option<ChainKind> {
        self.kind
    }

    /// Is it a toothed belt? Its links are its teeth then: there are no inner and outer ones, their number may be odd,
    /// and it does not grow at pins.
    pub fn is_belt(&self) -> bool {
        self.kind == Some(ChainKind::Belt)
    }

    /// Is it a pair of gears? It is a loop then that lies on the driven gear: its links are that gear's teeth.
    pub fn is_gears(&self) -> bool {
        self.kind == Some(ChainKind::Gears)
    }

    /// Has it links with pins, which wear, and of which inner and outer ones take turns?
    pub fn has_pins(&self) -> bool {
        !self.is_belt() && !self.is_gears()
    }

    /// How many links it has; of a belt, how many teeth.
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
        Ok(Teeth::new(angle.get().checked_div(self.tooth.get())?))
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
