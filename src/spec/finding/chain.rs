//! Chains that cannot run as they are described.

use super::words::{family, quoted};
use crate::units::quantity::Exact;

family! {
    /// Chains that cannot run as they are described.
    ChainProblem(band) {
        /// A chain over fewer than two sprockets.
        TooFewSprockets {
            /// The chain.
            chain: String,
            /// How many it has.
            found: usize,
        } = "too-few-sprockets", Error {
            title: match found {
                0 => format!("{band} {} runs over no sprocket", quoted(chain)),
                1 => format!("{band} {} runs over only one sprocket", quoted(chain)),
                n => format!("{band} {} runs over only {n} sprockets", quoted(chain)),
            },
            label: format!("a {band} connects at least two"),
            related: band.this,
            help: format!("list every sprocket in the order in which a travelling {} meets it", band.link),
        }
        /// One shaft twice on one chain: two dots on what can only be one sprocket.
        ShaftTwiceOnChain {
            /// The shaft.
            shaft: String,
            /// The chain.
            chain: String,
        } = "two-dots-on-one-sprocket", Error {
            title: format!("shaft {} is on {band} {} twice: two dots on one sprocket", quoted(shaft), quoted(chain)),
            label: "again here",
            related: "first here",
            help: format!("a shaft has one sprocket on a {band}, with one dot; remove one entry, or name the right shaft"),
        }
        /// Fewer links than the sprockets alone take up.
        ChainTooShort {
            /// The chain.
            chain: String,
            /// The fewest links that two of its sprockets take up.
            least: u32,
        } = "chain-too-short", Error {
            title: format!("{band} {} has fewer {} than its sprockets take up", quoted(chain), band.links),
            label: format!("at least {least} lie on its two largest sprockets"),
            help: if band == &super::band::BELT { "recount the teeth of the belt and of the sprockets" } else { "recount the links and the teeth" },
        }
        /// An odd number of links.
        OddLinks {
            /// The chain.
            chain: String,
            /// Its links.
            links: u16,
        } = "odd-links", Warning {
            title: format!("chain {} has an odd number of links, {links}", quoted(chain)),
            label: "inner and outer links alternate",
            help: format!("a timing chain has an even number; recount: {} or {}? One that is closed with a cranked link has its 'cranked_link: true', a toothed belt its 'kind: belt'", links - 1, links + 1),
        }
        /// What only a chain of pins and plates has, given for a toothed belt.
        NotOfABelt {
            /// The belt.
            belt: String,
            /// The key.
            key: &'static str,
        } = "not-of-a-belt", Error {
            title: format!("{} is a toothed belt and has no '{key}'", quoted(belt)),
            label: "only a chain has pins",
            help: "take this line out; if it is a chain, its 'kind' is not 'belt'",
        }
        /// What is no pair of gears.
        NotAGearPair {
            /// Its name.
            gears: String,
            /// Gears on its path.
            found: usize,
            /// Guides and tensioners on it.
            shoes: usize,
        } = "not-a-gear-pair", Error {
            title: match shoes {
                0 => format!("gear pair {} has {found} gears", quoted(gears)),
                _ => format!("gear pair {} has a guide or a tensioner", quoted(gears)),
            },
            label: "two gears mesh here",
            help: "list the gear that drives and the one that is driven; a third that meshes with one of them is a pair of its own",
        }
        /// A pair of gears with another number of teeth than its driven gear has.
        GearTeeth {
            /// Its name.
            gears: String,
            /// As written.
            links: u16,
            /// The driven gear.
            driven: String,
            /// Its teeth.
            teeth: u16,
        } = "gear-teeth", Error {
            title: format!("gear pair {} has 'links: {links}', its driven gear {teeth} teeth", quoted(gears)),
            label: format!("{} has {teeth}", quoted(driven)),
            related: "these teeth",
            help: format!("the 'links' of a gear pair are the teeth of the gear that is driven: write 'links: {teeth}', or recount the teeth"),
        }
        /// Gears of which the wrong one is inside or outside.
        GearOutside {
            /// Its name.
            gears: String,
            /// The gear that drives.
            driver: String,
            /// The gear that is driven.
            driven: String,
        } = "gear-outside", Error {
            title: format!("gear pair {} has its driving gear {} 'outside'", quoted(gears), quoted(driver)),
            label: "this one drives",
            help: format!("give 'outside: true' to {} instead: the driven gear then turns the other way; only inside of a ring gear does it turn the same way, and neither is 'outside'", quoted(driven)),
        }
        /// A mark of a gear that is not where both mesh.
        GearMark {
            /// Its name.
            gears: String,
        } = "gear-mark", Error {
            title: format!("a mark of gear pair {} that is not where its gears mesh", quoted(gears)),
            label: "only 'link: 0' here",
            help: "the marked teeth of two gears meet on the line of centres: 'link: 0' for each gear that has a mark, and no 'links'",
        }
        /// What only chains and belts have, given for a pair of gears.
        NotOfGears {
            /// Its name.
            gears: String,
            /// The key.
            key: &'static str,
        } = "not-of-gears", Error {
            title: format!("{} is a pair of gears and has no '{key}'", quoted(gears)),
            label: "only a chain has that",
            help: "take this line out; if it is a chain, its 'kind' is not 'gears'",
        }
        /// A loop that goes round fewer than two parts.
        TooFewInside {
            /// The chain.
            chain: String,
            /// Parts on its inside.
            inside: usize,
        } = "too-few-inside", Warning {
            title: match inside {
                0 => format!("{band} {} has nothing on its inside", quoted(chain)),
                _ => format!("{band} {} has only one part on its inside", quoted(chain)),
            },
            label: "a loop goes round two at least",
            help: format!("only what the {band}'s outside touches is 'outside: true'; leave it out elsewhere, or list the shoe that is missing"),
        }
        /// A limit of elongation that no chain could reach and still run.
        ElongationLimit {
            /// As written.
            limit: Exact,
        } = "elongation-limit", Warning {
            title: format!("an elongation of {limit} is more than any chain can run with"),
            label: "5 per cent is 1/20",
            help: "give it as a fraction of the length: 1 per cent is 1/100",
        }
        /// A tensioner on the strand that the driving sprocket pulls.
        TensionerOnTightStrand {
            /// The chain.
            chain: String,
            /// Where all slack is: after the driving sprocket, before this one.
            slack_before: String,
        } = "tensioner-on-tight-strand", Warning {
            title: format!("this tensioner is on the tight strand of {band} {}", quoted(chain)),
            label: "no slack here",
            help: format!("slack gathers where the {band} leaves the driving sprocket, before '{slack_before}'; put the tensioner there, or check 'crank_turns' and the order of the path"),
        }
    }
}
