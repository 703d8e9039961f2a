//! Attacks on the proof from the library's side, and its limits to both sides.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_arithmetic,
    reason = "a test that cannot go on should stop; tolerances are of the plane"
)]

use crate::support::{drive, engines};
use tautmark::proof::{check_in_fractions, prove, prove_in_fractions};
use tautmark::{
    CheckError, Drive, ObservationError, Observations, Seen, Verdict, check, dot_named,
    job::{Interview, Look, Record, Said, Sight, Unfit},
    link_named,
    plane::{Layout, LayoutError, survey},
    render::draw_svg,
    spec::Stage,
    timing::{
        Basis, Doubt, Elsewhere, FromMarks, Measured, Pose, Reconciliation, elsewhere, explain,
        hang,
    },
    units::{CrankDegrees, LinkPosition, Teeth, Turns},
    valves::{Slips, slip},
};

fn engine(name: &str) -> (String, Drive) {
    let (_, text) = engines()
        .into_iter()
        .find(|(file, _)| file.starts_with(name))
        .unwrap();
    let drive = drive(&text);
    (text, drive)
}

fn see(drive: &Drive, links: &[(&str, &str)], dots: &[(&str, &str)]) -> Observations {
    let mut seen = Observations::at_timed_position();
    for (name, what) in links {
        seen.see_link(
            drive,
            link_named(drive, name).unwrap(),
            what.parse().unwrap(),
        )
        .unwrap();
    }
    for (name, what) in dots {
        let what = what.parse().unwrap();
        seen.see_dot(drive, dot_named(drive, name, what).unwrap(), what)
            .unwrap();
    }
    seen
}

fn verdict(drive: &Drive, links: &[(&str, &str)], dots: &[(&str, &str)]) -> Verdict {
    check(drive, &see(drive, links, dots)).unwrap().verdict()
}

#[test]
fn what_was_seen_at_one_engine_is_an_error_at_another() {
    let all: Vec<Drive> = engines().iter().map(|(_, text)| drive(text)).collect();
    for (i, one) in all.iter().enumerate() {
        let first = one.engagements().next().unwrap().0;
        let marked = one.engagements().find(|(_, s)| s.mark().is_some());
        let mut seen = Observations::at_timed_position();
        if let Some((at, _)) = marked {
            seen.see_link(one, at, Seen::Teeth(Teeth::ZERO)).unwrap();
        } else {
            seen.see_dot(one, first, Seen::Teeth(Teeth::ZERO)).unwrap();
        }
        for (j, other) in all.iter().enumerate().filter(|(j, _)| *j != i) {
            assert_eq!(check(other, &seen), Err(CheckError::OtherDrive), "{i} {j}");
            // Nor is a sprocket of the one taken for one of the other, whatever stands in its place.
            let mut mixed = Observations::at_timed_position();
            for error in [
                mixed.see_link(other, first, Seen::Teeth(Teeth::ZERO)),
                mixed.see_dot(other, first, Seen::Teeth(Teeth::ZERO)),
            ] {
                assert_eq!(error, Err(ObservationError::OtherDrive));
            }
            assert_eq!(Pose::seen(other, &seen).err(), Some(CheckError::OtherDrive));
            let slipped = [(first, Teeth::whole(1))];
            let pose = Pose::slipped(other, Turns::ZERO, &slipped);
            assert_eq!(pose.err(), Some(CheckError::OtherDrive));
            let (pose, proof) = (Pose::seen(one, &seen).unwrap(), check(one, &seen).unwrap());
            assert!(draw_svg(other, &pose, None).is_err());
            let own = Pose::slipped(other, Turns::ZERO, &[]).unwrap();
            assert!(draw_svg(other, &own, Some(&proof)).is_err());
            let mut slips = Slips::none();
            let tooth = "1 ahead".parse().unwrap();
            assert!(slips.slip(other, first, tooth).is_err());
            slips.slip(one, first, tooth).unwrap();
            assert!(slip(other, &slips).is_err());
            let mut record = Record::new(one, "spec");
            record
                .looks
                .push(Look::new(Stage::Hung, seen.clone(), Vec::new()));
            assert!(record.check(one).is_ok() && record.check(other).is_err());
            let chain = one.chains().next().unwrap().0;
            let laid = Layout::new(other, chain);
            assert_eq!(laid.err(), Some(LayoutError::OtherDrive));
            let measured = Measured {
                shaft: one.crank(),
                angle: CrankDegrees::ZERO,
                tolerance: CrankDegrees::ZERO,
                at_camshaft: false,
            };
            let explained = explain(other, &[measured], &FromMarks(other), 1);
            assert_eq!(explained.err(), Some(CheckError::OtherDrive));
            assert!(!other.owns(first) && !other.owns_shaft(one.crank()));
            assert_eq!(other.shaft(one.crank()).name(), "");
            assert_eq!(other.chain(first.chain).name(), "");
            assert_eq!(other.sprocket(first).mark(), None);
        }
    }
}

/// Whichever way it is asked: counted in steps, in fractions, with the drive's whole proof or without.
#[test]
fn no_way_to_ask_takes_what_was_seen_at_another_engine() {
    let (_, wren) = engine("wren-single");
    let (_, kestrel) = engine("kestrel-four");
    let seen = see(&wren, &[("crank", "on")], &[("cam", "on")]);
    let error = tautmark::check(&kestrel, &seen).unwrap_err().to_string();
    let others = [
        check_in_fractions(&kestrel, &seen).unwrap_err(),
        prove(&kestrel, &seen).unwrap_err(),
        prove_in_fractions(&kestrel, &seen).unwrap_err(),
    ];
    for other in others {
        assert_eq!(other.to_string(), error);
    }
}

#[test]
fn one_engine_read_twice_is_one_engine() {
    let (text, one) = engine("kestrel-four");
    let seen = see(
        &one,
        &[("crank", "on"), ("exhaust", "on"), ("intake", "on")],
        &[],
    );
    assert_eq!(check(&drive(&text), &seen), check(&one, &seen));
}

#[test]
fn a_count_past_half_the_teeth_is_refused_and_just_half_is_no_work_order() {
    let (_, drive) = engine("kestrel-four");
    let (crank, intake) = (
        link_named(&drive, "crank").unwrap(),
        link_named(&drive, "intake").unwrap(),
    );
    for (at, past, half) in [(intake, 19, 18), (crank, 10, 9)] {
        for sign in [-1, 1] {
            let mut seen = Observations::at_timed_position();
            for teeth in [past, 36, 400] {
                let teeth = Seen::Teeth(Teeth::whole(sign * teeth));
                assert!(matches!(
                    seen.see_link(&drive, at, teeth),
                    Err(ObservationError::PastHalf { .. })
                ));
                assert!(matches!(
                    seen.see_dot(&drive, at, teeth),
                    Err(ObservationError::PastHalf { .. })
                ));
            }
            seen.see_dot(&drive, at, Seen::Teeth(Teeth::whole(sign * half)))
                .unwrap();
        }
    }
    for angle in ["181 deg", "361 crank deg", "-181 deg"] {
        let mut seen = Observations::at_timed_position();
        assert!(
            seen.see_dot(&drive, intake, angle.parse().unwrap())
                .is_err(),
            "{angle}"
        );
    }
    let half = see(
        &drive,
        &[("crank", "on"), ("exhaust", "on"), ("intake", "18 ahead")],
        &[],
    );
    let proof = check(&drive, &half).unwrap();
    assert_eq!(
        (proof.verdict(), proof.remedies()),
        (Verdict::NotProven, &[][..])
    );
}

#[test]
fn a_link_that_its_sprocket_cannot_hold_is_read_again() {
    let (_, drive) = engine("kestrel-four");
    let with = |link: i64| {
        let mut seen = see(&drive, &[("crank", "on"), ("exhaust", "on")], &[]);
        let at = link_named(&drive, "intake").unwrap();
        seen.see_link(&drive, at, Seen::Link(LinkPosition::whole(link)))
            .unwrap();
        check(&drive, &seen).unwrap()
    };
    // The intake's wrap begins and ends some links to either side of link 68, and link 86 is none
    // of them. A few teeth off the dot is still under the chain.
    for (link, can_be) in [
        (86, false),
        (50, false),
        (84, false),
        (66, true),
        (69, true),
        (68, true),
    ] {
        let proof = with(link);
        let again = proof
            .doubts()
            .iter()
            .any(|doubt| matches!(doubt, Doubt::OutOfMesh { .. } | Doubt::CannotBe { .. }));
        assert_eq!(again, !can_be, "{link}: {:?}", proof.doubts());
        if again {
            assert_eq!(
                (proof.verdict(), proof.remedies()),
                (Verdict::NotProven, &[][..])
            );
        }
    }
}

#[test]
fn what_contradicts_itself_proves_nothing_either_way() {
    let (_, drive) = engine("kestrel-four");
    let links = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    for intake in ["1 ahead", "2 behind", "1/2 ahead"] {
        let dots = [("crank", "on"), ("exhaust", "on"), ("intake", intake)];
        assert_eq!(
            verdict(&drive, &links, &dots),
            Verdict::NotProven,
            "{intake}"
        );
        assert_eq!(
            verdict(
                &drive,
                &[("crank", "on"), ("exhaust", "on"), ("intake", "2 ahead")],
                &dots
            ),
            Verdict::NotProven
        );
    }
    // Another cam that is out by both is out, whatever comes of the first.
    let out = [("crank", "on"), ("exhaust", "2 behind"), ("intake", "on")];
    let dots = [
        ("crank", "on"),
        ("exhaust", "2 behind"),
        ("intake", "1 ahead"),
    ];
    let proof = check(&drive, &see(&drive, &out, &dots)).unwrap();
    assert_eq!(proof.verdict(), Verdict::OutOfTime);
    assert!(
        proof.remedies().is_empty(),
        "read it again before anything is moved"
    );
}

#[test]
fn the_moves_of_the_readme_are_the_right_ones() {
    let (_, drive) = engine("kestrel-four");
    let moves = |links: &[(&str, &str)], dots: &[(&str, &str)]| {
        let proof = check(&drive, &see(&drive, links, dots)).unwrap();
        let name = |remedy: &tautmark::timing::Remedy| {
            let shaft = drive.sprocket(remedy.at).shaft();
            format!("{} {}", drive.shaft(shaft).name(), remedy.teeth)
        };
        (
            proof.verdict(),
            proof.remedies().iter().map(name).collect::<Vec<_>>(),
        )
    };
    let out = |told: &[&str]| {
        let told = told.iter().map(ToString::to_string).collect::<Vec<_>>();
        (Verdict::OutOfTime, told)
    };
    let both = [("exhaust", "1 behind"), ("intake", "1 ahead")];
    assert_eq!(
        moves(&both, &[&[("crank", "on")], &both[..]].concat()),
        out(&["exhaust 1", "intake -1"])
    );
    let both = [("exhaust", "1 behind"), ("intake", "1 behind")];
    assert_eq!(
        moves(&both, &[&[("crank", "on")], &both[..]].concat()),
        out(&["exhaust 1", "intake 1"])
    );
    // Without the crankshaft there is nothing to say.
    assert_eq!(moves(&both, &both).0, Verdict::NotProven);
    assert_eq!(
        moves(
            &[("crank", "on"), ("exhaust", "on")],
            &[("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")]
        ),
        out(&["intake 2"])
    );
}

#[test]
fn a_tooth_at_an_idler_that_nobody_looked_at_is_a_tooth_and_not_wear() {
    let (_, drive) = engine("heron-v6");
    let idler = drive.shaft_named("left-idler").unwrap();
    let tooth = drive
        .chain(drive.shaft(idler).driven_at().unwrap().chain)
        .tooth();
    let mut seen = Observations::at_timed_position();
    for (id, shaft) in drive.shafts() {
        if !drive.is_timed(id) && id != drive.crank() {
            continue;
        }
        let what = if shaft.name().starts_with("left") {
            Seen::CrankDegrees(tooth)
        } else {
            Seen::Teeth(Teeth::ZERO)
        };
        seen.see_dot(&drive, dot_named(&drive, shaft.name(), what).unwrap(), what)
            .unwrap();
    }
    let proof = check(&drive, &seen).unwrap();
    assert_eq!(proof.verdict(), Verdict::OutOfTime);
    let [remedy] = proof.remedies() else {
        panic!("{:?}", proof.remedies());
    };
    assert_eq!(drive.sprocket(remedy.at).shaft(), idler);
    assert_eq!(remedy.teeth, Teeth::whole(-1));
}

#[test]
fn a_link_taken_for_another_ones_is_named() {
    let (_, drive) = engine("kestrel-four");
    let apart = 68 - 51;
    // The exhaust's dot on the intake's link: both are yellow.
    let mut seen = see(
        &drive,
        &[("crank", "on"), ("intake", "on")],
        &[("crank", "on"), ("exhaust", "on")],
    );
    let exhaust = link_named(&drive, "exhaust").unwrap();
    seen.see_link(&drive, exhaust, Seen::Link(LinkPosition::whole(51 + apart)))
        .unwrap();
    let proof = check(&drive, &seen).unwrap();
    assert_ne!(proof.verdict(), Verdict::InTime);
    let named = proof.doubts().iter().any(|doubt| match doubt {
        Doubt::Contradiction { both_true_if, .. } => both_true_if
            .iter()
            .any(|way| matches!(way, Reconciliation::OtherLink(_))),
        Doubt::OthersLink { .. } => true,
        _ => false,
    });
    assert!(named, "{:?}", proof.doubts());
}

/// A quarter link is the most by which marks may differ from the path: held on both sides, by moving a
/// camshaft bit by bit.
#[test]
fn marks_disagree_from_a_quarter_link_on() {
    let (text, _) = engine("kestrel-four");
    let (mut within, mut beyond) = (0, 0);
    for tenths in 0..70 {
        let moved = text.replace(
            "at: [60, 288]",
            &format!("at: [{}, 288]", f64::from(600 + tenths) / 10.0),
        );
        assert!(tenths == 0 || moved != text, "the intake stands elsewhere");
        let drive = drive(&moved);
        let chain = drive.chain_named("main").unwrap();
        let layout = Layout::new(&drive, chain).unwrap();
        let far = drive
            .engagements()
            .filter_map(|(at, _)| layout.residual(&drive, at))
            .map(|residual| residual.off.abs())
            .fold(0.0, f64::max);
        if (far - 0.25).abs() < 0.004 {
            continue;
        }
        let told = survey(&drive)
            .iter()
            .any(|finding| finding.code() == "links-disagree");
        assert_eq!(told, far > 0.25, "{tenths}: {far}");
        if told {
            beyond += 1;
        } else {
            within += 1;
        }
    }
    assert!(within > 5 && beyond > 5, "{within} {beyond}");
}

#[test]
fn what_another_mark_rules_out_is_not_offered_as_an_explanation() {
    let (_, drive) = engine("kestrel-four");
    let links = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    let offered = |exhaust: &str, intake: &str| {
        let dots = [("crank", "on"), ("exhaust", exhaust), ("intake", intake)];
        let proof = check(&drive, &see(&drive, &links, &dots)).unwrap();
        let off_its_mark = |way: &Reconciliation| matches!(way, Reconciliation::CrankOffItsMark(_));
        proof.doubts().iter().any(|doubt| match doubt {
            Doubt::Contradiction { both_true_if, .. } => both_true_if.iter().any(off_its_mark),
            _ => false,
        })
    };
    // A crankshaft off its mark moves both cams, not one.
    assert!(offered("1 ahead", "1 ahead"));
    assert!(!offered("on", "1 ahead"));
    assert!(!offered("1 behind", "1 ahead"));
}

#[test]
fn an_idler_alone_is_off_and_the_drive_in_time() {
    let drive = drive(
        "tautmark: 1
engine: Idler on the chain
crank_turns: clockwise
shafts: { crank: { kind: crankshaft }, idler: { kind: idler }, cam: { kind: camshaft } }
chains:
  main:
    links: 90
    path:
      - { sprocket: crank, teeth: 18, link: 0, dot: 180 }
      - { sprocket: idler, teeth: 20, link: 30, dot: 0 }
      - { sprocket: cam, teeth: 36, link: 60, dot: 0 }
",
    );
    let idler = drive.shaft_named("idler").unwrap();
    let mut seen = Observations::at_timed_position();
    for (id, shaft) in drive.shafts() {
        let off = if id == idler { "1 ahead" } else { "on" };
        if drive.is_marked(id) {
            let what = off.parse().unwrap();
            let at = dot_named(&drive, shaft.name(), what).unwrap();
            seen.see_dot(&drive, at, what).unwrap();
        }
    }
    let proof = check(&drive, &seen).unwrap();
    assert_eq!(proof.verdict(), Verdict::InTime, "{:?}", proof.doubts());
    assert!(proof.doubts().contains(&Doubt::IdlerOff { shaft: idler }));
    assert!(proof.release_tensioner());
}

/// What looks in time on a spec that contradicts itself is not, and nothing is released.
#[test]
fn a_spec_that_contradicts_itself_proves_nothing_in_time() {
    let (text, whole) = engine("kestrel-four");
    let moved = text.replace("at: [60, 288]", "at: [66.5, 288]");
    assert_ne!(moved, text);
    let doubtful = drive(&moved);
    let links = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    let proof = check(&whole, &see(&whole, &links, &[])).unwrap();
    assert_eq!(proof.verdict(), Verdict::InTime);
    let in_doubt = |doubt: &Doubt| matches!(doubt, Doubt::SpecInDoubt { .. });
    assert!(!proof.doubts().iter().any(in_doubt));
    let proof = check(&doubtful, &see(&doubtful, &links, &[])).unwrap();
    assert_eq!(proof.verdict(), Verdict::NotProven);
    assert!(proof.doubts().iter().any(in_doubt));
    assert!(!proof.release_tensioner());
    // What is out stays out.
    let out = [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")];
    let proof = check(&doubtful, &see(&doubtful, &out, &[])).unwrap();
    assert_eq!(proof.verdict(), Verdict::OutOfTime);
}

/// Of an engine with a camshaft more than the spec names nothing is ever in time, whatever is seen, by every way of
/// reckoning; what is out stays out. Said to be all there are, they are in time.
#[test]
fn an_engine_with_a_camshaft_that_is_not_named_is_not_proven() {
    for name in ["kestrel-four", "wren-single", "heron-v6", "dunnock-facing"] {
        let (text, whole) = engine(name);
        let said = whole.camshafts().unwrap();
        assert_eq!(
            (said, whole.camshafts_not_named()),
            (whole.camshafts_named(), 0)
        );
        let line = format!("camshafts: {said}\n");
        assert!(text.contains(&line), "{name}");
        let more = drive(&text.replace(&line, &format!("camshafts: {}\n", said + 1)));
        let unsaid = drive(&text.replace(&line, ""));
        assert_eq!(more.camshafts_not_named(), 1);
        for (drive, verdict) in [
            (&whole, Verdict::InTime),
            (&unsaid, Verdict::InTime),
            (&more, Verdict::NotProven),
        ] {
            let mut seen = Observations::at_timed_position();
            for (_, shaft) in drive.shafts() {
                if let Ok(at) = dot_named(drive, shaft.name(), "on".parse().unwrap()) {
                    seen.see_dot(drive, at, "on".parse().unwrap()).unwrap();
                }
            }
            let proof = check(drive, &seen).unwrap();
            assert_eq!(proof.verdict(), verdict, "{name}");
            assert_eq!(check_in_fractions(drive, &seen).unwrap(), proof);
            let brief = prove(drive, &seen).unwrap();
            assert_eq!(brief.verdict(), verdict, "{name}");
            assert_eq!(brief.release_tensioner(), proof.release_tensioner());
            assert_eq!(prove_in_fractions(drive, &seen).unwrap().verdict(), verdict);
            let left_out = Doubt::CamshaftsNotNamed {
                named: said,
                engine: said + 1,
            };
            assert_eq!(
                proof.doubts().contains(&left_out),
                verdict == Verdict::NotProven
            );
        }
    }
    let (text, _) = engine("kestrel-four");
    let more = drive(&text.replace("camshafts: 2", "camshafts: 4"));
    let out = [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")];
    let proof = check(&more, &see(&more, &out, &[])).unwrap();
    assert_eq!(proof.verdict(), Verdict::OutOfTime);
}

/// Camshaft degrees of a shaft that is none are refused, and never taken for its own.
#[test]
fn only_a_camshaft_has_camshaft_degrees() {
    let (_, drive) = engine("heron-v6");
    for (name, crank) in [("crank", true), ("left/left-idler", false)] {
        let what: Seen = "18 cam deg ahead".parse().unwrap();
        let mut seen = Observations::at_timed_position();
        let refused = seen.see_dot(&drive, dot_named(&drive, name, what).unwrap(), what);
        assert!(
            matches!(refused, Err(ObservationError::NoCamshaft { crank: found, .. }) if found == crank),
            "{refused:?}"
        );
        let at = link_named(&drive, name).unwrap();
        assert!(seen.see_link(&drive, at, what).is_err());
        assert!(seen.dots().is_empty() && seen.links().is_empty());
    }
    let said = [("crank", "on"), ("left-intake", "11.25 cam deg behind")];
    let own = [("crank", "on"), ("left-intake", "11.25 deg behind")];
    assert_eq!(see(&drive, &[], &said), see(&drive, &[], &own));
}

#[test]
fn a_proof_is_of_its_own_drive_only() {
    let (text, one) = engine("kestrel-four");
    let (_, other) = engine("heron-v6");
    let proof = check(&one, &see(&one, &[("crank", "on")], &[])).unwrap();
    assert!(proof.is_of(&one) && proof.is_of(&drive(&text)));
    assert!(!proof.is_of(&other));
    let proof = prove(&one, &see(&one, &[("crank", "on")], &[])).unwrap();
    assert!(proof.is_of(&one) && proof.is_of(&drive(&text)));
    assert!(!proof.is_of(&other));
    // Nor has it anything to say of another one's shaft, asked of whichever drive.
    assert!(proof.shaft(&one, one.crank()).is_some());
    for (of, id) in [
        (&one, other.crank()),
        (&other, one.crank()),
        (&other, other.crank()),
    ] {
        assert_eq!(proof.shaft(of, id), None);
    }
}

/// Twelve camshafts on two chains that both drive all of them: more sprockets than nearly any drive has. What is
/// true of a small one is true of it, and the last sprocket of all counts.
#[test]
fn a_drive_of_many_sprockets_is_judged_as_a_small_one_is() {
    let mut text = String::from(
        "tautmark: 1\nengine: Many\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n",
    );
    for n in 1..=12 {
        text += &format!("  cam{n}: {{ kind: camshaft }}\n");
    }
    text += "chains:\n";
    for chain in ["front", "rear"] {
        text += &format!(
            "  {chain}:\n    links: 400\n    path:\n      - {{ sprocket: crank, teeth: 18, link: 0, dot: 0 }}\n"
        );
        for n in 1..=12 {
            text += &format!(
                "      - {{ sprocket: cam{n}, teeth: 36, link: {}, dot: 0 }}\n",
                30 * n
            );
        }
    }
    let drive = drive(&text);
    assert_eq!(drive.engagements().count(), 26);
    let last = drive.engagements().last().unwrap().0;
    for (off, verdict) in [(0, Verdict::InTime), (-2, Verdict::NotProven)] {
        let mut seen = Observations::at_timed_position();
        for (at, _) in drive.engagements() {
            let teeth = if at == last { off } else { 0 };
            seen.see_link(&drive, at, Seen::Teeth(Teeth::whole(teeth)))
                .unwrap();
        }
        assert_eq!(check(&drive, &seen).unwrap().verdict(), verdict, "{off}");
        assert_eq!(prove(&drive, &seen).unwrap().verdict(), verdict, "{off}");
        let hung = hang(&drive, &seen).unwrap();
        assert_eq!(hung.own(&drive, last).unwrap().teeth, Teeth::whole(off));
        assert_eq!(hung.shafts().len(), 13);
    }
}

/// Moves are enough only where there are some, and every shaft that must be in time is known.
#[test]
fn moves_suffice_only_where_every_timed_shaft_is_known() {
    let (_, drive) = engine("kestrel-four");
    let suffice = |links: &[(&str, &str)]| {
        let proof = check(&drive, &see(&drive, links, &[])).unwrap();
        (!proof.remedies().is_empty(), proof.remedies_suffice(&drive))
    };
    let crank = ("crank", "on");
    let late = ("intake", "2 behind");
    assert_eq!(suffice(&[crank, ("exhaust", "on"), late]), (true, true));
    assert_eq!(suffice(&[crank, late]), (true, false));
    let home = [crank, ("exhaust", "on"), ("intake", "on")];
    assert_eq!(suffice(&home), (false, false));
}

/// A look at the four in line with every mark right: links and dots, and after two turns the dots.
fn good_look(drive: &Drive, stage: Stage) -> Look {
    let on = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    let mut seen = match stage {
        Stage::Turned => Observations::after(Turns::whole(2)).unwrap(),
        _ => see(drive, &on, &[]),
    };
    for (name, what) in on {
        let what = what.parse().unwrap();
        seen.see_dot(drive, dot_named(drive, name, what).unwrap(), what)
            .unwrap();
    }
    Look::new(stage, seen, Vec::new())
}

/// Every mark is right at every stage, and somebody has said that the pin is out, or that the engine was seen from
/// behind: marks do not make that good.
#[test]
fn what_was_denied_at_any_stage_leaves_a_record_of_good_looks_unproven() {
    let (_, drive) = engine("kestrel-four");
    let look = |stage, said: &[(Said, bool)]| {
        let mut look = good_look(&drive, stage);
        look.said = said.to_vec();
        look
    };
    let verdict = |at: Stage, said: &[(Said, bool)]| {
        let mut record = Record::new(&drive, "spec");
        for stage in Stage::ALL {
            let said = if stage == at { said } else { &[] };
            record.looks.push(look(stage, said));
        }
        record.check(&drive).unwrap().verdict()
    };
    for stage in Stage::ALL {
        assert_eq!(verdict(stage, &[]), Verdict::InTime);
        for said in Said::ALL {
            assert_eq!(verdict(stage, &[(said, true)]), Verdict::InTime, "{said:?}");
            let denied = verdict(stage, &[(said, false)]);
            assert_eq!(denied, Verdict::NotProven, "{stage:?} {said:?}");
        }
    }
}

/// Where something resisted it is told of that look itself, and of those before it that they are stale; and a look that
/// proves nothing, taken after one that was out of time, does not put that one aside.
#[test]
fn a_bad_look_after_turning_is_told_as_what_it_is_and_stays() {
    let (_, drive) = engine("kestrel-four");
    let on = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    let late = [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")];
    let look = |stage, links: &[(&str, &str)], dots: &[(&str, &str)]| {
        let mut seen = match stage {
            Stage::Turned => Observations::after(Turns::whole(2)).unwrap(),
            _ => Observations::at_timed_position(),
        };
        for (name, what) in links {
            let at = link_named(&drive, name).unwrap();
            // Two turns on, the links have moved 36 from their dots: counted, and not seen on them.
            let due = tautmark::timing::link_due(&drive, at, seen.turned())
                .unwrap()
                .unwrap();
            let due = match *what {
                "on" => due,
                _ => due
                    .moved(Teeth::whole(-2), drive.chain(at.chain).links())
                    .unwrap(),
            };
            seen.see_link(&drive, at, Seen::Link(due)).unwrap();
        }
        for (name, what) in dots {
            let what = what.parse().unwrap();
            seen.see_dot(&drive, dot_named(&drive, name, what).unwrap(), what)
                .unwrap();
        }
        Look::new(stage, seen, Vec::new())
    };
    let mut record = Record::new(&drive, "spec");
    record.looks.push(look(Stage::Hung, &on, &on));
    record.looks.push(look(Stage::Released, &on, &on));
    record.looks.push(look(Stage::Turned, &[], &on));
    record.looks[2].said.push((Said::TurnedFree, false));
    let proof = record.check(&drive).unwrap();
    let unfit = |place: usize| {
        let mut all = proof.stages.iter().chain(&proof.earlier);
        all.find(|seen| seen.place == place).unwrap().unfit.clone()
    };
    assert_eq!(unfit(2), Some(Unfit::Resisted));
    for place in 0..2 {
        assert!(matches!(unfit(place), Some(Unfit::Stale { .. })), "{place}");
    }
    assert_eq!(proof.verdict(), Verdict::NotProven);

    record.looks[2] = look(Stage::Turned, &late, &[]);
    assert_eq!(record.check(&drive).unwrap().verdict(), Verdict::OutOfTime);
    record.looks.push(look(Stage::Turned, &on, &[]));
    let proof = record.check(&drive).unwrap();
    assert_eq!(
        proof.verdict(),
        Verdict::OutOfTime,
        "by links alone nothing is put right"
    );
    record.looks.push(look(Stage::Turned, &on, &on));
    assert_eq!(record.check(&drive).unwrap().verdict(), Verdict::InTime);
}

/// After turning, the dot of every timed shaft has to be seen at its mark, since links counted to where they are due can be
/// copied; it is told which one was not. A pump on the same chain has none, and need not be back.
#[test]
fn after_turning_it_is_told_what_a_look_in_time_lacks() {
    let unfit = |drive: &Drive, turned: i64, links: &[&str], dots: &[&str]| {
        let mut seen = Observations::after(Turns::whole(turned)).unwrap();
        for name in links {
            let (name, link) = name.split_once('=').unwrap();
            let at = link_named(drive, name).unwrap();
            seen.see_link(drive, at, link.parse().unwrap()).unwrap();
        }
        for name in dots {
            let on = "on".parse().unwrap();
            seen.see_dot(drive, dot_named(drive, name, on).unwrap(), on)
                .unwrap();
        }
        let mut record = Record::new(drive, "spec");
        record
            .looks
            .push(Look::new(Stage::Turned, seen, Vec::new()));
        let proof = record.check(drive).unwrap();
        let looked = proof.stages.iter().chain(&proof.earlier).next().unwrap();
        assert_eq!(looked.check.verdict(), Verdict::InTime);
        looked.unfit.as_ref().map(ToString::to_string)
    };
    let (_, kestrel) = engine("kestrel-four");
    let all = ["crank", "exhaust", "intake"];
    assert_eq!(unfit(&kestrel, 2, &[], &all), None);
    // The chain of 118 links has moved on by 36, one for each tooth of the crankshaft at each turn.
    let two_turns = ["crank=link 82", "exhaust=link 15", "intake=link 32"];
    assert_eq!(unfit(&kestrel, 2, &two_turns, &all), None);
    for missing in all {
        let others: Vec<&str> = all.into_iter().filter(|name| *name != missing).collect();
        assert_eq!(
            unfit(&kestrel, 2, &two_turns, &others).unwrap(),
            format!("after turning, only dots count, and that of {missing} was not looked at")
        );
    }
    let (_, linnet) = engine("linnet-idler");
    assert_eq!(unfit(&linnet, 2, &[], &all), None);
}

/// Hung inside out, the crankshaft's dot stands at its mark as well: it rules out nothing, and the tensioner stays
/// held. The dot of a camshaft rules it out, and so do, later, all dots back at their marks after two turns.
#[test]
fn a_record_takes_dots_for_a_proof_only_where_they_are_one() {
    let (_, drive) = engine("kestrel-four");
    let on = [("crank", "on"), ("exhaust", "on"), ("intake", "on")];
    let look = |stage, links: &[(&str, &str)], dots: &[(&str, &str)]| {
        let mut seen = match stage {
            Stage::Turned => Observations::after(Turns::whole(2)).unwrap(),
            _ => see(&drive, links, &[]),
        };
        for (name, what) in dots {
            let what = what.parse().unwrap();
            seen.see_dot(&drive, dot_named(&drive, name, what).unwrap(), what)
                .unwrap();
        }
        Look::new(stage, seen, Vec::new())
    };
    let mut record = Record::new(&drive, "spec");
    for (dots, released) in [(0, false), (1, false), (2, true)] {
        record.looks = vec![look(Stage::Hung, &on, &on[..dots])];
        let proof = record.check(&drive).unwrap();
        assert_eq!(proof.release_tensioner(), released, "{dots} dots");
        assert_eq!(proof.stages[0].fits.is_empty(), released, "{dots} dots");
    }
    record.looks = vec![
        look(Stage::Hung, &on, &on[..1]),
        look(Stage::Released, &on, &on[..1]),
    ];
    let proof = record.check(&drive).unwrap();
    assert!(!proof.release_tensioner());
    assert!(proof.stages.iter().all(|seen| !seen.fits.is_empty()));
    record.looks.push(look(Stage::Turned, &[], &on));
    let proof = record.check(&drive).unwrap();
    assert!(proof.release_tensioner());
    assert_eq!(proof.verdict(), Verdict::InTime);

    // Of a look that is out of time in just the way of a look-alike that stays told, whatever dots were seen elsewhere.
    let inside_out = [
        ("crank", "on"),
        ("exhaust", "1 behind"),
        ("intake", "1 behind"),
    ];
    record.looks[0] = look(Stage::Hung, &on, &on);
    record.looks[1] = look(Stage::Released, &inside_out, &[]);
    for looks in [3, 2] {
        record.looks.truncate(looks);
        let proof = record.check(&drive).unwrap();
        assert_eq!(proof.verdict(), Verdict::OutOfTime);
        assert!(proof.stages[1].fits.iter().any(|fit| fit.explains));
    }
}

/// A look that says nothing now is told as such until the stage is looked at again; then what counts is the new one, and
/// the old one is kept beside it, also by questions that go on from there.
#[test]
fn a_stage_that_was_looked_at_again_is_told_by_the_new_look() {
    let (_, drive) = engine("kestrel-four");
    let look = |intake| {
        let links = [("crank", "on"), ("exhaust", "on"), ("intake", intake)];
        Look::new(Stage::Hung, see(&drive, &links, &[]), Vec::new())
    };
    let mut record = Record::new(&drive, "spec");
    record.looks = vec![look("on")];
    record.looks[0].stale = Some("the chain was taken off".into());
    let proof = record.check(&drive).unwrap();
    assert!(matches!(
        proof.unfit(Stage::Hung),
        Some(Unfit::Stale { .. })
    ));
    record.looks.push(look("2 behind"));
    let proof = record.check(&drive).unwrap();
    assert_eq!(proof.unfit(Stage::Hung), None);
    assert_eq!(proof.verdict(), Verdict::OutOfTime);

    record.looks = vec![look("2 behind"), look("on")];
    let again = Interview::resume(&drive, "spec", record.clone());
    let kept = again.unwrap().unwrap().record().looks.clone();
    assert_eq!(kept, record.looks);
}

/// What was not said keeps gates closed; it is no denial, and speaks against nothing that was seen.
#[test]
fn what_was_not_said_is_not_denied() {
    let (_, drive) = engine("kestrel-four");
    let mut record = Record::new(&drive, "spec");
    for stage in Stage::ALL {
        let mut look = good_look(&drive, stage);
        look.at = Some("2024-11-25T08:00:00Z".parse().unwrap());
        record.looks.push(look);
    }
    let proof = record.check(&drive).unwrap();
    assert!(proof.stages.iter().all(|seen| !seen.unsaid.is_empty()));
    assert_eq!(proof.verdict(), Verdict::InTime);
    assert!(!proof.release_tensioner());
    // Three links and three dots at two stages, three dots at the last; a mark that could not be seen was looked at, too.
    assert_eq!(record.answers(), 15);
    let hidden = record.looks[2].seen.dots()[0].0;
    record.looks[2].not_seen.push(Sight::Link(hidden));
    assert_eq!(record.answers(), 16);
}

/// The name of a spec file is kept so that it can be read back, and shows what it has in it.
#[test]
fn a_name_that_a_terminal_would_act_on_is_kept_in_escapes() {
    let (_, drive) = engine("kestrel-four");
    assert_eq!(
        Record::new(&drive, "a\u{1b}b.yaml").spec(),
        "a\\u{1b}b.yaml"
    );
}

/// A sensor shows only in what an instrument measured, and so does a key between sprocket and shaft, since the marks are
/// on the sprocket; what is wrong at the crankshaft is wrong by as much everywhere (common practice).
#[test]
fn what_could_be_wrong_elsewhere_depends_on_how_it_was_measured() {
    use Elsewhere::{CamshaftSensor, CrankshaftKey, CrankshaftSensor, Damper, ShaftKey};
    let (_, drive) = engine("kestrel-four");
    let measured = |drive: &Drive, all: &[(&str, &str)]| {
        let read = |(name, text): &(&str, &str)| {
            Measured::read(drive, name, text, CrankDegrees::whole(5)).unwrap()
        };
        elsewhere(drive, &all.iter().map(read).collect::<Vec<_>>()).unwrap()
    };
    let shaft = |drive: &Drive, name| drive.sprocket(link_named(drive, name).unwrap()).shaft();
    let (exhaust, intake) = (shaft(&drive, "exhaust"), shaft(&drive, "intake"));
    let late = ("intake", "20 crank deg behind");
    let by_marks = ("intake", "2 behind");
    let at_intake = [CamshaftSensor(intake), ShaftKey(intake)];
    let at_exhaust = [CamshaftSensor(exhaust), ShaftKey(exhaust)];
    let at_crank = [CrankshaftSensor, Damper, CrankshaftKey];
    let cases = [
        (vec![late], [&at_intake[..], &at_crank].concat()),
        (vec![late, ("exhaust", "0 crank deg")], at_intake.to_vec()),
        // From 25 to 15 behind and from 15 to 5 behind: 15 would do for both; were it 9 and not 10, nothing would.
        (
            vec![late, ("exhaust", "10 crank deg behind")],
            [&at_intake[..], &at_exhaust, &at_crank].concat(),
        ),
        (
            vec![late, ("exhaust", "9 crank deg behind")],
            [at_intake, at_exhaust].concat(),
        ),
        // As far as its tolerance goes it may not be off at all.
        (vec![("intake", "5 crank deg behind")], vec![]),
        (
            vec![("intake", "6 crank deg behind")],
            [&at_intake[..], &at_crank].concat(),
        ),
        // What marks say of the other camshaft says nothing of a sensor.
        (
            vec![late, ("exhaust", "on")],
            [&at_intake[..], &at_crank].concat(),
        ),
        (vec![by_marks], vec![Damper]),
        (vec![by_marks, ("exhaust", "on")], vec![]),
        (vec![("intake", "on"), ("exhaust", "on")], vec![]),
    ];
    for (seen, expected) in cases {
        assert_eq!(measured(&drive, &seen), expected, "{seen:?}");
    }
    // No sensor is on a balance shaft.
    let (_, plover) = engine("plover");
    assert_eq!(
        measured(&plover, &[("balance", "36 crank deg behind")]),
        [&[ShaftKey(shaft(&plover, "balance"))], &at_crank[..]].concat()
    );
}

/// A tolerance is given to a thousandth of a degree at the finest.
#[test]
fn a_tolerance_has_three_places_at_most() {
    let (_, drive) = engine("kestrel-four");
    let read = |tolerance: &str| {
        let text = format!("20 +- {tolerance} crank deg");
        Measured::read(&drive, "intake", &text, CrankDegrees::ZERO).is_ok()
    };
    for (tolerance, taken) in [
        ("0", true),
        ("0.001", true),
        ("0.0001", false),
        ("720", true),
        ("720.001", false),
        ("-1", false),
    ] {
        assert_eq!(read(tolerance), taken, "{tolerance}");
    }
}

/// A picture shows each dot where it was seen to be; what was not looked at lies as it belongs, and is told apart.
#[test]
fn a_pose_is_what_was_seen_and_says_of_what() {
    let (_, drive) = engine("kestrel-four");
    let at = |name| link_named(&drive, name).unwrap();
    let seats = |pose: &Pose| {
        ["crank", "exhaust", "intake"].map(|name| {
            let one = pose.sprocket(&drive, at(name)).unwrap();
            (one.ahead, one.seat, one.basis, one.is_off())
        })
    };
    let whole = Teeth::whole;
    let unseen = (whole(0), whole(0), Basis::Unseen, false);
    let home = (whole(0), whole(0), Basis::Seen, false);
    let pose = |links: &[(&str, &str)], dots: &[(&str, &str)]| {
        Pose::seen(&drive, &see(&drive, links, dots)).unwrap()
    };
    let late = pose(&[("crank", "on"), ("exhaust", "2 behind")], &[]);
    let two_late = (whole(-2), whole(-2), Basis::Seen, true);
    assert_eq!(seats(&late), [home, two_late, unseen]);
    // Two teeth of 36, at half crank speed; the coloured link is 51.
    let exhaust = late.sprocket(&drive, at("exhaust")).unwrap();
    let shaft = drive.sprocket(at("exhaust")).shaft();
    assert_eq!(late.off(&drive, shaft), Ok(CrankDegrees::whole(-40)));
    assert_eq!(
        exhaust.link_on_dot(&drive).unwrap().unwrap().to_string(),
        "49"
    );
    assert_eq!((late.turned(), late.sprockets().len()), (Turns::ZERO, 3));

    let one_ahead = (whole(1), whole(1), Basis::Seen, true);
    let by_dots = pose(&[], &[("crank", "on"), ("intake", "1 ahead")]);
    assert_eq!(seats(&by_dots), [home, unseen, one_ahead]);
    // A link says nothing while the driver's was not looked at; with it, the links are drawn.
    let dots = [("crank", "on"), ("exhaust", "1 behind")];
    let one_late = (whole(-1), whole(-1), Basis::Seen, true);
    assert_eq!(seats(&pose(&[("exhaust", "on")], &dots))[1], one_late);
    let links = [("crank", "on"), ("exhaust", "on")];
    assert_eq!(seats(&pose(&links, &dots))[1], home);

    // The crankshaft is what all is measured from: a tooth ahead in the chain it stands where it did, and takes along
    // both camshafts the other way, their dots on their links.
    let given = |ahead, seat| (whole(ahead), whole(seat), Basis::Given, true);
    let slips = [(at("crank"), whole(1))];
    let slipped = Pose::slipped(&drive, Turns::whole(1), &slips).unwrap();
    assert_eq!(seats(&slipped), [given(0, 1), given(-1, 0), given(-1, 0)]);
    assert_eq!(slipped.turned(), Turns::whole(1));

    let (_, plover) = engine("plover");
    let other = [(link_named(&plover, "crank").unwrap(), whole(1))];
    let refused = Pose::slipped(&drive, Turns::ZERO, &other);
    assert_eq!(refused, Err(CheckError::OtherDrive));
}
