//! The run of a chain over its wheels: exact common tangents, wraps, links.

use std::fmt;

use super::plane::{Point, Travel, Vec2};
use super::wheel::{Round, Wheel};

/// Centres and radii beyond this many mm are refused: no engine is a kilometre wide, and squares of what is let in cannot
/// overflow or lose the millimetre.
const MAX_MM: f64 = 1e6;

/// Most wheels on one chain.
const MAX_WHEELS: usize = 256;

/// A sprocket could be wrapped by nearly a full turn only if the strands beside it crossed, so a wrap that comes out of the
/// modulo above this is a negative one: the chain passes on the wrong side of the sprocket.
const SPROCKET_CUT: f64 = 300.0;

/// A shoe bends a chain gently, so for a shoe the cut between "much" and "negative" lies at half a turn.
const SHOE_CUT: f64 = 180.0;

/// Wraps below this many degrees are none: far below any tolerance of a part, far above rounding.
const NO_WRAP: f64 = 1e-9;

/// Why wheels carry no chain. The numbers are places in the list of wheels that was given.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum PathError {
    /// The pitch is not a positive number of at most a kilometre.
    Pitch,
    /// A centre or radius is not a number, not positive, or too large; or a sprocket has fewer than 3 teeth.
    Wheel {
        /// The wheel.
        wheel: usize,
    },
    /// Fewer than two wheels that the chain touches, or more than 256 wheels.
    Wheels {
        /// Wheels found.
        found: usize,
    },
    /// The pitch circles of two sprockets overlap.
    Overlap {
        /// The one.
        first: usize,
        /// The other.
        second: usize,
        /// By how many mm.
        by: f64,
    },
    /// No common tangent: one circle lies in the other, or circles on different sides of the chain overlap.
    NoTangent {
        /// The wheel that the strand would leave.
        from: usize,
        /// The wheel that it would reach.
        to: usize,
    },
    /// The chain does not touch a sprocket, or passes it on the wrong side.
    NotWrapped {
        /// The sprocket.
        wheel: usize,
        /// The wrap in degrees: zero or negative.
        wrap: f64,
    },
}

impl fmt::Display for PathError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pitch => write!(
                f,
                "the pitch is not a positive length of at most {MAX_MM} mm"
            ),
            Self::Wheel { wheel } => write!(
                f,
                "wheel {wheel} has no usable size or place (finite, at most {MAX_MM} mm, 3 teeth or more)"
            ),
            Self::Wheels { found } => {
                write!(
                    f,
                    "the chain touches {found} wheels, expected 2..={MAX_WHEELS}"
                )
            }
            Self::Overlap { first, second, by } => {
                write!(
                    f,
                    "the sprockets {first} and {second} overlap by {by:.3} mm"
                )
            }
            Self::NoTangent { from, to } => write!(
                f,
                "no straight strand leads from wheel {from} to wheel {to} (their circles lie in each other)"
            ),
            Self::NotWrapped { wheel, wrap } => write!(
                f,
                "the chain passes sprocket {wheel} without touching it (wrap {wrap:.3} degrees)"
            ),
        }
    }
}

impl std::error::Error for PathError {}

/// Where the chain lies on one wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Where a link first touches.
    pub entry: Point,
    /// Where a link leaves.
    pub exit: Point,
    /// Clock angle of the entry about the wheel's centre, degrees in (-180, 180].
    pub entry_clock: f64,
    /// Clock angle of the exit about the wheel's centre, degrees in (-180, 180].
    pub exit_clock: f64,
    /// The way in which the wheel turns.
    pub turns: Travel,
    /// Wrapped angle in degrees, positive.
    pub wrap: f64,
    /// Links on the wheel: teeth in mesh on a sprocket, arc length over pitch on a shoe.
    pub links: f64,
    /// Links along the path from the path's beginning to the entry.
    pub start: f64,
}

/// A straight run of chain between two wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strand {
    /// The wheel that it leaves.
    pub from: usize,
    /// The wheel that it reaches.
    pub to: usize,
    /// Where it leaves.
    pub begin: Point,
    /// Where it arrives.
    pub end: Point,
    /// Direction of travel, a unit vector.
    pub direction: Vec2,
    /// Length in mm.
    pub length: f64,
    /// Length in links.
    pub links: f64,
    /// Links along the path from the path's beginning to `begin`.
    pub start: f64,
}

/// A place on the path and the way in which the chain moves there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Where.
    pub point: Point,
    /// Direction of travel, a unit vector.
    pub direction: Vec2,
    /// The wheel on which the place lies, or `None` on a strand.
    pub wheel: Option<usize>,
}

/// A count of links between two clock angles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Links, in the direction of travel.
    pub links: f64,
    /// True when the first angle lies off the chain and was carried round its sprocket.
    pub from_extrapolated: bool,
    /// True when the second angle lies off the chain and was carried round its sprocket.
    pub to_extrapolated: bool,
}

/// The run of a chain over wheels, in the order of travel.
///
/// The path begins where the chain enters the first wheel that it touches. A shoe that the taut chain does not touch is left
/// out: the strand runs past it, and [`Path::contact`] gives `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    wheels: Vec<Wheel>,
    contacts: Vec<Option<Contact>>,
    strands: Vec<Strand>,
    pitch: f64,
    travel: Travel,
    links: f64,
    length: f64,
}

impl Path {
    /// Lays a chain of `pitch` mm over `wheels`, which are in the order in which a travelling link meets them.
    ///
    /// The tangent between circles of signed radii a and b (positive where the wheel turns clockwise) whose centres lie D apart
    /// has the length sqrt(|D|^2 - (a - b)^2); its direction is D turned counter-clockwise by
    /// the angle whose sine is (b - a) / |D|.
    ///
    /// # Errors
    ///
    /// A [`PathError`] when a number is unusable, sprockets overlap, a tangent does not exist or a sprocket is not touched.
    pub fn new(wheels: &[Wheel], pitch: f64, travel: Travel) -> Result<Self, PathError> {
        let mut taut = Taut::new(wheels, pitch, travel);
        taut.lay(wheels)?;
        Ok(Self::assemble(
            wheels,
            pitch,
            travel,
            &taut.touched,
            taut.strands,
            &taut.wraps,
        ))
    }

    /// Puts tangents and wraps together and runs the count of links along them.
    fn assemble(
        wheels: &[Wheel],
        pitch: f64,
        travel: Travel,
        touched: &[usize],
        mut strands: Vec<Strand>,
        wraps: &[f64],
    ) -> Self {
        let mut contacts = vec![None; wheels.len()];
        let mut links = 0.0;
        let mut length = 0.0;
        let mut entry = strands.last().map(|strand| (strand.end, strand.direction));
        for ((&index, &wrap), strand) in touched.iter().zip(wraps).zip(&mut strands) {
            let wheel = &wheels[index];
            let turns = wheel.turns(travel);
            let (entered, came) = entry.unwrap_or((strand.begin, strand.direction));
            let on_wheel = wrap * wheel.links_per_degree(pitch);
            contacts[index] = Some(Contact {
                entry: entered,
                exit: strand.begin,
                entry_clock: (came.left() * turns.sign()).to_clock(),
                exit_clock: (strand.direction.left() * turns.sign()).to_clock(),
                turns,
                wrap,
                links: on_wheel,
                start: links,
            });
            links += on_wheel;
            length += wrap.to_radians() * wheel.radius(pitch);
            strand.start = links;
            strand.links = strand.length / pitch;
            links += strand.links;
            length += strand.length;
            entry = Some((strand.end, strand.direction));
        }
        Self {
            wheels: wheels.to_vec(),
            contacts,
            strands,
            pitch,
            travel,
            links,
            length,
        }
    }

    /// The wheels as given.
    #[must_use]
    pub fn wheels(&self) -> &[Wheel] {
        &self.wheels
    }

    /// The strands in the order of travel; the first leaves the first wheel that is touched.
    #[must_use]
    pub fn strands(&self) -> &[Strand] {
        &self.strands
    }

    /// Where the chain lies on a wheel; `None` when it does not touch it or there is no such wheel.
    #[must_use]
    pub fn contact(&self, wheel: usize) -> Option<&Contact> {
        self.contacts.get(wheel)?.as_ref()
    }

    /// Pitch of the chain in mm.
    #[must_use]
    pub fn pitch(&self) -> f64 {
        self.pitch
    }

    /// The way in which the chain goes round the loop.
    #[must_use]
    pub fn travel(&self) -> Travel {
        self.travel
    }

    /// Links in the loop: teeth on sprockets, lengths over pitch elsewhere.
    #[must_use]
    pub fn links(&self) -> f64 {
        self.links
    }

    /// Length in mm of tangents and circular arcs. Only to compare with tools that measure so; a chain is counted by
    /// [`Path::links`], since a link is a chord and not an arc.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Links along the path from its beginning to a clock angle (degrees) of a wheel, and whether that angle lies on the chain.
    ///
    /// An angle off the chain is carried round the wheel from the nearer end of its wrapped arc; then the number may be
    /// negative. The angle just opposite the middle of the arc is reached through the entry and the exit alike; the
    /// exit is taken. `None` when the wheel is not touched, there is none, or the angle is no number.
    #[must_use]
    pub fn position(&self, wheel: usize, clock: f64) -> Option<(f64, bool)> {
        let contact = self.contact(wheel)?;
        if !clock.is_finite() {
            return None;
        }
        let half = contact.wrap / 2.0;
        // Degrees past the middle of the arc, in (-180, 180].
        let mut past = 180.0
            - (180.0 - ((clock - contact.entry_clock) * contact.turns.sign() - half))
                .rem_euclid(360.0);
        // Dots that face each other lie exactly opposite the middle; rounding must not choose the way for them.
        if past < NO_WRAP - 180.0 {
            past += 360.0;
        }
        let links =
            contact.start + (past + half) * self.wheels.get(wheel)?.links_per_degree(self.pitch);
        Some((links, past.abs() <= half + NO_WRAP))
    }

    /// Links from a clock angle of one wheel to a clock angle of another, in the direction of travel, within one run round the loop.
    ///
    /// Angles that lie off the chain are carried round their sprockets; the result says so. `None` as for [`Path::position`].
    #[must_use]
    pub fn links_between(
        &self,
        from: usize,
        from_clock: f64,
        to: usize,
        to_clock: f64,
    ) -> Option<Count> {
        let (begin, on_begin) = self.position(from, from_clock)?;
        let (end, on_end) = self.position(to, to_clock)?;
        Some(Count {
            links: (end - begin).rem_euclid(self.links),
            from_extrapolated: !on_begin,
            to_extrapolated: !on_end,
        })
    }

    /// The place `links` links along the path from its beginning; any number, the loop is closed. `None` when it is no number.
    #[must_use]
    pub fn place(&self, links: f64) -> Option<Place> {
        if !links.is_finite() {
            return None;
        }
        let along = links.rem_euclid(self.links);
        let strand = self
            .strands
            .iter()
            .find(|strand| along <= strand.start + strand.links)
            .or(self.strands.last())?;
        if along >= strand.start {
            let mm = (along - strand.start) * self.pitch;
            return Some(Place {
                point: strand.begin + strand.direction * mm,
                direction: strand.direction,
                wheel: None,
            });
        }
        let contact = self.contact(strand.from)?;
        let wheel = self.wheels.get(strand.from)?;
        let sign = contact.turns.sign();
        let clock = contact.entry_clock
            + sign * (along - contact.start) / wheel.links_per_degree(self.pitch);
        let out = Vec2::from_clock(clock);
        Some(Place {
            point: wheel.centre + out * wheel.radius(self.pitch),
            // On a wheel that turns clockwise the chain moves to the right of the outward direction.
            direction: out.left() * -sign,
            wheel: Some(strand.from),
        })
    }

    /// The place `links` links (any sign) in the direction of travel from a clock angle of a wheel. `None` as for
    /// [`Path::position`] and [`Path::place`].
    #[must_use]
    pub fn place_from(&self, wheel: usize, clock: f64, links: f64) -> Option<Place> {
        self.place(self.position(wheel, clock)?.0 + links)
    }
}

/// Room for a chain that is laid again and again, with a wheel moved in between.
pub(super) struct Taut {
    pitch: f64,
    travel: Travel,
    radii: Vec<f64>,
    /// The radii, positive where the wheel turns clockwise.
    signed: Vec<f64>,
    touched: Vec<usize>,
    strands: Vec<Strand>,
    wraps: Vec<f64>,
}

impl Taut {
    /// For wheels of these sizes, wherever they are.
    pub(super) fn new(wheels: &[Wheel], pitch: f64, travel: Travel) -> Self {
        let radii: Vec<f64> = wheels.iter().map(|wheel| wheel.radius(pitch)).collect();
        Self {
            pitch,
            travel,
            signed: wheels
                .iter()
                .zip(&radii)
                .map(|(wheel, radius)| wheel.turns(travel).sign() * radius)
                .collect(),
            radii,
            touched: Vec::with_capacity(wheels.len()),
            strands: Vec::with_capacity(wheels.len()),
            wraps: Vec::with_capacity(wheels.len()),
        }
    }

    /// Links in the loop over `wheels`, as [`Path::links`] of the path laid over them; `None` where there is none.
    pub(super) fn links(&mut self, wheels: &[Wheel]) -> Option<f64> {
        self.lay(wheels).ok()?;
        let mut links = 0.0;
        for ((&index, wrap), strand) in self.touched.iter().zip(&self.wraps).zip(&self.strands) {
            links += wrap * wheels[index].links_per_degree(self.pitch);
            links += strand.length / self.pitch;
        }
        Some(links)
    }

    /// Finds the wheels that are touched, the tangents between them, and the wraps.
    fn lay(&mut self, wheels: &[Wheel]) -> Result<(), PathError> {
        check(wheels, self.pitch)?;
        if let Some(wheel) = self
            .radii
            .iter()
            .position(|radius| !(0.0..=MAX_MM).contains(radius))
        {
            return Err(PathError::Wheel { wheel });
        }
        overlaps(wheels, &self.radii)?;

        // A shoe that is not touched drops out, the one farthest from the chain first: without it, another may be touched.
        self.touched.clear();
        self.touched.extend(0..wheels.len());
        self.strands.clear();
        self.wraps.clear();
        let count = wheels.len();
        if count < 2 {
            return Err(PathError::Wheels { found: count });
        }
        for place in 0..count {
            self.strands.push(self.tangent(wheels, place)?);
        }
        for place in 0..count {
            self.wraps.push(self.wrap(wheels, place));
        }
        loop {
            let slackest = self
                .touched
                .iter()
                .zip(&self.wraps)
                .enumerate()
                .filter(|(_, (wheel, wrap))| **wrap < NO_WRAP && wheels[**wheel].teeth().is_none())
                .min_by(|(_, (_, one)), (_, (_, other))| one.total_cmp(other))
                .map(|(place, _)| place);
            if let Some(place) = slackest {
                self.leave_out(wheels, place)?;
                continue;
            }
            return match self
                .touched
                .iter()
                .zip(&self.wraps)
                .find(|(_, wrap)| **wrap < NO_WRAP)
            {
                Some((wheel, wrap)) => Err(PathError::NotWrapped {
                    wheel: *wheel,
                    wrap: *wrap,
                }),
                None => Ok(()),
            };
        }
    }

    /// Lets the strand run past a wheel: nothing changes but this strand, and the wraps at its ends.
    fn leave_out(&mut self, wheels: &[Wheel], place: usize) -> Result<(), PathError> {
        self.touched.remove(place);
        self.strands.remove(place);
        self.wraps.remove(place);
        let count = self.touched.len();
        if count < 2 {
            return Err(PathError::Wheels { found: count });
        }
        let (before, after) = ((place + count - 1) % count, place % count);
        self.strands[before] = self.tangent(wheels, before)?;
        self.wraps[before] = self.wrap(wheels, before);
        self.wraps[after] = self.wrap(wheels, after);
        Ok(())
    }

    /// The tangent from the touched wheel at that place to the next; counts of links are filled in later.
    fn tangent(&self, wheels: &[Wheel], place: usize) -> Result<Strand, PathError> {
        let from = self.touched[place];
        let to = self.touched[(place + 1) % self.touched.len()];
        let apart = wheels[to].centre - wheels[from].centre;
        let square = apart.dot(apart);
        let offset = self.signed[from] - self.signed[to];
        let rest = square - offset * offset;
        if !(square > 0.0 && rest >= 0.0) {
            return Err(PathError::NoTangent { from, to });
        }
        let length = rest.sqrt();
        // apart = length * u + offset * left(u), solved for the unit vector u.
        let direction = (apart * length - apart.left() * offset) * (1.0 / square);
        let aside = direction.left();
        Ok(Strand {
            from,
            to,
            begin: wheels[from].centre + aside * self.signed[from],
            end: wheels[to].centre + aside * self.signed[to],
            direction,
            length,
            links: 0.0,
            start: 0.0,
        })
    }

    /// The wrap of the touched wheel at that place in degrees; zero or negative when the chain does not touch it.
    fn wrap(&self, wheels: &[Wheel], place: usize) -> f64 {
        let count = self.strands.len();
        let (came, goes) = (
            self.strands[(place + count - 1) % count].direction,
            self.strands[place].direction,
        );
        let wheel = &wheels[self.touched[place]];
        // Clockwise turn of the direction, hence the swapped order in the cross product.
        let clockwise = libm::atan2(goes.cross(came), goes.dot(came));
        let wrap = (clockwise.to_degrees() * wheel.turns(self.travel).sign()).rem_euclid(360.0);
        let cut = if wheel.teeth().is_some() {
            SPROCKET_CUT
        } else {
            SHOE_CUT
        };
        if wrap > cut { wrap - 360.0 } else { wrap }
    }
}

/// Refuses numbers that the formulas cannot take.
fn check(wheels: &[Wheel], pitch: f64) -> Result<(), PathError> {
    if !(pitch > 0.0 && pitch <= MAX_MM) {
        return Err(PathError::Pitch);
    }
    if wheels.len() > MAX_WHEELS {
        return Err(PathError::Wheels {
            found: wheels.len(),
        });
    }
    for (index, wheel) in wheels.iter().enumerate() {
        let usable = match wheel.round {
            Round::Sprocket { teeth } | Round::Pulley { teeth } => teeth >= 3,
            Round::Shoe { radius } => radius > 0.0,
        };
        // Written so that not-a-number fails.
        let placed = wheel.centre.x.abs() <= MAX_MM && wheel.centre.y.abs() <= MAX_MM;
        if !(usable && placed) {
            return Err(PathError::Wheel { wheel: index });
        }
    }
    Ok(())
}

/// Refuses sprockets that overlap. Shoes are exempt: only the touched part of a shoe's circle is there in the metal.
fn overlaps(wheels: &[Wheel], radii: &[f64]) -> Result<(), PathError> {
    for (second, (wheel, radius)) in wheels.iter().zip(radii).enumerate() {
        for (first, (before, other)) in wheels.iter().zip(radii).take(second).enumerate() {
            if wheel.teeth().is_some() && before.teeth().is_some() {
                let by = radius + other - wheel.centre.distance(before.centre);
                if by > 0.0 {
                    return Err(PathError::Overlap { first, second, by });
                }
            }
        }
    }
    Ok(())
}
