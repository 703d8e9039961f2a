//! What was counted, as it is typed: once around each chain.

use super::super::Format;
use anyhow::{Context as _, Result, bail};
use std::path::PathBuf;
use tautmark::{
    proof::{Counted, CountedChain, CountedShaft, CountedSprocket},
    spec::{Rotation, ShaftKind},
    timing::Plates,
    units::{ClockAngle, Exact},
};

/// Make a spec of what you count, where there is none
///
/// Paint a tooth and the link on it at each sprocket. Then go around the chain once, the way it travels when the
/// engine turns its normal way, from the crankshaft back to the crankshaft: each sprocket with its teeth, then the links to
/// the next painted link. The painted link you start from is 0, the one after it is 1.
///
///   tautmark paint count --camshafts 2 --turns clockwise --links 118 crank=18 51 exhaust=36 17 intake=36 50
///
/// A sprocket that is not painted has no count after it. NAME=TEETH/outer or /inner says which kind of link is painted
/// there, and shows a count that is one out. Several chains: each begins with its name and a colon, 'left:'.
/// A toothed belt (--belt) is counted in teeth, and has no outer and inner links.
/// Shafts are camshafts unless they are called crank, or named by --idler, --pump or --balance.
#[derive(clap::Args)]
pub(crate) struct CountArguments {
    /// Once around: NAME=TEETH, links to the next mark, NAME=TEETH, ...
    #[arg(value_name = "WALK", required = true)]
    walk: Vec<String>,
    /// Which way the engine turns, facing the timing end: clockwise or counter-clockwise
    #[arg(long, value_name = "WAY")]
    turns: String,
    /// All links of the chain, counted by themselves; CHAIN=N where there are several
    #[arg(long, value_name = "N", required = true)]
    links: Vec<String>,
    /// How many camshafts the engine has, all banks together, whether they are painted or not
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=100))]
    camshafts: u16,
    /// What the engine is called
    #[arg(
        long,
        value_name = "NAME",
        default_value = "Engine with marks of one's own"
    )]
    engine: String,
    /// Where the engine stands, so that it can be set there again
    #[arg(
        long,
        value_name = "WORDS",
        default_value = "as it stood when it was painted"
    )]
    position: String,
    /// What the crankshaft is called in the walk
    #[arg(long, value_name = "NAME", default_value = "crank")]
    crank: String,
    /// This shaft is an idler
    #[arg(long = "idler", value_name = "NAME")]
    idlers: Vec<String>,
    /// This shaft drives a pump
    #[arg(long = "pump", value_name = "NAME")]
    pumps: Vec<String>,
    /// This shaft is a balance shaft
    #[arg(long = "balance", value_name = "NAME")]
    balances: Vec<String>,
    /// The chain runs over this sprocket with its outside
    #[arg(long = "outside", value_name = "NAME")]
    outside: Vec<String>,
    /// Where the painted tooth of a shaft points, facing the timing end, as a clock's hour hand: 12, 6:30
    #[arg(long = "points", value_name = "NAME=CLOCK")]
    points: Vec<String>,
    /// A chain has a cranked link, and so may have an odd number of them
    #[arg(long)]
    cranked: bool,
    /// A toothed belt and no chain is gone around, so that its teeth are counted; with its name where there are several
    #[arg(long = "belt", value_name = "NAME", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    belts: Vec<String>,
    /// Write the spec to this file, which must not exist yet, instead of printing it
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
    /// Output format
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: Format,
}

impl CountArguments {
    pub(super) fn counted(&self) -> Result<Counted> {
        let Some(crank_turns) = Rotation::from_word(&self.turns) else {
            bail!(
                "--turns '{}': expected clockwise or counter-clockwise, facing the timing end",
                self.turns
            );
        };
        for (flag, text) in [("--engine", &self.engine), ("--position", &self.position)] {
            if text.chars().any(char::is_control) {
                bail!("{flag}: one line of plain words is expected (no line breaks)");
            }
        }
        let mut chains: Vec<CountedChain> = Vec::new();
        for word in &self.walk {
            if let Some(name) = word.strip_suffix(':') {
                if chains.iter().any(|chain| chain.name == name) {
                    bail!("'{word}': this chain is gone around twice (once is enough)");
                }
                chains.push(self.chain(name));
                continue;
            }
            if chains.is_empty() {
                chains.push(self.chain("main"));
            }
            let Some(chain) = chains.last_mut() else {
                continue;
            };
            self.step(word, chain)?;
        }
        for text in &self.links {
            let (name, links) = match text.split_once('=') {
                Some((name, links)) => (Some(name.trim()), links.trim()),
                None => (None, text.trim()),
            };
            let count = whole(links)
                .with_context(|| format!("--links '{text}': expected a number of links"))?;
            let single = chains.len() == 1;
            let chain = match name {
                None if single => chains.first_mut(),
                None => bail!("--links '{text}': of which one? (say NAME={links})"),
                Some(name) => chains.iter_mut().find(|chain| chain.name == name),
            };
            let Some(chain) = chain else {
                bail!("--links '{text}': nothing of that name is gone around");
            };
            if chain.links != 0 {
                bail!("--links '{text}': this chain is given twice (once is enough)");
            }
            chain.links = count;
        }
        for name in &self.belts {
            let single = chains.len() == 1;
            let belt = match name.as_str() {
                "" if single => chains.first_mut(),
                "" => bail!("--belt: which of them is one? (say --belt=NAME)"),
                name => chains.iter_mut().find(|chain| chain.name == name),
            };
            let Some(belt) = belt else {
                bail!("--belt={name}: nothing of that name is gone around");
            };
            belt.belt = true;
        }
        if let Some(chain) = chains.iter().find(|chain| chain.links == 0) {
            bail!(
                "'{}' has no number of links (count them all the way around: --links {}=N)",
                chain.name,
                chain.name
            );
        }
        let counted = Counted {
            engine: self.engine.clone(),
            crank_turns,
            timed_position: self.position.clone(),
            camshafts: self.camshafts,
            shafts: self.shafts(&chains)?,
            chains,
        };
        let cams = counted.shafts.iter();
        let cams: Vec<&str> = cams
            .filter(|shaft| shaft.kind == ShaftKind::Camshaft)
            .map(|shaft| shaft.name.as_str())
            .collect();
        if cams.len() > usize::from(self.camshafts) {
            bail!(
                "--camshafts {}: you went around {} ({}). Count the camshafts again, or name what is none (--idler, --pump, --balance)",
                self.camshafts,
                cams.len(),
                cams.join(", ")
            );
        }
        Ok(counted)
    }

    fn chain(&self, name: &str) -> CountedChain {
        CountedChain {
            name: name.to_owned(),
            links: 0,
            cranked: self.cranked,
            belt: false,
            walk: Vec::new(),
        }
    }

    /// One word of the walk: a sprocket, or the links from the last one to the next mark.
    fn step(&self, word: &str, chain: &mut CountedChain) -> Result<()> {
        if let Some((name, teeth)) = word.split_once('=') {
            let (teeth, plates) = match teeth.split_once('/') {
                None => (teeth, None),
                Some((teeth, "outer")) => (teeth, Some(Plates::Outer)),
                Some((teeth, "inner")) => (teeth, Some(Plates::Inner)),
                Some((_, other)) => {
                    bail!("'{word}': '{other}' is no kind of link (outer or inner)")
                }
            };
            if chain.walk.iter().any(|sprocket| sprocket.shaft == name) {
                bail!(
                    "'{word}': '{name}' is met twice on chain '{}' (give each sprocket a name of its own)",
                    chain.name
                );
            }
            chain.walk.push(CountedSprocket {
                shaft: name.to_owned(),
                teeth: whole(teeth)
                    .with_context(|| format!("'{word}': expected a number of teeth after ="))?,
                outside: self.outside.iter().any(|outside| outside == name),
                to_next: None,
                plates,
            });
            return Ok(());
        }
        let count = whole(word).with_context(|| {
            format!("'{word}': expected NAME=TEETH, or the links to the next mark")
        })?;
        let Some(last) = chain.walk.last_mut() else {
            bail!(
                "'{word}': a count comes after the sprocket it starts from (such as crank=18 {word})"
            );
        };
        if last.to_next.is_some() {
            bail!(
                "'{word}': two counts after '{}' (which sprocket lies between them?)",
                last.shaft
            );
        }
        if count == 0 {
            bail!("'{word}': the next mark is another link (the one you start from is 0)");
        }
        last.to_next = Some(count);
        Ok(())
    }

    fn shafts(&self, chains: &[CountedChain]) -> Result<Vec<CountedShaft>> {
        let mut shafts: Vec<CountedShaft> = Vec::new();
        for sprocket in chains.iter().flat_map(|chain| &chain.walk) {
            if shafts.iter().all(|shaft| shaft.name != sprocket.shaft) {
                shafts.push(CountedShaft {
                    name: sprocket.shaft.clone(),
                    kind: self.kind(&sprocket.shaft)?,
                    points: None,
                });
            }
        }
        let known: Vec<String> = shafts.iter().map(|shaft| shaft.name.clone()).collect();
        let flags = [
            ("--crank", std::slice::from_ref(&self.crank)),
            ("--idler", &self.idlers[..]),
            ("--pump", &self.pumps),
            ("--balance", &self.balances),
            ("--outside", &self.outside),
        ];
        for (flag, names) in flags {
            if let Some(stray) = names.iter().find(|name| !known.contains(name)) {
                bail!(
                    "{flag} '{stray}': nothing of that name is gone around (there are: {})",
                    known.join(", ")
                );
            }
        }
        for text in &self.points {
            let Some((name, clock)) = text.split_once('=') else {
                bail!("--points '{text}': expected NAME=CLOCK, such as cam=12 or cam=6:30");
            };
            let angle = clock_angle(clock.trim()).with_context(|| {
                format!("--points '{text}': expected a clock, such as 12 or 6:30")
            })?;
            let Some(shaft) = shafts.iter_mut().find(|shaft| shaft.name == name.trim()) else {
                bail!(
                    "--points '{text}': nothing of that name is gone around (there are: {})",
                    known.join(", ")
                );
            };
            if shaft.points.is_some() {
                bail!("--points '{text}': '{name}' is given twice (once is enough)");
            }
            shaft.points = Some(angle);
        }
        Ok(shafts)
    }

    fn kind(&self, name: &str) -> Result<ShaftKind> {
        let among = |names: &[String]| names.iter().any(|other| other == name);
        let kinds = [
            (name == self.crank, ShaftKind::Crankshaft),
            (among(&self.idlers), ShaftKind::Idler),
            (among(&self.pumps), ShaftKind::Pump),
            (among(&self.balances), ShaftKind::Balance),
        ];
        let mut found = kinds.iter().filter(|(is, _)| *is).map(|(_, kind)| *kind);
        let kind = found.next().unwrap_or(ShaftKind::Camshaft);
        if found.next().is_some() {
            bail!("'{name}' cannot be two kinds of shaft (keep one of the flags)");
        }
        Ok(kind)
    }
}

fn whole(text: &str) -> Option<u16> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// Twelve o'clock is 0 degrees, an hour 30.
fn clock_angle(text: &str) -> Option<ClockAngle> {
    let (hour, minute) = text.split_once(':').unwrap_or((text, "0"));
    let (hour, minute) = (whole(hour)?, whole(minute)?);
    if !(1..=12).contains(&hour) || minute > 59 {
        return None;
    }
    let half_degrees = i64::from(hour % 12) * 60 + i64::from(minute);
    Exact::fraction(half_degrees, 2).map(ClockAngle::new)
}
