//! Single looks with all that comes of each: verdict, shafts, what is still to be looked at, doubts, moves.
//! They stand where the proof turns on one condition, so that whoever turns it round sees a line change.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::{drive, engines};
use crate::what_follows::{HEAD, behind_an_idler, idler_on_the_chain, one_cam, two_cams};
use tautmark::{
    Drive, Observations, Seen, Verdict, check, dot_named,
    drive::{Engagement, ShaftId},
    job::{Said, Sight},
    link_named,
    spec::Stage,
    timing::{Doubt, Reconciliation, Unseen, name_of},
    units::Turns,
};

fn engine(name: &str) -> Drive {
    let mut all = engines().into_iter();
    let (_, text) = all.find(|(file, _)| file.starts_with(name)).unwrap();
    drive(&text)
}

/// What was looked at, as it would be typed: `2 | crank=on | dot intake=2 ahead` is after two turns.
fn seen(drive: &Drive, look: &str) -> Observations {
    let mut parts = look.split(" | ");
    let turned = parts.next().unwrap().parse().unwrap();
    let mut seen = Observations::after(Turns::whole(turned)).unwrap();
    for part in parts {
        let (name, what) = part.split_once('=').unwrap();
        let what: Seen = what.parse().unwrap();
        let taken = match name.strip_prefix("dot ") {
            Some(name) => seen.see_dot(drive, dot_named(drive, name, what).unwrap(), what),
            None => seen.see_link(drive, link_named(drive, name).unwrap(), what),
        };
        taken.unwrap();
    }
    seen
}

fn doubt(drive: &Drive, doubt: &Doubt) -> String {
    let shaft = |id: ShaftId| drive.shaft(id).name().to_owned();
    let at = |at: Engagement| name_of(drive, at);
    match doubt {
        Doubt::Contradiction {
            shaft: id,
            by_links,
            by_dots,
            both_true_if,
        } => {
            let ways: Vec<String> = both_true_if
                .iter()
                .map(|way| match way {
                    Reconciliation::OtherLink(other) => format!("link of {}", at(*other)),
                    Reconciliation::OneCrankTurn => "one crank turn".into(),
                    Reconciliation::CrankOffItsMark(by) => format!("crank {by} off"),
                    Reconciliation::MisreadByATooth => "misread".into(),
                    Reconciliation::PhaserNotParked => "phaser".into(),
                    Reconciliation::WornChain => "worn".into(),
                    _ => panic!("{way:?}"),
                })
                .collect();
            let ways = ways.join(" or ");
            format!("{} {by_links} or {by_dots} ({ways})", shaft(*id))
        }
        Doubt::LinksAgainstTurns { teeth, .. } => format!("{teeth} links against the turns"),
        Doubt::ShiftedTogether { teeth, .. } => format!("shifted {teeth}"),
        Doubt::OneCrankTurnOut => "one crank turn out".into(),
        Doubt::SlipAtCrank { angle } => format!("slip of {angle} at the crank"),
        Doubt::Disagree {
            first,
            second,
            teeth,
        } => format!("{} against {} {teeth}", at(*second), at(*first)),
        Doubt::NotWholeTeeth { shaft: id, teeth } => format!("{} {teeth} not whole", shaft(*id)),
        Doubt::EitherWay { shaft: id } => format!("{} either way", shaft(*id)),
        Doubt::LinkNotReadable { at: id } => format!("link {} not readable", at(*id)),
        Doubt::CrankHalfTurn => "crank half a turn off".into(),
        Doubt::DotAlone { shaft: id, ahead } => format!("dot {} alone {ahead}", shaft(*id)),
        Doubt::DotAgainstTurns { past } => format!("dot against turns {past}"),
        Doubt::CrankOffMark { past } => format!("crank off {past}"),
        Doubt::IdlerDot { shaft: id, every } => format!("{} back every {every}", shaft(*id)),
        Doubt::OthersLink { at: id, link_of } => format!("{} on link of {}", at(*id), at(*link_of)),
        Doubt::LoopContradiction { at: id } => format!("loop at {}", at(*id)),
        Doubt::IdlerOff { shaft: id } => format!("{} off", shaft(*id)),
        Doubt::OneIsOff => "one is off".into(),
        Doubt::DoesNotFit => "does not fit".into(),
        Doubt::OutOfMesh { at: id, teeth } => format!("{} out of mesh {teeth}", at(*id)),
        Doubt::CannotBe { at: id, teeth } => format!("{} cannot be {teeth}", at(*id)),
        other => panic!("{other:?}"),
    }
}

/// All that comes of a look, in short; empty parts are left out.
fn told(drive: &Drive, look: &str) -> String {
    let proof = check(drive, &seen(drive, look)).unwrap();
    let mut all = vec![match proof.verdict() {
        Verdict::InTime => "in time".to_owned(),
        Verdict::OutOfTime => "OUT".to_owned(),
        Verdict::NotProven => "not proven".to_owned(),
    }];
    let known = proof.shafts().iter().filter_map(|state| {
        let name = drive.shaft(state.shaft).name();
        match (state.off_teeth, state.contradicted) {
            (_, true) => Some(format!("{name} ?")),
            (Some(teeth), false) if state.shaft != drive.crank() => Some(format!("{name} {teeth}")),
            (None, false) if state.shaft == drive.crank() => Some(format!("{name} unknown")),
            _ => None,
        }
    });
    all.push(known.collect::<Vec<_>>().join(", "));
    let open = proof.not_seen().iter().map(|unseen| match unseen {
        Unseen::Link(at) => format!("see link {}", name_of(drive, *at)),
        Unseen::Dot(id) => format!("see dot {}", drive.shaft(*id).name()),
    });
    all.extend(open);
    all.extend(proof.doubts().iter().map(|one| doubt(drive, one)));
    let moves = proof.remedies().iter();
    all.extend(moves.map(|one| format!("move {} {}", name_of(drive, one.at), one.teeth)));
    all.retain(|part| !part.is_empty());
    all.join("; ")
}

/// Two idlers cross-linked beside the way to the camshaft.
fn loop_of_idlers() -> Drive {
    drive(&format!(
        "{HEAD}  left: {{ kind: idler }}
  right: {{ kind: idler }}
  cam: {{ kind: camshaft }}
chains:
  primary:
    links: 40
    path:
      - {{ sprocket: crank, teeth: 8, dot: 180, link: 0 }}
      - {{ sprocket: left, teeth: 12, dot: 0, link: 14 }}
      - {{ sprocket: right, teeth: 12, dot: 0, link: 26 }}
  across:
    links: 40
    path:
      - {{ sprocket: left, teeth: 9, link: 0 }}
      - {{ sprocket: right, teeth: 9, link: 20 }}
  cams:
    links: 50
    path:
      - {{ sprocket: right, teeth: 9, link: 0 }}
      - {{ sprocket: cam, teeth: 12, dot: 0, link: 20 }}
"
    ))
}

/// A camshaft on one chain with two idlers whose dots come back at other times.
fn two_idlers_beside() -> Drive {
    drive(&format!(
        "{HEAD}  hub: {{ kind: idler }}
  slow: {{ kind: idler }}
  quick: {{ kind: idler }}
  cam: {{ kind: camshaft }}
chains:
  primary:
    links: 30
    path:
      - {{ sprocket: crank, teeth: 8, dot: 180, link: 0 }}
      - {{ sprocket: hub, teeth: 12, dot: 0, link: 14 }}
  secondary:
    links: 60
    path:
      - {{ sprocket: hub, teeth: 9, link: 0 }}
      - {{ sprocket: slow, teeth: 10, dot: 0, link: 12 }}
      - {{ sprocket: quick, teeth: 9, dot: 0, link: 25 }}
      - {{ sprocket: cam, teeth: 12, dot: 0, link: 40 }}
"
    ))
}

fn hold(drive: &Drive, looks: &[(&str, &str)]) {
    let wrong: Vec<String> = looks
        .iter()
        .map(|(look, expected)| (look, told(drive, look), expected))
        .filter(|(_, found, expected)| found != *expected)
        .map(|(look, found, expected)| format!("{look}\n  found    {found}\n  expected {expected}"))
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn parts_of_a_tooth_are_told_by_where_they_lead() {
    hold(
        &engine("kestrel-four"),
        &[
            // Off by more than a tooth: no misreading within a tooth explains it.
            (
                "0 | dot crank=3/2 ahead | dot exhaust=on",
                "OUT; exhaust -3/2; see dot intake; exhaust -3/2 not whole; crank off 1/12",
            ),
            // Less than a tooth behind, so it may be wear as well.
            (
                "0 | intake=link 74 | crank=link 25/4 | dot crank=3/2 ahead | exhaust=link 56 | dot exhaust=on",
                "not proven; exhaust ?, intake -1/4; intake -1/4 not whole; exhaust -25 or -30 (crank -5 off or worn or misread); crank off 1/12",
            ),
            // Nothing to measure either of them from.
            (
                "0 | intake=on | exhaust=3/2 ahead",
                "not proven; see link crank; intake against exhaust -3/2",
            ),
            // Ahead is no wear, and 10 degrees are within the range of the phaser.
            (
                "0 | crank=on | dot crank=1/2 behind | intake=link 68 | dot intake=on",
                "not proven; intake ?; see link exhaust; intake 0 or 10 (crank 10 off or phaser or misread); crank off -1/36",
            ),
        ],
    );
    hold(
        &engine("linnet-idler"),
        &[
            (
                "0 | intake=link 87 | dot intake=1/2 behind | exhaust=link 65 | dot crank=on",
                "not proven; exhaust 1/2, intake -1/2; see link crank; exhaust 1/2 not whole; intake -1/2 not whole; intake against exhaust -1",
            ),
            // Two teeth that show at both cams are one slip.
            (
                "0 | dot crank=on | exhaust=link 64 | dot exhaust=2 behind | intake=link 87",
                "OUT; exhaust -2, intake -2; slip of -30 at the crank; move exhaust 2; move intake 2",
            ),
        ],
    );
}

/// By the wrap of its sprocket; also with links after turning, and with the crankshaft past its mark,
/// which carries every dot along.
#[test]
fn a_dot_off_the_chain_is_told_once_and_on_both_sides() {
    hold(
        &engine("kestrel-four"),
        &[
            // Half a turn off says it already.
            (
                "0 | crank=on | exhaust=on | intake=link 86",
                "not proven; exhaust 0, intake 18; intake cannot be 18",
            ),
            (
                "0 | crank=on | intake=link 84",
                "not proven; intake 16; see link exhaust; intake out of mesh 16",
            ),
            (
                "2 | exhaust=link 20 | crank=link 82 | intake=link 50",
                "not proven; exhaust 5, intake 18; intake cannot be 18; exhaust out of mesh 5",
            ),
        ],
    );
    hold(
        &engine("linnet-idler"),
        &[
            (
                "0 | crank=on | intake=link 71",
                "not proven; intake -16; see link exhaust; intake out of mesh -16",
            ),
            (
                "0 | exhaust=link 65 | dot exhaust=9 ahead | dot intake=9 ahead | crank=on | dot crank=9 ahead",
                "not proven; exhaust ?, intake 0; exhaust 15 or 0 (crank -15 off or misread); crank off 3/8; exhaust out of mesh 1",
            ),
            (
                "0 | crank=2 ahead | dot crank=9/2 ahead | intake=link 86 | dot intake=9/2 ahead",
                "not proven; intake ?; see link exhaust; intake -45 or 0 (crank 45 off or phaser); crank off 3/16",
            ),
        ],
    );
}

#[test]
fn dots_that_cannot_be_measured_are_told() {
    hold(
        &engine("linnet-idler"),
        &[(
            "2 | dot exhaust=3/2 ahead | dot intake=on",
            "not proven; see dot crank; dot exhaust alone 1/32",
        )],
    );
    // Both camshafts turn alike, so one of them is off wherever the crankshaft stands.
    hold(
        &drive(&two_cams()),
        &[(
            "0 | dot intake=on | dot exhaust=2 ahead",
            "OUT; see dot crank; dot exhaust alone 1/5; one is off",
        )],
    );
    hold(
        &drive(&one_cam()),
        &[(
            "0 | crank=2 ahead | dot crank=5/2 ahead | dot cam=on",
            "not proven; see link cam; crank half a turn off",
        )],
    );
}

#[test]
fn idlers_are_told_and_lead_on() {
    // After two turns the idler's dot is not back; five teeth of ten are one crank turn.
    // An eighth of a turn at the idler fits some place of the crankshaft, but for parts of a tooth.
    hold(
        &drive(&idler_on_the_chain()),
        &[(
            "0 | dot idler=3/4 ahead | dot cam=on",
            "not proven; see dot crank; dot idler alone 1/8",
        )],
    );
    hold(
        &drive(&idler_on_the_chain()),
        &[(
            "2 | cam=link 10 | crank=link 5 | idler=link 10",
            "not proven; cam -5; see link idler; link idler not readable; cam cannot be -5; cam on link of idler; one crank turn out",
        )],
    );
    hold(
        &drive(&behind_an_idler()),
        &[
            (
                "0 | secondary/idler=link 1 | dot idler=on | cam=link 3 | dot cam=on | dot crank=2 ahead",
                "not proven; idler -2, cam ?; cam -360 or -144 (crank 216 off); crank off 2/5; idler off",
            ),
            // Half the chain either way.
            (
                "0 | crank=on | dot crank=on | secondary/idler=on | dot secondary/idler=2 behind | cam=link 0",
                "not proven; idler -2, cam 3; cam either way; cam cannot be 5; cam on link of secondary/idler; idler off",
            ),
        ],
    );
    // The chain across says that both idlers are alike, the first one that they are not.
    hold(
        &loop_of_idlers(),
        &[(
            "0 | primary/right=link 28 | cam=on | across/right=on | primary/left=on | crank=link 0 | across/left=on | cams/right=on",
            "not proven; left 0, right 2, cam 3/2; loop at across/right; right off",
        )],
    );
}

/// Dots do not count turns. With the crankshaft 7/16 of a turn before its mark and all on the second chain
/// half a crank turn behind, the dots of both idlers look ahead; that both are true only half a turn behind
/// is found a turn of the slower one further back.
#[test]
fn where_dots_leave_whole_turns_open_all_of_them_are_asked() {
    hold(
        &two_idlers_beside(),
        &[(
            "0 | dot crank=7/2 behind | slow=on | quick=on | cam=on | dot slow=35/8 ahead | dot quick=27/8 ahead",
            "OUT; slow -3, quick -3, cam -3; see link primary/hub; see link secondary/hub; crank off -7/16; slow off; quick off; move primary/hub 4",
        )],
    );
}

/// Marks that say of each other that they cannot both be right prove nothing either way, wherever the crankshaft stands.
#[test]
fn what_cannot_all_be_seen_at_once_is_no_proof_that_something_is_off() {
    // The links say that idler and camshaft are right to each other, the dots that they are not.
    hold(
        &drive(&idler_on_the_chain()),
        &[
            (
                "0 | idler=on | cam=on | dot idler=3 ahead | dot cam=on",
                "not proven; see link crank; dot idler alone 1/2",
            ),
            (
                "0 | idler=on | cam=link 9 | dot idler=on | dot cam=on",
                "not proven; see link crank; cam against idler -1",
            ),
        ],
    );
    // Half a turn from its mark, and nobody can say which turn the other dots belong to.
    hold(
        &engine("kestrel-four"),
        &[(
            "0 | dot crank=9 ahead | dot exhaust=9 ahead | dot intake=on",
            "not proven; see dot crank; crank half a turn off",
        )],
    );
}

/// The right idler is off by the loop, and by its own dot. It is left out once; what is left shows the camshaft off.
#[test]
fn a_shaft_that_is_to_blame_twice_is_left_out_all_the_same() {
    hold(
        &loop_of_idlers(),
        &[(
            "0 | primary/crank=on | dot primary/crank=on | dot primary/left=on | primary/right=3 ahead | dot primary/right=on | across/left=4 behind | across/right=on | cams/right=link 33 | dot cams/cam=3 ahead",
            "OUT; left 0, right ?, cam 3; right 135 or 0 (crank -135 off); loop at across/right",
        )],
    );
}

/// A link read on the dot whose neighbour of the same colour was meant: told where all fits with that one, and of that dot alone.
#[test]
fn the_link_of_another_dot_is_named_where_everything_fits_with_it() {
    for name in ["kestrel-four", "linnet-idler"] {
        let drive = engine(name);
        let intake = drive
            .engagements()
            .find(|(_, s)| drive.shaft(s.shaft()).name() == "intake");
        let half = intake.unwrap().1.teeth().get() / 2;
        let found = told(
            &drive,
            &format!("2 | crank=1 ahead | dot crank=on | intake=on | dot intake={half} ahead"),
        );
        assert!(found.contains("(link of exhaust or crank"), "{found}");
        // Another of its marks rules it out.
        let found = told(
            &drive,
            &format!("2 | crank=2 ahead | dot crank=on | intake=on | dot intake={half} ahead"),
        );
        assert!(!found.contains("link of exhaust"), "{found}");
    }
}

/// No misreading within a tooth explains a whole one, however many shafts are off by parts; and what can be told to be moved is told.
#[test]
fn a_tooth_and_a_part_is_out_of_time_at_one_shaft_or_two() {
    hold(
        &engine("tern-between"),
        &[(
            "0 | dot crank=3/2 behind | dot exhaust=on | dot intake=1 ahead",
            "OUT; exhaust 3/2, intake 5/2; exhaust 3/2 not whole; intake 5/2 not whole; crank off -3/34",
        )],
    );
    hold(
        &drive(&two_cams()),
        &[
            (
                "0 | crank=on | exhaust=9/2 behind | intake=3 ahead",
                "OUT; exhaust -9/2, intake 3; exhaust -9/2 not whole; move intake -3",
            ),
            (
                "0 | dot crank=on | dot exhaust=3/2 ahead | dot intake=3 ahead",
                "OUT; exhaust 3/2, intake 3; exhaust 3/2 not whole; move intake -3",
            ),
        ],
    );
    // Just a tooth of the first chain, and three quarters of one of the second.
    hold(
        &two_idlers_beside(),
        &[(
            "0 | crank=1 ahead | dot crank=1 ahead | dot primary/hub=1 ahead | dot quick=4 ahead | dot cam=on",
            "OUT; hub 0, quick 13/4, cam -3/4; quick 13/4 not whole; cam -3/4 not whole; crank off 1/8; quick off",
        )],
    );
}

/// A phaser that is not parked explains as much as it can move, and no degree more.
#[test]
fn a_phaser_explains_what_it_can_move() {
    hold(
        &engine("kestrel-four"),
        &[
            (
                "0 | crank=on | dot crank=on | exhaust=on | intake=on | dot intake=50 crank deg",
                "not proven; exhaust 0, intake ?; intake 0 or 50 (crank 50 off or phaser)",
            ),
            (
                "0 | crank=on | dot crank=on | exhaust=on | intake=on | dot intake=51 crank deg",
                "not proven; exhaust 0, intake ?; intake 0 or 51 (crank 51 off)",
            ),
        ],
    );
}

/// Nobody looked at the idler between: it is moved by whole teeth that leave whole teeth behind it.
#[test]
fn an_idler_that_nobody_looked_at_is_moved_by_what_leaves_whole_teeth() {
    hold(
        &two_idlers_beside(),
        &[(
            "1 | dot crank=2 ahead | dot cam=on",
            "OUT; cam 9/2; crank off 1/4; move primary/hub -2; move cam -3",
        )],
    );
    hold(
        &loop_of_idlers(),
        &[(
            "2 | dot crank=2 ahead | dot cam=2 ahead",
            "OUT; cam 1/2; crank off 1/4; move primary/right -2; move cam 1",
        )],
    );
}

/// The crankshaft is left standing: the chain is laid over at its sprocket, where another link is on its dot already and
/// stays there, and never by more than half of its teeth.
#[test]
fn the_chain_is_laid_over_where_another_link_stays_on_its_dot() {
    hold(
        &drive(&one_cam()),
        &[
            ("0 | crank=2 ahead | cam=on", "OUT; cam -2; move crank -2"),
            // Nothing of the chain is on its dot, so each camshaft is moved by what it is off.
            ("4 | crank=link 10 | cam=on", "OUT; cam 4; move cam -4"),
        ],
    );
    hold(
        &engine("plover-three"),
        &[(
            "0 | crank=2 ahead | exhaust=on | balance=on",
            "OUT; exhaust -2, balance -2; see link intake; move crank -2",
        )],
    );
    // Just half of its twenty teeth.
    hold(
        &engine("wren-single"),
        &[(
            "0 | crank=10 ahead | cam=on",
            "OUT; cam -10; move crank -10",
        )],
    );
    // Where a tooth at the camshaft does it the idler is left alone.
    hold(
        &drive(&behind_an_idler()),
        &[(
            "0 | dot crank=1 ahead | dot cam=on",
            "OUT; cam -1; crank off 1/5; move cam 1",
        )],
    );
}

/// The crankshaft comes round twice a cycle: with all camshafts half a turn out one more turn of it tells.
#[test]
fn half_a_turn_at_every_camshaft_is_asked_and_at_one_is_told() {
    hold(
        &drive(&two_cams()),
        &[(
            "3 | dot crank=on | dot exhaust=on | dot intake=on",
            "not proven; exhaust 5, intake 5; exhaust either way; intake either way; one crank turn out",
        )],
    );
    // Half a turn of the idler before it, either way, and what that makes of the camshaft is told as either way.
    hold(
        &loop_of_idlers(),
        &[(
            "0 | crank=on | dot crank=on | primary/left=on | dot primary/right=6 ahead | dot across/left=on | across/right=on | cams/right=on | cam=on",
            "OUT; left 0, right 6, cam 9/2; cam either way; right off; move primary/right -6",
        )],
    );
}

/// A camshaft without a coloured link is asked for by its dot, whatever links the rest of its chain has.
#[test]
fn no_link_is_asked_for_that_the_spec_does_not_give() {
    let bare = two_cams().replace(", dot: 0, link: 11 }", ", dot: 0 }");
    assert_ne!(bare, two_cams());
    let found = told(&drive(&bare), "0 | crank=on | exhaust=on");
    assert!(found.contains("see dot crank; see dot intake"), "{found}");
    assert!(!found.contains("see link"), "{found}");
}

/// Teeth are counted at one sprocket: of a shaft with several, whose teeth differ, it is asked which. What is the same at all of
/// them, nothing off or degrees, is taken as it is; and capitals are no other name.
#[test]
fn teeth_of_a_shaft_with_unlike_sprockets_are_asked_back() {
    let drive = two_idlers_beside();
    let named = |name: &str, what: &str| dot_named(&drive, name, what.parse().unwrap());
    let hub = named("primary/hub", "1 ahead").unwrap();
    assert_eq!(named("hub", "on"), Ok(hub));
    assert_eq!(named("hub", "10 deg"), Ok(hub));
    assert_eq!(named("HUB", "on"), Ok(hub));
    let refused = named("hub", "1 ahead").unwrap_err().to_string();
    assert!(
        refused.contains("primary/hub or secondary/hub"),
        "{refused}"
    );
    assert!(named("quick", "1 ahead").is_ok());
}

/// What was typed is said back as it may be typed again, and what cannot have been seen is refused with what may be.
#[test]
fn what_was_seen_reads_back_or_is_refused() {
    for (typed, said) in [
        ("on", "on"),
        ("ok", "on"),
        ("0", "on"),
        ("2 behind", "2 behind"),
        // Spaces that slipped in.
        ("  2   behind ", "2 behind"),
        ("link  44 ", "link 44"),
        ("-2", "2 behind"),
        ("+1/2", "1/2 ahead"),
        ("400 ahead", "400 ahead"),
        ("1/16 ahead", "1/16 ahead"),
        ("0.125 ahead", "1/8 ahead"),
        ("0.001 ahead", "1/1000 ahead"),
        ("18.5 crank deg", "37/2 crank deg ahead"),
        ("0 deg", "0 deg ahead"),
        ("9 cam deg late", "9 cam deg behind"),
        ("720 deg", "720 deg ahead"),
        ("link 0", "link 0"),
        ("link 44.5", "link 89/2"),
        ("link 1999.5", "link 3999/2"),
    ] {
        let seen: Seen = typed.parse().unwrap();
        assert_eq!(seen.to_string(), said, "{typed}");
        assert_eq!(said.parse(), Ok(seen), "{typed}");
    }
    let form = "expected on, '2 ahead', '1 behind', +2, -1, '18.5 deg', '18.5 crank deg behind' or 'link 44'";
    let side = "ahead or behind? (say '2 ahead' or '2 behind')";
    let fine = "finer than can be seen (give at most three decimals, or a fraction such as 1/16)";
    let far = "further than can be seen (at most 400 teeth, 720 degrees or link 1999.5)";
    for (typed, error) in [
        ("", form),
        ("link", form),
        ("link x", form),
        ("+2 behind", form),
        ("2 wide", form),
        ("2", side),
        ("1/17 ahead", fine),
        ("1/32 ahead", fine),
        ("0.0001 ahead", fine),
        ("link -1", far),
        ("link 2000", far),
        ("401 ahead", far),
        ("721 deg", far),
    ] {
        assert_eq!(
            typed.parse::<Seen>().unwrap_err().to_string(),
            error,
            "{typed}"
        );
    }
}

/// Capitals make no difference, unless they are all that tells two shafts apart. Turns are told to three places.
#[test]
fn names_and_turns_are_taken_as_they_are_typed() {
    let one = drive(&one_cam());
    assert_eq!(link_named(&one, "CAM"), link_named(&one, "cam"));
    let two = drive(
        &two_cams()
            .replace("exhaust", "CAM")
            .replace("intake", "Cam"),
    );
    assert_ne!(
        link_named(&two, "CAM").unwrap(),
        link_named(&two, "Cam").unwrap()
    );
    assert!(link_named(&two, "cam").is_err());
    let after = |turned: &str| Observations::after(Turns::new(turned.parse().unwrap()));
    assert!(after("1.999").is_ok() && after("1/1000").is_ok());
    assert!(after("1/1001").is_err());
}

/// A crankshaft that drives two chains has one dot to hold against the engine, by whichever of its sprockets it is named,
/// and a coloured link on each. What the spec gives no mark for is nothing to look at.
#[test]
fn a_sight_is_the_shaft_s_dot_and_each_sprocket_s_link() {
    let buzzard = engine("buzzard-v8");
    let same = |a: &str, b: &str| {
        let [a, b] = [a, b].map(|name| Sight::named(&buzzard, name).unwrap());
        a.is_same(&buzzard, b)
    };
    assert!(same("dot left/crank", "dot right/crank"));
    assert!(same("dot crank", "dot right/crank"));
    assert!(!same("dot crank", "dot left-intake"));
    assert!(!same("link left/crank", "link right/crank"));
    assert!(!same("link left/crank", "dot left/crank"));
    let linnet = engine("linnet-idler");
    for (name, error) in [
        ("dot oil-pump", "the spec gives no dot for shaft 'oil-pump'"),
        (
            "link oil-pump",
            "the spec gives neither a coloured link nor a dot for 'oil-pump' (it need not be looked at)",
        ),
        (
            "oil-pump",
            "expected 'link SHAFT' or 'dot SHAFT', such as 'link crank'",
        ),
    ] {
        assert_eq!(Sight::named(&linnet, name).unwrap_err(), error);
    }
}

/// What has to be said before the next stage is what the engine gives reason to ask: for a pin where a tensioner is, or may
/// be as nothing says how the chain runs; for tools where the job has some; for bolts where a phaser is.
#[test]
fn what_has_to_be_said_is_what_the_engine_has() {
    let needed = |text: &str| {
        let drive = drive(text);
        let words = |stage| {
            let said = Said::needed(&drive, stage);
            let words: Vec<&str> = said.into_iter().map(Said::word).collect();
            words.join(" ")
        };
        Stage::ALL.map(words)
    };
    let text = |name: &str| {
        let mut all = engines().into_iter();
        all.find(|(file, _)| file.starts_with(name)).unwrap().1
    };
    let wren = ["pin-in slack-side", "pins-out", "turned-free"];
    assert_eq!(needed(&text("wren-single")), wren);
    let kestrel = text("kestrel-four");
    assert_eq!(
        needed(&kestrel),
        [
            "pin-in phaser-parked slack-side",
            "pins-out bolts-tight",
            "turned-free"
        ]
    );
    let parked = "parked: retarded }";
    assert!(kestrel.contains(parked));
    assert_eq!(
        needed(&kestrel.replace(parked, "parked: retarded, hand_tight: true }")),
        [
            "pin-in phaser-parked bolts-loose slack-side",
            "pins-out bolts-tight",
            "turned-free"
        ]
    );
    // Two sprockets that face each other, with a chain that nothing else touches.
    let dunnock = text("dunnock-facing");
    assert_eq!(needed(&dunnock), ["", "", "turned-free"]);
    let tools = format!("{dunnock}tools: [crankshaft pin]\n");
    assert_eq!(needed(&tools), ["tools-in", "pins-out", "turned-free"]);
    // Where a pitch or a place is not given, a tensioner may be there.
    for gone in ["    pitch: 9.525\n", ", at: [0, 110.1]"] {
        assert!(dunnock.contains(gone));
        assert_eq!(needed(&dunnock.replace(gone, "")), wren, "{gone}");
    }
    for said in Said::ALL {
        assert_eq!(Said::from_word(said.word()), Some(said));
        let other_way = ["bolts-loose", "pins-out", "turned-free"].contains(&said.word());
        assert_eq!(said.is_asked_the_other_way(), other_way, "{}", said.word());
    }
    assert_eq!(Said::from_word("slack"), None);
}

#[test]
fn what_cannot_be_of_the_drive_is_refused_in_these_words() {
    let kestrel = engine("kestrel-four");
    let linnet = engine("linnet-idler");
    let heron = engine("heron-v6");
    let refused = |drive: &Drive, looks: &[(&str, bool, &str)]| {
        let mut seen = Observations::at_timed_position();
        let mut last = String::new();
        for (name, dot, what) in looks {
            let what: Seen = what.parse().unwrap();
            let taken = if *dot {
                dot_named(drive, name, what).and_then(|at| seen.see_dot(drive, at, what))
            } else {
                link_named(drive, name).and_then(|at| seen.see_link(drive, at, what))
            };
            last = taken
                .err()
                .map_or_else(String::new, |error| error.to_string());
        }
        last
    };
    for (drive, looks, error) in [
        (
            &kestrel,
            &[("exhuast", false, "on")][..],
            "no shaft is called 'exhuast' (did you mean 'exhaust'?)",
        ),
        (
            &kestrel,
            &[("zzzzzzzz", false, "on")],
            "no shaft is called 'zzzzzzzz' (the spec has: crank, exhaust, intake)",
        ),
        (
            &kestrel,
            &[("mian/crank", false, "on")],
            "no chain is called 'mian' (did you mean 'main'?)",
        ),
        (
            &kestrel,
            &[("zzzzzz/crank", false, "on")],
            "no chain is called 'zzzzzz' (the spec has: main)",
        ),
        (
            &heron,
            &[("left/crank", false, "on")],
            "shaft 'crank' has no sprocket on chain 'left'",
        ),
        (
            &heron,
            &[("left-idler", false, "on")],
            "'left-idler' carries several sprockets: which one? (say primary/left-idler or left/left-idler)",
        ),
        (
            &linnet,
            &[("oil-pump", false, "on")],
            "the spec gives neither a coloured link nor a dot for 'oil-pump' (it need not be looked at)",
        ),
        (
            &linnet,
            &[("oil-pump", true, "on")],
            "the spec gives no dot for shaft 'oil-pump'",
        ),
        (
            &kestrel,
            &[("crank", false, "on"), ("crank", false, "on")],
            "'crank' is given twice (once is enough)",
        ),
        (
            &kestrel,
            &[("crank", true, "on"), ("crank", true, "on")],
            "'crank' is given twice (once is enough)",
        ),
        (
            &kestrel,
            &[("crank", true, "link 1")],
            "'crank': a link number says which link lies on a dot; say how far the dot is from its reference mark instead",
        ),
        (
            &kestrel,
            &[("crank", false, "link 118")],
            "'crank': link 118 is not on this chain (its links are 0 to 117)",
        ),
        (&kestrel, &[("crank", false, "link 117.5")], ""),
        (
            &kestrel,
            &[("crank", false, "10 ahead")],
            "'crank': that is more than half a turn of its sprocket of 18 teeth (read it again, and count the shorter way round)",
        ),
    ] {
        assert_eq!(refused(drive, looks), error, "{looks:?}");
    }
    let fine = |shown: &str| {
        format!(
            "'{shown}' crank turns is finer than can be seen (give at most three decimals, or a fraction such as 1/1000)"
        )
    };
    let most = Observations::MAX_TURNED;
    let range = |shown: &str| {
        format!(
            "'{shown}' is not in the required range of 0..={most} crank turns (an engine is turned by hand in its normal direction only)"
        )
    };
    let past = format!("{}", most + 1);
    for (turned, error) in [
        ("1/1001", fine("1/1001")),
        ("-1", range("-1")),
        (&past, range(&past)),
    ] {
        let turned = Turns::new(tautmark::units::Exact::parse(turned).unwrap());
        assert_eq!(Observations::after(turned).unwrap_err().to_string(), error);
    }
    for turned in [0, most] {
        assert!(Observations::after(Turns::whole(turned)).is_ok());
    }
}
