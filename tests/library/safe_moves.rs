//! Orders of moves against dense sampling by formulas of the test's own: piston by the textbook's
//! slider-crank (Heywood, Internal Combustion Engine Fundamentals, chapter 2), lobe by the 3-4-5 polynomial.
//! Nothing here reckons with anything from `src/valves`.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

use crate::support::drive;
use proptest::prelude::*;
use std::collections::{BTreeSet, VecDeque};
use std::fmt::Write as _;
use tautmark::{
    Drive, Observations, Verdict, check, dot_named, link_named,
    valves::{
        Missing, NoOrder, OVERRUN, Order, PARKED_WITHIN, SafeMoves, SafeStep, TOO_CLOSE_MM,
        safe_moves,
    },
};

/// Crank teeth; camshafts have twice as many. One tooth is 18 crank degrees.
const TEETH: i32 = 20;
const TOOTH: f64 = 18.0;

/// A lobe and what is under it.
#[derive(Clone, Debug)]
struct Lobe {
    /// Against the dead centres near which they usually open and close; later is more.
    opens: i32,
    closes: i32,
    lift: f64,
    inclination: f64,
    recess: f64,
    relief: f64,
}

/// An engine with a chain for each bank, and how its camshafts are hung.
#[derive(Clone, Debug)]
struct Engine {
    stroke: f64,
    rod: f64,
    deck: f64,
    gasket: f64,
    /// From the timed position to each cylinder's TDC of compression.
    offsets: Vec<i32>,
    banks: usize,
    intake: Lobe,
    exhaust: Lobe,
    /// Exhaust and intake of each bank, in teeth ahead.
    hung: Vec<i32>,
    /// Which banks have their valves in the spec.
    described: Vec<bool>,
}

impl Engine {
    fn camshafts(&self) -> usize {
        2 * self.banks
    }

    fn name(camshaft: usize) -> String {
        let kind = ["exhaust", "intake"][camshaft % 2];
        format!("{kind}-{}", camshaft / 2)
    }

    fn lobe(&self, camshaft: usize) -> &Lobe {
        if camshaft.is_multiple_of(2) {
            &self.exhaust
        } else {
            &self.intake
        }
    }

    fn cylinders(&self, bank: usize) -> Vec<usize> {
        (0..self.offsets.len())
            .filter(|cylinder| cylinder % self.banks == bank)
            .collect()
    }

    fn yaml(&self) -> String {
        let mut text = "tautmark: 1\nengine: Invented\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n".to_owned();
        for camshaft in 0..self.camshafts() {
            writeln!(text, "  {}: {{ kind: camshaft }}", Self::name(camshaft)).unwrap();
        }
        text.push_str("chains:\n");
        for bank in 0..self.banks {
            write!(
                text,
                "  bank-{bank}:\n    links: 131\n    path:\n      - {{ sprocket: crank, teeth: {TEETH}, dot: 180, link: 0, colour: blue }}\n"
            )
            .unwrap();
            for (camshaft, link) in [(2 * bank, 50), (2 * bank + 1, 75)] {
                writeln!(
                    text,
                    "      - {{ sprocket: {}, teeth: {}, dot: 0, link: {link}, colour: yellow }}",
                    Self::name(camshaft),
                    2 * TEETH
                )
                .unwrap();
            }
        }
        let mut order: Vec<usize> = (0..self.offsets.len()).collect();
        order.sort_by_key(|cylinder| (self.offsets[*cylinder] - self.offsets[0]).rem_euclid(720));
        let order: Vec<String> = order.iter().map(|n| (n + 1).to_string()).collect();
        let offsets: Vec<String> = self.offsets.iter().map(ToString::to_string).collect();
        write!(
            text,
            "cylinders:\n  stroke: {}\n  rod: {}\n  compression: 10\n  deck: {}\n  gasket: {}\n  firing_order: [{}]\n  offsets: [{}]\nvalves:\n",
            self.stroke,
            self.rod,
            self.deck,
            self.gasket,
            order.join(", "),
            offsets.join(", ")
        )
        .unwrap();
        let side = |after: i32, centre: &str| {
            let letter = if after < 0 { 'B' } else { 'A' };
            format!("{} {letter}{centre}", after.abs())
        };
        for camshaft in 0..self.camshafts() {
            if !self.described[camshaft / 2] {
                continue;
            }
            let lobe = self.lobe(camshaft);
            let (kind, opens, closes) = if camshaft.is_multiple_of(2) {
                ("exhaust", side(lobe.opens, "BDC"), side(lobe.closes, "TDC"))
            } else {
                ("intake", side(lobe.opens, "TDC"), side(lobe.closes, "BDC"))
            };
            let own: Vec<String> = self
                .cylinders(camshaft / 2)
                .iter()
                .map(|n| (n + 1).to_string())
                .collect();
            writeln!(
                text,
                "  {0}: {{ shaft: {0}, kind: {kind}, cylinders: [{1}], opens: {opens}, closes: {closes}, at_lift: 1, lift: {2}, inclination: {3}, recess: {4}, relief: {5} }}",
                Self::name(camshaft),
                own.join(", "),
                lobe.lift,
                lobe.inclination,
                lobe.recess,
                lobe.relief
            )
            .unwrap();
        }
        text
    }

    /// All links looked at, each where it hangs.
    fn look(&self, drive: &Drive) -> Observations {
        let mut seen = Observations::at_timed_position();
        for bank in 0..self.banks {
            let crank = link_named(drive, &format!("bank-{bank}/crank")).unwrap();
            seen.see_link(drive, crank, "on".parse().unwrap()).unwrap();
        }
        for (camshaft, teeth) in self.hung.iter().enumerate() {
            let at = link_named(drive, &Self::name(camshaft)).unwrap();
            let what = format!("{teeth:+}");
            seen.see_link(drive, at, what.parse().unwrap()).unwrap();
        }
        seen
    }

    fn travel(&self, degrees: f64) -> f64 {
        let (a, l, t) = (self.stroke / 2.0, self.rod, degrees.to_radians());
        a + l - (a * t.cos() + (l * l - (a * t.sin()).powi(2)).sqrt())
    }

    fn lift(&self, camshaft: usize, degrees: f64) -> f64 {
        let lobe = self.lobe(camshaft);
        let (open, close) = if camshaft.is_multiple_of(2) {
            (180 + lobe.opens, 360 + lobe.closes)
        } else {
            (360 + lobe.opens, 540 + lobe.closes)
        };
        let rise = |u: f64| 10.0 * u.powi(3) - 15.0 * u.powi(4) + 6.0 * u.powi(5);
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if rise(middle) * lobe.lift < 1.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let half = f64::from(close - open) / 2.0;
        let flank = half / (1.0 - low);
        let from_top = (degrees - f64::from(open) - half + 360.0).rem_euclid(720.0) - 360.0;
        lobe.lift * rise((1.0 - from_top.abs() / flank).max(0.0))
    }

    /// The least clearance of a camshaft's valves with both shafts standing still.
    fn clearance(&self, camshaft: usize, crank: f64, cam: f64) -> f64 {
        let lobe = self.lobe(camshaft);
        let cosine = lobe.inclination.to_radians().cos();
        let closed = lobe.recess + lobe.relief + (self.gasket - self.deck) * cosine;
        self.cylinders(camshaft / 2)
            .iter()
            .map(|cylinder| {
                let offset = f64::from(self.offsets[*cylinder]);
                closed + cosine * self.travel(crank - offset) - self.lift(camshaft, cam - offset)
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// The same of all camshafts.
    fn all(&self, crank: f64, cams: &[f64]) -> f64 {
        (0..self.camshafts())
            .map(|camshaft| self.clearance(camshaft, crank, cams[camshaft]))
            .fold(f64::INFINITY, f64::min)
    }

    fn moves(&self) -> (Drive, Option<SafeMoves>) {
        let drive = drive(&self.yaml());
        let proof = check(&drive, &self.look(&drive)).unwrap();
        let moves = safe_moves(&drive, &proof).unwrap();
        (drive, moves)
    }

    fn start(&self) -> Vec<f64> {
        self.hung.iter().map(|n| TOOTH * f64::from(*n)).collect()
    }
}

fn degrees(angle: tautmark::units::CrankDegrees) -> f64 {
    angle.get().to_f64()
}

/// Places from one to the other, both among them, no further apart than `step`.
fn between(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from).abs() / step).ceil().max(1.0);
    std::iter::successors(Some(0.0), move |i| (*i < count).then_some(*i + 1.0))
        .map(move |i| from + (to - from) * i / count)
}

/// Carries an order out in small steps, with everything that it allows: the crankshaft parked a little
/// off, a camshaft let run too far. The least clearance on the way, and where everything ends.
fn carried_out(engine: &Engine, drive: &Drive, order: &Order) -> (f64, f64, Vec<f64>) {
    let proof = check(drive, &engine.look(drive)).unwrap();
    let (mut crank, mut cams) = (0.0, engine.start());
    let mut least = f64::INFINITY;
    for step in &order.steps {
        let mut here = f64::INFINITY;
        match step {
            SafeStep::Crank { by, to, .. } => {
                let end = crank + degrees(*by);
                assert!((end - degrees(*to)).abs() < 1e-9, "{order:?}");
                for at in between(crank, end, 0.25) {
                    here = here.min(engine.all(at, &cams));
                }
                crank = end;
            }
            SafeStep::Remedy {
                index,
                teeth,
                crank: parked,
                anywhere,
                ..
            } => {
                assert!((crank - degrees(*parked)).abs() < 1e-9, "{order:?}");
                let shaft = drive.sprocket(proof.remedies()[*index].at).shaft();
                let name = drive.shaft(shaft).name();
                let camshaft = (0..cams.len())
                    .find(|camshaft| Engine::name(*camshaft) == name)
                    .unwrap();
                let slack = if crank == 0.0 {
                    0.0
                } else {
                    degrees(PARKED_WITHIN)
                };
                let by = TOOTH * teeth.get().to_f64();
                let (from, to) = (cams[camshaft], cams[camshaft] + by);
                let run = degrees(OVERRUN).copysign(by);
                for off in between(-slack, slack, 1.0) {
                    for at in between(from - run, to + run, 0.5) {
                        here = here.min(engine.clearance(camshaft, crank + off, at));
                    }
                    if *anywhere {
                        for at in between(0.0, 720.0, 1.0) {
                            let wherever = engine.clearance(camshaft, crank + off, at);
                            assert!(wherever >= TOO_CLOSE_MM - 1e-6, "{wherever} {order:?}");
                        }
                    }
                    if slack > 0.0 {
                        let mut after = cams.clone();
                        after[camshaft] = to;
                        here = here.min(engine.all(crank + off, &cams));
                        here = here.min(engine.all(crank + off, &after));
                    }
                }
                cams[camshaft] = to;
            }
        }
        let promised = step.closest().unwrap().mm;
        assert!(here >= promised, "{here} < {promised}: {step:?}");
        least = least.min(here);
    }
    (least, crank, cams)
}

/// Is there a way by sampling, each camshaft moved in one go and the crankshaft in steps of five degrees?
fn way_by_sampling(engine: &Engine, margin: f64) -> bool {
    let turned: Vec<usize> = (0..engine.hung.len())
        .filter(|camshaft| engine.hung[*camshaft] != 0)
        .collect();
    let cams = |moved: usize| -> Vec<f64> {
        let mut cams = engine.start();
        for (i, camshaft) in turned.iter().enumerate() {
            if moved & (1 << i) != 0 {
                cams[*camshaft] = 0.0;
            }
        }
        cams
    };
    let clear = |from: i32, to: i32, moved: usize| {
        let cams = cams(moved);
        between(f64::from(from), f64::from(to), 0.25).all(|at| engine.all(at, &cams) >= margin)
    };
    let (mut known, mut waiting) = (BTreeSet::from([(0, 0)]), VecDeque::from([(0, 0)]));
    while let Some((crank, moved)) = waiting.pop_front() {
        if crank == 0 && moved + 1 == 1 << turned.len() {
            return true;
        }
        let mut next = Vec::new();
        for to in [crank - 5_i32, crank + 5] {
            if to.abs() <= 360 && clear(crank, to, moved) {
                next.push((to, moved));
            }
        }
        for (i, camshaft) in turned.iter().enumerate() {
            let after = moved | 1 << i;
            let parked = crank == 0
                || (clear(crank - 5, crank + 5, moved) && clear(crank - 5, crank + 5, after));
            if after == moved || !parked {
                continue;
            }
            let slack = if crank == 0 { 0.0 } else { 5.0 };
            let from = engine.start()[*camshaft];
            let run = 20.0_f64.copysign(from);
            // Back to where it belongs, or on round to the same place.
            let ways = [
                (from + run, -run),
                (from - run, 720.0_f64.copysign(from) + run),
            ];
            if ways.iter().any(|(from, to)| {
                between(f64::from(crank) - slack, f64::from(crank) + slack, 1.0).all(|at| {
                    between(*from, *to, 0.5)
                        .all(|cam| engine.clearance(*camshaft, at, cam) >= margin)
                })
            }) {
                next.push((crank, after));
            }
        }
        for place in next {
            if known.insert(place) {
                waiting.push_back(place);
            }
        }
    }
    false
}

fn lobe(opens: std::ops::Range<i32>, closes: std::ops::Range<i32>) -> impl Strategy<Value = Lobe> {
    (opens, closes, 60..140_i32, 0..30_i32, 0..20_i32, 0..40_i32).prop_map(
        |(opens, closes, lift, inclination, recess, relief)| Lobe {
            opens,
            closes,
            lift: f64::from(lift) / 10.0,
            inclination: f64::from(inclination),
            recess: f64::from(recess) / 10.0,
            relief: f64::from(relief) / 10.0,
        },
    )
}

fn engine() -> impl Strategy<Value = Engine> {
    let cylinders = prop_oneof![
        // Evenly over the cycle, from a single to a twelve.
        prop::sample::select(vec![1_i32, 2, 3, 4, 6, 8, 12])
            .prop_map(|n| (0..n).map(|i| 720 * i / n).collect::<Vec<_>>()),
        prop::collection::btree_set((0..72_i32).prop_map(|n| 10 * n), 1..9)
            .prop_map(|all| all.into_iter().collect::<Vec<_>>())
            .prop_shuffle(),
    ];
    (
        (40..110_i32, 13..22_i32, -10..5_i32, 3..15_i32),
        cylinders,
        1..3_usize,
        lobe(-30..30, 20..80),
        lobe(-80..-20, -30..30),
        prop::collection::vec(prop_oneof![2 => Just(0), 3 => -7..8_i32], 4),
    )
        .prop_map(
            |((stroke, rod, deck, gasket), offsets, banks, intake, exhaust, hung)| {
                let banks = banks.min(offsets.len());
                Engine {
                    stroke: f64::from(stroke),
                    rod: f64::from(stroke * rod) / 10.0,
                    deck: f64::from(deck) / 10.0,
                    gasket: f64::from(gasket) / 10.0,
                    offsets,
                    banks,
                    intake,
                    exhaust,
                    hung: hung[..2 * banks].to_vec(),
                    described: vec![true; banks],
                }
            },
        )
}

proptest! {
    #![proptest_config(crate::support::cases(96))]

    /// What is promised is kept against dense sampling, and is no more than a hair below it; the order
    /// ends with everything in time and the crankshaft where it was. Where there is none, sampling finds none
    /// either.
    #[test]
    fn an_order_keeps_what_it_promises(engine in engine()) {
        let (drive, moves) = engine.moves();
        let proof = check(&drive, &engine.look(&drive)).unwrap();
        let Some(moves) = moves else {
            prop_assert!(proof.verdict() != Verdict::OutOfTime);
            return Ok(());
        };
        let now = engine.all(0.0, &engine.start());
        let said = moves.closest.unwrap().mm;
        prop_assert!((now - said).abs() < 1e-6 && said <= now, "{said} {now}");
        match &moves.order {
            Ok(order) => {
                let (least, crank, cams) = carried_out(&engine, &drive, order);
                let promised = order.closest.unwrap().mm;
                prop_assert!(least >= promised && promised >= TOO_CLOSE_MM, "{least} {promised}");
                prop_assert!(least - promised < 0.02, "{least} {promised}");
                prop_assert!(crank == 0.0 && cams.iter().all(|cam| cam.rem_euclid(720.0) < 1e-9), "{cams:?}");
            }
            Err(NoOrder::MayMeet) => prop_assert!(now < TOO_CLOSE_MM + 1e-6, "{now}"),
            Err(NoOrder::NotFound) => prop_assert!(!way_by_sampling(&engine, TOO_CLOSE_MM + 1e-3)),
            Err(NoOrder::NothingToMove) => prop_assert!(proof.remedies().is_empty()),
            Err(other) => prop_assert!(false, "{other:?}"),
        }
    }
}

/// A four like those on the road, with little room over its pistons.
fn tight_four() -> Engine {
    let lobe = |opens, closes, lift| Lobe {
        opens,
        closes,
        lift,
        inclination: 15.0,
        recess: 1.0,
        relief: 1.4,
    };
    Engine {
        stroke: 86.0,
        rod: 143.0,
        deck: 0.0,
        gasket: 0.7,
        offsets: vec![0, 540, 180, 360],
        banks: 1,
        intake: lobe(6, 60, 9.5),
        exhaust: lobe(-50, -4, 9.0),
        hung: vec![0, -2],
        described: vec![true],
    }
}

fn kinds(order: &Order) -> Vec<&'static str> {
    order
        .steps
        .iter()
        .map(|step| match step {
            SafeStep::Crank { by, .. } if by.get().signum() < 0 => "back",
            SafeStep::Crank { .. } => "ahead",
            SafeStep::Remedy { anywhere: true, .. } => "anywhere",
            SafeStep::Remedy { .. } => "move",
        })
        .collect()
}

/// Common practice: the crankshaft is turned back until every piston is well down its bore, the camshaft is
/// turned, the crankshaft is brought up again. At TDC the camshaft could be let run into the piston.
#[test]
fn little_room_takes_the_crankshaft_back_first() {
    let engine = tight_four();
    let (drive, moves) = engine.moves();
    let moves = moves.unwrap();
    let order = moves.order.unwrap();
    assert_eq!(kinds(&order), ["back", "anywhere", "ahead"], "{order:?}");
    let [SafeStep::Crank { to, .. }, ..] = &order.steps[..] else {
        panic!("{order:?}");
    };
    assert!((-90.0..=-30.0).contains(&degrees(*to)), "{to}");
    assert_eq!(order.chains_off.len(), 1);
    assert!(carried_out(&engine, &drive, &order).0 >= order.closest.unwrap().mm);
    // With room it stays where it is.
    let mut roomy = engine;
    roomy.intake.relief = 6.0;
    let order = roomy.moves().1.unwrap().order.unwrap();
    assert_eq!(kinds(&order), ["move"]);
    assert!(order.chains_off.is_empty());
}

/// Twelve pistons, one of them always near TDC, and a short stroke: a camshaft that stands between the
/// wrong strokes of all of them cannot be brought round, however crankshaft and camshaft are moved.
#[test]
fn where_there_is_no_way_it_says_so() {
    let mut engine = tight_four();
    engine.stroke = 40.0;
    engine.rod = 64.0;
    engine.offsets = (0..12).map(|i| 60 * i).collect();
    engine.exhaust.lift = 12.0;
    engine.intake.lift = 12.0;
    engine.hung = vec![-15, 0];
    assert!(engine.all(0.0, &engine.start()) >= TOO_CLOSE_MM);
    assert!(engine.all(0.0, &[0.0, 0.0]) >= TOO_CLOSE_MM);
    // Any path at all, five degrees at a time, crankshaft and both camshafts in whatever order. Turned once
    // together, a camshaft comes from one of the two gaps between its strokes into the other; but both
    // camshafts do.
    let clear: Vec<Vec<bool>> = (0..2)
        .map(|camshaft| {
            (0..72 * 144)
                .map(|cell| {
                    let [crank, cam] = [cell / 144, cell % 144].map(|n| 5.0 * f64::from(n));
                    engine.clearance(camshaft, crank, cam) >= TOO_CLOSE_MM
                })
                .collect()
        })
        .collect();
    // Fifteen teeth behind, 270 crank degrees of 720: 90 times five on from where it belongs.
    assert!((engine.start()[0] + 270.0).abs() < 1e-9);
    let start = [0, 90, 0];
    let mut known = vec![false; 72 * 144 * 144];
    let index = |[crank, exhaust, intake]: [usize; 3]| (crank * 144 + exhaust) * 144 + intake;
    known[index(start)] = true;
    let mut waiting = VecDeque::from([start]);
    while let Some([crank, exhaust, intake]) = waiting.pop_front() {
        for next in [
            [(crank + 71) % 72, exhaust, intake],
            [(crank + 1) % 72, exhaust, intake],
            [crank, (exhaust + 143) % 144, intake],
            [crank, (exhaust + 1) % 144, intake],
            [crank, exhaust, (intake + 143) % 144],
            [crank, exhaust, (intake + 1) % 144],
        ] {
            let at = next[0] * 144;
            if clear[0][at + next[1]] && clear[1][at + next[2]] && !known[index(next)] {
                known[index(next)] = true;
                waiting.push_back(next);
            }
        }
    }
    assert!(known.iter().filter(|known| **known).count() > 1000);
    assert!(!known[index([0, 0, 0])]);
    assert_eq!(engine.moves().1.unwrap().order, Err(NoOrder::NotFound));
    // The same camshaft on a single, whose piston goes down: there it is brought round.
    engine.offsets = vec![0];
    let (drive, moves) = engine.moves();
    let order = moves.unwrap().order.unwrap();
    assert!(carried_out(&engine, &drive, &order).0 >= TOO_CLOSE_MM);
}

/// Where everything belongs is itself too close: no order ends there.
#[test]
fn no_order_ends_too_close() {
    let mut engine = tight_four();
    engine.exhaust.closes = 14;
    engine.exhaust.relief = 0.8;
    engine.hung = vec![1, 0];
    assert!(engine.all(0.0, &[0.0, 0.0]) < TOO_CLOSE_MM);
    assert_eq!(engine.moves().1.unwrap().order, Err(NoOrder::NotFound));
}

/// Only one bank is in the spec: its camshafts are moved where the crankshaft may stay, and
/// nothing is said of turning the crankshaft under the other bank.
#[test]
fn a_bank_without_valves_keeps_the_crankshaft_where_it_is() {
    let mut engine = tight_four();
    engine.banks = 2;
    engine.offsets = (0..6).map(|i| 120 * i).collect();
    engine.described = vec![true, false];
    engine.hung = vec![0, -2, 0, 0];
    engine.intake.relief = 6.0;
    let order = engine.moves().1.unwrap().order.unwrap();
    assert_eq!(kinds(&order), ["move"]);
    engine.intake.relief = 0.0;
    engine.intake.opens = -4;
    // Cylinder 4 stands at TDC of overlap, and the valves of this bank are what hinders.
    engine.offsets = vec![0, 120, 240, 600, 360, 480];
    let (drive, moves) = engine.moves();
    let Err(NoOrder::NotKnown(missing)) = moves.unwrap().order else {
        panic!("turned under valves that nobody knows");
    };
    for name in ["exhaust-1", "intake-1"] {
        let id = drive.shaft_named(name).unwrap();
        assert!(missing.contains(&Missing::Valves(id)), "{missing:?}");
    }
    // And none where the camshaft to be moved is the one of which nothing is said.
    engine.intake = tight_four().intake;
    engine.hung = vec![0, 0, 0, -2];
    let order = engine.moves().1.unwrap().order;
    assert!(matches!(order, Err(NoOrder::NotKnown(_))), "{order:?}");
    // The whole engine described, the same camshaft has its order.
    engine.described = vec![true, true];
    assert!(engine.moves().1.unwrap().order.is_ok());
}

/// A camshaft that nobody looked at, or that was contradicted, may stand anywhere: the crankshaft is
/// not turned under it.
#[test]
fn the_crankshaft_is_not_turned_under_a_camshaft_that_was_not_seen() {
    let engine = tight_four();
    let drive = drive(&engine.yaml());
    let mut seen = Observations::at_timed_position();
    for (name, what) in [("crank", "on"), ("intake-0", "2 behind")] {
        let at = link_named(&drive, name).unwrap();
        seen.see_link(&drive, at, what.parse().unwrap()).unwrap();
    }
    let moves = safe_moves(&drive, &check(&drive, &seen).unwrap())
        .unwrap()
        .unwrap();
    let exhaust = drive.shaft_named("exhaust-0").unwrap();
    assert_eq!(
        moves.order,
        Err(NoOrder::NotKnown(vec![Missing::Position(exhaust)]))
    );
}

/// The crankshaft's dot tells where the pistons are: off its mark by two teeth they stand elsewhere.
#[test]
fn the_pistons_are_where_the_crankshaft_was_seen() {
    let engine = tight_four();
    let drive = drive(&engine.yaml());
    let mut seen = engine.look(&drive);
    let crank = dot_named(&drive, "crank", "2 behind".parse().unwrap()).unwrap();
    seen.see_dot(&drive, crank, "2 behind".parse().unwrap())
        .unwrap();
    let proof = check(&drive, &seen).unwrap();
    assert!(proof.crank().seen);
    assert_eq!(proof.crank().past_timed.to_string(), "-1/10");
    let moves = safe_moves(&drive, &proof).unwrap().unwrap();
    let cams: Vec<f64> = engine.start().iter().map(|cam| cam - 36.0).collect();
    let now = engine.all(-36.0, &cams);
    let said = moves.closest.unwrap().mm;
    assert!((said - now).abs() < 1e-6, "{said} {now}");
}

/// No valve part, no order; and a proof of another engine is refused.
#[test]
fn an_engine_without_valves_follows_the_makers_order() {
    let engine = tight_four();
    let text = engine.yaml();
    let (bare, _) = text.split_once("cylinders:\n").unwrap();
    let bare = drive(bare);
    let proof = check(&bare, &engine.look(&bare)).unwrap();
    let moves = safe_moves(&bare, &proof).unwrap().unwrap();
    assert_eq!((moves.closest, moves.may_meet()), (None, None));
    assert!(
        matches!(moves.order, Err(NoOrder::NotKnown(_))),
        "{moves:?}"
    );
    let other = drive(&text);
    assert!(safe_moves(&other, &proof).is_err());
    // In time there is nothing to say.
    let mut right = tight_four();
    right.hung = vec![0, 0];
    assert_eq!(right.moves().1, None);
}
