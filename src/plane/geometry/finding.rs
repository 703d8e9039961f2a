//! What is wrong with a path that can be laid all the same.

use super::path::{Contact, Path, Strand};
use super::plane::{Point, Vec2};
use super::wheel::Side;

/// Fewest teeth in mesh that pass without a finding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// For a sprocket inside the loop, in teeth.
    pub inside_teeth: f64,
    /// For a sprocket that the outside of the chain drives, in teeth.
    pub outside_teeth: f64,
}

impl Default for Limits {
    /// Six teeth inside, three outside: a rule of thumb for timing drives, not a standard.
    fn default() -> Self {
        Self {
            inside_teeth: 6.0,
            outside_teeth: 3.0,
        }
    }
}

/// A piece of the path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// A strand, by its place in [`Path::strands`].
    Strand(usize),
    /// The chain on a wheel.
    Wheel(usize),
}

/// A finding about a path. Wheels are numbered as given, strands as in [`Path::strands`].
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum PathFinding {
    /// The chain crosses itself.
    Crossing {
        /// The piece that a link meets first.
        first: Part,
        /// The other piece.
        second: Part,
        /// Where they cross.
        at: Point,
    },
    /// A strand runs through a sprocket that it neither leaves nor reaches.
    ThroughSprocket {
        /// The strand.
        strand: usize,
        /// The sprocket.
        wheel: usize,
        /// By how many mm it cuts into the pitch circle.
        by: f64,
    },
    /// Too few teeth in mesh.
    FewTeeth {
        /// The sprocket.
        wheel: usize,
        /// Teeth in mesh.
        teeth: f64,
        /// Fewest that pass.
        least: f64,
    },
    /// The taut chain does not touch a shoe.
    Untouched {
        /// The shoe.
        wheel: usize,
        /// Distance in mm from the shoe to the chain.
        gap: f64,
    },
    /// The chain does not go round once: wheels are in the wrong order or on the wrong side.
    Winds {
        /// Turns in the direction of travel; 1 would be right.
        turns: f64,
    },
}

impl Path {
    /// What is wrong with this path: crossings, too few teeth in mesh, shoes that are not touched, a loop that does
    /// not go round once. Empty when nothing is.
    #[must_use]
    pub fn findings(&self, limits: &Limits) -> Vec<PathFinding> {
        let mut findings = Vec::new();
        let mut turned = 0.0;
        for (wheel, round) in self.wheels().iter().enumerate() {
            let Some(contact) = self.contact(wheel) else {
                findings.push(PathFinding::Untouched {
                    wheel,
                    gap: self.gap(wheel),
                });
                continue;
            };
            let (way, least) = match round.side {
                Side::Inside => (1.0, limits.inside_teeth),
                Side::Outside => (-1.0, limits.outside_teeth),
            };
            turned += way * contact.wrap;
            if round.teeth().is_some() && contact.links < least {
                findings.push(PathFinding::FewTeeth {
                    wheel,
                    teeth: contact.links,
                    least,
                });
            }
        }
        // The wraps of a closed path sum to whole turns, so anything but rounding is a turn too many or too few.
        let turns = turned / 360.0;
        if (turns - 1.0).abs() > 1e-6 {
            findings.push(PathFinding::Winds { turns });
        }
        self.through_sprockets(&mut findings);
        self.crossings(&mut findings);
        findings
    }

    /// Distance in mm from the circle of an untouched wheel to the strand that is nearest to it.
    fn gap(&self, wheel: usize) -> f64 {
        let Some(round) = self.wheels().get(wheel) else {
            return f64::NAN;
        };
        let nearest = self
            .strands()
            .iter()
            .map(|strand| to_strand(round.centre, strand))
            .fold(f64::INFINITY, f64::min);
        // A shoe inside the loop has the chain outside itself and is past it by a radius; one that is fully across is not near.
        (nearest - round.radius(self.pitch())).abs()
    }

    /// Strands through sprockets that are not theirs.
    fn through_sprockets(&self, findings: &mut Vec<PathFinding>) {
        for (number, strand) in self.strands().iter().enumerate() {
            for (wheel, round) in self.wheels().iter().enumerate() {
                if round.teeth().is_none() || wheel == strand.from || wheel == strand.to {
                    continue;
                }
                let by = round.radius(self.pitch()) - to_strand(round.centre, strand);
                if by > 0.0 {
                    findings.push(PathFinding::ThroughSprocket {
                        strand: number,
                        wheel,
                        by,
                    });
                }
            }
        }
    }

    /// Crossings of every two pieces that do not follow each other.
    fn crossings(&self, findings: &mut Vec<PathFinding>) {
        let mut pieces = Vec::with_capacity(self.strands().len() * 2);
        for (number, strand) in self.strands().iter().enumerate() {
            if let (Some(contact), Some(wheel)) =
                (self.contact(strand.from), self.wheels().get(strand.from))
            {
                let arc = Arc {
                    centre: wheel.centre,
                    radius: wheel.radius(self.pitch()),
                    contact,
                };
                pieces.push((Part::Wheel(strand.from), Piece::Arc(arc)));
            }
            pieces.push((Part::Strand(number), Piece::Strand(strand)));
        }
        let count = pieces.len();
        for (second, (part, piece)) in pieces.iter().enumerate() {
            for (first, (before, other)) in pieces.iter().enumerate().take(second) {
                let neighbours = second - first == 1 || second - first == count - 1;
                // Two pieces that follow each other share an end, and an arc and its tangents meet nowhere else.
                if neighbours {
                    continue;
                }
                if let Some(at) = other.meets(piece) {
                    findings.push(PathFinding::Crossing {
                        first: *before,
                        second: *part,
                        at,
                    });
                }
            }
        }
    }
}

/// Distance in mm from a point to a strand.
fn to_strand(point: Point, strand: &Strand) -> f64 {
    let along = (point - strand.begin)
        .dot(strand.direction)
        .clamp(0.0, strand.length);
    point.distance(strand.begin + strand.direction * along)
}

/// The chain on a wheel as a circular arc.
struct Arc<'a> {
    centre: Point,
    radius: f64,
    contact: &'a Contact,
}

impl Arc<'_> {
    /// Whether a point of the whole circle lies on the arc.
    fn holds(&self, point: Point) -> bool {
        let clock = (point - self.centre).to_clock();
        ((clock - self.contact.entry_clock) * self.contact.turns.sign()).rem_euclid(360.0)
            <= self.contact.wrap
    }
}

/// A piece of the path with its place.
enum Piece<'a> {
    Strand(&'a Strand),
    Arc(Arc<'a>),
}

impl Piece<'_> {
    /// Where two pieces meet, if they do.
    fn meets(&self, other: &Self) -> Option<Point> {
        match (self, other) {
            (Piece::Strand(one), Piece::Strand(two)) => strands_meet(one, two),
            (Piece::Strand(strand), Piece::Arc(arc)) | (Piece::Arc(arc), Piece::Strand(strand)) => {
                strand_meets_arc(strand, arc)
            }
            (Piece::Arc(one), Piece::Arc(two)) => arcs_meet(one, two),
        }
    }
}

fn strands_meet(one: &Strand, two: &Strand) -> Option<Point> {
    let slope = one.direction.cross(two.direction);
    // Parallel strands may lie on each other only when wheels coincide, which is refused before.
    if slope.abs() < 1e-12 {
        return None;
    }
    let between = two.begin - one.begin;
    let along_one = between.cross(two.direction) / slope;
    let along_two = between.cross(one.direction) / slope;
    let inside = (0.0..=one.length).contains(&along_one) && (0.0..=two.length).contains(&along_two);
    inside.then(|| one.begin + one.direction * along_one)
}

fn strand_meets_arc(strand: &Strand, arc: &Arc<'_>) -> Option<Point> {
    let to_centre = arc.centre - strand.begin;
    let foot = to_centre.dot(strand.direction);
    let off = to_centre.cross(strand.direction);
    let rest = arc.radius * arc.radius - off * off;
    if rest < 0.0 {
        return None;
    }
    let half = rest.sqrt();
    [foot - half, foot + half]
        .into_iter()
        .filter(|along| (0.0..=strand.length).contains(along))
        .map(|along| strand.begin + strand.direction * along)
        .find(|point| arc.holds(*point))
}

fn arcs_meet(one: &Arc<'_>, two: &Arc<'_>) -> Option<Point> {
    let apart: Vec2 = two.centre - one.centre;
    let distance = apart.length();
    if distance < 1e-12 {
        return None;
    }
    let foot = (distance * distance + one.radius * one.radius - two.radius * two.radius)
        / (2.0 * distance);
    let rest = one.radius * one.radius - foot * foot;
    if rest < 0.0 {
        return None;
    }
    let unit = apart * (1.0 / distance);
    let half = rest.sqrt();
    [half, -half]
        .into_iter()
        .map(|aside| one.centre + unit * foot + unit.left() * aside)
        .find(|point| one.holds(*point) && two.holds(*point))
}
