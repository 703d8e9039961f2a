//! A random drive with its chains hung some way, and what one would see of it. Reckoned in turns of
//! every shaft by itself, one gear after the other, in another representation than the library's.

use super::fraction::Fraction;
use super::plan::{Kind, Plan};
use proptest::prelude::*;
use tautmark::{
    Drive, Observations, Seen,
    drive::{Engagement, ShaftId},
    units::{CrankDegrees, LinkPosition, Teeth, Turns},
};

/// How a planned drive is hung: for every sprocket of every chain, the links by which its dot lies
/// past the one it belongs on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Hanging {
    pub(crate) past: Vec<Vec<i128>>,
}

/// How to say where a dot stands.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Say {
    Teeth,
    ShaftDegrees,
    CrankDegrees,
}

pub(crate) fn say() -> impl Strategy<Value = Say> {
    prop_oneof![
        Just(Say::Teeth),
        Just(Say::ShaftDegrees),
        Just(Say::CrankDegrees)
    ]
}

/// A sprocket: which chain, and which on its path.
pub(crate) type At = (usize, usize);

impl Hanging {
    pub(crate) fn right(plan: &Plan) -> Self {
        let past = plan.chains.iter();
        Self {
            past: past.map(|chain| vec![0; chain.sprockets.len()]).collect(),
        }
    }

    /// A random number for every sprocket in turn; the same again where they run out.
    pub(crate) fn of(plan: &Plan, teeth: &[i8]) -> Self {
        let mut hanging = Self::right(plan);
        let mut next = teeth.iter().cycle();
        for past in hanging.past.iter_mut().flatten() {
            *past = next.next().copied().map_or(0, i128::from);
        }
        hanging.make_loops_agree(plan);
        hanging
    }

    /// Takes back slips by which an idler would stand half a turn or more from its place: its dot
    /// is then nearer to that place the other way round, and that is how it would be seen.
    pub(crate) fn within_sight(mut self, plan: &Plan) -> Self {
        loop {
            let ahead = self.turns_ahead(plan);
            let gone = (0..plan.shafts.len()).find(|shaft| {
                plan.shafts[*shaft].kind == Kind::Idler
                    && (ahead[*shaft] + ahead[*shaft]).abs().at_least_one()
            });
            let Some(gone) = gone else { break };
            // All slips on the way to it, so that it comes home.
            let mut at = plan.shafts[gone].driven_at;
            while let Some((chain, sprocket)) = at {
                let driver = plan.chains[chain].driver;
                self.past[chain][sprocket] = self.past[chain][driver];
                at = plan.shafts[plan.chains[chain].sprockets[driver].shaft].driven_at;
            }
        }
        self.make_loops_agree(plan);
        self
    }

    /// Of two chains side by side neither can slip alone.
    fn make_loops_agree(&mut self, plan: &Plan) {
        for (id, chain) in plan.chains.iter().enumerate() {
            let Some(twin) = &chain.twin_of else { continue };
            let other = plan
                .chains
                .iter()
                .position(|chain| chain.name == twin.chain)
                .unwrap();
            for (i, sprocket) in chain.sprockets.iter().enumerate() {
                let same = plan.chains[other]
                    .sprockets
                    .iter()
                    .position(|s| s.shaft == sprocket.shaft)
                    .unwrap();
                self.past[id][i] = self.past[other][same] * twin.teeth;
            }
        }
    }

    pub(crate) fn slip(&mut self, (chain, sprocket): At, teeth: i128) {
        self.past[chain][sprocket] += teeth;
    }

    /// Teeth of a sprocket ahead of the one that drives its chain, as the links show it.
    pub(crate) fn own(&self, plan: &Plan, (chain, sprocket): At) -> i128 {
        let (hung, past) = (&plan.chains[chain], &self.past[chain]);
        let teeth = Fraction::whole(past[sprocket] - past[hung.driver]);
        teeth.nearest(Fraction::whole(hung.links)).above()
    }

    /// Is every sprocket that has a mark where it belongs against its driver?
    pub(crate) fn is_right(&self, plan: &Plan) -> bool {
        marked(plan).all(|at| self.own(plan, at) == 0)
    }

    /// Turns of itself by which each shaft is ahead: what its driver passes on, and its own slip,
    /// every tooth of it that was ever slipped.
    pub(crate) fn turns_ahead(&self, plan: &Plan) -> Vec<Fraction> {
        (0..plan.shafts.len())
            .map(|shaft| self.turns_ahead_of(plan, shaft))
            .collect()
    }

    fn turns_ahead_of(&self, plan: &Plan, shaft: usize) -> Fraction {
        let Some((chain, sprocket)) = plan.shafts[shaft].driven_at else {
            return Fraction::ZERO;
        };
        let hung = &plan.chains[chain];
        let (driver, driven) = (&hung.sprockets[hung.driver], &hung.sprockets[sprocket]);
        let passed_on =
            self.turns_ahead_of(plan, driver.shaft) * Fraction::new(driver.teeth, driven.teeth);
        let slipped = self.past[chain][sprocket] - self.past[chain][hung.driver];
        passed_on + Fraction::new(slipped, driven.teeth)
    }

    /// The link seen on a dot after `turned` crank turns.
    pub(crate) fn link(&self, plan: &Plan, at: At, turned: i128) -> Seen {
        let chain = &plan.chains[at.0];
        let mark = chain.sprockets[at.1].mark.unwrap();
        let passed = plan.speed(at.0) * Fraction::whole(turned);
        let links = Fraction::new(mark, 2) + Fraction::whole(self.past[at.0][at.1]) - passed;
        let around = Fraction::whole(chain.links);
        let near = links.nearest(around);
        let on_chain = if near.above() < 0 {
            near + around
        } else {
            near
        };
        Seen::Link(LinkPosition::new(on_chain.exact()))
    }
}

/// Every sprocket with a coloured link.
pub(crate) fn marked(plan: &Plan) -> impl Iterator<Item = At> {
    all(plan).filter(|at| plan.chains[at.0].sprockets[at.1].mark.is_some())
}

/// Every sprocket.
pub(crate) fn all(plan: &Plan) -> impl Iterator<Item = At> {
    let chains = plan.chains.iter().enumerate();
    chains.flat_map(|(id, chain)| (0..chain.sprockets.len()).map(move |i| (id, i)))
}

/// Every shaft with a dot, by one of its sprockets.
pub(crate) fn dots(plan: &Plan) -> Vec<At> {
    let mut found: Vec<At> = Vec::new();
    for at in marked(plan) {
        let shaft = |at: &At| plan.chains[at.0].sprockets[at.1].shaft;
        if !found.iter().any(|other| shaft(other) == shaft(&at)) {
            found.push(at);
        }
    }
    found
}

/// The library's name of a sprocket.
pub(crate) fn engagement(drive: &Drive, plan: &Plan, at: At) -> Engagement {
    Engagement {
        chain: drive.chain_named(&plan.chains[at.0].name).unwrap(),
        sprocket: u8::try_from(at.1).unwrap(),
    }
}

/// The plan's name of a sprocket.
pub(crate) fn planned(drive: &Drive, plan: &Plan, at: Engagement) -> At {
    let name = drive.chain(at.chain).name();
    let chain = plan.chains.iter().position(|chain| chain.name == name);
    (chain.unwrap(), usize::from(at.sprocket))
}

pub(crate) fn shaft_id(drive: &Drive, plan: &Plan, shaft: usize) -> ShaftId {
    drive.shaft_named(&plan.shafts[shaft].name).unwrap()
}

pub(crate) fn after(turned: Fraction) -> Observations {
    Observations::after(Turns::new(turned.exact())).unwrap()
}

/// Looks at the link on every dot in `which`.
pub(crate) fn look_at_links(
    seen: &mut Observations,
    drive: &Drive,
    plan: &Plan,
    hanging: &Hanging,
    which: impl Iterator<Item = At>,
) {
    let turned = Fraction::of(seen.turned().get());
    for at in which {
        let link = hanging.link(plan, at, turned.above());
        seen.see_link(drive, engagement(drive, plan, at), link)
            .unwrap();
    }
}

/// Looks at every dot in `which` against the engine, the crankshaft standing `past` crank turns
/// beyond what it is said to have turned.
pub(crate) fn look_at_dots(
    seen: &mut Observations,
    drive: &Drive,
    plan: &Plan,
    hanging: &Hanging,
    which: &[At],
    (past, say): (Fraction, Say),
) {
    let ahead = hanging.turns_ahead(plan);
    let stands = Fraction::of(seen.turned().get()) + past;
    for at in which {
        let sprocket = &plan.chains[at.0].sprockets[at.1];
        let speed = plan.shafts[sprocket.shaft].ratio.abs();
        let turns = (speed * stands + ahead[sprocket.shaft]).nearest(Fraction::whole(1));
        let degrees = turns * Fraction::whole(360);
        let what = match say {
            Say::Teeth => Seen::Teeth(Teeth::new(
                (turns * Fraction::whole(sprocket.teeth)).exact(),
            )),
            Say::ShaftDegrees => Seen::ShaftDegrees(degrees.exact()),
            Say::CrankDegrees => Seen::CrankDegrees(CrankDegrees::new((degrees / speed).exact())),
        };
        seen.see_dot(drive, engagement(drive, plan, *at), what)
            .unwrap();
    }
}

/// All links and nothing else, with every dot at its timed place.
pub(crate) fn all_links(
    drive: &Drive,
    plan: &Plan,
    hanging: &Hanging,
    turned: i128,
) -> Observations {
    let mut seen = after(Fraction::whole(turned));
    look_at_links(&mut seen, drive, plan, hanging, marked(plan));
    seen
}

/// All dots and nothing else.
pub(crate) fn all_dots(
    drive: &Drive,
    plan: &Plan,
    hanging: &Hanging,
    turned: Fraction,
    how: (Fraction, Say),
) -> Observations {
    let mut seen = after(turned);
    look_at_dots(&mut seen, drive, plan, hanging, &dots(plan), how);
    seen
}

/// Has the plan anything that must be in time? Without that there is nothing to prove.
pub(crate) fn has_timed(plan: &Plan) -> bool {
    plan.shafts
        .iter()
        .any(|shaft| super::plan::is_timed(shaft.kind))
}

/// Can that shaft be looked at?
pub(crate) fn can_be_seen(plan: &Plan, shaft: usize) -> bool {
    plan.shafts[shaft].kind != Kind::PumpWithoutMark
}
