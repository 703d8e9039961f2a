//! Step 1: the spec as it is written, every value with its place. Whatever could not be read is
//! simply absent here; the finding that says so has been made already.

use crate::spec::valves::{self, CylindersSpec, ValveSpec};

use crate::spec::conform;
use crate::spec::finding::Finding;
use crate::spec::format;
use crate::spec::source::{At, Source, Span};
use crate::spec::stage::{Gate, Stage};
use crate::spec::values::*;
use crate::spec::yaml::{self, Node, Value};
use crate::units::quantity::{ClockAngle, Exact, LinkCount, ToothCount};

/// A direction of rotation, seen facing the timing end.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Rotation {
    /// As a clock's hands turn.
    Clockwise,
    /// Against a clock's hands.
    CounterClockwise,
}

impl Rotation {
    /// The other way.
    #[must_use]
    pub fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }

    /// `clockwise` or `counter-clockwise`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Clockwise => "clockwise",
            Self::CounterClockwise => "counter-clockwise",
        }
    }
}

/// What a shaft is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum ShaftKind {
    /// Drives everything.
    Crankshaft,
    /// Opens valves, at half crank speed.
    Camshaft,
    /// Carries sprockets only.
    Idler,
    /// Balances.
    Balance,
    /// Pumps.
    Pump,
}

impl ShaftKind {
    /// Its word in a spec.
    pub fn word(self) -> &'static str {
        match self {
            Self::Crankshaft => "crankshaft",
            Self::Camshaft => "camshaft",
            Self::Idler => "idler",
            Self::Balance => "balance",
            Self::Pump => "pump",
        }
    }
}

/// Where a phaser's lock holds it.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Parked {
    /// At the advanced end.
    Advanced,
    /// At the retarded end.
    Retarded,
    /// Between its ends.
    Middle,
}

#[derive(Debug, Default)]
pub(crate) struct Spec {
    pub(crate) engine: Option<At<String>>,
    pub(crate) crank_turns: Option<At<Rotation>>,
    pub(crate) timed_position: Option<At<String>>,
    pub(crate) shafts: Vec<ShaftSpec>,
    pub(crate) shafts_span: Span,
    pub(crate) chains: Vec<ChainSpec>,
    pub(crate) cylinders: Option<CylindersSpec>,
    pub(crate) valves: Vec<ValveSpec>,
    pub(crate) job: JobSpec,
}

#[derive(Debug)]
pub(crate) struct ShaftSpec {
    pub(crate) name: At<String>,
    pub(crate) kind: Option<At<ShaftKind>>,
    pub(crate) at: Option<At<Point>>,
    pub(crate) phaser: Option<At<PhaserSpec>>,
}

#[derive(Debug)]
pub(crate) struct PhaserSpec {
    pub(crate) range: Option<At<Exact>>,
    pub(crate) parked: Option<At<Parked>>,
}

#[derive(Debug)]
pub(crate) struct ChainSpec {
    pub(crate) name: At<String>,
    pub(crate) links: Option<At<LinkCount>>,
    pub(crate) pitch: Option<At<Exact>>,
    pub(crate) elongation_limit: Option<At<Exact>>,
    pub(crate) path: Vec<EntrySpec>,
    pub(crate) path_span: Span,
}

#[derive(Debug)]
pub(crate) enum EntrySpec {
    Sprocket(SprocketSpec),
    Shoe(ShoeSpec),
    /// Not readable; something stood there.
    Unreadable,
}

#[derive(Debug)]
pub(crate) struct SprocketSpec {
    pub(crate) span: Span,
    pub(crate) shaft: Option<At<String>>,
    pub(crate) teeth: Option<At<ToothCount>>,
    pub(crate) dot: Option<At<ClockAngle>>,
    pub(crate) link: Option<At<i64>>,
    pub(crate) links: Option<At<[i64; 2]>>,
    pub(crate) colour: Option<At<String>>,
    pub(crate) outside: bool,
    pub(crate) dowel_holes: Vec<Exact>,
    /// Is anything said of a dot or a link, readable or not?
    pub(crate) marked: bool,
}

/// A guide, or a tensioner's shoe where it pushes.
#[derive(Debug)]
pub(crate) struct ShoeSpec {
    pub(crate) span: Span,
    pub(crate) centre: Option<At<Point>>,
    pub(crate) radius: Option<At<Exact>>,
    pub(crate) outside: bool,
    pub(crate) tensioner: Option<TensionerSpec>,
}

#[derive(Debug)]
pub(crate) struct TensionerSpec {
    pub(crate) pushes: Option<At<ClockAngle>>,
    pub(crate) stroke: Option<At<Exact>>,
}

/// What is said of the job around the chain.
#[derive(Debug, Default)]
pub(crate) struct JobSpec {
    pub(crate) parts: Vec<PartSpec>,
    pub(crate) fasteners: Vec<FastenerSpec>,
    pub(crate) steps: Option<Vec<StepSpec>>,
    pub(crate) steps_span: Span,
}

#[derive(Debug)]
pub(crate) struct PartSpec {
    pub(crate) name: At<String>,
    pub(crate) about: Option<String>,
    pub(crate) quantity: Option<u32>,
    pub(crate) single_use: bool,
}

#[derive(Debug)]
pub(crate) struct FastenerSpec {
    pub(crate) name: At<String>,
    pub(crate) component: Option<String>,
    pub(crate) count: Option<u32>,
    pub(crate) thread: Option<String>,
    pub(crate) length: Option<Exact>,
    pub(crate) single_use: bool,
    pub(crate) torque: Vec<At<String>>,
}

#[derive(Debug)]
pub(crate) struct StepSpec {
    pub(crate) span: Span,
    pub(crate) name: Option<At<String>>,
    pub(crate) about: Option<String>,
    pub(crate) parts: Vec<At<String>>,
    pub(crate) fasteners: Vec<At<String>>,
    pub(crate) stage: Option<At<Stage>>,
    pub(crate) gate: Option<At<Gate>>,
    pub(crate) wait: Option<u32>,
    /// Does a stage or a gate stand there that could not be read?
    pub(crate) unreadable_turn: bool,
}

/// Reads what can be read and adds a finding for everything else.
pub(crate) fn read(source: &Source, findings: &mut Vec<Finding>) -> Option<Spec> {
    let root = match yaml::read(source) {
        Ok(root) => root,
        Err(finding) => {
            findings.push(*finding);
            return None;
        }
    };
    conform::record(&root, &format::SPEC, findings);
    if !matches!(root.value, Value::Map(_)) {
        return None;
    }
    Some(Spec {
        engine: text(&root, "engine"),
        crank_turns: choice(&root, "crank_turns", |word| match word {
            "clockwise" => Some(Rotation::Clockwise),
            "counter-clockwise" => Some(Rotation::CounterClockwise),
            _ => None,
        }),
        timed_position: text(&root, "timed_position"),
        shafts: named(&root, "shafts", shaft),
        shafts_span: key_span(&root, "shafts"),
        chains: named(&root, "chains", chain),
        cylinders: root.get("cylinders").map(valves::cylinders),
        valves: named(&root, "valves", valves::valve),
        job: JobSpec {
            parts: named(&root, "parts", part),
            fasteners: named(&root, "fasteners", fastener),
            steps: match root.get("steps").map(|node| &node.value) {
                Some(Value::List(items)) => Some(items.iter().map(step).collect()),
                _ => None,
            },
            steps_span: key_span(&root, "steps"),
        },
    })
}

fn part(name: At<String>, node: &Node) -> PartSpec {
    PartSpec {
        name,
        about: text(node, "about").map(|about| about.value),
        quantity: count(node, "quantity"),
        single_use: flag(node, "single_use"),
    }
}

fn fastener(name: At<String>, node: &Node) -> FastenerSpec {
    FastenerSpec {
        name,
        component: text(node, "component").map(|text| text.value),
        count: count(node, "count"),
        thread: text(node, "thread").map(|text| text.value),
        length: exact(node, "length").map(|length| length.value),
        single_use: flag(node, "single_use"),
        torque: texts(node, "torque"),
    }
}

fn step(node: &Node) -> StepSpec {
    let stage = choice(node, "stage", Stage::from_word);
    let gate = choice(node, "gate", Gate::from_word);
    StepSpec {
        span: node.span,
        name: text(node, "step"),
        about: text(node, "about").map(|about| about.value),
        parts: texts(node, "parts"),
        fasteners: texts(node, "fasteners"),
        unreadable_turn: stage.is_none() && node.get("stage").is_some()
            || gate.is_none() && node.get("gate").is_some(),
        stage,
        gate,
        wait: count(node, "wait"),
    }
}

fn shaft(name: At<String>, node: &Node) -> ShaftSpec {
    ShaftSpec {
        name,
        kind: choice(node, "kind", |word| match word {
            "crankshaft" => Some(ShaftKind::Crankshaft),
            "camshaft" => Some(ShaftKind::Camshaft),
            "idler" => Some(ShaftKind::Idler),
            "balance" => Some(ShaftKind::Balance),
            "pump" => Some(ShaftKind::Pump),
            _ => None,
        }),
        at: point(node, "at"),
        phaser: node.get("phaser").map(|phaser| At {
            span: phaser.span,
            value: PhaserSpec {
                range: exact(phaser, "range"),
                parked: choice(phaser, "parked", |word| match word {
                    "advanced" => Some(Parked::Advanced),
                    "retarded" => Some(Parked::Retarded),
                    "middle" => Some(Parked::Middle),
                    _ => None,
                }),
            },
        }),
    }
}

fn chain(name: At<String>, node: &Node) -> ChainSpec {
    let items: &[Node] = match node.get("path").map(|path| &path.value) {
        Some(Value::List(items)) => items,
        _ => &[],
    };
    ChainSpec {
        name,
        links: whole(node, "links").and_then(|links| {
            let value = LinkCount::new(u16::try_from(links.value).ok()?)?;
            Some(links.map(|_| value))
        }),
        pitch: exact(node, "pitch"),
        elongation_limit: exact(node, "elongation_limit"),
        path: items.iter().map(entry).collect(),
        path_span: key_span(node, "path"),
    }
}

fn entry(node: &Node) -> EntrySpec {
    let outside = flag(node, "outside");
    if node.get("sprocket").is_some() {
        return EntrySpec::Sprocket(SprocketSpec {
            span: node.span,
            shaft: text(node, "sprocket"),
            teeth: whole(node, "teeth").and_then(|teeth| {
                let value = ToothCount::new(u16::try_from(teeth.value).ok()?)?;
                Some(teeth.map(|_| value))
            }),
            dot: exact(node, "dot").map(|dot| dot.map(ClockAngle::new)),
            link: whole(node, "link").filter(|link| is_link(link.value)),
            links: pair(node, "links", |item| {
                number(item)
                    .and_then(to_whole)
                    .filter(|link| is_link(*link))
            }),
            colour: text(node, "colour"),
            outside,
            dowel_holes: match node.get("dowel_holes").map(|holes| &holes.value) {
                Some(Value::List(holes)) => holes.iter().filter_map(number).collect(),
                _ => Vec::new(),
            },
            marked: ["dot", "link", "links"]
                .iter()
                .any(|key| node.get(key).is_some()),
        });
    }
    let (key, tensioner) = if node.get("guide").is_some() {
        ("guide", None)
    } else if node.get("tensioner").is_some() {
        (
            "tensioner",
            Some(TensionerSpec {
                pushes: exact(node, "pushes").map(|angle| angle.map(ClockAngle::new)),
                stroke: exact(node, "stroke"),
            }),
        )
    } else {
        return EntrySpec::Unreadable;
    };
    EntrySpec::Shoe(ShoeSpec {
        span: node.span,
        centre: point(node, key),
        radius: exact(node, "radius"),
        outside,
        tensioner,
    })
}
