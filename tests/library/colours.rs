//! What coloured links show who goes by their colours alone: a dot on a link of the right colour. Every way to lay the
//! chains that shows what was seen is laid here by trying, inside out too, whatever links and dots were looked at; the
//! tensioner may be released only if each of them is in time. Published limits play no part: that links
//! of one colour cannot be told apart, and that a chain has no inside, is common practice.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::dice::Dice;
use crate::support::fraction::Fraction;
use crate::support::written::Written;
use crate::support::{drive, engines};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use tautmark::{Check, Drive, Observations, Verdict, check, drive::Engagement};

/// A drive as somebody sees it who knows no numbers of links.
struct World {
    chains: Vec<Loop>,
    /// Crank turns to a turn of each shaft; `None` while nothing drives it.
    periods: Vec<Option<Fraction>>,
    marked: Vec<bool>,
    timed: Vec<bool>,
    crank: usize,
}

struct Loop {
    /// In half links.
    around: i64,
    /// Crank turns to a tooth.
    tooth: Fraction,
    driver: usize,
    sprockets: Vec<Wheel>,
}

struct Wheel {
    shaft: usize,
    teeth: i64,
    /// Its coloured link, in half links, and the colour.
    mark: Option<(i64, Option<String>)>,
}

/// What was looked at; everything looks right.
#[derive(Clone, Default, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Looked {
    links: BTreeSet<(usize, usize)>,
    dots: BTreeSet<usize>,
}

impl World {
    fn new(text: &str) -> Self {
        let written = Written::read(text);
        let shafts = written.shafts();
        let place = |name: &str| shafts.iter().position(|(other, _)| other == name).unwrap();
        let crank = shafts
            .iter()
            .position(|(_, shaft)| shaft.kind == "crankshaft")
            .unwrap();
        let mut world = Self {
            chains: Vec::new(),
            periods: vec![None; shafts.len()],
            marked: vec![false; shafts.len()],
            timed: Vec::new(),
            crank,
        };
        world.periods[crank] = Some(Fraction::whole(1));
        let mut waiting: Vec<_> = written.chains();
        while !waiting.is_empty() {
            // The next one that a shaft drives of which it is known how fast it turns.
            let known = |name: &str| world.periods[place(name)].is_some();
            let next = waiting
                .iter()
                .position(|(_, chain)| chain.sprockets().iter().any(|s| known(&s.sprocket)))
                .unwrap();
            let (_, chain) = waiting.remove(next);
            let all = chain.sprockets();
            let driver = all.iter().position(|s| known(&s.sprocket)).unwrap();
            let teeth = |i: usize| Fraction::whole(i128::try_from(all[i].teeth).unwrap());
            let tooth = world.periods[place(&all[driver].sprocket)].unwrap() / teeth(driver);
            for (i, sprocket) in all.iter().enumerate() {
                let shaft = place(&sprocket.sprocket);
                world.periods[shaft] = Some(tooth * teeth(i));
                world.marked[shaft] |=
                    sprocket.link.is_some() || sprocket.links.is_some() || sprocket.dot.is_some();
            }
            let wheel = |sprocket: &crate::support::written::WrittenSprocket| {
                let half = match (sprocket.link, sprocket.links) {
                    (Some(link), _) => Some(2 * link),
                    (None, Some([first, _])) => Some(2 * first + 1),
                    (None, None) => None,
                };
                Wheel {
                    shaft: place(&sprocket.sprocket),
                    teeth: i64::try_from(sprocket.teeth).unwrap(),
                    mark: half.map(|half| (i64::try_from(half).unwrap(), sprocket.colour.clone())),
                }
            };
            world.chains.push(Loop {
                around: 2 * i64::try_from(chain.links).unwrap(),
                tooth,
                driver,
                sprockets: all.iter().map(wheel).collect(),
            });
        }
        let kinds = shafts.iter().map(|(_, shaft)| shaft.kind.as_str());
        let marked = world.marked.iter();
        world.timed = kinds
            .zip(marked)
            .map(|(kind, marked)| *marked && matches!(kind, "camshaft" | "balance" | "pump"))
            .collect();
        world
    }

    /// Is there a way to lay the chains that looks right, with a shaft out of place that must be in time?
    fn looks_right_and_is_wrong(&self, looked: &Looked) -> bool {
        let mut ahead = vec![None; self.periods.len()];
        ahead[self.crank] = Some(Fraction::ZERO);
        self.lay(0, looked, &ahead)
    }

    fn is_home(&self, shaft: usize, ahead: Fraction) -> bool {
        (ahead / self.periods[shaft].unwrap()).is_whole()
    }

    fn lay(&self, chain: usize, looked: &Looked, ahead: &[Option<Fraction>]) -> bool {
        if chain == self.chains.len() {
            let mut shafts = ahead.iter().enumerate();
            return shafts.any(|(i, ahead)| {
                self.timed[i] && ahead.is_some_and(|ahead| !self.is_home(i, ahead))
            });
        }
        let seen = |i: usize| looked.links.contains(&(chain, i));
        self.alike(chain)
            .iter()
            .any(|marks| self.lay_marked(chain, marks, &seen, looked, ahead))
    }

    /// The coloured links of this chain, and those of every other that is made like it: it may hang here.
    fn alike(&self, chain: usize) -> Vec<Vec<(i64, Option<String>)>> {
        let around = |chain: &Loop| -> Vec<i64> {
            let n = chain.sprockets.len();
            (0..n)
                .map(|i| chain.sprockets[(i + chain.driver) % n].teeth)
                .collect()
        };
        let own = &self.chains[chain];
        let marks = |chain: &Loop| -> Vec<_> {
            chain
                .sprockets
                .iter()
                .filter_map(|wheel| wheel.mark.clone())
                .collect()
        };
        let mut all = vec![marks(own)];
        for (i, other) in self.chains.iter().enumerate() {
            let made_like = other.around == own.around && around(other) == around(own);
            let whole = |chain: &Loop| marks(chain).len() == chain.sprockets.len();
            if i != chain && made_like && whole(own) && whole(other) {
                all.push(marks(other));
            }
        }
        all
    }

    fn lay_marked(
        &self,
        chain: usize,
        marks: &[(i64, Option<String>)],
        seen: &dyn Fn(usize) -> bool,
        looked: &Looked,
        ahead: &[Option<Fraction>],
    ) -> bool {
        let lain = &self.chains[chain];
        let base = ahead[lain.sprockets[lain.driver].shaft].unwrap();
        // Links that lie under a dot of this colour, the chain turned this way or inside out.
        let right = |i: usize, link: i64| {
            let (own, colour) = lain.sprockets[i].mark.as_ref().unwrap();
            (link - own) % 2 == 0
                && marks.iter().any(|(other, its)| {
                    its == colour && (other - link).rem_euclid(lain.around) == 0
                })
        };
        let first = lain.sprockets[lain.driver]
            .mark
            .as_ref()
            .map_or(0, |(half, _)| *half);
        let on_chain: Vec<usize> = (0..lain.sprockets.len())
            .map(|i| (i + lain.driver) % lain.sprockets.len())
            .collect();
        for inside_out in [1, -1] {
            for link in 0..lain.around {
                if seen(lain.driver) && !right(lain.driver, link) {
                    continue;
                }
                if !on_chain.iter().any(|i| seen(*i)) && (link, inside_out) != (0, 1) {
                    // Nobody looked at its links: it does not matter how it lies.
                    continue;
                }
                // Of each sprocket all the teeth by which it can be ahead of the one that drives the chain.
                let mut ways: Vec<(usize, Vec<i64>)> = Vec::new();
                for i in &on_chain[1..] {
                    let wheel = &lain.sprockets[*i];
                    let on = |teeth: &i64| {
                        let place = wheel.mark.as_ref().map_or(0, |(half, _)| *half);
                        link + inside_out * ((place - first).rem_euclid(lain.around) + 2 * teeth)
                    };
                    let home = |teeth: &i64| {
                        let angle = base + lain.tooth * Fraction::whole(i128::from(*teeth));
                        let dot =
                            looked.dots.contains(&wheel.shaft) && looked.dots.contains(&self.crank);
                        let loops = ahead[wheel.shaft];
                        loops.is_none_or(|known| self.is_home(wheel.shaft, known - angle))
                            && (!dot || self.is_home(wheel.shaft, angle))
                    };
                    let all: Vec<i64> = if seen(*i) {
                        (1 - wheel.teeth..wheel.teeth)
                            .filter(|teeth| right(*i, on(teeth)) && home(teeth))
                            .collect()
                    } else {
                        (0..wheel.teeth).filter(home).collect()
                    };
                    let drives = self.chains[chain + 1..]
                        .iter()
                        .any(|next| next.sprockets[next.driver].shaft == wheel.shaft);
                    if seen(*i) || drives || looked.dots.contains(&wheel.shaft) {
                        ways.push((*i, all));
                    }
                }
                if self.choose(chain, looked, ahead, &ways, &mut Vec::new(), first) {
                    return true;
                }
            }
        }
        false
    }

    /// One of the ways for each sprocket, as the links come along the path.
    fn choose(
        &self,
        chain: usize,
        looked: &Looked,
        ahead: &[Option<Fraction>],
        ways: &[(usize, Vec<i64>)],
        chosen: &mut Vec<(usize, i64)>,
        first: i64,
    ) -> bool {
        let lain = &self.chains[chain];
        let Some((i, all)) = ways.get(chosen.len()) else {
            let mut after = ahead.to_vec();
            let base = ahead[lain.sprockets[lain.driver].shaft].unwrap();
            for (i, teeth) in chosen {
                let angle = base + lain.tooth * Fraction::whole(i128::from(*teeth));
                after[lain.sprockets[*i].shaft] = Some(angle);
            }
            return self.lay(chain + 1, looked, &after);
        };
        let along = |i: usize, teeth: i64| {
            let mark = lain.sprockets[i].mark.as_ref()?;
            let seen = looked.links.contains(&(chain, i));
            seen.then(|| (mark.0 - first).rem_euclid(lain.around) + 2 * teeth)
        };
        for teeth in all {
            let mut before = chosen.iter().filter_map(|(i, teeth)| along(*i, *teeth));
            let driver = looked.links.contains(&(chain, lain.driver));
            let fits = along(*i, *teeth).is_none_or(|here| {
                let furthest = before.clone().max();
                let nearest = before.next().or(driver.then_some(0));
                furthest
                    .or(driver.then_some(0))
                    .is_none_or(|last| last < here)
                    && nearest
                        .is_none_or(|nearest| here - if driver { 0 } else { nearest } < lain.around)
            });
            if !fits {
                continue;
            }
            chosen.push((*i, *teeth));
            if self.choose(chain, looked, ahead, ways, chosen, first) {
                return true;
            }
            chosen.pop();
        }
        false
    }
}

struct Both {
    text: String,
    world: World,
    drive: Drive,
}

impl Both {
    fn of(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            world: World::new(text),
            drive: drive(text),
        }
    }

    /// All marks there are, in the order of the file as the other reader has it.
    fn marks(&self) -> Vec<(Option<(usize, usize)>, usize)> {
        let mut all = Vec::new();
        for (c, chain) in self.world.chains.iter().enumerate() {
            for (i, wheel) in chain.sprockets.iter().enumerate() {
                if wheel.mark.is_some() {
                    all.push((Some((c, i)), wheel.shaft));
                }
            }
        }
        let dots = (0..self.world.periods.len()).filter(|shaft| self.world.marked[*shaft]);
        all.extend(dots.map(|shaft| (None, shaft)));
        all
    }

    fn check(&self, looked: &Looked) -> Check {
        let mut seen = Observations::at_timed_position();
        let all: Vec<Engagement> = self.drive.engagements().map(|(at, _)| at).collect();
        let on = "on".parse().unwrap();
        let shaft = |at: &Engagement| self.drive.sprocket(*at).shaft().index();
        for (c, i) in &looked.links {
            let chain = &self.world.chains[*c];
            // Chains are told apart by their driver and what else is on them.
            let at = all.iter().find(|at| {
                let its = all.iter().filter(|other| other.chain == at.chain);
                let own: Vec<usize> = its.map(shaft).collect();
                let wanted: Vec<usize> = chain.sprockets.iter().map(|wheel| wheel.shaft).collect();
                own == wanted && shaft(at) == chain.sprockets[*i].shaft
            });
            seen.see_link(&self.drive, *at.unwrap(), on).unwrap();
        }
        for id in &looked.dots {
            let marked = |at: &&Engagement| self.drive.sprocket(**at).is_marked();
            let at = all.iter().filter(marked).find(|at| shaft(at) == *id);
            seen.see_dot(&self.drive, *at.unwrap(), on).unwrap();
        }
        check(&self.drive, &seen).unwrap()
    }

    /// How often it may be released, and how often not because of a look-alike.
    fn hold(&self, looked: &Looked, counts: &mut [usize; 2]) {
        let told = self.check(looked);
        if told.verdict() != Verdict::InTime {
            return;
        }
        let wrong = self.world.looks_right_and_is_wrong(looked);
        counts[usize::from(wrong)] += 1;
        // Where the sprocket that drives a chain was not looked at, a whole turn of an idler may keep it held.
        let mut links = looked.links.iter();
        let driven = links.all(|(c, _)| looked.links.contains(&(*c, self.world.chains[*c].driver)));
        let release = told.release_tensioner();
        assert!(
            release != wrong || (!release && !driven),
            "released {release}: {looked:?}\n{}\n{:?}",
            self.text,
            told.fits()
        );
    }

    fn hold_all(&self, counts: &mut [usize; 2]) {
        let marks = self.marks();
        let most = if marks.len() > 10 {
            1_500
        } else {
            1_u64 << marks.len()
        };
        let mut dice = Dice(5);
        for n in 0..most {
            let choice = if most == 1_500 {
                // Most of them looked at: otherwise nothing is in time.
                !(dice.roll(1 << marks.len())
                    & dice.roll(1 << marks.len())
                    & dice.roll(1 << marks.len()))
            } else {
                n
            };
            let mut looked = Looked::default();
            for (i, (link, shaft)) in marks.iter().enumerate() {
                if choice >> i & 1 == 1 {
                    match link {
                        Some(at) => looked.links.insert(*at),
                        None => looked.dots.insert(*shaft),
                    };
                }
            }
            self.hold(&looked, counts);
        }
    }
}

#[test]
fn at_every_engine_whatever_marks_are_looked_at() {
    for (name, text) in engines() {
        let mut counts = [0; 2];
        Both::of(&text).hold_all(&mut counts);
        // The same with links of one colour, as many makers have them.
        let plain: String = text
            .lines()
            .map(|line| match line.find(", colour:") {
                Some(from) => {
                    let rest = &line[from + 2..];
                    let end = rest.find([',', '}']).unwrap();
                    let until = if rest.as_bytes()[end] == b'}' {
                        " "
                    } else {
                        ""
                    };
                    format!("{}{until}{}\n", &line[..from], &rest[end..])
                }
                None => format!("{line}\n"),
            })
            .collect();
        Both::of(&plain).hold_all(&mut counts);
        assert!(counts[0] > 1, "{name}: {counts:?}");
    }
}

/// Small drives on which much looks like much else: two camshafts on the crankshaft's chain, or behind an idler.
fn small(dice: &mut Dice) -> String {
    let mut pick = |from: u64, to: u64| from + dice.roll(to - from + 1);
    let crank = pick(5, 8);
    let mut text =
        "tautmark: 1\nengine: x\ncrank_turns: clockwise\nshafts:\n  crank: { kind: crankshaft }\n"
            .to_owned();
    let behind = pick(0, 1) == 1;
    if behind {
        text.push_str("  idler: { kind: idler }\n");
    }
    text.push_str("  one: { kind: camshaft }\n  two: { kind: camshaft }\nchains:\n");
    let mut chain = |name: &str, wheels: &[(&str, u64)]| {
        let links = pick(16, 30);
        let _ = write!(text, "  {name}:\n    links: {links}\n    path:\n");
        let mut link = pick(0, links - 1);
        for (shaft, teeth) in wheels {
            let colour =
                ["", ", colour: blue", ", colour: yellow"][usize::try_from(pick(0, 2)).unwrap()];
            let _ = writeln!(
                text,
                "      - {{ sprocket: {shaft}, teeth: {teeth}, dot: 0, outside: true, link: {}{colour} }}",
                link % links
            );
            link += pick(3, links / 3);
        }
    };
    if behind {
        chain("first", &[("crank", crank), ("idler", crank)]);
        chain(
            "second",
            &[("idler", crank), ("one", 2 * crank), ("two", 2 * crank)],
        );
    } else {
        chain(
            "only",
            &[("crank", crank), ("one", 2 * crank), ("two", 2 * crank)],
        );
    }
    text
}

#[test]
fn at_small_drives_on_which_much_looks_alike() {
    let (mut dice, mut counts) = (Dice(3), [0; 2]);
    for _ in 0..60 {
        Both::of(&small(&mut dice)).hold_all(&mut counts);
    }
    assert!(counts.iter().all(|count| *count > 200), "{counts:?}");
}

/// Two mistakes that went through once. The chain is inside out and the intake's dot was looked at, its link
/// not; the other bank's chain is hung here inside out, and one of its two dots is right.
#[test]
fn one_dot_does_not_vouch_for_a_camshaft_that_only_its_link_shows() {
    let engine = |name: &str| {
        let all = engines();
        let (_, text) = all.iter().find(|(other, _)| other == name).unwrap();
        drive(text)
    };
    let released = |drive: &Drive, links: &[&str], dots: &[&str]| {
        let (mut seen, on) = (Observations::at_timed_position(), "on".parse().unwrap());
        for name in links {
            let at = tautmark::link_named(drive, name).unwrap();
            seen.see_link(drive, at, on).unwrap();
        }
        for name in dots {
            let at = tautmark::dot_named(drive, name, on).unwrap();
            seen.see_dot(drive, at, on).unwrap();
        }
        let told = check(drive, &seen).unwrap();
        assert_eq!(told.verdict(), Verdict::InTime);
        told.release_tensioner()
    };
    let kestrel = engine("kestrel-four.yaml");
    let links = ["crank", "exhaust"];
    assert!(!released(&kestrel, &links, &["crank", "intake"]));
    assert!(released(&kestrel, &links, &["crank", "intake", "exhaust"]));

    let buzzard = engine("buzzard-v8.yaml");
    let links = [
        "left/crank",
        "left-exhaust",
        "left-intake",
        "right/crank",
        "right-intake",
        "right-exhaust",
    ];
    let right = ["crank", "right-intake"];
    // 136 - 79 = 57 is the exhaust's own place, 136 - 59 = 77 a tooth behind the intake's.
    assert!(!released(
        &buzzard,
        &links,
        &[&right[..], &["left-exhaust"]].concat()
    ));
    assert!(released(
        &buzzard,
        &links,
        &[&right[..], &["left-intake"]].concat()
    ));
}
