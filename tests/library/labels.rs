//! The words of a picture, measured on the drawn output: none covers another, teeth, links or dots, none is cut off by
//! the edge, and each stands nearer to the part it names than to another of its kind.
#![allow(
    clippy::float_arithmetic,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use crate::support::drawn::is_coloured;
use roxmltree::{Document, Node};
use tautmark::{
    Drive,
    render::draw_svg,
    spec::ShaftKind,
    timing::Pose,
    units::{Exact, Teeth, Turns},
};

/// Advance widths of ' ' to '~' in thousandths of an em, from the `hmtx` table of the font DejaVu Sans 2.37, the widest of
/// those that a picture asks for: Helvetica's and Arial's letters are narrower, but for a handful by a hundredth or two.
const PLAIN: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];
/// The same of DejaVu Sans Bold.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683,
    683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771,
    724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665,
    343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];
/// How far its letters reach above and below the line they stand on, in ems: `b` and `g` of the same font.
const ABOVE: f64 = 0.76;
const BELOW: f64 = 0.24;

type Spot = (f64, f64);

#[derive(Clone, Copy, Debug)]
struct Area {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Area {
    fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn and(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    fn centre(self) -> Spot {
        (
            f64::midpoint(self.left, self.right),
            f64::midpoint(self.top, self.bottom),
        )
    }

    fn off_spot(self, (x, y): Spot) -> f64 {
        (x - x.clamp(self.left, self.right)).hypot(y - y.clamp(self.top, self.bottom))
    }

    /// From a line; 0 if it runs over the area. Halved until the pieces are short, which is slow and plain.
    fn off_line(self, from: Spot, to: Spot) -> f64 {
        let middle = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
        let half = distance(from, to) / 2.0;
        let there = self.off_spot(middle);
        if half < 0.02 || there > half + 12.0 {
            return (there - half).max(0.0);
        }
        if there <= 0.0 {
            return 0.0;
        }
        self.off_line(from, middle).min(self.off_line(middle, to))
    }

    fn off_way(self, way: &[Spot]) -> f64 {
        way.windows(2)
            .map(|ends| self.off_line(ends[0], ends[1]))
            .fold(f64::INFINITY, f64::min)
    }
}

fn distance(one: Spot, other: Spot) -> f64 {
    (one.0 - other.0).hypot(one.1 - other.1)
}

fn class<'a>(node: &Node<'a, '_>) -> &'a str {
    node.attribute("class").unwrap_or("")
}

fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap_or("0").parse().unwrap()
}

/// The numbers of a text, whatever stands between them.
fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|piece| !piece.is_empty())
        .map(|piece| piece.parse().unwrap())
        .collect()
}

/// The corners of a path of straight lines, the first again at the end of a closed one.
fn way(node: &Node<'_, '_>) -> Vec<Spot> {
    let text = node.attribute("d").unwrap();
    assert!(!text[1..].contains('M') && !text.contains('V'), "{text}");
    let mut spots: Vec<Spot> = numbers(text)
        .chunks(2)
        .map(|pair| (pair[0], pair[1]))
        .collect();
    if text.ends_with('Z') {
        spots.push(spots[0]);
    }
    spots
}

fn point((x, y): Spot) -> Area {
    Area {
        left: x,
        top: y,
        right: x,
        bottom: y,
    }
}

fn text_box(node: &Node<'_, '_>) -> Area {
    let size = number(node, "font-size");
    let bold = ["bold", "title", "off-word"]
        .iter()
        .any(|word| class(node).split(' ').any(|own| own == *word));
    let widths = if bold { &BOLD } else { &PLAIN };
    let thousandths: u32 = node
        .text()
        .unwrap_or("")
        .chars()
        .map(|c| u32::from(widths[usize::try_from(u32::from(c) - 32).unwrap()]))
        .sum();
    let width = f64::from(thousandths) / 1000.0 * size;
    let (x, y) = (number(node, "x"), number(node, "y"));
    let left = match node.attribute("text-anchor") {
        Some("middle") => x - width / 2.0,
        _ => x,
    };
    Area {
        left,
        top: y - ABOVE * size,
        right: left + width,
        bottom: y + BELOW * size,
    }
}

struct Link {
    chain: String,
    number: u16,
    coloured: bool,
    middle: Spot,
    /// From the middle of one of its round ends to that of the other, and how thick it is.
    from: Spot,
    to: Spot,
    radius: f64,
}

impl Link {
    fn off_area(&self, area: Area) -> f64 {
        (area.off_line(self.from, self.to) - self.radius).max(0.0)
    }
}

struct Label {
    of: String,
    text: String,
    /// Each line of words, and the frame if it has one.
    boxes: Vec<Area>,
    whole: Area,
    line: Option<Vec<Spot>>,
}

/// What is drawn, read from the file alone.
struct Drawn {
    sheet: Area,
    /// Words that are no label of a part: head and key.
    words: Vec<(String, Area)>,
    labels: Vec<Label>,
    links: Vec<Link>,
    /// Outlines with the part they are.
    bodies: Vec<(String, Vec<Spot>)>,
    shoes: Vec<(String, Vec<Spot>)>,
    strands: Vec<(String, Vec<Spot>)>,
    /// Arrows on sprockets, and what belongs to a dot that is off.
    lines: Vec<Vec<Spot>>,
    dots: Vec<(Spot, f64)>,
}

fn link(node: &Node<'_, '_>) -> Link {
    let place = numbers(node.attribute("transform").unwrap());
    let [x, y, angle] = place[..] else {
        panic!("{place:?}")
    };
    let plate = node.first_element_child().unwrap();
    // A piece of a belt is an outline.
    let (length, height) = if plate.has_tag_name("path") {
        let size = way(&plate)
            .into_iter()
            .map(point)
            .reduce(Area::and)
            .unwrap();
        (size.right - size.left, size.bottom - size.top)
    } else {
        (number(&plate, "width"), number(&plate, "height"))
    };
    let half = (length - height) / 2.0;
    let (sin, cos) = angle.to_radians().sin_cos();
    let end = |way: f64| (x + cos * half * way, y + sin * half * way);
    Link {
        chain: node.attribute("data-chain").unwrap().to_owned(),
        number: node.attribute("data-link").unwrap().parse().unwrap(),
        coloured: is_coloured(node),
        middle: (x, y),
        from: end(-1.0),
        to: end(1.0),
        radius: height / 2.0,
    }
}

fn label(node: &Node<'_, '_>) -> Label {
    let mut boxes = Vec::new();
    let mut line = None;
    let mut text: Vec<&str> = Vec::new();
    for child in node.children().filter(Node::is_element) {
        match child.tag_name().name() {
            "text" => {
                boxes.push(text_box(&child));
                text.push(child.text().unwrap_or(""));
            }
            "rect" => {
                let (left, top) = (number(&child, "x"), number(&child, "y"));
                boxes.push(Area {
                    left,
                    top,
                    right: left + number(&child, "width"),
                    bottom: top + number(&child, "height"),
                });
            }
            "path" => line = Some(way(&child)),
            other => panic!("{other}"),
        }
    }
    Label {
        of: node.attribute("data-of").unwrap().to_owned(),
        text: text.join(" / "),
        whole: boxes.iter().copied().reduce(Area::and).unwrap(),
        boxes,
        line,
    }
}

impl Drawn {
    fn read(svg: &str) -> Self {
        let document = Document::parse(svg).unwrap();
        let root = document.root_element();
        let view = numbers(root.attribute("viewBox").unwrap());
        let mut drawn = Self {
            sheet: Area {
                left: 0.0,
                top: 0.0,
                right: view[2],
                bottom: view[3],
            },
            words: Vec::new(),
            labels: Vec::new(),
            links: Vec::new(),
            bodies: Vec::new(),
            shoes: Vec::new(),
            strands: Vec::new(),
            lines: Vec::new(),
            dots: Vec::new(),
        };
        let mut in_key = false;
        for node in root.children().filter(Node::is_element) {
            let part = node.attribute("data-part").map(str::to_owned);
            match (node.tag_name().name(), class(&node), part) {
                ("text", ..) => {
                    let words = node.text().unwrap_or("").to_owned();
                    drawn.words.push((words, text_box(&node)));
                }
                ("g", "label", _) => drawn.labels.push(label(&node)),
                ("g", "link", _) => drawn.links.push(link(&node)),
                ("path", "body", Some(part)) => drawn.bodies.push((part, way(&node))),
                ("path", "guide" | "tensioner" | "plunger", Some(part)) => {
                    drawn.shoes.push((part, way(&node)));
                }
                ("path", "tight" | "slack", Some(part)) => drawn.strands.push((part, way(&node))),
                ("path", "turning" | "off-line" | "off-dash", None) => {
                    drawn.lines.push(way(&node));
                }
                ("circle", "dot" | "dot-off" | "dot-unseen" | "off-ring", _) => drawn.dots.push((
                    (number(&node, "cx"), number(&node, "cy")),
                    number(&node, "r"),
                )),
                ("path", "rule", _) => in_key = true,
                _ => {}
            }
        }
        assert!(in_key && !drawn.labels.is_empty() && !drawn.links.is_empty());
        drawn
    }

    /// How far an area is from a part.
    fn off_part(&self, part: &str, area: Area) -> f64 {
        let ways = |all: &[(String, Vec<Spot>)]| {
            all.iter()
                .filter(|(own, _)| own == part)
                .map(|(_, way)| {
                    if way.first() == way.last() && inside(way, area.centre()) {
                        0.0
                    } else {
                        area.off_way(way)
                    }
                })
                .fold(f64::INFINITY, f64::min)
        };
        match part.split('-').collect::<Vec<_>>()[..] {
            ["shaft", _] => ways(&self.bodies),
            ["shoe", _, _] => ways(&self.shoes),
            ["strand", _, _] => ways(&self.strands),
            ["chain", chain] => self
                .links
                .iter()
                .filter(|link| link.chain == chain)
                .map(|link| link.off_area(area))
                .fold(f64::INFINITY, f64::min),
            ["link", chain, number] => {
                let number: u16 = number.parse().unwrap();
                let own = |link: &&Link| link.chain == chain && link.number == number;
                let link = self.links.iter().find(own).unwrap();
                link.off_area(area)
            }
            _ => panic!("{part}"),
        }
    }

    /// The parts of the same kind that a label could be taken to name.
    fn rivals(&self, part: &str) -> Vec<String> {
        let named =
            |all: &[(String, Vec<Spot>)]| all.iter().map(|(part, _)| part.clone()).collect();
        let all: Vec<String> = match part.split('-').collect::<Vec<_>>()[..] {
            ["shaft", _] => named(&self.bodies),
            ["shoe", _, _] => named(&self.shoes),
            ["strand", _, _] => named(&self.strands),
            ["chain", _] => self
                .links
                .iter()
                .map(|link| format!("chain-{}", link.chain))
                .collect(),
            ["link", chain, number] => {
                let number: u16 = number.parse().unwrap();
                // The second of two links for one dot is named with it.
                let own = |link: &&Link| link.chain == chain && link.number.abs_diff(number) < 2;
                self.links
                    .iter()
                    .filter(|link| link.coloured && !own(link))
                    .map(|link| format!("link-{}-{}", link.chain, link.number))
                    .collect()
            }
            _ => panic!("{part}"),
        };
        let mut all: Vec<String> = all.into_iter().filter(|other| other != part).collect();
        all.sort();
        all.dedup();
        all
    }

    /// Everything that is wrong with the words of the picture.
    fn faults(&self) -> Vec<String> {
        let mut found = Vec::new();
        let words = self.words.iter().map(|(text, area)| (text, *area, None));
        let boxes = self.labels.iter().enumerate().flat_map(|(place, label)| {
            label
                .boxes
                .iter()
                .map(move |area| (&label.text, *area, Some(place)))
        });
        let all: Vec<(&String, Area, Option<usize>)> = words.chain(boxes).collect();
        for (place, (text, area, label)) in all.iter().enumerate() {
            if area.left < 0.0
                || area.top < 0.0
                || area.right > self.sheet.right
                || area.bottom > self.sheet.bottom
            {
                found.push(format!("edge: '{text}'"));
            }
            for (other, its, of) in &all[..place] {
                if area.overlaps(*its) && (label.is_none() || label != of) {
                    found.push(format!("overlap: '{text}' and '{other}'"));
                }
            }
        }
        for label in &self.labels {
            self.faults_of(label, &mut found);
        }
        found
    }

    fn faults_of(&self, label: &Label, found: &mut Vec<String>) {
        let Label { of, text, .. } = label;
        for area in &label.boxes {
            for link in &self.links {
                if link.off_area(*area) <= 0.0 {
                    let Link { chain, number, .. } = link;
                    found.push(format!(
                        "link: '{text}' over link {number} of chain {chain}"
                    ));
                }
            }
            for (part, body) in &self.bodies {
                if area.off_way(body) <= 0.0 {
                    found.push(format!("teeth: '{text}' over the teeth of {part}"));
                } else if of.starts_with("shaft") && of != part && inside(body, area.centre()) {
                    found.push(format!("body: '{text}' on {part}"));
                }
            }
            for (part, shoe) in &self.shoes {
                if area.off_way(shoe) <= 0.0 || inside(shoe, area.centre()) {
                    found.push(format!("shoe: '{text}' over {part}"));
                }
            }
            let strands = self.strands.iter().map(|(_, way)| way);
            for line in self.lines.iter().chain(strands) {
                if area.off_way(line) <= 0.0 {
                    found.push(format!("line: '{text}' over an arrow or a line"));
                }
            }
            for (centre, radius) in &self.dots {
                if area.off_spot(*centre) < *radius {
                    found.push(format!("dot: '{text}' over a dot"));
                }
            }
            for other in &self.labels {
                if let Some(line) = &other.line
                    && !std::ptr::eq(other, label)
                    && area.off_way(line) <= 0.0
                {
                    found.push(format!("struck: '{text}' by the line of '{}'", other.text));
                }
            }
        }
        let plain = text.parse::<u16>().is_ok();
        if plain {
            let own = format!("{of}-");
            let off = |link: &Link| distance(label.whole.centre(), link.middle);
            let nearest = self
                .links
                .iter()
                .min_by(|one, other| off(one).total_cmp(&off(other)));
            let nearest = nearest.unwrap();
            if own != format!("link-{}-{}-", nearest.chain, nearest.number) {
                found.push(format!(
                    "wrong: number {text} is nearest to link {}",
                    nearest.number
                ));
            }
            return;
        }
        let own = self.off_part(of, label.whole);
        for rival in self.rivals(of) {
            let its = self.off_part(&rival, label.whole);
            if its <= own {
                // A line that ends at its own part ties it to that all the same.
                let end = |line: &Vec<Spot>| self.off_part(of, point(line[line.len() - 1]));
                let tied = label.line.as_ref().is_some_and(|line| end(line) < 6.0);
                let kind = if tied { "tied" } else { "wrong" };
                found.push(format!(
                    "{kind}: '{text}' of {of} ({own:.1} away) is nearer to {rival} ({its:.1})"
                ));
            }
        }
    }
}

/// Does a spot lie within an outline?
fn inside(outline: &[Spot], (x, y): Spot) -> bool {
    outline
        .windows(2)
        .filter(|ends| {
            let ((x1, y1), (x2, y2)) = (ends[0], ends[1]);
            (y1 > y) != (y2 > y) && x < x1 + (y - y1) / (y2 - y1) * (x2 - x1)
        })
        .count()
        % 2
        == 1
}

/// Every crank place of a cycle, 15 degrees apart.
fn turned(place: i64) -> Turns {
    Turns::new(Exact::fraction(place, 24).unwrap())
}

const SLIPS: [i64; 8] = [-4, -3, -2, -1, 1, 2, 3, 4];

/// Faults of one engine: its camshafts one after the other from 4 teeth behind to 4 ahead, at 48 crank places. Each
/// camshaft has each of its slips at every eighth of the places, or at every one where `CASES_TIMES` asks for a long run.
///
/// `known`: faults of the short run for which no place was found yet, in the crowd between the banks of a V engine: labels that
/// are not nearest to their own part but tied to it by a line, and boxes over each other. There may only be fewer.
fn engine(name: &str, [tied, overlaps]: [usize; 2]) {
    let text = std::fs::read_to_string(format!("engines/{name}.yaml")).unwrap();
    let drive = crate::support::drive(&text);
    let all = std::env::var_os("CASES_TIMES").is_some();
    let mut seen = 0;
    let mut bad = Vec::new();
    let mut look = |what: String, pose: &Pose| {
        let svg = draw_svg(&drive, pose, None).unwrap();
        let faults = Drawn::read(&svg).faults();
        seen += 1;
        bad.extend(faults.into_iter().map(|fault| format!("{what}: {fault}")));
    };
    for place in 0..48 {
        let pose = Pose::slipped(&drive, turned(place), &[]).unwrap();
        look(format!("{place}/24 turns"), &pose);
        for (cam, at) in (0_i64..).zip(camshafts(&drive)) {
            for (turn, teeth) in (0_i64..).zip(SLIPS) {
                if !all && (place + cam + turn) % 8 != 0 {
                    continue;
                }
                let slip = [(at, Teeth::whole(teeth))];
                let pose = Pose::slipped(&drive, turned(place), &slip).unwrap();
                look(
                    format!("{place}/24 turns, sprocket {} {teeth}", at.sprocket),
                    &pose,
                );
            }
        }
    }
    let counts = |kind: &str| {
        bad.iter()
            .filter(|fault| fault.contains(&format!(": {kind}: ")))
            .count()
    };
    let kinds = [
        "edge", "overlap", "link", "teeth", "body", "shoe", "line", "dot", "struck", "wrong",
        "tied",
    ];
    let tally: Vec<String> = kinds
        .iter()
        .map(|kind| format!("{kind} {}", counts(kind)))
        .collect();
    let times = if all { 12 } else { 1 };
    let known = counts("tied") + counts("overlap");
    assert!(
        counts("tied") <= tied * times
            && counts("overlap") <= overlaps * times
            && bad.len() == known,
        "{name}: {} faults in {seen} pictures: {}\n{}",
        bad.len(),
        tally.join(", "),
        bad.iter().take(40).cloned().collect::<Vec<_>>().join("\n")
    );
}

/// The sprocket over which each camshaft is driven.
fn camshafts(drive: &Drive) -> Vec<tautmark::drive::Engagement> {
    drive
        .shafts()
        .filter(|(_, shaft)| shaft.kind() == ShaftKind::Camshaft)
        .filter_map(|(_, shaft)| shaft.driven_at())
        .collect()
}

macro_rules! engines {
    ($($test:ident: $name:literal $known:tt),* $(,)?) => {
        $(#[test]
        fn $test() {
            engine($name, $known);
        })*

        #[test]
        fn every_engine_is_looked_at() {
            let named = [$(concat!($name, ".yaml")),*];
            for (name, _) in crate::support::engines() {
                assert!(named.contains(&name.as_str()), "{name}");
            }
        }
    };
}

engines! {
    buzzard: "buzzard-v8" [4, 0],
    dipper: "dipper-belt" [0, 0],
    dunnock: "dunnock-facing" [0, 0],
    heron: "heron-v6" [11, 3],
    kestrel: "kestrel-four" [0, 0],
    linnet: "linnet-idler" [0, 0],
    plover: "plover-three" [0, 0],
    siskin: "siskin-v6" [4, 0],
    tern: "tern-between" [0, 0],
    wren: "wren-single" [0, 0],
}
