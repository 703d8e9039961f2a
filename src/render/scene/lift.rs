//! The lift of a pair of valves, and the piston, over 720 crank degrees from the firing TDC on.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::cycle::{DEAD_CENTRES, STROKES, touching};
use crate::render::svg::{Path, Svg, short};
use crate::units::lift::LiftCurve;
use crate::valves::clearance::PistonAndValve;
use crate::valves::piston::SliderCrank;

const LEFT: f64 = 62.0;
pub(super) const WIDE: f64 = 520.0;
const TOP: f64 = 8.0;
const HIGH: f64 = 200.0;
const FLOOR: f64 = TOP + HIGH;
/// Where the piston's curve begins, if there is one.
const BELOW: f64 = FLOOR + 34.0;

pub(super) fn across(degrees: f64) -> f64 {
    LEFT + degrees / 720.0 * WIDE
}

/// Where a lift lies in a panel that is `scale` mm high.
pub(super) fn down(lift: f64, scale: f64) -> f64 {
    FLOOR - lift / scale * HIGH
}

/// One valve of a figure.
struct Shown<'a> {
    index: usize,
    valves: &'a Valves,
    curve: LiftCurve,
    /// The crank degrees at which the curve's own zero lies.
    zero: f64,
}

impl<'a> Shown<'a> {
    fn of(drive: &'a Drive, index: usize) -> Result<Self, String> {
        let valves = &drive.valves()[index];
        let (curve, zero) = valves.curve().ok_or_else(|| {
            format!(
                "Valve lift over the cycle: the spec does not give 'lift' or 'lift_table' for {}.",
                valves.name
            )
        })?;
        Ok(Self {
            index,
            valves,
            curve,
            zero,
        })
    }

    fn lift(&self, place: f64) -> f64 {
        self.curve.at(self.curve.within_cycle(place - self.zero))
    }
}

/// Both valves, and how many mm of lift their panel is high.
fn panel(drive: &Drive, both: [usize; 2]) -> Result<(Vec<Shown<'_>>, f64), String> {
    let shown = both
        .into_iter()
        .map(|valve| Shown::of(drive, valve))
        .collect::<Result<Vec<_>, _>>()?;
    let most = shown.iter().map(|s| s.curve.most()).fold(0.0, f64::max);
    // Room above the lobes for their names.
    Ok((shown, (most * 1.25).ceil().max(1.0)))
}

/// How many mm of lift the panel of a pair is high; `None` if it has no panel.
pub(super) fn scale(drive: &Drive, both: [usize; 2]) -> Option<f64> {
    panel(drive, both).ok().map(|(_, scale)| scale)
}

/// Whether the lift of a pair can be drawn.
///
/// # Errors
/// What the spec lacks, in words.
pub(super) fn possible(drive: &Drive, both: [usize; 2]) -> Result<(), String> {
    panel(drive, both).map(|_| ())
}

/// The lift of a pair; nothing where it is not [`possible`].
pub(super) fn write(svg: &mut Svg, drive: &Drive, both: [usize; 2], number: usize, name: &str) {
    let Ok((shown, scale)) = panel(drive, both) else {
        return;
    };
    let piston = drive
        .cylinders()
        .and_then(|c| SliderCrank::new(c.stroke.to_f64(), c.rod.to_f64()));
    let high = if piston.is_some() {
        BELOW + 74.0
    } else {
        BELOW
    };
    open(svg, number, name, high);
    grid(svg, scale, high);
    svg.element("rect")
        .class("panel")
        .at(LEFT, TOP)
        .sized(WIDE, HIGH)
        .close();
    svg.element("g")
        .set("clip-path", &format!("url(#panel{number})"))
        .open();
    for one in &shown {
        curve(svg, drive, one, number, scale);
    }
    svg.end("g");
    for one in &shown {
        words(svg, one);
    }
    if let Some(crank) = piston {
        travel(svg, &crank);
    }
    degrees(svg, high);
    // Where the cylinder is now; the page moves it along.
    svg.element("path")
        .class("cursor")
        .set("data-cursor", number)
        .path(&Path::from(0.0, TOP).down_to(high))
        .close();
    svg.end("svg");
    svg.constant(KEY);
    svg.end("figure");
}

/// What the lines mean.
const KEY: &str = "<ul class=\"key\"><li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><path class=\"curve\" d=\"M0 4H28\"/></svg>in time</li>\
    <li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><g class=\"after\"><path class=\"curve\" d=\"M0 4H28\"/></g></svg>after the slip</li>\
    <li><svg class=\"sign\" viewBox=\"0 0 28 8\" aria-hidden=\"true\"><path class=\"touch\" d=\"M0 4H28\"/></svg>here the valve would touch the piston</li></ul>";

fn open(svg: &mut Svg, number: usize, name: &str, high: f64) {
    svg.element("figure").set("data-pair", number).open();
    svg.element("figcaption")
        .text(&format!("Lift and piston, {name} (estimate)"));
    svg.element("svg")
        .class("plot")
        .view_box((0.0, 0.0), (604.0, high + 26.0))
        .set("role", "img")
        .set(
            "aria-label",
            &format!("Lift of {name} over 720 crank degrees, in time and after the slip"),
        )
        .open();
    svg.element("clipPath")
        .set("id", &format!("panel{number}"))
        .open();
    svg.element("rect").at(LEFT, TOP).sized(WIDE, HIGH).close();
    svg.end("clipPath");
}

fn grid(svg: &mut Svg, scale: f64, high: f64) {
    for degrees in [180.0, 360.0, 540.0] {
        svg.element("path")
            .class("grid")
            .path(&Path::from(across(degrees), TOP).down_to(high))
            .close();
    }
    let step = if scale > 16.0 { 5.0 } else { 2.0 };
    let mut tick = 0.0;
    while tick < scale {
        let unit = if tick + step >= scale { " mm" } else { "" };
        svg.element("text")
            .class("end")
            .at(LEFT - 5.0, down(tick, scale) + 5.0)
            .text(&format!("{tick:.0}{unit}"));
        tick += step;
    }
}

/// The lift of a valve in time and, under a name by which the page moves it, after the slip; and the lift at
/// which it would touch the piston.
fn curve(svg: &mut Svg, drive: &Drive, of: &Shown<'_>, number: usize, scale: f64) {
    // Where nothing lifts no point is needed but the ends.
    let points = (0..=360_u16)
        .map(|half| f64::from(half) * 2.0)
        .filter(|place| {
            *place == 0.0
                || *place == 720.0
                || [-2.0, 0.0, 2.0].iter().any(|by| of.lift(place + by) > 0.0)
        })
        .map(|place| (across(place), down(of.lift(place), scale)));
    let path = Path::through(points);
    let kind = of.valves.kind.word();
    svg.element("path")
        .class(&format!("curve {kind}"))
        .set("id", &format!("curve{number}-{}", of.index))
        .path(&path)
        .close();
    svg.element("g")
        .class(&format!("after {kind}"))
        .set("data-lift", of.index)
        .open();
    for round in [-WIDE, 0.0, WIDE] {
        svg.element("path")
            .class("curve")
            .path(&path)
            .moved_across(round)
            .close();
    }
    svg.end("g");
    if let Ok(touch) = PistonAndValve::of(drive, of.index) {
        for run in touching(&touch, scale, 2) {
            let points = run
                .into_iter()
                .map(|(place, mm)| (across(place), down(mm, scale)));
            svg.element("path")
                .class(&format!("touch {kind}"))
                .path(&Path::through(points))
                .close();
        }
    }
}

/// The name of a valve, and the sign that says that it meets the piston.
fn words(svg: &mut Svg, of: &Shown<'_>) {
    svg.element("text")
        .class(&format!("middle {}", of.valves.kind.word()))
        .at(
            across((of.zero + of.curve.top()).rem_euclid(720.0)),
            TOP + 18.0,
        )
        .text(&short(&of.valves.name, 18));
    svg.element("g")
        .class("contact")
        .set("data-contact", of.index)
        .open();
    svg.element("circle").set("r", "8").close();
    svg.element("path").path(&Path::cross(5.0)).close();
    svg.element("text")
        .class("middle")
        .set("y", "-14")
        .text("meets piston");
    svg.end("g");
}

/// The piston's travel.
fn travel(svg: &mut Svg, crank: &SliderCrank) {
    let y = |down: f64| BELOW + down / crank.stroke() * 64.0;
    let points = (0..=144_u16).map(|step| {
        let place = f64::from(step) * 5.0;
        (across(place), y(crank.travel(place)))
    });
    svg.element("path")
        .class("piston")
        .path(&Path::through(points))
        .close();
    svg.element("text")
        .class("middle")
        .at(across(180.0), BELOW + 40.0)
        .text("piston");
}

/// What the places over the cycle are.
fn degrees(svg: &mut Svg, high: f64) {
    for (degrees, dead_centre) in DEAD_CENTRES {
        svg.element("text")
            .class("middle halo")
            .at(across(degrees), FLOOR + 20.0)
            .text(dead_centre);
    }
    for (degrees, stroke) in STROKES {
        svg.element("text")
            .class("middle stroke")
            .at(across(degrees), high + 20.0)
            .text(stroke);
    }
}
