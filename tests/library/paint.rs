//! Marks of one's own and counts from dot to dot, against hangings that were laid out by themselves.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::plan::{Plan, is_timed, plan};
use crate::support::rig::{
    At, Hanging, after, engagement, has_timed, look_at_links, marked, planned,
};
use crate::support::simulator::Simulator;
use crate::support::written::Written;
use crate::support::{drive, engines};
use proptest::prelude::*;
use tautmark::{
    Drive, ObservationError, Observations, Seen, Source, Verdict, check,
    drive::{Engagement, ShaftId},
    job::{Answer, Counting, Interview, Reply, Sight, Step},
    plane::lint,
    proof::{
        Counted, CountedChain, CountedError, CountedShaft, CountedSprocket, PaintError, own_marks,
        painted,
    },
    spec::{Rotation, Severity, ShaftKind, Stage},
    timing::{CountError, DotCount, Doubt, Plates, count_due, counted_on, plates_tell},
    units::{Exact, Teeth},
};

/// The plan without its ornament of places and tensioners, which no random drive agrees with.
fn without_places(plan: &Plan) -> String {
    let mut text = plan.yaml();
    while let Some(start) = text.find(", at: [") {
        let end = start + text[start..].find(']').unwrap();
        text.replace_range(start..=end, "");
    }
    let mut lines: Vec<&str> = text.lines().collect();
    lines.retain(|line| !line.contains("- { tensioner:"));
    lines.join("\n")
}

fn source(text: &str) -> Source {
    Source::new("test.yaml", text.into()).unwrap()
}

fn on() -> Seen {
    Seen::Teeth(Teeth::ZERO)
}

/// Every painted link on its dot, and those shafts' dots at their marks.
fn all_on(drive: &Drive, lines: &[ShaftId]) -> Observations {
    let mut seen = Observations::at_timed_position();
    for (at, sprocket) in drive.engagements() {
        if sprocket.mark().is_some() {
            seen.see_link(drive, at, on()).unwrap();
        }
    }
    for id in lines {
        let all = drive.shaft(*id).engagements().iter();
        let at = all.copied().find(|at| drive.sprocket(*at).is_marked());
        seen.see_dot(drive, at.unwrap(), on()).unwrap();
    }
    seen
}

/// Timed shafts stand where they belong, whatever idlers do.
fn in_time(plan: &Plan, hanging: &Hanging) -> bool {
    let ahead = hanging.turns_ahead(plan);
    (0..plan.shafts.len()).all(|id| !is_timed(plan.shafts[id].kind) || ahead[id].is_whole())
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    /// A random drive with the planned marks painted, then hung wrong at random: what the painted links show is in
    /// time just when it is, and out of time when it is not.
    #[test]
    fn planned_marks_prove_every_slip(plan in plan(), teeth in prop::collection::vec(-2_i8..=2, 1..12)) {
        prop_assume!(has_timed(&plan));
        let text = without_places(&plan);
        let (first, marks) = own_marks(&source(&text)).unwrap();
        let painted = painted(&source(&text)).unwrap();
        let drive = drive(&painted);
        let pairs: Vec<At> = marks.pairs.iter().map(|pair| planned(&first, &plan, pair.at)).collect();
        prop_assert_eq!(drive.engagements().filter(|(_, s)| s.mark().is_some()).count(), pairs.len());

        let right = check(&drive, &all_on(&drive, &marks.lines.iter().map(|id| of(&first, &drive, *id)).collect::<Vec<_>>())).unwrap();
        prop_assert!(right.release_tensioner());

        let hanging = Hanging::of(&plan, &teeth);
        let mut seen = after(Fraction::ZERO);
        look_at_links(&mut seen, &drive, &plan, &hanging, pairs.iter().copied());
        let outcome = check(&drive, &seen).unwrap();
        if in_time(&plan, &hanging) {
            prop_assert_eq!(outcome.verdict(), Verdict::InTime);
        } else {
            prop_assert_ne!(outcome.verdict(), Verdict::InTime);
            prop_assert!(!outcome.release_tensioner());
            let careful = outcome.doubts().iter().any(|doubt| matches!(doubt, Doubt::CannotBe { .. } | Doubt::OneCrankTurnOut));
            prop_assert!(careful || outcome.verdict() == Verdict::OutOfTime, "{:?}", outcome.doubts());
        }
    }

    /// Links counted from dot to dot say what the same links would say by their numbers; one of them a link out is refused.
    #[test]
    fn counts_say_what_numbers_would(plan in plan(), teeth in prop::collection::vec(-2_i8..=2, 1..12), wrong in any::<prop::sample::Index>(), more in any::<bool>()) {
        prop_assume!(has_timed(&plan));
        let drive = drive(&without_places(&plan));
        let hanging = Hanging::of(&plan, &teeth);
        let mut numbers = after(Fraction::ZERO);
        look_at_links(&mut numbers, &drive, &plan, &hanging, marked(&plan));
        let around = all_counts(&plan, &drive, &hanging);
        // A dot that has gone past the next one along the chain cannot be hung so.
        prop_assume!(around.iter().all(|count| count.links > Exact::ZERO));
        let mut by_count = after(Fraction::ZERO);
        by_count.see_counts(&drive, &around).unwrap();
        let (a, b) = (check(&drive, &numbers).unwrap(), check(&drive, &by_count).unwrap());
        prop_assert_eq!(a.verdict(), b.verdict());
        prop_assert_eq!(a.release_tensioner(), b.release_tensioner());

        let mut out = around.clone();
        let i = wrong.index(out.len());
        let by = Exact::whole(if more { 1 } else { -1 });
        out[i].links = out[i].links.checked_add(by).unwrap();
        prop_assert!(after(Fraction::ZERO).see_counts(&drive, &out).is_err());
        // Left out, the rest no longer goes around: without kinds of link that proves nothing.
        let mut fewer = around.clone();
        let gone = fewer.remove(i);
        let alone = fewer.iter().any(|count| count.from.chain == gone.from.chain);
        if alone {
            let error = after(Fraction::ZERO).see_counts(&drive, &fewer).unwrap_err();
            prop_assert!(matches!(error, CountError::Alone { .. }), "{}", error);
        }
    }
}

proptest! {
    #![proptest_config(crate::support::cases(256))]

    /// Whatever is answered, gone back to and answered otherwise: a chain that is numbered from a dot never has a colour set
    /// against its numbers.
    #[test]
    fn an_interview_never_mixes_colours_and_counts(keys in prop::collection::vec(0_u8..6, 1..60), which in 0_usize..3) {
        let texts = [small(SMALL[0]), small(SMALL[2]), small(SMALL[4])];
        let drive = drive(&texts[which]);
        let mut interview = Interview::new(&drive, "test").unwrap();
        for key in keys {
            let counting = interview.counting().unwrap();
            let reply = match (interview.step(), key) {
                (Step::Ready(_) | Step::Confirm(_), _) => Reply::Ready,
                (Step::Say(..), _) => Reply::Said(true),
                (Step::Felt, _) => Reply::Felt(None),
                (Step::Done, _) => break,
                (_, 0) => Reply::Back,
                (Step::Halt(_), _) => Reply::Again,
                (Step::Ask(_), 1) => Reply::Answer(Answer::NotSeen),
                (Step::Ask(_), 2) => Reply::Answer(Answer::Seen(Seen::Teeth(Teeth::whole(1)))),
                (Step::Ask(_), 3) => Reply::Answer(Answer::Seen(on())),
                (Step::Ask(question), more) => {
                    let Sight::Link(at) = question.sight else { continue };
                    match counting {
                        None => continue,
                        Some(Counting::Here(link)) => Reply::Answer(Answer::Seen(Seen::Link(link))),
                        Some(Counting::From { from, link, due }) => {
                            let links = due.checked_add(Exact::whole(i64::from(more) - 4)).unwrap();
                            let even = links.modulo(Exact::whole(2)).unwrap().is_zero();
                            let to = if even { Plates::Outer } else { Plates::Inner };
                            let count = DotCount { from, to: at, links, plates: Some((Plates::Outer, to)) };
                            Reply::Answer(Answer::Seen(Seen::Link(counted_on(&drive, count, link).unwrap())))
                        }
                    }
                }
            };
            let _ = interview.reply(reply);
            for stage in Stage::ALL {
                for (chain, _) in drive.chains() {
                    let seen: Vec<Seen> = interview
                        .answers(stage)
                        .filter_map(|(sight, answer)| match (sight, answer) {
                            (Sight::Link(at), Answer::Seen(seen)) if at.chain == chain => Some(seen),
                            _ => None,
                        })
                        .collect();
                    let numbered = matches!(seen.first(), Some(Seen::Link(_)));
                    prop_assert!(!numbered || seen.iter().all(|seen| matches!(seen, Seen::Link(_))), "{:?}", seen);
                }
            }
            // What is kept reads back as the same, and is gone on with.
            let record = interview.record();
            prop_assert!(Interview::resume(&drive, "test", record).unwrap().is_some());
        }
    }
}

/// The same shaft of the painted drive.
fn of(first: &Drive, drive: &Drive, id: ShaftId) -> ShaftId {
    drive.shaft_named(first.shaft(id).name()).unwrap()
}

/// All the way around every chain that has two marks.
fn all_counts(plan: &Plan, drive: &Drive, hanging: &Hanging) -> Vec<DotCount> {
    let mut counts = Vec::new();
    for (c, chain) in plan.chains.iter().enumerate() {
        let own: Vec<usize> = (0..chain.sprockets.len())
            .filter(|i| chain.sprockets[*i].mark.is_some())
            .collect();
        if own.len() < 2 {
            continue;
        }
        for (n, i) in own.iter().enumerate() {
            let j = own[(n + 1) % own.len()];
            let half = |i: usize| Fraction::new(chain.sprockets[i].mark.unwrap(), 2);
            let right = (half(j) - half(*i)).nearest(Fraction::whole(chain.links));
            let right = if right.above() <= 0 {
                right + Fraction::whole(chain.links)
            } else {
                right
            };
            let shift = hanging.past[c][j] - hanging.past[c][*i];
            counts.push(DotCount {
                from: engagement(drive, plan, (c, *i)),
                to: engagement(drive, plan, (c, j)),
                links: (right + Fraction::whole(shift)).exact(),
                plates: None,
            });
        }
    }
    counts
}

/// Small drives with every mark that they can have.
const SMALL: &[&str] = &[
    // One camshaft; the same not the same both ways around.
    "
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains: { main: { links: 20, path: [
  { sprocket: crank, teeth: 6, link: 0 }, { sprocket: cam, teeth: 12, link: 9 } ] } }",
    "
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains: { main: { links: 20, path: [
  { sprocket: crank, teeth: 6, link: 0 }, { sprocket: cam, teeth: 12, link: 10 } ] } }",
    // Two camshafts, and an idler and a pump that need no mark.
    "
shafts: { crank: { kind: crankshaft }, in: { kind: camshaft }, ex: { kind: camshaft }, idler: { kind: idler }, oil: { kind: pump } }
chains: { main: { links: 30, path: [
  { sprocket: crank, teeth: 6, link: 0 }, { sprocket: idler, teeth: 6, link: 4 }, { sprocket: ex, teeth: 12, link: 9 },
  { sprocket: in, teeth: 12, link: 17 }, { sprocket: oil, teeth: 8 } ] } }",
    // A pump that has to be in time.
    "
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft }, fuel: { kind: pump } }
chains: { main: { links: 26, path: [
  { sprocket: crank, teeth: 6, link: 3 }, { sprocket: cam, teeth: 12, link: 11 }, { sprocket: fuel, teeth: 12, link: 19 } ] } }",
    // Behind an idler, with a chain that leads nowhere.
    "
shafts: { crank: { kind: crankshaft }, idler: { kind: idler }, cam: { kind: camshaft }, tail: { kind: idler } }
chains:
  first: { links: 20, path: [ { sprocket: crank, teeth: 6, link: 0 }, { sprocket: idler, teeth: 8, link: 9 } ] }
  second: { links: 24, path: [ { sprocket: idler, teeth: 6, link: 2 }, { sprocket: cam, teeth: 9, link: 12 } ] }
  third: { links: 18, path: [ { sprocket: crank, teeth: 6, link: 0 }, { sprocket: tail, teeth: 6, link: 9 } ] }",
];

fn small(text: &str) -> String {
    format!("tautmark: 1\nengine: Small\ncrank_turns: clockwise{text}\n")
}

/// Every choice of marks, and every way to be a tooth off at any of the sprockets: a choice proves the timing if no
/// drive that is out of time shows all of them on. None that does is smaller than the planned one.
#[test]
fn no_fewer_marks_prove_the_timing() {
    for text in SMALL.iter().map(|text| small(text)) {
        let right = Simulator::new(&Written::read(&text));
        let count = right.sprockets().len();
        // For every wrong hanging, which marks give it away.
        let mut shown: Vec<u32> = Vec::new();
        let links: Vec<_> = (0..count).map(|i| right.link_on_dot(i)).collect();
        for slips in 0..3_u32.pow(u32::try_from(count).unwrap()) {
            let mut arrays = right.clone();
            for i in 0..count {
                let teeth = slips / 3_u32.pow(u32::try_from(i).unwrap()) % 3;
                arrays.slip(i, i32::try_from(teeth).unwrap() - 1);
            }
            if !arrays.timed_home() {
                let off = (0..count).filter(|i| arrays.link_on_dot(*i) != links[*i]);
                shown.push(off.fold(0, |all, i| all | 1 << i));
            }
        }
        let markable: u32 = (0..count)
            .filter(|i| links[*i].is_some())
            .fold(0, |all, i| all | 1 << i);
        let fewest = (0..1_u32 << count)
            .filter(|marks| marks & !markable == 0)
            .filter(|marks| shown.iter().all(|off| off & marks != 0))
            .map(u32::count_ones)
            .min()
            .unwrap();
        let (drive, marks) = own_marks(&source(&text)).unwrap();
        assert_eq!(u32::try_from(marks.pairs.len()), Ok(fewest), "{text}");

        // And the planned ones are such a choice.
        let all: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
        let planned = marks.pairs.iter().fold(0, |set, pair| {
            set | 1_u32 << all.iter().position(|at| *at == pair.at).unwrap()
        });
        assert!(shown.iter().all(|off| off & planned != 0), "{text}");
    }
}

/// Every choice of shafts that are marked against the engine, too: none that lets the tensioner go is smaller.
#[test]
fn no_fewer_lines_rule_out_what_looks_the_same() {
    let mut any = 0;
    let engines = engines().into_iter().map(|(_, text)| text);
    for text in SMALL.iter().map(|text| small(text)).chain(engines) {
        let (first, marks) = own_marks(&source(&text)).unwrap();
        if !marks.counted {
            assert!(matches!(
                painted(&source(&text)),
                Err(PaintError::Uncounted { .. })
            ));
            continue;
        }
        let drive = drive(&painted(&source(&text)).unwrap());
        let shafts: Vec<ShaftId> = drive
            .shafts()
            .map(|(id, _)| id)
            .filter(|id| drive.is_marked(*id))
            .collect();
        let fewest = (0..1_u32 << shafts.len())
            .filter(|choice| {
                let lines: Vec<ShaftId> = shafts
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| choice >> i & 1 == 1)
                    .map(|(_, id)| *id)
                    .collect();
                check(&drive, &all_on(&drive, &lines))
                    .unwrap()
                    .release_tensioner()
            })
            .map(u32::count_ones)
            .min()
            .unwrap();
        assert_eq!(u32::try_from(marks.lines.len()), Ok(fewest), "{text}");
        any += fewest;
        let turned: Vec<ShaftId> = marks
            .turned
            .iter()
            .map(|id| of(&first, &drive, *id))
            .collect();
        let mut dots = Observations::after(tautmark::units::Turns::whole(2)).unwrap();
        for id in turned {
            let all = drive.shaft(id).engagements().iter();
            let at = all
                .copied()
                .find(|at| drive.sprocket(*at).is_marked())
                .unwrap();
            dots.see_dot(&drive, at, on()).unwrap();
        }
        // A pump or a balance shaft may take more turns to come home; every engine here takes two.
        assert!(
            check(&drive, &dots).unwrap().release_tensioner() || text.contains("Small"),
            "{text}"
        );
    }
    assert!(any > 0, "nothing looked the same anywhere");
}

/// What is painted on a spec changes its marks and nothing else, and `lint` takes it as clean as it was.
#[test]
fn painting_a_spec_changes_its_marks_alone() {
    let bad = |text: &str| {
        let findings = lint(&source(text)).findings.into_iter();
        findings
            .filter(|finding| finding.severity() != Severity::Note)
            .count()
    };
    for (name, text) in engines() {
        let Ok(painted) = painted(&source(&text)) else {
            assert!(
                !text.contains("link:") && !text.contains("links: ["),
                "{name}"
            );
            continue;
        };
        assert_eq!(bad(&painted), 0, "{name}");
        // Another reader of YAML takes it, too.
        Written::read(&painted);
        let old: Vec<&str> = text.lines().collect();
        let new: Vec<&str> = painted.lines().collect();
        assert_eq!(old.len(), new.len(), "{name}");
        for (old, new) in old.iter().zip(&new).filter(|(old, new)| old != new) {
            assert!(
                old.contains("sprocket:") && new.contains("-stroke"),
                "{name}: {new}"
            );
        }
        // Painted over, the same again.
        assert_eq!(
            tautmark::proof::painted(&source(&painted)),
            Ok(painted.clone()),
            "{name}"
        );
    }
}

/// Marks that are not needed go, in either form of writing.
#[test]
fn marks_that_prove_nothing_are_left_unpainted() {
    for tail in [
        "{ sprocket: tail, teeth: 6, link: 9, colour: white }",
        "{ sprocket: tail, link: 9, teeth: 6 }",
        "\n        sprocket: tail\n        teeth: 6\n        link: 9 # counted twice\n        colour: white",
    ] {
        let text = format!(
            "tautmark: 1
engine: Example
crank_turns: clockwise
shafts: {{ crank: {{ kind: crankshaft }}, cam: {{ kind: camshaft }}, tail: {{ kind: idler }} }}
chains:
  main:
    links: 20
    path:
      - {{ sprocket: crank, teeth: 6, link: 0 }}
      - {{ sprocket: cam, teeth: 12, link: 10 }}
  other:
    links: 18
    path:
      - {{ sprocket: crank, teeth: 6, link: 0 }}
      - {tail}
"
        );
        let text = text.replace("- \n        ", "- ");
        let drive = drive(&painted(&source(&text)).unwrap());
        let marked: Vec<String> = drive
            .engagements()
            .filter_map(|(at, s)| {
                Some(format!(
                    "{} {}",
                    drive.chain(at.chain).name(),
                    s.mark()?.colour.clone()?
                ))
            })
            .collect();
        assert_eq!(marked, ["main white one-stroke", "main white two-stroke"]);
    }
    // Where it cannot be taken out as text, nothing is written.
    let first = "- { link: 9, sprocket: tail, teeth: 6 }";
    let text = small(&format!(
        "
shafts: {{ crank: {{ kind: crankshaft }}, cam: {{ kind: camshaft }}, tail: {{ kind: idler }} }}
chains:
  main:
    links: 26
    path:
      - {{ sprocket: crank, teeth: 6, link: 0 }}
      - {{ sprocket: cam, teeth: 12, link: 5 }}
      {first}"
    ));
    assert_eq!(painted(&source(&text)), Err(PaintError::Unwritable));
}

fn named_engine(start: &str) -> (String, String) {
    let mut all = engines().into_iter();
    all.find(|(name, _)| name.starts_with(start)).unwrap()
}

fn engine(start: &str) -> Drive {
    drive(&named_engine(start).1)
}

fn kestrel() -> Drive {
    engine("kestrel")
}

fn count(
    drive: &Drive,
    from: &str,
    to: &str,
    links: i64,
    plates: Option<(Plates, Plates)>,
) -> DotCount {
    DotCount {
        from: tautmark::link_named(drive, from).unwrap(),
        to: tautmark::link_named(drive, to).unwrap(),
        links: Exact::whole(links),
        plates,
    }
}

/// A cam that is a tooth off and a count that is one out make the right number. The kinds of link give it away.
#[test]
fn a_tooth_off_and_a_count_one_out_do_not_look_right() {
    use Plates::{Inner, Outer};
    let drive = kestrel();
    // Truly 50 links: two of one kind. Counted 51, the first link as 1.
    let wrong = count(&drive, "crank", "exhaust", 51, Some((Outer, Outer)));
    let error = Observations::at_timed_position().see_counts(&drive, &[wrong]);
    assert!(matches!(error, Err(CountError::PlatesDiffer { .. })));
    // Nor does it pass with a count beside it that is right.
    let beside = count(&drive, "exhaust", "intake", 17, Some((Outer, Inner)));
    let mut seen = Observations::at_timed_position();
    assert!(seen.see_counts(&drive, &[wrong, beside]).is_err());
    assert_eq!(
        seen,
        Observations::at_timed_position(),
        "nothing is taken down of what is refused"
    );
    // One dot is not on two kinds.
    let first = count(&drive, "crank", "exhaust", 51, Some((Outer, Inner)));
    let error = Observations::at_timed_position().see_counts(&drive, &[first, beside]);
    assert!(matches!(error, Err(CountError::PlatesTwice { .. })));
}

/// Along the other strand, over a third dot, or beside coloured links: never taken for what it is not.
#[test]
fn only_the_strand_that_is_meant_is_counted() {
    use Plates::{Inner, Outer};
    let drive = kestrel();
    let see = |counts: &[DotCount]| Observations::at_timed_position().see_counts(&drive, counts);
    for (from, to, links) in [
        ("exhaust", "crank", 67),
        ("crank", "intake", 68),
        ("crank", "crank", 0),
    ] {
        let error = see(&[count(&drive, from, to, links, Some((Outer, Inner)))]);
        assert!(
            matches!(error, Err(CountError::NotNeighbours { .. })),
            "{from} {to}"
        );
    }
    let right = count(&drive, "crank", "exhaust", 51, Some((Outer, Inner)));
    assert!(matches!(
        see(&[right, right]),
        Err(CountError::Twice { .. })
    ));
    for links in [0, 118, 400] {
        let error = see(&[count(&drive, "crank", "exhaust", links, None)]);
        assert!(
            matches!(error, Err(CountError::Impossible { .. })),
            "{links}"
        );
    }
    let mut coloured = Observations::at_timed_position();
    coloured.see_link(&drive, right.to, on()).unwrap();
    assert!(matches!(
        coloured.see_counts(&drive, &[right]),
        Err(CountError::Mixed { .. })
    ));
    // Between its places a dot lies on no link that could be counted to.
    let turned = Exact::fraction(1, 2)
        .map(tautmark::units::Turns::new)
        .unwrap();
    let mut away = Observations::after(turned).unwrap();
    assert!(matches!(
        away.see_counts(&drive, &[right]),
        Err(CountError::Away { .. })
    ));
    // Two turns on all dots are back, on other links, as far apart as ever.
    let mut turned = Observations::after(tautmark::units::Turns::whole(2)).unwrap();
    let rest = count(&drive, "exhaust", "intake", 16, Some((Inner, Inner)));
    turned.see_counts(&drive, &[right, rest]).unwrap();
    assert_eq!(
        check(&drive, &turned).unwrap().verdict(),
        Verdict::OutOfTime
    );
}

/// A pump without a mark lies on no strand's way: neighbours are the dots.
#[test]
fn dots_are_neighbours_whatever_lies_between_them() {
    let text = small(SMALL[2].trim_end());
    let drive = drive(&text);
    let named = |name| tautmark::link_named(&drive, name).unwrap();
    assert_eq!(
        count_due(&drive, named("in"), named("crank")),
        Ok(Some(Exact::whole(13)))
    );
    assert_eq!(count_due(&drive, named("in"), named("oil")), Ok(None));
}

/// Who counted along the wrong strand is told which one to count; no kind of link is taken for more than it says.
#[test]
fn a_count_that_is_refused_is_told_with_what_to_count_instead() {
    use Plates::{Inner, Outer};
    let plover = engine("plover");
    let refused = |drive: &Drive, counts: &[DotCount]| {
        let mut seen = Observations::at_timed_position();
        seen.see_counts(drive, counts).unwrap_err()
    };
    let told = |drive: &Drive, from, to, links| {
        refused(drive, &[count(drive, from, to, links, None)]).to_string()
    };
    assert_eq!(
        told(&plover, "crank", "intake", 76),
        "'crank' and 'intake' are not neighbours along the chain (count from 'crank' to 'exhaust', and on from there)"
    );
    assert_eq!(
        told(&plover, "crank", "balance", 28),
        "the chain does not run from 'crank' straight to 'balance', but from 'balance' to 'crank' (if that strand is what you counted, say balance..crank)"
    );
    assert_eq!(
        told(&plover, "crank", "exhaust", 132),
        "from 'crank' to 'exhaust' it cannot be 132 links (the chain has 132)"
    );
    let mut half = count(&plover, "crank", "exhaust", 53, None);
    half.links = Exact::fraction(105, 2).unwrap();
    let half = refused(&plover, &[half]).to_string();
    assert!(
        half.ends_with("(a dot between two links makes it a half more; any other a whole number)")
    );
    let one = small("
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains: { main: { links: 20, path: [ { sprocket: crank, teeth: 6, link: 0 }, { sprocket: cam, teeth: 12, dot: 0 } ] } }");
    let one = drive(&one);
    assert!(told(&one, "crank", "crank", 20).ends_with("(count from a dot to the next one)"));
    assert_eq!(
        refused(&one, &[count(&one, "crank", "cam", 9, None)]),
        CountError::NoLink { at: "cam".into() }
    );

    // Dots between two links, and a chain with a cranked link in it: the kinds alternate no more.
    let no_plates = |drive: &Drive, links: Exact, at: &str| {
        let mut count = count(drive, "crank", "exhaust", 0, Some((Outer, Inner)));
        count.links = links;
        assert_eq!(
            refused(drive, &[count]),
            CountError::NoPlates { at: at.into() }
        );
    };
    no_plates(&engine("tern"), Exact::fraction(91, 2).unwrap(), "exhaust");
    let (_, text) = named_engine("kestrel");
    let odd = drive(&text.replace("links: 118", "links: 119"));
    no_plates(&odd, Exact::whole(51), "crank");
    assert!(!plates_tell(
        &odd,
        tautmark::link_named(&odd, "crank").unwrap()
    ));

    // Two strands that do not touch: of the second nothing says which links they are.
    let apart = [
        count(&plover, "crank", "exhaust", 53, Some((Outer, Inner))),
        count(&plover, "intake", "balance", 28, Some((Inner, Inner))),
    ];
    assert_eq!(
        refused(&plover, &apart),
        CountError::Apart {
            from: "intake".into(),
            to: "balance".into()
        }
    );
}

/// Strands are counted in any order; each is one that the last two dots of another are not needed for.
#[test]
fn counts_say_the_same_in_whatever_order_they_are_told() {
    use Plates::{Inner, Outer};
    let drive = kestrel();
    for (links, plates, verdict) in [
        (17, Outer, Verdict::InTime),
        (16, Inner, Verdict::OutOfTime),
    ] {
        let mut counts = [
            count(&drive, "crank", "exhaust", 51, Some((Outer, Inner))),
            count(&drive, "exhaust", "intake", links, Some((Inner, plates))),
        ];
        for _ in 0..2 {
            let mut seen = Observations::at_timed_position();
            seen.see_counts(&drive, &counts).unwrap();
            assert_eq!(seen.links().len(), 3);
            assert_eq!(check(&drive, &seen).unwrap().verdict(), verdict);
            counts.reverse();
        }
    }
    // Of four dots, the strand in the middle told last.
    let plover = engine("plover");
    let counts = [
        count(&plover, "crank", "exhaust", 53, Some((Outer, Inner))),
        count(&plover, "intake", "balance", 28, Some((Outer, Outer))),
        count(&plover, "exhaust", "intake", 23, Some((Inner, Outer))),
    ];
    let mut seen = Observations::at_timed_position();
    seen.see_counts(&plover, &counts).unwrap();
    assert_eq!(seen.links().len(), 4);
    assert_eq!(check(&plover, &seen).unwrap().verdict(), Verdict::InTime);
}

/// A count of another engine is refused, whichever of its ends is from there.
#[test]
fn a_count_of_another_engine_is_an_error() {
    let (own, other) = (kestrel(), engine("plover"));
    let foreign = CountError::Observation(ObservationError::OtherDrive);
    let of = |drive: &Drive| count(drive, "crank", "exhaust", 51, None);
    for (from, to) in [
        (of(&own).from, of(&other).to),
        (of(&other).from, of(&own).to),
        (of(&other).from, of(&other).to),
    ] {
        let count = DotCount {
            from,
            to,
            ..of(&own)
        };
        let mut seen = Observations::at_timed_position();
        assert_eq!(seen.see_counts(&own, &[count]), Err(foreign.clone()));
        let link = own.sprocket(of(&own).from).mark().unwrap().link;
        assert_eq!(counted_on(&own, count, link), Err(foreign.clone()));
    }
}

/// The sprocket by which the first chain drives the idler was left without paint: all counts add up, and the camshaft can be
/// anywhere. No spec is made that would only look as if it proved something.
#[test]
fn counts_that_leave_a_gap_on_the_way_to_a_camshaft_make_no_spec() {
    let shaft = |name: &str, kind| CountedShaft {
        name: name.into(),
        kind,
        points: None,
    };
    let sprocket = |shaft: &str, teeth, to_next| CountedSprocket {
        shaft: shaft.into(),
        teeth,
        outside: false,
        to_next,
        plates: None,
    };
    let chain = |name: &str, links, walk| CountedChain {
        name: name.into(),
        links,
        cranked: false,
        belt: false,
        walk,
    };
    let counted = |to_idler, from_idler| Counted {
        engine: "Two chains".into(),
        crank_turns: Rotation::Clockwise,
        camshafts: 1,
        timed_position: "as it stood when it was painted".into(),
        shafts: vec![
            shaft("crank", ShaftKind::Crankshaft),
            shaft("idler", ShaftKind::Idler),
            shaft("cam", ShaftKind::Camshaft),
        ],
        chains: vec![
            chain(
                "primary",
                60,
                vec![
                    sprocket("crank", 20, Some(to_idler)),
                    sprocket("idler", 20, from_idler),
                ],
            ),
            chain(
                "secondary",
                90,
                vec![
                    sprocket("idler", 18, Some(45)),
                    sprocket("cam", 36, Some(45)),
                ],
            ),
        ],
    };
    assert!(counted(30, Some(30)).spec().is_ok());
    match counted(60, None).spec() {
        Err(CountedError::NotProven { shafts }) => assert!(shafts.contains(&"cam".to_owned())),
        other => panic!("{other:?}"),
    }
}
