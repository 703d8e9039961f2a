//! A second, independent YAML reader must see in every spec what the model was made of.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::plan::{plan, plan_with_loop};
use crate::support::written::{
    Written, WrittenChain, WrittenPart, WrittenShaft, WrittenSprocket, number,
};
use crate::support::{drive, engines};
use proptest::prelude::*;
use tautmark::{
    Drive,
    drive::{Chain, Lift, Part, Shaft, Shoe, Sprocket},
    spec::{Parked, Rotation, ShaftKind},
    units::{Exact, LinkPosition},
};

fn same(text: &str) {
    let (drive, written) = (drive(text), Written::read(text));
    assert_eq!(written.tautmark, tautmark::spec::FORMAT_VERSION);
    assert_eq!(drive.engine(), written.engine);
    let turns = match written.crank_turns.as_str() {
        "clockwise" => Rotation::Clockwise,
        "counter-clockwise" => Rotation::CounterClockwise,
        other => panic!("{other}"),
    };
    assert_eq!(drive.crank_turns(), turns);
    assert_eq!(drive.timed_position(), written.timed_position.as_deref());
    assert_eq!(drive.camshafts(), written.camshafts);

    same_plan(&drive, &written);
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
    same_valves(&written, &drive);
}

/// The job around the chain, as far as it is there.
fn same_plan(drive: &Drive, written: &Written) {
    let names = |entries: &Option<serde_yaml::Mapping>| -> Vec<String> {
        let entries = entries.iter().flatten();
        entries
            .map(|(name, _)| name.as_str().unwrap().to_owned())
            .collect()
    };
    let plan = drive.plan();
    let own: Vec<String> = plan.parts().iter().map(|part| part.name.clone()).collect();
    assert_eq!(own, names(&written.parts));
    for (part, (_, other)) in plan.parts().iter().zip(written.parts.iter().flatten()) {
        assert_eq!(part.about, other["about"].as_str().unwrap());
        assert_eq!(Some(u64::from(part.quantity)), other["quantity"].as_u64());
        let single = other.get("single_use").and_then(|flag| flag.as_bool());
        assert_eq!(part.single_use, single.unwrap_or(false));
    }
    let own: Vec<String> = plan
        .fasteners()
        .iter()
        .map(|kind| kind.name.clone())
        .collect();
    assert_eq!(own, names(&written.fasteners));
    let others = written.fasteners.iter().flatten();
    for (kind, (_, other)) in plan.fasteners().iter().zip(others) {
        assert_eq!(Some(u64::from(kind.count)), other["count"].as_u64());
        assert_eq!(kind.thread, other["thread"].as_str().unwrap());
        assert_eq!(kind.length, number(&other["length"]));
        let stages: Vec<&str> = other["torque"]
            .as_sequence()
            .unwrap()
            .iter()
            .map(|stage| stage.as_str().unwrap())
            .collect();
        assert_eq!(kind.torque_text(), stages.join(" + "));
    }
    let Some(steps) = &written.steps else { return };
    assert_eq!(plan.steps().len(), steps.len());
    for (step, other) in plan.steps().iter().zip(steps) {
        assert_eq!(step.name, other["step"].as_str().unwrap());
        let word = |key: &str| other.get(key).and_then(|word| word.as_str());
        assert_eq!(step.stage.map(tautmark::spec::Stage::word), word("stage"));
        assert_eq!(step.gate.map(tautmark::spec::Gate::word), word("gate"));
        let wait = other.get("wait").and_then(serde_yaml::Value::as_u64);
        assert_eq!(step.wait.map(u64::from), wait);
        let within = other.get("within").and_then(serde_yaml::Value::as_u64);
        assert_eq!(step.within.map(u64::from), within);
        let takes = |key: &str| {
            let list = other.get(key).and_then(|list| list.as_sequence());
            list.into_iter()
                .flatten()
                .map(|name| name.as_str().unwrap())
        };
        let parts = step.parts.iter().map(|i| plan.parts()[*i].name.as_str());
        assert!(parts.eq(takes("parts")));
        let kinds = step.fasteners.iter();
        let kinds = kinds.map(|i| plan.fasteners()[*i].name.as_str());
        assert!(kinds.eq(takes("fasteners")));
    }
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
    assert_eq!(sprocket.dot().map(tautmark::units::ClockAngle::get), dot);
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

fn same_valves(written: &Written, drive: &Drive) {
    let number_or = |value: &Option<serde_yaml::Value>| value.as_ref().map(number);
    match (&written.cylinders, drive.cylinders()) {
        (None, None) => {}
        (Some(theirs), Some(ours)) => {
            assert_eq!(ours.bore, number_or(&theirs.bore));
            assert_eq!(ours.stroke, number(&theirs.stroke));
            assert_eq!(ours.rod, number(&theirs.rod));
            assert_eq!(ours.compression, number(&theirs.compression));
            assert_eq!(ours.deck, number_or(&theirs.deck).unwrap_or(Exact::ZERO));
            assert_eq!(
                ours.gasket,
                number_or(&theirs.gasket).unwrap_or(Exact::ZERO)
            );
            let order: Vec<i64> = ours.firing_order.iter().map(|n| i64::from(*n)).collect();
            assert_eq!(order, theirs.firing_order);
            if let Some(offsets) = &theirs.offsets {
                let offsets: Vec<Exact> = offsets.iter().map(number).collect();
                let ours: Vec<Exact> = ours.offsets.iter().map(|offset| offset.get()).collect();
                assert_eq!(ours, offsets);
            }
        }
        (theirs, ours) => panic!("{theirs:?} against {ours:?}"),
    }
    assert_eq!(drive.valves().len(), written.valves.len());
    for (ours, (name, theirs)) in drive.valves().iter().zip(&written.valves) {
        let get = |key: &str| theirs.get(key).map(number);
        assert_eq!(Some(ours.name.as_str()), name.as_str());
        assert_eq!(theirs.get("shaft").unwrap(), drive.shaft(ours.shaft).name());
        assert_eq!(Some(ours.at_lift), get("at_lift"));
        assert_eq!(ours.inclination, get("inclination").unwrap_or(Exact::ZERO));
        assert_eq!(ours.recess, get("recess"));
        assert_eq!(ours.relief, get("relief").unwrap_or(Exact::ZERO));
        match (&ours.lift, theirs.get("lift_table")) {
            (Some(Lift::Table(points)), Some(table)) => {
                let table: Vec<[serde_yaml::Value; 2]> =
                    serde_yaml::from_value(table.clone()).unwrap();
                assert_eq!(*points, table.iter().map(place).collect::<Vec<_>>());
            }
            (Some(Lift::Most(most)), None) => assert_eq!(Some(*most), get("lift")),
            (None, None) => assert_eq!(get("lift"), None),
            (ours, theirs) => panic!("{ours:?} against {theirs:?}"),
        }
    }
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
    same(tautmark::render::STARTER);
}

proptest! {
    #![proptest_config(crate::support::cases(200))]

    #[test]
    fn both_readers_see_the_same_in_any_spec(plan in prop_oneof![plan(), plan_with_loop()]) {
        same(&plan.yaml());
    }
}
