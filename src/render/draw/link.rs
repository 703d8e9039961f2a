//! One link of a chain, or a belt from tooth to tooth, lying along the x axis with its middle at the origin.

use crate::drive::model::{Chain, Drive};
use crate::plane::geometry::Travel;
use crate::render::svg::{LinkColour, Path, Svg, chain_fills};

/// What it looks like.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::render) enum Form {
    /// Plates on pins: outer ones or inner ones.
    Plates { outer: bool },
    /// A belt with a tooth on one side: 1 where that is to the right of the way it travels, -1 to the left.
    Belt { inside: f64 },
}

impl Form {
    /// Of a chain's link of that number; of a belt's, `travel` is the way in which it goes round.
    pub(super) fn of(chain: &Chain, number: u16, travel: Travel) -> Self {
        if !chain.has_pins() {
            Self::Belt {
                inside: travel.sign(),
            }
        } else {
            Self::Plates {
                outer: number % 2 == 0,
            }
        }
    }

    /// Of what has a colour, by itself.
    pub(in crate::render) fn alone(drive: &Drive) -> Self {
        if drive.chains().all(|(_, chain)| !chain.has_pins()) {
            Self::Belt { inside: 1.0 }
        } else {
            Self::Plates { outer: true }
        }
    }
}

/// Writes a link. `chain` tells the fills of plain ones.
pub(in crate::render) fn write_link(
    svg: &mut Svg,
    form: Form,
    chain: usize,
    pitch: f64,
    colour: Option<LinkColour>,
) {
    let outer = match form {
        Form::Plates { outer } => outer,
        Form::Belt { inside } => return write_belt(svg, inside, chain, pitch, colour),
    };
    let fills = chain_fills(chain);
    let (height, fill, stroke) = match (colour, outer) {
        (Some(colour), _) => (pitch * 0.92, colour.fill.unwrap_or("#fff"), "0.45"),
        (None, true) => (pitch * 0.62, fills.0, "0.2"),
        (None, false) => (pitch * 0.5, fills.1, "0.2"),
    };
    // A plate reaches past its pins by most of its half height.
    let length = pitch + height * 0.8;
    svg.element("rect")
        .at(-length / 2.0, -height / 2.0)
        .sized(length, height)
        .set("rx", height / 2.0)
        .set(
            "style",
            &format!("fill:{fill};stroke:#111;stroke-width:{stroke}"),
        )
        .close();
    if let Some(colour) = colour {
        write_bars(svg, colour.bars, pitch, height / 2.0);
    } else if outer {
        for x in [-pitch / 2.0, pitch / 2.0] {
            svg.element("circle")
                .set("cx", x)
                .set("r", pitch * 0.1)
                .set("style", "fill:#333")
                .close();
        }
    }
}

/// A belt from half a tooth before to half a tooth after its tooth; a mark is a square patch over its back and tooth.
fn write_belt(svg: &mut Svg, inside: f64, chain: usize, pitch: f64, colour: Option<LinkColour>) {
    // A belt is dark, and several are told apart as chains are.
    let fill = ["#777", "#999", "#bbb"][chain % 3];
    // The cord lies at the pitch line: most of the belt's back is outside of it, its teeth are inside.
    let (back, root, tip) = (
        -0.3 * pitch * inside,
        0.06 * pitch * inside,
        0.38 * pitch * inside,
    );
    // A little further than its own, so that no gap shows where it bends.
    let (end, foot, head) = (0.53 * pitch, 0.3 * pitch, 0.2 * pitch);
    let outline = Path::from(-end, back)
        .to(end, back)
        .to(end, root)
        .to(foot, root)
        .to(head, tip)
        .to(-head, tip)
        .to(-foot, root)
        .to(-end, root)
        .to(-end, back);
    svg.element("path")
        .path(&outline)
        .set("style", &format!("fill:{fill}"))
        .close();
    // The back's edge alone: lines across it would look like links.
    svg.element("path")
        .path(&Path::from(-end, back).to(end, back))
        .set("style", "stroke:#111;stroke-width:0.35;fill:none")
        .close();
    let Some(colour) = colour else { return };
    let half = pitch * 0.46;
    svg.element("rect")
        .at(-pitch * 0.72, -half)
        .sized(pitch * 1.44, 2.0 * half)
        .set(
            "style",
            &format!(
                "fill:{};stroke:#111;stroke-width:0.45",
                colour.fill.unwrap_or("#fff")
            ),
        )
        .close();
    write_bars(svg, colour.bars, pitch, half);
}

/// The bars that stand for a colour in print.
fn write_bars(svg: &mut Svg, bars: usize, pitch: f64, half: f64) {
    let count = |bars: usize| f64::from(u32::try_from(bars).unwrap_or(1));
    for bar in 0..bars {
        let x = (count(bar) - (count(bars) - 1.0) / 2.0) * pitch * 0.36;
        // A bar has a white rim, so that it shows on dark colours too.
        for (ink, width) in [("#fff", pitch * 0.26), ("#111", pitch * 0.14)] {
            let width = crate::render::words::numbers::decimal(width, 2);
            svg.element("path")
                .path(&Path::from(x, -half).down_to(half))
                .set("style", &format!("stroke:{ink};stroke-width:{width}"))
                .close();
        }
    }
}
