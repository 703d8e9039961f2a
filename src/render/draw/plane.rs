//! The chains in their places, put on a sheet with their labels.

use super::caption::{how_far, short_name, wrong_link};
use super::colour::Palette;
use super::label::{Placer, Request};
use super::picture::{LinkPlace, Picture, ShoePlace, SprocketPlace};
use super::sheet::{Area, Layer, Shape, Sheet, Spot, WIDTH, width_of};
use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Tension, Travel, Vec2};
use crate::render::words::{marks::kind_word, numbers};
use crate::timing::pose::Basis;
use crate::units::quantity::OutOfRange;

/// Sizes of words: what must be read, what explains it, coloured links, and mere numbers.
const NAME: f64 = 4.4;
const SMALL: f64 = 3.4;
const LINK: f64 = 3.6;
const NUMBER: f64 = 2.9;
/// From line to line, in sizes.
const LEAD: f64 = 1.22;
/// Room for labels around the engine.
const ASIDE: f64 = 17.0;
const ABOVE: f64 = 11.0;
/// More of it above, for what is said of a dot that is off.
const OFF: f64 = 13.0;
/// Thickness of a shoe.
const SHOE: f64 = 2.4;

/// A line of a label.
struct Line {
    class: &'static str,
    size: f64,
    bold: bool,
    text: String,
}

impl Line {
    fn name(text: impl Into<String>) -> Self {
        Self {
            class: "must bold halo",
            size: NAME,
            bold: true,
            text: text.into(),
        }
    }

    fn small(text: impl Into<String>) -> Self {
        Self {
            class: "must halo",
            size: SMALL,
            bold: false,
            text: text.into(),
        }
    }
}

/// Puts the chains of `pictures` on the sheet, from `top` down over at most `height`. Gives where they end.
pub(super) fn put(
    sheet: &mut Sheet,
    drive: &Drive,
    pictures: &[Picture],
    top: f64,
    height: f64,
) -> Result<f64, OutOfRange> {
    let bounds = bounds(pictures);
    let off = pictures
        .iter()
        .flat_map(|picture| &picture.sprockets)
        .any(|sprocket| sprocket.stand.is_off() && sprocket.stand.ground != Basis::Unseen);
    let scale = (WIDTH - 2.0 * ASIDE) / (bounds.right - bounds.left).max(1.0);
    // A wide engine leaves room above.
    let spare = height - 2.0 * ABOVE - (bounds.bottom - bounds.top) * scale;
    let above = ABOVE
        + if off {
            OFF
        } else {
            (spare / 2.0).clamp(0.0, 14.0)
        };
    let scale = scale.min((height - above - ABOVE) / (bounds.bottom - bounds.top).max(1.0));
    let high = (bounds.bottom - bounds.top) * scale + above + ABOVE;
    let area = Area {
        left: 0.0,
        top,
        right: WIDTH,
        bottom: top + high,
    };
    let mut plane = Plane {
        sheet,
        drive,
        palette: Palette::of(drive),
        scale,
        origin: Spot {
            x: WIDTH / 2.0 - f64::midpoint(bounds.left, bounds.right) * scale,
            y: top + above - bounds.top * scale,
        },
        placer: Placer::new(area.grown(-0.8)),
        wanted: Vec::new(),
        several: drive.chains().nth(1).is_some(),
    };
    plane.draw(pictures)?;
    Ok(area.bottom)
}

/// The engine's extent, y down.
fn bounds(pictures: &[Picture]) -> Area {
    let mut area = Area {
        left: f64::INFINITY,
        top: f64::INFINITY,
        right: f64::NEG_INFINITY,
        bottom: f64::NEG_INFINITY,
    };
    let mut take = |point: Point, around: f64| {
        area.left = area.left.min(point.x - around);
        area.right = area.right.max(point.x + around);
        area.top = area.top.min(-point.y - around);
        area.bottom = area.bottom.max(-point.y + around);
    };
    for picture in pictures {
        for link in &picture.links {
            take(link.begin, picture.pitch);
        }
        for sprocket in &picture.sprockets {
            take(sprocket.centre, sprocket.radius + picture.pitch);
        }
        for shoe in &picture.shoes {
            if let Some(tensioner) = shoe.tensioner {
                let back = shoe_middle(shoe) - Vec2::from_clock(tensioner.pushes) * 45.0;
                take(back, 0.0);
            }
        }
    }
    area
}

fn shoe_middle(shoe: &ShoePlace) -> Point {
    let clock = match (shoe.arc, shoe.tensioner) {
        (Some((first, last)), _) => f64::midpoint(first, last),
        (None, Some(tensioner)) => tensioner.pushes,
        (None, None) => 0.0,
    };
    shoe.centre + Vec2::from_clock(clock) * shoe.radius
}

/// Width and height of lines of words.
fn extent(lines: &[Line]) -> (f64, f64) {
    let width = lines
        .iter()
        .map(|line| width_of(&line.text, line.size, line.bold))
        .fold(0.0, f64::max);
    (width, lines.iter().map(|line| line.size * LEAD).sum())
}

/// The direction on the sheet of a clock angle.
fn clock_way(degrees: f64) -> (f64, f64) {
    let way = Vec2::from_clock(degrees);
    (way.x, -way.y)
}

/// A label without its place yet.
struct Wanted {
    request: Request,
    lines: Vec<Line>,
    frame: Option<&'static str>,
}

struct Plane<'a> {
    sheet: &'a mut Sheet,
    drive: &'a Drive,
    palette: Palette,
    scale: f64,
    origin: Spot,
    placer: Placer,
    /// Labels that want a place, the most important first.
    wanted: Vec<Wanted>,
    /// Does the drive have several chains?
    several: bool,
}

impl Plane<'_> {
    fn spot(&self, point: Point) -> Spot {
        Spot {
            x: self.origin.x + point.x * self.scale,
            y: self.origin.y - point.y * self.scale,
        }
    }

    /// Radius of dots.
    fn dot(&self, pitch: f64) -> f64 {
        (pitch * self.scale * 0.32).clamp(1.05, 1.7)
    }

    /// From the centre of a sprocket to its dot, on the sheet.
    fn dot_circle(&self, sprocket: &SprocketPlace, pitch: f64) -> f64 {
        (sprocket.radius - pitch * 0.72) * self.scale - self.dot(pitch)
    }

    /// A place about a sprocket, at a clock angle and so far from its centre on the sheet.
    fn about(&self, sprocket: &SprocketPlace, clock: f64, radius: f64) -> Spot {
        self.spot(sprocket.centre).moved(clock_way(clock), radius)
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

    fn draw(&mut self, pictures: &[Picture]) -> Result<(), OutOfRange> {
        let mut sprockets: Vec<(&Picture, &SprocketPlace)> = pictures
            .iter()
            .flat_map(|picture| {
                picture
                    .sprockets
                    .iter()
                    .map(move |sprocket| (picture, sprocket))
            })
            .collect();
        // The smaller of two on one shaft is drawn over the larger.
        sprockets.sort_by(|(_, one), (_, other)| other.radius.total_cmp(&one.radius));
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
            for shoe in &picture.shoes {
                self.shoe(picture, shoe);
            }
        }
        let strands: Vec<_> = pictures
            .iter()
            .flat_map(|picture| self.strand_lines(picture))
            .collect();
        // Everything is drawn; now the labels, the most important first.
        self.shaft_labels(&sprockets);
        for (picture, sprocket) in &sprockets {
            self.off_label(picture, sprocket)?;
        }
        for picture in pictures {
            self.link_labels(picture);
        }
        for picture in pictures {
            for shoe in &picture.shoes {
                self.shoe_label(shoe);
            }
        }
        for (at, inward, tension) in strands {
            let word = match tension {
                Tension::Tight => "tight",
                Tension::Slack => "slack",
            };
            self.word(at, inward, 0.9, word);
        }
        self.place_labels();
        for picture in pictures {
            self.chain_label(picture, pictures);
        }
        for picture in pictures {
            self.link_numbers(picture);
        }
        Ok(())
    }

    /// A sprocket with its teeth.
    fn body(&mut self, picture: &Picture, sprocket: &SprocketPlace) {
        let pitch = picture.pitch * self.scale;
        let radius = sprocket.radius * self.scale;
        let step = 360.0 / f64::from(sprocket.teeth);
        let mut outline = Vec::new();
        for tooth in 0..sprocket.teeth {
            let middle = sprocket.tooth + f64::from(tooth) * step;
            for (off, out) in [
                (-0.5, -0.3),
                (-0.33, -0.26),
                (-0.12, 0.28),
                (0.12, 0.28),
                (0.33, -0.26),
            ] {
                outline.push(self.about(sprocket, middle + off * step, radius + out * pitch));
            }
        }
        self.sheet.area(Layer::Sprockets, "body", outline);
        let circle = self.spot(sprocket.centre);
        self.sheet.disc(Layer::Sprockets, "pitch", circle, radius);
        // The body is no good place for words about other things.
        self.placer.keep_off(circle, radius, 60.0);
    }

    fn link(&mut self, picture: &Picture, link: &LinkPlace) {
        let (begin, end) = (self.spot(link.begin), self.spot(link.end));
        let pitch = picture.pitch * self.scale;
        let colour = link.marks.map(|at| self.palette.link(self.drive, at));
        let inner = link.number % 2 == 1;
        self.sheet.put(
            match (colour.is_some(), inner) {
                (true, _) => Layer::Marks,
                _ => Layer::Chains,
            },
            Shape::Link {
                outer: !inner,
                chain: picture.chain.index(),
                number: link.number,
                centre: begin.towards(end, 0.5),
                angle: (end.y - begin.y).atan2(end.x - begin.x).to_degrees(),
                pitch,
                colour,
            },
        );
        let cost = if colour.is_some() { 120.0 } else { 25.0 };
        self.placer
            .keep_off(begin.towards(end, 0.5), pitch * 0.52 + 0.3, cost);
    }

    /// The dot of a sprocket, its way of turning, and where the dot belongs.
    fn dots(&mut self, picture: &Picture, sprocket: &SprocketPlace) -> Result<(), OutOfRange> {
        let pitch = picture.pitch * self.scale;
        let (size, circle) = (
            self.dot(picture.pitch),
            self.dot_circle(sprocket, picture.pitch),
        );
        let stand = &sprocket.stand;
        let seen = stand.ground != Basis::Unseen;
        let (dot, due) = match sprocket.dot {
            Some((dot, due)) => (dot, due),
            None => (sprocket.tooth, sprocket.tooth),
        };
        let single = self.smallest_of_shaft(picture, sprocket);
        let turning = circle - size - 1.5;
        if single && turning > 2.2 {
            let sweep = 38.0_f64.max(120.0 / turning.max(2.5)).min(80.0) * sprocket.turns.sign();
            let points = self.arc(sprocket, dot + 180.0 - sweep, dot + 180.0 + sweep, turning);
            for spot in &points {
                self.placer.keep_off(*spot, 0.8, 6.0);
            }
            self.sheet.arrow(Layer::Sprockets, "turning", points, 1.9);
        }
        if sprocket.dot.is_none() {
            return Ok(());
        }
        let spot = self.about(sprocket, dot, circle);
        let edge = sprocket.radius * self.scale - pitch * 0.45;
        self.placer.keep_off(spot, size + 0.6, 200.0);
        let off = seen && stand.is_off();
        let tick = vec![spot, self.about(sprocket, dot, edge)];
        if !off {
            self.sheet.line(Layer::Marks, "ink", tick);
            let class = if seen { "dot" } else { "dot-unseen" };
            self.sheet.disc(Layer::Marks, class, spot, size);
            return Ok(());
        }
        if !stand.ahead.is_zero() {
            let ring = self.about(sprocket, due, circle);
            self.placer.keep_off(ring, size + 0.6, 200.0);
            // The shorter way round from the dot to where it belongs.
            let back = (due - dot + 180.0).rem_euclid(360.0) - 180.0;
            let out = sprocket.radius * self.scale + pitch * 0.62 + 2.0;
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
            for spot in &arc {
                self.placer.keep_off(*spot, 1.0, 120.0);
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
            let way = clock_way(dot + turn);
            let cross = vec![spot.moved(way, -size * 0.62), spot.moved(way, size * 0.62)];
            self.sheet.line(Layer::Off, "dot-cross", cross);
        }
        // The link that belongs there.
        if let Some(due) = stand.link_due
            && !stand.seat.is_zero()
        {
            for link in due_links(picture, due.get().to_f64()) {
                let (begin, end) = (self.spot(link.begin), self.spot(link.end));
                let capsule = capsule(begin, end, pitch * 0.75);
                self.sheet.area(Layer::Off, "off-ring", capsule);
            }
        }
        Ok(())
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
            let radius = crate::plane::geometry::pitch_diameter(pitch.to_f64(), teeth) / 2.0;
            radius > own.0 + 1e-6 || (radius > own.0 - 1e-6 && at.chain >= own.1)
        })
    }

    /// A band along the arc of a shoe; a tensioner with its plunger and a scale of its stroke.
    fn shoe(&mut self, picture: &Picture, shoe: &ShoePlace) {
        let (first, last) = match shoe.arc {
            Some((first, last)) => {
                let more = (last - first).signum() * (3.0 / shoe.radius).to_degrees();
                (first - more, last + more)
            }
            None => {
                let middle = (shoe_middle(shoe) - shoe.centre).to_clock();
                (middle - 12.0, middle + 12.0)
            }
        };
        let outer = (shoe.radius - picture.pitch * 0.42) * self.scale;
        let centre = self.spot(shoe.centre);
        let mut outline = Vec::new();
        let steps = 16.0;
        for (radius, from, to) in [(outer, first, last), (outer - SHOE, last, first)] {
            let mut step = 0.0;
            while step <= steps {
                let clock = from + (to - from) * step / steps;
                let spot = centre.moved(clock_way(clock), radius);
                self.placer.keep_off(spot, 1.3, 40.0);
                outline.push(spot);
                step += 1.0;
            }
        }
        let class = if shoe.tensioner.is_some() {
            "tensioner"
        } else {
            "guide"
        };
        self.sheet.area(Layer::Shoes, class, outline);
        let Some(tensioner) = shoe.tensioner else {
            return;
        };
        let way = clock_way(tensioner.pushes);
        let side = (-way.1, way.0);
        // Where the plunger meets the back of the shoe.
        let back = self.back(picture, shoe);
        let travel = tensioner.travel.unwrap_or(0.0) * self.scale;
        let face = back.moved(way, -(travel + 3.2));
        let rod = |spot: Spot, by: f64| [spot.moved(side, by), spot.moved(side, -by)];
        let [a, b] = rod(back, 0.9);
        let [c, d] = rod(face, 0.9);
        self.sheet.area(Layer::Shoes, "plunger", vec![a, b, d, c]);
        let end = face.moved(way, -7.0);
        let [a, b] = rod(face, 2.4);
        let [c, d] = rod(end, 2.4);
        self.sheet.area(Layer::Shoes, "plunger", vec![a, b, d, c]);
        // An arrow on its body says where it pushes.
        self.sheet.arrow(
            Layer::Shoes,
            "turning",
            vec![end.moved(way, 1.0), face.moved(way, -0.9)],
            1.9,
        );
        self.placer.keep_off_line(back, end, 2.6, 60.0);
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
        self.placer.keep_off_line(zero, full, 1.4, 60.0);
    }

    /// The middle of the back of a shoe.
    fn back(&self, picture: &Picture, shoe: &ShoePlace) -> Spot {
        let centre = self.spot(shoe.centre);
        let middle = (shoe_middle(shoe) - shoe.centre).to_clock();
        let radius = (shoe.radius - picture.pitch * 0.42) * self.scale - SHOE;
        centre.moved(clock_way(middle), radius)
    }

    /// A line along each strand that is long enough, and where the words go: once for the tight and once for the slack ones.
    fn strand_lines(&mut self, picture: &Picture) -> Vec<(Spot, (f64, f64), Tension)> {
        let pitch = picture.pitch * self.scale;
        let mut longest: Vec<(f64, Spot, (f64, f64), Tension)> = Vec::new();
        for (strand, tension) in &picture.strands {
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
            self.sheet.arrow(Layer::Chains, class, vec![from, to], 2.0);
            self.placer.keep_off_line(from, to, 0.8, 10.0);
            let inward = (inward.x, -inward.y);
            longest.push((from.distance(to), from.towards(to, 0.5), inward, *tension));
        }
        let mut words = Vec::new();
        for wanted in [Tension::Tight, Tension::Slack] {
            let best = longest
                .iter()
                .filter(|(_, _, _, tension)| *tension == wanted)
                .max_by(|(one, ..), (other, ..)| one.total_cmp(other));
            if let Some((_, at, inward, tension)) = best {
                words.push((*at, *inward, *tension));
            }
        }
        words
    }

    /// Wants lines of words near `anchor`, with a thin line to it where they stand far off.
    fn label(
        &mut self,
        anchor: Spot,
        toward: (f64, f64),
        gap: f64,
        lines: Vec<Line>,
        frame: Option<&'static str>,
    ) {
        let lead = if frame.is_some() { 1.5 } else { 4.5 };
        self.want(anchor, toward, (gap, 0.0, lead), lines, frame);
    }

    /// As [`Plane::label`], for a word that the key makes up for where there is no room.
    fn word(&mut self, anchor: Spot, toward: (f64, f64), gap: f64, word: &str) {
        self.label(anchor, toward, gap, vec![Line::small(word)], None);
        if let Some(last) = self.wanted.last_mut() {
            last.request.optional = true;
        }
    }

    fn want(
        &mut self,
        anchor: Spot,
        toward: (f64, f64),
        (gap, reach, lead): (f64, f64, f64),
        lines: Vec<Line>,
        frame: Option<&'static str>,
    ) {
        let (width, height) = extent(&lines);
        let (aside, above) = if frame.is_some() {
            (2.4, 1.8)
        } else {
            (0.6, 0.2)
        };
        self.wanted.push(Wanted {
            request: Request {
                anchor,
                toward,
                gap,
                reach,
                lead,
                size: (width + aside, height + above),
                optional: false,
            },
            lines,
            frame,
        });
    }

    /// Gives every wanted label its place.
    fn place_labels(&mut self) {
        let mut wanted = std::mem::take(&mut self.wanted);
        // What is off is what the picture is looked at for.
        wanted.sort_by_key(|label| label.frame.is_none());
        let requests: Vec<Request> = wanted.iter().map(|label| label.request.clone()).collect();
        let places = self.placer.place(&requests);
        for (label, area) in wanted.into_iter().zip(places) {
            let Some(area) = area else { continue };
            if let Some((from, to)) = label.request.leader(area) {
                let class = match label.frame {
                    Some("off-frame") => "off-line",
                    _ => "leader",
                };
                self.sheet.line(Layer::Off, class, vec![from, to]);
            }
            self.write(area, label.lines, label.frame);
        }
    }

    fn write(&mut self, area: Area, lines: Vec<Line>, frame: Option<&'static str>) {
        if let Some(class) = frame {
            self.sheet.put(Layer::Off, Shape::Box { class, area });
        }
        let high: f64 = lines.iter().map(|line| line.size * LEAD).sum();
        let mut y = area.centre().y - high / 2.0;
        for line in lines {
            y += line.size * LEAD;
            self.sheet.words(
                line.class,
                Spot {
                    x: area.centre().x,
                    // The foot of the letters, their tails hang below it.
                    y: y - line.size * 0.3,
                },
                line.size,
                super::sheet::Anchor::Middle,
                line.text,
            );
        }
    }

    /// How far a sprocket is off, framed.
    fn off_label(&mut self, picture: &Picture, sprocket: &SprocketPlace) -> Result<(), OutOfRange> {
        let stand = &sprocket.stand;
        if stand.ground == Basis::Unseen || !stand.is_off() {
            return Ok(());
        }
        let drive = self.drive;
        let shaft = drive.sprocket(stand.at).shaft();
        let driven_here = drive.shaft(shaft).driven_at() == Some(stand.at);
        let wrong = wrong_link(drive, stand)?;
        let mut lines = Vec::new();
        let bold = |text: String| Line {
            class: "must off-word",
            size: NAME,
            bold: true,
            text,
        };
        let plain = |text: String| Line {
            class: "must",
            size: SMALL,
            bold: false,
            text,
        };
        if !stand.ahead.is_zero() && driven_here {
            lines.push(bold(drive.shaft(shaft).name().to_owned()));
            let how = how_far(drive, stand);
            // The trade's word stands in the head of the page.
            let how = how.split(" (").next().unwrap_or(&how);
            lines.push(bold(how.to_owned()));
        }
        if let Some((is, due)) = wrong {
            if lines.is_empty() {
                lines.push(bold(short_name(drive, stand.at)));
            }
            lines.push(plain(is));
            lines.push(plain(due));
        }
        if lines.is_empty() {
            return Ok(());
        }
        let pitch = picture.pitch * self.scale;
        let (dot, due) = sprocket.dot.unwrap_or((sprocket.tooth, sprocket.tooth));
        let back = (due - dot + 180.0).rem_euclid(360.0) - 180.0;
        let out = sprocket.radius * self.scale + pitch * 0.62;
        // At the foot of the arrow, on the side away from where it points.
        let (out, aside) = if stand.ahead.is_zero() {
            (out, 0.0)
        } else {
            (out + 2.8, -25.0 * back.signum())
        };
        let anchor = self.about(sprocket, dot, out);
        self.label(
            anchor,
            clock_way(dot + aside),
            1.6,
            lines,
            Some("off-frame"),
        );
        Ok(())
    }

    /// The name of every shaft: inside of its sprocket if there is room, else beside it.
    fn shaft_labels(&mut self, sprockets: &[(&Picture, &SprocketPlace)]) {
        let mut caption: Vec<ShaftId> = Vec::new();
        // The smallest sprocket of a shaft is the last one.
        for (picture, sprocket) in sprockets.iter().rev() {
            let id = self.drive.sprocket(sprocket.stand.at).shaft();
            if caption.contains(&id) {
                continue;
            }
            caption.push(id);
            let shaft = self.drive.shaft(id);
            let what = if shaft.name() == kind_word(shaft.kind()) {
                String::new()
            } else {
                kind_word(shaft.kind()).to_owned()
            };
            let teeth = |at| format!("{} teeth", self.drive.sprocket(at).teeth());
            let mut lines = vec![Line::name(shaft.name())];
            if !what.is_empty() {
                lines.push(Line::small(what));
            }
            match shaft.engagements() {
                [only] => lines.push(Line::small(teeth(*only))),
                several => lines.extend(several.iter().map(|at| {
                    let chain = self.drive.chain(at.chain).name();
                    Line::small(format!("{chain}: {}", teeth(*at)))
                })),
            }
            if sprocket.stand.ground == Basis::Unseen && self.drive.is_marked(id) {
                lines.push(Line::small("not looked at"));
            }
            if id == self.drive.crank() {
                lines.push(Line::small(format!(
                    "turns {}",
                    self.drive.crank_turns().word()
                )));
            }
            let (width, height) = extent(&lines);
            let inside = self.dot_circle(sprocket, picture.pitch) - self.dot(picture.pitch) - 2.6;
            let centre = self.spot(sprocket.centre);
            if (width / 2.0).hypot(height / 2.0) <= inside {
                let area = Area::around(centre, width, height);
                self.placer.take(area);
                self.write(area, lines, None);
                continue;
            }
            self.sheet.disc(Layer::Sprockets, "hub", centre, 0.9);
            if let ([_], true) = (shaft.engagements(), lines.len() > 2) {
                // Beside the sprocket there is more room across than down.
                let teeth = lines.remove(2);
                if let Some(line) = lines.get_mut(1) {
                    line.text = format!("{}, {}", line.text, teeth.text);
                }
            }
            let largest = sprockets
                .iter()
                .filter(|(_, other)| self.drive.sprocket(other.stand.at).shaft() == id)
                .map(|(picture, other)| other.radius + picture.pitch * 0.7)
                .fold(0.0, f64::max);
            // Away from the middle of the engine, the crankshaft's down.
            let x = centre.x - WIDTH / 2.0;
            let y = if id == self.drive.crank() { 60.0 } else { 6.0 };
            let length = x.hypot(y).max(1e-9);
            self.want(
                centre,
                (x / length, y / length),
                (
                    largest * self.scale + 0.8,
                    (sprocket.radius - picture.pitch * 0.5) * self.scale * 0.6,
                    0.0,
                ),
                lines,
                None,
            );
        }
    }

    /// The number and colour of every coloured link.
    fn link_labels(&mut self, picture: &Picture) {
        let pitch = picture.pitch * self.scale;
        let drive = self.drive;
        for sprocket in &picture.sprockets {
            let at = sprocket.stand.at;
            let Some(mark) = drive.sprocket(at).mark() else {
                continue;
            };
            let links: Vec<&LinkPlace> = picture
                .links
                .iter()
                .filter(|link| link.marks == Some(at))
                .collect();
            let [first, ..] = links[..] else { continue };
            let numbers: Vec<String> = {
                // Between two links the lower one comes first along the chain.
                let floor = mark.link.get().floor();
                let mut all: Vec<u16> = links.iter().map(|link| link.number).collect();
                all.sort_by_key(|number| i128::from(*number) != floor);
                all.iter().map(u16::to_string).collect()
            };
            let mut text = numbers.join("+");
            if let Some(colour) = &mark.colour {
                text.push(' ');
                text.push_str(&short(colour, 14));
            }
            // Two sprockets of one shaft may have the same mark.
            let twice = drive
                .shaft(drive.sprocket(at).shaft())
                .engagements()
                .iter()
                .any(|other| *other != at && drive.sprocket(*other).mark() == Some(mark));
            if twice {
                text = format!("{} {text}", drive.chain(picture.chain).name());
            }
            let last = links.last().copied().unwrap_or(first);
            let anchor = self
                .spot(first.middle())
                .towards(self.spot(last.middle()), 0.5);
            let outward = self.outward(picture, first);
            let line = Line {
                class: "must bold halo",
                size: LINK,
                bold: true,
                text,
            };
            self.label(anchor, outward, pitch * 0.55 + 0.6, vec![line], None);
        }
    }

    /// From a link to the outside of its loop.
    fn outward(&self, picture: &Picture, link: &LinkPlace) -> (f64, f64) {
        let along = link.end - link.begin;
        let out = match picture.travel {
            Travel::Clockwise => along.left(),
            Travel::CounterClockwise => -along.left(),
        };
        let length = out.length().max(1e-9);
        (out.x / length, -out.y / length)
    }

    fn shoe_label(&mut self, shoe: &ShoePlace) {
        let (mut anchor, middle) = (self.spot(shoe_middle(shoe)), shoe_middle(shoe));
        let toward = middle - shoe.centre;
        let length = toward.length().max(1e-9);
        // Away from the chain: towards the centre of the arc.
        let away = (-toward.x / length, toward.y / length);
        anchor = anchor.moved(away, SHOE);
        let lines = match shoe.tensioner {
            None => {
                self.word(anchor, away, 1.6, "guide");
                return;
            }
            Some(tensioner) => {
                let stroke = numbers::decimal(tensioner.stroke, 1);
                let mut lines = vec![Line::small("tensioner")];
                lines.push(Line::small(match tensioner.travel {
                    Some(travel) if travel < 0.0 => {
                        format!("{} mm too far out, all in", numbers::decimal(-travel, 1))
                    }
                    Some(travel) if travel > tensioner.stroke => {
                        format!("needs {} mm, has {stroke}", numbers::decimal(travel, 1))
                    }
                    Some(travel) => {
                        format!("{} of {stroke} mm", numbers::decimal(travel, 1))
                    }
                    None => format!("fits nowhere in {stroke} mm"),
                }));
                lines
            }
        };
        self.label(anchor, away, 1.6, lines, None);
    }

    /// A chain's name and links: in its middle, or beside it wherever there is most room if there are several.
    fn chain_label(&mut self, picture: &Picture, pictures: &[Picture]) {
        let chain = self.drive.chain(picture.chain);
        let gap = picture.pitch * self.scale * 0.5 + 0.8;
        let (lines, anchors) = if self.several {
            let text = format!("chain {}, {} links", chain.name(), chain.links());
            // Where another chain runs close by, it could be taken for that one's.
            let alone = |link: &&LinkPlace| {
                pictures
                    .iter()
                    .filter(|other| other.chain != picture.chain)
                    .flat_map(|other| &other.links)
                    .all(|other| other.begin.distance(link.begin) * self.scale > 9.0)
            };
            let anchors = picture
                .links
                .iter()
                .step_by((picture.links.len() / 60).max(3))
                .filter(alone)
                .flat_map(|link| {
                    let (x, y) = self.outward(picture, link);
                    let spot = self.spot(link.middle());
                    [(spot, (x, y), gap), (spot, (-x, -y), gap)]
                })
                .collect();
            (vec![Line::small(text)], anchors)
        } else {
            let count = f64::from(u32::try_from(picture.links.len().max(1)).unwrap_or(1));
            let (mut x, mut y) = (0.0, 0.0);
            for link in &picture.links {
                let spot = self.spot(link.middle());
                x += spot.x / count;
                y += spot.y / count;
            }
            let pitch = numbers::decimal(picture.pitch, 3);
            let lines = vec![
                Line::small(format!("chain {}", chain.name())),
                Line::small(format!("{} links of {pitch} mm", chain.links())),
            ];
            (lines, vec![(Spot { x, y }, (0.0, 1.0), -3.0)])
        };
        let size = extent(&lines);
        let wishes: Vec<Request> = anchors
            .into_iter()
            .map(|(anchor, toward, gap)| Request {
                anchor,
                toward,
                gap,
                reach: 0.0,
                lead: if self.several { 2.5 } else { f64::INFINITY },
                size,
                optional: false,
            })
            .collect();
        if let Some((request, area)) = self.placer.place_any(&wishes) {
            if let Some((from, to)) = request.leader(area) {
                self.sheet.line(Layer::Off, "leader", vec![from, to]);
            }
            self.write(area, lines, None);
        }
    }

    /// Every tenth link has its number, where there is room.
    fn link_numbers(&mut self, picture: &Picture) {
        let pitch = picture.pitch * self.scale;
        let links = self.drive.chain(picture.chain).links().get();
        for link in picture.links.iter().filter(|link| link.number % 10 == 0) {
            // Not beside a coloured one, which has its own label; nor just before link 0 again.
            let near = picture.links.iter().any(|other| {
                let apart = other.number.abs_diff(link.number);
                other.marks.is_some() && apart.min(links - apart) < 3
            });
            if near
                || self
                    .drive
                    .chain(picture.chain)
                    .sprockets()
                    .iter()
                    .all(|s| s.mark().is_none())
            {
                continue;
            }
            let text = link.number.to_string();
            let (width, height) = (width_of(&text, NUMBER, false) + 0.6, NUMBER * 1.1);
            let out = self.outward(picture, link);
            let middle = self.spot(link.middle());
            for way in [out, (-out.0, -out.1)] {
                let support = (way.0.abs() * width + way.1.abs() * height) / 2.0;
                let from = pitch * 0.5 + 1.1;
                let area = Area::around(middle.moved(way, from + support), width, height);
                if self.placer.is_free(area) {
                    self.placer.take(area);
                    let tick = vec![middle.moved(way, pitch * 0.4), middle.moved(way, from)];
                    self.sheet.line(Layer::Marks, "leader", tick);
                    let line = Line {
                        class: "num halo",
                        size: NUMBER,
                        bold: false,
                        text: text.clone(),
                    };
                    self.write(area, vec![line], None);
                    break;
                }
            }
        }
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
    let along = (end.y - begin.y).atan2(end.x - begin.x);
    let mut spots = Vec::new();
    for (spot, from) in [(end, -90.0_f64), (begin, 90.0)] {
        for step in 0..=8_u32 {
            let turn = along + (from + f64::from(step) * 22.5).to_radians();
            spots.push(spot.moved((turn.cos(), turn.sin()), radius));
        }
    }
    spots
}

/// At most so many characters.
pub(super) fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut cut: String = text.chars().take(most - 1).collect();
    cut.push('\u{2026}');
    cut
}
