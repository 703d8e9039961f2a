//! The checked model of a spec in which everything holds.

use crate::drive::checks::{mark_of, shaft_index};
use crate::drive::graph::Graph;
use crate::drive::ids::{ChainId, DriveTag, Engagement, ShaftId};
use crate::drive::model::{Chain, Drive, Mark, Part, Phaser, Shaft, Shoe, Sprocket};
use crate::drive::plan::Plan;
use crate::spec::place::Places;
use crate::spec::raw::{ChainSpec, EntrySpec, ShoeSpec, Spec};
use crate::units::quantity::{CrankDegrees, Exact};
use std::sync::OnceLock;

/// Bounds beyond those of single values. With them no sum or product of the model can leave
/// `i128`; the calculation is in DEVELOPERS.md.
mod bounds {
    /// A shaft turns at least 1/100 and at most 100 times as fast as the crankshaft.
    pub(super) const SPEED: i64 = 100;
    /// Largest number on either side of a shaft's ratio.
    pub(super) const RATIO_PART: i128 = 1_000_000;
    /// Largest common denominator of one tooth on every chain, in crank turns.
    pub(super) const COMMON: i128 = 1_000_000_000;
}

/// Puts the parts together; `None` if one is missing, for which there is a finding already.
pub(super) fn build(
    tag: DriveTag,
    spec: &Spec,
    crank: usize,
    graph: &Graph,
    plan: Plan,
) -> Option<Drive> {
    if spec.shafts.len() > crate::spec::format::MAX_SHAFTS
        || spec.chains.len() > crate::spec::format::MAX_CHAINS
    {
        return None;
    }
    let id = |index: usize| u8::try_from(index).ok();
    let mut chains = Vec::with_capacity(spec.chains.len());
    for (c, chain) in spec.chains.iter().enumerate() {
        let (driver, speed) = graph.chains[c]?;
        chains.push(build_chain(tag, spec, chain, id(driver)?, speed)?);
    }
    let mut shafts = Vec::with_capacity(spec.shafts.len());
    for (s, shaft) in spec.shafts.iter().enumerate() {
        let (ratio, driven_at) = graph.shafts[s]?;
        let engagement = |c: usize, i: usize| {
            Some(Engagement {
                chain: ChainId::new(id(c)?, tag),
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
                    .filter(move |(_, sprocket)| sprocket.shaft.index() == s)
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
                    hand_tight: phaser.value.hand_tight,
                }),
            },
            centre: shaft.at.map(|at| at.value),
            ratio,
            period: Exact::ONE.checked_div(ratio.abs()).ok()?,
            driven_at: match driven_at {
                None => None,
                Some((c, i)) => Some(engagement(c, i)?),
            },
            engagements,
        });
    }
    Some(Drive {
        tag,
        contradictions: OnceLock::new(),
        hung_alike: OnceLock::new(),
        lattice: OnceLock::new(),
        plan,
        engine: spec.engine.as_ref()?.value.clone(),
        crank_turns: spec.crank_turns?.value,
        timed_position: spec.timed_position.as_ref().map(|text| text.value.clone()),
        camshafts: spec
            .camshafts
            .and_then(|said| usize::try_from(said.value).ok()),
        shafts,
        chains,
        crank: ShaftId::new(id(crank)?, tag),
        order: graph
            .order
            .iter()
            .filter_map(|s| id(*s).map(|index| ShaftId::new(index, tag)))
            .collect(),
        places: Places::of(spec),
        cylinders: None,
        valves: Vec::new(),
    })
}

pub(super) fn build_chain(
    tag: DriveTag,
    spec: &Spec,
    chain: &ChainSpec,
    driver: u8,
    speed: Exact,
) -> Option<Chain> {
    let links = chain.links?.value;
    let mut built = Vec::new();
    let mut path = Vec::new();
    for entry in &chain.path {
        match entry {
            EntrySpec::Sprocket(sprocket) => {
                path.push(Part::Sprocket(u8::try_from(built.len()).ok()?));
                built.push(Sprocket {
                    shaft: ShaftId::new(u8::try_from(shaft_index(spec, sprocket)?).ok()?, tag),
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
        kind: chain.kind.map(|kind| kind.value),
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

pub(super) fn build_shoe(spec: &ShoeSpec) -> Option<Part> {
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
    pub(super) fn too_intricate(&self) -> bool {
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
                .checked_div(Exact::whole(i64::try_from(common).ok()?))
                .ok()?;
            let next = common.checked_mul(part.numerator())?;
            (next <= bounds::COMMON).then_some(next)
        });
        common.is_none() || !self.shafts.iter().all(shaft_fits)
    }
}
