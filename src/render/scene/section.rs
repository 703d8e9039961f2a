//! One cylinder in section, to scale: bore, piston and valves. Below zero is up, and zero is the head's face; lengths
//! are those of the spec in mm. What moves has a name, and [`super::moment`] says by how much.
//!
//! A valve's face and the floor of its pocket are drawn as the clearance takes them, as parallel planes across the valve's
//! axis, so that they touch on the page where they touch by the number beside it.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use crate::drive::model::Drive;
use crate::drive::valves::Valves;
use crate::render::svg::{Path, Svg};
use crate::spec::valves::ValveKind;
use crate::valves::piston::SliderCrank;

/// A hundredth of a millimetre.
const DECIMALS: usize = 2;

/// Cylinders with the same valves, which are drawn alike.
pub(super) struct Section {
    /// Entries of [`Drive::valves`], those of the exhaust first.
    valves: Vec<usize>,
    /// Their cylinders, in firing order.
    pub(super) cylinders: Vec<u8>,
}

/// The sections of a drive; none if it has no cylinders.
pub(super) fn all(drive: &Drive) -> Vec<Section> {
    let mut sections: Vec<Section> = Vec::new();
    for number in drive.cylinders().iter().flat_map(|all| &all.firing_order) {
        let of = |kind: ValveKind| {
            let own = drive.valves().iter().enumerate();
            own.filter(move |(_, valves)| valves.kind == kind && valves.cylinders.contains(number))
                .map(|(i, _)| i)
        };
        let valves: Vec<usize> = of(ValveKind::Exhaust)
            .chain(of(ValveKind::Intake))
            .collect();
        match sections.iter_mut().find(|other| other.valves == valves) {
            Some(same) => same.cylinders.push(*number),
            None => sections.push(Section {
                valves,
                cylinders: vec![*number],
            }),
        }
    }
    sections
}

/// Lengths that all parts go by.
struct Size {
    bore: f64,
    /// From the head's face down to the crown at TDC.
    top: f64,
    stroke: f64,
    rod: f64,
}

impl Size {
    fn of(drive: &Drive) -> Option<Self> {
        let cylinders = drive.cylinders()?;
        let stroke = cylinders.stroke.to_f64();
        SliderCrank::new(stroke, cylinders.rod.to_f64())?;
        Some(Self {
            // Most engines are nearly square (common practice).
            bore: cylinders.bore.map_or(stroke, |bore| bore.to_f64()),
            top: cylinders.gasket.to_f64() - cylinders.deck.to_f64(),
            stroke,
            rod: cylinders.rod.to_f64(),
        })
    }

    /// From the crown down to the pin, and to the skirt's end. The spec says nothing of either.
    fn pin(&self) -> f64 {
        0.3 * self.bore
    }

    fn skirt(&self) -> f64 {
        0.5 * self.bore
    }
}

/// A valve as it is drawn: where the middle of its face is when it is closed, and its axis down into the cylinder.
struct Seat {
    face: (f64, f64),
    axis: (f64, f64),
    radius: f64,
    /// From the closed face to the pocket's floor at TDC.
    floor: f64,
}

impl Seat {
    /// The `slot`th of so many across the bore. How wide a valve is, and where it sits, no spec says.
    fn of(valves: &Valves, size: &Size, slot: usize, of: usize) -> Self {
        let place = |slot: usize| u32::try_from(slot).map_or(0.0, f64::from);
        let wide = 0.92 * size.bore / place(of).max(2.0);
        let middle = 0.0 - wide * place(of) / 2.0 + wide * (place(slot) + 0.5);
        let (sin, cos) = libm::sincos(valves.inclination.to_f64().to_radians());
        let radius = 0.42 * wide;
        let recess = valves.recess.map_or(0.0, |recess| recess.to_f64());
        Self {
            // Its lowest edge lies `recess` above the head's face along the axis.
            face: (middle, -recess * cos - radius * sin),
            axis: lifted(valves, 1.0),
            radius,
            floor: recess + valves.relief.to_f64() + size.top * cos,
        }
    }

    /// So far along the axis from the closed face, and so far across it.
    fn at(&self, along: f64, across: f64) -> (f64, f64) {
        (
            self.face.0 + along * self.axis.0 + across * self.axis.1,
            self.face.1 + along * self.axis.1 - across * self.axis.0,
        )
    }
}

/// By how much a valve is moved when it is lifted by so many mm: down its axis, whose upper end leans outwards.
pub(super) fn lifted(valves: &Valves, mm: f64) -> (f64, f64) {
    let (sin, cos) = libm::sincos(valves.inclination.to_f64().to_radians());
    match valves.kind {
        ValveKind::Exhaust => (mm * sin, mm * cos),
        ValveKind::Intake => (-mm * sin, mm * cos),
    }
}

/// How far the connecting rod leans, in degrees clockwise, `place` crank degrees after TDC.
///
/// From the slider-crank: sin(lean) = throw / rod * sin(place).
pub(super) fn lean(drive: &Drive, place: f64) -> f64 {
    let Some(size) = Size::of(drive) else {
        return 0.0;
    };
    let sin = libm::sin(place.rem_euclid(360.0).to_radians()) * size.stroke / 2.0 / size.rod;
    // The crank turns clockwise here, whatever side the engine is seen from: it goes to the right after TDC.
    -libm::asin(sin).to_degrees()
}

/// The drawing, the piston at TDC and every valve closed; empty if the spec has no cylinders.
pub(super) fn write(drive: &Drive, section: &Section, number: usize) -> Svg {
    let mut svg = Svg::new(DECIMALS);
    let Some(size) = Size::of(drive) else {
        return svg;
    };
    let half = size.bore / 2.0;
    let (above, below) = (
        0.72 * size.bore,
        size.top.max(0.0) + size.stroke + 0.62 * size.bore,
    );
    svg.element("svg")
        .class("section")
        .view_box(
            (-0.66 * size.bore, -above),
            (1.32 * size.bore, above + below),
        )
        .set("role", "img")
        .set(
            "aria-label",
            "One cylinder in section: its piston and its valves as they stand now",
        )
        .open();
    svg.element("clipPath")
        .set("id", &format!("section{number}"))
        .open();
    svg.element("rect")
        .at(-half, -above)
        .sized(size.bore, above + below)
        .close();
    svg.end("clipPath");
    for left in [-0.62 * size.bore, half] {
        svg.element("rect")
            .class("wall")
            .at(left, 0.0)
            .sized(0.12 * size.bore, below)
            .close();
    }
    svg.element("rect")
        .class("head")
        .at(-0.62 * size.bore, -0.3 * size.bore)
        .sized(1.24 * size.bore, 0.3 * size.bore)
        .close();
    let seats: Vec<(usize, Seat)> = section
        .valves
        .iter()
        .enumerate()
        .map(|(slot, i)| {
            (
                *i,
                Seat::of(&drive.valves()[*i], &size, slot, section.valves.len()),
            )
        })
        .collect();
    // The room above the face, up to each valve.
    for (_, seat) in &seats {
        let edge = 1.06 * seat.radius;
        let [a, b] = [seat.at(0.0, -edge), seat.at(0.0, edge)];
        svg.element("path")
            .class("chamber")
            .path(
                &Path::from(a.0, 0.4)
                    .to(a.0, a.1)
                    .to(b.0, b.1)
                    .to(b.0, 0.4)
                    .close(),
            )
            .close();
    }
    svg.element("g")
        .set("clip-path", &format!("url(#section{number})"))
        .open();
    rod(&mut svg, &size);
    piston(&mut svg, &size, &seats);
    svg.end("g");
    for (i, seat) in &seats {
        valve(&mut svg, &drive.valves()[*i], *i, seat, &size);
    }
    svg.end("svg");
    svg
}

/// The rod hangs from the pin, which is its own zero.
fn rod(svg: &mut Svg, size: &Size) {
    svg.element("g")
        .set("data-rod", "")
        .moved(0.0, size.top + size.pin())
        .open();
    let wide = 0.09 * size.bore;
    svg.element("path")
        .class("rod")
        .path(
            &Path::from(-wide, 0.0)
                .to(-1.25 * wide, size.rod)
                .to(1.25 * wide, size.rod)
                .to(wide, 0.0)
                .close(),
        )
        .close();
    svg.end("g");
}

/// The crown with its pockets, rings and pin.
fn piston(svg: &mut Svg, size: &Size, seats: &[(usize, Seat)]) {
    let half = 0.992 * size.bore / 2.0;
    let (top, skirt) = (size.top, size.top + size.skirt());
    svg.element("g").set("data-piston", "").open();
    let mut path = Path::from(-half, skirt).to(-half, top);
    let mut pockets: Vec<Vec<(f64, f64)>> = seats
        .iter()
        .filter_map(|(_, seat)| pocket(seat, top, half))
        .collect();
    pockets.sort_by(|a, b| a[0].0.total_cmp(&b[0].0));
    let mut from = -half;
    for pocket in pockets {
        // One that would begin within another is left to it.
        if pocket[0].0 < from {
            continue;
        }
        from = pocket.last().map_or(from, |end| end.0);
        for (x, y) in pocket {
            path = path.to(x, y);
        }
    }
    path = path.to(half, top).to(half, skirt).close();
    svg.element("path").class("crown").path(&path).close();
    for ring in [0.12, 0.17, 0.23] {
        let y = top + ring * size.bore;
        svg.element("path")
            .class("ring-line")
            .path(&Path::from(-half, y).to(half, y))
            .close();
    }
    svg.element("circle")
        .class("pin")
        .set("cy", top + size.pin())
        .set("r", 0.075 * size.bore)
        .close();
    svg.end("g");
}

/// What a pocket takes out of the crown, from left to right; `None` if its floor is nowhere below the crown.
fn pocket(seat: &Seat, top: f64, half: f64) -> Option<Vec<(f64, f64)>> {
    let wide = 1.1 * seat.radius;
    let mut floor = [seat.at(seat.floor, -wide), seat.at(seat.floor, wide)];
    if floor.iter().all(|(_, y)| *y <= top + 0.01) {
        return None;
    }
    // Where the floor comes out of the crown it ends.
    let [a, b] = floor;
    for end in &mut floor {
        if end.1 < top {
            let share = (top - a.1) / (b.1 - a.1);
            *end = (a.0 + share * (b.0 - a.0), top);
        }
    }
    // Its walls go up along the valve's axis.
    let wall = |(x, y): (f64, f64)| (x - (y - top) * seat.axis.0 / seat.axis.1, top);
    let points = vec![wall(floor[0]), floor[0], floor[1], wall(floor[1])];
    let within = points.iter().all(|(x, _)| x.abs() < half);
    (within && points[0].0 < points[3].0).then_some(points)
}

/// A valve, closed, with its letter and the sign that it meets the piston.
fn valve(svg: &mut Svg, valves: &Valves, index: usize, seat: &Seat, size: &Size) {
    let r = seat.radius;
    let stem = 0.05 * size.bore;
    let long = 0.6 * size.bore;
    let kind = valves.kind.word();
    let sure = valves.lift.is_some() && valves.recess.is_some();
    svg.element("g")
        .class(&format!(
            "valve {kind}{}",
            if sure { "" } else { " unsure" }
        ))
        .set("data-valve", index)
        .open();
    let way = [
        (0.0, -r),
        (-0.14 * r, -r),
        (-0.55 * r, -stem),
        (-long, -stem),
        (-long, stem),
        (-0.55 * r, stem),
        (-0.14 * r, r),
        (0.0, r),
    ];
    svg.element("path")
        .class("poppet")
        .path(&Path::through(way.map(|(along, across)| seat.at(along, across))).close())
        .close();
    let (x, y) = seat.at(0.0, 0.0);
    svg.element("g").class("touches").moved(x, y).open();
    svg.element("circle").set("r", 0.1 * size.bore).close();
    svg.element("path")
        .path(&Path::cross(0.06 * size.bore))
        .close();
    svg.end("g");
    svg.end("g");
    let (x, y) = seat.at(-0.62 * size.bore, 0.0);
    svg.element("text")
        .class(&format!("middle {kind}"))
        .at(
            x + 0.14 * size.bore * if x < 0.0 { -1.0 } else { 1.0 },
            y + 0.1 * size.bore,
        )
        .set("font-size", 0.15 * size.bore)
        .text(match valves.kind {
            ValveKind::Intake => "I",
            ValveKind::Exhaust => "E",
        });
}

/// What the drawing takes from nowhere, and what it lacks.
pub(super) fn notes(drive: &Drive, section: &Section) -> Vec<String> {
    let mut notes = Vec::new();
    if drive.cylinders().is_some_and(|all| all.bore.is_none()) {
        notes.push(
            "The spec does not give 'bore': the bore is drawn as wide as the stroke is long."
                .to_owned(),
        );
    }
    for i in &section.valves {
        let valves = &drive.valves()[*i];
        if valves.lift.is_none() {
            notes.push(format!(
                "{}: drawn closed, for the spec does not give 'lift' or 'lift_table'.",
                valves.name
            ));
        } else if valves.recess.is_none() {
            notes.push(format!(
                "{}: no gap, for the spec does not give 'recess'.",
                valves.name
            ));
        }
    }
    if section.valves.is_empty() {
        notes.push("The spec gives no valves of these cylinders.".to_owned());
    }
    notes
}
