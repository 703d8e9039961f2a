//! Where labels go: near what they name, over nothing that must be seen. Always the same for the same
//! drawing: each label takes the best place in turn, then each looks again while the others stay.

use crate::render::svg::{Area, Spot};

/// Degrees between the directions that are tried.
const STEP: f64 = 15.0;
/// Farthest that a label may stand from what it names, in sheet units.
const FAR: f64 = 48.0;
/// How often every label looks again, and how many labels there are at most for that: what no engine
/// has must not take minutes.
const PASSES: usize = 7;
const MANY: usize = 100;

/// What it costs to stand a unit farther off, and to stand a degree out of the wanted direction.
const AWAY: f64 = 0.9;
const ASKEW: f64 = 0.04;
/// What it costs to leave the sheet, to cover a label, to push one away, to have the line to what is named run
/// over one, and to have two such lines cross.
const OUTSIDE: f64 = 9000.0;
const OVER_LABEL: f64 = 3000.0;
const PUSHED: f64 = 12.0;
const LINE_OVER_LABEL: f64 = 500.0;
const LINES_CROSS: f64 = 40.0;
/// A label that may be left out is, if its place costs more than this.
const DEAR: f64 = 12.0;

/// A label that wants a place.
#[derive(Clone, Debug)]
pub(super) struct Request {
    /// What it names.
    pub(super) anchor: Spot,
    /// A unit vector: where it would rather stand.
    pub(super) toward: (f64, f64),
    /// No nearer than this.
    pub(super) gap: f64,
    /// The line to what it names ends so far from `anchor`.
    pub(super) reach: f64,
    /// There is such a line when the label stands farther off than this.
    pub(super) lead: f64,
    /// Width and height.
    pub(super) size: (f64, f64),
    /// The drawing says the same without it.
    pub(super) optional: bool,
}

impl Request {
    /// The line from a label that stands there to what it names, if it needs one.
    pub(super) fn leader(&self, area: Area) -> Option<(Spot, Spot)> {
        let near = area.nearest(self.anchor);
        let distance = near.distance(self.anchor);
        (distance > self.lead && distance > self.reach)
            .then(|| (near, self.anchor.towards(near, self.reach / distance)))
    }
}

/// A label that has a place, its line, and what it costs to cover it.
#[derive(Clone, Copy)]
struct Other {
    area: Area,
    line: Option<(Spot, Spot)>,
    over: f64,
}

/// A thing drawn: a disc, and what it costs to cover it.
#[derive(Clone, Copy)]
struct Disc {
    centre: Spot,
    radius: f64,
    cost: f64,
}

/// The side of a square of the grid in which small discs are found.
const CELL: f64 = 6.0;
/// Discs from here on are large: there are few of them.
const LARGE: f64 = 4.0;

/// What is taken already.
pub(super) struct Placer {
    sheet: Area,
    labels: Vec<Area>,
    large: Vec<Disc>,
    /// Small discs by the square of the sheet in which their centres lie, row by row.
    small: Vec<Vec<Disc>>,
    columns: usize,
    rows: usize,
}

impl Placer {
    pub(super) fn new(sheet: Area) -> Self {
        let columns = cell(sheet.right - sheet.left) + 1;
        let rows = cell(sheet.bottom - sheet.top) + 1;
        Self {
            sheet,
            labels: Vec::new(),
            large: Vec::new(),
            small: vec![Vec::new(); columns * rows],
            columns,
            rows,
        }
    }

    /// The square of a place; the outermost ones take what lies beyond.
    fn square(&self, spot: Spot) -> (usize, usize) {
        (
            cell(spot.x - self.sheet.left).min(self.columns - 1),
            cell(spot.y - self.sheet.top).min(self.rows - 1),
        )
    }

    /// The small discs that may touch an area.
    fn near(&self, area: Area) -> impl Iterator<Item = &Disc> {
        let wide = area.grown(LARGE);
        let (left, top) = self.square(Spot {
            x: wide.left,
            y: wide.top,
        });
        let (right, bottom) = self.square(Spot {
            x: wide.right,
            y: wide.bottom,
        });
        (top..=bottom)
            .flat_map(move |row| {
                &self.small[row * self.columns + left..=row * self.columns + right]
            })
            .flatten()
    }

    /// Something drawn that labels should keep off.
    pub(super) fn keep_off(&mut self, centre: Spot, radius: f64, cost: f64) {
        let disc = Disc {
            centre,
            radius,
            cost,
        };
        if radius >= LARGE {
            self.large.push(disc);
        } else {
            let (column, row) = self.square(centre);
            self.small[row * self.columns + column].push(disc);
        }
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

    /// Is nothing at all covered by a label here?
    pub(super) fn is_free(&self, area: Area) -> bool {
        self.drawn(area, f64::MIN_POSITIVE) <= 0.0
            && self.sheet.holds(area)
            && !self
                .labels
                .iter()
                .any(|label| label.grown(0.5).overlaps(area))
    }

    /// What it costs to cover what is drawn here. It stops counting at `most`.
    fn drawn(&self, area: Area, most: f64) -> f64 {
        let mut cost = 0.0;
        for disc in self.large.iter().chain(self.near(area)) {
            if area.distance(disc.centre) < disc.radius {
                cost += disc.cost;
                if cost >= most {
                    break;
                }
            }
        }
        cost
    }

    /// The best place for every label; the first ones choose first. All are taken. `None`: left out.
    pub(super) fn place(&mut self, requests: &[Request]) -> Vec<Option<Area>> {
        let mut places: Vec<Option<Area>> = vec![None; requests.len()];
        let passes = if requests.len() > MANY { 1 } else { PASSES };
        for pass in 0..passes {
            // At first a label may push away those that matter less, which then look for another place.
            let gentle = pass + 3 < passes;
            let mut moved = false;
            for (own, request) in requests.iter().enumerate() {
                if request.optional && requests.len() > MANY {
                    continue;
                }
                let before = places[own].take();
                let others: Vec<Other> = requests
                    .iter()
                    .zip(&places)
                    .enumerate()
                    .filter_map(|(place, (request, area))| {
                        area.map(|area| Other {
                            area,
                            line: request.leader(area),
                            over: if gentle && place > own {
                                PUSHED
                            } else {
                                OVER_LABEL
                            },
                        })
                    })
                    .collect();
                let (_, best) = self.best(request, &others);
                moved |= before != Some(best);
                places[own] = Some(best);
            }
            if !moved && !gentle {
                break;
            }
        }
        for (own, request) in requests.iter().enumerate() {
            let Some(area) = places[own].take() else {
                continue;
            };
            let others: Vec<Other> = requests
                .iter()
                .zip(&places)
                .filter_map(|(request, area)| {
                    area.map(|area| Other {
                        area,
                        line: request.leader(area),
                        over: OVER_LABEL,
                    })
                })
                .collect();
            let cost = self.among(request, area, &others)
                + self.drawn(area, f64::INFINITY)
                + self.hidden(request, area)
                + AWAY * (area.distance(request.anchor) - request.gap);
            if !request.optional || cost <= DEAR {
                places[own] = Some(area);
            }
        }
        for (request, area) in requests.iter().zip(&places) {
            let Some(area) = *area else { continue };
            self.take(area);
            if let Some((from, to)) = request.leader(area) {
                self.keep_off_line(from, to, 0.4, 30.0);
            }
        }
        places
    }

    /// The best of several wishes for one label, and the best place for that. It is taken.
    pub(super) fn place_any<'a>(&mut self, wishes: &'a [Request]) -> Option<(&'a Request, Area)> {
        let (_, request, area) = wishes
            .iter()
            .map(|request| {
                let (cost, area) = self.best(request, &[]);
                (cost, request, area)
            })
            .min_by(|(one, ..), (other, ..)| one.total_cmp(other))?;
        self.take(area);
        Some((request, area))
    }

    /// The best place among others, and what it costs.
    fn best(&self, request: &Request, others: &[Other]) -> (f64, Area) {
        let ((x, y), (width, height)) = (request.toward, request.size);
        let mut best: Option<(f64, Area)> = None;
        let mut away = 0.0;
        while away <= FAR {
            let mut turn = 0.0;
            while turn <= 180.0 {
                let base = away * AWAY + turn * ASKEW;
                for signed in [turn, -turn] {
                    let least = best.map_or(f64::INFINITY, |(least, _)| least);
                    if base >= least {
                        continue;
                    }
                    let (sin, cos) = libm::sincos(f64::to_radians(signed));
                    let way = (x * cos - y * sin, x * sin + y * cos);
                    // So far out that the nearest point of the label is the wanted distance away.
                    let support = (way.0.abs() * width + way.1.abs() * height) / 2.0;
                    let centre = request.anchor.moved(way, request.gap + away + support);
                    let area = Area::around(centre, width, height);
                    let mut cost = base + self.among(request, area, others);
                    if cost < least {
                        cost += self.drawn(area, least - cost);
                    }
                    if cost < least {
                        cost += self.hidden(request, area);
                    }
                    if cost < least {
                        best = Some((cost, area));
                    }
                }
                turn += STEP;
            }
            // Farther places only cost more.
            if best.is_some_and(|(least, _)| least < away * AWAY) {
                break;
            }
            away += 1.5;
        }
        best.unwrap_or((f64::INFINITY, Area::around(request.anchor, width, height)))
    }

    /// What it costs to stand here among the other labels and their lines.
    fn among(&self, request: &Request, area: Area, others: &[Other]) -> f64 {
        let mut cost = if self.sheet.holds(area) { 0.0 } else { OUTSIDE };
        let wide = area.grown(0.5);
        let leader = request.leader(area);
        let placed = self.labels.iter().map(|label| Other {
            area: *label,
            line: None,
            over: OVER_LABEL,
        });
        for other in placed.chain(others.iter().copied()) {
            let (line, over) = (other.line, other.over);
            let other = other.area;
            if other.overlaps(wide) {
                cost += over;
            }
            if let Some((from, to)) = leader
                && meets(other, from, to)
            {
                cost += LINE_OVER_LABEL;
            }
            if let Some((from, to)) = line {
                if meets(wide, from, to) {
                    cost += LINE_OVER_LABEL;
                }
                if leader.is_some_and(|own| cross(own, (from, to))) {
                    cost += LINES_CROSS;
                }
            }
        }
        cost
    }

    /// What it costs that the line from a label here to what it names runs over other things: it hides a
    /// dot or a coloured link, and is only less clear over plain links.
    fn hidden(&self, request: &Request, area: Area) -> f64 {
        let Some((from, to)) = request.leader(area) else {
            return 0.0;
        };
        let mut cost = 0.0;
        let along = Area {
            left: from.x.min(to.x),
            top: from.y.min(to.y),
            right: from.x.max(to.x),
            bottom: from.y.max(to.y),
        };
        for disc in self.near(along).filter(|disc| disc.cost >= 20.0) {
            if from_line(disc.centre, from, to) < disc.radius * 0.6 {
                cost += if disc.cost >= 100.0 { 14.0 } else { 0.7 };
            }
        }
        for disc in &self.large {
            // A sprocket that is not the one it names.
            if from_line(disc.centre, from, to) < disc.radius
                && request.anchor.distance(disc.centre) > disc.radius + 4.0
            {
                cost += 25.0;
            }
        }
        cost
    }
}

/// How many whole squares fit into a length; none into less than nothing.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the length is clamped to what a sheet can have"
)]
fn cell(length: f64) -> usize {
    (length / CELL).clamp(0.0, 10_000.0) as usize
}

/// Does a line run over an area? The part of it that lies between the sides, and between top and bottom, is cut out.
fn meets(area: Area, from: Spot, to: Spot) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for (start, step, low, high) in [
        (from.x, to.x - from.x, area.left, area.right),
        (from.y, to.y - from.y, area.top, area.bottom),
    ] {
        if step.abs() < 1e-9 {
            if start < low || start > high {
                return false;
            }
            continue;
        }
        let (one, other) = ((low - start) / step, (high - start) / step);
        first = first.max(one.min(other));
        last = last.min(one.max(other));
    }
    first <= last
}

fn cross((a, b): (Spot, Spot), (c, d): (Spot, Spot)) -> bool {
    let side = |p: Spot, q: Spot, r: Spot| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// The distance of a spot from a line.
fn from_line(spot: Spot, from: Spot, to: Spot) -> f64 {
    let (x, y) = (to.x - from.x, to.y - from.y);
    let square = x * x + y * y;
    let part = if square > 0.0 {
        (((spot.x - from.x) * x + (spot.y - from.y) * y) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    spot.distance(from.towards(to, part))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_meet_what_they_run_over() {
        let area = Area {
            left: 10.0,
            top: 10.0,
            right: 20.0,
            bottom: 15.0,
        };
        let spot = |x, y| Spot { x, y };
        for (from, to, over) in [
            (spot(0.0, 0.0), spot(30.0, 30.0), true),
            (spot(0.0, 12.0), spot(30.0, 12.0), true),
            (spot(12.0, 11.0), spot(13.0, 12.0), true),
            (spot(0.0, 12.0), spot(9.0, 12.0), false),
            (spot(0.0, 16.0), spot(30.0, 16.0), false),
            (spot(0.0, 8.0), spot(12.0, 0.0), false),
        ] {
            assert_eq!(meets(area, from, to), over, "{from:?} {to:?}");
            assert_eq!(meets(area, to, from), over, "{from:?} {to:?}");
        }
    }

    #[test]
    fn labels_of_one_place_do_not_cover_each_other() {
        let sheet = Area {
            left: 0.0,
            top: 0.0,
            right: 100.0,
            bottom: 100.0,
        };
        let mut placer = Placer::new(sheet);
        let anchor = Spot { x: 50.0, y: 50.0 };
        placer.keep_off(anchor, 2.0, 100.0);
        let request = Request {
            anchor,
            toward: (0.0, -1.0),
            gap: 2.0,
            reach: 0.0,
            lead: 4.0,
            size: (20.0, 5.0),
            optional: false,
        };
        let places: Vec<Area> = placer
            .place(&vec![request; 8])
            .into_iter()
            .flatten()
            .collect();
        assert_eq!(places.len(), 8);
        for (place, area) in places.iter().enumerate() {
            assert!(sheet.holds(*area));
            for other in &places[..place] {
                assert!(!area.overlaps(*other), "{area:?} {other:?}");
            }
        }
    }
}
