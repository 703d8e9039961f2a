//! Whole numbers of a drive's lattice against fractions throughout: the same proof, in all that it says, for
//! any look at any drive. Looks are anything at all, most of them nothing that a chain could show: teeth, links,
//! degrees of either shaft and turns, whole ones and parts, many of them in no lattice.
//! `CASES_TIMES=250` makes a million looks of it.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use crate::support::{
    self, drive,
    plan::{plan, plan_with_loop},
};
use proptest::prelude::*;
use tautmark::{
    Drive, Observations, Seen, Verdict, check,
    drive::Engagement,
    proof::{check_in_fractions, prove_in_fractions},
    prove,
    units::{CrankDegrees, Exact, LinkPosition, Teeth, Turns},
};

/// One random number after the other (SplitMix64, as published by Steele, Lea and Flood, 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to below `n`.
    fn below(&mut self, n: i64) -> i64 {
        (self.next() % n.unsigned_abs()).try_into().unwrap()
    }

    /// A number as it may be seen: mostly nothing or a small whole one.
    fn number(&mut self, most: i64) -> Exact {
        let below = match self.below(8) {
            0 => 1 + self.below(16),
            1 => 1000,
            2 => 2,
            _ => 1,
        };
        let above = match self.below(8) {
            0..4 => 0,
            4..7 => self.below(7) - 3,
            _ => self.below(2 * most * below + 1) - most * below,
        };
        Exact::fraction(above, below).unwrap()
    }

    fn seen(&mut self, links: i64) -> Seen {
        match self.below(8) {
            0 => Seen::ShaftDegrees(self.number(180)),
            1 => Seen::CrankDegrees(CrankDegrees::new(self.number(360))),
            2 => Seen::Link(LinkPosition::new(
                Exact::fraction(self.below(2 * links), 2).unwrap(),
            )),
            _ => Seen::Teeth(Teeth::new(self.number(20))),
        }
    }

    /// Not all that is thrown can have been seen; that is left out.
    fn look(&mut self, drive: &Drive) -> Observations {
        let turned = match self.below(8) {
            0..5 => Exact::ZERO,
            5..7 => Exact::whole(self.below(40)),
            // A million turns are the most that can be said.
            _ => Exact::fraction(self.below(1_000_000), 1 + self.below(1000)).unwrap(),
        };
        let mut seen = Observations::after(Turns::new(turned)).unwrap();
        let (links, dots) = (self.below(4), self.below(4));
        // All sprockets at their places, now and then: what is in time must be, too.
        let right = self.below(3) == 0;
        let all: Vec<(Engagement, i64)> = drive
            .engagements()
            .map(|(at, _)| (at, i64::from(drive.chain(at.chain).links().get())))
            .collect();
        for (at, count) in all {
            let what = |dice: &mut Self| {
                if right && dice.below(8) > 0 {
                    Seen::Teeth(Teeth::ZERO)
                } else {
                    dice.seen(count)
                }
            };
            if self.below(3) < links {
                let _ = seen.see_link(drive, at, what(self));
            }
            if self.below(3) < dots {
                let _ = seen.see_dot(drive, at, what(self));
            }
        }
        seen
    }
}

fn say_the_same(drive: &Drive, seen: &Observations) -> Verdict {
    let here = check(drive, seen).unwrap();
    assert_eq!(here, check_in_fractions(drive, seen).unwrap(), "{seen:?}");
    for proof in [
        prove(drive, seen).unwrap(),
        prove_in_fractions(drive, seen).unwrap(),
    ] {
        assert!(proof.is_of(drive));
        assert_eq!(proof.verdict(), here.verdict(), "{seen:?}");
        assert_eq!(
            proof.release_tensioner(),
            here.release_tensioner(),
            "{seen:?}"
        );
        let shafts: Vec<_> = drive
            .shafts()
            .filter_map(|(id, _)| proof.shaft(drive, id))
            .collect();
        assert_eq!(shafts, here.shafts(), "{seen:?}");
    }
    here.verdict()
}

proptest! {
    #![proptest_config(crate::support::cases(200))]

    #[test]
    fn steps_and_fractions_make_the_same_proof(
        plan in prop_oneof![3 => plan(), 1 => plan_with_loop()],
        seed in any::<u64>(),
    ) {
        let drive = drive(&plan.yaml());
        let mut dice = Dice(seed);
        for _ in 0..20 {
            say_the_same(&drive, &dice.look(&drive));
        }
    }
}

#[test]
fn of_every_engine_too_with_every_verdict() {
    let mut told = [0; 3];
    for (_, text) in support::engines() {
        let drive = drive(&text);
        let mut dice = Dice(1);
        for _ in 0..300 {
            let place = match say_the_same(&drive, &dice.look(&drive)) {
                Verdict::InTime => 0,
                Verdict::OutOfTime => 1,
                Verdict::NotProven => 2,
            };
            told[place] += 1;
        }
    }
    assert!(told.iter().all(|count| *count > 20), "{told:?}");
}

/// Where tooth counts have no divisor in common the lattice is so fine that hardly a part of a degree is in it.
#[test]
fn of_a_drive_whose_lattice_holds_little_too() {
    let text = "
tautmark: 1
engine: Primes
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft }
  idler: { kind: idler }
  balance: { kind: balance }
  cam: { kind: camshaft }
chains:
  first: { links: 401, path: [
    { sprocket: crank, teeth: 397, link: 0 }, { sprocket: idler, teeth: 389, link: 200 } ] }
  second: { links: 409, path: [
    { sprocket: crank, teeth: 383, link: 0 }, { sprocket: balance, teeth: 379, link: 200 } ] }
  third: { links: 120, path: [
    { sprocket: crank, teeth: 19, link: 0 }, { sprocket: cam, teeth: 38, link: 60 } ] }
";
    let drive = drive(text);
    let mut dice = Dice(7);
    for _ in 0..500 {
        say_the_same(&drive, &dice.look(&drive));
    }
}
