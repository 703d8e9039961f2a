//! Ways in which the marks look right and are wrong: each one that is told is hung in arrays and
//! looked at, and on small drives every way of laying links on dots is tried, so that none is missed.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::plan::plan;
use crate::support::program::{engine, scratch, tautmark};
use crate::support::simulator::Simulator;
use crate::support::written::Written;
use crate::support::{drive, engines};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use tautmark::{
    Drive,
    drive::{ChainId, Engagement, ShaftId},
    spec::ShaftKind,
    timing::{Lookalike, LookalikeKind, Unseen, ambiguous, lookalikes},
    units::Turns,
};

/// Dot, and the sprocket whose link lies on it.
type Pairs = Vec<(Engagement, Engagement)>;

/// How a lookalike is hung: on which chain, which links on which dots, and whether inside out.
fn hung(lookalike: &Lookalike) -> Option<(ChainId, Pairs, bool)> {
    Some(match &lookalike.kind {
        LookalikeKind::LinksMoved { chain, links } => (*chain, links.clone(), false),
        LookalikeKind::InsideOut { chain, links } => (*chain, links.clone(), true),
        LookalikeKind::BanksSwapped {
            chain,
            links,
            inside_out,
            ..
        } => (*chain, links.clone(), *inside_out),
        _ => return None,
    })
}

fn degrees(angle: tautmark::units::CrankDegrees) -> Fraction {
    Fraction::of(angle.get())
}

/// Hangs a lookalike in the arrays: the links on the dots are those that it says, of the right colour,
/// and the shafts are off by just what it says.
fn hang(text: &str, drive: &Drive, lookalike: &Lookalike) {
    let (chain, pairs, inside_out) = hung(lookalike).unwrap();
    let mut arrays = Simulator::new(&Written::read(text));
    let all: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
    let index = |at: Engagement| all.iter().position(|other| *other == at).unwrap();
    let link = |at: Engagement| Fraction::of(drive.sprocket(at).mark().unwrap().link.get());
    let colour = |at: Engagement| drive.sprocket(at).mark().unwrap().colour.clone();
    if inside_out {
        arrays.turn_inside_out(chain.index());
    }
    // The chain is laid on the sprocket that drives it, a tooth on at a time; the others go along.
    let driver = drive.driver_of(chain);
    let on_driver = pairs.iter().find(|(at, _)| *at == driver).unwrap().1;
    let mut gone = 0;
    while arrays.link_on_dot(index(driver)) != Some(link(on_driver)) {
        arrays.slip(index(driver), 1);
        gone += 1;
        assert!(
            gone <= i32::from(drive.chain(chain).links().get()),
            "{lookalike:?}"
        );
    }
    // Then every other sprocket is put back, and on by what it is said to be off.
    let tooth = degrees(drive.chain(chain).tooth());
    for (at, _) in drive.chain(chain).engagements(chain) {
        if at == driver {
            continue;
        }
        let shaft = drive.sprocket(at).shaft();
        let off = lookalike.off.iter().find(|(id, _)| *id == shaft);
        let teeth = off.map_or(Fraction::ZERO, |(_, angle)| degrees(*angle) / tooth);
        assert!(teeth.is_whole(), "{lookalike:?}");
        let teeth = i32::try_from(teeth.above()).unwrap();
        arrays.slip(index(at), gone + teeth);
        let Some((_, owner)) = pairs.iter().find(|(dot, _)| *dot == at) else {
            continue;
        };
        assert_eq!(
            arrays.link_past(index(at), i64::from(teeth)),
            link(*owner),
            "{lookalike:?}"
        );
        // Nearer to its place than half a turn, it is there that one sees it.
        if 2 * teeth.unsigned_abs() < u32::from(drive.sprocket(at).teeth().get()) {
            assert_eq!(
                arrays.link_on_dot(index(at)),
                Some(link(*owner)),
                "{lookalike:?}"
            );
        }
    }
    for (at, owner) in &pairs {
        assert_eq!(colour(*at), colour(*owner), "{lookalike:?}");
    }
    for (id, shaft) in drive.shafts() {
        let turn = Fraction::of(shaft.period()) * Fraction::whole(360);
        let ahead = Fraction::new(
            i128::from(arrays.steps_ahead(id.index())),
            i128::from(arrays.crank_steps_around()),
        ) * Fraction::whole(360);
        let said = lookalike.off.iter().find(|(other, _)| *other == id);
        let said = said.map_or(Fraction::ZERO, |(_, angle)| degrees(*angle));
        if drive.is_marked(id) {
            assert!(
                ((ahead - said) / turn).is_whole(),
                "{}: {lookalike:?}",
                shaft.name()
            );
        }
    }
    assert!(
        !lookalike.off.is_empty() && !arrays.all_home(),
        "{lookalike:?}"
    );
}

/// What would settle it really looks another way than in the truth.
fn settled(drive: &Drive, lookalike: &Lookalike) {
    if let LookalikeKind::WrongLinkAfterTurning { at, .. } = lookalike.kind {
        let shaft = drive.sprocket(at).shaft();
        assert!(
            lookalike
                .settled_by
                .is_none_or(|by| by == Unseen::Dot(shaft))
        );
        return;
    }
    let has_dot = |id: ShaftId| {
        let all = drive.shaft(id).engagements();
        all.iter().any(|at| drive.sprocket(*at).dot().is_some())
    };
    match lookalike.settled_by {
        Some(Unseen::Dot(id)) => {
            assert!(has_dot(id), "{lookalike:?}");
            let (_, angle) = lookalike
                .off
                .iter()
                .find(|(other, _)| *other == id)
                .unwrap();
            let turn = Fraction::of(drive.shaft(id).period()) * Fraction::whole(360);
            assert!(!(degrees(*angle) / turn).is_whole(), "{lookalike:?}");
        }
        Some(other) => panic!("{other:?} of {lookalike:?}"),
        None => {
            let one_turn_out = lookalike.kind == LookalikeKind::CrankTurnOut;
            for (id, _) in &lookalike.off {
                let is_camshaft = drive.shaft(*id).kind() == ShaftKind::Camshaft;
                assert!(
                    !has_dot(*id) || (one_turn_out && !is_camshaft),
                    "{lookalike:?}"
                );
            }
        }
    }
}

#[test]
fn every_friend_of_every_engine_looks_right_and_is_wrong() {
    let mut found: BTreeMap<&str, usize> = BTreeMap::new();
    let engines = engines();
    for (_, text) in &engines {
        let drive = drive(text);
        for lookalike in lookalikes(&drive).unwrap() {
            settled(&drive, &lookalike);
            assert!(lookalike.settled_by.is_some(), "{lookalike:?}");
            if lookalike.while_hanging() {
                hang(text, &drive, &lookalike);
            }
            let kind = match lookalike.kind {
                LookalikeKind::CrankTurnOut => "crank turn",
                LookalikeKind::LinksMoved { .. } => "moved",
                LookalikeKind::InsideOut { .. } => "inside out",
                LookalikeKind::BanksSwapped { .. } => "banks",
                LookalikeKind::WrongLinkAfterTurning { .. } => "after turning",
                LookalikeKind::LinksBackDotsAway { .. } => "dots away",
                _ => "other",
            };
            *found.entry(kind).or_default() += 1;
        }
    }
    // Every engine can be a turn out; the V8's banks and the V6's can be taken for each other.
    assert_eq!(found["crank turn"], engines.len());
    assert!(found["banks"] >= 4, "{found:?}");
    assert!(found["inside out"] >= 5, "{found:?}");
}

/// A crankshaft and as many camshafts on one chain: everything on the outside of it, so that any
/// number of links will do.
#[derive(Clone, Debug)]
struct Small {
    crank: i64,
    links: i64,
    /// By sprocket: its mark in half links, its colour and whether its dot points anywhere.
    marks: Vec<(i64, u8, bool)>,
    /// Sprocket at which the path is begun to be told.
    told_from: usize,
}

fn small() -> impl Strategy<Value = Small> {
    (5_i64..=9, 12_i64..=50, 2_usize..=4)
        .prop_flat_map(|(crank, links, count)| {
            (
                Just(crank),
                Just(links),
                prop::collection::vec(
                    (
                        0..2 * links,
                        prop::bool::weighted(0.2),
                        0_u8..3,
                        any::<bool>(),
                    ),
                    count,
                ),
                0..count,
                0..links,
            )
        })
        .prop_filter_map(
            "two dots on one link",
            |(crank, links, marks, told_from, start)| {
                let mut places: Vec<i64> = marks
                    .iter()
                    .map(|(place, half, ..)| place / 2 * 2 + i64::from(*half))
                    .collect();
                places.sort_unstable();
                let apart = |a: i64, b: i64| (b - a).rem_euclid(2 * links) >= 4;
                let count = places.len();
                (0..count)
                    .all(|i| apart(places[i], places[(i + 1) % count]))
                    .then(|| Small {
                        crank,
                        links,
                        marks: places
                            .iter()
                            .zip(&marks)
                            .map(|(place, (_, _, colour, dot))| {
                                ((place + 2 * start).rem_euclid(2 * links), *colour, *dot)
                            })
                            .collect(),
                        told_from,
                    })
            },
        )
}

impl Small {
    fn teeth(&self, sprocket: usize) -> i64 {
        if sprocket == 0 {
            self.crank
        } else {
            2 * self.crank
        }
    }

    fn name(sprocket: usize) -> String {
        if sprocket == 0 {
            "crank".into()
        } else {
            format!("cam{sprocket}")
        }
    }

    fn yaml(&self) -> String {
        let mut text =
            "tautmark: 1\nengine: x\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n"
                .to_owned();
        for sprocket in 1..self.marks.len() {
            let _ = writeln!(text, "  {}: {{ kind: camshaft }}", Self::name(sprocket));
        }
        let _ = writeln!(
            text,
            "chains:\n  main:\n    links: {}\n    path:",
            self.links
        );
        let count = self.marks.len();
        for i in 0..count {
            let sprocket = (i + self.told_from) % count;
            let (place, colour, dot) = self.marks[sprocket];
            let (name, teeth) = (Self::name(sprocket), self.teeth(sprocket));
            let _ = write!(
                text,
                "      - {{ sprocket: {name}, teeth: {teeth}, outside: true"
            );
            let link = place / 2;
            let _ = if place % 2 == 0 {
                write!(text, ", link: {link}")
            } else {
                write!(text, ", links: [{link}, {}]", (link + 1) % self.links)
            };
            let _ = match colour {
                0 => Ok(()),
                1 => write!(text, ", colour: blue"),
                _ => write!(text, ", colour: yellow"),
            };
            if dot {
                text.push_str(", dot: 10");
            }
            text.push_str(" }\n");
        }
        text
    }

    /// Every way to lay links on dots so that each dot has one of its colour, the chain either way
    /// round, that can be hung and puts a shaft out of place: inside out or not, for each sprocket
    /// whose link lies on its dot, and how many teeth that puts it ahead.
    fn by_trying(&self) -> Vec<(bool, Vec<usize>, Vec<i64>)> {
        let count = self.marks.len();
        let mut found = Vec::new();
        for inside_out in [false, true] {
            for way in 0..count.pow(u32::try_from(count).unwrap()) {
                let on: Vec<usize> = (0..count)
                    .map(|dot| way / count.pow(u32::try_from(dot).unwrap()) % count)
                    .collect();
                if let Some(ahead) = self.hung(&on, inside_out)
                    && ahead.iter().any(|teeth| *teeth != 0)
                {
                    found.push((inside_out, on, ahead));
                }
            }
        }
        found
    }

    fn hung(&self, on: &[usize], inside_out: bool) -> Option<Vec<i64>> {
        let count = self.marks.len();
        let around = 2 * self.links;
        let place = |sprocket: usize| self.marks[sprocket].0;
        let lies = |dot: usize| {
            let link = place(on[dot]);
            if inside_out { -link } else { link }
        };
        let looks_right = (0..count).all(|dot| {
            self.marks[dot].1 == self.marks[on[dot]].1 && place(dot) % 2 == place(on[dot]) % 2
        });
        // From each dot to the next along the path, and around to the first: once around the loop.
        let gap = |from: i64, to: i64| (to - from).rem_euclid(around);
        let gaps: Vec<i64> = (0..count)
            .map(|dot| gap(lies(dot), lies((dot + 1) % count)))
            .collect();
        if !looks_right || gaps.contains(&0) || gaps.iter().sum::<i64>() != around {
            return None;
        }
        let (mut hung, mut right, mut ahead) = (0, 0, vec![0]);
        for dot in 1..count {
            hung += gaps[dot - 1];
            right += gap(place(dot - 1), place(dot));
            let teeth = (hung - right) / 2;
            // With its dot a whole turn away the sprocket would not hold the chain by it.
            if teeth.abs() >= self.teeth(dot) {
                return None;
            }
            ahead.push(teeth);
        }
        Some(ahead)
    }
}

/// What the library finds, in the same form.
fn enumerated(small: &Small, drive: &Drive) -> Vec<(bool, Vec<usize>, Vec<i64>)> {
    let count = small.marks.len();
    let sprocket = |at: Engagement| (usize::from(at.sprocket) + small.told_from) % count;
    let mut found = Vec::new();
    for lookalike in lookalikes(drive).unwrap() {
        let Some((_, links, inside_out)) = hung(&lookalike) else {
            continue;
        };
        let mut on = vec![usize::MAX; count];
        for (dot, owner) in links {
            on[sprocket(dot)] = sprocket(owner);
        }
        let mut ahead = vec![0; count];
        for (id, angle) in &lookalike.off {
            let at = drive.shaft(*id).engagements()[0];
            let teeth = degrees(*angle) / degrees(drive.chain(at.chain).tooth());
            ahead[sprocket(at)] = i64::try_from(teeth.above()).unwrap();
        }
        found.push((inside_out, on, ahead));
    }
    found
}

proptest! {
    #![proptest_config(crate::support::cases(512))]

    #[test]
    fn all_friends_are_found_and_no_others(small in small()) {
        let text = small.yaml();
        let drive = drive(&text);
        let (mut tried, mut told) = (small.by_trying(), enumerated(&small, &drive));
        tried.sort();
        told.sort();
        prop_assert_eq!(told, tried, "{}", text);
        for lookalike in lookalikes(&drive).unwrap() {
            settled(&drive, &lookalike);
            if lookalike.while_hanging() {
                hang(&text, &drive, &lookalike);
            }
        }
        // What cannot be settled is what hangs so without a dot to show it.
        let unsettled = lookalikes(&drive).unwrap().into_iter()
            .filter(|lookalike| lookalike.while_hanging() && lookalike.settled_by.is_none())
            .count();
        prop_assert_eq!(ambiguous(&drive).unwrap().len(), unsettled);
    }

    #[test]
    fn what_is_told_of_any_drive_would_settle_it(plan in plan()) {
        let drive = drive(&plan.yaml());
        for lookalike in lookalikes(&drive).unwrap() {
            settled(&drive, &lookalike);
        }
    }

    #[test]
    fn links_are_back_without_the_dots_when_the_arrays_say_so(crank in 5_u32..=12, links in 8_u32..=40) {
        let cam = 2 * crank;
        let text = format!("tautmark: 1
engine: x
crank_turns: clockwise
shafts: {{ crank: {{ kind: crankshaft }}, cam: {{ kind: camshaft }} }}
chains:
  main:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: {crank}, dot: 1, link: 0, outside: true }}
      - {{ sprocket: cam, teeth: {cam}, dot: 2, link: 5, outside: true }}
");
        let drive = drive(&text);
        let mut arrays = Simulator::new(&Written::read(&text));
        let mut turned = 0;
        while turned == 0 || !arrays.chain_is_home(0) {
            arrays.turn_once();
            turned += 1;
        }
        let told = lookalikes(&drive).unwrap().into_iter()
            .find(|lookalike| matches!(lookalike.kind, LookalikeKind::LinksBackDotsAway { .. }));
        if arrays.all_home() {
            prop_assert_eq!(told, None);
        } else {
            let told = told.unwrap();
            prop_assert_eq!(told.kind, LookalikeKind::LinksBackDotsAway { turned: Turns::whole(turned) });
            // The camshaft alone, half a turn from its place.
            prop_assert_eq!(told.off.len(), 1);
            prop_assert_eq!(told.off[0].1.to_string(), "360");
            prop_assert_eq!(arrays.steps_ahead(1) * 2, arrays.steps_around(1));
        }
    }
}

#[test]
fn the_small_drives_have_friends_of_both_kinds_and_impossible_ones() {
    use proptest::strategy::ValueTree as _;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut moved, mut inside_out, mut none) = (0, 0, 0);
    for _ in 0..200 {
        let small = small().new_tree(&mut runner).unwrap().current();
        let found = small.by_trying();
        moved += found.iter().filter(|(inside_out, ..)| !inside_out).count();
        inside_out += found.iter().filter(|(inside_out, ..)| *inside_out).count();
        none += usize::from(found.is_empty());
    }
    assert!(
        moved > 10 && inside_out > 20 && none > 20,
        "{moved} {inside_out} {none}"
    );
}

#[test]
fn a_way_that_changes_nothing_is_none() {
    // The marks divide the chain in two alike: turned around or inside out it is the same.
    for colours in [["blue", "yellow"], ["blue", "blue"]] {
        let text = format!(
            "tautmark: 1
engine: x
crank_turns: clockwise
shafts: {{ crank: {{ kind: crankshaft }}, cam: {{ kind: camshaft }} }}
chains:
  main:
    links: 90
    path:
      - {{ sprocket: crank, teeth: 20, link: 10, colour: {} }}
      - {{ sprocket: cam, teeth: 40, link: 55, colour: {} }}
",
            colours[0], colours[1]
        );
        let hanging: Vec<Lookalike> = lookalikes(&drive(&text))
            .unwrap()
            .into_iter()
            .filter(Lookalike::while_hanging)
            .collect();
        assert_eq!(hanging, []);
    }
}

/// `check` with every link of the engine on its dot, and what else was seen.
fn all_links_on(name: &str, also: &[&str]) -> crate::support::program::Outcome {
    let path = engine(name);
    let text = std::fs::read_to_string(&path).unwrap();
    let drive = drive(&text);
    let seen: Vec<String> = drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.mark().is_some())
        .map(|(at, _)| format!("--link={}=on", tautmark::timing::name_of(&drive, at)))
        .collect();
    let mut arguments = vec!["check", &path];
    arguments.extend(seen.iter().map(String::as_str));
    arguments.extend(also);
    tautmark(&arguments)
}

#[test]
fn check_names_the_friends_that_the_links_leave_open() {
    let outcome = all_links_on("kestrel-four", &[]);
    assert_eq!(outcome.status, Some(1));
    // 118 - 68 = 50 links from the crankshaft to what is then the exhaust's, where 51 belong.
    let told = "\nLook once more: the links alone do not rule this out
  - Chain main: hung inside out (crank on its own, exhaust on intake's, intake on exhaust's), every dot lies on a link of the right colour; but then: exhaust 20 crank degrees behind, intake 20 crank degrees behind. Settled by the dots of crank and exhaust against their reference marks (--dot crank=... --dot exhaust=...).
";
    assert!(outcome.stdout.contains(told), "{}", outcome.stdout);
    assert!(outcome.stdout.contains("\nIN TIME by the links."));
    for dot in ["--dot=exhaust=on", "--dot=intake=on"] {
        // A dot is measured from the crankshaft's: alone it rules out nothing.
        let outcome = all_links_on("kestrel-four", &[dot]);
        assert!(outcome.stdout.contains("inside out"), "{}", outcome.stdout);
        let both = ["--dot=crank=on", dot];
        let outcome = all_links_on("kestrel-four", &both);
        assert_eq!(outcome.status, Some(0));
        assert!(!outcome.stdout.contains("inside out"), "{}", outcome.stdout);
        let json = all_links_on("kestrel-four", &[both[0], dot, "--format=json"]).json();
        assert_eq!(json["false_friends"], serde_json::json!([]));
    }
    // The crankshaft's dot is the same hung so or so: it rules out nothing.
    let outcome = all_links_on("kestrel-four", &["--dot=crank=on"]);
    assert!(outcome.stdout.contains("inside out"));
    let json = all_links_on("kestrel-four", &["--format=json"]).json();
    let lookalike = &json["false_friends"][0];
    assert_eq!(
        (&lookalike["code"], &lookalike["explains"]),
        (&"inside-out".into(), &false.into())
    );
    assert_eq!(
        lookalike["settled_by"],
        serde_json::json!({ "look_at": "dot", "shaft": "exhaust" })
    );
    assert_eq!(lookalike["off"][0]["off_crank_degrees"], "-20");
}

#[test]
fn check_says_when_it_looks_just_like_a_friend() {
    let path = engine("kestrel-four");
    let inside_out = tautmark(&[
        "check",
        &path,
        "--link=crank=on",
        "--link=exhaust=1 behind",
        "--link=intake=1 behind",
    ]);
    assert_eq!(inside_out.status, Some(1));
    assert!(
        inside_out
            .stdout
            .contains("\nThis is just how it looks when\n  - Chain main: hung inside out"),
        "{}",
        inside_out.stdout
    );
    let otherwise = tautmark(&[
        "check",
        &path,
        "--link=crank=on",
        "--link=exhaust=1 behind",
        "--link=intake=1 ahead",
    ]);
    assert!(
        !otherwise.stdout.contains("just how it looks"),
        "{}",
        otherwise.stdout
    );
    // The chain of one bank on the other: 57 and 78 where 59 and 79 belong.
    let path = engine("buzzard-v8");
    let swapped = tautmark(&[
        "check",
        &path,
        "--link=right/crank=on",
        "--link=right-intake=2 behind",
        "--link=right-exhaust=1 behind",
    ]);
    assert!(
        swapped
            .stdout
            .contains("with the chain that is marked for left hung here"),
        "{}",
        swapped.stdout
    );
}

#[test]
fn lint_warns_of_marks_that_nothing_settles() {
    let fixture = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/marks-ambiguous.yaml"
    );
    let outcome = tautmark(&["lint", fixture]);
    assert_eq!((outcome.status, &*outcome.stderr), (Some(1), ""));
    outcome.assert_printable();
    for part in [
        "warning[marks-ambiguous]: chain 'main' also looks right when it is hung inside out",
        "marks-ambiguous.yaml:8:3",
        "crank on its own link, cam on its own link; out of time then: cam",
        "give 'cam' its 'dot: ...', so that it can be checked against the engine",
        "marks-ambiguous.yaml: 1 finding\n",
    ] {
        assert!(outcome.stdout.contains(part), "{part}\n{}", outcome.stdout);
    }
    // A dot settles it, and so do marks that lie alike both ways.
    let text = std::fs::read_to_string(fixture).unwrap();
    for (old, new) in [("link: 48", "dot: 20, link: 48"), ("link: 48", "link: 45")] {
        assert_eq!(text.matches(old).count(), 1);
        let path = scratch("ambiguous").join("spec.yaml");
        std::fs::write(&path, text.replace(old, new)).unwrap();
        let outcome = tautmark(&["lint", path.to_str().unwrap()]);
        assert_eq!(outcome.status, Some(0), "{}", outcome.stdout);
    }
    // Without colours the chain can be turned around as well.
    let path = scratch("ambiguous").join("spec.yaml");
    std::fs::write(
        &path,
        text.replace(", colour: blue", "")
            .replace(", colour: yellow", ""),
    )
    .unwrap();
    let json = tautmark(&["lint", "--format=json", path.to_str().unwrap()]).json();
    let findings = json["files"][0]["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 1);
    assert_eq!(
        (&findings[0]["code"], &findings[0]["severity"]),
        (&"marks-ambiguous".into(), &"warning".into())
    );
    assert_eq!(
        findings[0]["message"],
        "chain 'main' also looks right with each dot on another one's link"
    );
    assert_eq!(
        findings[0]["help"],
        "give 'cam' its 'dot: ...', so that it can be checked against the engine; or tell the links apart by 'colour', if they differ"
    );
    // The spec can be used all the same, and `check` says what it leaves open.
    let outcome = tautmark(&["check", fixture, "--link=crank=on", "--link=cam=on"]);
    assert_eq!(outcome.status, Some(1));
    assert!(
        outcome
            .stdout
            .contains("Nothing in the spec tells it apart from correct timing."),
        "{}",
        outcome.stdout
    );
}
