//! What is drawn already, on a fine grid: whether a label would cover it is then one look, however much there is.

use crate::render::svg::{Area, Spot};

/// The side of a square of the grid, in sheet units.
const CELL: f64 = 0.5;

/// Teeth, links, dots, shoes: no label may cover them.
pub(super) const HARD: u8 = 1;
/// The body of a sprocket, an arrow: a label stands elsewhere if it can.
pub(super) const SOFT: u8 = 2;
/// Dots and coloured links: no line to a label may hide them either.
pub(super) const DEAR: u8 = 4;

/// A line with round ends: all that labels name or keep off is made of these. A disc is one without length.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Capsule {
    pub(super) from: Spot,
    pub(super) to: Spot,
    pub(super) radius: f64,
}

impl Capsule {
    pub(super) fn disc(centre: Spot, radius: f64) -> Self {
        Self {
            from: centre,
            to: centre,
            radius,
        }
    }

    /// It is no nearer to a rectangle than this, which is found faster.
    pub(super) fn at_least(self, area: Area) -> f64 {
        let (left, right) = (self.from.x.min(self.to.x), self.from.x.max(self.to.x));
        let (top, bottom) = (self.from.y.min(self.to.y), self.from.y.max(self.to.y));
        let across = (left - area.right).max(area.left - right);
        let down = (top - area.bottom).max(area.top - bottom);
        across.max(down) - self.radius
    }

    /// How far it is from a rectangle; 0 if they meet.
    pub(super) fn distance(self, area: Area) -> f64 {
        (line_square(area, self.from, self.to).sqrt() - self.radius).max(0.0)
    }

    /// How far the nearest of several is from a rectangle.
    pub(super) fn nearest(all: &[Self], area: Area) -> f64 {
        all.iter().fold(f64::INFINITY, |least, one| {
            if one.at_least(area) < least {
                one.distance(area).min(least)
            } else {
                least
            }
        })
    }
}

/// The square of how far a line is from a rectangle; 0 if they meet. Squares, since thousands are compared.
fn line_square(area: Area, from: Spot, to: Spot) -> f64 {
    let ends = square(area.nearest(from), from);
    if from == to {
        return ends;
    }
    if meets(area, from, to) {
        return 0.0;
    }
    let ends = ends.min(square(area.nearest(to), to));
    let Area {
        left,
        top,
        right,
        bottom,
    } = area;
    [(left, top), (right, top), (right, bottom), (left, bottom)]
        .into_iter()
        .map(|(x, y)| square_from(Spot { x, y }, from, to))
        .fold(ends, f64::min)
}

fn square(one: Spot, other: Spot) -> f64 {
    let (x, y) = (one.x - other.x, one.y - other.y);
    x * x + y * y
}

/// Does a line run over an area? The part of it that lies between the sides, and between top and bottom, is cut out.
pub(super) fn meets(area: Area, from: Spot, to: Spot) -> bool {
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

/// The square of the distance of a spot from a line.
fn square_from(spot: Spot, from: Spot, to: Spot) -> f64 {
    let (x, y) = (to.x - from.x, to.y - from.y);
    let long = x * x + y * y;
    let part = if long > 0.0 {
        (((spot.x - from.x) * x + (spot.y - from.y) * y) / long).clamp(0.0, 1.0)
    } else {
        0.0
    };
    square(spot, from.towards(to, part))
}

/// The grid.
pub(super) struct Ground {
    area: Area,
    columns: usize,
    rows: usize,
    cells: Vec<u8>,
    /// How many hard and soft squares lie above and left of each corner.
    hard: Vec<u32>,
    soft: Vec<u32>,
}

impl Ground {
    pub(super) fn new(area: Area) -> Self {
        let columns = whole((area.right - area.left) / CELL) + 1;
        let rows = whole((area.bottom - area.top) / CELL) + 1;
        Self {
            area,
            columns,
            rows,
            cells: vec![0; columns * rows],
            hard: Vec::new(),
            soft: Vec::new(),
        }
    }

    /// May labels stand there at all?
    pub(super) fn holds(&self, area: Area) -> bool {
        self.area.holds(area)
    }

    fn column(&self, x: f64) -> usize {
        whole((x - self.area.left) / CELL).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        whole((y - self.area.top) / CELL).min(self.rows - 1)
    }

    /// The middle of a square.
    fn middle(&self, column: usize, row: usize) -> Spot {
        let along = |place: usize| (f64::from(u32::try_from(place).unwrap_or(0)) + 0.5) * CELL;
        Spot {
            x: self.area.left + along(column),
            y: self.area.top + along(row),
        }
    }

    fn mark(&mut self, around: Area, bits: u8, inside: impl Fn(Spot) -> bool) {
        let (left, right) = (self.column(around.left), self.column(around.right));
        for row in self.row(around.top)..=self.row(around.bottom) {
            for column in left..=right {
                if inside(self.middle(column, row)) {
                    self.cells[row * self.columns + column] |= bits;
                }
            }
        }
    }

    /// Marks every square that a capsule touches.
    pub(super) fn put(&mut self, capsule: Capsule, bits: u8) {
        let Capsule { from, to, radius } = capsule;
        let reach = radius + CELL * 0.71;
        let around = Area {
            left: from.x.min(to.x),
            top: from.y.min(to.y),
            right: from.x.max(to.x),
            bottom: from.y.max(to.y),
        }
        .grown(reach);
        let most = reach * reach;
        self.mark(around, bits, |spot| square_from(spot, from, to) <= most);
    }

    /// Marks a ring.
    pub(super) fn ring(&mut self, centre: Spot, inner: f64, outer: f64, bits: u8) {
        let (inner, outer) = ((inner - CELL * 0.71).max(0.0), outer + CELL * 0.71);
        let around = Area::around(centre, 0.0, 0.0).grown(outer);
        self.mark(around, bits, |spot| {
            (inner * inner..=outer * outer).contains(&square(spot, centre))
        });
    }

    /// Marks a rectangle.
    pub(super) fn take(&mut self, area: Area) {
        self.mark(area.grown(CELL * 0.5), HARD, |_| true);
    }

    /// Counts what was marked; to be called before the questions below.
    pub(super) fn settle(&mut self) {
        let wide = self.columns + 1;
        for (bit, sums) in [(HARD, &mut self.hard), (SOFT, &mut self.soft)] {
            *sums = vec![0; wide * (self.rows + 1)];
            for row in 0..self.rows {
                let mut along = 0;
                for column in 0..self.columns {
                    along += u32::from(self.cells[row * self.columns + column] & bit != 0);
                    sums[(row + 1) * wide + column + 1] = sums[row * wide + column + 1] + along;
                }
            }
        }
    }

    fn sum(&self, sums: &[u32], area: Area) -> u32 {
        let wide = self.columns + 1;
        let (left, right) = (self.column(area.left), self.column(area.right) + 1);
        let (top, bottom) = (self.row(area.top), self.row(area.bottom) + 1);
        let at = |row: usize, column: usize| sums.get(row * wide + column).copied().unwrap_or(0);
        (at(bottom, right) + at(top, left)) - (at(top, right) + at(bottom, left))
    }

    /// How many squares of what must be seen a label here would cover.
    pub(super) fn hard(&self, area: Area) -> u32 {
        self.sum(&self.hard, area)
    }

    /// How many squares of the rest.
    pub(super) fn soft(&self, area: Area) -> u32 {
        self.sum(&self.soft, area)
    }

    /// How many squares of what must be seen, and of what nothing may hide, lie under a line.
    pub(super) fn under(&self, from: Spot, to: Spot) -> (u32, u32) {
        let steps = whole(from.distance(to) / CELL) + 1;
        let (mut hard, mut dear) = (0, 0);
        for step in 0..=steps {
            let part = f64::from(u32::try_from(step).unwrap_or(0))
                / f64::from(u32::try_from(steps).unwrap_or(1));
            let spot = from.towards(to, part);
            let cell = self.cells[self.row(spot.y) * self.columns + self.column(spot.x)];
            hard += u32::from(cell & HARD != 0);
            dear += u32::from(cell & DEAR != 0);
        }
        (hard, dear)
    }
}

/// How many whole squares fit into a length; none into less than nothing.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the length is clamped to what a sheet can have"
)]
fn whole(squares: f64) -> usize {
    squares.clamp(0.0, 4_000.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: Area = Area {
        left: 0.0,
        top: 0.0,
        right: 100.0,
        bottom: 100.0,
    };

    fn spot(x: f64, y: f64) -> Spot {
        Spot { x, y }
    }

    #[test]
    fn lines_meet_what_they_run_over() {
        let area = Area {
            left: 10.0,
            top: 10.0,
            right: 20.0,
            bottom: 15.0,
        };
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
            assert_eq!(line_square(area, from, to) <= 0.0, over);
        }
        // Above its middle, 3 away.
        let off = line_square(area, spot(0.0, 7.0), spot(30.0, 7.0));
        assert!((off - 9.0).abs() < 1e-9);
    }

    #[test]
    fn what_lies_on_a_capsule_is_never_called_free() {
        let mut ground = Ground::new(SHEET);
        let capsule = Capsule {
            from: spot(20.0, 30.0),
            to: spot(61.0, 47.3),
            radius: 2.2,
        };
        ground.put(capsule, HARD | DEAR);
        ground.settle();
        let mut touched = 0;
        for step in 0..400_u32 {
            let at = spot(f64::from(step % 20) * 4.9, f64::from(step / 20) * 4.9);
            let area = Area::around(at, 7.0, 3.0);
            assert!(capsule.at_least(area) <= capsule.distance(area) + 1e-9);
            if capsule.distance(area) <= 0.0 {
                assert!(ground.hard(area) > 0, "{at:?}");
                touched += 1;
            } else if capsule.distance(area) > 1.5 {
                assert_eq!(ground.hard(area), 0, "{at:?}");
            }
            assert_eq!(ground.soft(area), 0);
        }
        assert!(touched > 10);
        assert!(ground.under(spot(40.0, 0.0), spot(40.0, 90.0)).1 > 4);
        assert_eq!(ground.under(spot(0.0, 0.0), spot(90.0, 0.0)), (0, 0));
    }
}
