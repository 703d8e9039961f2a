//! When do the marks come back, and in how many ways can they look right and be wrong? Each answer
//! beside the one that is got by trying.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, black_box};
use std::fmt::Write as _;
use support::simulator::Simulator;
use support::written::Written;
use tautmark::{
    Drive,
    drive::Engagement,
    timing::{Lookalike, lookalikes, moments, returns, roll},
    units::Turns,
};

/// An engine by its file name; `primes` is three long chains of prime numbers of links, whose marks
/// come back after 15,912,123,958 turns.
fn text(engine: &str) -> String {
    match engine {
        "four" => include_str!("../engines/kestrel-four.yaml").into(),
        "v8" => include_str!("../engines/buzzard-v8.yaml").into(),
        _ => primes(),
    }
}

fn primes() -> String {
    let mut text =
        "tautmark: 1\nengine: x\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n"
            .to_owned();
    let mut chains = String::new();
    for links in [1993, 1997, 1999] {
        let _ = writeln!(text, "  cam{links}: {{ kind: camshaft }}");
        let _ = write!(
            chains,
            "  chain{links}:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: 20, link: 0 }}
      - {{ sprocket: cam{links}, teeth: 40, link: 700 }}
"
        );
    }
    format!("{text}chains:\n{chains}")
}

fn main() {
    divan::main();
}

#[divan::bench(args = ["four", "v8", "primes"])]
fn recurrence(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = support::drive(&text(engine));
    bencher.bench(|| returns(black_box(&drive)));
}

/// A step at a time until every dot and every coloured link is back.
#[divan::bench(args = ["four", "v8"], sample_count = 10)]
fn recurrence_by_stepping(bencher: Bencher<'_, '_>, engine: &str) {
    let text = text(engine);
    let drive = support::drive(&text);
    let right = Simulator::new(&Written::read(&text));
    bencher.bench(|| {
        let mut arrays = black_box(&right).clone();
        let mut turned = 0_u64;
        loop {
            arrays.turn_once();
            turned += 1;
            let chains = drive.chains().count();
            if arrays.all_home() && (0..chains).all(|chain| arrays.chain_is_home(chain)) {
                assert_eq!(returns(&drive).links, Some(turned));
                return turned;
            }
        }
    });
}

#[divan::bench(args = ["four", "v8", "primes"])]
fn places_after_two_turns(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = support::drive(&text(engine));
    bencher.bench(|| roll(black_box(&drive), Turns::whole(2)).unwrap());
}

#[divan::bench(args = ["four", "v8", "primes"])]
fn forty_moments(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = support::drive(&text(engine));
    bencher.bench(|| moments(black_box(&drive)).unwrap().take(40).count());
}

#[divan::bench(args = ["four", "v8", "primes"])]
fn every_lookalike(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = support::drive(&text(engine));
    bencher.bench(|| lookalikes(black_box(&drive)).unwrap());
}

/// Ways to hang one chain wrong that look right, by laying every link on every dot.
fn ways(drive: &Drive, marks: &[Engagement]) -> usize {
    let count = marks.len();
    let place = |i: usize| {
        drive
            .sprocket(marks[i])
            .mark()
            .unwrap()
            .link
            .get()
            .numerator()
    };
    let colour = |i: usize| &drive.sprocket(marks[i]).mark().unwrap().colour;
    let links = i128::from(drive.chain(marks[0].chain).links().get());
    let gap = |from: i128, to: i128| (to - from).rem_euclid(links);
    let mut found = 0;
    for sign in [1, -1] {
        for way in 0..count.pow(u32::try_from(count).unwrap()) {
            let on: Vec<usize> = (0..count)
                .map(|dot| way / count.pow(u32::try_from(dot).unwrap()) % count)
                .collect();
            let gaps: Vec<i128> = (0..count)
                .map(|i| gap(sign * place(on[i]), sign * place(on[(i + 1) % count])))
                .collect();
            let looks_right = (0..count).all(|i| colour(i) == colour(on[i]));
            if looks_right && gaps.iter().all(|gap| *gap > 0) && gaps.iter().sum::<i128>() == links
            {
                let right = (0..count).map(|i| gap(place(i), place((i + 1) % count)));
                found += usize::from(!gaps.iter().copied().eq(right));
            }
        }
    }
    found
}

/// The ways of hanging alone, which is the smaller part of what `lookalikes` finds.
#[divan::bench(args = ["four", "v8"])]
fn friends_by_trying(bencher: Bencher<'_, '_>, engine: &str) {
    let drive = support::drive(&text(engine));
    let chains: Vec<Vec<Engagement>> = drive
        .chains()
        .map(|(id, chain)| chain.engagements(id).map(|(at, _)| at).collect())
        .collect();
    let hanging = lookalikes(&drive)
        .unwrap()
        .iter()
        .filter(|lookalike| {
            Lookalike::while_hanging(lookalike)
                && !matches!(
                    lookalike.kind,
                    tautmark::timing::LookalikeKind::BanksSwapped { .. }
                )
        })
        .count();
    let tried: usize = chains.iter().map(|marks| ways(&drive, marks)).sum();
    assert_eq!(tried, hanging);
    bencher.bench(|| {
        chains
            .iter()
            .map(|marks| ways(black_box(&drive), marks))
            .sum::<usize>()
    });
}
