//! A proof takes nothing from the heap: whoever checks engines by the million pays for reckoning alone.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use crate::support::{drive, engines};
use tautmark::{Drive, Observations, Verdict, prove, units::Turns};

fn looks(drive: &Drive) -> Vec<Observations> {
    let mut looks = Vec::new();
    for (turned, what) in [
        ("0", "on"),
        ("0", "2 behind"),
        ("2", "1 ahead"),
        ("0", "12.345 deg"),
        ("1/3", "on"),
    ] {
        for (links, dots) in [(true, false), (false, true), (true, true)] {
            let mut seen = Observations::after(Turns::new(turned.parse().unwrap())).unwrap();
            let all: Vec<_> = drive.engagements().map(|(at, _)| at).collect();
            for (i, at) in all.iter().enumerate() {
                let what = if i + 1 == all.len() { what } else { "on" };
                // Not every sprocket has a mark, and a shaft has one dot.
                if links {
                    let _ = seen.see_link(drive, *at, what.parse().unwrap());
                }
                if dots {
                    let _ = seen.see_dot(drive, *at, what.parse().unwrap());
                }
            }
            looks.push(seen);
        }
    }
    looks
}

#[test]
fn a_proof_takes_nothing_from_the_heap() {
    let mut told = Vec::new();
    for (name, text) in engines() {
        let drive = drive(&text);
        for seen in looks(&drive) {
            // What a drive finds out once, it finds out at the first look.
            let first = prove(&drive, &seen).unwrap();
            let mut proof = None;
            let taken = allocation_counter::measure(|| proof = prove(&drive, &seen).ok());
            assert_eq!(taken.count_total, 0, "{name}: {seen:?}");
            let proof = proof.unwrap();
            assert_eq!(proof.verdict(), first.verdict());
            told.push(proof.verdict());
        }
    }
    for verdict in [Verdict::InTime, Verdict::OutOfTime, Verdict::NotProven] {
        assert!(told.contains(&verdict), "{verdict:?}");
    }
    // The counter does count.
    let taken = allocation_counter::measure(|| drop(vec![told.len()]));
    assert_eq!(taken.count_total, 1);
}
