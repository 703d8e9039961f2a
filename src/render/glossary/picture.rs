//! The pictures of the glossary: one small drive in thin lines, and in bold ink what the word means.
#![allow(clippy::float_arithmetic, reason = "places on paper")]

use crate::drive::error::CheckError;
use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::plane::geometry::{Point, Tension, Vec2};
use crate::render::draw::{Picture, ShoePlace, SprocketPlace, on_page};
use crate::render::svg::{Area, Path, Spot, Stroke, Svg};
use crate::spec::source::Source;
use crate::timing::observe::{Observations, Seen};
use crate::timing::pose::Pose;
use crate::units::quantity::{Exact, OutOfRange, Teeth, Turns};
use std::sync::OnceLock;

/// What a picture is of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Shows {
    Link,
    Tooth,
    ColouredLinks,
    Dots,
    References,
    Timed,
    Off,
    Angles,
    TightStrand,
    SlackStrand,
    Tensioner,
    Guide,
    Phaser,
    Lookalike,
    Wandered,
}

/// How the drive in it stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Stand {
    Timed,
    /// The camshaft so many teeth ahead.
    Slipped(i64),
    /// The crankshaft turned by that fraction of turns.
    Turned(i64, i64),
    /// Each dot on the other one's link.
    Lookalike,
}

/// What the picture is about; and everything else.
const BOLD: &str = "#1558a0";
const THIN: &str = "#8a8a8a";
const PAPER: &str = "#fff";
/// The paint of the coloured links.
const PAINT: &str = "#ffd21f";

/// Which part of the drive is shown.
enum Part {
    All,
    Crank,
    Cam,
}

struct Drawing<'a> {
    svg: Svg,
    drive: &'a Drive,
    picture: &'a Picture,
    shows: Shows,
}

/// The small picture of a word.
pub(super) fn picture(
    word: &str,
    means: &str,
    shows: Shows,
    stand: Stand,
) -> Result<String, CheckError> {
    let drive = drive().ok_or(OutOfRange)?;
    let pose = pose(drive, stand)?;
    let (id, _) = drive.chains().next().ok_or(OutOfRange)?;
    let picture = Picture::new(drive, &pose, id).map_err(|_| OutOfRange)?;
    let mut drawing = Drawing {
        svg: Svg::new(2),
        drive,
        picture: &picture,
        shows,
    };
    drawing.write(word, means);
    Ok(drawing.svg.into_string())
}

/// The drive of all the pictures, read once. It is a sound spec; a test holds it to that.
fn drive() -> Option<&'static Drive> {
    static DRIVE: OnceLock<Option<Drive>> = OnceLock::new();
    let read = || {
        let spec = include_str!("../glossary.yaml");
        let source = Source::new("glossary.yaml", spec.into()).ok()?;
        Drive::read(&source).drive
    };
    DRIVE.get_or_init(read).as_ref()
}

fn pose(drive: &Drive, stand: Stand) -> Result<Pose, CheckError> {
    let marked: Vec<Engagement> = drive.engagements().map(|(at, _)| at).collect();
    let [crank, cam] = marked[..] else {
        return Err(OutOfRange.into());
    };
    match stand {
        Stand::Timed => Pose::slipped(drive, Turns::ZERO, &[]),
        Stand::Slipped(teeth) => Pose::slipped(drive, Turns::ZERO, &[(cam, Teeth::whole(teeth))]),
        Stand::Turned(above, below) => {
            let turned = Turns::new(Exact::fraction(above, below).ok_or(OutOfRange)?);
            Pose::slipped(drive, turned, &[])
        }
        Stand::Lookalike => {
            let mut seen = Observations::at_timed_position();
            for (at, other) in [(crank, cam), (cam, crank)] {
                let link = drive.sprocket(other).mark().ok_or(OutOfRange)?.link;
                seen.see_link(drive, at, Seen::Link(link))
                    .map_err(|_| OutOfRange)?;
            }
            Pose::seen(drive, &seen)
        }
    }
}

impl Drawing<'_> {
    fn write(&mut self, word: &str, means: &str) {
        let area = self.area();
        self.svg
            .element("svg")
            .set("xmlns", "http://www.w3.org/2000/svg")
            .view_box(
                (area.left, area.top),
                (area.right - area.left, area.bottom - area.top),
            )
            .set("role", "img")
            .set("aria-label", word)
            .open();
        self.svg.element("desc").text(means);
        self.svg
            .element("rect")
            .at(area.left, area.top)
            .sized(area.right - area.left, area.bottom - area.top)
            .set("fill", PAPER)
            .close();
        let picture = self.picture;
        for shoe in &picture.shoes {
            self.shoe(shoe);
        }
        for sprocket in &picture.sprockets {
            self.body(sprocket);
        }
        self.links();
        self.strands();
        for sprocket in &picture.sprockets {
            self.reference(sprocket);
            self.dot(sprocket);
        }
        self.over();
        self.svg.end("svg");
    }

    /// What is seen of the drive.
    fn area(&self) -> Area {
        let part = match self.shows {
            Shows::Link | Shows::ColouredLinks => Part::Crank,
            Shows::Tooth | Shows::Dots | Shows::References | Shows::Off | Shows::Phaser => {
                Part::Cam
            }
            _ => Part::All,
        };
        let of = |sprocket: &SprocketPlace| {
            let size = (sprocket.radius + self.picture.pitch * 2.6) * 2.0;
            Area::around(on_page(sprocket.centre), size, size)
        };
        match (part, &self.picture.sprockets[..]) {
            (Part::Crank, [crank, ..]) => of(crank),
            (Part::Cam, [_, cam]) => of(cam),
            _ => Area {
                left: -62.0,
                top: -156.0,
                right: 62.0,
                bottom: 34.0,
            },
        }
    }

    fn ink(&self, bold: bool) -> Stroke {
        let stroke = Stroke::of(if bold { BOLD } else { THIN });
        stroke.wide(if bold { 1.8 } else { 0.5 })
    }

    fn line(&mut self, path: &Path, stroke: Stroke, fill: &'static str) {
        self.svg
            .element("path")
            .path(path)
            .set("fill", fill)
            .stroke(stroke)
            .close();
    }

    fn circle(&mut self, at: Spot, radius: f64, stroke: Stroke, fill: &'static str) {
        self.svg
            .element("circle")
            .set("cx", at.x)
            .set("cy", at.y)
            .set("r", radius)
            .set("fill", fill)
            .stroke(stroke)
            .close();
    }

    fn body(&mut self, sprocket: &SprocketPlace) {
        let step = 360.0 / f64::from(sprocket.teeth);
        let pitch = self.picture.pitch;
        let spot = |off: f64, high: f64| {
            on_page(sprocket.at_clock(sprocket.tooth + off * step, sprocket.radius + high * pitch))
        };
        let outline = self.picture.tooth;
        let teeth: Vec<Spot> = (0..sprocket.teeth)
            .flat_map(|tooth| {
                outline
                    .iter()
                    .map(move |(off, high)| (f64::from(tooth) + off, *high))
            })
            .map(|(off, high)| spot(off, high))
            .collect();
        let thin = self.ink(false);
        self.line(&Path::along(&teeth, true), thin, "none");
        self.circle(
            on_page(sprocket.centre),
            sprocket.radius * 0.16,
            thin,
            "none",
        );
        let last = self.picture.sprockets.last().map(|last| last.stand.at);
        if self.shows == Shows::Tooth && last == Some(sprocket.stand.at) {
            // Not where the dot is, and outside of the chain.
            let mut tooth: Vec<Spot> = outline
                .iter()
                .map(|(off, high)| spot(off + 8.0, *high))
                .collect();
            tooth.push(spot(8.5, -0.3));
            let bold = self.ink(true);
            self.line(&Path::along(&tooth, false), bold, "none");
        }
    }

    fn links(&mut self) {
        let pitch = self.picture.pitch;
        for link in &self.picture.links {
            let (begin, end) = (on_page(link.begin), on_page(link.end));
            let coloured = link.marks.is_some();
            let high = if link.number % 2 == 0 { 0.34 } else { 0.26 } * pitch;
            let bold = match self.shows {
                Shows::Link => link.number == 2,
                Shows::ColouredLinks | Shows::Timed | Shows::Lookalike | Shows::Wandered => {
                    coloured
                }
                _ => false,
            };
            let (dx, dy) = ((end.x - begin.x) / pitch, (end.y - begin.y) / pitch);
            let corner = |from: Spot, along: f64, across: f64| Spot {
                x: from.x + dx * along - dy * across,
                y: from.y + dy * along + dx * across,
            };
            let more = pitch * 0.2;
            let plate = [
                corner(begin, -more, high),
                corner(end, more, high),
                corner(end, more, -high),
                corner(begin, -more, -high),
            ];
            let stroke = self.ink(bold);
            let fill = if coloured { PAINT } else { "none" };
            self.line(&Path::along(&plate, true), stroke, fill);
            if self.shows == Shows::Link && bold {
                for pin in [begin, end] {
                    self.circle(pin, pitch * 0.16, stroke, PAPER);
                }
            }
        }
    }

    fn strands(&mut self) {
        let wanted = match self.shows {
            Shows::TightStrand => Tension::Tight,
            Shows::SlackStrand => Tension::Slack,
            _ => return,
        };
        let bold = self.ink(true).wide(3.2);
        for (strand, tension) in &self.picture.strands {
            if *tension == wanted {
                let ends = [on_page(strand.begin), on_page(strand.end)];
                self.line(&Path::along(&ends, false), bold, "none");
            }
        }
    }

    fn shoe(&mut self, shoe: &ShoePlace) {
        let pitch = self.picture.pitch;
        let wanted = match shoe.tensioner {
            Some(_) => Shows::Tensioner,
            None => Shows::Guide,
        };
        let stroke = self.ink(self.shows == wanted);
        let Some((first, last)) = shoe.arc else {
            return;
        };
        let more = (last - first).signum() * (pitch / shoe.radius).to_degrees();
        let near = shoe.radius - pitch * 0.5;
        let arc = |radius: f64, from: f64, to: f64| {
            (0..=12_u32).map(move |step| {
                let clock = from + (to - from) * f64::from(step) / 12.0;
                on_page(shoe.centre + Vec2::from_clock(clock) * radius)
            })
        };
        let (from, to) = (first - more, last + more);
        let outline: Vec<Spot> = arc(near, from, to)
            .chain(arc(near - pitch * 0.7, to, from))
            .collect();
        self.line(&Path::along(&outline, true), stroke, PAPER);
        if let Some(tensioner) = shoe.tensioner {
            let way = Vec2::from_clock(tensioner.pushes);
            let side = Vec2::from_clock(tensioner.pushes + 90.0);
            let clock = f64::midpoint(first, last);
            let middle = shoe.centre + Vec2::from_clock(clock) * (near - pitch * 0.7);
            let corner = |along: f64, across: f64| on_page(middle - way * along + side * across);
            let (long, half) = (pitch * 2.0, pitch * 0.5);
            let body = [
                corner(0.0, half),
                corner(long, half),
                corner(long, -half),
                corner(0.0, -half),
            ];
            self.line(&Path::along(&body, true), stroke, PAPER);
            // The pin that holds it back.
            let pin = corner(long * 0.55, 0.0);
            self.circle(pin, pitch * 0.22, stroke, PAPER);
        }
    }

    fn dot_spot(&self, sprocket: &SprocketPlace, clock: f64) -> Spot {
        on_page(sprocket.at_clock(clock, sprocket.radius - self.picture.pitch * 1.1))
    }

    fn dot(&mut self, sprocket: &SprocketPlace) {
        let Some((is, due)) = sprocket.dot else {
            return;
        };
        let bold = matches!(
            self.shows,
            Shows::Dots
                | Shows::References
                | Shows::Timed
                | Shows::Off
                | Shows::Lookalike
                | Shows::Wandered
                | Shows::Angles
                | Shows::Phaser
        );
        let ink = if bold { BOLD } else { THIN };
        let (stroke, size) = (self.ink(bold), self.picture.pitch * 0.32);
        let spot = self.dot_spot(sprocket, is);
        if !sprocket.stand.ahead.is_zero() {
            let ring = self.dot_spot(sprocket, due);
            let dashed = stroke.wide(0.8).dashed("1.6 1.2");
            self.circle(ring, size * 1.35, dashed, "none");
        }
        self.circle(spot, size, stroke, ink);
    }

    /// The mark on the engine beside where the dot belongs in the timed position.
    fn reference(&mut self, sprocket: &SprocketPlace) {
        let bold = matches!(
            self.shows,
            Shows::References | Shows::Timed | Shows::Wandered | Shows::Lookalike
        );
        let clock = self
            .drive
            .sprocket(sprocket.stand.at)
            .dot()
            .map(|dot| dot.get().to_f64());
        let (Some(clock), true) = (clock, bold || self.shows == Shows::Dots) else {
            return;
        };
        let pitch = self.picture.pitch;
        let out = sprocket.radius + pitch * 0.9;
        let side = (pitch * 0.45 / out).to_degrees();
        let corner = |clock: f64, radius: f64| on_page(sprocket.at_clock(clock, radius));
        let arrow = [
            corner(clock, out),
            corner(clock - side, out + pitch * 1.1),
            corner(clock + side, out + pitch * 1.1),
        ];
        let stroke = self.ink(bold).wide(0.5);
        let fill = if bold { BOLD } else { "none" };
        self.line(&Path::along(&arrow, true), stroke, fill);
    }

    /// What is drawn over everything else.
    fn over(&mut self) {
        for sprocket in &self.picture.sprockets {
            let Some((is, due)) = sprocket.dot else {
                continue;
            };
            match self.shows {
                Shows::Angles => {
                    let from =
                        is - sprocket.turns.sign() * 360.0 * sprocket.stand.past.get().to_f64();
                    self.sector(sprocket, from, is);
                }
                Shows::Off if !sprocket.stand.ahead.is_zero() => self.sector(sprocket, due, is),
                Shows::Phaser => self.reach(sprocket, is),
                _ => {}
            }
        }
    }

    fn arc(&self, sprocket: &SprocketPlace, from: f64, to: f64, radius: f64) -> Vec<Spot> {
        (0..=16_u32)
            .map(|step| from + (to - from) * f64::from(step) / 16.0)
            .map(|clock| on_page(sprocket.at_clock(clock, radius)))
            .collect()
    }

    /// The angle from one place of the dot to the other.
    fn sector(&mut self, sprocket: &SprocketPlace, from: f64, to: f64) {
        let radius = sprocket.radius * 0.55;
        // Not the long way round.
        let way = (to - from + 180.0).rem_euclid(360.0) - 180.0;
        let mut outline = self.arc(sprocket, from, from + way, radius);
        outline.push(on_page(sprocket.centre));
        let stroke = self.ink(true).wide(0.8);
        self.line(&Path::along(&outline, true), stroke, "#cfe0f2");
    }

    /// How far the camshaft can turn against its sprocket.
    fn reach(&mut self, sprocket: &SprocketPlace, parked: f64) {
        let shaft = self
            .drive
            .shaft(self.drive.sprocket(sprocket.stand.at).shaft());
        let Some(phaser) = shaft.phaser() else { return };
        let speed = shaft.speed().to_f64();
        let turn = sprocket.turns.sign() * phaser.range.get().to_f64() * speed.abs();
        let hub = |clock: f64| -> [Spot; 2] {
            let at = |radius: f64| -> Point { sprocket.at_clock(clock, radius) };
            [on_page(at(0.0)), on_page(at(sprocket.radius * 0.62))]
        };
        let bold = self.ink(true);
        self.circle(
            on_page(sprocket.centre),
            sprocket.radius * 0.62,
            self.ink(false),
            "none",
        );
        self.line(&Path::along(&hub(parked), false), bold, "none");
        self.line(
            &Path::along(&hub(parked + turn), false),
            bold.wide(0.8).dashed("1.6 1.2"),
            "none",
        );
        let arc = self.arc(sprocket, parked, parked + turn, sprocket.radius * 0.5);
        self.line(&Path::along(&arc, false), bold.wide(0.8), "none");
    }
}
