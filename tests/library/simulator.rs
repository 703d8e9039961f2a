//! The closed forms against a simulator of arrays, moved one step at a time: exhaustively for small
//! drives, and for every engine that comes with the project.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::simulator::Simulator;
use crate::support::written::Written;
use crate::support::{drive, engines};
use tautmark::{
    Check, Drive, Observations, Seen, Verdict, check,
    drive::Engagement,
    timing::{Doubt, link_due},
    units::{LinkPosition, Teeth, Turns},
};

/// One drive, in the model and in arrays.
struct Both {
    name: String,
    drive: Drive,
    right: Simulator,
    engagements: Vec<Engagement>,
    /// States in which the model and the arrays were compared tooth by tooth.
    compared: usize,
    /// Whether links were compared, or the drive has none.
    by_links: bool,
}

impl Both {
    fn of(name: &str, text: &str) -> Self {
        let (drive, right) = (drive(text), Simulator::new(&Written::read(text)));
        let engagements: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
        assert_eq!(engagements.len(), right.sprockets().len());
        let by_links = drive
            .engagements()
            .any(|(_, sprocket)| sprocket.mark().is_some());
        Self {
            name: name.into(),
            drive,
            right,
            engagements,
            compared: 0,
            by_links,
        }
    }

    /// Lets these sprockets jump, then compares all that can be seen.
    fn hold_to_each_other(&mut self, slips: &[(usize, i32)]) {
        let mut arrays = self.right.clone();
        for (sprocket, teeth) in slips {
            arrays.slip(*sprocket, *teeth);
        }
        let what = format!("{} with {slips:?}", self.name);
        if self.by_links {
            let outcome = check(&self.drive, &self.links(&arrays, 0)).unwrap();
            let shafts = 0..arrays.shaft_count();
            let (far, near): (Vec<usize>, Vec<usize>) =
                shafts.partition(|shaft| self.too_far_to_tell(&arrays, *shaft));
            if far.is_empty() {
                self.same_verdict(&arrays, &outcome, &what);
            } else {
                assert_ne!(outcome.verdict(), Verdict::InTime, "{what}");
            }
            self.same_errors(&arrays, &near, &outcome, &what);
        }
        let outcome = check(&self.drive, &self.dots(&arrays)).unwrap();
        self.same_verdict(&arrays, &outcome, &what);
        let all: Vec<usize> = (0..arrays.shaft_count()).collect();
        self.same_errors(&arrays, &all, &outcome, &what);
    }

    /// The links on all dots, as they lie in the arrays.
    fn links(&self, arrays: &Simulator, turned: i64) -> Observations {
        let mut seen = Observations::after(Turns::whole(turned)).unwrap();
        for (sprocket, at) in self.engagements.iter().enumerate() {
            if let Some(link) = arrays.link_on_dot(sprocket) {
                let what = Seen::Link(LinkPosition::new(link.exact()));
                seen.see_link(&self.drive, *at, what).unwrap();
            }
        }
        seen
    }

    /// The link due on every dot is the one that lies there.
    fn same_links_due(&self, arrays: &Simulator, turned: i64) {
        for (sprocket, at) in self.engagements.iter().enumerate() {
            let due = link_due(&self.drive, *at, Turns::whole(turned)).unwrap();
            let lies = arrays.link_on_dot(sprocket);
            assert_eq!(due.map(|link| Fraction::of(link.get())), lies);
        }
    }

    /// Every dot, in teeth from where it belongs.
    fn dots(&self, arrays: &Simulator) -> Observations {
        let mut seen = Observations::at_timed_position();
        let mut looked_at = vec![false; arrays.shaft_count()];
        for (sprocket, meeting) in arrays.sprockets().iter().enumerate() {
            if !arrays.is_marked(meeting.shaft) || looked_at[meeting.shaft] {
                continue;
            }
            looked_at[meeting.shaft] = true;
            let steps = i128::from(arrays.steps_ahead(meeting.shaft));
            let teeth = Fraction::new(steps, i128::from(arrays.steps_to_a_tooth(sprocket)));
            let what = Seen::Teeth(Teeth::new(teeth.exact()));
            seen.see_dot(&self.drive, self.engagements[sprocket], what)
                .unwrap();
        }
        seen
    }

    fn same_verdict(&self, arrays: &Simulator, outcome: &Check, what: &str) {
        // A link half a turn of its sprocket or more from its dot cannot have been seen there.
        let cannot_be = |doubt: &Doubt| matches!(doubt, Doubt::CannotBe { .. });
        // Nor can one that is on the dot where the geometry has no chain.
        let out_of_mesh = |doubt: &Doubt| matches!(doubt, Doubt::OutOfMesh { .. });
        let expected = if outcome.doubts().iter().any(out_of_mesh) {
            assert!(!arrays.timed_home(), "{what}: {outcome:?}");
            Verdict::NotProven
        } else if outcome.doubts().iter().any(cannot_be) {
            assert!(self.half_a_turn_off(arrays), "{what}: {outcome:?}");
            Verdict::NotProven
        } else if arrays.timed_home() {
            Verdict::InTime
        } else if arrays.timed_home_a_turn_on() && !arrays.timed_home() {
            Verdict::NotProven
        } else {
            Verdict::OutOfTime
        };
        assert_eq!(outcome.verdict(), expected, "{what}: {outcome:?}");
        assert_eq!(
            outcome.release_tensioner(),
            expected == Verdict::InTime && outcome.fits().is_empty(),
            "{what}"
        );
    }

    /// Is some shaft half a turn or more off against the one that drives it?
    fn half_a_turn_off(&self, arrays: &Simulator) -> bool {
        self.engagements.iter().enumerate().any(|(sprocket, at)| {
            let driver = self.drive.sprocket(self.drive.driver_of(at.chain)).shaft();
            let shaft = arrays.sprockets()[sprocket].shaft;
            let ahead = arrays.steps_ahead(shaft) - arrays.steps_ahead(driver.index());
            2 * ahead.abs() >= arrays.steps_around(shaft)
        })
    }

    /// Laid off on the ring of each shaft, the teeth that the model gives must end at its dot.
    fn same_errors(&mut self, arrays: &Simulator, shafts: &[usize], outcome: &Check, what: &str) {
        for state in outcome.shafts() {
            let shaft = state.shaft.index();
            if !shafts.contains(&shaft) {
                continue;
            }
            let steps = arrays.steps_ahead(shaft);
            let around = i128::from(arrays.steps_around(shaft));
            let degrees = Fraction::of(state.off.unwrap().angle.get());
            let turn = Fraction::whole(360);
            let crank_steps = Fraction::whole(i128::from(arrays.crank_steps_around()));
            let by_angle = degrees / turn * crank_steps - Fraction::whole(i128::from(steps));
            let whole_turns = by_angle / Fraction::whole(around);
            assert!(whole_turns.is_whole(), "{what}: {steps} steps, {outcome:?}");
            if let Some(at) = state.at {
                let sprocket = self.engagements.iter().position(|other| *other == at);
                let tooth = i128::from(arrays.steps_to_a_tooth(sprocket.unwrap()));
                let teeth = Fraction::of(state.off_teeth.unwrap().get()) * Fraction::whole(tooth);
                let over = teeth - Fraction::whole(i128::from(steps));
                let whole_turns = over / Fraction::whole(around);
                assert!(whole_turns.is_whole(), "{what}: {steps} steps, {outcome:?}");
                // Where the shaft has teeth enough there is no whole turn to spare.
                if around > 24 * tooth {
                    assert!(over.is_zero(), "{what}: {steps} steps, {outcome:?}");
                }
            }
            self.compared += 1;
        }
    }

    /// A dot half a chain or more from its link could as well be that much less the other way round,
    /// and so could every shaft that stands behind it.
    fn too_far_to_tell(&self, arrays: &Simulator, shaft: usize) -> bool {
        let mut at = self.engagement_driving(shaft);
        while let Some(sprocket) = at {
            let here = arrays.sprockets()[sprocket];
            let links = self.drive.chain(self.engagements[sprocket].chain).links();
            let driver = self.drive.driver_of(self.engagements[sprocket].chain);
            let driver = self.drive.sprocket(driver).shaft().index();
            let ahead = arrays.steps_ahead(here.shaft) - arrays.steps_ahead(driver);
            if 2 * ahead.abs() >= i64::from(links.get()) * arrays.steps_to_a_tooth(sprocket) {
                return true;
            }
            at = self.engagement_driving(driver);
        }
        false
    }

    fn engagement_driving(&self, shaft: usize) -> Option<usize> {
        let (_, shaft) = self.drive.shafts().nth(shaft).unwrap();
        let at = shaft.driven_at()?;
        self.engagements.iter().position(|other| *other == at)
    }

    /// Every way in which one or two sprockets can be up to three teeth off.
    fn one_or_two_slips(&mut self) {
        let count = self.engagements.len();
        for first in 0..count {
            for teeth in -3..=3 {
                self.hold_to_each_other(&[(first, teeth)]);
                for second in first + 1..count {
                    for other in (-3..=3).filter(|other| *other != 0 && teeth != 0) {
                        self.hold_to_each_other(&[(first, teeth), (second, other)]);
                    }
                }
            }
        }
    }

    /// Every way in which all sprockets at once can be up to three teeth off.
    fn all_slips(&mut self) {
        let count = u32::try_from(self.engagements.len()).unwrap();
        for way in 0..7_u32.pow(count) {
            let slips: Vec<(usize, i32)> = (0..count)
                .map(|sprocket| {
                    let digit = way / 7_u32.pow(sprocket) % 7;
                    (sprocket as usize, i32::try_from(digit).unwrap() - 3)
                })
                .collect();
            self.hold_to_each_other(&slips);
        }
    }
}

const HEAD: &str = "
tautmark: 1
engine: Small drive
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft }
";

fn one_cam(crank: u32, links: u32) -> String {
    let (cam, middle) = (2 * crank, links / 2);
    format!(
        "{HEAD}  cam: {{ kind: camshaft }}
chains:
  main:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 0 }}
      - {{ sprocket: cam, teeth: {cam}, link: {middle} }}
"
    )
}

fn two_cams(crank: u32, links: u32) -> String {
    let (cam, third) = (2 * crank, links / 3);
    format!(
        "{HEAD}  exhaust: {{ kind: camshaft }}
  intake: {{ kind: camshaft }}
chains:
  main:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: {crank}, links: [0, 1] }}
      - {{ sprocket: exhaust, teeth: {cam}, link: {third}, outside: true }}
      - {{ sprocket: intake, teeth: {cam}, links: [{}, {}] }}
",
        2 * third,
        2 * third + 1
    )
}

/// The idler turns `crank / idler` times as fast, and drives the camshaft on a second chain.
fn behind_an_idler(crank: u32, idler: u32, (drives, cam): (u32, u32), links: (u32, u32)) -> String {
    let (first, second) = links;
    format!(
        "{HEAD}  idler: {{ kind: idler }}
  cam: {{ kind: camshaft }}
chains:
  primary:
    links: {first}
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 1 }}
      - {{ sprocket: idler, teeth: {idler}, links: [5, 6] }}
  secondary:
    links: {second}
    path:
      - {{ sprocket: cam, teeth: {cam}, link: 6 }}
      - {{ sprocket: idler, teeth: {drives}, link: {}, outside: true }}
",
        second - 2
    )
}

/// The fewest links for two sprockets of `z` and `2 z` teeth.
fn fewest(crank: u32) -> u32 {
    (3 * crank / 2 + 1).max(8)
}

#[test]
fn one_camshaft_agrees_with_the_arrays_however_it_is_hung() {
    let mut compared = 0;
    for crank in 5..=8 {
        for links in fewest(crank)..=40 {
            let mut both = Both::of(&format!("{crank}:{links}"), &one_cam(crank, links));
            both.all_slips();
            compared += both.compared;
        }
    }
    assert!(compared > 20_000, "{compared}");
}

#[test]
fn two_camshafts_agree_with_the_arrays_however_they_are_hung() {
    let mut compared = 0;
    for crank in 5..=8 {
        for links in (2 * crank + 1).max(9)..=40 {
            let mut both = Both::of(&format!("{crank}:{links}"), &two_cams(crank, links));
            both.all_slips();
            compared += both.compared;
        }
    }
    assert!(compared > 150_000, "{compared}");
}

#[test]
fn a_camshaft_behind_an_idler_agrees_with_the_arrays_however_it_is_hung() {
    let mut compared = 0;
    for (crank, idler, second) in [
        (5, 10, (6, 6)),
        (6, 9, (6, 8)),
        (8, 6, (6, 16)),
        (7, 5, (5, 14)),
        (8, 12, (9, 12)),
    ] {
        for links in [(14, 16), (23, 17)] {
            let text = behind_an_idler(crank, idler, second, links);
            let mut both = Both::of(&format!("{crank}/{idler} {links:?}"), &text);
            both.all_slips();
            compared += both.compared;
        }
    }
    assert!(compared > 40_000, "{compared}");
}

#[test]
fn every_engine_agrees_with_the_arrays_for_one_and_two_slips() {
    for (name, text) in engines() {
        let mut both = Both::of(&name, &text);
        both.one_or_two_slips();
        assert!(both.compared >= 100, "{name}: {}", both.compared);
    }
}

#[test]
fn every_engine_turned_in_the_arrays_keeps_its_verdict() {
    for (name, text) in engines() {
        let both = Both::of(&name, &text);
        let mut compared = 0;
        for sprocket in 0..both.engagements.len() {
            for teeth in [0, 2] {
                // A tooth at a sprocket without a mark cannot be seen, and changes nothing.
                let mut arrays = both.right.clone();
                let mut hung = arrays.clone();
                hung.slip(sprocket, teeth);
                for turned in 1..=20 {
                    arrays.turn_once();
                    hung.turn_once();
                    if !both.by_links || !arrays.all_home() {
                        continue;
                    }
                    both.same_links_due(&arrays, turned);
                    let seen = both.links(&hung, turned);
                    let outcome = check(&both.drive, &seen).unwrap();
                    both.same_verdict(&hung, &outcome, &format!("{name} turned {turned}"));
                    compared += 1;
                }
            }
        }
        assert!(compared > 0 || !both.by_links, "{name}");
    }
}
