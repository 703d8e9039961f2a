//! The speeds of the shafts, as the chains give them from the crankshaft on.

use crate::drive::checks::{shaft_index, sprockets};
use crate::spec::finding::{DriveProblem, Finding};
use crate::spec::raw::{EntrySpec, ShaftKind, ShaftSpec, Spec, SprocketSpec};
use crate::units::quantity::{Exact, ToothCount};
use std::collections::VecDeque;

/// Signed turns per crank turn, and the chain and sprocket (indices) by which a shaft was reached.
pub(super) type Reached = (Exact, Option<(usize, usize)>);

/// The speeds of the shafts as the chains give them.
pub(super) struct Graph {
    pub(super) shafts: Vec<Option<Reached>>,
    /// Which sprocket drives each chain, and the chain's links per crank turn.
    pub(super) chains: Vec<Option<(usize, Exact)>>,
    /// The shafts in the order in which they were reached.
    pub(super) order: Vec<usize>,
}

fn is_camshaft(shaft: &ShaftSpec) -> bool {
    let kind = shaft.kind.as_ref();
    kind.is_some_and(|kind| kind.value == ShaftKind::Camshaft)
}

impl Graph {
    pub(super) fn of(spec: &Spec, crank: usize, findings: &mut Vec<Finding>) -> Self {
        let graph = Self::passed_on(spec, crank, findings);
        graph.what_is_wrong(spec, findings);
        graph
    }

    /// The speeds from the crankshaft on; a finding where two ways give two.
    fn passed_on(spec: &Spec, crank: usize, findings: &mut Vec<Finding>) -> Self {
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
        let Ok(speed) = ratio.checked_mul(teeth.value.to_exact()) else {
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
            let Ok(found) = speed.checked_div(teeth.value.to_exact()) else {
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
                        DriveProblem::RatioOpen {
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
        let common = self.common(spec);
        if let Some(finding) = &common {
            findings.push(finding.clone());
        }
        for (shaft, speed) in spec.shafts.iter().zip(&self.shafts) {
            match speed {
                None if complete && !self.lost(spec, shaft) => findings.push(Finding::new(
                    DriveProblem::ShaftNotDriven {
                        shaft: shaft.name.value.clone(),
                    },
                    shaft.name.span,
                )),
                Some((ratio, Some((c, i))))
                    if common.is_none() && is_camshaft(shaft) && ratio.abs() != half =>
                {
                    let teeth = sprockets(&spec.chains[*c])
                        .nth(*i)
                        .and_then(|sprocket| sprocket.teeth);
                    // speed = teeth * turns, so half speed takes twice the chain's speed in teeth.
                    let right = self.chains[*c]
                        .and_then(|(_, speed)| speed.checked_mul(Exact::whole(2)).ok())
                        .filter(|teeth| teeth.is_whole())
                        .and_then(|teeth| u16::try_from(teeth.numerator()).ok())
                        .and_then(ToothCount::new);
                    findings.push(
                        Finding::new(
                            DriveProblem::CamshaftSpeed {
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

    /// Camshafts at a wrong speed.
    fn off_speed(&self, spec: &Spec) -> Vec<(usize, Exact)> {
        let half = Exact::fraction(1, 2).unwrap_or(Exact::ONE);
        let speeds = spec.shafts.iter().zip(&self.shafts).enumerate();
        speeds
            .filter_map(|(i, (shaft, reached))| {
                let (ratio, _) = reached.as_ref()?;
                (is_camshaft(shaft) && ratio.abs() != half).then_some((i, ratio.abs()))
            })
            .collect()
    }

    /// Several camshafts at one wrong speed for a sprocket that all are driven by: the finding that names it.
    fn common(&self, spec: &Spec) -> Option<Finding> {
        let off = self.off_speed(spec);
        let [(_, ratio), _, ..] = off.as_slice() else {
            return None;
        };
        if off.iter().any(|(_, other)| other != ratio) {
            return None;
        }
        let twice = ratio.checked_mul(Exact::whole(2)).ok()?;
        let crank = self
            .shafts
            .iter()
            .position(|reached| matches!(reached, Some((_, None))))?;
        let mut instead = Vec::new();
        let mut places = Vec::new();
        for (c, chain) in spec.chains.iter().enumerate() {
            for (part, entry) in chain.path.iter().enumerate() {
                let EntrySpec::Sprocket(sprocket) = entry else {
                    continue;
                };
                let (Some(teeth), Some(name)) = (sprocket.teeth, &sprocket.shaft) else {
                    continue;
                };
                // A sprocket that drives needs so much fewer teeth, one that is driven so much more.
                let now = teeth.value.to_exact();
                for count in [now.checked_div(twice), now.checked_mul(twice)] {
                    let Some(count) = count
                        .ok()
                        .filter(|count| count.is_whole())
                        .and_then(|count| u16::try_from(count.numerator()).ok())
                        .and_then(ToothCount::new)
                    else {
                        continue;
                    };
                    let mut changed = spec.clone();
                    if let Some(EntrySpec::Sprocket(sprocket)) =
                        changed.chains[c].path.get_mut(part)
                    {
                        sprocket.teeth = Some(teeth.map(|_| count));
                    }
                    if Self::holds(&changed, crank) {
                        instead.push((name.value.clone(), chain.name.value.clone(), count.get()));
                        places.push(teeth.span);
                    }
                }
            }
        }
        let (first, more) = (*places.first()?, places.get(1).copied());
        let shafts = off
            .iter()
            .map(|(shaft, _)| spec.shafts[*shaft].name.value.clone())
            .collect();
        let mut finding = Finding::new(
            DriveProblem::CamshaftsSpeed {
                shafts,
                ratio: *ratio,
                instead,
            },
            first,
        );
        finding.related = more;
        Some(finding)
    }

    /// Do all camshafts turn at half crank speed, and all loops close?
    fn holds(spec: &Spec, crank: usize) -> bool {
        let mut findings = Vec::new();
        Self::passed_on(spec, crank, &mut findings)
            .off_speed(spec)
            .is_empty()
            && findings.is_empty()
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
