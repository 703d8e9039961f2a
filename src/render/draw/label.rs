//! Where labels go: near what they name and nearer to it than to anything else of its kind, over nothing that must
//! be seen. Always the same for the same drawing: each label has places to choose from, they choose in turn, look again
//! while the others stay, and where two still want the same place one makes way.

use super::ground::{Capsule, Ground, meets};
use super::lines::Line;
use super::sheet::Part;
use crate::render::svg::{Area, Spot};

/// Degrees between the directions that are tried.
const STEP: f64 = 7.5;
/// From one try to the next, farther out, in sheet units.
const OUT: f64 = 1.2;
/// A second place in the same direction is so much farther out.
const SECOND: f64 = 7.0;
/// How often every label looks again, and how many labels there are at most for that: what no engine
/// has must not take minutes.
const PASSES: usize = 6;
pub(super) const MANY: usize = 100;
/// Degrees between the directions, and how far off the places are, that so many labels choose from.
const COARSE: f64 = 30.0;
const CLOSE: f64 = 20.0;

/// What it costs to stand a unit farther off, to stand a degree out of the wanted direction, and to cover a square of
/// what may be covered.
const AWAY: f64 = 0.9;
const ASKEW: f64 = 0.04;
const SOFT: f64 = 0.25;
/// What the line to what is named costs for each square it hides of what is drawn, and of dots and coloured links.
const LINE_HIDES: f64 = 0.4;
const LINE_HIDES_DEAR: f64 = 2.0;
/// What it costs to leave the sheet, to cover what must be seen, to stand nearer to another part, to cover a label, to
/// have the line to what is named run over one, and to have two such lines cross.
const OUTSIDE: f64 = 9000.0;
const COVERS: f64 = 3000.0;
const WRONG: f64 = 2500.0;
const OVER_LABEL: f64 = 3000.0;
const LINE_OVER_LABEL: f64 = 900.0;
const LINES_CROSS: f64 = 60.0;
/// From here on a place is a fault.
const FAULT: f64 = 500.0;
/// A label that may be left out is, if its place costs more than this.
const DEAR: f64 = 14.0;
/// So much nearer to its own part than to any other.
const NEARER: f64 = 0.4;

/// Where a label would like to stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wish {
    /// What it names.
    pub(super) anchor: Spot,
    /// A unit vector: where it would rather stand.
    pub(super) toward: (f64, f64),
    /// No nearer than this.
    pub(super) gap: f64,
}

/// A label that wants a place.
#[derive(Clone, Debug)]
pub(super) struct Request {
    /// It stands at one of these.
    pub(super) wishes: Vec<Wish>,
    /// The line to what it names ends so far from the anchor.
    pub(super) reach: f64,
    /// There is such a line when the label stands farther off than this.
    pub(super) lead: f64,
    /// Width and height.
    pub(super) size: (f64, f64),
    /// At most so many degrees out of the wanted direction, and so far off.
    pub(super) turn: f64,
    pub(super) far: f64,
    /// What it names, and what it would seem to name if it stood nearer to that.
    pub(super) own: Vec<Capsule>,
    pub(super) rivals: Vec<Capsule>,
    /// The drawing says the same without it.
    pub(super) optional: bool,
}

/// A label without its place yet.
pub(super) struct Wanted {
    pub(super) request: Request,
    pub(super) of: Part,
    pub(super) lines: Vec<Line>,
    pub(super) frame: Option<&'static str>,
}

/// A place for a label: where it stands, and its line if it needs one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Place {
    pub(super) area: Area,
    pub(super) line: Option<(Spot, Spot)>,
    cost: f64,
}

impl Place {
    /// What it costs that two labels stand there.
    fn beside(&self, other: &Self) -> f64 {
        let mut cost = 0.0;
        if self.area.grown(0.6).overlaps(other.area) {
            cost += OVER_LABEL;
        }
        for (line, area) in [(self.line, other.area), (other.line, self.area)] {
            if let Some((from, to)) = line
                && meets(area.grown(0.3), from, to)
            {
                cost += LINE_OVER_LABEL;
            }
        }
        if let (Some(one), Some(other)) = (self.line, other.line)
            && cross(one, other)
        {
            cost += LINES_CROSS;
        }
        cost
    }
}

/// The places that were found, and how many of them are faulty.
pub(super) struct Placed {
    /// `None`: left out.
    pub(super) places: Vec<Option<Place>>,
    pub(super) faults: usize,
}

/// The best place for every label; the first ones choose first.
pub(super) fn place(ground: &Ground, requests: &[Request]) -> Placed {
    let many = requests.len() > MANY;
    let choices: Vec<Vec<Place>> = requests
        .iter()
        .map(|request| {
            if many && request.optional {
                return Vec::new();
            }
            choices(ground, request, many)
        })
        .collect();
    let mut search = Search {
        requests,
        choices: &choices,
        taken: vec![None; requests.len()],
    };
    for _ in 0..if many { 1 } else { PASSES } {
        let mut moved = false;
        for own in 0..requests.len() {
            moved |= search.choose(own);
        }
        if !moved {
            break;
        }
    }
    if !many {
        search.make_way();
    }
    let faults = (0..requests.len())
        .filter(|own| search.taken[*own].is_some() && search.now(*own) >= FAULT)
        .count();
    Placed {
        places: search
            .taken
            .iter()
            .zip(&choices)
            .map(|(taken, choices)| taken.map(|choice| choices[choice]))
            .collect(),
        faults,
    }
}

/// Which place each label has.
struct Search<'a> {
    requests: &'a [Request],
    choices: &'a [Vec<Place>],
    taken: Vec<Option<usize>>,
}

impl Search<'_> {
    /// What a place costs among the other labels. It stops counting at `most`.
    fn cost(&self, own: usize, place: &Place, most: f64) -> f64 {
        let mut cost = place.cost;
        for (other, taken) in self.taken.iter().enumerate() {
            if other == own {
                continue;
            }
            if cost >= most {
                break;
            }
            if let Some(choice) = taken {
                cost += place.beside(&self.choices[other][*choice]);
            }
        }
        cost
    }

    /// What a label costs where it is.
    fn now(&self, own: usize) -> f64 {
        match self.taken[own] {
            Some(choice) => self.cost(own, &self.choices[own][choice], f64::INFINITY),
            None => DEAR,
        }
    }

    /// The best place while the others stay.
    fn best(&self, own: usize) -> Option<usize> {
        let mut least = if self.requests[own].optional {
            DEAR
        } else {
            f64::INFINITY
        };
        let mut best = None;
        for (choice, place) in self.choices[own].iter().enumerate() {
            // They stand in the order of their costs.
            if place.cost >= least {
                break;
            }
            let cost = self.cost(own, place, least);
            if cost < least {
                (least, best) = (cost, Some(choice));
            }
        }
        best
    }

    fn choose(&mut self, own: usize) -> bool {
        let best = self.best(own);
        let moved = self.taken[own] != best;
        self.taken[own] = best;
        moved
    }

    fn total(&self) -> f64 {
        let places: Vec<&Place> = self
            .taken
            .iter()
            .zip(self.choices)
            .filter_map(|(taken, choices)| taken.map(|choice| &choices[choice]))
            .collect();
        let left_out = self.taken.len() - places.len();
        let mut total = DEAR * f64::from(u32::try_from(left_out).unwrap_or(0));
        for (at, place) in places.iter().enumerate() {
            total += place.cost;
            for other in &places[..at] {
                total += place.beside(other);
            }
        }
        total
    }

    /// Where labels are still in each other's way, one takes the other's place and that one looks for another.
    fn make_way(&mut self) {
        for _ in 0..4 {
            let mut better = false;
            for own in 0..self.requests.len() {
                if self.taken[own].is_some() && self.now(own) >= LINES_CROSS {
                    better |= self.push(own);
                }
            }
            if !better {
                return;
            }
        }
    }

    fn push(&mut self, own: usize) -> bool {
        let before = self.taken.clone();
        let mut least = self.total();
        let mut best = None;
        for (choice, place) in self.choices[own].iter().enumerate() {
            if place.cost >= FAULT {
                break;
            }
            self.taken.clone_from(&before);
            self.taken[own] = Some(choice);
            for other in 0..self.requests.len() {
                if other == own {
                    continue;
                }
                if let Some(its) = self.taken[other]
                    && place.beside(&self.choices[other][its]) >= LINES_CROSS
                {
                    self.choose(other);
                }
            }
            let total = self.total();
            if total < least - 1e-9 {
                least = total;
                best = Some(self.taken.clone());
            }
        }
        let better = best.is_some();
        self.taken = best.unwrap_or(before);
        better
    }
}

/// The places that a label can choose from, the best first.
fn choices(ground: &Ground, request: &Request, many: bool) -> Vec<Place> {
    let (step, far) = if many {
        (COARSE, request.far.min(CLOSE))
    } else {
        (STEP, request.far)
    };
    let mut found = Vec::new();
    // The least bad one, should there be no good one.
    let mut last: Option<Place> = None;
    for wish in &request.wishes {
        let mut turn = 0.0;
        while turn <= request.turn {
            for signed in [turn, -turn] {
                if turn <= 0.0 && signed.is_sign_negative() {
                    continue;
                }
                ray(ground, request, wish, (signed, far), &mut found, &mut last);
            }
            turn += step;
        }
    }
    if found.is_empty() {
        found.extend(last);
    }
    found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    found
}

/// The good places in one direction: the nearest, and one farther out.
fn ray(
    ground: &Ground,
    request: &Request,
    wish: &Wish,
    (turn, far): (f64, f64),
    found: &mut Vec<Place>,
    last: &mut Option<Place>,
) {
    let ((x, y), (width, height)) = (wish.toward, request.size);
    let (sin, cos) = libm::sincos(turn.to_radians());
    let way = (x * cos - y * sin, x * sin + y * cos);
    // So far out that the nearest point of the label is the wanted distance away.
    let support = (way.0.abs() * width + way.1.abs() * height) / 2.0;
    let mut nearest: Option<f64> = None;
    let mut away = 0.0;
    while away <= far {
        let centre = wish.anchor.moved(way, wish.gap + away + support);
        let area = Area::around(centre, width, height);
        let out = away;
        away += OUT;
        let inside = ground.holds(area);
        let mut bad = if inside { 0.0 } else { OUTSIDE };
        let hard = ground.hard(area);
        if hard > 0 {
            bad += COVERS + f64::from(hard);
        }
        if bad <= 0.0 && wrong(request, area) {
            bad += WRONG;
        }
        if bad > 0.0 {
            let cost = bad + out;
            if last.is_none_or(|last| cost < last.cost) {
                let line = leader(request, wish, area);
                *last = Some(Place { area, line, cost });
            }
            continue;
        }
        if nearest.is_some_and(|nearest| out < nearest + SECOND) {
            continue;
        }
        let line = leader(request, wish, area);
        let mut cost = out * AWAY + turn.abs() * ASKEW + f64::from(ground.soft(area)) * SOFT;
        if let Some((from, to)) = line {
            let (hard, dear) = ground.under(from, to);
            cost += f64::from(hard) * LINE_HIDES + f64::from(dear) * LINE_HIDES_DEAR;
        }
        found.push(Place { area, line, cost });
        if nearest.is_some() {
            return;
        }
        nearest = Some(out);
    }
}

/// The line from a label that stands there to what it names, if it needs one.
fn leader(request: &Request, wish: &Wish, area: Area) -> Option<(Spot, Spot)> {
    let near = area.nearest(wish.anchor);
    let distance = near.distance(wish.anchor);
    (distance > request.lead && distance > request.reach).then(|| {
        let end = wish.anchor.towards(near, request.reach / distance);
        (near, end)
    })
}

/// Does a label that stands there seem to name something else?
fn wrong(request: &Request, area: Area) -> bool {
    if request.rivals.is_empty() {
        return false;
    }
    let own = Capsule::nearest(&request.own, area);
    let nearest = own + NEARER;
    request
        .rivals
        .iter()
        .any(|rival| rival.at_least(area) < nearest && rival.distance(area) < nearest)
}

fn cross((a, b): (Spot, Spot), (c, d): (Spot, Spot)) -> bool {
    let side = |p: Spot, q: Spot, r: Spot| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::super::ground::HARD;
    use super::*;

    fn around(anchor: Spot, size: (f64, f64)) -> Request {
        Request {
            wishes: vec![Wish {
                anchor,
                toward: (0.0, -1.0),
                gap: 2.5,
            }],
            reach: 0.0,
            lead: 4.0,
            size,
            turn: 180.0,
            far: 60.0,
            own: vec![Capsule::disc(anchor, 2.0)],
            rivals: Vec::new(),
            optional: false,
        }
    }

    const SHEET: Area = Area {
        left: 0.0,
        top: 0.0,
        right: 100.0,
        bottom: 100.0,
    };

    #[test]
    fn labels_of_one_place_do_not_cover_each_other() {
        let mut ground = Ground::new(SHEET);
        let anchor = Spot { x: 50.0, y: 50.0 };
        ground.put(Capsule::disc(anchor, 2.0), HARD);
        ground.settle();
        let placed = place(&ground, &vec![around(anchor, (20.0, 5.0)); 8]);
        assert_eq!(placed.faults, 0);
        let places: Vec<Area> = placed.places.iter().flatten().map(|p| p.area).collect();
        assert_eq!(places.len(), 8);
        for (place, area) in places.iter().enumerate() {
            assert!(SHEET.holds(*area));
            for other in &places[..place] {
                assert!(!area.overlaps(*other), "{area:?} {other:?}");
            }
        }
    }

    #[test]
    fn a_label_stands_nearest_to_its_own_part_and_a_place_that_cannot_be_is_a_fault() {
        let spots = [Spot { x: 40.0, y: 50.0 }, Spot { x: 60.0, y: 50.0 }];
        let mut ground = Ground::new(SHEET);
        for spot in spots {
            ground.put(Capsule::disc(spot, 2.0), HARD);
        }
        ground.settle();
        let parts = spots.map(|spot| Capsule::disc(spot, 2.0));
        let mut wanted = [0, 1].map(|place| {
            let mut request = around(spots[place], (30.0, 4.0));
            // Towards the other one, where it must not stand.
            request.wishes[0].toward = (if place == 0 { 1.0 } else { -1.0 }, 0.0);
            request.rivals = vec![parts[1 - place]];
            request
        });
        let placed = place(&ground, &wanted);
        assert_eq!(placed.faults, 0);
        for (own, label) in placed.places.iter().flatten().enumerate() {
            assert!(parts[own].distance(label.area) < parts[1 - own].distance(label.area));
        }
        // As wide as the sheet it fits nowhere.
        wanted[0].size = (120.0, 4.0);
        assert_eq!(place(&ground, &wanted).faults, 1);
    }
}
