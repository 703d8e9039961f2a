//! Dots and coloured links that contradict each other, or prove too little.

use super::band::Band;
use super::words::{family, quoted};
use crate::units::decimal::exact;
use crate::units::quantity::{ClockAngle, LinkPosition};

/// A wrong way to hang a chain that its marks do not tell from the right one.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum AlsoRight {
    /// Each dot on another one's link of the same colour.
    LinksMoved {
        /// Shaft, and the shaft whose link lies on its dot.
        links: Vec<(String, String)>,
    },
    /// Inside out.
    InsideOut {
        /// Shaft, and the shaft whose link lies on its dot.
        links: Vec<(String, String)>,
    },
    /// The chain that is marked for another place.
    MarkedAs {
        /// That place's chain.
        chain: String,
    },
}

family! {
    /// Dots and coloured links that contradict each other, or prove too little.
    MarkProblem(band) {
        /// Both `link` and `links` on one sprocket.
        LinkAndLinks = "link-and-links", Error {
            title: "both 'link' and 'links' on one sprocket",
            label: "and this",
            related: "this",
            help: format!("keep 'link' if the dot belongs on one {}, 'links' if it belongs between two", band.link),
        }
        /// A link that the chain does not have.
        LinkPastEnd {
            /// As written.
            link: i64,
            /// The links of the chain.
            links: u16,
        } = "link-past-end", Error {
            title: format!("{} {link} is past the {band}'s end", band.link),
            label: format!("the last one is {}", links - 1),
            related: "it has this many",
            help: format!("{} are numbered from 0 to {}", band.links, links - 1),
        }
        /// `links: [a, b]` that are not next to each other in the direction of travel.
        LinksNotNeighbours {
            /// The first.
            first: i64,
            /// The second.
            second: i64,
            /// The links of the chain.
            links: u16,
        } = "links-not-neighbours", Error {
            title: format!("{} {first} and {second} are not next to each other in the direction of travel", band.links),
            label: "a dot lies between two neighbours",
            help: {
                let count = i64::from(*links);
                let after = |link: i64| (link + 1).rem_euclid(count);
                if after(*second) == *first {
                    format!("recount: [{second}, {first}], in the direction of travel, or [{first}, {}]?", after(*first))
                } else {
                    format!("recount: [{first}, {}] or [{}, {second}]?", after(*first), (second - 1).rem_euclid(count))
                }
            },
        }
        /// A colour without a link to bear it.
        ColourWithoutLink = "colour-without-link", Warning {
            title: format!("a colour without a {}", band.link),
            label: format!("which {} has it?", band.link),
            help: "add 'link: ...', or remove the colour",
        }
        /// Two dots on one link.
        LinkShared {
            /// The link.
            link: LinkPosition,
            /// The sprocket that has it already.
            shaft: String,
        } = "link-shared", Error {
            title: if link.get().is_whole() {
                format!("{} {} is given for two dots", band.link, link.get())
            } else {
                format!("the place after {} {} is given for two dots", band.link, link.get().floor())
            },
            label: "again here",
            related: "first given here",
            help: format!("{} has it already; recount from there", quoted(shaft)),
        }
        /// Link numbers that do not rise along the path.
        LinksOutOfOrder {
            /// The chain.
            chain: String,
            /// Would they rise if the numbering ran the other way?
            reversed: bool,
        } = "links-out-of-order", Error {
            title: format!("the link numbers of {band} {} do not rise along its path", quoted(chain)),
            label: "lower than the one before",
            related: "the one before",
            help: if *reversed {
                format!("they fall all the way: reverse the order of the path, or swap two entries, or number the {} in that direction", band.links)
            } else {
                format!("a sprocket that a {} meets later has a higher number; put the path in the order of travel, or recount the {}", band.link, band.links)
            },
        }
        /// A timed shaft with neither a link nor a dot.
        NothingToSee {
            /// The shaft.
            shaft: String,
        } = "nothing-to-see", Error {
            title: format!("{} has neither a coloured link nor a dot", quoted(shaft)),
            label: "nothing could prove its timing",
            help: "give one of its sprockets 'link: ...', 'links: [..., ...]' or 'dot: ...'",
        }
        /// A shaft whose timing the links cannot prove, because a sprocket on the way has no link mark.
        LinksCannotProve {
            /// The shaft.
            shaft: String,
            /// The chain on which a mark is missing.
            chain: String,
            /// The sprocket that lacks it.
            at: String,
        } = "links-cannot-prove", Note {
            title: format!("the {} alone cannot prove {}", band.links, quoted(shaft)),
            label: format!("{} has no {} on {band} {}", quoted(at), band.mark, quoted(chain)),
            help: format!("only its dot against the engine can; give a 'link' here if the {band} has one"),
        }
        /// A chain that can be hung wrong with every dot on a link of the right colour, and no dot angle to
        /// show it.
        MarksAmbiguous {
            /// The chain.
            chain: String,
            /// How it can be hung wrong.
            also: AlsoRight,
            /// The shafts that would be off, none of which has a dot angle.
            off: Vec<String>,
            /// How many more such ways there are.
            more: usize,
        } = "marks-ambiguous", Warning {
            title: match also {
                AlsoRight::InsideOut { .. } => {
                    format!("{band} {} also looks right when it is hung {}", quoted(chain), band.over)
                }
                AlsoRight::LinksMoved { .. } => {
                    format!("{band} {} also looks right with each dot on another one's {}", quoted(chain), band.noun)
                }
                AlsoRight::MarkedAs { chain: other } => {
                    format!("the {band} marked for {} also looks right in the place of {}", quoted(other), quoted(chain))
                }
            },
            label: format!("{}out of time then: {}{}", links_moved(also, band), off.join(", "), more_ways(*more)),
            help: format!(
                "give {} its 'dot: ...', so that it can be checked against the engine{}",
                one_of(off),
                match also {
                    AlsoRight::InsideOut { links } if links.iter().all(|(at, owner)| at == owner) => String::new(),
                    _ => format!("; or tell the {}s apart by 'colour', if they differ", band.noun),
                }
            ),
        }
        /// A dot angle outside of one turn.
        DotAngle {
            /// As written.
            angle: ClockAngle,
        } = "dot-angle", Warning {
            title: format!("a dot at {} degrees is outside one turn", exact(angle.get())),
            label: "from 0 up to 360",
            help: "give it in degrees clockwise from twelve o'clock, from 0 to less than 360",
        }
    }
}

/// Which dot lies on whose link, with a semicolon after it; nothing where that is not the point.
fn links_moved(also: &AlsoRight, band: &Band) -> String {
    let (AlsoRight::InsideOut { links } | AlsoRight::LinksMoved { links }) = also else {
        return String::new();
    };
    let pairs: Vec<String> = links
        .iter()
        .map(|(at, owner)| {
            if at == owner {
                format!("{at} on its own {}", band.noun)
            } else {
                format!("{at} on the {} of {owner}", band.noun)
            }
        })
        .collect();
    format!("{}; ", pairs.join(", "))
}

fn more_ways(more: usize) -> String {
    match more {
        0 => String::new(),
        1 => "; and one more way like this".to_owned(),
        more => format!("; and {more} more ways like this"),
    }
}

fn one_of(names: &[String]) -> String {
    match names {
        [one] => quoted(one),
        many => format!(
            "one of {}",
            many.iter()
                .map(|name| quoted(name))
                .collect::<Vec<_>>()
                .join(", ")
        ),
    }
}
