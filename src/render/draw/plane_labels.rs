//! The labels of chains in their places: what each says, and near what it wants to stand.

use super::caption::{how_far, short_name, wrong_link};
use super::label::Request;
use super::lines::{LEAD, LINK, Line, NAME, NUMBER, SMALL, Wanted, size_of};
use super::picture::{LinkPlace, Picture, ShoePlace, SprocketPlace};
use super::plane::{Plane, SHOE, clock_way};
use super::sheet::{Anchor, Layer, Shape, WIDTH};
use crate::drive::ids::ShaftId;
use crate::plane::geometry::{Point, Travel};
use crate::render::svg::{Area, Spot, short, width_of};
use crate::render::words::band::Band;
use crate::render::words::{marks::kind_word, numbers};
use crate::timing::pose::Basis;
use crate::units::quantity::OutOfRange;

impl Plane<'_> {
    /// Wants lines of words near `anchor`, with a thin line to it where they stand far off.
    pub(super) fn label(
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
    pub(super) fn word(&mut self, anchor: Spot, toward: (f64, f64), gap: f64, word: &str) {
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
        let (width, height) = size_of(&lines);
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
    pub(super) fn place_labels(&mut self) {
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
                Anchor::Middle,
                line.text,
            );
        }
    }

    /// How far a sprocket is off, framed.
    pub(super) fn off_label(
        &mut self,
        picture: &Picture,
        sprocket: &SprocketPlace,
    ) -> Result<(), OutOfRange> {
        let stand = &sprocket.stand;
        if stand.basis == Basis::Unseen || !stand.is_off() {
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
    pub(super) fn shaft_labels(&mut self, sprockets: &[(&Picture, &SprocketPlace)]) {
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
            if sprocket.stand.basis == Basis::Unseen && self.drive.is_marked(id) {
                lines.push(Line::small("not looked at"));
            }
            if id == self.drive.crank() {
                lines.push(Line::small(format!(
                    "turns {}",
                    self.drive.crank_turns().word()
                )));
            }
            let (width, height) = size_of(&lines);
            let inside = self.dot_circle(sprocket, picture.pitch) - self.dot(picture.pitch) - 2.6;
            let centre = self.spot(sprocket.centre);
            if libm::hypot(width / 2.0, height / 2.0) <= inside {
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
            let length = libm::hypot(x, y).max(1e-9);
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
    pub(super) fn link_labels(&mut self, picture: &Picture) {
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

    pub(super) fn shoe_label(&mut self, shoe: &ShoePlace) {
        let (mut anchor, middle) = (self.spot(shoe.middle()), shoe.middle());
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
    pub(super) fn chain_label(&mut self, picture: &Picture, pictures: &[Picture]) {
        let chain = self.drive.chain(picture.chain);
        let gap = picture.pitch * self.scale * 0.5 + 0.8;
        let (lines, anchors) = if self.several {
            let text = format!(
                "{} {}, {} {}",
                Band::of(chain).name,
                chain.name(),
                chain.links(),
                Band::of(chain).links
            );
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
            // Gears have no links: between their centres then.
            let mut middles: Vec<Point> = picture.links.iter().map(LinkPlace::middle).collect();
            if middles.is_empty() {
                middles.extend(picture.sprockets.iter().map(|sprocket| sprocket.centre));
            }
            let count = f64::from(u32::try_from(middles.len().max(1)).unwrap_or(1));
            let (mut x, mut y) = (0.0, 0.0);
            for middle in middles {
                let spot = self.spot(middle);
                x += spot.x / count;
                y += spot.y / count;
            }
            let pitch = numbers::decimal(picture.pitch, 3);
            let lines = vec![
                Line::small(format!("{} {}", Band::of(chain).name, chain.name())),
                Line::small(format!(
                    "{} {} of {pitch} mm",
                    chain.links(),
                    Band::of(chain).links
                )),
            ];
            (lines, vec![(Spot { x, y }, (0.0, 1.0), -3.0)])
        };
        let size = size_of(&lines);
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
    pub(super) fn link_numbers(&mut self, picture: &Picture) {
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
