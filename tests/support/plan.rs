//! Random drives that hold together, with what is known of them from how they were made.

use super::fraction::Fraction;
use proptest::prelude::*;
use std::fmt::Write;

/// A drive as the test made it.
#[derive(Clone)]
pub(crate) struct Plan {
    pub(crate) shafts: Vec<PlanShaft>,
    pub(crate) chains: Vec<PlanChain>,
    counter_clockwise: bool,
}

#[derive(Clone, Debug)]
pub(crate) struct PlanShaft {
    pub(crate) name: String,
    pub(crate) kind: Kind,
    /// Turns for each turn of the crankshaft; below zero: backwards.
    pub(crate) ratio: Fraction,
    /// Chain and sprocket by which it is driven.
    pub(crate) driven_at: Option<(usize, usize)>,
    /// Any whole number may stand here; it says where the marks point.
    look: u16,
}

#[derive(Clone, Debug)]
pub(crate) struct PlanChain {
    pub(crate) name: String,
    pub(crate) links: i128,
    pub(crate) sprockets: Vec<PlanSprocket>,
    /// Which sprocket drives.
    pub(crate) driver: usize,
    /// The chain of which this one, side by side with it, says the same.
    pub(crate) twin_of: Option<Twin>,
}

/// A second chain between the same two shafts, which closes a loop.
#[derive(Clone, Debug)]
pub(crate) struct Twin {
    pub(crate) chain: String,
    /// Teeth on this chain to a tooth on that one.
    pub(crate) teeth: i128,
}

#[derive(Clone, Debug)]
pub(crate) struct PlanSprocket {
    pub(crate) shaft: usize,
    pub(crate) teeth: i128,
    pub(crate) outside: bool,
    /// In half links; uneven: between two links.
    pub(crate) mark: Option<i128>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Kind {
    Crankshaft,
    Camshaft,
    Idler,
    Balance,
    Pump,
    PumpWithoutMark,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Crankshaft => "crankshaft",
            Self::Camshaft => "camshaft",
            Self::Idler => "idler",
            Self::Balance => "balance",
            Self::Pump | Self::PumpWithoutMark => "pump",
        }
    }
}

/// Must it be in time?
pub(crate) fn is_timed(kind: Kind) -> bool {
    matches!(kind, Kind::Camshaft | Kind::Balance | Kind::Pump)
}

/// The raw numbers that one chain is made of; any values make a chain.
#[derive(Clone, Debug)]
struct ChainSeed {
    parent: u8,
    driver_teeth: u8,
    driver_outside: bool,
    driver_half: bool,
    rotate: u8,
    start: u16,
    slack: u8,
    followers: Vec<FollowerSeed>,
}

#[derive(Clone, Debug)]
struct FollowerSeed {
    kind: Kind,
    teeth: u8,
    outside: bool,
    half: bool,
    gap: u8,
    look: u16,
}

fn follower() -> impl Strategy<Value = FollowerSeed> {
    let kind = prop_oneof![
        4 => Just(Kind::Camshaft),
        3 => Just(Kind::Idler),
        1 => Just(Kind::Balance),
        1 => Just(Kind::Pump),
        1 => Just(Kind::PumpWithoutMark),
    ];
    let flags = (prop::bool::weighted(0.2), prop::bool::weighted(0.3));
    (kind, any::<u8>(), flags, 0_u8..60, any::<u16>()).prop_map(
        |(kind, teeth, (outside, half), gap, look)| FollowerSeed {
            kind,
            teeth,
            outside,
            half,
            gap,
            look,
        },
    )
}

fn chain() -> impl Strategy<Value = ChainSeed> {
    let flags = (prop::bool::weighted(0.1), prop::bool::weighted(0.2));
    (
        (any::<u8>(), any::<u8>(), any::<u8>()),
        flags,
        (any::<u16>(), 0_u8..80),
        prop::collection::vec(follower(), 1..=4),
    )
        .prop_map(
            |(
                (parent, driver_teeth, rotate),
                (driver_outside, driver_half),
                (start, slack),
                followers,
            )| {
                ChainSeed {
                    parent,
                    driver_teeth,
                    driver_outside,
                    driver_half,
                    rotate,
                    start,
                    slack,
                    followers,
                }
            },
        )
}

/// Any drive: up to 8 chains and 16 shafts, a tree of chains behind idlers.
pub(crate) fn plan() -> impl Strategy<Value = Plan> {
    (
        prop::collection::vec(chain(), 1..=8),
        any::<bool>(),
        0_usize..8,
        any::<u16>(),
    )
        .prop_map(|(seeds, counter_clockwise, rotate, look)| {
            let mut plan = grow(&seeds, counter_clockwise, look);
            plan.rotate_chains(rotate);
            plan
        })
}

/// Any drive whose first chain has a second one beside it, so that they close a loop.
pub(crate) fn plan_with_loop() -> impl Strategy<Value = Plan> {
    (
        prop::collection::vec(chain(), 1..=4),
        1_i128..=2,
        0_usize..8,
        any::<u16>(),
    )
        .prop_map(|(seeds, times, rotate, look)| {
            let mut plan = grow(&seeds, false, look);
            plan.close_loop(times);
            plan.rotate_chains(rotate);
            plan
        })
}

const MAX_SHAFTS: usize = 16;
/// Chain speeds with a common multiple above this are too intricate for the model.
const MAX_COMMON: i128 = 1_000_000_000;

/// Ratios that leave tooth counts for the chains behind, and turns after which marks are back.
fn handy(ratio: Fraction) -> bool {
    let size = ratio.abs();
    let quarter = Fraction::new(1, 4);
    size.below() <= 12 && (size - quarter).above() >= 0 && (Fraction::whole(4) - size).above() >= 0
}

fn pick(candidates: &[i128], choice: u8) -> i128 {
    candidates[usize::from(choice) % candidates.len()]
}

fn grow(seeds: &[ChainSeed], counter_clockwise: bool, look: u16) -> Plan {
    let mut plan = Plan {
        shafts: vec![PlanShaft {
            name: "crank".into(),
            kind: Kind::Crankshaft,
            ratio: Fraction::whole(1),
            driven_at: None,
            look,
        }],
        chains: Vec::new(),
        counter_clockwise,
    };
    let mut common = 1;
    for seed in seeds {
        if plan.shafts.len() < MAX_SHAFTS {
            plan.hang_chain(seed, &mut common);
        }
    }
    plan
}

impl Plan {
    fn hang_chain(&mut self, seed: &ChainSeed, common: &mut i128) {
        let drivers: Vec<usize> = (0..self.shafts.len())
            .filter(|id| matches!(self.shafts[*id].kind, Kind::Crankshaft | Kind::Idler))
            .collect();
        let parent = drivers[usize::from(seed.parent) % drivers.len()];
        let parent_ratio = self.shafts[parent].ratio;
        let cam_teeth = |teeth: i128| parent_ratio.abs() * Fraction::whole(2 * teeth);
        let fitting: Vec<i128> = (5..=48)
            .filter(|teeth| {
                let cam = cam_teeth(*teeth);
                cam.is_whole() && (5..=400).contains(&cam.above())
            })
            .collect();
        let teeth = pick(&fitting, seed.driver_teeth);
        let speed = parent_ratio.abs() * Fraction::whole(teeth);
        let now = *common * (Fraction::new(speed.above(), *common)).above();
        if now > MAX_COMMON {
            return;
        }
        *common = now;

        let here = self.chains.len();
        let mut sprockets = vec![PlanSprocket {
            shaft: parent,
            teeth,
            outside: seed.driver_outside,
            mark: Some(i128::from(seed.driver_half)),
        }];
        let mut place = 0;
        for follower in &seed.followers {
            if self.shafts.len() == MAX_SHAFTS {
                break;
            }
            let fitting: Vec<i128> = match follower.kind {
                Kind::Camshaft => vec![cam_teeth(teeth).above()],
                _ => (5..=60)
                    .filter(|teeth| handy(speed / Fraction::whole(*teeth)))
                    .collect(),
            };
            let teeth = pick(&fitting, follower.teeth);
            let forward = (parent_ratio.above() > 0) == (follower.outside == seed.driver_outside);
            let size = speed / Fraction::whole(teeth);
            // Two half links on at least, so that a mark between links stays before the next.
            place += 2 * (1 + i128::from(follower.gap));
            sprockets.push(PlanSprocket {
                shaft: self.shafts.len(),
                teeth,
                outside: follower.outside,
                mark: (follower.kind != Kind::PumpWithoutMark)
                    .then_some(place + i128::from(follower.half)),
            });
            self.shafts.push(PlanShaft {
                name: format!("{}{}", follower.kind.word(), self.shafts.len()),
                kind: follower.kind,
                ratio: if forward { size } else { -size },
                driven_at: Some((here, sprockets.len() - 1)),
                look: follower.look,
            });
        }
        let links = fitting_links(&sprockets, place, seed.slack);
        let chain = PlanChain {
            name: format!("chain{here}"),
            links,
            sprockets,
            driver: 0,
            twin_of: None,
        };
        self.chains.push(chain);
        self.renumber(here, i128::from(seed.start));
        self.rotate_path(here, usize::from(seed.rotate));
    }

    /// The same chain with its links counted from elsewhere.
    pub(crate) fn renumber(&mut self, chain: usize, by: i128) {
        let chain = &mut self.chains[chain];
        for mark in chain.sprockets.iter_mut().filter_map(|s| s.mark.as_mut()) {
            *mark = (*mark + 2 * by).rem_euclid(2 * chain.links);
        }
    }

    /// The same path told from another sprocket on.
    fn rotate_path(&mut self, chain: usize, by: usize) {
        let count = self.chains[chain].sprockets.len();
        let by = by % count;
        let moved = |sprocket: usize| (sprocket + count - by) % count;
        let told = &mut self.chains[chain];
        told.sprockets.rotate_left(by);
        told.driver = moved(told.driver);
        for (at_chain, sprocket) in self.shafts.iter_mut().filter_map(|s| s.driven_at.as_mut()) {
            if *at_chain == chain {
                *sprocket = moved(*sprocket);
            }
        }
    }

    /// The same chains told in another order.
    fn rotate_chains(&mut self, by: usize) {
        let count = self.chains.len();
        let by = by % count;
        self.chains.rotate_left(by);
        for (chain, _) in self.shafts.iter_mut().filter_map(|s| s.driven_at.as_mut()) {
            *chain = (*chain + count - by) % count;
        }
    }

    /// Hangs a second chain beside the first, from its driver to its first marked follower.
    fn close_loop(&mut self, times: i128) {
        let first = &self.chains[0];
        let driver = &first.sprockets[first.driver];
        let Some(follower) = first
            .sprockets
            .iter()
            .find(|s| s.shaft != driver.shaft && s.mark.is_some() && s.teeth * times <= 400)
        else {
            return;
        };
        let beside = |sprocket: &PlanSprocket, mark: i128| PlanSprocket {
            shaft: sprocket.shaft,
            teeth: sprocket.teeth * times,
            outside: sprocket.outside,
            mark: Some(mark),
        };
        let sprockets = vec![beside(driver, 0), beside(follower, 21)];
        self.chains.push(PlanChain {
            name: "beside".into(),
            links: fitting_links(&sprockets, 21, 40),
            sprockets,
            driver: 0,
            twin_of: Some(Twin {
                chain: first.name.clone(),
                teeth: times,
            }),
        });
    }

    /// Does anything that must be in time hang on this chain, at whatever distance?
    pub(crate) fn leads_to_timed(&self, chain: usize) -> bool {
        let mut leads = false;
        for shaft in self.shafts.iter().filter(|shaft| is_timed(shaft.kind)) {
            let mut at = shaft.driven_at;
            while let Some((on, _)) = at {
                leads |= on == chain;
                let hung = &self.chains[on];
                at = self.shafts[hung.sprockets[hung.driver].shaft].driven_at;
            }
        }
        leads
    }

    /// Links of a chain that pass in one turn of the crankshaft.
    pub(crate) fn speed(&self, chain: usize) -> Fraction {
        let hung = &self.chains[chain];
        let driver = &hung.sprockets[hung.driver];
        self.shafts[driver.shaft].ratio.abs() * Fraction::whole(driver.teeth)
    }

    /// The first whole number of crank turns, from `from` on, after which every marked dot is back.
    pub(crate) fn turns_until_home(&self, from: i128) -> i128 {
        (from.max(1)..)
            .find(|turns| {
                self.shafts
                    .iter()
                    .all(|shaft| (shaft.ratio * Fraction::whole(*turns)).is_whole())
            })
            .unwrap()
    }

    pub(crate) fn yaml(&self) -> String {
        let mut text = String::from("tautmark: 1\nengine: Random drive\n");
        let turns = if self.counter_clockwise {
            "counter-clockwise"
        } else {
            "clockwise"
        };
        let _ = writeln!(text, "crank_turns: {turns}\nshafts:");
        for shaft in &self.shafts {
            let (name, kind, look) = (&shaft.name, shaft.kind.word(), i32::from(shaft.look));
            let _ = write!(text, "  {name}: {{ kind: {kind}");
            // Ornament that the exact model passes on and does not reckon with.
            if look % 3 == 0 {
                let (x, y) = (look % 4001 - 2000, look % 977);
                let _ = write!(text, ", at: [{x}.{:02}, {y}/7]", look % 100);
            }
            if look % 4 == 1 && shaft.kind == Kind::Camshaft {
                let parked = ["advanced", "retarded", "middle"][usize::from(shaft.look) / 4 % 3];
                let range = look % 179 + 1;
                let _ = write!(text, ", phaser: {{ range: {range}, parked: {parked} }}");
            }
            text.push_str(" }\n");
        }
        text.push_str("chains:\n");
        for chain in &self.chains {
            let (name, links) = (&chain.name, chain.links);
            let _ = writeln!(text, "  {name}:\n    links: {links}");
            if links % 2 == 0 {
                let limit = links % 30 + 1;
                let _ = writeln!(text, "    pitch: 9.525\n    elongation_limit: {limit}/1000");
            }
            text.push_str("    path:\n");
            for sprocket in &chain.sprockets {
                self.write_sprocket(&mut text, chain, sprocket);
            }
        }
        text
    }

    /// The same without pitches and tensioners, so that its centres, which are anywhere, contradict no
    /// mark.
    pub(crate) fn yaml_without_pitch(&self) -> String {
        let text = self.yaml();
        let kept = text
            .lines()
            .filter(|line| !line.starts_with("    pitch:") && !line.contains("tensioner:"));
        kept.flat_map(|line| [line, "\n"]).collect()
    }

    fn write_sprocket(&self, text: &mut String, chain: &PlanChain, sprocket: &PlanSprocket) {
        let shaft = &self.shafts[sprocket.shaft];
        let (name, teeth, look) = (&shaft.name, sprocket.teeth, i32::from(shaft.look));
        let _ = write!(text, "      - {{ sprocket: {name}, teeth: {teeth}");
        if let Some(mark) = sprocket.mark {
            let (link, next) = (mark / 2, (mark / 2 + 1) % chain.links);
            let _ = if mark % 2 == 0 {
                write!(text, ", link: {link}")
            } else {
                write!(text, ", links: [{link}, {next}]")
            };
            if look % 2 == 0 {
                let _ = write!(text, ", dot: {}.{}", look % 360, look % 8 * 125);
            }
            if look % 5 != 0 {
                let colour = ["blue", "yellow"][usize::from(look % 5 > 1)];
                let _ = write!(text, ", colour: {colour}");
            }
        }
        if sprocket.outside {
            text.push_str(", outside: true");
        }
        text.push_str(" }\n");
        if look % 7 == 0 {
            let (x, radius) = (look % 500 - 250, look % 90 + 1);
            let _ = if look % 14 == 0 {
                writeln!(text, "      - {{ guide: [{x}, 12.5], radius: {radius} }}")
            } else {
                writeln!(
                    text,
                    "      - {{ tensioner: [{x}, -40], radius: {radius}, outside: true, pushes: {}, stroke: 12.5 }}",
                    look % 360
                )
            };
        }
    }
}

/// A law that fails shows the drive as a file that can be tried.
impl std::fmt::Debug for Plan {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "\n{}", self.yaml())
    }
}

/// Links enough for the marks, and for the two largest sprockets inside the loop.
fn fitting_links(sprockets: &[PlanSprocket], last_place: i128, slack: u8) -> i128 {
    let mut inside: Vec<i128> = sprockets
        .iter()
        .filter(|sprocket| !sprocket.outside)
        .map(|sprocket| sprocket.teeth)
        .collect();
    inside.sort_unstable();
    let largest: i128 = inside.iter().rev().take(2).sum();
    let least = (largest / 2 + 1).max(last_place / 2 + 2).max(SHORTEST);
    least + i128::from(slack)
}

/// No random chain is shorter, so that three teeth either way at both ends stay below half of it.
pub(crate) const SHORTEST: i128 = 14;
