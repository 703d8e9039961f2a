//! The verdict against what follows in the strict sense. Every way to hang a small drive is laid out
//! in arrays, with every place of the crankshaft around its mark and every numbering of the chain, as hung
//! and after turning; every choice of marks is looked at. *In time* may be said only if every hanging that shows just this
//! is in time, *out of time* only if none is. Whatever else is not said is counted, and each kind of
//! caution has its name here and its reason in DEVELOPERS.md.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::drive;
use crate::support::fraction::Fraction;
use crate::support::simulator::Simulator;
use crate::support::written::Written;
use std::collections::{BTreeMap, HashMap};
use tautmark::{
    Check, Drive, Observations, Seen, Verdict, check,
    drive::Engagement,
    timing::Doubt,
    units::{LinkPosition, Teeth, Turns},
};

/// What one mark shows: a link on a dot, or a dot's teeth (in fine steps) ahead of its reference mark.
type Shown = i64;

struct Small {
    drive: Drive,
    engagements: Vec<Engagement>,
    /// Marks that can be looked at: the sprocket, and whether its link or its dot.
    marks: Vec<(usize, bool)>,
    hangings: Vec<Hanging>,
    fine: Vec<i64>,
    /// Crank turns since the drive was hung, known to whoever looks: the links have wandered by then.
    turned: u8,
}

const NOTHING: Shown = Shown::MAX;

/// One way to hang the drive.
struct Hanging {
    /// What each mark shows; `NOTHING` where nobody could say.
    shown: Vec<Shown>,
    /// Marks whose dot is half a turn or more from where it belongs, so that no chain lies on it.
    out_of_mesh: u32,
    in_time: bool,
}

/// What follows from one choice of marks and what they show.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
struct Fits {
    in_time: u32,
    out_of_time: u32,
    /// In time, and with a link on a dot that is out of mesh.
    in_time_out_of_mesh: u32,
}

impl Small {
    fn new(text: &str, turned: u8) -> Self {
        let (drive, arrays) = (drive(text), Simulator::new(&Written::read(text)));
        let engagements: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
        let mut marks = Vec::new();
        let mut shafts = Vec::new();
        for (i, meeting) in arrays.sprockets().iter().enumerate() {
            if drive.sprocket(engagements[i]).mark().is_some() {
                marks.push((i, true));
            }
            if arrays.is_marked(meeting.shaft) && !shafts.contains(&meeting.shaft) {
                shafts.push(meeting.shaft);
                marks.push((i, false));
            }
        }
        let fine = (0..engagements.len())
            .map(|i| arrays.steps_to_a_tooth(i))
            .collect();
        let mut small = Self {
            drive,
            engagements,
            marks,
            hangings: Vec::new(),
            fine,
            turned,
        };
        small.slip_all(&arrays, 0);
        small
    }

    /// Every whole number of teeth at every driven sprocket.
    fn slip_all(&mut self, arrays: &Simulator, from: usize) {
        let driven = (from..self.engagements.len()).find(|i| {
            let at = self.engagements[*i];
            let shaft = self.drive.sprocket(at).shaft();
            self.drive.shaft(shaft).driven_at() == Some(at)
        });
        let Some(i) = driven else {
            self.number_all(arrays, 0);
            return;
        };
        let teeth = i32::from(self.drive.sprocket(self.engagements[i]).teeth().get());
        for slip in -(teeth - 1) / 2..=teeth / 2 {
            let mut slipped = arrays.clone();
            slipped.slip(i, slip);
            self.slip_all(&slipped, i + 1);
        }
    }

    /// Every numbering of every chain: its link 0 anywhere.
    fn number_all(&mut self, arrays: &Simulator, from: usize) {
        let chains = self.drive.chains().count();
        if from == chains {
            let mut turned = arrays.clone();
            for _ in 0..self.turned {
                turned.turn_once();
            }
            // Turning puts nothing right and nothing wrong.
            self.turn_all(&turned, arrays.timed_home());
            return;
        }
        let links = self.drive.chains().nth(from).unwrap().1.links().get();
        for shift in 0..links {
            let mut numbered = arrays.clone();
            numbered.number_from(from, usize::from(shift));
            self.number_all(&numbered, from + 1);
        }
    }

    /// Every place of the crankshaft within a cycle, by half teeth. Who saw its dot has counted the
    /// turns, so the dot is then less than half a turn from its mark; a link is seen only on a dot
    /// that is in mesh, less than half a turn of its own from where it belongs.
    fn turn_all(&mut self, arrays: &Simulator, in_time: bool) {
        let half_tooth = arrays.steps_to_a_tooth(self.of_the_crank()) / 2;
        let most = arrays.crank_steps_around() / half_tooth;
        let mut turned = arrays.clone();
        for _ in 0..most * half_tooth {
            turned.step_back();
        }
        for place in -most..most {
            let mut out_of_mesh = 0;
            let mut shown = Vec::with_capacity(self.marks.len());
            for (mark, (sprocket, link)) in self.marks.iter().enumerate() {
                let shaft = turned.sprockets()[*sprocket].shaft;
                let moved = arrays.steps_ahead(shaft) + place * half_tooth;
                let far = 2 * moved.abs() >= turned.steps_around(shaft);
                shown.push(if *link {
                    out_of_mesh |= u32::from(far) << mark;
                    // The link goes along with the dot.
                    let twice = arrays.link_on_dot(*sprocket).unwrap() * Fraction::whole(2);
                    if twice.is_whole() {
                        i64::try_from(twice.exact().numerator()).unwrap()
                    } else {
                        NOTHING
                    }
                } else if far && *sprocket == self.of_the_crank() {
                    NOTHING
                } else {
                    turned.steps_ahead(shaft)
                });
            }
            self.hangings.push(Hanging {
                shown,
                out_of_mesh,
                in_time,
            });
            for _ in 0..half_tooth {
                turned.step();
            }
        }
    }

    fn of_the_crank(&self) -> usize {
        let crank = self.drive.crank();
        self.engagements
            .iter()
            .position(|at| self.drive.sprocket(*at).shaft() == crank)
            .unwrap()
    }

    /// What somebody says who looked at the marks in `chosen` and saw `shown` there; `None` where that
    /// cannot be said, or is refused.
    fn said(&self, chosen: &[usize], shown: &[Shown]) -> Option<Observations> {
        let mut seen = Observations::after(Turns::whole(self.turned.into())).unwrap();
        for (mark, shown) in chosen.iter().zip(shown) {
            let (sprocket, link) = self.marks[*mark];
            let at = self.engagements[sprocket];
            if link {
                let link = Fraction::new(i128::from(*shown), 2).exact();
                seen.see_link(&self.drive, at, Seen::Link(LinkPosition::new(link)))
                    .ok()?;
            } else {
                let teeth = Fraction::new(i128::from(*shown), i128::from(self.fine[sprocket]));
                seen.see_dot(&self.drive, at, Seen::Teeth(Teeth::new(teeth.exact())))
                    .ok()?;
            }
        }
        Some(seen)
    }

    /// Every choice of marks with everything that some hanging shows there.
    fn for_every_look(&self, mut each: impl FnMut(&[usize], &[Shown], Fits)) {
        for choice in 1_u32..1 << self.marks.len() {
            let chosen: Vec<usize> = (0..self.marks.len())
                .filter(|mark| choice >> mark & 1 == 1)
                .collect();
            let mut fits: HashMap<Vec<Shown>, Fits> = HashMap::new();
            for hanging in &self.hangings {
                let shown: Vec<Shown> = chosen.iter().map(|mark| hanging.shown[*mark]).collect();
                if shown.contains(&NOTHING) {
                    continue;
                }
                let here = fits.entry(shown).or_default();
                match (hanging.out_of_mesh & choice == 0, hanging.in_time) {
                    (true, true) => here.in_time += 1,
                    (true, false) => here.out_of_time += 1,
                    (false, true) => here.in_time_out_of_mesh += 1,
                    (false, false) => {}
                }
            }
            fits.retain(|_, fits| fits.in_time + fits.out_of_time > 0);
            for (shown, fits) in fits {
                each(&chosen, &shown, fits);
            }
        }
    }

    /// Does a link on a chain lie half a turn of an idler's sprocket or more from where it should lie,
    /// measured from the link on that idler's dot?
    fn far_idler(&self, chosen: &[usize], shown: &[Shown]) -> bool {
        let past = |(mark, shown): (&usize, &Shown)| {
            let (sprocket, link) = self.marks[*mark];
            let at = self.engagements[sprocket];
            let mark = self.drive.sprocket(at).mark()?.link.get();
            let twice = Fraction::of(mark) * Fraction::whole(2);
            let own = i64::try_from(twice.exact().numerator()).unwrap();
            link.then_some((at, shown - own))
        };
        let links: Vec<(Engagement, i64)> = chosen.iter().zip(shown).filter_map(past).collect();
        links.iter().any(|(idler, from)| {
            let sprocket = self.drive.sprocket(*idler);
            let around = 2 * i64::from(self.drive.chain(idler.chain).links().get());
            let is_idler =
                sprocket.shaft() != self.drive.crank() && !self.drive.is_timed(sprocket.shaft());
            is_idler
                && links.iter().any(|(other, to)| {
                    let apart = (to - from).rem_euclid(around);
                    let apart = apart.min(around - apart);
                    other.chain == idler.chain && apart >= i64::from(sprocket.teeth().get()) - 1
                })
        })
    }

    /// Why a verdict is "not proven" though something follows.
    fn caution(
        &self,
        chosen: &[usize],
        shown: &[Shown],
        outcome: &Check,
        fits: Fits,
    ) -> Option<&'static str> {
        let has = |wanted: fn(&Doubt) -> bool| outcome.doubts().iter().any(wanted);
        let crank = self.drive.crank();
        let dot_of = |wanted: bool| {
            chosen.iter().any(|mark| {
                let (sprocket, link) = self.marks[*mark];
                let shaft = self.drive.sprocket(self.engagements[sprocket]).shaft();
                !link && (shaft == crank) == wanted
            })
        };
        if has(|doubt| matches!(doubt, Doubt::OneCrankTurnOut)) {
            return Some("one crank turn out");
        }
        if has(|doubt| matches!(doubt, Doubt::LinksAgainstTurns { .. })) {
            return Some("links after turning that all differ from what is due");
        }
        if has(|doubt| matches!(doubt, Doubt::LinkNotReadable { .. })) {
            return Some("a link after turning on a dot that is between its places");
        }
        if has(|doubt| matches!(doubt, Doubt::IdlerDot { .. })) {
            return Some("an idler's dot after turning that is elsewhere than due");
        }
        if has(|doubt| matches!(doubt, Doubt::CannotBe { .. })) {
            return Some("a link half a turn of the sprocket from its dot");
        }
        if fits.in_time == 0 && fits.in_time_out_of_mesh > 0 {
            return Some("told only by a dot that would be out of mesh");
        }
        if fits.in_time == 0 && self.far_idler(chosen, shown) {
            return Some("told only by an idler whose dot would be out of mesh");
        }
        if dot_of(false) && !dot_of(true) {
            return Some("dots without the crankshaft's");
        }
        if fits.in_time > 0 && dot_of(true) && !dot_of(false) {
            return Some("the crankshaft's dot alone");
        }
        if fits.in_time > 0 && !outcome.not_seen().is_empty() {
            return Some("a mark of a chain that was not looked at");
        }
        None
    }
}

#[derive(Default)]
struct Tally {
    looks: usize,
    cautions: BTreeMap<&'static str, usize>,
    wrong: Vec<String>,
}

fn hold(text: &str, turned: u8) -> Tally {
    let small = Small::new(text, turned);
    let mut tally = Tally::default();
    small.for_every_look(|chosen, shown, fits| {
        let Some(seen) = small.said(chosen, shown) else {
            return;
        };
        tally.looks += 1;
        let outcome = check(&small.drive, &seen).unwrap();
        let follows = match fits {
            Fits { out_of_time: 0, .. } => Verdict::InTime,
            Fits { in_time: 0, .. } => Verdict::OutOfTime,
            _ => Verdict::NotProven,
        };
        if outcome.verdict() == follows {
            return;
        }
        let caution = (outcome.verdict() == Verdict::NotProven)
            .then(|| small.caution(chosen, shown, &outcome, fits))
            .flatten();
        match caution {
            Some(name) => *tally.cautions.entry(name).or_default() += 1,
            None => tally.wrong.push(format!(
                "{:?} said, {follows:?} follows: {} hangings in time, {} not; {seen:?} {:?}",
                outcome.verdict(),
                fits.in_time,
                fits.out_of_time,
                outcome.doubts()
            )),
        }
    });
    tally
}

pub(crate) const HEAD: &str = "
tautmark: 1
engine: Small drive
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft }
";

pub(crate) fn one_cam() -> String {
    format!(
        "{HEAD}  cam: {{ kind: camshaft }}
chains:
  main:
    links: 14
    path:
      - {{ sprocket: crank, teeth: 5, dot: 180, link: 0 }}
      - {{ sprocket: cam, teeth: 10, dot: 0, link: 7 }}
"
    )
}

pub(crate) fn two_cams() -> String {
    format!(
        "{HEAD}  exhaust: {{ kind: camshaft }}
  intake: {{ kind: camshaft }}
chains:
  main:
    links: 16
    path:
      - {{ sprocket: crank, teeth: 5, dot: 180, link: 0 }}
      - {{ sprocket: exhaust, teeth: 10, dot: 0, links: [5, 6] }}
      - {{ sprocket: intake, teeth: 10, dot: 0, link: 11 }}
"
    )
}

pub(crate) fn idler_on_the_chain() -> String {
    format!(
        "{HEAD}  idler: {{ kind: idler }}
  cam: {{ kind: camshaft }}
chains:
  main:
    links: 15
    path:
      - {{ sprocket: crank, teeth: 5, dot: 180, link: 0 }}
      - {{ sprocket: idler, teeth: 6, dot: 0, link: 5 }}
      - {{ sprocket: cam, teeth: 10, dot: 0, link: 10 }}
"
    )
}

pub(crate) fn behind_an_idler() -> String {
    format!(
        "{HEAD}  idler: {{ kind: idler }}
  cam: {{ kind: camshaft }}
chains:
  primary:
    links: 8
    path:
      - {{ sprocket: crank, teeth: 5, dot: 180, link: 0 }}
      - {{ sprocket: idler, teeth: 5, dot: 0, link: 4 }}
  secondary:
    links: 10
    path:
      - {{ sprocket: idler, teeth: 5, link: 0 }}
      - {{ sprocket: cam, teeth: 10, dot: 0, link: 5 }}
"
    )
}

/// Holds a drive to what follows: `cautions` are all the looks on which something follows and is not
/// said, by the kind of caution.
fn holds(text: &str, turned: u8, looks: usize, cautions: &[(&str, usize)]) {
    let tally = hold(text, turned);
    assert!(
        tally.wrong.is_empty(),
        "{} of {}, such as\n{}",
        tally.wrong.len(),
        tally.looks,
        tally
            .wrong
            .iter()
            .take(3)
            .cloned()
            .collect::<Vec<_>>()
            .join("\n")
    );
    let found: Vec<(&str, usize)> = tally.cautions.into_iter().collect();
    assert_eq!((tally.looks, &found[..]), (looks, cautions));
}

#[test]
fn for_one_camshaft_nothing_is_said_that_does_not_follow() {
    holds(
        &one_cam(),
        0,
        6_657,
        &[
            ("dots without the crankshaft's", 112),
            ("one crank turn out", 373),
            ("the crankshaft's dot alone", 112),
            ("told only by a dot that would be out of mesh", 154),
        ],
    );
}

#[test]
fn for_two_camshafts_nothing_is_said_that_does_not_follow() {
    holds(
        &two_cams(),
        0,
        267_425,
        &[
            ("a link half a turn of the sprocket from its dot", 20_480),
            ("dots without the crankshaft's", 672),
            ("one crank turn out", 4_251),
            ("the crankshaft's dot alone", 128),
            ("told only by a dot that would be out of mesh", 912),
        ],
    );
}

#[test]
fn for_an_idler_on_the_chain_nothing_is_said_that_does_not_follow() {
    holds(
        &idler_on_the_chain(),
        0,
        144_560,
        &[
            ("a link half a turn of the sprocket from its dot", 8_265),
            ("a mark of a chain that was not looked at", 15),
            ("dots without the crankshaft's", 5_130),
            ("one crank turn out", 7_953),
            ("the crankshaft's dot alone", 615),
            ("told only by a dot that would be out of mesh", 3_240),
            (
                "told only by an idler whose dot would be out of mesh",
                1_485,
            ),
        ],
    );
}

#[test]
fn for_a_camshaft_behind_an_idler_nothing_is_said_that_does_not_follow() {
    holds(
        &behind_an_idler(),
        0,
        767_612,
        &[
            ("a link half a turn of the sprocket from its dot", 23_050),
            ("dots without the crankshaft's", 12_584),
            ("one crank turn out", 34_910),
            ("the crankshaft's dot alone", 2_240),
            ("told only by a dot that would be out of mesh", 38_552),
            (
                "told only by an idler whose dot would be out of mesh",
                23_120,
            ),
        ],
    );
}

#[test]
fn for_one_camshaft_what_follows_after_one_turn_is_said() {
    holds(
        &one_cam(),
        1,
        6_657,
        &[
            (
                "a link after turning on a dot that is between its places",
                360,
            ),
            (
                "links after turning that all differ from what is due",
                2_444,
            ),
            ("one crank turn out", 387),
            ("told only by a dot that would be out of mesh", 11),
        ],
    );
}

#[test]
fn for_one_camshaft_what_follows_after_two_turns_is_said() {
    holds(
        &one_cam(),
        2,
        6_657,
        &[
            ("dots without the crankshaft's", 8),
            ("links after turning that all differ from what is due", 741),
            ("one crank turn out", 373),
            ("the crankshaft's dot alone", 8),
            ("told only by a dot that would be out of mesh", 11),
        ],
    );
}

#[test]
fn for_two_camshafts_what_follows_after_two_turns_is_said() {
    holds(
        &two_cams(),
        2,
        267_425,
        &[
            ("a link half a turn of the sprocket from its dot", 20_480),
            ("dots without the crankshaft's", 42),
            (
                "links after turning that all differ from what is due",
                3_435,
            ),
            ("one crank turn out", 4_251),
            ("the crankshaft's dot alone", 8),
            ("told only by a dot that would be out of mesh", 57),
        ],
    );
}

#[test]
fn for_an_idler_on_the_chain_what_follows_after_one_turn_is_said() {
    holds(
        &idler_on_the_chain(),
        1,
        144_560,
        &[
            (
                "a link after turning on a dot that is between its places",
                16_902,
            ),
            (
                "an idler's dot after turning that is elsewhere than due",
                90,
            ),
            (
                "links after turning that all differ from what is due",
                53_648,
            ),
            ("one crank turn out", 7_338),
            ("told only by a dot that would be out of mesh", 77),
        ],
    );
}

#[test]
fn for_an_idler_on_the_chain_what_follows_after_two_turns_is_said() {
    holds(
        &idler_on_the_chain(),
        2,
        144_560,
        &[
            (
                "a link after turning on a dot that is between its places",
                2_556,
            ),
            ("a mark of a chain that was not looked at", 1),
            (
                "an idler's dot after turning that is elsewhere than due",
                225,
            ),
            ("dots without the crankshaft's", 75),
            (
                "links after turning that all differ from what is due",
                26_712,
            ),
            ("one crank turn out", 7_653),
            ("the crankshaft's dot alone", 9),
            ("told only by a dot that would be out of mesh", 77),
        ],
    );
}

#[test]
fn for_a_camshaft_behind_an_idler_what_follows_after_two_turns_is_said() {
    holds(
        &behind_an_idler(),
        2,
        767_612,
        &[
            ("a link half a turn of the sprocket from its dot", 11_710),
            ("dots without the crankshaft's", 5_747),
            (
                "links after turning that all differ from what is due",
                116_234,
            ),
            ("one crank turn out", 34_910),
            ("the crankshaft's dot alone", 1_608),
            ("told only by a dot that would be out of mesh", 2_922),
            (
                "told only by an idler whose dot would be out of mesh",
                4_080,
            ),
        ],
    );
}
