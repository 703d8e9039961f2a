//! The job around the chain: the parts and fasteners that it takes, and its steps in order.

use crate::spec::conform::nearest;
use crate::spec::finding::{Finding, StepProblem, ValueProblem};
use crate::spec::format::{MAX_PARTS, MAX_STEPS};
use crate::spec::raw::{FastenerSpec, JobSpec, PartSpec, StepSpec};
use crate::spec::source::{At, Span};
use crate::spec::stage::{Gate, Stage};
use crate::units::quantity::Exact;
use crate::units::torque::{Tightening, stages_text};

/// A part that the job takes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct JobPart {
    /// Its name in the spec.
    pub name: String,
    /// What it is.
    pub about: String,
    /// How many.
    pub quantity: u32,
    /// Must it not be fitted twice?
    pub single_use: bool,
    /// Must as many old ones have come off as go on?
    pub count_old: bool,
}

/// A kind of fastener.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fastener {
    /// Its name in the spec.
    pub name: String,
    /// What it holds.
    pub component: String,
    /// How many.
    pub count: u32,
    /// Its thread.
    pub thread: String,
    /// Its length in mm.
    pub length: Exact,
    /// Must it be a new one?
    pub single_use: bool,
    /// How it is tightened.
    pub torque: Vec<Tightening>,
}

impl Fastener {
    /// Every stage of tightening: `30 N m + 90 deg`.
    pub fn torque_text(&self) -> String {
        stages_text(&self.torque)
    }
}

/// A step of the job.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct JobStep {
    /// Its name in the spec.
    pub name: String,
    /// What is done.
    pub about: String,
    /// The parts that it takes, as places in [`Plan::parts`].
    pub parts: Vec<usize>,
    /// What is tightened, as places in [`Plan::fasteners`].
    pub fasteners: Vec<usize>,
    /// The stage at which the marks must be in time.
    pub stage: Option<Stage>,
    /// The gate that it is.
    pub gate: Option<Gate>,
    /// Minutes before the next step.
    pub wait: Option<u32>,
    /// Minutes after the step before, at most.
    pub within: Option<u32>,
}

/// What the job takes, and its steps. Every plan has all three mark checks and all three gates, in
/// their order, the sign-off last: a spec that says nothing of steps has just these.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plan {
    parts: Vec<JobPart>,
    fasteners: Vec<Fastener>,
    steps: Vec<JobStep>,
    tools: Vec<String>,
}

impl Plan {
    /// The parts, in the order of the spec.
    pub fn parts(&self) -> &[JobPart] {
        &self.parts
    }

    /// The fasteners, in the order of the spec.
    pub fn fasteners(&self) -> &[Fastener] {
        &self.fasteners
    }

    /// The locking tools that hold shafts while the chain is hung.
    pub fn tools(&self) -> &[String] {
        &self.tools
    }

    /// The steps, in order.
    pub fn steps(&self) -> &[JobStep] {
        &self.steps
    }
}

/// The mark checks and gates in the one order that is safe.
const ORDER: [(Turn, &str); 6] = [
    (
        Turn::Stage(Stage::Hung),
        "hang the chain, every dot on its coloured link",
    ),
    (Turn::Gate(Gate::Release), "release the tensioner"),
    (Turn::Stage(Stage::Released), "look at every mark again"),
    (
        Turn::Stage(Stage::Turned),
        "turn the engine by hand and look at the dots",
    ),
    (Turn::Gate(Gate::Cover), "fit the cover"),
    (Turn::Gate(Gate::SignOff), "sign the job off"),
];

/// A mark check or a gate.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Turn {
    Stage(Stage),
    Gate(Gate),
}

impl Turn {
    fn words(self) -> String {
        match self {
            Self::Stage(stage) => format!("stage: {}", stage.word()),
            Self::Gate(gate) => format!("gate: {}", gate.word()),
        }
    }
}

/// Makes a plan of what is written; a finding for everything that does not hold together.
pub(crate) fn check(spec: &JobSpec, findings: &mut Vec<Finding>) -> Plan {
    let most = spec.parts.len().max(spec.fasteners.len());
    let steps = spec.steps.as_ref().map_or(0, Vec::len);
    if most > MAX_PARTS || steps > MAX_STEPS {
        // A finding already, and comparing that many would cost time.
        return Plan {
            parts: Vec::new(),
            fasteners: Vec::new(),
            steps: Vec::new(),
            tools: Vec::new(),
        };
    }
    // On the bench both go by their names alone.
    for kind in &spec.fasteners {
        let twin = spec
            .parts
            .iter()
            .find(|part| part.name.value == kind.name.value);
        if let Some(part) = twin {
            findings.push(
                Finding::new(
                    ValueProblem::DuplicateKey {
                        key: kind.name.value.clone(),
                    },
                    kind.name.span,
                )
                .with(part.name.span),
            );
        }
    }
    let parts = spec.parts.iter().filter_map(part).collect();
    let fasteners = spec
        .fasteners
        .iter()
        .filter_map(|spec| fastener(spec, findings))
        .collect();
    let mut plan = Plan {
        parts,
        fasteners,
        steps: Vec::new(),
        tools: spec.tools.iter().map(|tool| tool.value.clone()).collect(),
    };
    match &spec.steps {
        None => plan.steps = steps_of_none(&plan),
        Some(steps) => {
            steps_hold(steps, spec, findings);
            plan.steps = steps.iter().filter_map(|step| build(step, &plan)).collect();
        }
    }
    plan
}

fn part(spec: &PartSpec) -> Option<JobPart> {
    Some(JobPart {
        name: spec.name.value.clone(),
        about: spec.about.clone()?,
        quantity: spec.quantity?,
        single_use: spec.single_use,
        count_old: spec.count_old,
    })
}

fn fastener(spec: &FastenerSpec, findings: &mut Vec<Finding>) -> Option<Fastener> {
    let mut torque = Vec::new();
    for stage in &spec.torque {
        match stage.value.parse() {
            Ok(Tightening::Angle(_)) if torque.is_empty() => {
                findings.push(Finding::new(StepProblem::AngleFirst, stage.span));
                torque.push(stage.value.parse().ok()?);
            }
            Ok(stage) => torque.push(stage),
            Err(error) => findings.push(Finding::new(
                StepProblem::TorqueUnreadable {
                    text: stage.value.clone(),
                    reason: error,
                },
                stage.span,
            )),
        }
    }
    Some(Fastener {
        name: spec.name.value.clone(),
        component: spec.component.clone()?,
        count: spec.count?,
        thread: spec.thread.clone()?,
        length: spec.length?,
        single_use: spec.single_use,
        torque,
    })
}

/// The steps of a spec that gives none. What is to be tightened is tightened before the cover.
fn steps_of_none(plan: &Plan) -> Vec<JobStep> {
    let names = ["hang", "release", "look", "turn", "cover", "sign-off"];
    let steps = ORDER.iter().zip(names).map(|((turn, about), name)| {
        let cover = *turn == Turn::Gate(Gate::Cover);
        JobStep {
            name: name.to_owned(),
            about: (*about).to_owned(),
            parts: Vec::new(),
            fasteners: if cover {
                (0..plan.fasteners.len()).collect()
            } else {
                Vec::new()
            },
            stage: match turn {
                Turn::Stage(stage) => Some(*stage),
                Turn::Gate(_) => None,
            },
            gate: match turn {
                Turn::Gate(gate) => Some(*gate),
                Turn::Stage(_) => None,
            },
            wait: None,
            within: None,
        }
    });
    steps.collect()
}

fn build(spec: &StepSpec, plan: &Plan) -> Option<JobStep> {
    let places = |names: &[At<String>], known: &dyn Fn(&str) -> Option<usize>| {
        names.iter().filter_map(|name| known(&name.value)).collect()
    };
    Some(JobStep {
        name: spec.name.as_ref()?.value.clone(),
        about: spec.about.clone()?,
        parts: places(&spec.parts, &|name| {
            plan.parts.iter().position(|part| part.name == name)
        }),
        fasteners: places(&spec.fasteners, &|name| {
            plan.fasteners.iter().position(|kind| kind.name == name)
        }),
        stage: spec.stage.map(|stage| stage.value),
        gate: spec.gate.map(|gate| gate.value),
        wait: spec.wait,
        within: spec.within,
    })
}

fn steps_hold(steps: &[StepSpec], spec: &JobSpec, findings: &mut Vec<Finding>) {
    let mut seen: Vec<&At<String>> = Vec::new();
    for name in steps.iter().filter_map(|step| step.name.as_ref()) {
        match seen.iter().find(|other| other.value == name.value) {
            Some(first) => findings.push(
                Finding::new(
                    StepProblem::StepTwice {
                        name: name.value.clone(),
                    },
                    name.span,
                )
                .with(first.span),
            ),
            None => seen.push(name),
        }
    }
    if let Some(first) = steps.first().filter(|step| step.within.is_some())
        && let Some(name) = &first.name
    {
        let problem = StepProblem::WithinNothing {
            name: name.value.clone(),
        };
        findings.push(Finding::new(problem, name.span));
    }
    let parts: Vec<&At<String>> = spec.parts.iter().map(|part| &part.name).collect();
    let kinds: Vec<&At<String>> = spec.fasteners.iter().map(|kind| &kind.name).collect();
    let named = |of: fn(&StepSpec) -> &[At<String>]| {
        steps.iter().flat_map(move |s| of(s).iter().take(MAX_PARTS))
    };
    needed("part", &parts, named(|step| &step.parts), findings);
    needed("fastener", &kinds, named(|step| &step.fasteners), findings);
    order_holds(steps, spec.steps_span, findings);
}

/// Every name that steps give is there, and every name that is there is given by one step: what two
/// steps took could not be told apart when it was confirmed.
fn needed<'a>(
    what: &'static str,
    known: &[&At<String>],
    given: impl Iterator<Item = &'a At<String>>,
    findings: &mut Vec<Finding>,
) {
    let mut taken: Vec<&At<String>> = Vec::new();
    for name in given {
        if !known.iter().any(|part| part.value == name.value) {
            findings.push(Finding::new(
                StepProblem::UnknownNeed {
                    what,
                    name: name.value.clone(),
                    nearest: nearest(&name.value, known.iter().map(|part| part.value.as_str()))
                        .map(str::to_owned),
                },
                name.span,
            ));
        } else if let Some(first) = taken.iter().find(|other| other.value == name.value) {
            findings.push(
                Finding::new(
                    StepProblem::NeededTwice {
                        what,
                        name: name.value.clone(),
                    },
                    name.span,
                )
                .with(first.span),
            );
        } else {
            taken.push(name);
        }
    }
    for part in known {
        if !taken.iter().any(|name| name.value == part.value) {
            findings.push(Finding::new(
                StepProblem::InNoStep {
                    what,
                    name: part.value.clone(),
                },
                part.span,
            ));
        }
    }
}

/// All three mark checks and all three gates are there, once each and in their order, and nothing
/// follows the sign-off.
fn order_holds(steps: &[StepSpec], whole: Span, findings: &mut Vec<Finding>) {
    let mut places: Vec<(Turn, usize, Span)> = Vec::new();
    for (i, step) in steps.iter().enumerate() {
        let stage = step.stage.map(|at| (Turn::Stage(at.value), i, at.span));
        let gate = step.gate.map(|at| (Turn::Gate(at.value), i, at.span));
        for found in stage.into_iter().chain(gate) {
            match places.iter().find(|other| other.0 == found.0) {
                Some(first) => findings.push(
                    Finding::new(
                        StepProblem::StepRepeats {
                            what: found.0.words(),
                        },
                        found.2,
                    )
                    .with(first.2),
                ),
                None => places.push(found),
            }
        }
    }
    let mut before: Option<(Turn, usize, Span)> = None;
    for (turn, _) in ORDER {
        let Some(found) = places.iter().find(|place| place.0 == turn).copied() else {
            // What stands there and cannot be read is a finding already.
            if !steps.iter().any(|step| step.unreadable_turn) {
                findings.push(Finding::new(
                    StepProblem::StepMissing { what: turn.words() },
                    whole,
                ));
            }
            continue;
        };
        if let Some(before) = before
            && found.1 <= before.1
        {
            findings.push(
                Finding::new(
                    StepProblem::StepOrder {
                        first: before.0.words(),
                        second: turn.words(),
                    },
                    found.2,
                )
                .with(before.2),
            );
        }
        before = Some(found);
    }
    if let (Some((turn, place, span)), Some(last)) = (before, steps.len().checked_sub(1))
        && turn == Turn::Gate(Gate::SignOff)
        && place != last
    {
        findings.push(Finding::new(StepProblem::AfterSignOff, steps[last].span).with(span));
    }
}
