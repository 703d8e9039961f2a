//! A second, independent YAML reader must see in every spec what the model was made of.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

mod support;

use proptest::prelude::*;
use support::plan::{plan, plan_with_loop};
use support::written::{
    Written, WrittenChain, WrittenCylinders, WrittenPart, WrittenShaft, WrittenSprocket,
    WrittenValves, number,
};
use support::{drive, engines};
use tautmark::{
    Chain, CyclePlace, Cylinders, Drive, Exact, Lift, LinkPosition, Parked, Part, Rotation, Shaft,
    ShaftKind, Shoe, Sprocket, Valves,
};

fn same(text: &str) {
    let (drive, written) = (drive(text), Written::read(text));
    assert_eq!(written.tautmark, tautmark::FORMAT_VERSION);
    assert_eq!(drive.engine(), written.engine);
    let turns = match written.crank_turns.as_str() {
        "clockwise" => Rotation::Clockwise,
        "counter-clockwise" => Rotation::CounterClockwise,
        other => panic!("{other}"),
    };
    assert_eq!(drive.crank_turns(), turns);
    assert_eq!(drive.timed_position(), written.timed_position.as_deref());

    let (shafts, chains) = (written.shafts(), written.chains());
    assert_eq!(drive.shafts().count(), shafts.len());
    for ((_, shaft), (name, other)) in drive.shafts().zip(&shafts) {
        assert_eq!(shaft.name(), name);
        same_shaft(shaft, other);
    }
    assert_eq!(drive.chains().count(), chains.len());
    for ((_, chain), (name, other)) in drive.chains().zip(&chains) {
        assert_eq!(chain.name(), name);
        same_chain(&drive, chain, other);
    }
    assert_eq!(drive.cylinders().is_some(), written.cylinders.is_some());
    if let (Some(cylinders), Some(other)) = (drive.cylinders(), &written.cylinders) {
        same_cylinders(cylinders, other);
    }
    let valves = written.valves();
    assert_eq!(drive.valves().len(), valves.len());
    for (one, (name, other)) in drive.valves().iter().zip(&valves) {
        assert_eq!(&one.name, name);
        same_valves(&drive, one, other);
    }
}

fn or_zero(value: Option<&serde_yaml::Value>) -> Exact {
    value.map_or(Exact::ZERO, number)
}

fn same_cylinders(cylinders: &Cylinders, written: &WrittenCylinders) {
    assert_eq!(cylinders.bore, written.bore.as_ref().map(number));
    assert_eq!(cylinders.stroke, number(&written.stroke));
    assert_eq!(cylinders.rod, number(&written.rod));
    assert_eq!(cylinders.compression, number(&written.compression));
    assert_eq!(cylinders.deck, or_zero(written.deck.as_ref()));
    assert_eq!(cylinders.gasket, or_zero(written.gasket.as_ref()));
    assert_eq!(cylinders.firing_order, written.firing_order);
    if let Some(offsets) = &written.offsets {
        let found: Vec<Exact> = cylinders.offsets.iter().map(|angle| angle.get()).collect();
        assert_eq!(found, offsets.iter().map(number).collect::<Vec<_>>());
    }
}

fn same_valves(drive: &Drive, valves: &Valves, written: &WrittenValves) {
    assert_eq!(drive.shaft(valves.shaft).name(), written.shaft);
    assert_eq!(valves.kind.word(), written.kind);
    if let Some(cylinders) = &written.cylinders {
        assert_eq!(&valves.cylinders, cylinders);
    }
    let event = |place: CyclePlace, near: CyclePlace| place.trade(near).unwrap().to_string();
    assert_eq!(event(valves.opens, valves.opens_near()), written.opens);
    assert_eq!(event(valves.closes, valves.closes_near()), written.closes);
    assert_eq!(valves.at_lift, number(&written.at_lift));
    assert_eq!(valves.inclination, or_zero(written.inclination.as_ref()));
    assert_eq!(valves.recess, written.recess.as_ref().map(number));
    assert_eq!(valves.relief, or_zero(written.relief.as_ref()));
    let lift = match (&written.lift, &written.lift_table) {
        (Some(most), None) => Some(Lift::Most(number(most))),
        (None, Some(table)) => Some(Lift::Table(table.iter().map(place).collect())),
        _ => None,
    };
    assert_eq!(valves.lift, lift);
}

fn same_shaft(shaft: &Shaft, written: &WrittenShaft) {
    let kind = match written.kind.as_str() {
        "crankshaft" => ShaftKind::Crankshaft,
        "camshaft" => ShaftKind::Camshaft,
        "idler" => ShaftKind::Idler,
        "balance" => ShaftKind::Balance,
        "pump" => ShaftKind::Pump,
        other => panic!("{other}"),
    };
    assert_eq!(shaft.kind(), kind);
    assert_eq!(shaft.centre(), written.at.as_ref().map(place));
    let phaser = written.phaser.as_ref().map(|phaser| {
        let parked = match phaser.parked.as_str() {
            "advanced" => Parked::Advanced,
            "retarded" => Parked::Retarded,
            "middle" => Parked::Middle,
            other => panic!("{other}"),
        };
        (number(&phaser.range), parked)
    });
    let ours = shaft.phaser();
    assert_eq!(
        ours.map(|phaser| (phaser.range.get(), phaser.parked)),
        phaser
    );
}

fn same_chain(drive: &Drive, chain: &Chain, written: &WrittenChain) {
    assert_eq!(usize::from(chain.links().get()), written.links);
    assert_eq!(chain.pitch(), written.pitch.as_ref().map(number));
    let limit = written.elongation_limit.as_ref().map(number);
    assert_eq!(chain.elongation_limit(), limit);
    assert_eq!(chain.sprockets().len(), written.sprockets().len());
    assert_eq!(chain.path().len(), written.path.len());
    let mut sprockets = chain.sprockets().iter();
    for (part, other) in chain.path().iter().zip(&written.path) {
        match (part, other) {
            (Part::Sprocket(i), WrittenPart::Sprocket(other)) => {
                let sprocket = &chain.sprockets()[usize::from(*i)];
                assert!(std::ptr::eq(sprocket, sprockets.next().unwrap()));
                same_sprocket(drive, sprocket, other);
            }
            (Part::Guide(shoe), WrittenPart::Guide(other)) => {
                same_shoe(
                    shoe,
                    place(&other.guide),
                    number(&other.radius),
                    other.outside,
                );
            }
            (
                Part::Tensioner {
                    shoe,
                    pushes,
                    stroke,
                },
                WrittenPart::Tensioner(other),
            ) => {
                let centre = place(&other.tensioner);
                same_shoe(shoe, centre, number(&other.radius), other.outside);
                assert_eq!(pushes.get(), number(&other.pushes));
                assert_eq!(*stroke, number(&other.stroke));
            }
            (part, other) => panic!("{part:?} is not {other:?}"),
        }
    }
}

fn same_sprocket(drive: &Drive, sprocket: &Sprocket, written: &WrittenSprocket) {
    assert_eq!(drive.shaft(sprocket.shaft()).name(), written.sprocket);
    assert_eq!(usize::from(sprocket.teeth().get()), written.teeth);
    assert_eq!(sprocket.outside(), written.outside);
    let dot = written.dot.as_ref().map(number);
    assert_eq!(sprocket.dot().map(tautmark::ClockAngle::get), dot);
    let halves = match (written.link, written.links) {
        (Some(link), None) => Some(2 * link),
        (None, Some([first, _])) => Some(2 * first + 1),
        (None, None) => None,
        both => panic!("{both:?}"),
    };
    let link = |halves: usize| {
        LinkPosition::new(Exact::fraction(i64::try_from(halves).unwrap(), 2).unwrap())
    };
    let mark = sprocket.mark();
    assert_eq!(mark.map(|mark| mark.link), halves.map(link));
    if let Some(mark) = mark {
        assert_eq!(mark.colour, written.colour);
    }
}

fn same_shoe(shoe: &Shoe, centre: [Exact; 2], radius: Exact, outside: bool) {
    assert_eq!(shoe.centre, centre);
    assert_eq!(shoe.radius, radius);
    assert_eq!(shoe.outside, outside);
}

fn place(at: &[serde_yaml::Value; 2]) -> [Exact; 2] {
    [number(&at[0]), number(&at[1])]
}

#[test]
fn both_readers_see_the_same_in_every_engine() {
    for (_, text) in engines() {
        same(&text);
    }
}

#[test]
fn both_readers_see_the_same_in_the_starter() {
    same(tautmark::STARTER);
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(200)
    })]

    #[test]
    fn both_readers_see_the_same_in_any_spec(plan in prop_oneof![plan(), plan_with_loop()]) {
        same(&plan.yaml());
    }
}
