//! Rigid pins: straight links between pins that sit on teeth, so that a camshaft's angle over the crankshaft's includes polygon
//! action.
//!
//! # The model
//!
//! A chain is numbered pins, one pitch apart, joined by straight rigid links; link k lies between the pins k - 1/2 and k + 1/2,
//! so a dot on link k points to a tooth and a dot between two links points to a pin. A seated pin sits on the pitch circle
//! between two teeth and turns with its sprocket. On the tight side, from the last seated pin A of a driven sprocket to the first
//! seated pin B of the next sprocket towards the driver, the chain is straight (round shoes: tangent, arc, tangent; a shoe is
//! smooth) and holds a whole number of links: its length is that number of pitches. A and B are where the straight chain is tangent
//! to the two polygons of pins: no other pin of either lies across it. When the next pin seats or the last one leaves, the link beside it lies
//! in line with the strand, so the two ways to count agree there and the motion has no jump.
//!
//! From the driver's angle that equation gives the driven sprocket's, and so on back against the travel, sprocket by sprocket, over
//! all tight stretches. No clearance, no elasticity, no mass; the slack side does not matter.

use std::fmt;

use super::path::Path;
use super::plane::{Point, Vec2};
use super::tension::Tension;
use super::wheel::Wheel;

/// Newton steps before giving up. The function is nearly straight, four or five suffice.
const NEWTON: usize = 60;

/// Seats by which a tangent pin may move in one search: more than any sprocket of the design has teeth.
const SEATS: usize = 500;

/// Steps of one turn: the most that is allowed.
const MAX_STEPS: usize = 1_000_000;

/// Residual length, in pitches, at which a strand fits.
const FITS: f64 = 1e-12;

/// The timing mark of a sprocket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dot {
    /// Clock angle in degrees in the timed position.
    pub clock: f64,
    /// Link on the dot; 44.5 is between the links 44 and 45.
    pub link: f64,
}

/// Why the pins cannot be followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum PinError {
    /// The driver is no sprocket that the chain touches, or has no dot.
    Driver,
    /// There is not one dot a wheel, or a dot lies on a shoe, or has no finite number.
    Dots,
    /// The chain has no links, or more than a million.
    Links,
    /// No steps, or more than a million.
    Steps,
    /// No angle of this sprocket lets the strand that leaves it hold whole links.
    NoSeat {
        /// The sprocket.
        wheel: usize,
    },
}

impl fmt::Display for PinError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Driver => write!(f, "the driver is no sprocket on this chain with a dot"),
            Self::Dots => write!(
                f,
                "the dots do not fit the wheels (one for each sprocket at most, none for shoes)"
            ),
            Self::Links => write!(
                f,
                "the number of links is not in the required range of 1..=1000000"
            ),
            Self::Steps => write!(
                f,
                "the number of steps is not in the required range of 1..={MAX_STEPS}"
            ),
            Self::NoSeat { wheel } => {
                write!(
                    f,
                    "no angle of sprocket {wheel} lets its tight strand hold whole links"
                )
            }
        }
    }
}

impl std::error::Error for PinError {}

/// One sprocket that the chain seats on, in the timed position of the smooth path.
#[derive(Debug, Clone)]
struct Seats {
    wheel: usize,
    centre: Point,
    /// Radius in mm on which the pins sit.
    radius: f64,
    /// +1 when it turns clockwise.
    sign: f64,
    /// Degrees from pin to pin.
    tooth: f64,
    teeth: f64,
    /// Clock angle at which pin number `link` sits.
    clock: f64,
    link: f64,
    /// Pin number (not whole) at the smooth entry and exit.
    entry: f64,
    exit: f64,
}

impl Seats {
    /// Where pin `pin` sits when the sprocket has turned `turned` degrees its own way.
    fn pin(&self, pin: f64, turned: f64) -> Point {
        self.centre
            + Vec2::from_clock(self.clock + self.sign * (turned + (pin - self.link) * self.tooth))
                * self.radius
    }

    /// Turns one's own way of `turned` degrees carry this many pins past a fixed place.
    fn passed(&self, turned: f64) -> f64 {
        turned / self.tooth
    }
}

/// A smooth round between two sprockets.
#[derive(Debug, Clone, Copy)]
struct Smooth {
    centre: Point,
    /// Radius in mm, positive when the chain turns clockwise over it.
    signed: f64,
}

/// A driven sprocket and its tight way to the next sprocket towards the driver.
#[derive(Debug, Clone)]
struct Pulled {
    seats: Seats,
    shoes: Vec<Smooth>,
    /// Degrees by which the smooth path has the sprocket ahead of its dot: where the search begins.
    ahead: f64,
}

/// A chain of rigid links on seated pins, ready to be turned.
#[derive(Debug, Clone)]
pub struct SeatedPins {
    pitch: f64,
    driver: Seats,
    /// From the driver back against the travel.
    pulled: Vec<Pulled>,
}

/// The angle of a driven sprocket at one angle of the driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// Degrees by which the driver has turned its own way since the timed position.
    pub driver: f64,
    /// Degrees by which the driven sprocket has turned its own way since its dot was at the dot's clock angle. Near but
    /// not exactly 0 when the driver's are 0, unless dots and links agree exactly.
    pub driven: f64,
}

/// Polygon action of one driven sprocket over one turn of the driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// The wheel.
    pub wheel: usize,
    /// Mean lead (positive: ahead) over the dot's place, in degrees of the driver.
    pub mean: f64,
    /// Least lead in degrees of the driver.
    pub least: f64,
    /// Greatest lead in degrees of the driver.
    pub most: f64,
    /// Lead in degrees of the driver in the timed position.
    pub timed: f64,
    /// Degrees by which the sprocket turned its own way while the driver turned once.
    pub turn: f64,
}

impl Ripple {
    /// From the least to the greatest lead, in degrees of the driver.
    #[must_use]
    pub fn span(&self) -> f64 {
        self.most - self.least
    }
}

impl SeatedPins {
    /// Seats a chain of `links` links on the sprockets of `path`.
    ///
    /// `driver` is the driving wheel, `tensioners` the wheels that are tensioner shoes, and `dots` the dots in the order of the
    /// wheels, `None` for shoes and for sprockets without one (an oil pump: it takes whatever teeth the chain brings). Links that
    /// differ by whole rounds of the chain are the same. A worn chain is a path of the [`super::elongated`] pitch.
    ///
    /// Followed are the sprockets on tight stretches, from the driver back against the travel to the first stretch that is slack.
    ///
    /// # Errors
    ///
    /// [`PinError`] when driver, dots or links do not suit the path.
    pub fn new(
        path: &Path,
        driver: usize,
        tensioners: &[usize],
        dots: &[Option<Dot>],
        links: u32,
    ) -> Result<Self, PinError> {
        if !(1..=1_000_000).contains(&links) {
            return Err(PinError::Links);
        }
        let wheels = path.wheels();
        let fits = |(wheel, dot): (&Wheel, &Option<Dot>)| {
            dot.is_none_or(|dot| {
                wheel.teeth().is_some() && dot.clock.is_finite() && dot.link.is_finite()
            })
        };
        if dots.len() != wheels.len() || !wheels.iter().zip(dots).all(fits) {
            return Err(PinError::Dots);
        }
        let tensions = path
            .tensions(driver, tensioners)
            .map_err(|_| PinError::Driver)?;
        let drive_dot = dots
            .get(driver)
            .copied()
            .flatten()
            .ok_or(PinError::Driver)?;
        let drive = seats(path, driver, drive_dot).ok_or(PinError::Driver)?;
        let drive_start = path.contact(driver).ok_or(PinError::Driver)?.start;
        let (drive_at, _) = path
            .position(driver, drive_dot.clock)
            .ok_or(PinError::Driver)?;

        let mut pulled = Vec::new();
        let mut shoes = Vec::new();
        let strands = path.strands();
        let arrives = strands
            .iter()
            .position(|strand| strand.to == driver)
            .ok_or(PinError::Driver)?;
        let count = strands.len();
        let mut round = 0.0;
        for back in 0..count {
            let number = (arrives + count - back) % count;
            let (strand, tension) = (&strands[number], tensions[number]);
            if tension == Tension::Slack || strand.from == driver {
                break;
            }
            let wheel = &wheels[strand.from];
            let Some(contact) = path.contact(strand.from) else {
                break;
            };
            if wheel.teeth().is_none() {
                shoes.insert(
                    0,
                    Smooth {
                        centre: wheel.centre,
                        signed: contact.turns.sign() * wheel.radius(path.pitch()),
                    },
                );
                continue;
            }
            // The path counts from its beginning, which may lie between this sprocket and the driver.
            if strand.start > drive_start {
                round = path.links();
            }
            let middle = contact.entry_clock + contact.turns.sign() * contact.wrap / 2.0;
            let clock = dots[strand.from].map_or(middle, |dot| dot.clock);
            let (at, _) = path.position(strand.from, clock).ok_or(PinError::Dots)?;
            let expected = drive_dot.link - (drive_at + round - at);
            // The round of the chain that brings the marked link next to where the path has it.
            let link = dots[strand.from].map_or(expected, |dot| {
                dot.link + ((expected - dot.link) / f64::from(links)).round() * f64::from(links)
            });
            let seats = seats(path, strand.from, Dot { clock, link }).ok_or(PinError::Dots)?;
            let ahead = (link - expected) * seats.tooth;
            pulled.push(Pulled {
                seats,
                shoes: std::mem::take(&mut shoes),
                ahead,
            });
        }
        Ok(Self {
            pitch: path.pitch(),
            driver: drive,
            pulled,
        })
    }

    /// The wheels that are followed, from the driver back against the travel.
    pub fn wheels(&self) -> impl Iterator<Item = usize> + '_ {
        self.pulled.iter().map(|pulled| pulled.seats.wheel)
    }

    /// Turns the driver once in `steps` equal steps. For each followed wheel, in the order of [`SeatedPins::wheels`]: its angle
    /// at every step, from the timed position to a whole turn on, both included.
    ///
    /// # Errors
    ///
    /// [`PinError::Steps`], or [`PinError::NoSeat`] when pins cannot sit.
    pub fn turn(&self, steps: usize) -> Result<Vec<Vec<Turned>>, PinError> {
        if !(1..=MAX_STEPS).contains(&steps) {
            return Err(PinError::Steps);
        }
        let mut turns = vec![Vec::with_capacity(steps + 1); self.pulled.len()];
        let mut before: Vec<f64> = self.pulled.iter().map(|pulled| pulled.ahead).collect();
        let mut was = 0.0;
        for step in 0..=steps {
            #[allow(clippy::cast_precision_loss, reason = "steps are at most a million")]
            let driver = 360.0 * step as f64 / steps as f64;
            let mut next = (&self.driver, driver);
            for ((pulled, guess), turn) in self.pulled.iter().zip(&mut before).zip(&mut turns) {
                let start = *guess + (driver - was) * self.driver.teeth / pulled.seats.teeth;
                let angle = self.seat(pulled, next.0, next.1, start)?;
                turn.push(Turned {
                    driver,
                    driven: angle,
                });
                *guess = angle;
                next = (&pulled.seats, angle);
            }
            was = driver;
        }
        Ok(turns)
    }

    /// The polygon action of each followed wheel over one turn of the driver, seen at `steps` places.
    ///
    /// # Errors
    ///
    /// As for [`SeatedPins::turn`].
    pub fn ripples(&self, steps: usize) -> Result<Vec<Ripple>, PinError> {
        let turns = self.turn(steps)?;
        let ripple = |(turn, pulled): (&Vec<Turned>, &Pulled)| {
            let lead = |at: &Turned| at.driven * pulled.seats.teeth / self.driver.teeth - at.driver;
            let first = turn.first().copied().unwrap_or(Turned {
                driver: 0.0,
                driven: 0.0,
            });
            let last = turn.last().copied().unwrap_or(first);
            // The last step is the first one again, one turn on: it must not count twice in the mean.
            let leads = || turn.iter().take(steps).map(lead);
            #[allow(clippy::cast_precision_loss, reason = "steps are at most a million")]
            let mean = leads().sum::<f64>() / steps as f64;
            Ripple {
                wheel: pulled.seats.wheel,
                mean,
                least: leads().fold(f64::INFINITY, f64::min),
                most: leads().fold(f64::NEG_INFINITY, f64::max),
                timed: lead(&first),
                turn: last.driven - first.driven,
            }
        };
        Ok(turns.iter().zip(&self.pulled).map(ripple).collect())
    }

    /// The angle (degrees turned its own way) of a pulled sprocket at which its strand to `next` holds whole links.
    ///
    /// Newton on the excess of the strand over its pitches. Turning the sprocket on by d moves A along its circle, so the strand
    /// shortens by R d (t . u), t the direction in which A moves and u that in which the strand leaves.
    fn seat(
        &self,
        pulled: &Pulled,
        next: &Seats,
        next_turned: f64,
        guess: f64,
    ) -> Result<f64, PinError> {
        let seats = &pulled.seats;
        let mut turned = guess;
        let mut last = half(seats.exit - seats.passed(turned));
        let mut first = half(next.entry - next.passed(next_turned));
        for _ in 0..NEWTON {
            let strand = Tangent::find(pulled, turned, &mut last, next, next_turned, &mut first)
                .ok_or(PinError::NoSeat { wheel: seats.wheel })?;
            let excess = strand.length - (first - last) * self.pitch;
            if excess.abs() <= FITS * self.pitch * (first - last).abs().max(1.0) {
                return Ok(turned);
            }
            let out = strand.begin - seats.centre;
            let rate = out.left().dot(strand.leaves) * -seats.sign * std::f64::consts::PI / 180.0;
            if rate.is_nan() || rate <= 0.0 {
                return Err(PinError::NoSeat { wheel: seats.wheel });
            }
            turned += excess / rate;
            if !turned.is_finite() {
                break;
            }
        }
        Err(PinError::NoSeat { wheel: seats.wheel })
    }
}

/// The nearest pin: pins lie halfway between whole links.
fn half(pin: f64) -> f64 {
    (pin - 0.5).round() + 0.5
}

/// The seats of a wheel on a path.
fn seats(path: &Path, wheel: usize, dot: Dot) -> Option<Seats> {
    let contact = path.contact(wheel)?;
    let round = path.wheels().get(wheel)?;
    let teeth = f64::from(round.teeth()?);
    let (at, _) = path.position(wheel, dot.clock)?;
    // Later pins (towards the exit) have the higher numbers.
    let entry = dot.link - (at - contact.start);
    Some(Seats {
        wheel,
        centre: round.centre,
        radius: round.radius(path.pitch()),
        sign: contact.turns.sign(),
        tooth: 360.0 / teeth,
        teeth,
        clock: dot.clock,
        link: dot.link,
        entry,
        exit: entry + contact.links,
    })
}

/// The taut chain between two polygons of pins.
struct Tangent {
    /// Where the last seated pin sits.
    begin: Point,
    /// Unit vector in which the chain leaves it.
    leaves: Vec2,
    /// Length in mm to the first seated pin of the next sprocket.
    length: f64,
}

impl Tangent {
    /// Finds the pins between which the chain is straight, from the pins in `last` and `first`, which it moves.
    fn find(
        pulled: &Pulled,
        turned: f64,
        last: &mut f64,
        next: &Seats,
        next_turned: f64,
        first: &mut f64,
    ) -> Option<Self> {
        let seats = &pulled.seats;
        for _ in 0..SEATS {
            let begin = seats.pin(*last, turned);
            let end = next.pin(*first, next_turned);
            let (length, leaves, arrives) = taut(begin, &pulled.shoes, end)?;
            let step = lean(seats, turned, *last, begin, leaves);
            let other = lean(next, next_turned, *first, end, arrives);
            if step == 0.0 && other == 0.0 {
                return Some(Self {
                    begin,
                    leaves,
                    length,
                });
            }
            *last += step;
            *first += other;
        }
        None
    }
}

/// +1 or -1 towards the neighbouring pin that lies across the straight chain, 0 when none does.
///
/// All pins must lie on the side of the centre: to the right of the travel on a sprocket that turns clockwise.
fn lean(seats: &Seats, turned: f64, pin: f64, at: Point, way: Vec2) -> f64 {
    let across =
        |other: f64| way.cross(seats.pin(other, turned) - at) * seats.sign > 1e-12 * seats.radius;
    // The pin ahead lies across when the chain still follows the sprocket there, the pin behind when it left before.
    if across(pin + 1.0) {
        1.0
    } else if across(pin - 1.0) {
        -1.0
    } else {
        0.0
    }
}

/// Length of the taut chain from a pin round smooth shoes to a pin, and its directions at both ends.
fn taut(begin: Point, shoes: &[Smooth], end: Point) -> Option<(f64, Vec2, Vec2)> {
    let point = |centre| Smooth {
        centre,
        signed: 0.0,
    };
    let stops = std::iter::once(point(begin))
        .chain(shoes.iter().copied())
        .chain(std::iter::once(point(end)));
    let ahead = shoes.iter().copied().chain(std::iter::once(point(end)));
    let mut length = 0.0;
    let mut ends: Option<(Vec2, Vec2)> = None;
    for (from, to) in stops.zip(ahead) {
        let apart = to.centre - from.centre;
        let square = apart.dot(apart);
        let offset = from.signed - to.signed;
        let rest = square - offset * offset;
        if !(square > 0.0 && rest >= 0.0) {
            return None;
        }
        let straight = rest.sqrt();
        let way = (apart * straight - apart.left() * offset) * (1.0 / square);
        if let Some((_, came)) = ends {
            // The turn over the shoe; it is small and may be slightly negative while a pin swings outwards: counted with its sign.
            let clockwise = libm::atan2(way.cross(came), way.dot(came));
            length += clockwise * from.signed;
        }
        length += straight;
        ends = Some((ends.map_or(way, |(first, _)| first), way));
    }
    ends.map(|(leaves, arrives)| (length, leaves, arrives))
}
