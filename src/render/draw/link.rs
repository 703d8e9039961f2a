//! One link of a chain, lying along the x axis with its middle at the origin.

use crate::render::svg::{LinkColour, Path, Svg, chain_fills};

/// Writes a link. `chain` tells the fills of plain ones.
pub(in crate::render) fn write_link(
    svg: &mut Svg,
    outer: bool,
    chain: usize,
    pitch: f64,
    colour: Option<LinkColour>,
) {
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
