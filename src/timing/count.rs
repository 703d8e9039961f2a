//! Links counted from dot to dot, where no colour says which link is which: the chain is numbered from one dot on, and
//! what comes of it is a link on every dot, as if the numbers had stood on the chain.
//!
//! A count that is one out looks like a sprocket that is one tooth off, and the two together look right. So a count
//! alone proves nothing: either the kinds of the two links agree with it (inner and outer links take turns, so that links
//! of one kind are an even number apart; common practice), or all counts around the chain come to its links.

use crate::drive::ids::{ChainId, Engagement};
use crate::drive::model::Drive;
use crate::timing::check::link_due;
use crate::timing::observe::{ObservationError, Observations, Seen, link_named, name_of};
use crate::units::quantity::{Exact, LinkPosition, OutOfRange, Teeth, Turns};

/// Links are of two kinds, which take turns along the chain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Plates {
    /// Its plates lie outside those of its neighbours, and hold the pins.
    Outer,
    /// Its plates lie inside, around the rollers.
    Inner,
}

/// Links counted along the strand between two dots: the link on the first is 0, the one after it is 1.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DotCount {
    /// The dot that a travelling link leaves.
    pub from: Engagement,
    /// The one that it comes to next.
    pub to: Engagement,
    /// As counted.
    pub links: Exact,
    /// What kinds of link lie on both, if that was looked at.
    pub plates: Option<(Plates, Plates)>,
}

impl DotCount {
    /// The one between the dots `names` (`crank..exhaust`), counted as `what` says: `51`, or `51 outer inner` with the
    /// kinds of the links on both.
    ///
    /// # Errors
    /// [`CountError`] for another form, or a name that the drive has not.
    pub fn named(drive: &Drive, names: &str, what: &str) -> Result<Self, CountError> {
        let (from, to) = names.split_once("..").ok_or(CountError::Form)?;
        let named = |name: &str| link_named(drive, name.trim()).map_err(CountError::Observation);
        let kind = |word: &str| match word {
            "outer" => Ok(Plates::Outer),
            "inner" => Ok(Plates::Inner),
            _ => Err(CountError::Form),
        };
        let words: Vec<&str> = what.split_whitespace().collect();
        let (links, plates) = match words[..] {
            [links] => (links, None),
            [links, a, b] => (links, Some((kind(a)?, kind(b)?))),
            _ => return Err(CountError::Form),
        };
        Ok(Self {
            from: named(from)?,
            to: named(to)?,
            links: Exact::parse(links).map_err(|_| CountError::Form)?,
            plates,
        })
    }
}

/// Why counts say nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum CountError {
    /// The dots are not neighbours along the chain: some other dot lies between them, whichever way.
    NotNeighbours {
        /// From here.
        from: String,
        /// To there.
        to: String,
        /// The dot that comes next after the first.
        next: Option<String>,
        /// Does a link come from the second to the first?
        backwards: bool,
    },
    /// The spec gives no link for this dot.
    NoLink {
        /// The sprocket.
        at: String,
    },
    /// More than the chain has, none, or a part of a link that no dot lies on.
    Impossible {
        /// From here.
        from: String,
        /// To there.
        to: String,
        /// As counted.
        links: Exact,
        /// The links of the chain.
        chain: u16,
        /// Is there a half in it where there must be none, or none where there must be one?
        half: bool,
    },
    /// The kinds of the links do not go with the count.
    PlatesDiffer {
        /// From here.
        from: String,
        /// To there.
        to: String,
        /// As counted.
        links: Exact,
        /// Are both of one kind?
        alike: bool,
    },
    /// Kinds of link say nothing here: it is a belt, the chain has an odd number of links, or the dot lies between two.
    NoPlates {
        /// The sprocket.
        at: String,
    },
    /// One dot has been said to lie on both kinds of link.
    PlatesTwice {
        /// The sprocket.
        at: String,
    },
    /// The counts all the way around are not the links of the chain.
    AddsUp {
        /// The chain.
        chain: String,
        /// What they come to.
        sum: Exact,
        /// The links of the chain.
        links: u16,
    },
    /// A count by itself may be one out.
    Alone {
        /// From here.
        from: String,
        /// To there.
        to: String,
    },
    /// Counted between these dots twice.
    Twice {
        /// From here.
        from: String,
        /// To there.
        to: String,
    },
    /// Nothing joins this count to the others of its chain.
    Apart {
        /// From here.
        from: String,
        /// To there.
        to: String,
    },
    /// Links on dots were given for the same chain.
    Mixed {
        /// The chain.
        chain: String,
    },
    /// That dot is not at its timed place after so many turns.
    Away {
        /// The sprocket.
        at: String,
    },
    /// Not written as `crank..exhaust` and `51` or `51 outer inner`.
    Form,
    /// It does not belong to this drive.
    Observation(ObservationError),
    /// A number that cannot be held; the bounds of [`Drive`] prevent it.
    OutOfRange,
}

impl std::fmt::Display for CountError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        const AGAIN: &str = "count again: the link on the first dot is 0, the one after it is 1";
        match self {
            Self::Form => f.write_str(
                "expected SHAFT..SHAFT and N, such as crank..exhaust and 51 outer inner",
            ),
            Self::NotNeighbours {
                from,
                to,
                next,
                backwards,
            } => {
                if *backwards {
                    return write!(
                        f,
                        "the chain does not run from '{from}' straight to '{to}', but from '{to}' to '{from}' (if that strand is what you counted, say {to}..{from})"
                    );
                }
                write!(f, "'{from}' and '{to}' are not neighbours along the chain")?;
                match next {
                    Some(next) => {
                        write!(f, " (count from '{from}' to '{next}', and on from there)")
                    }
                    None => f.write_str(" (count from a dot to the next one)"),
                }
            }
            Self::NoLink { at } => write!(
                f,
                "the spec does not say on which link the dot of '{at}' belongs, so counting to it says nothing (look at its dot against the engine instead)"
            ),
            Self::Impossible {
                from,
                to,
                links,
                chain,
                half,
            } => {
                write!(f, "from '{from}' to '{to}' it cannot be {links} links")?;
                if *half {
                    f.write_str(
                        " (a dot between two links makes it a half more; any other a whole number)",
                    )
                } else {
                    write!(f, " (the chain has {chain})")
                }
            }
            Self::PlatesDiffer {
                from,
                to,
                links,
                alike,
            } => write!(
                f,
                "from '{from}' to '{to}': {} never {links} apart; {AGAIN}",
                if *alike {
                    "two links of one kind are"
                } else {
                    "an outer and an inner link are"
                }
            ),
            Self::NoPlates { at } => write!(
                f,
                "a count to or from '{at}' by itself may be one out, and no kind of link tells there (count all the way around instead)"
            ),
            Self::PlatesTwice { at } => write!(
                f,
                "the dot of '{at}' cannot lie on an outer link and on an inner one (look again)"
            ),
            Self::AddsUp { chain, sum, links } => write!(
                f,
                "the counts around chain '{chain}' come to {sum} links, and it has {links}; {AGAIN}"
            ),
            Self::Alone { from, to } => write!(
                f,
                "from '{from}' to '{to}': a count by itself may be one out and look right. Say which kind of link lies on each dot ('outer inner'), or count all the way around the chain"
            ),
            Self::Twice { from, to } => write!(
                f,
                "from '{from}' to '{to}' is counted twice (once is enough)"
            ),
            Self::Apart { from, to } => write!(
                f,
                "from '{from}' to '{to}': nothing joins this count to the other ones on its chain (count what lies between, too)"
            ),
            Self::Mixed { chain } => write!(
                f,
                "chain '{chain}': give counts or coloured links, not both (counts number the chain from a dot, and the colours would contradict that)"
            ),
            Self::Away { at } => write!(
                f,
                "the dot of '{at}' is not at its timed place after so many turns (turn on until it is, then count)"
            ),
            Self::Observation(error) => error.fmt(f),
            Self::OutOfRange => OutOfRange.fmt(f),
        }
    }
}

impl std::error::Error for CountError {}

impl From<OutOfRange> for CountError {
    fn from(_: OutOfRange) -> Self {
        Self::OutOfRange
    }
}

/// The links that are right between the dots of neighbours, the way the chain travels: the number on which both
/// kinds of mistake are measured. `None` where the spec gives no links, or they are not neighbours.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn count_due(
    drive: &Drive,
    from: Engagement,
    to: Engagement,
) -> Result<Option<Exact>, OutOfRange> {
    let (Some(a), Some(b)) = (drive.sprocket(from).mark(), drive.sprocket(to).mark()) else {
        return Ok(None);
    };
    if next_mark(drive, from) != Some(to) || from == to {
        return Ok(None);
    }
    let around = drive.chain(from.chain).links().to_exact();
    b.link.since(a.link)?.get().modulo(around).map(Some)
}

/// Do kinds of link tell whether a count between these dots is even? Not on a belt or a chain with a cranked link, nor where
/// a dot lies between two links.
pub fn plates_tell(drive: &Drive, at: Engagement) -> bool {
    let mark = drive.sprocket(at).mark();
    let chain = drive.chain(at.chain);
    chain.has_pins()
        && chain.links().get().is_multiple_of(2)
        && mark.is_some_and(|mark| mark.link.get().is_whole())
}

/// The sprocket with a mark that a travelling link comes to after this one.
fn next_mark(drive: &Drive, at: Engagement) -> Option<Engagement> {
    let chain = drive.chain(at.chain);
    let mut all: Vec<_> = chain.engagements(at.chain).collect();
    all.retain(|(other, sprocket)| *other == at || sprocket.mark().is_some());
    let own = all.iter().position(|(other, _)| *other == at)?;
    all.get((own + 1) % all.len()).map(|(other, _)| *other)
}

impl Observations {
    /// Takes down links that were counted from dot to dot, all of them at once. Each chain is numbered from the
    /// first dot that was counted from, and every dot is then seen on a link.
    ///
    /// ```
    /// # use tautmark::{Drive, Source};
    /// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
    /// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
    /// use tautmark::{Observations, Verdict, check, link_named, timing::DotCount, units::Exact};
    ///
    /// let count = |from, to, links| -> Result<DotCount, tautmark::ObservationError> {
    ///     let (from, to) = (link_named(&drive, from)?, link_named(&drive, to)?);
    ///     Ok(DotCount { from, to, links: Exact::whole(links), plates: None })
    /// };
    /// // All the way around: 51 + 17 + 50 are the 118 links of the chain.
    /// let around = [count("crank", "exhaust", 51)?, count("exhaust", "intake", 17)?, count("intake", "crank", 50)?];
    /// let mut seen = Observations::at_timed_position();
    /// seen.see_counts(&drive, &around)?;
    /// assert_eq!(check(&drive, &seen)?.verdict(), Verdict::InTime);
    ///
    /// // One count by itself may be one out, and says nothing.
    /// assert!(Observations::at_timed_position().see_counts(&drive, &around[..1]).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`CountError`]; nothing is taken down then.
    pub fn see_counts(&mut self, drive: &Drive, counts: &[DotCount]) -> Result<(), CountError> {
        let mut after = self.clone();
        for (id, chain) in drive.chains() {
            let own: Vec<DotCount> = counts
                .iter()
                .copied()
                .filter(|count| count.from.chain == id)
                .collect();
            if own.is_empty() {
                continue;
            }
            if self.links().iter().any(|(at, _)| at.chain == id) {
                return Err(CountError::Mixed {
                    chain: chain.name().to_owned(),
                });
            }
            let own = along_travel(drive, &own)?;
            settled(drive, id, &own)?;
            for (at, link) in numbered(drive, self.turned(), &own)? {
                after
                    .see_link(drive, at, Seen::Link(link))
                    .map_err(CountError::Observation)?;
            }
        }
        if counts.iter().any(|count| !drive.owns(count.from)) {
            return Err(CountError::Observation(ObservationError::OtherDrive));
        }
        *self = after;
        Ok(())
    }
}

/// Every count runs from a dot to the one that a link comes to next. Counted over a third dot it would be another strand than the
/// one that is meant, and what is out along the one may look right along the other.
fn along_travel(drive: &Drive, counts: &[DotCount]) -> Result<Vec<DotCount>, CountError> {
    let name = |at| name_of(drive, at);
    let mut found: Vec<DotCount> = Vec::with_capacity(counts.len());
    for count in counts {
        let DotCount {
            from,
            to,
            links,
            plates: _,
        } = *count;
        if !drive.owns(from) || !drive.owns(to) {
            return Err(CountError::Observation(ObservationError::OtherDrive));
        }
        for at in [from, to] {
            if drive.sprocket(at).mark().is_none() {
                return Err(CountError::NoLink { at: name(at) });
            }
        }
        let Some(due) = count_due(drive, from, to)? else {
            return Err(CountError::NotNeighbours {
                from: name(from),
                to: name(to),
                next: next_mark(drive, from)
                    .filter(|next| *next != from)
                    .map(name),
                backwards: next_mark(drive, to) == Some(from),
            });
        };
        let chain = drive.chain(from.chain).links();
        let half = !links.checked_sub(due)?.is_whole();
        if half || links <= Exact::ZERO || links >= chain.to_exact() {
            return Err(CountError::Impossible {
                from: name(from),
                to: name(to),
                links,
                chain: chain.get(),
                half,
            });
        }
        if found.iter().any(|other| other.from == from) {
            return Err(CountError::Twice {
                from: name(from),
                to: name(to),
            });
        }
        found.push(*count);
    }
    Ok(found)
}

/// Is every count confirmed by something else, by its links' kinds or by all the counts around the chain?
fn settled(drive: &Drive, id: ChainId, counts: &[DotCount]) -> Result<(), CountError> {
    let name = |at| name_of(drive, at);
    let mut kinds: Vec<(Engagement, Plates)> = Vec::new();
    for count in counts {
        let Some((a, b)) = count.plates else { continue };
        for (at, plates) in [(count.from, a), (count.to, b)] {
            if !plates_tell(drive, at) {
                return Err(CountError::NoPlates { at: name(at) });
            }
            if kinds
                .iter()
                .any(|(other, known)| *other == at && *known != plates)
            {
                return Err(CountError::PlatesTwice { at: name(at) });
            }
            kinds.push((at, plates));
        }
        let even = count.links.modulo(Exact::whole(2))?.is_zero();
        if (a == b) != even {
            return Err(CountError::PlatesDiffer {
                from: name(count.from),
                to: name(count.to),
                links: count.links,
                alike: a == b,
            });
        }
    }
    let chain = drive.chain(id);
    let marks = chain.sprockets().iter().filter(|s| s.mark().is_some());
    if counts.len() == marks.count() {
        let mut sum = Exact::ZERO;
        for count in counts {
            sum = sum.checked_add(count.links)?;
        }
        if sum != chain.links().to_exact() {
            return Err(CountError::AddsUp {
                chain: chain.name().to_owned(),
                sum,
                links: chain.links().get(),
            });
        }
        return Ok(());
    }
    match counts.iter().find(|count| count.plates.is_none()) {
        // A belt has no kinds of links to confirm it.
        Some(alone) if !chain.has_pins() => Err(CountError::NoPlates {
            at: name(alone.from),
        }),
        Some(alone) => Err(CountError::Alone {
            from: name(alone.from),
            to: name(alone.to),
        }),
        None => Ok(()),
    }
}

/// The link on each dot, the chain being numbered from the first one.
fn numbered(
    drive: &Drive,
    turned: Turns,
    counts: &[DotCount],
) -> Result<Vec<(Engagement, LinkPosition)>, CountError> {
    let due = |at: Engagement| {
        link_due(drive, at, turned)?.ok_or_else(|| CountError::Away {
            at: name_of(drive, at),
        })
    };
    let mut known: Vec<(Engagement, LinkPosition)> = Vec::new();
    if let Some(first) = counts.first() {
        known.push((first.from, due(first.from)?));
    }
    let mut left: Vec<DotCount> = counts.to_vec();
    while let Some(next) = left.iter().position(|count| {
        let is_known = |at| known.iter().any(|(other, _)| *other == at);
        is_known(count.from) || is_known(count.to)
    }) {
        let count = left.remove(next);
        due(count.from)?;
        due(count.to)?;
        let links = drive.chain(count.from.chain).links();
        let on = |at| {
            known
                .iter()
                .find(|(other, _)| *other == at)
                .map(|(_, l)| *l)
        };
        match (on(count.from), on(count.to)) {
            (Some(from), None) => {
                known.push((count.to, from.moved(Teeth::new(count.links), links)?));
            }
            (None, Some(to)) => {
                let back = Teeth::new(count.links.negated());
                known.push((count.from, to.moved(back, links)?));
            }
            // All the way around: they come to the links of the chain, so that it closes.
            _ => {}
        }
    }
    match left.first() {
        Some(apart) => Err(CountError::Apart {
            from: name_of(drive, apart.from),
            to: name_of(drive, apart.to),
        }),
        None => Ok(known),
    }
}

/// The link on the dot of `to`, counted from that of `from` on which `link` lies.
///
/// # Errors
/// [`CountError`].
pub fn counted_on(
    drive: &Drive,
    count: DotCount,
    link: LinkPosition,
) -> Result<LinkPosition, CountError> {
    let counts = along_travel(drive, &[count])?;
    settled(drive, count.from.chain, &counts)?;
    let links = drive.chain(count.from.chain).links();
    Ok(link.moved(Teeth::new(count.links), links)?)
}
