//! The small changes to a spec by which people get a chain wrong, undone: what they forget, swap, mistype, and
//! measure in another unit or from another side.
#![allow(
    clippy::float_arithmetic,
    reason = "units and angles of the plane, rounded to what a person would write"
)]

use crate::spec::finding::{
    ChainProblem, Change, Finding, FitProblem, Mend, PartName, PathProblem, Problem,
};
use crate::spec::format::key;
use crate::spec::raw::{ChainSpec, EntrySpec, Rotation, ShoeSpec, Spec, SprocketSpec};
use crate::spec::source::{At, Span};
use crate::spec::values::Point;
use crate::units::decimal::{decimal, exact};
use crate::units::quantity::{ClockAngle, Exact, LinkCount, ToothCount};

/// A change, and how small it is: 0 for a word left out, up to 9 for another value altogether.
pub(super) struct Variation {
    pub(super) size: u8,
    pub(super) mend: Mend,
    /// Does it change all chains, so that all must agree?
    pub(super) whole_spec: bool,
    pub(super) make: Box<dyn Fn(&mut Spec)>,
}

/// The changes worth a trial for one chain of which `found` was found, in the order of their kinds.
pub(super) fn variations(spec: &Spec, chain: usize, found: &[Finding]) -> Vec<Variation> {
    let Some(of) = spec.chains.get(chain) else {
        return Vec::new();
    };
    let mut all = Variations {
        spec,
        chain,
        of,
        all: Vec::new(),
    };
    all.outside();
    all.order();
    all.turns();
    all.units();
    all.views();
    all.links();
    all.pitch();
    all.dots();
    all.marks();
    all.tensioner();
    all.shoes();
    all.places();
    all.teeth();
    all.told(found);
    all.all
}

struct Variations<'a> {
    spec: &'a Spec,
    chain: usize,
    of: &'a ChainSpec,
    all: Vec<Variation>,
}

fn part_name(entry: &EntrySpec) -> PartName {
    match entry {
        EntrySpec::Sprocket(sprocket) => PartName::Sprocket(
            sprocket
                .shaft
                .as_ref()
                .map_or_else(String::new, |shaft| shaft.value.clone()),
        ),
        EntrySpec::Shoe(shoe) if shoe.tensioner.is_some() => PartName::Tensioner,
        EntrySpec::Shoe(_) | EntrySpec::Unreadable => PartName::Guide,
    }
}

fn whole(entry: &EntrySpec) -> Span {
    match entry {
        EntrySpec::Sprocket(sprocket) => sprocket.span,
        EntrySpec::Shoe(shoe) => shoe.span,
        EntrySpec::Unreadable => Span::default(),
    }
}

fn sprocket_of(spec: &mut Spec, (chain, part): (usize, usize)) -> Option<&mut SprocketSpec> {
    match spec.chains.get_mut(chain)?.path.get_mut(part)? {
        EntrySpec::Sprocket(sprocket) => Some(sprocket),
        _ => None,
    }
}

fn shoe_of(spec: &mut Spec, (chain, part): (usize, usize)) -> Option<&mut ShoeSpec> {
    match spec.chains.get_mut(chain)?.path.get_mut(part)? {
        EntrySpec::Shoe(shoe) => Some(shoe),
        _ => None,
    }
}

/// The factor, exactly.
fn fraction(numerator: i64, denominator: i64) -> Exact {
    Exact::fraction(numerator, denominator).unwrap_or(Exact::ONE)
}

fn times(value: Exact, factor: Exact) -> Exact {
    value.checked_mul(factor).unwrap_or(value)
}

/// A number as it would be written, to a tenth at most where it came of a measurement.
fn written(value: f64) -> Option<Exact> {
    Exact::parse(&decimal(value, 1)).ok()
}

fn pair(point: Point) -> String {
    format!("[{}, {}]", exact(point[0]), exact(point[1]))
}

/// The numbers that a slip of the pen makes of one: its sign, two digits swapped, one digit off by one, the
/// point a place off; each with how small a change it is and what may have happened.
fn slips(value: Exact) -> Vec<(u8, Exact, &'static str)> {
    let mut out = vec![(2, value.negated(), "a sign")];
    let text = exact(value);
    let digits: Vec<char> = text.chars().collect();
    let mut add = |size, digits: &[char], why| {
        if let Ok(other) = Exact::parse(&digits.iter().collect::<String>())
            && other != value
        {
            out.push((size, other, why));
        }
    };
    for i in 1..digits.len() {
        if digits[i - 1].is_ascii_digit()
            && digits[i].is_ascii_digit()
            && digits[i - 1] != digits[i]
        {
            let mut swapped = digits.clone();
            swapped.swap(i - 1, i);
            add(2, &swapped, "two digits swapped");
        }
    }
    for i in 0..digits.len() {
        let Some(digit) = digits[i].to_digit(10) else {
            continue;
        };
        for other in [digit.checked_sub(1), Some(digit + 1).filter(|d| *d < 10)] {
            if let Some(other) = other.and_then(|d| char::from_digit(d, 10)) {
                let mut changed = digits.clone();
                changed[i] = other;
                add(3, &changed, "one digit");
            }
        }
    }
    for factor in [
        fraction(10, 1),
        fraction(1, 10),
        fraction(100, 1),
        fraction(1, 100),
    ] {
        out.push((2, times(value, factor), "the decimal point"));
    }
    out.retain(|(_, other, _)| *other != value);
    out
}

/// A whole number with a slip of the pen, and its neighbours.
fn slips_of_count(count: i64) -> Vec<(u8, i64, &'static str)> {
    let mut out: Vec<(u8, i64, &'static str)> = slips(Exact::whole(count))
        .into_iter()
        .filter(|(_, other, _)| other.is_whole() && other.signum() > 0)
        .filter_map(|(size, other, why)| Some((size, i64::try_from(other.numerator()).ok()?, why)))
        .collect();
    for by in [1, -1, 2, -2] {
        if !out.iter().any(|(_, known, _)| *known == count + by) {
            out.push((3, count + by, "recount"));
        }
    }
    out
}

impl Variations<'_> {
    fn add(&mut self, size: u8, span: Span, change: Change, make: impl Fn(&mut Spec) + 'static) {
        self.all.push(Variation {
            size,
            mend: Mend { span, change },
            whole_spec: false,
            make: Box::new(make),
        });
    }

    fn add_for_all(
        &mut self,
        size: u8,
        span: Span,
        (what, why): (&'static str, &'static str),
        make: impl Fn(&mut Spec) + 'static,
    ) {
        self.all.push(Variation {
            size,
            mend: Mend {
                span,
                change: Change::All { what, why },
            },
            whole_spec: true,
            make: Box::new(make),
        });
    }

    fn parts(&self) -> Vec<(usize, &EntrySpec)> {
        self.of.path.iter().enumerate().collect()
    }

    /// A word that is left out, or put where it does not belong.
    fn outside(&mut self) {
        let chain = self.chain;
        let parts: Vec<_> = self
            .parts()
            .into_iter()
            .filter_map(|(part, entry)| {
                let outside = match entry {
                    EntrySpec::Sprocket(sprocket) => sprocket.outside,
                    EntrySpec::Shoe(shoe) => shoe.outside,
                    EntrySpec::Unreadable => return None,
                };
                Some((part, whole(entry), part_name(entry), !outside))
            })
            .collect();
        for (at, span, part, outside) in parts {
            self.add(1, span, Change::Outside { part, outside }, move |spec| {
                if let Some(sprocket) = sprocket_of(spec, (chain, at)) {
                    sprocket.outside = outside;
                } else if let Some(shoe) = shoe_of(spec, (chain, at)) {
                    shoe.outside = outside;
                }
            });
        }
    }

    /// The path the other way round, and one part at another place of it.
    fn order(&mut self) {
        let chain = self.chain;
        let change = Change::Reversed {
            chain: self.of.name.value.clone(),
        };
        self.add(2, self.of.path_span, change, move |spec| {
            if let Some(chain) = spec.chains.get_mut(chain) {
                chain.path.reverse();
            }
        });
        let count = self.of.path.len();
        let parts: Vec<(Span, PartName)> = self
            .of
            .path
            .iter()
            .map(|entry| (whole(entry), part_name(entry)))
            .collect();
        for (from, (span, part)) in parts.iter().enumerate() {
            for step in 1..count.saturating_sub(1) {
                // Taken out, and put in again behind the part so many further on.
                let after = (from + step) % count;
                let near = step == 1 || step + 2 == count;
                let change = Change::Moved {
                    part: part.clone(),
                    after: parts[after].1.clone(),
                };
                self.add(if near { 2 } else { 3 }, *span, change, move |spec| {
                    let Some(chain) = spec.chains.get_mut(chain) else {
                        return;
                    };
                    let entry = chain.path.remove(from);
                    let behind = if after > from { after } else { after + 1 };
                    chain.path.insert(behind.min(chain.path.len()), entry);
                });
            }
        }
    }

    fn turns(&mut self) {
        let Some(turns) = &self.spec.crank_turns else {
            return;
        };
        let other = match turns.value {
            Rotation::Clockwise => Rotation::CounterClockwise,
            Rotation::CounterClockwise => Rotation::Clockwise,
        };
        self.all.push(Variation {
            size: 2,
            mend: Mend {
                span: turns.span,
                change: Change::Value {
                    key: key::CRANK_TURNS,
                    of: None,
                    value: other.word().to_owned(),
                    why: "is the engine seen facing the timing end",
                },
            },
            whole_spec: true,
            make: Box::new(move |spec| {
                if let Some(turns) = &mut spec.crank_turns {
                    turns.value = other;
                }
            }),
        });
    }

    /// Places and lengths in another unit.
    fn units(&mut self) {
        let span = self.first_place();
        let inches = fraction(127, 5);
        for (factor, all, at, shoes) in [
            (
                inches,
                (
                    "multiply every place and length but 'pitch' by 25.4",
                    "in inches",
                ),
                ("multiply every 'at' by 25.4", "in inches"),
                (
                    "multiply every centre, radius and stroke of the shoes by 25.4",
                    "in inches",
                ),
            ),
            (
                fraction(10, 1),
                (
                    "multiply every place and length but 'pitch' by 10",
                    "in centimetres",
                ),
                ("multiply every 'at' by 10", "in centimetres"),
                (
                    "multiply every centre, radius and stroke of the shoes by 10",
                    "in centimetres",
                ),
            ),
            (
                fraction(1000, 1),
                (
                    "multiply every place and length but 'pitch' by 1000",
                    "in metres",
                ),
                ("multiply every 'at' by 1000", "in metres"),
                (
                    "multiply every centre, radius and stroke of the shoes by 1000",
                    "in metres",
                ),
            ),
            (
                fraction(5, 127),
                (
                    "divide every place and length but 'pitch' by 25.4",
                    "millimetres taken for inches",
                ),
                ("divide every 'at' by 25.4", "millimetres taken for inches"),
                (
                    "divide every centre, radius and stroke of the shoes by 25.4",
                    "millimetres taken for inches",
                ),
            ),
        ] {
            self.add_for_all(3, span, all, move |spec| {
                scale_shafts(spec, [factor, factor]);
                scale_shoes(spec, factor);
            });
            self.add_for_all(3, span, at, move |spec| {
                scale_shafts(spec, [factor, factor])
            });
            self.add_for_all(3, self.of.path_span, shoes, move |spec| {
                scale_shoes(spec, factor)
            });
        }
        self.add_for_all(
            3,
            self.of.path_span,
            ("halve the radius of every shoe", "diameters"),
            |spec| {
                for_shoes(spec, |shoe| {
                    if let Some(radius) = &mut shoe.radius {
                        radius.value = times(radius.value, fraction(1, 2));
                    }
                });
            },
        );
    }

    fn first_place(&self) -> Span {
        let first = self
            .spec
            .shafts
            .iter()
            .find_map(|shaft| Some(shaft.at.as_ref()?.span));
        first.unwrap_or(self.spec.shafts_span)
    }

    /// The plane seen from another side: y downwards, x from the other end, angles from another line.
    fn views(&mut self) {
        let span = self.first_place();
        let (plus, minus) = (Exact::ONE, Exact::ONE.negated());
        let flip = move |spec: &mut Spec, by: [Exact; 2]| {
            scale_shafts(spec, by);
            for_shoes(spec, |shoe| {
                if let Some(centre) = &mut shoe.centre {
                    centre.value = [times(centre.value[0], by[0]), times(centre.value[1], by[1])];
                }
            });
        };
        self.add_for_all(
            3,
            span,
            ("change the sign of y in every place", "y runs up, not down"),
            move |spec| flip(spec, [plus, minus]),
        );
        self.add_for_all(
            3,
            span,
            (
                "change the sign of x in every place",
                "x runs to the right, facing the timing end",
            ),
            move |spec| flip(spec, [minus, plus]),
        );
        self.add_for_all(
            4,
            span,
            (
                "change the sign of x in every place and take every angle from 360",
                "all of it seen from the other end",
            ),
            move |spec| {
                flip(spec, [minus, plus]);
                for_angles(spec, |angle| Exact::whole(360).checked_sub(angle).ok());
            },
        );
        self.add_for_all(
            4,
            span,
            (
                "change the sign of y in every place and take every angle from 180",
                "all of it drawn upside down",
            ),
            move |spec| {
                flip(spec, [plus, minus]);
                for_angles(spec, |angle| Exact::whole(180).checked_sub(angle).ok());
            },
        );
        self.add_for_all(
            3,
            span,
            ("swap x and y in every place", "x first"),
            |spec| {
                for shaft in &mut spec.shafts {
                    if let Some(at) = &mut shaft.at {
                        at.value.swap(0, 1);
                    }
                }
                for_shoes(spec, |shoe| {
                    if let Some(centre) = &mut shoe.centre {
                        centre.value.swap(0, 1);
                    }
                });
            },
        );
        type Turn = fn(Exact) -> Option<Exact>;
        let angles: [(&'static str, &'static str, Turn); 4] = [
            (
                "take every angle from 360",
                "counter-clockwise from twelve o'clock",
                |angle| Exact::whole(360).checked_sub(angle).ok(),
            ),
            (
                "take every angle from 90",
                "counter-clockwise from three o'clock",
                |angle| Exact::whole(90).checked_sub(angle).ok(),
            ),
            (
                "add 90 to every angle",
                "clockwise from three o'clock",
                |angle| angle.checked_add(Exact::whole(90)).ok(),
            ),
            ("write every angle in degrees", "in radians", degrees),
        ];
        for (what, why, turn) in angles {
            self.add_for_all(3, self.of.path_span, (what, why), move |spec| {
                for_angles(spec, turn);
            });
        }
    }

    fn links(&mut self) {
        let Some(links) = self.of.links else { return };
        let now = i64::from(links.value.get());
        let mut counts = slips_of_count(now);
        counts.extend(
            (2..=15).flat_map(|by| [(4, now + 2 * by, "recount"), (4, now - 2 * by, "recount")]),
        );
        for (size, count, why) in counts {
            self.links_of(size, count, why);
        }
    }

    fn links_of(&mut self, size: u8, count: i64, why: &'static str) {
        let (Some(links), chain) = (self.of.links, self.chain) else {
            return;
        };
        // A chain of an odd number of links needs a cranked one; none is offered.
        let belt = self.of.is_belt();
        let Some(count) = u16::try_from(count)
            .ok()
            .filter(|count| belt || count % 2 == 0)
        else {
            return;
        };
        let Some(count) = LinkCount::new(count) else {
            return;
        };
        let change = Change::Value {
            key: key::LINKS,
            of: None,
            value: count.get().to_string(),
            why,
        };
        self.add(size, links.span, change, move |spec| {
            if let Some(chain) = spec.chains.get_mut(chain) {
                chain.links = Some(At {
                    value: count,
                    span: links.span,
                });
            }
        });
    }

    fn pitch(&mut self) {
        let (Some(pitch), chain) = (&self.of.pitch, self.chain) else {
            return;
        };
        let (value, span) = (pitch.value, pitch.span);
        let mut values = vec![
            (1, times(value, fraction(127, 5)), "in inches"),
            (2, times(value, fraction(10, 1)), "in centimetres"),
            (3, times(value, fraction(1, 2)), "over two of them"),
        ];
        values.extend(slips(value));
        values.extend(super::survey::PITCHES.iter().filter_map(|thousandths| {
            Some((
                4,
                Exact::fraction(*thousandths, 1000)?,
                "a pitch of ISO 606",
            ))
        }));
        for (size, value, why) in values {
            if value.signum() <= 0 {
                continue;
            }
            let change = Change::Value {
                key: key::PITCH,
                of: None,
                value: exact(value),
                why,
            };
            self.add(size, span, change, move |spec| {
                if let Some(chain) = spec.chains.get_mut(chain) {
                    chain.pitch = Some(At { value, span });
                }
            });
        }
    }

    /// The sprockets of the chain: their parts, and what they are called.
    fn sprockets(&self) -> Vec<(usize, SprocketSpec, PartName)> {
        self.parts()
            .into_iter()
            .filter_map(|(part, entry)| match entry {
                EntrySpec::Sprocket(sprocket) => Some((part, sprocket.clone(), part_name(entry))),
                _ => None,
            })
            .collect()
    }

    fn dots(&mut self) {
        for (part, sprocket, _) in self.sprockets() {
            let Some(dot) = sprocket.dot else { continue };
            let now = dot.value.get();
            for (size, angle, why) in angles_instead(now) {
                self.dot(size, part, angle, why);
            }
        }
    }

    fn dot(&mut self, size: u8, part: usize, angle: Exact, why: &'static str) {
        let at = (self.chain, part);
        let Some((_, sprocket, of)) = self.sprockets().into_iter().find(|(one, ..)| *one == part)
        else {
            return;
        };
        let (Some(dot), Ok(angle)) = (sprocket.dot, angle.modulo(Exact::whole(360))) else {
            return;
        };
        let change = Change::Value {
            key: key::DOT,
            of: Some(of),
            value: exact(angle),
            why,
        };
        self.add(size, dot.span, change, move |spec| {
            if let Some(sprocket) = sprocket_of(spec, at) {
                sprocket.dot = Some(At {
                    value: ClockAngle::new(angle),
                    span: dot.span,
                });
            }
        });
    }

    fn marks(&mut self) {
        let Some(count) = self.of.links.map(|links| i64::from(links.value.get())) else {
            return;
        };
        let chain = self.chain;
        self.add(
            3,
            self.of.path_span,
            Change::All {
                what: "write its numbers the other way round",
                why: "in the direction of travel",
            },
            move |spec| {
                let Some(chain) = spec.chains.get_mut(chain) else {
                    return;
                };
                for entry in &mut chain.path {
                    let EntrySpec::Sprocket(sprocket) = entry else {
                        continue;
                    };
                    let back = |link: i64| (count - link).rem_euclid(count);
                    if let Some(link) = &mut sprocket.link {
                        link.value = back(link.value);
                    }
                    if let Some(pair) = &mut sprocket.links {
                        pair.value = [back(pair.value[1]), back(pair.value[0])];
                    }
                }
            },
        );
        for (part, sprocket, _) in self.sprockets() {
            if let Some(link) = sprocket.link {
                for (size, other, why) in slips_of_count(link.value) {
                    self.link(size, part, fraction(other, 1), why);
                }
                for by in [1, -1] {
                    self.link(2, part, fraction(2 * link.value + by, 2), "between two");
                }
            }
            if let Some(pair) = sprocket.links {
                for by in [1, -1, 2, -2] {
                    self.link(
                        3,
                        part,
                        fraction(2 * (pair.value[0] + by) + 1, 2),
                        "recount",
                    );
                }
                for link in pair.value {
                    self.link(2, part, Exact::whole(link), "on one");
                }
            }
        }
    }

    /// A whole or half link for a sprocket's mark.
    fn link(&mut self, size: u8, part: usize, link: Exact, why: &'static str) {
        let at = (self.chain, part);
        let (Some(links), Some((_, sprocket, of))) = (
            self.of.links,
            self.sprockets().into_iter().find(|(one, ..)| *one == part),
        ) else {
            return;
        };
        let count = links.value.to_exact();
        let (Ok(link), Some(span)) = (
            link.modulo(count),
            sprocket
                .link
                .map(|link| link.span)
                .or(sprocket.links.map(|links| links.span)),
        ) else {
            return;
        };
        let Ok(first) = i64::try_from(link.floor()) else {
            return;
        };
        let next = (first + 1) % i64::from(links.value.get());
        let (key, value) = if link.is_whole() {
            (key::LINK, first.to_string())
        } else {
            (key::LINKS, format!("[{first}, {next}]"))
        };
        let change = Change::Value {
            key,
            of: Some(of),
            value,
            why,
        };
        self.add(size, span, change, move |spec| {
            let Some(sprocket) = sprocket_of(spec, at) else {
                return;
            };
            (sprocket.link, sprocket.links) = if link.is_whole() {
                (Some(At { value: first, span }), None)
            } else {
                (
                    None,
                    Some(At {
                        value: [first, next],
                        span,
                    }),
                )
            };
        });
    }

    /// The shoes of the chain.
    fn shoe_parts(&self) -> Vec<(usize, ShoeSpec, PartName)> {
        self.parts()
            .into_iter()
            .filter_map(|(part, entry)| match entry {
                EntrySpec::Shoe(shoe) => Some((part, shoe.clone(), part_name(entry))),
                _ => None,
            })
            .collect()
    }

    fn tensioner(&mut self) {
        for (part, shoe, _) in self.shoe_parts() {
            let Some(tensioner) = shoe.tensioner else {
                continue;
            };
            if let Some(pushes) = tensioner.pushes {
                for (size, angle, why) in angles_instead(pushes.value.get()) {
                    self.pushes(size, part, angle, why);
                }
            }
            if let Some(stroke) = tensioner.stroke {
                let mut values = slips(stroke.value);
                values.push((2, times(stroke.value, fraction(127, 5)), "in inches"));
                for (size, value, why) in values {
                    self.stroke(size, part, value, why);
                }
            }
        }
    }

    fn pushes(&mut self, size: u8, part: usize, angle: Exact, why: &'static str) {
        let at = (self.chain, part);
        let Some((_, shoe, of)) = self.shoe_parts().into_iter().find(|(one, ..)| *one == part)
        else {
            return;
        };
        let (Some(pushes), Ok(angle)) = (
            shoe.tensioner.and_then(|tensioner| tensioner.pushes),
            angle.modulo(Exact::whole(360)),
        ) else {
            return;
        };
        let change = Change::Value {
            key: key::PUSHES,
            of: Some(of),
            value: exact(angle),
            why,
        };
        self.add(size, pushes.span, change, move |spec| {
            if let Some(tensioner) = shoe_of(spec, at).and_then(|shoe| shoe.tensioner.as_mut()) {
                tensioner.pushes = Some(At {
                    value: ClockAngle::new(angle),
                    span: pushes.span,
                });
            }
        });
    }

    fn stroke(&mut self, size: u8, part: usize, value: Exact, why: &'static str) {
        let at = (self.chain, part);
        let Some((_, shoe, of)) = self.shoe_parts().into_iter().find(|(one, ..)| *one == part)
        else {
            return;
        };
        let Some(stroke) = shoe.tensioner.and_then(|tensioner| tensioner.stroke) else {
            return;
        };
        if value.signum() <= 0 {
            return;
        }
        let span = stroke.span;
        let change = Change::Value {
            key: key::STROKE,
            of: Some(of),
            value: exact(value),
            why,
        };
        self.add(size, span, change, move |spec| {
            if let Some(tensioner) = shoe_of(spec, at).and_then(|shoe| shoe.tensioner.as_mut()) {
                tensioner.stroke = Some(At { value, span });
            }
        });
    }

    fn shoes(&mut self) {
        for (part, shoe, of) in self.shoe_parts() {
            let at = (self.chain, part);
            let key = if shoe.tensioner.is_some() {
                key::TENSIONER
            } else {
                key::GUIDE
            };
            if let Some(centre) = shoe.centre {
                for (size, point, why) in points_instead(centre.value) {
                    self.centre(size, part, point, why);
                }
            }
            if let Some(radius) = shoe.radius {
                let mut values = slips(radius.value);
                values.push((1, times(radius.value, fraction(1, 2)), "the diameter"));
                values.push((3, times(radius.value, fraction(2, 1)), "half the radius"));
                values.push((2, times(radius.value, fraction(127, 5)), "in inches"));
                let span = radius.span;
                for (size, value, why) in values {
                    if value.signum() <= 0 {
                        continue;
                    }
                    let change = Change::Value {
                        key: key::RADIUS,
                        of: Some(of.clone()),
                        value: exact(value),
                        why,
                    };
                    self.add(size, span, change, move |spec| {
                        if let Some(shoe) = shoe_of(spec, at) {
                            shoe.radius = Some(At { value, span });
                        }
                    });
                }
            }
            let _ = key;
        }
    }

    fn centre(&mut self, size: u8, part: usize, point: Point, why: &'static str) {
        let at = (self.chain, part);
        let Some((_, shoe, of)) = self.shoe_parts().into_iter().find(|(one, ..)| *one == part)
        else {
            return;
        };
        let Some(centre) = shoe.centre else { return };
        let span = centre.span;
        let change = Change::Value {
            key: if shoe.tensioner.is_some() {
                key::TENSIONER
            } else {
                key::GUIDE
            },
            of: Some(of),
            value: pair(point),
            why,
        };
        self.add(size, span, change, move |spec| {
            if let Some(shoe) = shoe_of(spec, at) {
                shoe.centre = Some(At { value: point, span });
            }
        });
    }

    /// The shafts of the chain at other places.
    fn places(&mut self) {
        for (_, sprocket, of) in self.sprockets() {
            let Some(shaft) = sprocket.shaft.and_then(|name| {
                self.spec
                    .shafts
                    .iter()
                    .position(|shaft| shaft.name.value == name.value)
            }) else {
                continue;
            };
            let Some(at) = self.spec.shafts[shaft].at.as_ref().map(|at| At {
                value: at.value,
                span: at.span,
            }) else {
                continue;
            };
            for (size, point, why) in points_instead(at.value) {
                self.place(size, (shaft, at.span), of.clone(), point, why);
            }
        }
    }

    fn place(
        &mut self,
        size: u8,
        (shaft, span): (usize, Span),
        of: PartName,
        point: Point,
        why: &'static str,
    ) {
        let change = Change::Value {
            key: key::AT,
            of: Some(of),
            value: pair(point),
            why,
        };
        self.add(size, span, change, move |spec| {
            if let Some(shaft) = spec.shafts.get_mut(shaft) {
                shaft.at = Some(At { value: point, span });
            }
        });
    }

    fn teeth(&mut self) {
        for (part, sprocket, of) in self.sprockets() {
            let at = (self.chain, part);
            let Some(teeth) = sprocket.teeth else {
                continue;
            };
            for (size, count, why) in slips_of_count(i64::from(teeth.value.get())) {
                let Some(count) = u16::try_from(count).ok().and_then(ToothCount::new) else {
                    continue;
                };
                let change = Change::Value {
                    key: key::TEETH,
                    of: Some(of.clone()),
                    value: count.get().to_string(),
                    why,
                };
                self.add(size, teeth.span, change, move |spec| {
                    if let Some(sprocket) = sprocket_of(spec, at) {
                        sprocket.teeth = Some(At {
                            value: count,
                            span: teeth.span,
                        });
                    }
                });
            }
        }
    }

    /// What the findings themselves would make agree.
    fn told(&mut self, found: &[Finding]) {
        for finding in found {
            match &finding.problem {
                Problem::Fit(problem) => self.told_of_fit(problem),
                Problem::Path(PathProblem::FewTeethInMesh { .. }) => {}
                Problem::Path(PathProblem::ShoeNotTouched { gap, .. }) => {
                    self.larger_radius(finding.span, *gap);
                }
                Problem::Chain(ChainProblem::TensionerOnTightStrand { .. }) => {}
                _ => {}
            }
        }
    }

    fn larger_radius(&mut self, span: Option<Span>, gap: f64) {
        let parts = self.shoe_parts();
        for (part, shoe, of) in parts {
            let at = (self.chain, part);
            let Some(radius) = shoe.radius.filter(|_| Some(shoe.span) == span) else {
                continue;
            };
            let Some(value) = written((radius.value.to_f64() + gap + 0.6).ceil()) else {
                continue;
            };
            let span = radius.span;
            let change = Change::Value {
                key: key::RADIUS,
                of: Some(of),
                value: exact(value),
                why: "",
            };
            self.add(5, span, change, move |spec| {
                if let Some(shoe) = shoe_of(spec, at) {
                    shoe.radius = Some(At { value, span });
                }
            });
        }
    }

    fn told_of_fit(&mut self, problem: &FitProblem) {
        match problem {
            FitProblem::ChainDoesNotFit {
                fits: Some(fits), ..
            }
            | FitProblem::TensionerCannotFit {
                fits: Some(fits), ..
            } => {
                self.links_of(5, i64::from(*fits), "recount");
            }
            FitProblem::TensionerOutOfStroke {
                would_do,
                centre,
                fits,
                ..
            } => {
                if let Some(fits) = fits {
                    self.links_of(5, i64::from(*fits), "recount");
                }
                for (part, shoe, _) in self.shoe_parts() {
                    if shoe.tensioner.is_none() {
                        continue;
                    }
                    if let Some(stroke) = written(*would_do) {
                        self.stroke(5, part, stroke, "measure it");
                    }
                    if let Some(centre) = centre
                        && let (Some(x), Some(y)) = (written(centre[0]), written(centre[1]))
                    {
                        self.centre(5, part, [x, y], "pushed back");
                    }
                }
            }
            FitProblem::LinksDisagree {
                part,
                link,
                dot,
                off,
                ..
            } => {
                let size = if off.abs() < 1.6 { 2 } else { 5 };
                for (at, _, of) in self.sprockets() {
                    if of != *part {
                        continue;
                    }
                    self.link(size, at, link.get(), "recount");
                    if let Some(dot) = dot.and_then(written) {
                        self.dot(5, at, dot, "");
                    }
                }
            }
            _ => {}
        }
    }
}

/// Radians in degrees, to the nearest half degree.
fn degrees(angle: Exact) -> Option<Exact> {
    let halves = (angle.to_f64().to_degrees() * 2.0).round() / 2.0;
    written(halves)
}

/// Where an angle that is wrong may point instead.
fn angles_instead(now: Exact) -> Vec<(u8, Exact, &'static str)> {
    let whole = Exact::whole;
    let sum = |a: Exact, b: Exact| a.checked_add(b).unwrap_or(a);
    let mut out = vec![
        (2, sum(now, whole(180)), "the opposite direction"),
        (
            2,
            sum(whole(360), now.negated()),
            "clockwise from twelve o'clock",
        ),
        (3, sum(now, whole(90)), "clockwise from twelve o'clock"),
        (3, sum(now, whole(-90)), "clockwise from twelve o'clock"),
        (
            3,
            sum(whole(90), now.negated()),
            "clockwise from twelve o'clock",
        ),
    ];
    out.extend(degrees(now).map(|angle| (2, angle, "in radians")));
    out.extend(
        slips(now)
            .into_iter()
            .filter(|(_, angle, _)| angle.signum() >= 0),
    );
    out
}

/// Where a place that is wrong may be instead.
fn points_instead(now: Point) -> Vec<(u8, Point, &'static str)> {
    let mut out = vec![(2, [now[1], now[0]], "x first")];
    for (size, x, why) in slips(now[0]) {
        out.push((size, [x, now[1]], why));
    }
    for (size, y, why) in slips(now[1]) {
        out.push((size, [now[0], y], why));
    }
    let inches = fraction(127, 5);
    out.push((
        3,
        [times(now[0], inches), times(now[1], inches)],
        "in inches",
    ));
    out.retain(|(_, point, _)| *point != now);
    out
}

fn scale_shafts(spec: &mut Spec, by: [Exact; 2]) {
    for shaft in &mut spec.shafts {
        if let Some(at) = &mut shaft.at {
            at.value = [times(at.value[0], by[0]), times(at.value[1], by[1])];
        }
    }
}

fn for_shoes(spec: &mut Spec, change: impl Fn(&mut ShoeSpec)) {
    for entry in spec.chains.iter_mut().flat_map(|chain| &mut chain.path) {
        if let EntrySpec::Shoe(shoe) = entry {
            change(shoe);
        }
    }
}

fn scale_shoes(spec: &mut Spec, by: Exact) {
    for_shoes(spec, |shoe| {
        if let Some(centre) = &mut shoe.centre {
            centre.value = [times(centre.value[0], by), times(centre.value[1], by)];
        }
        if let Some(radius) = &mut shoe.radius {
            radius.value = times(radius.value, by);
        }
        if let Some(stroke) = shoe.tensioner.as_mut().and_then(|t| t.stroke.as_mut()) {
            stroke.value = times(stroke.value, by);
        }
    });
}

/// Turns every dot, and where every tensioner pushes.
fn for_angles(spec: &mut Spec, turn: impl Fn(Exact) -> Option<Exact>) {
    let turned = |angle: &mut At<ClockAngle>| {
        if let Some(Ok(other)) =
            turn(angle.value.get()).map(|angle| angle.modulo(Exact::whole(360)))
        {
            angle.value = ClockAngle::new(other);
        }
    };
    for entry in spec.chains.iter_mut().flat_map(|chain| &mut chain.path) {
        match entry {
            EntrySpec::Sprocket(sprocket) => sprocket.dot.as_mut().into_iter().for_each(turned),
            EntrySpec::Shoe(shoe) => shoe
                .tensioner
                .as_mut()
                .and_then(|tensioner| tensioner.pushes.as_mut())
                .into_iter()
                .for_each(turned),
            EntrySpec::Unreadable => {}
        }
    }
}
