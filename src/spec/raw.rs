//! Step 1: the spec as it is written, every value with its place. Whatever could not be read is
//! simply absent here; the finding that says so has been made already.

pub(crate) use crate::spec::choice::{ChainKind, Parked, Rotation, ShaftKind};

use crate::spec::conform;
use crate::spec::finding::band::Band;
use crate::spec::finding::{Finding, ValueProblem};
use crate::spec::format::{self, key};
use crate::spec::source::{At, Source, Span};
use crate::spec::stage::{Gate, Stage};
use crate::spec::values::{
    Point, choice, count, exact, flag, is_link, key_span, named, number, pair, point, text, texts,
    to_whole, whole,
};
use crate::spec::valves::{self, CylindersSpec, ValveSpec};
use crate::spec::yaml::{self, Node, Value};
use crate::units::quantity::{ClockAngle, Exact, LinkCount, ToothCount};

#[derive(Clone, Debug, Default)]
pub(crate) struct Spec {
    pub(crate) engine: Option<At<String>>,
    pub(crate) crank_turns: Option<At<Rotation>>,
    pub(crate) timed_position: Option<At<String>>,
    pub(crate) camshafts: Option<At<i64>>,
    pub(crate) shafts: Vec<ShaftSpec>,
    pub(crate) shafts_span: Span,
    pub(crate) chains: Vec<ChainSpec>,
    pub(crate) cylinders: Option<CylindersSpec>,
    pub(crate) valves: Vec<ValveSpec>,
    pub(crate) job: JobSpec,
}

#[derive(Clone, Debug)]
pub(crate) struct ShaftSpec {
    pub(crate) name: At<String>,
    pub(crate) kind: Option<At<ShaftKind>>,
    pub(crate) at: Option<At<Point>>,
    pub(crate) phaser: Option<At<PhaserSpec>>,
}

#[derive(Clone, Debug)]
pub(crate) struct PhaserSpec {
    pub(crate) range: Option<At<Exact>>,
    pub(crate) parked: Option<At<Parked>>,
    pub(crate) hand_tight: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct ChainSpec {
    pub(crate) name: At<String>,
    pub(crate) kind: Option<At<ChainKind>>,
    pub(crate) links: Option<At<LinkCount>>,
    pub(crate) pitch: Option<At<Exact>>,
    pub(crate) elongation_limit: Option<At<Exact>>,
    pub(crate) cranked_link: bool,
    pub(crate) cranked_span: Span,
    pub(crate) path: Vec<EntrySpec>,
    pub(crate) path_span: Span,
}

#[derive(Clone, Debug)]
pub(crate) enum EntrySpec {
    Sprocket(SprocketSpec),
    Shoe(ShoeSpec),
    /// Not readable; something stood there.
    Unreadable,
}

#[derive(Clone, Debug)]
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

impl ChainSpec {
    /// Is it a toothed belt?
    pub(crate) fn is_belt(&self) -> bool {
        self.kind.is_some_and(|kind| kind.value == ChainKind::Belt)
    }

    /// Is it a pair of gears?
    pub(crate) fn is_gears(&self) -> bool {
        self.kind.is_some_and(|kind| kind.value == ChainKind::Gears)
    }

    /// What it is called.
    pub(crate) fn band(&self) -> &'static Band {
        Band::of_kind(self.kind.map(|kind| kind.value))
    }
}

/// A guide, or a tensioner's shoe where it pushes.
#[derive(Clone, Debug)]
pub(crate) struct ShoeSpec {
    pub(crate) span: Span,
    pub(crate) centre: Option<At<Point>>,
    pub(crate) radius: Option<At<Exact>>,
    pub(crate) outside: bool,
    pub(crate) tensioner: Option<TensionerSpec>,
}

#[derive(Clone, Debug)]
pub(crate) struct TensionerSpec {
    pub(crate) pushes: Option<At<ClockAngle>>,
    pub(crate) stroke: Option<At<Exact>>,
}

/// What is said of the job around the chain.
#[derive(Clone, Debug, Default)]
pub(crate) struct JobSpec {
    pub(crate) parts: Vec<PartSpec>,
    pub(crate) fasteners: Vec<FastenerSpec>,
    pub(crate) steps: Option<Vec<StepSpec>>,
    pub(crate) steps_span: Span,
    pub(crate) tools: Vec<At<String>>,
}

#[derive(Clone, Debug)]
pub(crate) struct PartSpec {
    pub(crate) name: At<String>,
    pub(crate) about: Option<String>,
    pub(crate) quantity: Option<u32>,
    pub(crate) single_use: bool,
    pub(crate) count_old: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct FastenerSpec {
    pub(crate) name: At<String>,
    pub(crate) component: Option<String>,
    pub(crate) count: Option<u32>,
    pub(crate) thread: Option<String>,
    pub(crate) length: Option<Exact>,
    pub(crate) single_use: bool,
    pub(crate) torque: Vec<At<String>>,
}

#[derive(Clone, Debug)]
pub(crate) struct StepSpec {
    pub(crate) span: Span,
    pub(crate) name: Option<At<String>>,
    pub(crate) about: Option<String>,
    pub(crate) parts: Vec<At<String>>,
    pub(crate) fasteners: Vec<At<String>>,
    pub(crate) stage: Option<At<Stage>>,
    pub(crate) gate: Option<At<Gate>>,
    pub(crate) wait: Option<u32>,
    pub(crate) within: Option<u32>,
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
    // What a newer format means by its keys is not known here; findings about them would mislead.
    if let Some(version) = exact(&root, key::TAUTMARK)
        && version.value > Exact::whole(i64::from(format::FORMAT_VERSION))
        && version.value.is_whole()
    {
        findings.push(Finding::new(
            ValueProblem::NewerFormat {
                version: source.slice(version.span).to_owned(),
            },
            version.span,
        ));
        return None;
    }
    conform::record(&root, &format::SPEC, findings);
    let engine = root.get(key::ENGINE);
    if let Some(Node {
        value: Value::Scalar { text, plain: false },
        span,
        ..
    }) = engine
        && text.trim().is_empty()
    {
        findings.push(Finding::new(ValueProblem::BlankText, *span));
    }
    if !matches!(root.value, Value::Map(_)) {
        return None;
    }
    Some(Spec {
        engine: text(&root, key::ENGINE),
        crank_turns: choice(&root, key::CRANK_TURNS, Rotation::from_word),
        timed_position: text(&root, key::TIMED_POSITION),
        camshafts: whole(&root, key::CAMSHAFTS),
        shafts: named(&root, key::SHAFTS, shaft),
        shafts_span: key_span(&root, key::SHAFTS),
        chains: named(&root, key::CHAINS, chain),
        cylinders: root.get(key::CYLINDERS).map(valves::cylinders),
        valves: named(&root, key::VALVES, valves::valve),
        job: JobSpec {
            parts: named(&root, key::PARTS, part),
            fasteners: named(&root, key::FASTENERS, fastener),
            steps: match root.get(key::STEPS).map(|node| &node.value) {
                Some(Value::List(items)) => Some(items.iter().map(step).collect()),
                _ => None,
            },
            steps_span: key_span(&root, key::STEPS),
            tools: texts(&root, key::TOOLS),
        },
    })
}

fn part(name: At<String>, node: &Node) -> PartSpec {
    PartSpec {
        name,
        about: text(node, key::ABOUT).map(|about| about.value),
        quantity: count(node, key::QUANTITY),
        single_use: flag(node, key::SINGLE_USE),
        count_old: flag(node, key::COUNT_OLD),
    }
}

fn fastener(name: At<String>, node: &Node) -> FastenerSpec {
    FastenerSpec {
        name,
        component: text(node, key::COMPONENT).map(|text| text.value),
        count: count(node, key::COUNT),
        thread: text(node, key::THREAD).map(|text| text.value),
        length: exact(node, key::LENGTH).map(|length| length.value),
        single_use: flag(node, key::SINGLE_USE),
        torque: texts(node, key::TORQUE),
    }
}

fn step(node: &Node) -> StepSpec {
    let stage = choice(node, key::STAGE, Stage::from_word);
    let gate = choice(node, key::GATE, Gate::from_word);
    StepSpec {
        span: node.span,
        name: text(node, key::STEP),
        about: text(node, key::ABOUT).map(|about| about.value),
        parts: texts(node, key::PARTS),
        fasteners: texts(node, key::FASTENERS),
        unreadable_turn: stage.is_none() && node.get(key::STAGE).is_some()
            || gate.is_none() && node.get(key::GATE).is_some(),
        stage,
        gate,
        wait: count(node, key::WAIT),
        within: count(node, key::WITHIN),
    }
}

fn shaft(name: At<String>, node: &Node) -> ShaftSpec {
    ShaftSpec {
        name,
        kind: choice(node, key::KIND, ShaftKind::from_word),
        at: point(node, key::AT),
        phaser: node.get(key::PHASER).map(|phaser| At {
            span: phaser.span,
            value: PhaserSpec {
                range: exact(phaser, key::RANGE),
                parked: choice(phaser, key::PARKED, Parked::from_word),
                hand_tight: flag(phaser, key::HAND_TIGHT),
            },
        }),
    }
}

fn chain(name: At<String>, node: &Node) -> ChainSpec {
    let items: &[Node] = match node.get(key::PATH).map(|path| &path.value) {
        Some(Value::List(items)) => items,
        _ => &[],
    };
    ChainSpec {
        name,
        kind: choice(node, key::KIND, ChainKind::from_word),
        links: whole(node, key::LINKS).and_then(|links| {
            let value = LinkCount::new(u16::try_from(links.value).ok()?)?;
            Some(links.map(|_| value))
        }),
        pitch: exact(node, key::PITCH),
        elongation_limit: exact(node, key::ELONGATION_LIMIT),
        cranked_link: flag(node, key::CRANKED_LINK),
        cranked_span: key_span(node, key::CRANKED_LINK),
        path: items.iter().map(entry).collect(),
        path_span: key_span(node, key::PATH),
    }
}

fn entry(node: &Node) -> EntrySpec {
    let outside = flag(node, key::OUTSIDE);
    if node.get(key::SPROCKET).is_some() {
        return EntrySpec::Sprocket(SprocketSpec {
            span: node.span,
            shaft: text(node, key::SPROCKET),
            teeth: whole(node, key::TEETH).and_then(|teeth| {
                let value = ToothCount::new(u16::try_from(teeth.value).ok()?)?;
                Some(teeth.map(|_| value))
            }),
            dot: exact(node, key::DOT).map(|dot| dot.map(ClockAngle::new)),
            link: whole(node, key::LINK).filter(|link| is_link(link.value)),
            links: pair(node, key::LINKS, |item| {
                number(item)
                    .and_then(to_whole)
                    .filter(|link| is_link(*link))
            }),
            colour: text(node, key::COLOUR),
            outside,
            dowel_holes: match node.get(key::DOWEL_HOLES).map(|holes| &holes.value) {
                Some(Value::List(holes)) => holes.iter().filter_map(number).collect(),
                _ => Vec::new(),
            },
            marked: [key::DOT, key::LINK, key::LINKS]
                .iter()
                .any(|key| node.get(key).is_some()),
        });
    }
    let (key, tensioner) = if node.get(key::GUIDE).is_some() {
        (key::GUIDE, None)
    } else if node.get(key::TENSIONER).is_some() {
        (
            key::TENSIONER,
            Some(TensionerSpec {
                pushes: exact(node, key::PUSHES).map(|angle| angle.map(ClockAngle::new)),
                stroke: exact(node, key::STROKE),
            }),
        )
    } else {
        return EntrySpec::Unreadable;
    };
    EntrySpec::Shoe(ShoeSpec {
        span: node.span,
        centre: point(node, key),
        radius: exact(node, key::RADIUS),
        outside,
        tensioner,
    })
}
