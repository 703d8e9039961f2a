//! Where labels go: near what they name, over nothing that must be seen. Always the same for the same drawing.

use super::sheet::{Area, Spot};

/// Degrees between the directions that are tried.
const STEP: f64 = 15.0;
/// Farthest that a label may stand from what it names, in sheet units.
const FAR: f64 = 44.0;

/// What is taken already.
pub(super) struct Placer {
    sheet: Area,
    labels: Vec<Area>,
    /// Things drawn, as discs: centre, radius, what it costs to cover one.
    discs: Vec<(Spot, f64, f64)>,
}

impl Placer {
    pub(super) fn new(sheet: Area) -> Self {
        Self {
            sheet,
            labels: Vec::new(),
            discs: Vec::new(),
        }
    }

    /// Something drawn that labels should keep off.
    pub(super) fn keep_off(&mut self, centre: Spot, radius: f64, cost: f64) {
        self.discs.push((centre, radius, cost));
    }

    /// A line that labels should keep off.
    pub(super) fn keep_off_line(&mut self, from: Spot, to: Spot, radius: f64, cost: f64) {
        let length = from.distance(to);
        let step = radius.max(0.5);
        let mut along = 0.0;
        while along <= length {
            self.keep_off(from.towards(to, along / length.max(1e-9)), radius, cost);
            along += step;
        }
    }

    /// A label put down by other means.
    pub(super) fn take(&mut self, area: Area) {
        self.labels.push(area);
    }

    /// What would be covered by a label here.
    fn covered(&self, area: Area) -> f64 {
        let drawn: f64 = self
            .discs
            .iter()
            .filter(|(centre, radius, _)| area.distance(*centre) < *radius)
            .map(|(_, _, cost)| cost)
            .sum();
        let labels = self
            .labels
            .iter()
            .filter(|label| label.grown(0.5).overlaps(area))
            .count();
        let outside = if self.sheet.holds(area) { 0.0 } else { 4000.0 };
        drawn + outside + 2000.0 * f64::from(u32::try_from(labels).unwrap_or(u32::MAX))
    }

    /// Is nothing at all covered by a label here?
    pub(super) fn is_free(&self, area: Area) -> bool {
        self.covered(area) <= 0.0
    }

    /// The best place for a label of that size about `anchor`, `gap` or more off, preferably in the direction of the
    /// unit vector `(x, y)`. It is taken.
    pub(super) fn place(
        &mut self,
        anchor: Spot,
        (x, y): (f64, f64),
        gap: f64,
        (width, height): (f64, f64),
    ) -> Area {
        let mut best: Option<(f64, Area)> = None;
        let mut distance = gap;
        while distance <= gap + FAR {
            let mut turn = 0.0;
            while turn <= 180.0 {
                for signed in [turn, -turn] {
                    let (sin, cos) = f64::to_radians(signed).sin_cos();
                    let (dx, dy) = (x * cos - y * sin, x * sin + y * cos);
                    // So far out that the nearest point of the label is `distance` away.
                    let support = (dx.abs() * width + dy.abs() * height) / 2.0;
                    let area = Area::around(
                        Spot {
                            x: anchor.x + dx * (distance + support),
                            y: anchor.y + dy * (distance + support),
                        },
                        width,
                        height,
                    );
                    let covered = self.covered(area) + self.crossed(anchor, area);
                    let cost = covered + (distance - gap) * 0.8 + turn * 0.05;
                    if best.is_none_or(|(least, _)| cost < least) {
                        best = Some((cost, area));
                    }
                }
                turn += STEP;
            }
            // Farther places only cost more.
            if best.is_some_and(|(least, _)| least < (distance - gap) * 0.8) {
                break;
            }
            distance += 1.5;
        }
        let area = best.map_or(Area::around(anchor, width, height), |(_, area)| area);
        self.take(area);
        area
    }

    /// What it costs that the line from label to anchor runs over other labels.
    fn crossed(&self, anchor: Spot, area: Area) -> f64 {
        let near = area.nearest(anchor);
        let length = near.distance(anchor);
        let mut cost = 0.0;
        let mut along = 1.0;
        while along < length - 1.0 {
            let spot = near.towards(anchor, along / length);
            if self.labels.iter().any(|label| label.distance(spot) <= 0.0) {
                cost += 400.0;
            }
            along += 2.0;
        }
        cost
    }
}
