//! The chains in their places, put on a sheet with their labels.

use super::colour::Palette;
use super::ground::{Capsule, DEAR, Ground, HARD, SOFT};
use super::label::Wanted;
use super::link::Form;
use super::look::Look;
use super::picture::{LinkPlace, Picture, ShoePlace, SprocketPlace, extent, largest_first};
use super::sheet::{Layer, Part, Shape, Sheet, WIDTH};
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Tension, Travel, Vec2};
use crate::render::svg::{Area, Spot};
use crate::timing::pose::Basis;
use crate::units::quantity::OutOfRange;

/// Room for labels around the engine.
const ASIDE: f64 = 17.0;
const ABOVE: f64 = 11.0;
/// More of it above, for what is said of a dot that is off.
const OFF: f64 = 13.0;
/// How far behind the back of a shoe its plunger reaches, in mm of the engine.
const PLUNGER: f64 = 45.0;
/// How high a mark on the engine is.
pub(super) const REFERENCE: f64 = 2.4;
/// Thickness of a shoe.
pub(super) const SHOE: f64 = 2.4;

/// How large the engine is drawn: the first of these that leaves every label a place, of all that the sheet has room for.
const SHRINK: [f64; 5] = [1.0, 0.94, 0.88, 0.82, 0.76];
/// A drive with so many sprockets is drawn once.
const MANY: usize = 60;

/// Puts the chains of `pictures` on the sheet, from `top` down over at most `height`. Gives where they end.
pub(super) fn put(
    sheet: &mut Sheet,
    drive: &Drive,
    look: Look,
    pictures: &[Picture],
    top: f64,
    height: f64,
) -> Result<f64, OutOfRange> {
    let bounds = extent(pictures, |_| PLUNGER);
    let sprockets = || pictures.iter().flat_map(|picture| &picture.sprockets);
    let off = !look.blank
        && sprockets()
            .any(|sprocket| sprocket.stand.is_off() && sprocket.stand.basis != Basis::Unseen);
    let (wide, deep) = (
        (bounds.right - bounds.left).max(1.0),
        (bounds.bottom - bounds.top).max(1.0),
    );
    let scale = (WIDTH - 2.0 * ASIDE) / wide;
    // A wide engine leaves room above.
    let spare = height - 2.0 * ABOVE - deep * scale;
    let above = ABOVE
        + if off {
            OFF
        } else {
            (spare / 2.0).clamp(0.0, 14.0)
        };
    let scale = scale.min((height - above - ABOVE) / deep);
    let area = Area {
        left: 0.0,
        top,
        right: WIDTH,
        bottom: top + deep * scale + above + ABOVE,
    };
    let tries = if sprockets().count() > MANY {
        1
    } else {
        SHRINK.len()
    };
    let mut best: Option<(usize, Sheet)> = None;
    for shrink in &SHRINK[..tries] {
        let small = scale * shrink;
        let middle = f64::midpoint(bounds.left, bounds.right) * small;
        let mut plane = Plane {
            sheet: Sheet::new(),
            drive,
            look,
            palette: Palette::of(drive),
            scale: small,
            origin: Spot {
                x: if look.view.is_mirrored() {
                    WIDTH / 2.0 + middle
                } else {
                    WIDTH / 2.0 - middle
                },
                y: top + above + deep * (scale - small) / 2.0 - bounds.top * small,
            },
            ground: Ground::new(area.grown(-0.8)),
            solids: Vec::new(),
            wanted: Vec::new(),
            several: drive.chains().nth(1).is_some(),
        };
        let faults = plane.draw(pictures)?;
        if best.as_ref().is_none_or(|(least, _)| faults < *least) {
            best = Some((faults, plane.sheet));
        }
        if faults == 0 {
            break;
        }
    }
    if let Some((_, drawn)) = best {
        sheet.append(drawn);
    }
    Ok(area.bottom)
}

/// A mark on the engine: a triangle from its tip outwards. Gives the middle of its foot.
pub(super) fn put_reference(sheet: &mut Sheet, tip: Spot, out: (f64, f64)) -> Spot {
    let side = (-out.1, out.0);
    let foot = tip.moved(out, REFERENCE);
    let half = REFERENCE * 0.5;
    let outline = vec![tip, foot.moved(side, half), foot.moved(side, -half)];
    sheet.area(Layer::Marks, "reference", outline);
    foot
}

/// The middle of a strand's line, the way to its inside, and what is said of it.
type StrandWord = (Spot, (f64, f64), Tension, Part);

pub(super) struct Plane<'a> {
    pub(super) sheet: Sheet,
    pub(super) drive: &'a Drive,
    pub(super) look: Look,
    pub(super) palette: Palette,
    pub(super) scale: f64,
    pub(super) origin: Spot,
    pub(super) ground: Ground,
    /// What labels name, as it lies on the sheet.
    pub(super) solids: Vec<(Part, Capsule)>,
    /// Labels that want a place, the most important first.
    pub(super) wanted: Vec<Wanted>,
    /// Does the drive have several chains?
    pub(super) several: bool,
}

impl Plane<'_> {
    /// A part of the engine that labels name and keep off.
    fn solid(&mut self, part: Part, capsule: Capsule) {
        self.solids.push((part, capsule));
    }

    pub(super) fn shaft_part(&self, sprocket: &SprocketPlace) -> Part {
        Part::Shaft(self.drive.sprocket(sprocket.stand.at).shaft().index())
    }

    /// The direction on the sheet of one on the engine.
    pub(super) fn way(&self, way: Vec2) -> (f64, f64) {
        let x = if self.look.view.is_mirrored() {
            -way.x
        } else {
            way.x
        };
        (x, -way.y)
    }

    /// The direction on the sheet of a clock angle.
    pub(super) fn clock_way(&self, degrees: f64) -> (f64, f64) {
        self.way(Vec2::from_clock(degrees))
    }

    pub(super) fn spot(&self, point: Point) -> Spot {
        let (x, _) = self.way(Vec2 { x: 1.0, y: 0.0 });
        Spot {
            x: self.origin.x + point.x * self.scale * x,
            y: self.origin.y - point.y * self.scale,
        }
    }

    /// Radius of dots.
    pub(super) fn dot(&self, pitch: f64) -> f64 {
        (pitch * self.scale * 0.32).clamp(1.05, 1.7)
    }

    /// From the centre of a sprocket to its dot, on the sheet.
    pub(super) fn dot_circle(&self, sprocket: &SprocketPlace, pitch: f64) -> f64 {
        (sprocket.radius - pitch * 0.72) * self.scale - self.dot(pitch)
    }

    /// A place about a sprocket, at a clock angle and so far from its centre on the sheet.
    pub(super) fn about(&self, sprocket: &SprocketPlace, clock: f64, radius: f64) -> Spot {
        self.spot(sprocket.centre)
            .moved(self.clock_way(clock), radius)
    }

    /// An arc about a sprocket, radius on the sheet.
    fn arc(&self, sprocket: &SprocketPlace, from: f64, to: f64, radius: f64) -> Vec<Spot> {
        let steps = ((to - from).abs() / 3.0).ceil().clamp(2.0, 130.0);
        let mut spots = Vec::new();
        let mut step = 0.0;
        while step <= steps {
            spots.push(self.about(sprocket, from + (to - from) * step / steps, radius));
            step += 1.0;
        }
        spots
    }

    /// Draws everything. Gives how many labels have no good place.
    fn draw(&mut self, pictures: &[Picture]) -> Result<usize, OutOfRange> {
        let sprockets = largest_first(pictures);
        for (picture, sprocket) in &sprockets {
            self.body(picture, sprocket);
        }
        for picture in pictures {
            for link in &picture.links {
                self.link(picture, link);
            }
        }
        for (picture, sprocket) in &sprockets {
            self.dots(picture, sprocket)?;
        }
        for picture in pictures {
            for (place, shoe) in picture.shoes.iter().enumerate() {
                self.shoe(picture, shoe, Part::Shoe(picture.chain.index(), place));
            }
        }
        let mut strands = Vec::new();
        // Which strand is tight is for the pupil to say.
        if !self.look.blank {
            for picture in pictures {
                strands.extend(self.strand_lines(picture));
            }
        }
        // Everything is drawn; now the labels, the most important first.
        self.shaft_labels(&sprockets);
        if !self.look.blank {
            for (picture, sprocket) in &sprockets {
                self.off_label(picture, sprocket)?;
            }
            for picture in pictures {
                self.link_labels(picture);
            }
        }
        for picture in pictures {
            for (place, shoe) in picture.shoes.iter().enumerate() {
                self.shoe_label(shoe, Part::Shoe(picture.chain.index(), place));
            }
            self.chain_label(picture, pictures);
        }
        for (at, inward, tension, part) in strands {
            let word = match tension {
                Tension::Tight => "tight",
                Tension::Slack => "slack",
            };
            self.word(part, at, inward, 1.2, word);
        }
        let faults = self.place_labels();
        self.link_numbers(pictures);
        Ok(faults)
    }

    /// A sprocket with its teeth.
    fn body(&mut self, picture: &Picture, sprocket: &SprocketPlace) {
        let pitch = picture.pitch * self.scale;
        let radius = sprocket.radius * self.scale;
        let step = 360.0 / f64::from(sprocket.teeth);
        let mut outline = Vec::new();
        for tooth in 0..sprocket.teeth {
            let middle = sprocket.tooth + f64::from(tooth) * step;
            for (off, out) in picture.tooth {
                outline.push(self.about(sprocket, middle + off * step, radius + out * pitch));
            }
        }
        let part = self.shaft_part(sprocket);
        self.sheet.part(Layer::Sprockets, "body", outline, part);
        let circle = self.spot(sprocket.centre);
        self.sheet.disc(Layer::Sprockets, "pitch", circle, radius);
        // The body is no good place for words about other things.
        self.ground.put(Capsule::disc(circle, radius), SOFT);
        let (inner, outer) = (radius - 0.32 * pitch, radius + 0.3 * pitch);
        self.ground.ring(circle, inner, outer, HARD);
        self.solid(part, Capsule::disc(circle, outer));
    }

    fn link(&mut self, picture: &Picture, link: &LinkPlace) {
        let (begin, end) = (self.spot(link.begin), self.spot(link.end));
        let pitch = picture.pitch * self.scale;
        // Which links are coloured is for the pupil to say.
        let marks = link.marks.filter(|_| !self.look.blank);
        let colour = marks.map(|at| self.palette.link(self.drive, at));
        self.sheet.put(
            if colour.is_some() {
                Layer::Marks
            } else {
                Layer::Chains
            },
            Shape::Link {
                form: Form::of(self.drive.chain(picture.chain), link.number, picture.travel),
                chain: picture.chain.index(),
                number: link.number,
                centre: begin.towards(end, 0.5),
                angle: libm::atan2(end.y - begin.y, end.x - begin.x).to_degrees(),
                pitch,
                colour,
            },
        );
        let lies = |radius: f64| Capsule {
            from: begin,
            to: end,
            radius: pitch * radius + 0.2,
        };
        match marks {
            Some(_) => self.ground.put(lies(0.46), HARD | DEAR),
            None => self.ground.put(lies(0.31), HARD),
        }
    }

    /// The dot of a sprocket, its way of turning, and where the dot belongs.
    fn dots(&mut self, picture: &Picture, sprocket: &SprocketPlace) -> Result<(), OutOfRange> {
        let pitch = picture.pitch * self.scale;
        let (size, circle) = (
            self.dot(picture.pitch),
            self.dot_circle(sprocket, picture.pitch),
        );
        let stand = &sprocket.stand;
        let seen = stand.basis != Basis::Unseen;
        let (dot, due) = match sprocket.dot {
            Some((dot, due)) => (dot, due),
            None => (sprocket.tooth, sprocket.tooth),
        };
        let single = self.smallest_of_shaft(picture, sprocket);
        let turning = circle - size - 1.5;
        if single && turning > 2.2 && !self.look.blank {
            let sweep = 38.0_f64.max(120.0 / turning.max(2.5)).min(80.0) * sprocket.turns.sign();
            let points = self.arc(sprocket, dot + 180.0 - sweep, dot + 180.0 + sweep, turning);
            self.keep_off(&points, 0.8, HARD);
            self.sheet.arrow(Layer::Sprockets, "turning", points, 1.9);
        }
        if sprocket.dot.is_none() {
            return Ok(());
        }
        self.reference(picture, sprocket);
        let spot = self.about(sprocket, dot, circle);
        let edge = sprocket.radius * self.scale - pitch * 0.45;
        self.ground
            .put(Capsule::disc(spot, size + 0.4), HARD | DEAR);
        let off = seen && stand.is_off() && !self.look.blank;
        let tick = vec![spot, self.about(sprocket, dot, edge)];
        if !off {
            self.sheet.line(Layer::Marks, "ink", tick);
            let class = if seen || self.look.blank {
                "dot"
            } else {
                "dot-unseen"
            };
            self.sheet.disc(Layer::Marks, class, spot, size);
            return Ok(());
        }
        if !stand.ahead.is_zero() {
            let ring = self.about(sprocket, due, circle);
            self.ground
                .put(Capsule::disc(ring, size + 0.4), HARD | DEAR);
            // The shorter way round from the dot to where it belongs.
            let back = (due - dot + 180.0).rem_euclid(360.0) - 180.0;
            let out = sprocket.radius * self.scale + pitch * 0.62 + 1.4 + REFERENCE;
            self.sheet.line(
                Layer::Off,
                "off-line",
                vec![
                    self.about(sprocket, dot, circle + size),
                    self.about(sprocket, dot, out + 0.8),
                ],
            );
            self.sheet.line(
                Layer::Off,
                "off-dash",
                vec![
                    self.about(sprocket, due, circle + size),
                    self.about(sprocket, due, out + 0.8),
                ],
            );
            let arc = self.arc(sprocket, dot, dot + back, out);
            self.keep_off(&arc, 0.9, HARD);
            for clock in [dot, due] {
                let ends = [circle + size, out + 0.8].map(|out| self.about(sprocket, clock, out));
                self.keep_off(&ends, 0.3, HARD);
            }
            let long = back.to_radians().abs() * out;
            self.sheet
                .arrow(Layer::Off, "off-line", arc, (long * 0.7).min(2.2));
            self.sheet.disc(Layer::Off, "off-ring", ring, size);
        } else {
            self.sheet.line(Layer::Marks, "ink", tick);
        }
        self.sheet.disc(Layer::Off, "dot-off", spot, size);
        for turn in [45.0, 135.0] {
            let way = self.clock_way(dot + turn);
            let cross = vec![spot.moved(way, -size * 0.62), spot.moved(way, size * 0.62)];
            self.sheet.line(Layer::Off, "dot-cross", cross);
        }
        // The link that belongs there.
        if let Some(due) = stand.link_due
            && !stand.seat.is_zero()
        {
            for link in due_links(picture, due.get().to_f64()) {
                let (begin, end) = (self.spot(link.begin), self.spot(link.end));
                let radius = pitch * 0.75;
                self.ground.put(
                    Capsule {
                        from: begin,
                        to: end,
                        radius,
                    },
                    HARD | DEAR,
                );
                let ring = capsule(begin, end, radius);
                self.sheet.area(Layer::Off, "off-ring", ring);
            }
        }
        Ok(())
    }

    /// The mark on the engine to which the dot of a sprocket points in the timed position.
    fn reference(&mut self, picture: &Picture, sprocket: &SprocketPlace) {
        let Some(timed) = sprocket.timed() else {
            return;
        };
        let tip = (sprocket.radius + picture.pitch * 0.5) * self.scale + 0.5;
        let tip = self.about(sprocket, timed, tip);
        let out = self.clock_way(timed);
        let foot = put_reference(&mut self.sheet, tip, out);
        self.keep_off(&[tip, foot], REFERENCE * 0.5, HARD);
    }

    /// Is there no smaller sprocket on the same shaft?
    fn smallest_of_shaft(&self, picture: &Picture, sprocket: &SprocketPlace) -> bool {
        let shaft = self.drive.sprocket(sprocket.stand.at).shaft();
        let own = (sprocket.radius, picture.chain);
        self.drive.shaft(shaft).engagements().iter().all(|at| {
            let chain = self.drive.chain(at.chain);
            let Some(pitch) = chain.pitch() else {
                return true;
            };
            let teeth = u32::from(self.drive.sprocket(*at).teeth().get());
            let diameter = if chain.is_belt() {
                crate::plane::geometry::belt_pitch_diameter
            } else {
                crate::plane::geometry::pitch_diameter
            };
            let radius = diameter(pitch.to_f64(), teeth) / 2.0;
            radius > own.0 + 1e-6 || (radius > own.0 - 1e-6 && at.chain >= own.1)
        })
    }

    /// A band along the arc of a shoe; a tensioner with its plunger and a scale of its stroke.
    fn shoe(&mut self, picture: &Picture, shoe: &ShoePlace, part: Part) {
        let [near, far] = picture.band(shoe, 3.0, SHOE / self.scale).map(|edge| {
            edge.into_iter()
                .map(|point| self.spot(point))
                .collect::<Vec<_>>()
        });
        // Its middle line is as good as the band for keeping off it.
        let middle: Vec<Spot> = near
            .iter()
            .zip(&far)
            .map(|(near, far)| near.towards(*far, 0.5))
            .collect();
        let outline: Vec<Spot> = near.into_iter().chain(far.into_iter().rev()).collect();
        self.keep_off(&middle, SHOE / 2.0 + 0.3, HARD);
        // Every fourth corner of it will do.
        for ends in middle.chunks(5) {
            let [from, .., to] = ends else { continue };
            self.solid(
                part,
                Capsule {
                    from: *from,
                    to: *to,
                    radius: SHOE / 2.0,
                },
            );
        }
        let class = if shoe.tensioner.is_some() {
            "tensioner"
        } else {
            "guide"
        };
        self.sheet.part(Layer::Shoes, class, outline, part);
        let Some(tensioner) = shoe.tensioner else {
            return;
        };
        let way = self.clock_way(tensioner.pushes);
        let side = (-way.1, way.0);
        // Where the plunger meets the back of the shoe.
        let back = self.back(picture, shoe);
        let travel = tensioner.travel.unwrap_or(0.0) * self.scale;
        let face = back.moved(way, -(travel + 3.2));
        let rod = |spot: Spot, by: f64| [spot.moved(side, by), spot.moved(side, -by)];
        let [a, b] = rod(back, 0.9);
        let [c, d] = rod(face, 0.9);
        self.sheet
            .part(Layer::Shoes, "plunger", vec![a, b, d, c], part);
        let end = face.moved(way, -7.0);
        let [a, b] = rod(face, 2.4);
        let [c, d] = rod(end, 2.4);
        self.sheet
            .part(Layer::Shoes, "plunger", vec![a, b, d, c], part);
        // An arrow on its body says where it pushes.
        self.sheet.arrow(
            Layer::Shoes,
            "turning",
            vec![end.moved(way, 1.0), face.moved(way, -0.9)],
            1.9,
        );
        self.keep_off(&[back, end], 2.6, HARD);
        self.solid(
            part,
            Capsule {
                from: back,
                to: end,
                radius: 2.4,
            },
        );
        // The stroke, to scale, beside the body: from all the way back to all the way out.
        let stroke = tensioner.stroke * self.scale;
        let zero = end
            .towards(back, 0.5)
            .moved(way, -stroke / 2.0)
            .moved(side, 4.6);
        let full = zero.moved(way, stroke);
        self.sheet.line(Layer::Shoes, "ink", vec![zero, full]);
        for tick in [zero, full] {
            let ends = vec![tick.moved(side, -1.0), tick.moved(side, 1.0)];
            self.sheet.line(Layer::Shoes, "ink", ends);
        }
        let now = zero.moved(way, travel);
        self.sheet.area(
            Layer::Shoes,
            "ink-fill",
            vec![
                now.moved(side, -0.2),
                now.moved(side, -2.0).moved(way, 0.8),
                now.moved(side, -2.0).moved(way, -0.8),
            ],
        );
        self.keep_off(&[zero, full], 1.4, HARD);
    }

    /// Labels keep off a line.
    fn keep_off(&mut self, spots: &[Spot], radius: f64, bits: u8) {
        for ends in spots.windows(2) {
            self.ground.put(
                Capsule {
                    from: ends[0],
                    to: ends[1],
                    radius,
                },
                bits,
            );
        }
    }

    /// The middle of the back of a shoe.
    fn back(&self, picture: &Picture, shoe: &ShoePlace) -> Spot {
        let centre = self.spot(shoe.centre);
        let middle = (shoe.middle() - shoe.centre).to_clock();
        let radius = (shoe.radius - picture.pitch * 0.42) * self.scale - SHOE;
        centre.moved(self.clock_way(middle), radius)
    }

    /// A line along each strand that is long enough, and where the words go: once for the tight and once for the slack ones.
    fn strand_lines(&mut self, picture: &Picture) -> Vec<StrandWord> {
        let pitch = picture.pitch * self.scale;
        let mut longest: Vec<(f64, StrandWord)> = Vec::new();
        for (place, (strand, tension)) in picture.strands.iter().enumerate() {
            let part = Part::Strand(picture.chain.index(), place);
            let inward = match picture.travel {
                // Going clockwise, the inside of the loop is on the right hand.
                Travel::Clockwise => -strand.direction.left(),
                Travel::CounterClockwise => strand.direction.left(),
            };
            let off = inward * (picture.pitch * 0.55 + 1.3 / self.scale);
            let (begin, end) = (strand.begin + off, strand.end + off);
            // The longest stretch of it that lies on no sprocket.
            let clear = |part: f64| {
                let point = begin + (end - begin) * part;
                picture.sprockets.iter().all(|sprocket| {
                    sprocket.centre.distance(point) > sprocket.radius + picture.pitch * 0.5
                })
            };
            let parts: Vec<f64> = (1..50_u32)
                .map(|step| f64::from(step) / 50.0)
                .filter(|part| clear(*part))
                .collect();
            let (Some(first), Some(last)) = (parts.first(), parts.last()) else {
                continue;
            };
            let from = self.spot(begin + (end - begin) * *first);
            let to = self.spot(begin + (end - begin) * *last);
            if from.distance(to) < 3.0 * pitch.max(2.0) {
                continue;
            }
            let class = match tension {
                Tension::Tight => "tight",
                Tension::Slack => "slack",
            };
            self.sheet
                .arrow_along(Layer::Chains, class, vec![from, to], 2.0, Some(part));
            self.keep_off(&[from, to], 0.7, HARD);
            self.solid(
                part,
                Capsule {
                    from,
                    to,
                    radius: 0.3,
                },
            );
            let inward = self.way(inward);
            let word = (from.towards(to, 0.5), inward, *tension, part);
            longest.push((from.distance(to), word));
        }
        let mut words = Vec::new();
        for wanted in [Tension::Tight, Tension::Slack] {
            let best = longest
                .iter()
                .filter(|(_, (_, _, tension, _))| *tension == wanted)
                .max_by(|(one, _), (other, _)| one.total_cmp(other));
            words.extend(best.map(|(_, word)| *word));
        }
        words
    }
}

/// The links nearest to a place on a chain: one, or the two beside a half.
fn due_links(picture: &Picture, due: f64) -> Vec<&LinkPlace> {
    let count = f64::from(u32::try_from(picture.links.len()).unwrap_or(u32::MAX)).max(1.0);
    picture
        .links
        .iter()
        .filter(|link| {
            let off = (f64::from(link.number) - due).rem_euclid(count);
            off.min(count - off) < 0.6
        })
        .collect()
}

/// A ring about a link.
fn capsule(begin: Spot, end: Spot, radius: f64) -> Vec<Spot> {
    let along = libm::atan2(end.y - begin.y, end.x - begin.x);
    let mut spots = Vec::new();
    for (spot, from) in [(end, -90.0_f64), (begin, 90.0)] {
        for step in 0..=8_u32 {
            let turn = along + (from + f64::from(step) * 22.5).to_radians();
            spots.push(spot.moved((libm::cos(turn), libm::sin(turn)), radius));
        }
    }
    spots
}
