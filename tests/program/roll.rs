//! Where marks are after turning, and when they come back: the closed forms against arrays that are
//! moved one step at a time, against published numbers, and on drives of every shape.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::fraction::Fraction;
use crate::support::plan::{Plan, plan};
use crate::support::program::{scratch, tautmark};
use crate::support::rig;
use crate::support::simulator::{Meeting, Simulator};
use crate::support::written::{Written, number};
use crate::support::{drive, engines};
use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use tautmark::{
    Drive,
    drive::Engagement,
    spec::Rotation,
    timing::{Moment, meetings, moments, returns, roll},
    units::{Exact, Turns},
};

fn turns(above: i64, below: i64) -> Turns {
    Turns::new(Exact::fraction(above, below).unwrap())
}

/// A drive with its arrays.
struct Both {
    name: String,
    written: Written,
    drive: Drive,
    arrays: Simulator,
    engagements: Vec<Engagement>,
    sprockets: Vec<Meeting>,
    /// Shafts that turn the other way than the crankshaft.
    backward: BTreeSet<String>,
    /// Fine steps since the timed position.
    steps: i64,
}

/// On a chain, shafts inside of it turn one way and shafts outside of it the other.
fn backward(written: &Written) -> BTreeSet<String> {
    let mut forward = BTreeMap::new();
    for (name, shaft) in written.shafts() {
        if shaft.kind == "crankshaft" {
            forward.insert(name, true);
        }
    }
    // A chain may come before the one that drives it.
    for _ in 0..written.chains().len() {
        for (_, chain) in written.chains() {
            let along = chain
                .sprockets()
                .iter()
                .find_map(|sprocket| Some(*forward.get(&sprocket.sprocket)? != sprocket.outside));
            for sprocket in chain.sprockets() {
                if let Some(along) = along {
                    forward.insert(sprocket.sprocket, along != sprocket.outside);
                }
            }
        }
    }
    let backward = forward.into_iter().filter(|(_, forward)| !forward);
    backward.map(|(name, _)| name).collect()
}

impl Both {
    fn of(name: &str, text: &str) -> Self {
        let (written, drive) = (Written::read(text), drive(text));
        let backward = backward(&written);
        Self {
            name: name.into(),
            sprockets: Simulator::new(&written).sprockets(),
            arrays: Simulator::new(&written),
            written,
            engagements: drive.engagements().map(|(at, _)| at).collect(),
            drive,
            backward,
            steps: 0,
        }
    }

    fn step(&mut self) {
        self.arrays.step();
        self.steps += 1;
    }

    fn turned(&self) -> Turns {
        turns(self.steps, self.arrays.crank_steps_around())
    }

    fn has_links(&self) -> bool {
        self.drive
            .engagements()
            .any(|(_, sprocket)| sprocket.mark().is_some())
    }

    /// Coloured links that lie on dots in their timed places: dot, and whose link.
    fn links_on_dots(&self) -> Vec<(Engagement, Engagement)> {
        let mut found = Vec::new();
        for (sprocket, at) in self.engagements.iter().enumerate() {
            let meeting = self.sprockets[sprocket];
            if !self.arrays.is_home(meeting.shaft) {
                continue;
            }
            let Some(link) = self.arrays.link_on_dot(sprocket) else {
                continue;
            };
            for (other, other_sprocket) in self.drive.engagements() {
                let mark = other_sprocket.mark();
                if other.chain == at.chain
                    && mark.is_some_and(|mark| Fraction::of(mark.link.get()) == link)
                {
                    found.push((*at, other));
                }
            }
        }
        found.sort();
        found
    }

    fn all_links_home(&self) -> bool {
        self.has_links()
            && self.arrays.all_home()
            && self.engagements.iter().enumerate().all(|(sprocket, at)| {
                let mark = self.drive.sprocket(*at).mark();
                mark.is_none_or(|mark| {
                    self.arrays.link_on_dot(sprocket) == Some(Fraction::of(mark.link.get()))
                })
            })
    }

    /// What `roll` says now is what stands in the arrays.
    fn roll_agrees(&self) {
        let what = format!("{} at {}", self.name, self.turned());
        let rolled = roll(&self.drive, self.turned()).unwrap();
        let mut marks = rolled.marks.iter();
        for (sprocket, at) in self.engagements.iter().enumerate() {
            if !self.drive.sprocket(*at).is_marked() {
                continue;
            }
            let place = marks.next().unwrap();
            let shaft = self.sprockets[sprocket].shaft;
            assert_eq!(place.at, *at, "{what}");
            let around = i128::from(self.arrays.steps_around(shaft));
            let ahead = i128::from(self.arrays.steps_ahead(shaft)).rem_euclid(around);
            let past = Fraction::new(ahead, around);
            assert_eq!(Fraction::of(place.past.get()), past, "{what}");
            // A link is told where the dot is in its timed place, and nowhere else.
            let on_dot = if self.arrays.is_home(shaft) {
                self.arrays.link_on_dot(sprocket)
            } else {
                None
            };
            let told = place.link.map(|link| Fraction::of(link.get()));
            assert_eq!(told, on_dot, "{what}");
            let clock = place.clock.map(|clock| Fraction::of(clock.get()));
            assert_eq!(clock, self.points_to(*at, past), "{what}");
        }
        assert!(marks.next().is_none(), "{what}");
        assert_eq!(
            rolled.next_dots == Some(self.turned()),
            self.arrays.all_home(),
            "{what}"
        );
        assert_eq!(
            rolled.next_links == Some(self.turned()),
            self.all_links_home(),
            "{what}"
        );
    }

    /// The dot of the file, carried on by the way in which that shaft turns.
    fn points_to(&self, at: Engagement, past: Fraction) -> Option<Fraction> {
        let (_, chain) = &self.written.chains()[at.chain.index()];
        let sprocket = &chain.sprockets()[usize::from(at.sprocket)];
        let from = Fraction::of(number(sprocket.dot.as_ref()?));
        let backward = self.backward.contains(&sprocket.sprocket);
        let clockwise = (self.written.crank_turns == "clockwise") != backward;
        let swept = past * Fraction::whole(360);
        let mut to = if clockwise {
            from + swept
        } else {
            from - swept
        };
        while to.above() < 0 {
            to = to + Fraction::whole(360);
        }
        while (to - Fraction::whole(360)).above() >= 0 {
            to = to - Fraction::whole(360);
        }
        Some(to)
    }
}

/// No engine is turned in the arrays for longer.
const MOST_TURNS: i64 = 5000;

/// Turns an engine until everything begins anew, and holds everything that is told of it to what
/// happens on the way. Ends with the turns and moments that were compared.
fn turn_to_the_end(both: &mut Both) -> (i64, usize) {
    let said = returns(&both.drive);
    let half = both.arrays.crank_steps_around() / 2;
    let mut told = moments(&both.drive).unwrap();
    let mut next = told.next();
    let (mut dots, mut links, mut compared) = (None, None, 0);
    both.roll_agrees();
    while both.turned() < Turns::whole(MOST_TURNS) {
        both.step();
        let what = format!("{} at {}", both.name, both.turned());
        let (all_dots, all_links) = (both.arrays.all_home(), both.all_links_home());
        let mut on_dots = both.links_on_dots();
        if all_dots || !on_dots.is_empty() {
            let mut moment = next.unwrap_or_else(|| panic!("{what}: no moment is told"));
            moment.links.sort();
            assert_eq!(
                moment,
                Moment {
                    turned: both.turned(),
                    all_dots,
                    all_links,
                    links: std::mem::take(&mut on_dots),
                },
                "{what}"
            );
            next = told.next();
            compared += 1;
        }
        if both.steps % half == 0 {
            both.roll_agrees();
        }
        let whole = |turns: Turns| u64::try_from(turns.get().numerator()).unwrap();
        if all_dots && dots.is_none() {
            dots = Some(whole(both.turned()));
        }
        if all_links {
            links = Some(whole(both.turned()));
        }
        if links.is_some() || (!both.has_links() && dots.is_some()) {
            assert_eq!((said.dots, said.links), (dots, links), "{what}");
            assert_eq!(next, None, "{what}: a moment that never comes");
            break;
        }
    }
    assert_eq!(said.dots, dots, "{}", both.name);
    if links.is_none() && both.has_links() {
        assert!(said.links.is_none_or(|links| links > 5000), "{}", both.name);
    }
    (both.steps / both.arrays.crank_steps_around(), compared)
}

#[test]
fn every_engine_turned_in_the_arrays_is_where_roll_says() {
    let mut ends = BTreeMap::new();
    for (name, text) in engines() {
        let mut both = Both::of(&name, &text);
        // Whoever drew the engines says which shafts turn the other way.
        let plover = name == "plover-three.yaml";
        assert_eq!(both.backward.contains("balance"), plover, "{name}");
        let (turned, moments) = turn_to_the_end(&mut both);
        assert!(moments > 0, "{name}");
        ends.insert(name, turned);
    }
    // Reckoned by hand from teeth and links: L / gcd(L, z), and an even number for the camshafts.
    for (name, end) in [
        ("buzzard-v8.yaml", 136),
        ("dunnock-facing.yaml", 2),
        ("heron-v6.yaml", 5000),
        ("kestrel-four.yaml", 118),
        ("linnet-idler.yaml", 166),
        ("plover-three.yaml", 66),
        ("tern-between.yaml", 108),
        ("wren-single.yaml", 18),
    ] {
        assert_eq!(ends.get(name), Some(&end), "{name}");
    }
}

const HEAD: &str =
    "tautmark: 1\nengine: x\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n";

/// A crankshaft and a camshaft. Both on the outside of the chain, so that it may be as short as any
/// chain: the arithmetic is the same.
fn direct(teeth: u32, links: u32) -> Drive {
    let cam = 2 * teeth;
    drive(&format!(
        "{HEAD}  cam: {{ kind: camshaft }}
chains:
  main:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: {teeth}, link: 0, outside: true }}
      - {{ sprocket: cam, teeth: {cam}, link: {}, outside: true }}
",
        links / 2
    ))
}

/// The place after each of a ring of places.
fn ring(places: usize) -> Vec<usize> {
    let mut next: Vec<usize> = (1..places).collect();
    next.push(0);
    next
}

/// Crank turns until the dots, and until the dots and both coloured links, are where they were, by
/// stepping a tooth at a time.
fn stepped(teeth: usize, links: usize) -> (u64, u64) {
    let (crank_ring, cam_ring, chain) = (ring(teeth), ring(2 * teeth), ring(links));
    let (mut crank, mut cam, mut under_crank, mut under_cam) = (0, 0, 0, links / 2);
    let (mut turned, mut dots) = (0, None);
    loop {
        (crank, cam) = (crank_ring[crank], cam_ring[cam]);
        (under_crank, under_cam) = (chain[under_crank], chain[under_cam]);
        if crank == 0 {
            turned += 1;
            if cam == 0 {
                let dots = *dots.get_or_insert(turned);
                if under_crank == 0 && under_cam == links / 2 {
                    return (dots, turned);
                }
            }
        }
    }
}

#[test]
fn recurrence_is_what_stepping_finds_for_every_small_drive() {
    let mut compared = 0;
    for teeth in 5..=60 {
        for links in 8..=200 {
            let said = returns(&direct(teeth, links));
            let found = stepped(teeth as usize, links as usize);
            assert_eq!(
                (said.dots, said.links),
                (Some(found.0), Some(found.1)),
                "{teeth} teeth, {links} links"
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 56 * 193);
}

/// Source: counted with a simulator of another make that steps one crank tooth at a time.
#[test]
fn recurrence_of_the_table() {
    for (links, teeth, expected) in [
        (128, 18, 64),
        (130, 21, 130),
        (116, 18, 58),
        (94, 17, 94),
        (150, 23, 150),
    ] {
        let said = returns(&direct(teeth, links));
        assert_eq!(
            (said.dots, said.links),
            (Some(2), Some(expected)),
            "{links}"
        );
    }
}

/// Source: Foiles, "Gear Frequencies Using the Euclidean Algorithm", and published examples of the
/// same rule for chains: L/g turns of the sprocket and z/g turns of the chain, g = gcd(L, z).
#[test]
fn a_sprocket_meets_its_link_after_the_published_turns() {
    for (links, teeth, sprocket_turns, chain_turns) in [
        (96, 15, 32, 5),
        (96, 14, 48, 7),
        (126, 14, 9, 1),
        (116, 21, 116, 21),
    ] {
        let drive = direct(teeth, links);
        let own = meetings(&drive)
            .unwrap()
            .into_iter()
            .find(|meeting| {
                meeting.at == drive.driver_of(meeting.at.chain) && meeting.at == meeting.link_of
            })
            .unwrap();
        assert_eq!(
            own.first,
            Turns::whole(sprocket_turns),
            "{links} over {teeth}"
        );
        assert_eq!(own.every, own.first);
        let chain = drive.chain(own.at.chain);
        let around = own.first.get().checked_mul(chain.speed()).unwrap();
        let around = around.checked_div(chain.links().to_exact()).unwrap();
        assert_eq!(around, Exact::whole(chain_turns), "{links} over {teeth}");
        // A hunting tooth: each tooth meets each link. If and only if the gcd is 1.
        let hunting = own.first == Turns::whole(i64::from(links));
        assert_eq!(hunting, (links, teeth) == (116, 21));
    }
}

/// Every half crank turn, each shaft and chain moved on by its own speed.
fn walk(plan: &Plan, half_turns: i128) {
    let drive = drive(&plan.yaml());
    let half = Fraction::new(1, 2);
    let mut shafts = vec![Fraction::ZERO; plan.shafts.len()];
    let mut chains = vec![Fraction::ZERO; plan.chains.len()];
    for step in 0..=half_turns {
        let rolled = roll(&drive, Turns::new(Fraction::new(step, 2).exact())).unwrap();
        let mut seen = 0;
        for mark in &rolled.marks {
            let at = rig::planned(&drive, plan, mark.at);
            let sprocket = &plan.chains[at.0].sprockets[at.1];
            let shaft = &plan.shafts[sprocket.shaft];
            let past = shafts[sprocket.shaft];
            assert_eq!(Fraction::of(mark.past.get()), past.abs(), "{}", shaft.name);
            // Turned `past` of a turn, below zero the other way than the crankshaft.
            if let (Some(clock), Some(dot)) = (mark.clock, drive.sprocket(mark.at).dot()) {
                let moved = Fraction::of(clock.get()) - Fraction::of(dot.get());
                let crank = drive.rotation(drive.crank()) == Rotation::Clockwise;
                let swept = if crank { past } else { -past } * Fraction::whole(360);
                let turns = (moved - swept) / Fraction::whole(360);
                assert!(turns.is_whole(), "{}: {moved:?} {swept:?}", shaft.name);
            }
            let on_dot = match sprocket.mark {
                Some(mark) if past.is_zero() => {
                    let link = Fraction::new(mark, 2) - chains[at.0];
                    let around = Fraction::whole(plan.chains[at.0].links);
                    Some(if link.above() < 0 {
                        link + around
                    } else {
                        link
                    })
                }
                _ => None,
            };
            let told = mark.link.map(|link| Fraction::of(link.get()));
            assert_eq!(told, on_dot, "{}", shaft.name);
            seen += 1;
        }
        assert_eq!(seen, rig::marked(plan).count());
        for (place, shaft) in shafts.iter_mut().zip(&plan.shafts) {
            *place = below(*place + shaft.ratio * half, Fraction::whole(1));
        }
        for (id, place) in chains.iter_mut().enumerate() {
            let around = Fraction::whole(plan.chains[id].links);
            *place = below(*place + plan.speed(id) * half, around);
        }
    }
}

/// Takes off whole ones until less than one is left, on either side of zero.
fn below(mut value: Fraction, one: Fraction) -> Fraction {
    while (value.abs() - one).above() >= 0 {
        value = if value.above() < 0 {
            value + one
        } else {
            value - one
        };
    }
    value
}

/// Whole crank turns until the dots, and until dots and chains, are all where they were.
fn walked_returns(plan: &Plan, most: u64) -> (Option<u64>, Option<u64>) {
    let marked: Vec<Fraction> = plan
        .shafts
        .iter()
        .enumerate()
        .filter(|(id, _)| rig::can_be_seen(plan, *id))
        .map(|(_, shaft)| shaft.ratio.abs())
        .collect();
    let mut shafts = vec![Fraction::ZERO; marked.len()];
    let mut chains = vec![Fraction::ZERO; plan.chains.len()];
    let mut dots = None;
    for turned in 1..=most {
        for (place, ratio) in shafts.iter_mut().zip(&marked) {
            *place = below(*place + *ratio, Fraction::whole(1));
        }
        for (id, place) in chains.iter_mut().enumerate() {
            let around = Fraction::whole(plan.chains[id].links);
            *place = below(*place + plan.speed(id), around);
        }
        if shafts.iter().all(|place| place.is_zero()) {
            dots = dots.or(Some(turned));
            if chains.iter().all(|place| place.is_zero()) {
                return (dots, Some(turned));
            }
        }
    }
    (dots, None)
}

proptest! {
    #![proptest_config(crate::support::cases(128))]

    #[test]
    fn every_shaft_goes_on_at_its_own_speed_its_own_way(plan in plan(), half_turns in 1_i128..24) {
        walk(&plan, half_turns);
    }

    #[test]
    fn marks_return_when_they_are_seen_to(plan in plan()) {
        const MOST: u64 = 1000;
        let drive = drive(&plan.yaml());
        let said = returns(&drive);
        let (dots, links) = walked_returns(&plan, MOST);
        let near = |turns: Option<u64>| turns.filter(|turns| *turns <= MOST);
        prop_assert_eq!((near(said.dots), near(said.links)), (dots, links));
    }
}

#[test]
fn random_drives_have_backward_shafts_and_long_and_short_returns() {
    // What the laws above are worth: the drives that they are tried on are not all alike.
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut backward, mut near) = (0, 0);
    for _ in 0..60 {
        let plan = plan().new_tree(&mut runner).unwrap().current();
        backward += usize::from(plan.shafts.iter().any(|shaft| shaft.ratio.above() < 0));
        let returns = returns(&drive(&plan.yaml()));
        near += usize::from(returns.links.is_some_and(|links| links <= 1000));
    }
    assert!(backward > 10 && near > 3, "{backward} {near}");
}

/// Three small chains: to an idler that turns at any handy speed, from there to a camshaft, and
/// straight to another one.
fn three_chains(crank: u32, idler: (u32, u32), links: [u32; 3]) -> Option<String> {
    let (driven, drives) = idler;
    let cam = 2 * crank * drives;
    if !cam.is_multiple_of(driven) || cam / driven < 5 {
        return None;
    }
    let (cam, direct) = (cam / driven, 2 * crank);
    let [first, second, third] = links;
    Some(format!(
        "{HEAD}  idler: {{ kind: idler }}
  behind: {{ kind: camshaft }}
  straight: {{ kind: camshaft }}
chains:
  first:
    links: {first}
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 0 }}
      - {{ sprocket: idler, teeth: {driven}, links: [3, 4], outside: true }}
  second:
    links: {second}
    path:
      - {{ sprocket: idler, teeth: {drives}, link: 1 }}
      - {{ sprocket: behind, teeth: {cam}, link: 5, outside: true }}
  third:
    links: {third}
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 2 }}
      - {{ sprocket: straight, teeth: {direct}, link: 6, outside: true }}
"
    ))
}

proptest! {
    #![proptest_config(crate::support::cases(40))]

    #[test]
    fn marks_of_several_chains_return_when_the_arrays_do(
        crank in 5_u32..=10,
        idler in (5_u32..=12, 5_u32..=10),
        links in [8_u32..=20, 8_u32..=20, 8_u32..=14],
    ) {
        let text = three_chains(crank, idler, links);
        prop_assume!(text.is_some());
        let text = text.unwrap();
        let mut both = Both::of("three chains", &text);
        assert!(both.backward.iter().eq(["idler", "straight"]));
        let said = returns(&both.drive);
        let (mut dots, mut found) = (None, None);
        for turned in 1..=4000 {
            both.arrays.turn_once();
            if both.arrays.all_home() {
                dots = dots.or(Some(turned));
                if both.all_links_home() {
                    found = Some(turned);
                    break;
                }
            }
        }
        prop_assert_eq!(said.dots, dots);
        prop_assert_eq!(said.links.filter(|turns| *turns <= 4000), found);
        prop_assert!(found.is_some() || said.links > Some(4000));
    }
}

/// A camshaft on every chain, each chain of another prime number of links.
fn primes(links: &[u32]) -> String {
    let mut text = HEAD.to_owned();
    for i in 0..links.len() {
        let _ = writeln!(text, "  cam{i}: {{ kind: camshaft }}");
    }
    text.push_str("chains:\n");
    for (i, links) in links.iter().enumerate() {
        let _ = write!(
            text,
            "  chain{i}:
    links: {links}
    path:
      - {{ sprocket: crank, teeth: 20, dot: 180, link: 0, colour: blue }}
      - {{ sprocket: cam{i}, teeth: 40, dot: 10, link: 700, colour: yellow }}
"
        );
    }
    text
}

/// Calculated, not counted out: nobody goes through 15,912,123,958 turns in what [`tautmark`] lets a run
/// compute.
#[test]
fn returns_that_nobody_waits_for_are_told_in_short() {
    const PRIMES: [u32; 8] = [1999, 1997, 1993, 1987, 1979, 1973, 1951, 1949];
    let directory = scratch("long-returns");
    for (chains, links) in [
        (1, Some(3998)),
        (2, Some(7_984_006)),
        (3, Some(15_912_123_958)),
        (8, None),
    ] {
        let path = directory.join(format!("{chains}.yaml"));
        std::fs::write(&path, primes(&PRIMES[..chains])).unwrap();
        let path = path.to_str().unwrap();
        for arguments in [
            vec!["roll", path, "--turned", "2"],
            vec!["roll", path, "--turned", "2", "--table"],
            vec!["roll", path, "--turned", "999999", "--table"],
        ] {
            let outcome = tautmark(&arguments);
            assert_eq!((outcome.status, &*outcome.stderr), (Some(0), ""));
            let lines = outcome.stdout.lines().count();
            assert!(lines <= 75, "{lines} lines:\n{}", outcome.stdout);
            match links {
                Some(links) => assert!(
                    outcome.stdout.contains(&format!("(every {links})")),
                    "{}",
                    outcome.stdout
                ),
                None => assert!(
                    outcome.stdout.contains(
                        "The coloured links do not all come back within a thousand million million turns."
                    ) && !outcome.stdout.contains("anew"),
                    "{}",
                    outcome.stdout
                ),
            }
        }
        let json = tautmark(&["roll", path, "--turned", "3/2", "--format", "json"]).json();
        assert_eq!(json["links_return_after"].as_u64(), links);
        assert_eq!(json["dots_return_after"], 2);
    }
}

#[test]
fn a_drive_without_coloured_links_promises_none() {
    let path = crate::support::program::engine("dunnock-facing");
    let outcome = tautmark(&["roll", &path, "--turned", "1", "--table"]);
    assert_eq!(outcome.status, Some(0));
    assert!(
        outcome
            .stdout
            .ends_with("\n          2  every dot is in its place\n"),
        "{}",
        outcome.stdout
    );
    assert_eq!(
        outcome.stdout.matches("coloured link").count(),
        2,
        "{}",
        outcome.stdout
    );
}

#[test]
fn roll_tells_the_technician_what_to_look_at() {
    let path = crate::support::program::engine("kestrel-four");
    let outcome = tautmark(&["roll", &path, "--turned", "2"]);
    for part in [
        "Every dot is in its timed place now.\n",
        "Every coloured link is on its dot next at 118 crank turns (every 118).\n",
        "\nThat the coloured links have left their dots is normal.",
        "tautmark check SPEC --turned 2 --dot crank=... --dot exhaust=... --dot intake=...\n",
        // 51 - 2 * 18 = 15.
        "  exhaust  dot in its timed place, pointing to 350 degrees (about 12 o'clock); on link 15, which has no colour\n",
    ] {
        assert!(outcome.stdout.contains(part), "{part}\n{}", outcome.stdout);
    }
    // What it says to type, with what was seen put in, is what `check` takes.
    let typed = [
        "check",
        &path,
        "--turned",
        "2",
        "--dot",
        "crank=on",
        "--dot",
        "exhaust=on",
        "--dot",
        "intake=on",
    ];
    assert_eq!(tautmark(&typed).status, Some(0));
    // Nothing to explain while everything is in its place.
    let outcome = tautmark(&["roll", &path, "--turned", "118"]);
    assert!(
        outcome
            .stdout
            .contains("Every coloured link is on its dot now.\n")
    );
    assert!(!outcome.stdout.contains("is normal"));
    for (turned, says) in [
        (
            "-1",
            "error: '-1' is not in the required range of 0..=1000000 crank turns (an engine is turned by hand in its normal direction only)\n",
        ),
        ("1/0", "error: --turned '1/0'"),
        ("x", "error: --turned 'x'"),
        ("1e9", "error: --turned '1e9'"),
    ] {
        let outcome = tautmark(&["roll", &path, "--turned", turned]);
        assert_eq!(
            (outcome.status, &*outcome.stdout),
            (Some(2), ""),
            "{turned}"
        );
        assert!(outcome.stderr.starts_with(says), "{}", outcome.stderr);
    }
}

#[test]
fn json_of_roll_has_the_documented_fields() {
    let path = crate::support::program::engine("plover-three");
    let json = tautmark(&[
        "roll", &path, "--turned", "1/4", "--table", "--format", "json",
    ])
    .json();
    assert_eq!(json["turned"], "1/4");
    assert_eq!(json["links_return_after"], 66);
    assert_eq!(json["dots_return_after"], 2);
    // A quarter turn of a clockwise engine: from 180 on to 270; the balance shaft back from 288 to 198.
    let mark = |shaft: &str| {
        let all = json["marks"].as_array().unwrap();
        all.iter()
            .find(|mark| mark["shaft"] == shaft)
            .unwrap()
            .clone()
    };
    assert_eq!(
        (
            &mark("crank")["dot_turns"],
            &mark("crank")["dot_clock_degrees"]
        ),
        (&"1/4".into(), &"270".into())
    );
    assert_eq!(mark("balance")["dot_clock_degrees"], "198");
    assert_eq!(mark("exhaust")["dot_turns"], "1/8");
    assert_eq!(mark("exhaust")["link_on_dot"], serde_json::Value::Null);
    let moments = json["moments"].as_array().unwrap();
    assert_eq!(moments.last().unwrap()["turned"], "66");
    assert_eq!(moments.last().unwrap()["all_links"], true);
    assert_eq!(json["more"], false);
}
