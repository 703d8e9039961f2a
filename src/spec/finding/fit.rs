//! Lengths and marks that disagree with the chain as it lies in the plane.

use super::band::Band;
use super::path::{PartName, words_of};
use super::words::{family, quoted};
use crate::units::decimal::{decimal, exact};
use crate::units::quantity::{Exact, LinkPosition};

family! {
    /// Lengths and marks that disagree with the chain as it lies in the plane.
    FitProblem(band) {
        /// A loop without a tensioner that does not hold the chain.
        ChainDoesNotFit {
            /// The chain.
            chain: String,
            /// Its links.
            links: u16,
            /// Links that the loop holds.
            holds: f64,
            /// The number of links that would fit, if any does.
            fits: Option<u16>,
            /// Over two sprockets: the distance between their centres that would fit, in mm.
            apart: Option<f64>,
        } = "chain-does-not-fit", Warning {
            title: format!("{band} {} has {links} {}, its loop holds {}", quoted(chain), band.links, decimal(*holds, 2)),
            label: "no tensioner makes up for it",
            help: would_fit(band, *fits, apart.map(|apart| format!("{} mm between the centres", decimal(apart, 2)))),
        }
        /// Gears whose centres are not as far apart as their teeth want it.
        GearCentres {
            /// The gears.
            gears: String,
            /// As given, in mm.
            apart: f64,
            /// By pitch and teeth, in mm.
            wanted: f64,
            /// Is one inside of the other?
            internal: bool,
        } = "gear-centres", Warning {
            title: format!("gear pair {} has its centres {} mm apart, its teeth want {} mm", quoted(gears), decimal(*apart, 2), decimal(*wanted, 2)),
            label: if *internal { "half the difference of the pitch diameters" } else { "half the sum of the pitch diameters" },
            help: "move one of the shafts, recount the teeth, or check the pitch (it is pi times the module, in the plane of rotation) and 'outside'",
        }
        /// A marked tooth of a gear that is not where both mesh.
        GearDot {
            /// The shaft.
            shaft: String,
            /// As given, in degrees clockwise from twelve o'clock.
            dot: f64,
            /// Where the gears mesh, the same way.
            mesh: f64,
        } = "gear-dot", Warning {
            title: format!("the dot of {} at {} degrees is not where its gear meets the other one", quoted(shaft), decimal(*dot, 1)),
            label: format!("they mesh at {} degrees", decimal(*mesh, 1)),
            help: format!("'dot: {}' would agree; a dot that only lines up with the engine has no 'link: 0'", decimal(*mesh, 1)),
        }
        /// No travel of the tensioner lets the loop hold the chain.
        TensionerCannotFit {
            /// The chain.
            chain: String,
            /// Its links.
            links: u16,
            /// Its elongation; zero is new.
            elongation: Exact,
            /// Links that the loop holds at the ends of the stroke, where it can be laid there.
            holds: Option<[f64; 2]>,
            /// The number of links that would fit, if any does.
            fits: Option<u16>,
        } = "tensioner-cannot-fit", Warning {
            title: format!("no tensioner travel makes a {band} of {links} {}, {}, fit", band.links, state(*elongation)),
            label: match holds {
                Some([least, most]) => format!("the loop holds {} to {} {}", decimal(*least, 2), decimal(*most, 2), band.links),
                None => format!("{band} {}", quoted(chain)),
            },
            related: "this tensioner",
            help: would_fit(band, *fits, None),
        }
        /// A tensioner that slackens the chain where it pushes.
        TensionerSlackens {
            /// Where it pushes, in degrees clockwise from twelve o'clock.
            pushes: f64,
            /// The opposite.
            opposite: f64,
        } = "tensioner-slackens", Warning {
            title: format!("pushing towards {} degrees, the tensioner slackens the {band}", decimal(*pushes, 1)),
            label: format!("away from the {band}"),
            help: format!("'pushes: {}' would tighten it", decimal(*opposite, 1)),
        }
        /// A new chain, or one at its wear limit, that needs the tensioner outside of its stroke.
        TensionerOutOfStroke {
            /// The chain.
            chain: String,
            /// Its elongation; zero is new.
            elongation: Exact,
            /// The travel that it needs, in mm.
            travel: f64,
            /// The stroke, in mm.
            stroke: f64,
            /// The stroke that would do, in mm.
            would_do: f64,
            /// Where the tensioner would have to stand pushed back, if the chain does not go over it.
            centre: Option<[f64; 2]>,
            /// The number of links that would fit, if any does.
            fits: Option<u16>,
            /// Do the marks say that it has that number?
            marks_say_so: bool,
        } = "tensioner-out-of-stroke", Warning {
            title: match centre {
                Some(_) if !marks_say_so => format!(
                    "{band} {}, {}, does not go over its tensioner: that would have to move back {} mm more",
                    quoted(chain), state(*elongation), decimal(travel.abs(), 1)
                ),
                _ => format!(
                    "{band} {}, {}, needs {} mm of its tensioner, which has {}",
                    quoted(chain), state(*elongation), decimal(*travel, 1), decimal(*stroke, 1)
                ),
            },
            label: match centre {
                _ if *marks_say_so => format!("the marks are those of another {band}"),
                Some(_) => "in the way, pushed all the way back".to_owned(),
                None => "too short".to_owned(),
            },
            related: if *marks_say_so { "this tensioner" } else { band.this },
            help: out_of_stroke_help(band, *would_do, *centre, *fits, *marks_say_so),
        }
        /// A coloured link that cannot be on its dot, because no chain lies there.
        DotOffChain {
            /// The sprocket.
            part: PartName,
            /// Where the dot points, in degrees clockwise from twelve o'clock.
            dot: f64,
            /// Where the chain lies: from where it meets the sprocket to where it leaves it, and which way.
            chain_lies: [f64; 2],
            /// Does the sprocket turn clockwise?
            clockwise: bool,
        } = "dot-off-chain", Warning {
            title: format!("no {band} lies on the dot of {} at {} degrees", words_of(part), decimal(*dot, 1)),
            label: format!("its {} cannot be here", band.mark),
            help: format!(
                "the {band} lies on it from {} {} to {} degrees; give a dot there, in degrees clockwise from twelve o'clock (not radians)",
                decimal(chain_lies[0], 1),
                if *clockwise { "clockwise" } else { "counter-clockwise" },
                decimal(chain_lies[1], 1)
            ),
        }
        /// Marked links that disagree with the links counted along the path.
        LinksDisagree {
            /// The sprocket whose mark is off.
            part: PartName,
            /// The sprocket from which the links were counted.
            from: PartName,
            /// Links from there to here by the marks.
            marked: Exact,
            /// Links from there to here by the path.
            counted: f64,
            /// How far the mark is ahead, in links.
            off: f64,
            /// The same in degrees of this sprocket.
            degrees: f64,
            /// The link that would agree.
            link: LinkPosition,
            /// The links of the chain.
            links: u16,
            /// The dot that would agree, in degrees clockwise from twelve o'clock, if the chain lies there.
            dot: Option<f64>,
        } = "links-disagree", Warning {
            title: format!(
                "from the dot of {} to the dot of {} the marks give {} {}, the path {}",
                words_of(from), words_of(part), exact(*marked), band.links, decimal(*counted, 2)
            ),
            label: format!(
                "{} {}, {} degrees of this sprocket",
                links_of(off.abs(), band),
                if *off < 0.0 { "behind" } else { "ahead" },
                decimal(degrees.abs(), 1)
            ),
            related: "counted from here",
            help: match dot {
                Some(dot) => format!("{} or dot {} would agree", link_key(*link, *links), decimal(*dot, 1)),
                None => format!("{} would agree; recount the {}", link_key(*link, *links), band.links),
            },
        }
        /// A pitch that is in no series of ISO 606.
        PitchNotStandard {
            /// As written.
            pitch: Exact,
            /// The nearest that is.
            nearest: Exact,
            /// Is it that, written in inches?
            inches: bool,
        } = "pitch-not-standard", Note {
            title: format!("a pitch of {} mm is in no series of ISO 606", exact(*pitch)),
            label: "perhaps one made for this engine",
            help: if *inches {
                format!("{} inches are {} mm; every length is in mm", exact(*pitch), exact(*nearest))
            } else {
                format!("the nearest standard pitch is {} mm", exact(*nearest))
            },
        }
        /// The places are there, but not the pitch, so that nothing is checked against them.
        PitchMissing {
            /// The chain that cannot be laid.
            chain: String,
        } = "pitch-missing", Warning {
            title: format!("{band} {} has no 'pitch', so its length and its marks are not checked", quoted(chain)),
            label: "every shaft on it has its place",
            help: "give its 'pitch: ...' in mm",
        }
        /// Some of the geometry is there, but not all that is needed.
        GeometryIncomplete {
            /// The chain that cannot be laid.
            chain: String,
            /// Its shafts without a place.
            shafts: Vec<String>,
            /// Does the chain lack its pitch?
            pitch: bool,
        } = "geometry-incomplete", Note {
            title: format!("{band} {} cannot be laid out in the plane", quoted(chain)),
            label: match (shafts.as_slice(), pitch) {
                ([], _) => "'pitch' is missing".into(),
                (names, false) => format!("'at' is missing for {}", names.join(", ")),
                (names, true) => format!("'pitch' is missing, and 'at' for {}", names.join(", ")),
            },
            help: "give every shaft its 'at: [x, y]' and every chain or belt its 'pitch' to have centres, lengths and marks checked against each other",
        }
    }
}

/// `link 46`, or `links [45, 46]` for a half.
fn link_key(link: LinkPosition, links: u16) -> String {
    let first = link.get().floor();
    if link.get().is_whole() {
        format!("link {first}")
    } else {
        format!("links [{first}, {}]", (first + 1) % i128::from(links))
    }
}

/// `1 link`, `0.5 links`.
fn links_of(count: f64, band: &Band) -> String {
    match decimal(count, 2).as_str() {
        "1" => format!("1 {}", band.link),
        n => format!("{n} {}", band.links),
    }
}

/// `new`, or `elongated by 1/100`.
fn state(elongation: Exact) -> String {
    if elongation.is_zero() {
        "new".into()
    } else {
        format!("elongated by {elongation}")
    }
}

fn would_fit(band: &Band, links: Option<u16>, otherwise: Option<String>) -> String {
    match (links, otherwise) {
        (Some(links), Some(other)) => format!("'links: {links}' or {other} would fit"),
        (Some(links), None) => {
            format!("'links: {links}' would fit; recount them, or move a shaft")
        }
        (None, Some(other)) => format!("{other} would fit"),
        (None, None) => format!(
            "no number of {} fits; move a shaft or the tensioner",
            band.links
        ),
    }
}

fn out_of_stroke_help(
    band: &Band,
    would_do: f64,
    centre: Option<[f64; 2]>,
    fits: Option<u16>,
    marks_say_so: bool,
) -> String {
    if marks_say_so {
        let links = fits.map_or_else(
            || "another number".into(),
            |links| format!("'links: {links}'"),
        );
        return format!("{links} would fit the marks and the tensioner");
    }
    let or_links = fits.map_or(String::new(), |links| {
        format!(", or a {band} of {links} {}", band.links)
    });
    match centre {
        Some([x, y]) => format!(
            "pushed back at [{}, {}] it would fit{or_links}",
            decimal(x, 1),
            decimal(y, 1)
        ),
        None => format!("'stroke: {}' would do{or_links}", decimal(would_do, 1)),
    }
}
