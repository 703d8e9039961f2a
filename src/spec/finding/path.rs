//! Paths that a chain cannot take in the plane.

use super::words::{family, quoted};
use crate::units::decimal::decimal;

/// A part of a chain's path.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PartName {
    /// The sprocket of this shaft.
    Sprocket(String),
    /// A fixed guide.
    Guide,
    /// A tensioner's shoe.
    Tensioner,
}

/// A piece of a chain in its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Piece {
    /// The strand from one part to another.
    Strand(PartName, PartName),
    /// The chain on a part.
    On(PartName),
}

family! {
    /// Paths that a chain cannot take in the plane.
    PathProblem(band) {
        /// Sprockets of one chain whose pitch circles overlap.
        SprocketsOverlap {
            /// One.
            first: PartName,
            /// The other.
            second: PartName,
            /// Between their centres, in mm.
            apart: f64,
            /// The least that would do, in mm.
            least: f64,
        } = "sprockets-overlap", Warning {
            title: format!("sprockets {} and {} overlap", words_of(first), words_of(second)),
            label: "too close",
            related: "to this one",
            help: format!("their centres are {} mm apart; more than {} mm would do", decimal(*apart, 1), decimal(*least, 1)),
        }
        /// No straight strand leads from one part to the next.
        NoStrand {
            /// The part that it would leave.
            from: PartName,
            /// The part that it would reach.
            to: PartName,
        } = "no-strand", Warning {
            title: format!("no straight strand leads from {} to {}", words_of(from), words_of(to)),
            label: "cannot be reached",
            related: "from here",
            help: "their circles overlap; move one of them, make its radius smaller, or check whether it is on the 'outside'",
        }
        /// A sprocket that the chain passes without touching it.
        SprocketNotTouched {
            /// The sprocket.
            part: PartName,
            /// Is it on the outside?
            outside: bool,
        } = "sprocket-not-touched", Warning {
            title: format!("the {band} passes {} without touching it", words_of(part)),
            label: "not touched",
            help: format!(
                "put the path in the order of travel, check 'crank_turns' and the signs of 'at' (x to the right, y up, facing the timing end), {}",
                if *outside {
                    format!("move the shaft towards the {band}, or leave out 'outside: true'")
                } else {
                    format!("move the shaft, or give it 'outside: true' if the {band}'s outside drives it")
                }
            ),
        }
        /// A loop that does not go round exactly once.
        LoopWinds {
            /// The chain.
            chain: String,
            /// Turns in the direction of travel.
            turns: f64,
        } = "loop-winds", Warning {
            title: format!("{band} {} goes round {} times", quoted(chain), decimal(*turns, 0)),
            label: "once would be right",
            help: format!("check 'crank_turns' and the signs of 'at' (x to the right, y up, facing the timing end); put the path in the order in which a {} meets its parts while the engine turns its normal way, and check which of them are on the 'outside'", band.link),
        }
        /// A chain that crosses itself.
        ChainCrosses {
            /// The chain.
            chain: String,
            /// The piece that a link meets first.
            first: Piece,
            /// The other.
            second: Piece,
            /// Where, in mm.
            at: [f64; 2],
        } = "chain-crosses", Warning {
            title: format!("{band} {} crosses itself at [{}, {}]", quoted(chain), decimal(at[0], 1), decimal(at[1], 1)),
            label: format!("the {band} {}", piece(second)),
            related: "the other piece starts here",
            help: format!("it meets the {band} {}; put the path in the order of travel, or move one of these parts", piece(first)),
        }
        /// A strand through a sprocket that it neither leaves nor reaches.
        StrandThroughSprocket {
            /// The strand.
            strand: Piece,
            /// The sprocket.
            sprocket: PartName,
            /// How far it cuts into the pitch circle, in mm.
            by: f64,
        } = "strand-through-sprocket", Warning {
            title: format!("the {band} {} runs through {}", piece(strand), words_of(sprocket)),
            label: "in its way",
            related: "this strand starts here",
            help: format!("it cuts {} mm into the pitch circle; move one of them by more than that, or list this sprocket where the {band} meets it", decimal(*by, 1)),
        }
        /// A guide or tensioner that the chain does not touch.
        ShoeNotTouched {
            /// The guide or tensioner.
            part: PartName,
            /// From the shoe to the chain, in mm.
            gap: f64,
        } = "shoe-not-touched", Warning {
            title: format!("the {band} does not touch {}", words_of(part)),
            label: "not touched",
            help: format!("the {band} is {} mm away; move the centre more than that towards it, or make the radius that much larger", decimal(*gap, 1)),
        }
        /// Too few teeth in mesh.
        FewTeethInMesh {
            /// The sprocket.
            part: PartName,
            /// Teeth in mesh.
            teeth: f64,
            /// The fewest that pass.
            least: f64,
            /// The wrap that would give them, in degrees.
            wrap: f64,
        } = "few-teeth-in-mesh", Warning {
            title: format!("only {} teeth of {} are in mesh", decimal(*teeth, 2), words_of(part)),
            label: format!("at least {} should be", decimal(*least, 0)),
            help: format!("a wrap of {} degrees would do; move it, or a shoe next to it", decimal(*wrap, 0)),
        }
    }
}

pub(super) fn words_of(part: &PartName) -> String {
    match part {
        PartName::Sprocket(shaft) => format!("'{shaft}'"),
        PartName::Guide => "the guide".into(),
        PartName::Tensioner => "the tensioner".into(),
    }
}

fn piece(piece: &Piece) -> String {
    match piece {
        Piece::Strand(from, to) => format!("from {} to {}", words_of(from), words_of(to)),
        Piece::On(at) => format!("on {}", words_of(at)),
    }
}
