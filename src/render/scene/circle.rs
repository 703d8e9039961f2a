//! The circular timing diagram of a pair of valves, its middle at the origin.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use crate::drive::model::Drive;
use crate::render::svg::{Path, Svg};
use crate::spec::valves::ValveKind;

/// The rings of the intake and of the exhaust.
const RADIUS: [f64; 2] = [104.0, 80.0];

/// From the middle of the diagram: clockwise from TDC.
fn on(radius: f64, clockwise: f64) -> (f64, f64) {
    let (sin, cos) = libm::sincos(clockwise.to_radians());
    (radius * sin, -radius * cos)
}

fn arc(radius: f64, from: f64, length: f64) -> Path {
    let steps = 90_u16;
    Path::through((0..=steps).map(|i| on(radius, from + length * f64::from(i) / f64::from(steps))))
}

pub(super) fn write(svg: &mut Svg, drive: &Drive, both: [usize; 2], number: usize, name: &str) {
    svg.element("figure").set("data-pair", number).open();
    svg.element("figcaption")
        .text(&format!("Valve timing of {name}"));
    svg.element("svg")
        .class("plot")
        .view_box((-190.0, -158.0), (380.0, 316.0))
        .set("role", "img")
        .set(
            "aria-label",
            &format!("Valve timing diagram of {name}: TDC at the top, BDC at the bottom, the crankshaft turning clockwise"),
        )
        .open();
    svg.constant(
        "<path class=\"grid\" d=\"M0 -126V126M-126 0H126\"/><text class=\"middle\" y=\"-142\">TDC</text><text class=\"middle\" y=\"154\">BDC</text>",
    );
    for ((valve, radius), side) in both.into_iter().zip(RADIUS).zip([1.0, -1.0]) {
        ring(svg, drive, valve, radius, side);
    }
    // Where the cylinder is now; the page turns it. TDC and BDC come twice, so its stroke stands with it.
    svg.element("g")
        .class("pointer")
        .set("data-pointer", number)
        .open();
    svg.constant("<path d=\"M0 0V-122\"/><path class=\"tip\" d=\"M0 -128L-7 -112H7Z\"/>");
    svg.end("g");
    svg.element("text")
        .class("halo stroke-now")
        .at(-186.0, -138.0)
        .set("data-stroke", number)
        .text("");
    for (data, y) in [("data-overlap", "-14"), ("data-separation", "6")] {
        svg.element("text")
            .class("middle within")
            .set("y", y)
            .set(data, number)
            .text("");
    }
    svg.end("svg");
    svg.element("p").class("small").open();
    for (letter, kind, valve) in [("I", "intake", both[0]), ("E", "exhaust", both[1])] {
        svg.words(&format!("{letter}O, {letter}C: {kind} "));
        svg.element("span").set("data-opens", valve).text("");
        svg.words(" opens, ");
        svg.element("span").set("data-closes", valve).text("");
        svg.words(" closes. ");
    }
    svg.words("Thick: open; thin dashed: where it was open in time.");
    svg.end("p");
    svg.end("figure");
}

/// The ring of one valve: where it was open in time, and what the page turns.
fn ring(svg: &mut Svg, drive: &Drive, valve: usize, radius: f64, side: f64) {
    let valves = &drive.valves()[valve];
    let length = valves
        .closes
        .on_from(valves.opens)
        .map_or(0.0, |d| d.get().to_f64());
    let from = valves.opens.get().to_f64();
    let kind = valves.kind.word();
    svg.element("path")
        .class(&format!("was {kind}"))
        .set("data-was", valve)
        .path(&arc(radius - side * 9.0, from, length))
        .close();
    svg.element("g")
        .class(&format!("open {kind}"))
        .set("data-turn", valve)
        .open();
    svg.element("path")
        .class("ring-arc")
        .path(&arc(radius, from, length))
        .close();
    let letter = match valves.kind {
        ValveKind::Intake => "I",
        ValveKind::Exhaust => "E",
    };
    for (what, clockwise) in [("O", from), ("C", from + length)] {
        let ends = [on(radius - 7.0, clockwise), on(radius + 7.0, clockwise)];
        svg.element("path")
            .class("event")
            .path(&Path::through(ends))
            .close();
        // The words stay upright: the page turns them back about their own place.
        let (x, y) = on(radius + side * 22.0, clockwise);
        svg.element("g").moved(x, y).open();
        svg.element("text")
            .class("middle upright")
            .set("dy", ".36em")
            .text(&format!("{letter}{what}"));
        svg.end("g");
    }
    svg.end("g");
}
