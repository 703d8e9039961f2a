//! Laws that hold for every drive, tried on random ones: trees of chains behind idlers, shafts that
//! turn backwards, dots between two links, closed loops.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::drive;
use crate::support::fraction::Fraction;
use crate::support::plan::{Kind, Plan, plan, plan_with_loop};
use crate::support::rig::{
    self, At, Hanging, Say, after, all, all_dots, all_links, can_be_seen, engagement, has_timed,
    look_at_dots, look_at_links, marked, planned, say, shaft_id,
};
use proptest::prelude::*;
use tautmark::{
    Check, Drive, Observations, Verdict, check,
    timing::{Doubt, Move, hang},
    units::Exact,
};

/// Teeth by which sprockets are off, in turn.
fn teeth() -> impl Strategy<Value = Vec<i8>> {
    prop::collection::vec(-3_i8..=3, 1..=12)
}

/// Mostly right, so that single faults and none at all come up often.
fn few_teeth() -> impl Strategy<Value = Vec<i8>> {
    prop::collection::vec(prop_oneof![4 => Just(0_i8), 1 => -3_i8..=3], 1..=40)
}

/// A crank position less than half a turn from where it is said to be.
fn past() -> impl Strategy<Value = Fraction> {
    (-49_i128..=49).prop_map(|hundredths| Fraction::new(hundredths, 100))
}

fn turned() -> impl Strategy<Value = Fraction> {
    (0_i128..400_000, 1_i128..=1000).prop_map(|(above, below)| Fraction::new(above, below))
}

fn verdict(drive: &Drive, seen: &Observations) -> Check {
    check(drive, seen).unwrap()
}

/// The error of every shaft that is known, exactly.
fn errors(outcome: &Check) -> Vec<Option<Exact>> {
    let angle = |state: &tautmark::timing::ShaftState| state.off.map(|off| off.angle.get());
    outcome.shafts().iter().map(angle).collect()
}

/// What is known of the shafts that must be in time.
fn timed_errors<'a>(drive: &'a Drive, outcome: &'a Check) -> impl Iterator<Item = Exact> + 'a {
    let timed = outcome
        .shafts()
        .iter()
        .filter(|state| drive.is_timed(state.shaft));
    timed.filter_map(|state| state.off.map(|off| off.angle.get()))
}

/// Is `angle` (crank degrees) what the shaft is truly ahead by, whole turns of it aside?
fn is_truth(plan: &Plan, hanging: &Hanging, shaft: usize, angle: Exact) -> bool {
    let speed = plan.shafts[shaft].ratio.abs();
    let own_turns = Fraction::of(angle) / Fraction::whole(360) * speed;
    (own_turns - hanging.turns_ahead(plan)[shaft]).is_whole()
}

/// Hangs the drive right but for `teeth` at one sprocket that is driven and has a mark.
fn one_fault(plan: &Plan, choice: usize, teeth: i128) -> (At, Hanging) {
    let faulty: Vec<At> = marked(plan)
        .filter(|at| plan.chains[at.0].driver != at.1 && plan.chains[at.0].twin_of.is_none())
        .collect();
    let at = faulty[choice % faulty.len()];
    let mut hanging = Hanging::right(plan);
    hanging.slip(at, teeth);
    (at, hanging)
}

fn has_driven_mark(plan: &Plan) -> bool {
    marked(plan).any(|at| plan.chains[at.0].driver != at.1)
}

/// A dot a whole turn of its sprocket from its link: a count that cannot be, of which nothing is told.
fn impossible(told: &Check) -> bool {
    told.doubts()
        .iter()
        .any(|doubt| matches!(doubt, Doubt::CannotBe { .. }))
}

/// A dot that carries the coloured link of another dot: it is asked to be read again, and until then nothing
/// is proven, even where it stands a whole turn out and so is right.
fn to_read_again(outcome: &Check) -> bool {
    let doubts = outcome.doubts();
    let others = |doubt: &Doubt| matches!(doubt, Doubt::OthersLink { .. });
    outcome.verdict() == Verdict::NotProven && doubts.iter().any(others)
}

/// Where one crank turn more would put everything right nothing is proven, and nothing is told.
fn one_turn_out(outcome: &Check) -> bool {
    outcome.doubts().contains(&Doubt::OneCrankTurnOut)
}

fn contradicted(outcome: &Check) -> usize {
    let contradiction = |doubt: &&Doubt| {
        matches!(
            doubt,
            Doubt::Contradiction { .. } | Doubt::LoopContradiction { .. }
        )
    };
    outcome.doubts().iter().filter(contradiction).count()
}

/// Is every shaft that must be in time where it belongs?
fn timed_are_right(plan: &Plan, hanging: &Hanging) -> bool {
    let ahead = hanging.turns_ahead(plan);
    (0..plan.shafts.len()).all(|shaft| {
        !crate::support::plan::is_timed(plan.shafts[shaft].kind) || ahead[shaft].is_whole()
    })
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    #[test]
    fn turning_the_engine_changes_no_error_seen_by_links(
        plan in plan(), teeth in teeth(), from in 1_i128..1000,
    ) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let turns = plan.turns_until_home(from);
        let before = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        let later = verdict(&drive, &all_links(&drive, &plan, &hanging, turns));
        prop_assert_eq!(errors(&before), errors(&later));
        prop_assert!(later.shafts().iter().all(|state| state.off.is_some()));
    }

    #[test]
    fn turning_the_engine_keeps_a_drive_in_time(plan in plan(), from in 1_i128..1000) {
        prop_assume!(has_timed(&plan));
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::right(&plan));
        let turns = plan.turns_until_home(from);
        let later = verdict(&drive, &all_links(&drive, &plan, &hanging, turns));
        prop_assert_eq!(later.verdict(), Verdict::InTime, "{:?}", later.doubts());
    }

    #[test]
    fn turning_the_engine_changes_no_error_seen_by_dots(
        plan in plan(), teeth in teeth(), turned in turned(), past in past(), say in say(),
    ) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let still = (Fraction::ZERO, Say::Teeth);
        let before = verdict(&drive, &all_dots(&drive, &plan, &hanging, Fraction::ZERO, still));
        let later = verdict(&drive, &all_dots(&drive, &plan, &hanging, turned, (past, say)));
        prop_assert_eq!(errors(&before), errors(&later));
        prop_assert!(later.shafts().iter().all(|state| state.off.is_some()));
        // Turns and dots that cannot both be as said prove nothing, in time or not.
        let at_odds = later.doubts().iter().any(|doubt| {
            matches!(doubt, Doubt::DotAgainstTurns { .. } | Doubt::IdlerDot { .. })
        });
        if at_odds {
            prop_assert_ne!(later.verdict(), Verdict::InTime);
        } else {
            prop_assert_eq!(before.verdict(), later.verdict());
        }
    }

    #[test]
    fn slipping_there_and_back_is_nothing(
        plan in plan(), teeth in teeth(), choice in 0_usize..40, slip in -50_i128..=50,
    ) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let at = all(&plan).nth(choice % all(&plan).count()).unwrap();
        let mut there_and_back = hanging.clone();
        // Back by way of the rest of the chain, so that the same links come round again.
        there_and_back.slip(at, slip);
        there_and_back.slip(at, -slip + plan.chains[at.0].links);
        prop_assert_eq!(
            verdict(&drive, &all_links(&drive, &plan, &hanging, 0)),
            verdict(&drive, &all_links(&drive, &plan, &there_and_back, 0))
        );
    }

    #[test]
    fn counting_the_links_from_elsewhere_changes_nothing(
        plan in plan(), teeth in few_teeth(), by in prop::collection::vec(0_i128..2000, 8),
    ) {
        let hanging = Hanging::of(&plan, &teeth);
        let mut other = plan.clone();
        for (chain, by) in (0..plan.chains.len()).zip(&by) {
            other.renumber(chain, *by);
        }
        let (one, two) = (drive(&plan.yaml_without_pitch()), drive(&other.yaml_without_pitch()));
        let first = verdict(&one, &all_links(&one, &plan, &hanging, 0));
        let second = verdict(&two, &all_links(&two, &other, &hanging, 0));
        // Ids belong to one drive each; what they stand for is compared.
        let told = |outcome: &Check| {
            let state = |state: &tautmark::timing::ShaftState| {
                (state.shaft.index(), state.off, state.off_teeth, state.contradicted)
            };
            let shafts: Vec<_> = outcome.shafts().iter().map(state).collect();
            (outcome.verdict(), shafts, outcome.not_seen().len(), outcome.doubts().len())
        };
        prop_assert_eq!(told(&first), told(&second));
        prop_assert_eq!(first.remedies().len(), second.remedies().len());
        for (remedy, renumbered) in first.remedies().iter().zip(second.remedies()) {
            let links = one.chain(remedy.at.chain).links();
            let chain = planned(&one, &plan, remedy.at).0;
            let by = tautmark::units::Teeth::new(Fraction::whole(by[chain]).exact());
            let lay = remedy.lay.map(|lay| lay.moved(by, links).unwrap());
            let place = |at: tautmark::drive::Engagement| (at.chain.index(), at.sprocket);
            prop_assert_eq!(place(remedy.at), place(renumbered.at));
            prop_assert_eq!((remedy.teeth, remedy.turn, remedy.what, lay),
                (renumbered.teeth, renumbered.turn, renumbered.what, renumbered.lay));
        }
    }

    #[test]
    fn slipping_the_driver_is_slipping_all_others_the_other_way(
        plan in plan(), teeth in few_teeth(), choice in 0_usize..8, slip in -3_i128..=3,
    ) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let chain = choice % plan.chains.len();
        let driver = plan.chains[chain].driver;
        let (mut by_driver, mut by_others) = (hanging.clone(), hanging);
        by_driver.slip((chain, driver), slip);
        for other in (0..plan.chains[chain].sprockets.len()).filter(|i| *i != driver) {
            by_others.slip((chain, other), -slip);
        }
        let one = verdict(&drive, &all_links(&drive, &plan, &by_driver, 0));
        let two = verdict(&drive, &all_links(&drive, &plan, &by_others, 0));
        prop_assert_eq!((one.verdict(), errors(&one)), (two.verdict(), errors(&two)));
    }

    #[test]
    fn an_error_behind_an_idler_is_the_exact_sum(plan in plan(), teeth in teeth()) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let ahead = hanging.turns_ahead(&plan);
        let outcome = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        let mut looked = 0;
        for state in outcome.shafts() {
            let name = drive.shaft(state.shaft).name();
            let shaft = plan.shafts.iter().position(|shaft| shaft.name == name).unwrap();
            let turn = Fraction::whole(360) / plan.shafts[shaft].ratio.abs();
            let told = Fraction::of(state.off.unwrap().angle.get());
            // Whole turns of its own are nothing, unless a count on the way cannot be.
            let turns = told / turn;
            let sum = ahead[shaft];
            let nearest = sum.nearest(Fraction::whole(1));
            prop_assert!(turns == nearest || impossible(&outcome) && turns == sum);
            if let Some((chain, sprocket)) = plan.shafts[shaft].driven_at {
                let around = Fraction::whole(plan.chains[chain].sprockets[sprocket].teeth);
                let own_teeth = Fraction::of(state.off_teeth.unwrap().get());
                prop_assert_eq!(own_teeth, turns * around);
            }
            looked += 1;
        }
        let visible = (0..plan.shafts.len()).filter(|shaft| can_be_seen(&plan, *shaft)).count();
        prop_assert_eq!(looked, visible);
    }

    #[test]
    fn every_shaft_turns_as_its_gears_make_it(plan in plan()) {
        let drive = drive(&plan.yaml_without_pitch());
        for (id, shaft) in drive.shafts() {
            let planned = &plan.shafts[id.index()];
            prop_assert_eq!(shaft.name(), &planned.name);
            prop_assert_eq!(Fraction::of(shaft.ratio()), planned.ratio);
            let with_crank = drive.rotation(id) == drive.crank_turns();
            prop_assert_eq!(with_crank, planned.ratio.above() > 0);
        }
        for (id, chain) in drive.chains() {
            prop_assert_eq!(Fraction::of(chain.speed()), plan.speed(id.index()));
            prop_assert_eq!(usize::from(chain.driver()), plan.chains[id.index()].driver);
        }
    }

    #[test]
    fn all_right_is_in_time(plan in plan()) {
        prop_assume!(has_timed(&plan));
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::right(&plan));
        let outcome = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        prop_assert_eq!(outcome.verdict(), Verdict::InTime);
        prop_assert!(outcome.doubts().is_empty() && outcome.remedies().is_empty());
    }

    #[test]
    fn where_nothing_was_looked_at_nothing_is_in_time(plan in plan()) {
        let (drive, seen) = (drive(&plan.yaml_without_pitch()), Observations::at_timed_position());
        let outcome = verdict(&drive, &seen);
        prop_assert_eq!(outcome.verdict(), Verdict::NotProven);
    }

    #[test]
    fn one_link_not_looked_at_is_never_in_time(plan in plan(), choice in 0_usize..40) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::right(&plan));
        let needed: Vec<At> = marked(&plan).filter(|at| plan.leads_to_timed(at.0)).collect();
        prop_assume!(!needed.is_empty());
        let left_out = needed[choice % needed.len()];
        let mut seen = after(Fraction::ZERO);
        let looked_at = marked(&plan).filter(|at| *at != left_out);
        look_at_links(&mut seen, &drive, &plan, &hanging, looked_at);
        let outcome = verdict(&drive, &seen);
        prop_assert_eq!(outcome.verdict(), Verdict::NotProven);
        prop_assert!(!outcome.not_seen().is_empty() && !outcome.release_tensioner());
    }

    #[test]
    fn one_dot_not_looked_at_is_never_in_time(plan in plan(), choice in 0_usize..40) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::right(&plan));
        let needed: Vec<At> = rig::dots(&plan)
            .into_iter()
            .filter(|at| {
                let kind = plan.shafts[plan.chains[at.0].sprockets[at.1].shaft].kind;
                crate::support::plan::is_timed(kind)
            })
            .collect();
        prop_assume!(!needed.is_empty());
        let left_out = needed[choice % needed.len()];
        let looked_at: Vec<At> = rig::dots(&plan).into_iter().filter(|at| *at != left_out).collect();
        let mut seen = after(Fraction::ZERO);
        let how = (Fraction::ZERO, Say::Teeth);
        look_at_dots(&mut seen, &drive, &plan, &hanging, &looked_at, how);
        prop_assert_eq!(verdict(&drive, &seen).verdict(), Verdict::NotProven);
    }

    #[test]
    fn nothing_off_by_its_links_is_ever_in_time(plan in plan(), teeth in few_teeth()) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let seen = all_links(&drive, &plan, &hanging, 0);
        let hung = hang(&drive, &seen).unwrap();
        let own = |at| hung.own(&drive, engagement(&drive, &plan, at)).unwrap().teeth;
        for at in marked(&plan) {
            prop_assert_eq!(Fraction::of(own(at).get()), Fraction::whole(hanging.own(&plan, at)));
        }
        let told = verdict(&drive, &seen);
        prop_assume!(!impossible(&told));
        let in_time = told.verdict() == Verdict::InTime;
        prop_assert_eq!(in_time, has_timed(&plan) && timed_are_right(&plan, &hanging));
    }

    #[test]
    fn what_is_moved_as_told_is_in_time(plan in plan(), teeth in teeth(), shift in -3_i128..=3) {
        prop_assume!(has_timed(&plan));
        let drive = drive(&plan.yaml_without_pitch());
        let mut hanging = Hanging::of(&plan, &teeth);
        for at in all(&plan) {
            hanging.slip(at, shift);
        }
        let told = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        prop_assume!(!one_turn_out(&told) && !impossible(&told));
        for remedy in told.remedies() {
            let at = planned(&drive, &plan, remedy.at);
            let teeth = Fraction::of(remedy.teeth.get());
            prop_assert!(teeth.is_whole());
            hanging.slip(at, teeth.above());
            let turns = drive.rotation(drive.sprocket(remedy.at).shaft());
            // The chain goes the other way than its sprocket would.
            let sprocket = remedy.what == Move::Sprocket;
            prop_assert_eq!((remedy.turn == turns) == sprocket, teeth.above() > 0);
            let now = hanging.link(&plan, at, 0);
            prop_assert_eq!(remedy.lay.map(tautmark::Seen::Link), Some(now));
        }
        let outcome = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        let in_time = outcome.verdict() == Verdict::InTime;
        prop_assert!(in_time || to_read_again(&outcome), "{:?}", told.doubts());
    }

    #[test]
    fn what_is_moved_as_told_after_turning_is_in_time(
        plan in plan(), teeth in teeth(), from in 1_i128..200, fits in any::<bool>(),
    ) {
        prop_assume!(has_timed(&plan));
        let (drive, turns) = (drive(&plan.yaml_without_pitch()), plan.turns_until_home(from));
        let mut hanging = Hanging::of(&plan, &teeth);
        // The links under the dots that drive tell how far the engine was turned.
        for (id, chain) in plan.chains.iter().enumerate().filter(|_| fits) {
            hanging.past[id][chain.driver] = 0;
        }
        let told = verdict(&drive, &all_links(&drive, &plan, &hanging, turns));
        prop_assume!(!one_turn_out(&told) && !impossible(&told));
        for remedy in told.remedies() {
            let at = planned(&drive, &plan, remedy.at);
            hanging.slip(at, Fraction::of(remedy.teeth.get()).above());
            let now = hanging.link(&plan, at, turns);
            prop_assert_eq!(remedy.lay.map(tautmark::Seen::Link), Some(now));
        }
        let outcome = verdict(&drive, &all_links(&drive, &plan, &hanging, turns));
        prop_assert!(timed_errors(&drive, &outcome).all(|error| error.is_zero()));
        prop_assert!(!fits || outcome.verdict() == Verdict::InTime, "{:?}", told);
    }

    #[test]
    fn what_is_moved_as_told_by_dots_is_in_time(
        plan in plan(), teeth in prop_oneof![teeth(), few_teeth()],
        some in prop::collection::vec(any::<bool>(), 16),
    ) {
        prop_assume!(has_timed(&plan));
        let drive = drive(&plan.yaml_without_pitch());
        let mut hanging = Hanging::of(&plan, &teeth);
        // The dots of idlers prove nothing by themselves and may be left out.
        let mut looked_at = rig::dots(&plan);
        looked_at.retain(|at| {
            let shaft = plan.chains[at.0].sprockets[at.1].shaft;
            plan.shafts[shaft].kind != Kind::Idler || some[shaft]
        });
        let look = |hanging: &Hanging| {
            let mut seen = after(Fraction::ZERO);
            let how = (Fraction::ZERO, Say::ShaftDegrees);
            look_at_dots(&mut seen, &drive, &plan, hanging, &looked_at, how);
            verdict(&drive, &seen)
        };
        let told = look(&hanging);
        prop_assume!(!one_turn_out(&told) && !impossible(&told));
        for remedy in told.remedies() {
            let teeth = Fraction::of(remedy.teeth.get());
            let around = Fraction::of(drive.sprocket(remedy.at).teeth().to_exact());
            prop_assert!((teeth.abs() + teeth.abs() - around).above() <= 0, "{:?}", remedy);
            hanging.slip(planned(&drive, &plan, remedy.at), teeth.above());
        }
        // Every dot that must be in time was looked at: what is moved puts them there, whatever idlers
        // nobody looked at have jumped; or nothing is said about what to move.
        let after_moving = look(&hanging);
        if told.verdict() == Verdict::OutOfTime && !told.remedies().is_empty() {
            prop_assert_eq!(after_moving.verdict(), Verdict::InTime, "{:?}", told);
        }
        if looked_at.len() == rig::dots(&plan).len() {
            prop_assert!(told.verdict() != Verdict::OutOfTime || !told.remedies().is_empty(), "{:?}", told);
        }
    }

    #[test]
    fn what_is_moved_as_told_by_links_and_dots_is_in_time(
        plan in plan(), teeth in prop_oneof![teeth(), few_teeth()],
        by_links in prop::collection::vec(any::<bool>(), 8),
    ) {
        prop_assume!(has_timed(&plan));
        let drive = drive(&plan.yaml_without_pitch());
        let mut hanging = Hanging::of(&plan, &teeth).within_sight(&plan);
        let look = |hanging: &Hanging| {
            let mut seen = after(Fraction::ZERO);
            let looked_at = marked(&plan).filter(|at| by_links[at.0]);
            look_at_links(&mut seen, &drive, &plan, hanging, looked_at);
            let how = (Fraction::ZERO, Say::ShaftDegrees);
            look_at_dots(&mut seen, &drive, &plan, hanging, &rig::dots(&plan), how);
            verdict(&drive, &seen)
        };
        let told = look(&hanging);
        prop_assume!(!one_turn_out(&told) && !impossible(&told));
        for remedy in told.remedies() {
            let teeth = Fraction::of(remedy.teeth.get());
            prop_assert!(teeth.is_whole(), "{:?}", remedy);
            hanging.slip(planned(&drive, &plan, remedy.at), teeth.above());
        }
        // A tooth count past half an idler's turn is seen from its other side, as another link.
        prop_assume!(hanging.clone().within_sight(&plan) == hanging);
        let after_moving = look(&hanging);
        prop_assert_eq!(after_moving.verdict(), Verdict::InTime, "{:?}", told);
    }

    #[test]
    fn links_and_dots_of_one_state_never_contradict(
        plan in prop_oneof![plan(), plan_with_loop()], teeth in teeth(), say in say(),
        from in 0_i128..200, some in prop::collection::vec(any::<bool>(), 40),
    ) {
        let drive = drive(&plan.yaml_without_pitch());
        let hanging = Hanging::of(&plan, &teeth).within_sight(&plan);
        let turns = if from == 0 { 0 } else { plan.turns_until_home(from) };
        let mut seen = after(Fraction::whole(turns));
        let looked_at = marked(&plan).zip(&some).filter_map(|(at, look)| look.then_some(at));
        look_at_links(&mut seen, &drive, &plan, &hanging, looked_at);
        let how = (Fraction::ZERO, say);
        look_at_dots(&mut seen, &drive, &plan, &hanging, &rig::dots(&plan), how);
        let outcome = verdict(&drive, &seen);
        prop_assert_eq!(contradicted(&outcome), 0, "{:?}", outcome.doubts());
        for (shaft, _) in plan.shafts.iter().enumerate().filter(|(id, _)| can_be_seen(&plan, *id)) {
            let id = shaft_id(&drive, &plan, shaft);
            let state = outcome.shafts().iter().find(|state| state.shaft == id).unwrap();
            prop_assert!(is_truth(&plan, &hanging, shaft, state.off.unwrap().angle.get()));
        }
    }

    #[test]
    fn whatever_is_looked_at_nothing_off_is_called_in_time(
        plan in prop_oneof![plan(), plan_with_loop()], teeth in few_teeth(),
        from in 0_i128..200,
        some in prop::collection::vec(prop::bool::weighted(0.8), 60),
        dots_too in any::<bool>(),
    ) {
        let drive = drive(&plan.yaml_without_pitch());
        let hanging = Hanging::of(&plan, &teeth).within_sight(&plan);
        let ahead = hanging.turns_ahead(&plan);
        let off = (0..plan.shafts.len()).any(|shaft| {
            crate::support::plan::is_timed(plan.shafts[shaft].kind) && !ahead[shaft].is_whole()
        });
        let turns = if from < 100 { 0 } else { plan.turns_until_home(from) };
        let mut seen = after(Fraction::whole(turns));
        let mut look = some.iter().cycle();
        let links: Vec<At> = marked(&plan).filter(|_| *look.next().unwrap()).collect();
        look_at_links(&mut seen, &drive, &plan, &hanging, links.into_iter());
        if dots_too {
            let dots: Vec<At> =
                rig::dots(&plan).into_iter().filter(|_| *look.next().unwrap()).collect();
            let how = (Fraction::ZERO, Say::Teeth);
            look_at_dots(&mut seen, &drive, &plan, &hanging, &dots, how);
        }
        let outcome = verdict(&drive, &seen);
        prop_assert!(!(off && outcome.release_tensioner()), "{:?}", outcome);
    }

    #[test]
    fn sprockets_that_disagree_are_out_of_time_whatever_drives_them(
        plan in plan(), teeth in few_teeth(),
    ) {
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let driven = || marked(&plan).filter(|at| plan.chains[at.0].driver != at.1);
        let mut seen = after(Fraction::ZERO);
        look_at_links(&mut seen, &drive, &plan, &hanging, driven());
        let timed = |at: &At| {
            let kind = plan.shafts[plan.chains[at.0].sprockets[at.1].shaft].kind;
            crate::support::plan::is_timed(kind)
        };
        // By how many teeth two of a chain disagree, and whether that is a whole turn of neither.
        let apart: Vec<(bool, bool)> = driven().filter(timed).flat_map(|at| {
            let (plan, hanging) = (&plan, &hanging);
            driven().filter(timed).filter(move |other| at.0 == other.0).map(move |other| {
                let teeth = |at: At| plan.chains[at.0].sprockets[at.1].teeth;
                let apart = hanging.own(plan, at) - hanging.own(plan, other);
                (apart != 0, apart % teeth(at) != 0 && apart % teeth(other) != 0)
            })
        }).collect();
        let told = verdict(&drive, &seen);
        let expected = if impossible(&told) || apart.iter().all(|(differ, _)| !differ) {
            Verdict::NotProven
        } else if apart.iter().any(|(_, truly)| *truly) {
            Verdict::OutOfTime
        } else {
            // A whole turn may be nothing: both may be in time.
            prop_assert_ne!(told.verdict(), Verdict::InTime);
            return Ok(());
        };
        prop_assert_eq!(told.verdict(), expected);
    }

    #[test]
    fn links_and_dots_that_differ_always_contradict(
        plan in plan(), teeth in few_teeth(), choice in 0_usize..40,
        slip in prop_oneof![-3_i128..=-1, 1_i128..=3],
    ) {
        prop_assume!(has_driven_mark(&plan));
        let (drive, hanging) = (drive(&plan.yaml_without_pitch()), Hanging::of(&plan, &teeth));
        let (at, _) = one_fault(&plan, choice, slip);
        let mut moved = hanging.clone();
        moved.slip(at, slip);
        let shaft = plan.chains[at.0].sprockets[at.1].shaft;
        let before = hanging.turns_ahead(&plan)[shaft];
        prop_assume!(!(moved.turns_ahead(&plan)[shaft] - before).is_whole());
        let mut seen = all_links(&drive, &plan, &hanging, 0);
        let how = (Fraction::ZERO, Say::ShaftDegrees);
        look_at_dots(&mut seen, &drive, &plan, &moved, &rig::dots(&plan), how);
        let outcome = verdict(&drive, &seen);
        let id = shaft_id(&drive, &plan, shaft);
        let named = outcome.doubts().iter().any(
            |doubt| matches!(doubt, Doubt::Contradiction { shaft, .. } if *shaft == id),
        );
        prop_assert!(named, "{:?}", outcome.doubts());
        prop_assert_ne!(outcome.verdict(), Verdict::InTime);
    }

    #[test]
    fn a_loop_whose_chains_differ_is_never_in_time(
        plan in plan_with_loop(), slip in prop_oneof![-3_i128..=-1, 1_i128..=3],
    ) {
        let beside = plan.chains.iter().position(|chain| chain.twin_of.is_some());
        prop_assume!(beside.is_some());
        let (drive, mut hanging) = (drive(&plan.yaml_without_pitch()), Hanging::right(&plan));
        prop_assert_ne!(
            verdict(&drive, &all_links(&drive, &plan, &hanging, 0)).verdict(),
            Verdict::OutOfTime
        );
        hanging.slip((beside.unwrap(), 1), slip);
        let outcome = verdict(&drive, &all_links(&drive, &plan, &hanging, 0));
        let doubtful =
            |doubt: &Doubt| matches!(doubt, Doubt::LoopContradiction { .. });
        prop_assert!(outcome.doubts().iter().any(doubtful), "{:?}", outcome);
        prop_assert_ne!(outcome.verdict(), Verdict::InTime);
    }
}
