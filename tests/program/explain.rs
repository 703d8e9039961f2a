//! Causes of what was seen: random faults are found again, every cause that is listed does what was
//! seen when it is done, and nothing smaller does.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::plan::{Plan, plan};
use crate::support::program::{Outcome, engine, scratch, tautmark};
use crate::support::rig::{self, Hanging};
use crate::support::simulator::Simulator;
use crate::support::written::Written;
use crate::support::{drive, engines};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use tautmark::{
    Drive,
    drive::{Engagement, ShaftId},
    timing::{Cause, Fault, FromMarks, MOST_FAULTS, Measured, explain},
    units::{CrankDegrees, Exact, Teeth},
};

const TURN: Fraction = Fraction::whole(360);

/// A sprocket and the teeth by which it slipped.
type Slips = Vec<(usize, i32)>;

/// Takes together what slipped at one sprocket; a chain over two sprockets is off between them,
/// which is told as its driven one; what nobody measured has no cause.
fn told(drive: &Drive, slips: &Slips, measured: &[Measured]) -> BTreeSet<Engagement> {
    let all: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
    let mut teeth = vec![0; all.len()];
    for (sprocket, slipped) in slips {
        let at = all[*sprocket];
        let chain = drive.chain(at.chain);
        let pair = chain.sprockets().len() == 2 && at == drive.driver_of(at.chain);
        if pair {
            let other = Engagement {
                sprocket: 1 - at.sprocket,
                ..at
            };
            teeth[all.iter().position(|at| *at == other).unwrap()] -= slipped;
        } else {
            teeth[*sprocket] += slipped;
        }
    }
    let matters = |at: Engagement| {
        let behind = |shaft: ShaftId| {
            let mut shaft = shaft;
            while let Some(driven) = drive.shaft(shaft).driven_at() {
                let driver = drive.driver_of(driven.chain);
                if driven == at || driver == at {
                    return true;
                }
                shaft = drive.sprocket(driver).shaft();
            }
            false
        };
        measured.iter().any(|one| behind(one.shaft))
    };
    all.iter()
        .zip(teeth)
        .filter(|(at, teeth)| *teeth != 0 && matters(**at))
        .map(|(at, _)| *at)
        .collect()
}

fn sites(cause: &Cause) -> Option<BTreeSet<Engagement>> {
    cause
        .faults
        .iter()
        .map(|fault| match fault {
            Fault::Slip { at, .. } => Some(*at),
            _ => None,
        })
        .collect()
}

fn measure(shaft: ShaftId, angle: Fraction, at_camshaft: bool) -> Measured {
    Measured {
        shaft,
        angle: CrankDegrees::new(angle.exact()),
        tolerance: CrankDegrees::ZERO,
        at_camshaft,
    }
}

/// What a random drive with these slips would show of every shaft with a dot.
fn seen(drive: &Drive, plan: &Plan, hanging: &Hanging, at_camshaft: bool) -> Vec<Measured> {
    hanging
        .turns_ahead(plan)
        .iter()
        .enumerate()
        .filter(|(shaft, _)| *shaft != 0 && rig::can_be_seen(plan, *shaft))
        .map(|(shaft, turns)| {
            let crank = turns.nearest(Fraction::whole(1)) / plan.shafts[shaft].ratio.abs();
            measure(rig::shaft_id(drive, plan, shaft), crank * TURN, at_camshaft)
        })
        .collect()
}

/// Crank degrees by which each measured shaft is ahead when these faults are done, added to what
/// slips alone make of it.
fn with_others(cause: &Cause, one: &Measured, slipped: Fraction) -> Fraction {
    cause
        .faults
        .iter()
        .fold(slipped, |ahead, fault| match fault {
            Fault::Phaser { shaft, angle } | Fault::Dowel { shaft, angle }
                if *shaft == one.shaft =>
            {
                ahead + Fraction::of(angle.get())
            }
            Fault::CrankTurn => ahead + TURN,
            Fault::Elongation { .. } => panic!("wear for an exact observation: {cause:?}"),
            _ => ahead,
        })
}

fn same_place(drive: &Drive, one: &Measured, ahead: Fraction) -> bool {
    let turn = Fraction::of(drive.shaft(one.shaft).period()) * TURN;
    ((ahead - Fraction::of(one.angle.get())) / turn).is_whole()
}

fn teeth_of(teeth: Teeth) -> i128 {
    assert!(teeth.get().is_whole());
    teeth.get().numerator()
}

fn slips(plan: &Plan, raw: &[(u8, i32)]) -> (Slips, Hanging) {
    let all: Vec<rig::At> = rig::all(plan).collect();
    let mut hanging = Hanging::right(plan);
    let mut slips = Vec::new();
    for (sprocket, teeth) in raw {
        let sprocket = usize::from(*sprocket) % all.len();
        hanging.slip(all[sprocket], i128::from(*teeth));
        slips.push((all[sprocket], *teeth));
    }
    (
        slips
            .into_iter()
            .map(|(at, teeth)| (all.iter().position(|other| *other == at).unwrap(), teeth))
            .collect(),
        hanging,
    )
}

fn faults() -> impl Strategy<Value = Vec<(u8, i32)>> {
    let teeth = (-3_i32..=3).prop_filter("no slip", |teeth| *teeth != 0);
    prop::collection::vec((any::<u8>(), teeth), 0..=2)
}

/// Crank degrees by which slips put a measured shaft ahead.
type Ahead<'a> = &'a dyn Fn(&[(Engagement, i128)], &Measured) -> Fraction;

/// Twice at one sprocket is one slip, which may come to a whole turn of it.
fn apart(slips: &Slips) -> bool {
    !matches!(slips[..], [(a, _), (b, _)] if a == b)
}

/// Everything that can be asked of an answer on exact observations.
fn answers(
    drive: &Drive,
    measured: &[Measured],
    truth: &BTreeSet<Engagement>,
    ahead: Ahead<'_>,
) -> Result<usize, TestCaseError> {
    let explanation = explain(drive, measured, &FromMarks(drive), 100_000).unwrap();
    prop_assert!(!explanation.more);
    prop_assert!(!explanation.causes.is_empty());
    let fewest = explanation.causes[0].faults.len();
    prop_assert!(fewest <= truth.len());
    if fewest == truth.len() {
        let listed = explanation
            .causes
            .iter()
            .filter_map(sites)
            .any(|sites| sites == *truth);
        prop_assert!(listed, "{:?} is not among {:#?}", truth, explanation.causes);
    }
    for cause in &explanation.causes {
        prop_assert_eq!(cause.faults.len(), fewest);
        prop_assert!(
            cause.residuals.iter().all(|rest| rest.is_zero()),
            "{:?}",
            cause
        );
        let slips: Vec<(Engagement, i128)> = cause
            .faults
            .iter()
            .filter_map(|fault| match fault {
                Fault::Slip { at, teeth } => Some((*at, teeth_of(*teeth))),
                _ => None,
            })
            .collect();
        for one in measured {
            let ahead = with_others(cause, one, ahead(&slips, one));
            prop_assert!(same_place(drive, one, ahead), "{:?} of {:?}", cause, one);
        }
    }
    for (i, cause) in explanation.causes.iter().enumerate() {
        prop_assert!(
            !explanation.causes[..i].contains(cause),
            "twice: {:?}",
            cause
        );
    }
    Ok(fewest)
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    #[test]
    fn random_faults_of_random_drives_are_found(
        plan in plan(),
        faults in faults(),
        at_camshaft in any::<bool>(),
    ) {
        let drive = drive(&plan.yaml());
        let (raw, hanging) = slips(&plan, &faults);
        prop_assume!(apart(&raw));
        let measured = seen(&drive, &plan, &hanging, at_camshaft);
        let raw: Slips = raw.into_iter().map(|(sprocket, teeth)| {
            let at = rig::all(&plan).nth(sprocket).unwrap();
            let at = rig::engagement(&drive, &plan, at);
            (drive.engagements().position(|(other, _)| other == at).unwrap(), teeth)
        }).collect();
        let truth = told(&drive, &raw, &measured);
        let ahead = |slips: &[(Engagement, i128)], one: &Measured| {
            let mut hanging = Hanging::right(&plan);
            for (at, teeth) in slips {
                hanging.slip(rig::planned(&drive, &plan, *at), *teeth);
            }
            let shaft = (0..plan.shafts.len())
                .find(|shaft| rig::shaft_id(&drive, &plan, *shaft) == one.shaft)
                .unwrap();
            hanging.turns_ahead(&plan)[shaft] / plan.shafts[shaft].ratio.abs() * TURN
        };
        let fewest = answers(&drive, &measured, &truth, &ahead)?;
        nothing_smaller(&drive, &plan, &measured, fewest, at_camshaft)?;
    }
}

/// Every way in which one sprocket can have slipped is tried: none explains what was seen with fewer
/// faults than are listed, and with as many it is listed.
fn nothing_smaller(
    drive: &Drive,
    plan: &Plan,
    measured: &[Measured],
    fewest: usize,
    at_camshaft: bool,
) -> Result<(), TestCaseError> {
    let shows = |hanging: &Hanging, more: Fraction| {
        let there = seen(drive, plan, hanging, at_camshaft);
        there
            .iter()
            .zip(measured)
            .all(|(there, one)| same_place(drive, one, Fraction::of(there.angle.get()) + more))
    };
    let right = shows(&Hanging::right(plan), Fraction::ZERO);
    prop_assert_eq!(right, fewest == 0);
    if fewest == 0 {
        return Ok(());
    }
    let turn_out = shows(&Hanging::right(plan), TURN);
    prop_assert!(fewest == 1 || !turn_out);
    let listed: BTreeSet<Engagement> = explain(drive, measured, &FromMarks(drive), 100_000)
        .unwrap()
        .causes
        .iter()
        .filter(|cause| cause.faults.len() == 1)
        .filter_map(sites)
        .flatten()
        .collect();
    for at in rig::all(plan) {
        // More than half a turn is less the other way, as far as this chain alone goes.
        let fewest_teeth = plan.chains[at.0].sprockets.iter().map(|s| s.teeth).min();
        let most = fewest_teeth.unwrap() / 2;
        for teeth in (-most..=most).filter(|teeth| *teeth != 0) {
            let mut hanging = Hanging::right(plan);
            hanging.slip(at, teeth);
            if shows(&hanging, Fraction::ZERO) {
                let chain = &plan.chains[at.0];
                let pair = chain.sprockets.len() == 2;
                let at = if pair && at.1 == chain.driver {
                    (at.0, 1 - at.1)
                } else {
                    at
                };
                prop_assert_eq!(fewest, 1);
                prop_assert!(
                    listed.contains(&rig::engagement(drive, plan, at)),
                    "{:?} {}",
                    at,
                    teeth
                );
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(crate::support::cases(96))]

    #[test]
    fn faults_of_the_engines_are_found_and_done_again_in_the_arrays(
        which in any::<prop::sample::Index>(),
        faults in faults(),
        at_camshaft in any::<bool>(),
    ) {
        let engines = engines();
        let (_, text) = which.get(&engines);
        let drive = drive(text);
        let right = Simulator::new(&Written::read(text));
        let all: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
        let raw: Slips = faults.iter()
            .map(|(sprocket, teeth)| (usize::from(*sprocket) % all.len(), *teeth))
            .collect();
        prop_assume!(apart(&raw));
        let ahead_in = |arrays: &Simulator, shaft: ShaftId| {
            let steps = i128::from(arrays.steps_ahead(shaft.index()));
            Fraction::new(steps, i128::from(arrays.crank_steps_around())) * TURN
        };
        let mut arrays = right.clone();
        for (sprocket, teeth) in &raw {
            arrays.slip(*sprocket, *teeth);
        }
        let measured: Vec<Measured> = drive.shafts()
            .filter(|(id, _)| *id != drive.crank() && drive.is_marked(*id))
            .map(|(id, _)| measure(id, ahead_in(&arrays, id), at_camshaft))
            .collect();
        let truth = told(&drive, &raw, &measured);
        let ahead = |slips: &[(Engagement, i128)], one: &Measured| {
            let mut arrays = right.clone();
            for (at, teeth) in slips {
                let sprocket = all.iter().position(|other| other == at).unwrap();
                arrays.slip(sprocket, i32::try_from(*teeth).unwrap());
            }
            ahead_in(&arrays, one.shaft)
        };
        answers(&drive, &measured, &truth, &ahead)?;
    }
}

/// Two camshafts of ten teeth: what each of the hundred ways in which they can stand comes of, by
/// trying everything that can have gone wrong.
#[test]
fn every_way_in_which_two_camshafts_can_stand_has_the_causes_that_trying_finds() {
    let drive = drive(
        "tautmark: 1
engine: x
crank_turns: clockwise
shafts: { crank: { kind: crankshaft }, a: { kind: camshaft }, b: { kind: camshaft } }
chains:
  main:
    links: 40
    path:
      - { sprocket: crank, teeth: 5, link: 0 }
      - { sprocket: a, teeth: 10, link: 10 }
      - { sprocket: b, teeth: 10, link: 20 }
",
    );
    let shaft = |name: &str| drive.shaft_named(name).unwrap();
    // By number: the crankshaft a turn out, and teeth at crank, a and b.
    let mut ways: Vec<[i64; 4]> = Vec::new();
    for turn in 0..=1 {
        for crank in -4..=4 {
            for a in -4..=5 {
                for b in -4..=5 {
                    ways.push([turn, crank, a, b]);
                }
            }
        }
    }
    for a in 0..10_i64 {
        for b in 0..10_i64 {
            let shows = |way: &[i64; 4]| {
                let [turn, crank, on_a, on_b] = way;
                let both = 5 * turn - crank;
                (both + on_a - a).rem_euclid(10) == 0 && (both + on_b - b).rem_euclid(10) == 0
            };
            let size = |way: &[i64; 4]| way.iter().filter(|fault| **fault != 0).count();
            let fewest = ways
                .iter()
                .filter(|way| shows(way))
                .map(size)
                .min()
                .unwrap();
            let mut tried: Vec<[i64; 4]> = ways
                .iter()
                .copied()
                .filter(|way| shows(way) && size(way) == fewest)
                .collect();
            let measured: Vec<Measured> = [("a", a), ("b", b)]
                .iter()
                .map(|(name, teeth)| {
                    let angle = Fraction::whole(72 * i128::from(*teeth));
                    measure(shaft(name), angle, false)
                })
                .collect();
            let explanation = explain(&drive, &measured, &FromMarks(&drive), 1000).unwrap();
            let mut told: Vec<[i64; 4]> = explanation
                .causes
                .iter()
                .map(|cause| {
                    let mut way = [0; 4];
                    for fault in &cause.faults {
                        match fault {
                            Fault::CrankTurn => way[0] = 1,
                            Fault::Slip { at, teeth } => {
                                way[1 + usize::from(at.sprocket)] =
                                    i64::try_from(teeth_of(*teeth)).unwrap();
                            }
                            other => panic!("{other:?}"),
                        }
                    }
                    way
                })
                .collect();
            let order: Vec<i64> = explanation.causes.iter().map(|cause| cause.teeth).collect();
            assert!(order.is_sorted(), "{order:?}");
            tried.sort_unstable();
            told.sort_unstable();
            assert_eq!(told, tried, "a {a}, b {b}");
        }
    }
}

/// A number that a person could have typed, and a tolerance.
fn typed() -> impl Strategy<Value = (i64, i64, i64, i64)> {
    (
        -720_000_i64..=720_000,
        1_i64..=1000,
        0_i64..=720_000,
        1_i64..=1000,
    )
}

proptest! {
    #![proptest_config(crate::support::cases(24))]

    #[test]
    fn no_number_that_can_be_typed_breaks_it(
        plan in plan(),
        typed in prop::collection::vec(typed(), 1..=4),
        fine in any::<bool>(),
    ) {
        let drive = drive(&plan.yaml());
        let measured: Vec<Measured> = drive.shafts()
            .filter(|(id, _)| *id != drive.crank() && drive.is_marked(*id))
            .zip(&typed)
            .map(|((id, _), (above, below, wide, parts))| Measured {
                shaft: id,
                angle: CrankDegrees::new(Exact::fraction(*above, 1000 + below).unwrap()),
                tolerance: CrankDegrees::new(
                    Exact::fraction(if fine { wide % 3 } else { *wide }, 1000 + parts).unwrap(),
                ),
                at_camshaft: true,
            })
            .collect();
        let Ok(explanation) = explain(&drive, &measured, &FromMarks(&drive), 50) else {
            return Ok(());
        };
        prop_assert!(explanation.causes.len() <= 50);
        for cause in &explanation.causes {
            prop_assert!(cause.faults.len() <= MOST_FAULTS);
            for (one, rest) in measured.iter().zip(&cause.residuals) {
                prop_assert!(rest.get().abs() <= one.tolerance.get());
            }
        }
    }
}

/// `explain` on an engine.
fn run(name: &str, seen: &[&str]) -> Outcome {
    let path = engine(name);
    let mut arguments = vec!["explain", &path];
    arguments.extend(seen);
    let outcome = tautmark(&arguments);
    outcome.assert_printable();
    outcome
}

/// The lines that list causes.
fn listed(outcome: &Outcome) -> Vec<&str> {
    let numbered = |line: &&str| line.starts_with("  ") && line.as_bytes()[2].is_ascii_digit();
    outcome.stdout.lines().filter(numbered).collect()
}

fn causes(name: &str, seen: &[&str]) -> Value {
    let mut seen = seen.to_vec();
    seen.extend(["--format", "json"]);
    let outcome = run(name, &seen);
    assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""));
    outcome.json()["causes"].clone()
}

#[test]
fn a_measured_angle_is_one_tooth_and_something_left_over() {
    // 36 teeth: a tooth is 20 crank degrees (common practice); 18.5 leaves 1.5 of it.
    let outcome = run("kestrel-four", &["intake=18.5 +- 3 crank deg behind"]);
    assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""));
    assert_eq!(
        listed(&outcome),
        [
            "  1. chain main is 1 tooth off at the intake sprocket: intake is 20 crank degrees behind",
            "  2. chain main is 1 tooth off at the crank sprocket: all that it drives is 20 crank degrees behind",
            // 15.5 to 21.5 crank degrees over 36.3 free links of 20 each.
            "  3. the chain is elongated by about 2.13 to 2.96 per cent, more than the limit of 1 per cent (calculated from the links of the tight strands: measure it) [the marks cannot show this]",
        ]
    );
    for part in [
        "\nMeasured\n  intake: 18.5 crank degrees behind, give or take 3 crank degrees\n",
        "\nThe smallest causes: 3, none of them proven\n",
        "     left over, within what was measured: intake 1.5 crank degrees ahead\n",
        "\nTo tell them apart, look at the others too and give what they show: exhaust.\n",
    ] {
        assert!(outcome.stdout.contains(part), "{part}\n{}", outcome.stdout);
    }
    // With the other camshaft in its place it can be nothing else.
    let outcome = run(
        "kestrel-four",
        &["intake=18.5 +- 3 crank deg behind", "exhaust=on"],
    );
    assert_eq!(listed(&outcome).len(), 1, "{}", outcome.stdout);
    assert!(
        outcome.stdout.contains(
            "\nThe smallest cause\n  1. chain main is 1 tooth off at the intake sprocket"
        )
    );
    assert!(!outcome.stdout.contains("To tell them apart"));
    let json = causes(
        "kestrel-four",
        &["intake=18.5 +- 3 crank deg behind", "exhaust=on"],
    );
    assert_eq!(
        json,
        json!([{
            "faults": [{ "kind": "slip", "chain": "main", "shaft": "intake", "teeth": "-1", "shows_in_marks": true }],
            "residual_crank_degrees": { "intake": "3/2", "exhaust": "0" },
            "teeth": 1,
        }])
    );
    // Without a tolerance of its own it has that of --tolerance; with none, no tooth fits.
    let same = run(
        "kestrel-four",
        &["intake=18.5 crank deg behind", "--tolerance", "3"],
    );
    assert_eq!(listed(&same).len(), 3);
    let outcome = run(
        "kestrel-four",
        &[
            "intake=18.5 crank deg behind",
            "exhaust=on",
            "--tolerance",
            "0.5",
        ],
    );
    assert!(!outcome.stdout.contains("\nThe smallest cause\n  1. chain main is 1 tooth off at the intake sprocket: intake is 20 crank degrees behind\n"), "{}", outcome.stdout);
}

#[test]
fn two_camshafts_off_alike_are_one_slip_at_the_crankshaft() {
    let slip = json!([{
        "faults": [{ "kind": "slip", "chain": "main", "shaft": "crank", "teeth": "2", "shows_in_marks": true }],
        "residual_crank_degrees": { "intake": "0", "exhaust": "0" },
        "teeth": 2,
    }]);
    for seen in [
        ["intake=2 behind", "exhaust=2 behind"],
        [
            "intake=40 +- 0 crank deg behind",
            "exhaust=20 +- 0 cam deg behind",
        ],
    ] {
        assert_eq!(causes("kestrel-four", &seen), slip);
    }
    // A chain over two sprockets is off between them: one cause, not two.
    let outcome = run("wren-single", &["cam=1 ahead"]);
    assert_eq!(
        listed(&outcome),
        ["  1. chain main is 1 tooth off between crank and cam: cam is 18 crank degrees ahead"]
    );
    // A bank of the V6 off alike: the secondary chain at its idler, or the idler.
    let json = causes(
        "heron-v6",
        &[
            "left-intake=1 behind",
            "left-exhaust=1 behind",
            "right-intake=on",
            "right-exhaust=on",
        ],
    );
    assert_eq!(
        json[0]["faults"],
        json!([{ "kind": "slip", "chain": "left", "shaft": "left-idler", "teeth": "1", "shows_in_marks": true }])
    );
    assert_eq!(json.as_array().unwrap().len(), 1);
    // Both banks' idler: 15 crank degrees a tooth of the primary chain.
    let outcome = run(
        "heron-v6",
        &["primary/left-idler=1 behind", "primary/right-idler=on"],
    );
    assert_eq!(
        listed(&outcome),
        [
            "  1. chain primary is 1 tooth off at the left-idler sprocket: left-idler and all that it drives are 15 crank degrees behind"
        ]
    );
}

#[test]
fn a_phaser_explains_what_is_measured_at_the_camshaft_only() {
    // Parked retarded, 50 crank degrees of range.
    let outcome = run("kestrel-four", &["intake=40 crank deg ahead", "exhaust=on"]);
    assert_eq!(
        listed(&outcome),
        [
            "  1. the phaser of intake is 40 crank degrees advanced from its parked position [the marks cannot show this]",
            "  2. chain main is 2 teeth off at the intake sprocket: intake is 40 crank degrees ahead",
        ]
    );
    let kinds = |seen: &[&str]| -> Vec<String> {
        let json = causes("kestrel-four", seen);
        json.as_array()
            .unwrap()
            .iter()
            .map(|cause| cause["faults"][0]["kind"].as_str().unwrap().to_owned())
            .collect()
    };
    // A dot on the sprocket tells nothing of what lies behind it; nor can it be retarded; nor go on
    // beyond its range; and the exhaust has none.
    for seen in [
        ["intake=2 ahead", "exhaust=on"],
        ["intake=40 crank deg behind", "exhaust=on"],
        ["intake=60 crank deg ahead", "exhaust=on"],
        ["intake=on", "exhaust=40 crank deg ahead"],
    ] {
        assert_eq!(kinds(&seen), ["slip"], "{seen:?}");
    }
}

#[test]
fn a_longer_chain_holds_both_camshafts_back_by_their_strands() {
    // 1/200 of the 50 and 67 links from the dots to the crankshaft's, 20 crank degrees each.
    let json = causes(
        "kestrel-four",
        &[
            "intake=5 +- 0.5 crank deg behind",
            "exhaust=6.7 +- 0.5 crank deg behind",
        ],
    );
    assert_eq!(json.as_array().unwrap().len(), 1);
    // Free tight strands of 36.346 and 51.346 links hold intake and exhaust back by 726.93 and 1026.93
    // crank degrees for an elongation of 1 (`wear` says so too): (5 - 0.5) / 726.93 and
    // (6.7 + 0.5) / 1026.93, in millionths.
    assert_eq!(
        json[0]["faults"],
        json!([{ "kind": "elongation", "least": "6191/1000000", "most": "7011/1000000", "shows_in_marks": false }])
    );
    let outcome = run(
        "kestrel-four",
        &[
            "intake=5 +- 0.5 crank deg behind",
            "exhaust=6.7 +- 0.5 crank deg behind",
        ],
    );
    assert_eq!(
        listed(&outcome),
        [
            "  1. the chain is elongated by about 0.62 to 0.7 per cent, the limit being 1 per cent (calculated from the links of the tight strands: measure it) [the marks cannot show this]"
        ]
    );
    // 20 crank degrees over 36.3 links of 20 are 2.8 per cent, but a count of teeth is no wear.
    assert!(
        !run("kestrel-four", &["intake=1 behind"])
            .stdout
            .contains("grown")
    );
    // Nothing is worn by a whole tooth exactly, nor shorter than new, nor more on the shorter strand.
    for seen in [
        ["intake=1 behind", "exhaust=on"],
        [
            "intake=5 +- 0.5 crank deg ahead",
            "exhaust=6.7 +- 0.5 crank deg ahead",
        ],
        [
            "intake=6.7 +- 0.5 crank deg behind",
            "exhaust=5 +- 0.5 crank deg behind",
        ],
    ] {
        let outcome = run("kestrel-four", &seen);
        assert!(
            !listed(&outcome)
                .iter()
                .any(|line| line.starts_with("  1. the chain has grown")),
            "{}",
            outcome.stdout
        );
    }
    // A slip and a worn chain: the other camshaft shows the wear.
    let json = causes(
        "kestrel-four",
        &[
            "intake=25 +- 0.5 crank deg behind",
            "exhaust=6.7 +- 0.5 crank deg behind",
        ],
    );
    let kinds: Vec<&Value> = json[0]["faults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|fault| &fault["kind"])
        .collect();
    assert_eq!(kinds, ["slip", "elongation"]);
    assert_eq!(json[0]["faults"][0]["teeth"], "-1");
}

#[test]
fn the_crankshaft_a_turn_out_is_half_a_turn_of_both_camshafts() {
    let outcome = run(
        "kestrel-four",
        &["intake=180 cam deg ahead", "exhaust=180 cam deg behind"],
    );
    assert_eq!(
        listed(&outcome),
        ["  1. the crankshaft was one whole turn from where it was taken to be (the other TDC)"]
    );
    // One alone is off by itself as well, and half a turn is told once and not both ways round.
    let json = causes("kestrel-four", &["intake=18 ahead", "exhaust=on"]);
    assert_eq!(json.as_array().unwrap().len(), 1);
    assert_eq!(json[0]["faults"][0]["teeth"], "18");
}

#[test]
fn a_dowel_in_another_hole() {
    let text = std::fs::read_to_string(engine("kestrel-four")).unwrap();
    let with = text.replace(
        "teeth: 36, dot: 350,",
        "teeth: 36, dot: 350, dowel_holes: [37, 120],",
    );
    assert_ne!(with, text);
    let path = scratch("dowel").join("spec.yaml");
    std::fs::write(&path, with).unwrap();
    let run = |seen: &[&str]| {
        let mut arguments = vec!["explain", path.to_str().unwrap()];
        arguments.extend(seen);
        tautmark(&arguments)
    };
    // 37 camshaft degrees are 74 crank degrees, which is no whole number of teeth.
    let outcome = run(&["exhaust=37 +- 1 cam deg ahead", "intake=on"]);
    assert_eq!(
        listed(&outcome),
        [
            "  1. the dowel of exhaust sits in another hole, 74 crank degrees ahead [the marks cannot show this]"
        ]
    );
    // 120 are 12 teeth.
    let outcome = run(&["exhaust=120 cam deg ahead", "intake=on"]);
    assert_eq!(listed(&outcome).len(), 2, "{}", outcome.stdout);
    let outcome = run(&["exhaust=12 ahead", "intake=on"]);
    assert_eq!(listed(&outcome).len(), 1, "{}", outcome.stdout);
    assert!(outcome.stdout.contains("12 teeth off"));
    // Teeth are read off the marks, which say nothing of the dowel behind the sprocket.
    let hidden = "\nTeeth were read off the marks. What the marks cannot show: the dowel of exhaust in another hole; the phaser of intake off its parked position.\n";
    assert!(outcome.stdout.contains(hidden), "{}", outcome.stdout);
    let outcome = run(&["exhaust=on", "intake=on"]);
    assert!(outcome.stdout.contains(hidden), "{}", outcome.stdout);
    let outcome = run(&["exhaust=0 +- 1 crank deg", "intake=0 +- 1 crank deg"]);
    assert!(
        !outcome.stdout.contains("What the marks"),
        "{}",
        outcome.stdout
    );
    let outcome = run(&["exhaust=120 cam deg ahead", "intake=on", "--format", "json"]);
    let shown: Vec<(String, bool)> = outcome.json()["causes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|cause| &cause["faults"][0])
        .map(|fault| {
            (
                fault["kind"].as_str().unwrap().to_owned(),
                fault["shows_in_marks"].as_bool().unwrap(),
            )
        })
        .collect();
    assert!(shown.contains(&("dowel".to_owned(), false)), "{shown:?}");
    assert!(shown.contains(&("slip".to_owned(), true)), "{shown:?}");
}

/// A tolerance that takes in a whole tooth leaves nothing to be told, and that is no clean end.
#[test]
fn a_tolerance_that_swallows_a_tooth_tells_nothing() {
    for seen in [
        &["intake=18.5 +- 30 crank deg behind"][..],
        &["intake=18.5 +- 30 crank deg ahead", "exhaust=on"],
        &["intake=18.5 +- 720 crank deg behind"],
        &["intake=on", "exhaust=5 cam deg ahead", "--tolerance", "720"],
        // Half a tooth off, give or take half a tooth: the one as well as the other.
        &["intake=10 +- 10 crank deg ahead"],
        &["intake=0 +- 1 teeth"],
    ] {
        let outcome = run("kestrel-four", seen);
        assert_eq!(
            (outcome.status, &*outcome.stderr),
            (Some(1), ""),
            "{seen:?}"
        );
        let text = &outcome.stdout;
        assert!(text.contains("\nNOTHING CAN BE TOLD."), "{seen:?}\n{text}");
        assert!(text.contains(": one tooth is 20 crank degrees\n"), "{text}");
        assert!(!text.contains("Nothing is wrong"), "{seen:?}\n{text}");
        assert!(listed(&outcome).is_empty(), "{seen:?}\n{text}");
        let json = run("kestrel-four", &[seen, &["--format", "json"]].concat());
        assert_eq!(json.status, Some(1));
        let json = json.json();
        assert_eq!(json["causes"], json!([]), "{seen:?}");
        assert_eq!(json["nothing_told"].as_array().unwrap().len(), 1);
    }
    // One that leaves out every tooth but none still tells that none has slipped.
    for seen in [
        "intake=0 +- 19 crank deg",
        "intake=9.999 +- 10 crank deg ahead",
    ] {
        let outcome = run("kestrel-four", &[seen]);
        assert_eq!(outcome.status, Some(0), "{seen}\n{}", outcome.stdout);
        let json = run("kestrel-four", &[seen, "--format", "json"]).json();
        assert_eq!(json["nothing_told"], json!([]));
    }
}

/// A scan tool's degrees are the crankshaft's or the camshaft's; nobody but its reader knows which.
#[test]
fn degrees_without_an_owner_are_asked_back() {
    for seen in [
        "intake=18.5 deg late",
        "intake=18.5 deg",
        "intake=18.5 +- 3 degrees behind",
        "intake=0 deg",
        "intake=18.5 DEG late",
    ] {
        let outcome = run("kestrel-four", &[seen]);
        assert_eq!((outcome.status, &*outcome.stdout), (Some(2), ""), "{seen}");
        assert!(
            outcome
                .stderr
                .contains("whose degrees, the crankshaft's or the camshaft's?"),
            "{}",
            outcome.stderr
        );
    }
    let outcome = run("heron-v6", &["left-idler=3 cam deg late"]);
    assert_eq!(outcome.status, Some(2));
    assert!(
        outcome.stderr.contains("'left-idler' is no camshaft"),
        "{}",
        outcome.stderr
    );
}

#[test]
fn nothing_wrong_is_a_clean_end() {
    for seen in [
        &["intake=on"][..],
        &["intake=2 +- 3 crank deg behind", "exhaust=on"],
    ] {
        let outcome = run("kestrel-four", seen);
        assert_eq!(
            (outcome.status, &*outcome.stderr),
            (Some(0), ""),
            "{}",
            outcome.stdout
        );
        assert!(
            outcome
                .stdout
                .contains("\nNothing is wrong, as far as this was measured.\n")
        );
    }
    let json = run("kestrel-four", &["intake=on", "--format", "json"]).json();
    assert_eq!(
        json["causes"],
        json!([{ "faults": [], "residual_crank_degrees": { "intake": "0" }, "teeth": 0 }])
    );
    assert_eq!((&json["more"], &json["codes"]), (&json!(false), &json!([])));
}

#[test]
fn what_no_few_faults_explain_is_not_explained() {
    let outcome = run("kestrel-four", &["exhaust=7 +- 0 crank deg ahead"]);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .stdout
            .contains("\nNo explanation with at most 4 faults fits."),
        "{}",
        outcome.stdout
    );
    assert!(outcome.stdout.contains("\n  exhaust: 7 crank degrees ahead of the nearest whole tooth (one tooth is 20 crank degrees)\n"));
    assert_eq!(
        causes("kestrel-four", &["exhaust=7 +- 0 crank deg ahead"]),
        json!([])
    );
}

#[test]
fn no_more_causes_than_were_asked_for() {
    let seen = ["left-intake=18 crank deg behind"];
    let all = causes("buzzard-v8", &seen).as_array().unwrap().len();
    assert!(all > 1);
    let outcome = run("buzzard-v8", &[seen[0], "--most", "1"]);
    assert_eq!(listed(&outcome).len(), 1);
    assert!(
        outcome
            .stdout
            .contains("\n  ... and more (--most N lists more)\n")
    );
    let json = run("buzzard-v8", &[seen[0], "--most", "1", "--format=json"]).json();
    assert_eq!(json["more"], true);
    for most in ["0", "-1", "1001", "x"] {
        let outcome = run("buzzard-v8", &[seen[0], "--most", most]);
        assert_eq!((outcome.status, &*outcome.stdout), (Some(2), ""), "{most}");
    }
}

/// Source: the meanings on which several public lists of SAE J2012 / ISO 15031-6 codes agree; that A
/// is the intake and B the exhaust is common practice.
#[test]
fn trouble_codes_say_what_they_are_worth() {
    for (code, meaning, tells) in [
        ("P0016", "bank 1 sensor A", "angle"),
        ("P0017", "bank 1 sensor B", "angle"),
        ("P0018", "bank 2 sensor A", "angle"),
        ("P0019", "bank 2 sensor B", "angle"),
        (
            "P0011",
            "position A, timing over-advanced, bank 1",
            "further advanced",
        ),
        (
            "P0012",
            "position A, timing over-retarded, bank 1",
            "further retarded",
        ),
        (
            "P0014",
            "position B, timing over-advanced, bank 1",
            "further advanced",
        ),
        (
            "P0015",
            "position B, timing over-retarded, bank 1",
            "further retarded",
        ),
        (
            "P0021",
            "position A, timing over-advanced, bank 2",
            "further advanced",
        ),
        (
            "P0022",
            "position A, timing over-retarded, bank 2",
            "further retarded",
        ),
        (
            "P0024",
            "position B, timing over-advanced, bank 2",
            "further advanced",
        ),
        (
            "P0025",
            "position B, timing over-retarded, bank 2",
            "further retarded",
        ),
    ] {
        let outcome = run("kestrel-four", &["--code", code]);
        assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""));
        let line = outcome
            .stdout
            .lines()
            .find(|line| line.starts_with(code))
            .unwrap();
        assert!(line.ends_with(meaning), "{line}");
        let line = outcome
            .stdout
            .lines()
            .find(|line| line.starts_with("  shows"))
            .unwrap();
        assert!(line.contains(tells), "{line}");
        assert!(
            outcome
                .stdout
                .contains("A code alone proves nothing about teeth")
        );
        let json = run(
            "kestrel-four",
            &["--code", &code.to_lowercase(), "--format=json"],
        )
        .json();
        assert_eq!(
            (&json["codes"][0]["code"], &json["causes"]),
            (&json!(code), &json!([]))
        );
        assert!(json["codes"][0]["does_not_tell"].as_str().unwrap().len() > 20);
    }
    // With a code read out, even an engine in time is no clean end.
    assert_eq!(
        run("kestrel-four", &["intake=on", "--code", "P0016"]).status,
        Some(1)
    );
    for code in ["P0013", "P16", "", "\u{1b}[31m"] {
        let outcome = run("kestrel-four", &["--code", code]);
        assert_eq!((outcome.status, &*outcome.stdout), (Some(2), ""));
        assert!(
            outcome.stderr.contains("is not known here (known: P0011,"),
            "{}",
            outcome.stderr
        );
    }
}

#[test]
fn what_cannot_be_explained_is_refused_with_the_reason() {
    const TOLERANCE: &str = "after '+-' belongs how far off the measurement may be";
    for (seen, says) in [
        (&[][..], "nothing to explain"),
        (
            &["intake"],
            "'intake': expected SHAFT=SEEN, such as 'intake=2 behind'",
        ),
        (&["intake="], "'intake='"),
        (&["nowhere=1 behind"], "nowhere"),
        (
            &["crank=1 behind"],
            "the crankshaft is what the others are measured from",
        ),
        (
            &["intake=link 12"],
            "say how far the shaft is off, in teeth or degrees, not a link",
        ),
        (
            &["intake=1 behind", "intake=1 behind"],
            "this shaft is given twice",
        ),
        (
            &["intake=1 behind", "main/intake=on"],
            "this shaft is given twice",
        ),
        (&["intake=18.5"], "ahead or behind?"),
        (&["intake=18.5 +- crank deg behind"], TOLERANCE),
        (&["intake=18.5 +- -1 crank deg behind"], TOLERANCE),
        (&["intake=18.5 +- 721 crank deg behind"], TOLERANCE),
        (&["intake=18.5 +- 1/1001 crank deg behind"], TOLERANCE),
        (&["intake=18.5 +- 1/0 crank deg behind"], TOLERANCE),
        (&["intake=18.5 +-"], TOLERANCE),
        (&["intake=18.5 +- 1 +- 2 crank deg behind"], "+-"),
        (&["intake=99999999999999999999999 behind"], "intake="),
        (&["intake=1e400 crank deg behind"], "intake="),
        (&["intake=1 behind", "--tolerance", "-1"], "0..=720"),
        (&["intake=1 behind", "--tolerance", "721"], "0..=720"),
        (&["intake=1 behind", "--tolerance", "1/1001"], "0..=720"),
        (&["intake=1 behind", "--tolerance", "x"], "--tolerance 'x'"),
    ] {
        let outcome = run("kestrel-four", seen);
        assert_eq!(
            (outcome.status, &*outcome.stdout),
            (Some(2), ""),
            "{seen:?} {}",
            outcome.stderr
        );
        assert!(
            outcome.stderr.contains(says),
            "{seen:?}: {}",
            outcome.stderr
        );
    }
}

#[test]
fn every_way_to_give_a_tolerance() {
    let first = |seen: &str| {
        let outcome = run("kestrel-four", &[seen]);
        assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""), "{seen}");
        outcome
            .stdout
            .lines()
            .find(|line| line.starts_with("  intake:"))
            .unwrap()
            .to_owned()
    };
    for seen in [
        "intake=18.5 +- 3 crank deg behind",
        "intake=18.5+-3 crank deg behind",
        "intake=18.5 \u{b1} 3 crank deg behind",
        "intake=18.5 crank deg behind",
        "intake=-18.5 +- 3 crank deg",
        // Camshaft degrees are two crank degrees each, and so is their tolerance.
        "intake=9.25 +- 1.5 cam deg behind",
        "intake=37/4 +- 3/2 cam deg behind",
    ] {
        assert_eq!(
            first(seen),
            "  intake: 18.5 crank degrees behind, give or take 3 crank degrees",
            "{seen}"
        );
    }
    // A tooth is 20 crank degrees; teeth are exact unless it is said otherwise.
    assert_eq!(
        first("intake=1 behind"),
        "  intake: 20 crank degrees behind"
    );
    assert_eq!(
        first("intake=1 +- 1/2 behind"),
        "  intake: 20 crank degrees behind, give or take 10 crank degrees"
    );
}

/// Going through all combinations would take more than [`tautmark`] lets a run compute.
#[test]
fn hard_questions_are_answered_with_bounded_work() {
    // Angles without a common denominator, on the engine with the most that can be wrong.
    let seen = [
        "left-intake=17/97 +- 1/89 crank deg behind",
        "left-exhaust=13/83 +- 1/79 crank deg behind",
        "right-intake=11/73 +- 1/71 crank deg behind",
        "right-exhaust=7/67 +- 1/61 crank deg behind",
    ];
    for engine in ["buzzard-v8", "heron-v6"] {
        let outcome = run(engine, &seen);
        assert!(matches!(outcome.status, Some(1 | 2)), "{outcome:?}");
    }
    // A camshaft behind seven chains, at each of which it can have gone wrong twice over.
    let mut text =
        "tautmark: 1\nengine: x\ncrank_turns: clockwise\nshafts:\n  s0: { kind: crankshaft }\n"
            .to_owned();
    let mut chains = String::new();
    for i in 1..=7 {
        let kind = if i == 7 { "camshaft" } else { "idler" };
        let _ = writeln!(text, "  s{i}: {{ kind: {kind} }}\n  p{i}: {{ kind: pump }}");
        let (before, teeth) = (i - 1, if i == 7 { 44 } else { 22 });
        let _ = writeln!(
            chains,
            "  c{i}:\n    links: {}\n    path:\n      - {{ sprocket: s{before}, teeth: 22, link: 0 }}\n      - {{ sprocket: s{i}, teeth: {teeth}, link: 40 }}\n      - {{ sprocket: p{i}, teeth: 22, link: 70 }}",
            100 + i
        );
    }
    let path = scratch("hard").join("spec.yaml");
    std::fs::write(&path, format!("{text}chains:\n{chains}")).unwrap();
    for seen in [
        &["s7=7 +- 0 crank deg behind"][..],
        &[
            "s7=7 +- 2 crank deg behind",
            "s6=1 +- 1/2 crank deg ahead",
            "p5=3 +- 1 crank deg ahead",
        ],
        &[
            "s1=1 ahead",
            "s2=3 ahead",
            "p3=2 behind",
            "s4=1 behind",
            "s5=7 behind",
            "s6=3 ahead",
            "s7=9 ahead",
        ],
        &["p1=1 ahead", "p2=3 ahead", "p3=2 behind", "p4=1 behind"],
    ] {
        let mut arguments = vec!["explain", path.to_str().unwrap()];
        arguments.extend(seen);
        let outcome = tautmark(&arguments);
        assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""));
        assert!(outcome.stdout.lines().count() < 60, "{}", outcome.stdout);
    }
    // Four camshafts off, each otherwise.
    let outcome = run(
        "buzzard-v8",
        &[
            "left-intake=1 behind",
            "left-exhaust=2 ahead",
            "right-intake=3 behind",
            "right-exhaust=4 ahead",
        ],
    );
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .stdout
            .contains("So many faults at once are unlikely."),
        "{}",
        outcome.stdout
    );
}
