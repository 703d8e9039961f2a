//! Pictures: what is drawn is where the model says, and can be read.
#![allow(
    clippy::float_arithmetic,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use crate::support::drawn::is_coloured;
use crate::support::program::scratch;
use roxmltree::{Document, Node};
use std::process::{Command, Output};
use tautmark::{
    Check, Drive, Observations, Seen, Source, check,
    drive::Engagement,
    job::View,
    link_named,
    render::{Look, Paper, Picture, draw_svg, draw_svg_seen, draw_text},
    spec::{ShaftKind, Viewpoint},
    timing::{Basis, Pose, SprocketPose, roll},
    units::{Exact, Teeth, Turns},
};

/// A tooth may be drawn so far from where it is, in mm of the engine: what specs may be off by.
const TOLERANCE: f64 = 0.1;

fn engines() -> Vec<(String, Drive)> {
    let engines = crate::support::engines().into_iter();
    engines.map(|(name, text)| (name, read(&text))).collect()
}

fn read(text: &str) -> Drive {
    let source = Source::new("test", text.into()).unwrap();
    let reading = Drive::read(&source);
    reading
        .drive
        .unwrap_or_else(|| panic!("{:?}", reading.findings))
}

fn engine(name: &str) -> Drive {
    read(&std::fs::read_to_string(format!("engines/{name}.yaml")).unwrap())
}

/// The same drive without places and pitches.
fn without_geometry(name: &str) -> Drive {
    let text = std::fs::read_to_string(format!("engines/{name}.yaml")).unwrap();
    let mut out = String::new();
    for line in text
        .lines()
        .filter(|line| !line.trim().starts_with("pitch:"))
    {
        let mut line = line.to_owned();
        if let Some(at) = line.find(", at: [") {
            let end = at + line[at..].find(']').unwrap();
            line.replace_range(at..=end, "");
        }
        out.push_str(&line);
        out.push('\n');
    }
    read(&out)
}

fn turns(text: &str) -> Turns {
    Turns::new(Exact::parse(text).unwrap())
}

fn right(drive: &Drive, turned: &str) -> Pose {
    Pose::slipped(drive, turns(turned), &[]).unwrap()
}

fn slipped(drive: &Drive, shaft: &str, teeth: i64) -> Pose {
    let at = link_named(drive, shaft).unwrap();
    Pose::slipped(drive, Turns::ZERO, &[(at, Teeth::whole(teeth))]).unwrap()
}

/// Every state in which each engine's picture is looked at.
fn states(drive: &Drive) -> Vec<(String, Pose, Option<Check>)> {
    let mut all = vec![
        ("timed".to_owned(), right(drive, "0"), None),
        ("3/2 turns".to_owned(), right(drive, "3/2"), None),
        ("7 turns".to_owned(), right(drive, "7"), None),
    ];
    for (at, sprocket) in drive.engagements() {
        for teeth in [-2, 1] {
            let pose = Pose::slipped(drive, Turns::ZERO, &[(at, Teeth::whole(teeth))]).unwrap();
            let name = drive.shaft(sprocket.shaft()).name();
            all.push((format!("{name} {teeth}"), pose, None));
        }
    }
    // Only the crankshaft was looked at.
    let mut seen = Observations::at_timed_position();
    let crank = drive.shaft(drive.crank()).engagements()[0];
    seen.see_dot(drive, crank, "on".parse().unwrap()).unwrap();
    let outcome = check(drive, &seen).unwrap();
    let pose = Pose::seen(drive, &seen).unwrap();
    all.push(("crank only".to_owned(), pose, Some(outcome)));
    all
}

fn class<'a>(node: &Node<'a, '_>) -> Vec<&'a str> {
    node.attribute("class")
        .unwrap_or("")
        .split_whitespace()
        .collect()
}

fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// How often something of that class is drawn.
fn count(svg: &str, wanted: &str) -> usize {
    let document = Document::parse(svg).unwrap();
    document
        .descendants()
        .filter(|node| class(node).contains(&wanted))
        .count()
}

/// All that is written, with a bar between texts.
fn words(svg: &str) -> String {
    let document = Document::parse(svg).unwrap();
    document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .filter_map(|node| node.text())
        .collect::<Vec<_>>()
        .join("|")
}

/// Degrees from one clock angle to another, the short way.
fn between(one: f64, other: f64) -> f64 {
    (other - one + 180.0).rem_euclid(360.0) - 180.0
}

#[test]
fn every_picture_is_well_formed_and_has_every_link() {
    for (name, drive) in engines() {
        for (state, pose, outcome) in states(&drive) {
            let svg = draw_svg(&drive, &pose, outcome.as_ref()).unwrap();
            let document = Document::parse(&svg).unwrap_or_else(|e| panic!("{name} {state}: {e}"));
            let root = document.root_element();
            assert!(root.has_tag_name("svg"));
            assert_eq!(root.attribute("role"), Some("img"));
            assert!(root.attribute("width").is_none(), "a phone and A4 alike");
            let title = root.first_element_child().unwrap();
            assert!(title.has_tag_name("title"));
            assert!(title.text().unwrap().contains(drive.engine()));
            let about = title.next_sibling_element().unwrap();
            assert!(about.has_tag_name("desc") && about.text().unwrap().contains("crankshaft"));
            for attribute in document.descendants().flat_map(|node| node.attributes()) {
                let value = attribute.value();
                assert!(
                    !value.contains("NaN") && !value.contains("inf"),
                    "{name} {state}: {value}"
                );
            }
            for (id, chain) in drive.chains() {
                let own = id.index().to_string();
                let mut links: Vec<u16> = document
                    .descendants()
                    .filter(|node| {
                        class(node).contains(&"link") && node.attribute("data-chain") == Some(&own)
                    })
                    .map(|node| node.attribute("data-link").unwrap().parse().unwrap())
                    .collect();
                links.sort_unstable();
                let all: Vec<u16> = (0..chain.links().get()).collect();
                assert_eq!(links, all, "{name} {state} {}", chain.name());
            }
        }
    }
}

/// Where the links of a mark lie on their sprocket, in clock degrees: between the two where there are two.
fn link_clock(picture: &Picture, link: Exact, centre: tautmark::plane::geometry::Point) -> f64 {
    let place = |number: i128| {
        let number = number.rem_euclid(i128::try_from(picture.links.len()).unwrap());
        picture.links[usize::try_from(number).unwrap()].middle()
    };
    let point = if link.is_whole() {
        place(link.floor())
    } else {
        let (one, other) = (place(link.floor()), place(link.floor() + 1));
        one + (other - one) * 0.5
    };
    (point - centre).to_clock()
}

#[test]
fn links_lie_on_their_dots_when_timed_and_as_roll_says_after() {
    let mut told = 0;
    for (name, drive) in engines() {
        for turned in ["0", "1", "2", "3/2", "34", "1999/4"] {
            let pose = right(&drive, turned);
            let rolled = roll(&drive, turns(turned)).unwrap();
            for (id, _) in drive.chains() {
                let picture = Picture::new(&drive, &pose, id).unwrap();
                for sprocket in &picture.sprockets {
                    let at = sprocket.stand.at;
                    let Some((dot, due)) = sprocket.dot else {
                        continue;
                    };
                    let mark = rolled.marks.iter().find(|mark| mark.at == at).unwrap();
                    let clock = mark.clock.unwrap().get().to_f64();
                    let what = format!("{name} {turned} {at:?}");
                    assert!(between(clock, dot).abs() < 1e-6, "{what}");
                    assert!(between(clock, due).abs() < 1e-6, "{what}");
                    if let Some(link) = mark.link {
                        let on = link_clock(&picture, link.get(), sprocket.centre);
                        let off = between(on, dot).to_radians().abs() * sprocket.radius;
                        assert!(off < TOLERANCE, "{what}: {off} mm");
                        told += 1;
                    }
                }
            }
        }
    }
    assert!(told > 60, "{told}");
}

#[test]
fn the_chain_moves_by_the_teeth_that_the_crankshaft_turns() {
    for (name, drive) in engines() {
        for (id, chain) in drive.chains() {
            let before = Picture::new(&drive, &right(&drive, "0"), id).unwrap();
            for turned in ["1", "3/2", "2"] {
                let moved = chain
                    .speed()
                    .checked_mul(Exact::parse(turned).unwrap())
                    .unwrap();
                if !moved.is_whole() {
                    continue;
                }
                let after = Picture::new(&drive, &right(&drive, turned), id).unwrap();
                let count = i128::from(chain.links().get());
                for (number, link) in after.links.iter().enumerate() {
                    let there = (i128::try_from(number).unwrap() + moved.floor()).rem_euclid(count);
                    let there = &before.links[usize::try_from(there).unwrap()];
                    let off = link.middle().distance(there.middle());
                    assert!(off < 1e-6, "{name} {turned} link {number}: {off} mm");
                }
            }
        }
    }
}

#[test]
fn a_slip_is_what_check_would_make_of_the_same_links() {
    let mut compared = 0;
    for (name, drive) in engines() {
        for (slip_at, sprocket) in drive.engagements() {
            if sprocket.mark().is_none() {
                continue;
            }
            for (teeth, turned) in [(-3, 0), (-1, 0), (1, 0), (2, 0), (-2, 2), (1, 4)] {
                let turned = Turns::whole(turned);
                let pose =
                    Pose::slipped(&drive, turned, &[(slip_at, Teeth::whole(teeth))]).unwrap();
                let mut seen = Observations::after(turned).unwrap();
                let mut all = true;
                for stand in pose.sprockets() {
                    match stand.link_on_dot(&drive).unwrap() {
                        Some(link) => seen.see_link(&drive, stand.at, Seen::Link(link)).unwrap(),
                        None => all &= !drive.sprocket(stand.at).is_marked(),
                    }
                }
                if !all {
                    continue;
                }
                let outcome = check(&drive, &seen).unwrap();
                for state in outcome.shafts() {
                    let Some(at) = state.at else { continue };
                    let stand = pose.sprocket(&drive, at).unwrap();
                    assert_eq!(
                        state.off_teeth,
                        Some(stand.ahead),
                        "{name} {slip_at:?} {teeth}"
                    );
                    assert_eq!(
                        state.off.unwrap().angle,
                        pose.off(&drive, state.shaft).unwrap()
                    );
                }
                let plain = |pose: &Pose| -> Vec<SprocketPose> {
                    pose.sprockets()
                        .iter()
                        .filter(|stand| drive.sprocket(stand.at).is_marked())
                        .map(|stand| SprocketPose {
                            basis: Basis::Given,
                            ..*stand
                        })
                        .collect()
                };
                let as_seen = Pose::seen(&drive, &seen).unwrap();
                assert_eq!(plain(&as_seen), plain(&pose), "{name} {slip_at:?} {teeth}");
                compared += 1;
            }
        }
    }
    assert!(compared > 90, "{compared}");
}

#[test]
fn what_is_off_is_marked_by_shape_and_word_and_nothing_else_is() {
    let drive = engine("kestrel-four");
    let svg = draw_svg(&drive, &slipped(&drive, "intake", -2), None).unwrap();
    let words = words(&svg);
    for wanted in [
        "Shown hung wrong.",
        "2 teeth behind",
        "link 66 is on its dot",
        "link 68 belongs there",
        "intake: 2 teeth behind (retarded), 40 crank degrees.",
    ] {
        assert!(words.contains(wanted), "{wanted}: {words}");
    }
    // Each once in the drawing and once in the key; the ring about the right link is dashed too.
    assert_eq!(count(&svg, "dot-off"), 2);
    assert_eq!(count(&svg, "dot-cross"), 4);
    assert_eq!(count(&svg, "off-ring"), 4);
    let fine = draw_svg(&drive, &right(&drive, "0"), None).unwrap();
    for off in [
        "dot-off",
        "dot-cross",
        "off-ring",
        "off-line",
        "off-word",
        "dot-unseen",
    ] {
        assert_eq!(count(&fine, off), 0, "{off}");
    }
    // A slip at the crankshaft: its own dot is in place, but on the wrong link, and all others are off.
    let crank = draw_svg(&drive, &slipped(&drive, "crank", 1), None).unwrap();
    assert_eq!(count(&crank, "dot-off"), 4);
    // Not looked at is no "right".
    let mut seen = Observations::at_timed_position();
    seen.see_link(
        &drive,
        link_named(&drive, "crank").unwrap(),
        "on".parse().unwrap(),
    )
    .unwrap();
    let outcome = check(&drive, &seen).unwrap();
    let svg = draw_svg(&drive, &Pose::seen(&drive, &seen).unwrap(), Some(&outcome)).unwrap();
    assert_eq!(count(&svg, "dot-unseen"), 3, "two cams and the key");
    assert!(self::words(&svg).contains("NOT PROVEN. Do not release the tensioner."));
    assert!(self::words(&svg).contains("not looked at"));
}

#[test]
fn the_ring_stands_where_the_dot_belongs() {
    for (name, drive) in engines() {
        for (at, sprocket) in drive.engagements() {
            let kind = drive.shaft(sprocket.shaft()).kind();
            if kind != ShaftKind::Camshaft || sprocket.dot().is_none() {
                continue;
            }
            let pose = Pose::slipped(&drive, Turns::ZERO, &[(at, Teeth::whole(-2))]).unwrap();
            let picture = Picture::new(&drive, &pose, at.chain).unwrap();
            let place = picture.sprockets.iter().find(|s| s.stand.at == at).unwrap();
            let (dot, due) = place.dot.unwrap();
            let spec = sprocket.dot().unwrap().get().to_f64();
            assert!(between(due, spec).abs() < 1e-9, "{name}");
            // Behind: against the way in which it turns.
            let teeth = between(due, dot) * place.turns.sign() * f64::from(place.teeth) / 360.0;
            assert!((teeth + 2.0).abs() < 1e-9, "{name} {teeth}");
        }
    }
}

#[test]
fn without_places_each_chain_is_a_strip_that_says_why() {
    for name in ["kestrel-four", "tern-between", "heron-v6", "buzzard-v8"] {
        let drive = without_geometry(name);
        let cam = if drive.shaft_named("intake").is_some() {
            "intake"
        } else {
            "left-intake"
        };
        let svg = draw_svg(&drive, &slipped(&drive, cam, -2), None).unwrap();
        let links: usize = drive
            .chains()
            .map(|(_, c)| usize::from(c.links().get()))
            .sum();
        assert_eq!(count(&svg, "link"), links, "{name}");
        assert_eq!(count(&svg, "body"), 0, "{name}: no sprocket is drawn");
        let words = words(&svg);
        assert!(
            words.contains("drawn as a strip: the spec gives no place"),
            "{name}: {words}"
        );
        assert!(words.contains("2 teeth behind"), "{name}: {words}");
        assert_eq!(count(&svg, "dot-off"), 2, "{name}");
    }
    // One chain without its pitch: only that one is a strip.
    let text = std::fs::read_to_string("engines/buzzard-v8.yaml").unwrap();
    let drive = read(&text.replacen("    pitch: 8\n", "", 1));
    let svg = draw_svg(&drive, &right(&drive, "0"), None).unwrap();
    assert_eq!(count(&svg, "link"), 272);
    assert_eq!(count(&svg, "body"), 3);
    assert!(words(&svg).contains("Chain left is drawn as a strip"));
}

#[test]
fn hostile_words_stay_words() {
    let hostile = r#"<script>alert(1)</script>&amp;]]>"x' onload=y"#;
    let text = std::fs::read_to_string("engines/kestrel-four.yaml").unwrap();
    let quoted = format!("'{}'", hostile.replace('\'', "''"));
    for text in [text.clone(), text.replace(", at: [0, 0]", "")] {
        let text = text
            .replace("Kestrel 2.0 inline-four", &quoted)
            .replace("cylinder 1 at TDC, compression stroke", &quoted)
            .replace("colour: yellow", &format!("colour: {quoted}"))
            .replace("kind: exhaust", "kind: KEEP")
            .replace("exhaust", "ϗ-Ärger_9")
            .replace("kind: KEEP", "kind: exhaust");
        let drive = read(&text);
        assert_eq!(drive.engine(), hostile);
        for pose in [right(&drive, "0"), slipped(&drive, "intake", 1)] {
            let svg = draw_svg(&drive, &pose, None).unwrap();
            let document = Document::parse(&svg).unwrap();
            let known = [
                "svg", "title", "desc", "style", "defs", "pattern", "rect", "path", "circle", "g",
                "text",
            ];
            for node in document.descendants().filter(Node::is_element) {
                assert!(
                    known.contains(&node.tag_name().name()),
                    "{:?}",
                    node.tag_name()
                );
                assert!(node.attribute("onload").is_none());
            }
            let title = document.root_element().first_element_child().unwrap();
            assert_eq!(
                title.text(),
                Some(format!("{hostile}: timing drive").as_str())
            );
        }
    }
}

/// Ems by which a wide common sans-serif face advances for a letter.
fn advance(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' => 0.278,
        ' ' | '.' | ',' => 0.32,
        ':' | ';' | '|' => 0.337,
        'f' | '-' => 0.36,
        't' | 'r' | '(' | ')' => 0.41,
        'c' | 's' | 'z' => 0.55,
        'v' | 'x' | 'y' | 'k' => 0.592,
        'm' => 0.974,
        'w' => 0.818,
        'A'..='Z' => 0.7,
        _ => 0.636,
    }
}

/// The box of a text: about as wide as common fonts draw it, as high as its letters.
fn text_box(node: &Node<'_, '_>) -> [f64; 4] {
    let size = number(node, "font-size");
    let bold = class(node)
        .iter()
        .any(|c| ["bold", "title", "off-word"].contains(c));
    let ems: f64 = node.text().unwrap_or("").chars().map(advance).sum();
    let width = ems * size * if bold { 1.12 } else { 1.0 };
    let (x, y) = (number(node, "x"), number(node, "y"));
    let left = if node.attribute("text-anchor") == Some("middle") {
        x - width / 2.0
    } else {
        x
    };
    [left, y - size * 0.74, left + width, y + size * 0.2]
}

/// Texts that must be read and lie over each other, or that leave the sheet or are too small on A4.
fn unreadable(svg: &str) -> Vec<String> {
    let document = Document::parse(svg).unwrap();
    let sheet: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    // 190 by 277 mm can be printed on.
    let shrunk = (190.0 / sheet[2]).min(277.0 / sheet[3]);
    let texts: Vec<(String, [f64; 4])> = document
        .descendants()
        .filter(|node| node.has_tag_name("text") && class(node).contains(&"must"))
        .map(|node| (node.text().unwrap_or("").to_owned(), text_box(&node)))
        .collect();
    let mut found = Vec::new();
    for node in document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
    {
        let size = number(&node, "font-size") * shrunk;
        if size < 2.2 {
            found.push(format!("'{}' is {size} mm high", node.text().unwrap_or("")));
        }
    }
    for (place, (text, own)) in texts.iter().enumerate() {
        if own[0] < 0.0 || own[1] < 0.0 || own[2] > sheet[2] || own[3] > sheet[3] {
            found.push(format!("'{text}' leaves the sheet"));
        }
        for (other, its) in &texts[..place] {
            if own[0] < its[2] && its[0] < own[2] && own[1] < its[3] && its[1] < own[3] {
                found.push(format!("'{text}' lies over '{other}'"));
            }
        }
    }
    found
}

#[test]
fn nothing_that_must_be_read_lies_over_anything_else() {
    let mut all = Vec::new();
    for (name, drive) in engines() {
        for (state, pose, outcome) in states(&drive) {
            let svg = draw_svg(&drive, &pose, outcome.as_ref()).unwrap();
            let bad = unreadable(&svg);
            all.extend(
                bad.into_iter()
                    .map(|what| format!("{name} {state}: {what}")),
            );
        }
    }
    for name in ["kestrel-four", "tern-between", "heron-v6", "buzzard-v8"] {
        let drive = without_geometry(name);
        for (state, pose, outcome) in states(&drive) {
            let svg = draw_svg(&drive, &pose, outcome.as_ref()).unwrap();
            let bad = unreadable(&svg);
            all.extend(
                bad.into_iter()
                    .map(|what| format!("strip {name} {state}: {what}")),
            );
        }
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn the_check_for_readable_words_finds_unreadable_ones() {
    let text = |x: f64, size: f64| {
        format!("<text class=\"must\" x=\"{x}\" y=\"20\" font-size=\"{size}\">intake</text>")
    };
    let svg = |inner: String| {
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 190 100\">{inner}</svg>")
    };
    assert!(unreadable(&svg(text(10.0, 4.0) + &text(40.0, 4.0))).is_empty());
    assert_eq!(
        unreadable(&svg(text(10.0, 4.0) + &text(20.0, 4.0))).len(),
        1
    );
    assert_eq!(unreadable(&svg(text(186.0, 4.0))).len(), 1);
    assert_eq!(unreadable(&svg(text(10.0, 2.0))).len(), 1);
}

#[test]
fn the_strip_of_a_small_chain_in_a_terminal() {
    let drive = read(
        "
tautmark: 1
engine: Siskin 0.4 single
crank_turns: clockwise
timed_position: at TDC
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains:
  main:
    links: 58
    path:
      - { sprocket: crank, teeth: 12, link: 0, colour: blue }
      - { sprocket: cam, teeth: 24, link: 29, colour: yellow }
",
    );
    let text = draw_text(&drive, &slipped(&drive, "cam", -2), None, 60).unwrap();
    let wanted = "\
Siskin 0.4 single
Timed position: at TDC.
Seen facing the timing end; the crankshaft turns clockwise.

Shown hung wrong.
  cam: 2 teeth behind (retarded), 60 crank degrees.

Chain main: 58 links. It travels to the right; a dot further
right is ahead.
dots     o                          X v
links    #-=-=-=-=-=-=-=-=-=-=-=-=-=-=#=-=-=-=-=-=-=-=-=-=-
number   0         10        20        30        40
  o crank: ok, on link 0 (blue)
  X cam: OFF: 2 teeth behind (retarded); link 27 is on its
  dot; link 29 belongs there

links    =-=-=-=-
number   50

o a dot on the link that belongs there; X a dot that is off;
v where it belongs; ? a dot that was not looked at; # a
coloured link; = and - outer and inner links.
";
    assert_eq!(text, wanted);
}

#[test]
fn text_keeps_to_its_width_and_to_plain_characters() {
    for (name, drive) in engines() {
        for (state, pose, outcome) in states(&drive) {
            for width in [40, 79, 200] {
                let text = draw_text(&drive, &pose, outcome.as_ref(), width).unwrap();
                for line in text.lines() {
                    assert!(
                        line.chars().count() <= width,
                        "{name} {state} {width}: {line}"
                    );
                }
                assert!(
                    text.bytes()
                        .all(|b| b == b'\n' || (b' '..=b'~').contains(&b))
                );
                for (_, chain) in drive.chains() {
                    let of = if chain.is_belt() {
                        "belt teeth"
                    } else {
                        "links"
                    };
                    assert!(text.contains(&format!("{} {of}", chain.links())), "{text}");
                }
            }
        }
    }
}

/// Corners of a path of straight lines.
fn corners(node: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let path = node.attribute("d").unwrap();
    let numbers: Vec<f64> = path
        .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
        .filter(|piece| !piece.is_empty())
        .map(|piece| piece.parse().unwrap())
        .collect();
    numbers.chunks(2).map(|pair| (pair[0], pair[1])).collect()
}

/// The middles of a chain's links, by their numbers.
fn link_middles(document: &Document<'_>, chain: usize) -> Vec<(f64, f64)> {
    let own = chain.to_string();
    let mut links: Vec<(u16, (f64, f64))> = document
        .descendants()
        .filter(|node| class(node).contains(&"link") && node.attribute("data-chain") == Some(&own))
        .map(|node| {
            let place = node.attribute("transform").unwrap();
            let place = place.trim_start_matches("translate(");
            let (x, rest) = place.split_once(' ').unwrap();
            let (y, _) = rest.split_once(')').unwrap();
            let number = node.attribute("data-link").unwrap().parse().unwrap();
            (number, (x.parse().unwrap(), y.parse().unwrap()))
        })
        .collect();
    links.sort_by_key(|(number, _)| *number);
    links.into_iter().map(|(_, middle)| middle).collect()
}

/// Twice the area that they go round, clockwise on the sheet above zero.
fn round(middles: &[(f64, f64)]) -> f64 {
    let next = middles.iter().cycle().skip(1);
    middles
        .iter()
        .zip(next)
        .map(|((x1, y1), (x2, y2))| x1 * y2 - x2 * y1)
        .sum()
}

#[test]
fn in_a_mirror_left_and_right_are_exchanged_and_so_is_the_way_round() {
    for (name, drive) in engines() {
        let pose = right(&drive, "7/12");
        let facing = draw_svg_seen(&drive, &pose, None, Look::default()).unwrap();
        assert_eq!(facing, draw_svg(&drive, &pose, None).unwrap());
        let crank = drive.crank_turns();
        assert!(View::new(&drive, Viewpoint::Mirror, crank).is_err());
        let view = View::new(&drive, Viewpoint::Mirror, crank.reversed()).unwrap();
        let look = Look {
            view,
            ..Look::default()
        };
        let mirror = draw_svg_seen(&drive, &pose, None, look).unwrap();
        let said = words(&mirror).replace('|', " ");
        assert!(said.contains("as seen in the mirror"), "{name}: {said}");
        assert!(said.contains(&format!("turns {}", crank.reversed().word())));
        assert!(!said.contains(&format!("turns {}", crank.word())), "{name}");
        let (facing, mirror) = (
            Document::parse(&facing).unwrap(),
            Document::parse(&mirror).unwrap(),
        );
        for (id, _) in drive.chains() {
            let (one, other) = (
                link_middles(&facing, id.index()),
                link_middles(&mirror, id.index()),
            );
            // As large or a step smaller: labels find other places.
            let size = (round(&other).abs() / round(&one).abs()).sqrt();
            assert!((0.7..1.4).contains(&size), "{name} {size}");
            assert!(round(&one) * round(&other) < 0.0, "{name}");
            for (one, other) in one.windows(2).zip(other.windows(2)) {
                let step = |pair: &[(f64, f64)]| (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
                let ((x1, y1), (x2, y2)) = (step(one), step(other));
                assert!((x1 * size + x2).abs() < 0.05, "{name}");
                assert!((y1 * size - y2).abs() < 0.05, "{name}");
            }
        }
    }
}

/// Width and height of paper in mm: ISO 216 for A4; ANSI/ASME Y14.1 gives size A as 8.5 in by 11 in.
const PAPERS: [(Paper, f64, f64); 2] = [
    (Paper::A4, 210.0, 297.0),
    (Paper::Letter, 8.5 * 25.4, 11.0 * 25.4),
];

#[test]
fn a_sheet_of_paper_holds_everything_within_its_margins() {
    let strips = ["kestrel-four", "heron-v6", "buzzard-v8"].map(|name| {
        let drive = without_geometry(name);
        (format!("strip {name}"), drive)
    });
    for (name, drive) in engines().into_iter().chain(strips) {
        for (state, pose, outcome) in states(&drive) {
            for (paper, width, height) in PAPERS {
                let look = Look {
                    paper: Some(paper),
                    ..Look::default()
                };
                let svg = draw_svg_seen(&drive, &pose, outcome.as_ref(), look).unwrap();
                let document = Document::parse(&svg).unwrap();
                let root = document.root_element();
                let long = |name| -> f64 {
                    let value = root.attribute(name).unwrap();
                    value.strip_suffix("mm").unwrap().parse().unwrap()
                };
                assert!((long("width") - width).abs() < 1e-9);
                assert!((long("height") - height).abs() < 1e-9);
                let view: Vec<f64> = root
                    .attribute("viewBox")
                    .unwrap()
                    .split(' ')
                    .map(|n| n.parse().unwrap())
                    .collect();
                let unit = width / view[2];
                assert!(
                    (height / view[3] - unit).abs() < 1e-3,
                    "{name}: not stretched"
                );
                for text in document.descendants().filter(|n| n.has_tag_name("text")) {
                    let own = text_box(&text);
                    let far = [
                        (own[0] - view[0]) * unit,
                        (own[1] - view[1]) * unit,
                        width - (own[2] - view[0]) * unit,
                        height - (own[3] - view[1]) * unit,
                    ];
                    // Nothing is printed nearer to the edge than 10 mm.
                    assert!(
                        far.iter().all(|far| *far > 9.99),
                        "{name} {state} {paper:?}: {far:?} {:?}",
                        text.text()
                    );
                }
            }
        }
    }
}

#[test]
fn a_worksheet_gives_nothing_away() {
    let strips = ["kestrel-four", "heron-v6"].map(|name| (name.to_owned(), without_geometry(name)));
    for (name, drive) in engines().into_iter().chain(strips) {
        for (state, pose, outcome) in states(&drive) {
            let look = Look {
                blank: true,
                ..Look::default()
            };
            let svg = draw_svg_seen(&drive, &pose, outcome.as_ref(), look).unwrap();
            let what = format!("{name} {state}");
            let said = words(&svg);
            let head = format!("{}|", drive.engine());
            let asked = said.replace("In time / out of time / not proven, because", "");
            let asked = asked
                .replace("teeth ahead / behind", "")
                .replace("A dot further right is ahead.", "")
                .replace("crank turns", "")
                .replace(&head, "");
            for (_, shaft) in drive.shafts() {
                let named = asked
                    .split(|c: char| !(c.is_alphanumeric() || c == '-'))
                    .any(|word| word == shaft.name());
                assert!(!named, "{what}: {} in {asked}", shaft.name());
            }
            for (_, sprocket) in drive.engagements() {
                let colour = sprocket.mark().and_then(|mark| mark.colour.as_deref());
                assert!(
                    colour.is_none_or(|colour| !asked.contains(colour)),
                    "{what}"
                );
            }
            for answer in [
                "ahead", "behind", "Shown", "PROVEN", "OUT OF", "IN TIME", "tight", "slack", "mm ",
            ] {
                assert!(!asked.contains(answer), "{what}: {answer} in {asked}");
            }
            for sign in [
                "dot-off",
                "dot-cross",
                "dot-unseen",
                "off-ring",
                "off-line",
                "off-frame",
                "turning",
                "tight",
                "slack",
            ] {
                // The arrow of a tensioner says where it pushes.
                let tensioners = drive.chains().flat_map(|(_, chain)| chain.path());
                let tensioners = tensioners
                    .filter(|part| matches!(part, tautmark::drive::Part::Tensioner { .. }))
                    .count();
                let most = if sign == "turning" { tensioners } else { 0 };
                assert!(count(&svg, sign) <= most, "{what}: {sign}");
            }
            let document = Document::parse(&svg).unwrap();
            let coloured = |svg: &str| {
                let document = Document::parse(svg).unwrap();
                document
                    .descendants()
                    .filter(|node| class(node).contains(&"link"))
                    .filter(is_coloured)
                    .count()
            };
            assert_eq!(coloured(&svg), 0, "{what}");
            // Every dot that the picture with the answers has, and lines to write on.
            let whole = draw_svg(&drive, &pose, outcome.as_ref()).unwrap();
            let any = |sprocket: &tautmark::drive::Sprocket| {
                sprocket.mark().is_some_and(|mark| mark.colour.is_some())
            };
            let any = drive.engagements().any(|(_, sprocket)| any(sprocket));
            assert_eq!(coloured(&whole) > 0, any, "{what}");
            let [right, off, unseen] =
                ["dot", "dot-off", "dot-unseen"].map(|sign| count(&whole, sign));
            let in_key = 1 + usize::from(off > 0) + usize::from(unseen > 0);
            assert_eq!(
                count(&svg, "dot") - 1,
                right + off + unseen - in_key,
                "{what}"
            );
            assert!(said.contains("____"), "{what}");
            let about = document
                .root_element()
                .descendants()
                .find(|n| n.has_tag_name("desc"));
            let about = about
                .and_then(|about| about.text().map(str::to_owned))
                .unwrap();
            assert!(
                !about.contains("behind") && !about.contains("PROVEN"),
                "{what}: {about}"
            );
        }
    }
}

#[test]
fn the_mark_on_the_engine_stays_where_the_dot_points_when_timed() {
    let mut looked = 0;
    for (name, drive) in engines() {
        for (state, pose, outcome) in states(&drive) {
            let svg = draw_svg(&drive, &pose, outcome.as_ref()).unwrap();
            let document = Document::parse(&svg).unwrap();
            let tips: Vec<(f64, f64)> = document
                .descendants()
                .filter(|node| class(node).contains(&"reference"))
                .map(|node| corners(&node)[0])
                .collect();
            let circles: Vec<(f64, f64, f64)> = document
                .descendants()
                .filter(|node| class(node).contains(&"pitch"))
                .map(|node| (number(&node, "cx"), number(&node, "cy"), number(&node, "r")))
                .collect();
            let dots: Vec<f64> = drive
                .engagements()
                .filter_map(|(_, sprocket)| sprocket.dot())
                .map(|dot| dot.get().to_f64())
                .collect();
            assert_eq!(
                tips.len(),
                dots.len() + 1,
                "{name} {state}: and the one of the key"
            );
            for dot in dots {
                let there = tips.iter().any(|(x, y)| {
                    circles.iter().any(|(cx, cy, r)| {
                        let clock = (x - cx).atan2(cy - y).to_degrees();
                        let out = (x - cx).hypot(y - cy);
                        between(clock, dot).abs() < 0.3 && out > *r && out < r * 1.5 + 3.0
                    })
                });
                assert!(there, "{name} {state}: no mark at {dot}");
                looked += 1;
            }
        }
    }
    assert!(looked > 200, "{looked}");
}

#[test]
fn a_guide_is_a_rail_along_its_strand_and_no_link_runs_through_it() {
    let mut rails = 0;
    for (name, drive) in engines() {
        let pose = right(&drive, "0");
        let svg = draw_svg(&drive, &pose, None).unwrap();
        let document = Document::parse(&svg).unwrap();
        for node in document.descendants() {
            let own = node.attribute("data-part").unwrap_or("");
            let (Some(chain), true) = (
                own.strip_prefix("shoe-")
                    .and_then(|own| own.split('-').next()),
                class(&node).contains(&"guide"),
            ) else {
                continue;
            };
            let links = link_middles(&document, chain.parse().unwrap());
            let pitch = (links[0].0 - links[1].0).hypot(links[0].1 - links[1].1);
            let outline = corners(&node);
            let far =
                |one: &(f64, f64), other: &(f64, f64)| (one.0 - other.0).hypot(one.1 - other.1);
            let long = outline
                .iter()
                .flat_map(|one| outline.iter().map(move |other| far(one, other)))
                .fold(0.0, f64::max);
            assert!(
                long > 4.0 * pitch,
                "{name} {own}: {long} at a pitch of {pitch}"
            );
            for (one, other) in links.iter().zip(links.iter().skip(1)) {
                let middle = ((one.0 + other.0) / 2.0, (one.1 + other.1) / 2.0);
                for corner in &outline {
                    // Half a plate is 0.31 pitches high.
                    assert!(
                        far(corner, one).min(far(corner, &middle)) > 0.31 * pitch,
                        "{name}"
                    );
                }
            }
            rails += 1;
        }
    }
    assert!(rails >= 8, "{rails}");
}

#[test]
fn a_picture_is_drawn_as_it_is_seen_and_for_the_paper_that_it_is_printed_on() {
    let spec = "engines/kestrel-four.yaml";
    let drawn = |arguments: &[&str]| {
        let output = tautmark(&[&["draw", spec][..], arguments].concat());
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let mirror = words(&drawn(&["--view", "mirror counter-clockwise"])).replace('|', " ");
    assert!(mirror.contains("as seen in the mirror"), "{mirror}");
    assert!(drawn(&["--paper", "letter"]).contains("width=\"215.9mm\" height=\"279.4mm\""));
    assert!(drawn(&["--paper", "a4"]).contains("width=\"210mm\" height=\"297mm\""));
    let blank = drawn(&["--blank", "--slip", "intake=-2"]);
    assert!(words(&blank).contains("Worksheet") && !words(&blank).contains("intake"));
    for (arguments, reason) in [
        (&["--view", "above right"][..], "nothing to draw"),
        (&["--view", "mirror clockwise"], "mirror"),
        (&["--paper", "a5"], "possible values"),
        (&["--blank", "--format", "text"], "--blank is for SVG"),
        (&["--paper", "a4", "--format", "text"], "--paper is for SVG"),
        (
            &["--view", "facing clockwise", "--format", "text"],
            "--view is for SVG",
        ),
    ] {
        let output = tautmark(&[&["draw", spec][..], arguments].concat());
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(error.contains(reason), "{arguments:?}: {error}");
        assert!(output.stdout.is_empty());
    }
}

fn tautmark(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .args(arguments)
        .output()
        .unwrap()
}

#[test]
fn a_file_is_written_whole_and_never_over_another() {
    let directory = scratch("draw-output");
    let file = directory.join("kestrel.svg");
    let path = file.to_str().unwrap();
    let spec = "engines/kestrel-four.yaml";
    let printed = tautmark(&["draw", spec]);
    assert_eq!(printed.status.code(), Some(0));

    let written = tautmark(&["draw", spec, "-o", path]);
    assert_eq!(written.status.code(), Some(0));
    assert!(written.stdout.is_empty());
    assert_eq!(std::fs::read(&file).unwrap(), printed.stdout);

    let again = tautmark(&["draw", spec, "--slip", "intake=-2", "-o", path]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("already exists"));
    assert_eq!(std::fs::read(&file).unwrap(), printed.stdout, "untouched");

    let forced = tautmark(&["draw", spec, "--slip", "intake=-2", "-o", path, "--force"]);
    assert_eq!(forced.status.code(), Some(0));
    assert!(
        std::fs::read_to_string(&file)
            .unwrap()
            .contains("2 teeth behind")
    );

    // Neither a directory nor a place that is not there; and nothing is left lying about.
    for wrong in [
        directory.to_str().unwrap(),
        directory.join("no/x.svg").to_str().unwrap(),
    ] {
        let refused = tautmark(&["draw", spec, "-o", wrong, "--force"]);
        assert_eq!(refused.status.code(), Some(2), "{wrong}");
    }
    let left: Vec<_> = std::fs::read_dir(&directory)
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(left, ["kestrel.svg"]);
}

#[cfg(unix)]
#[test]
fn force_writes_through_a_link_and_not_over_a_device() {
    let directory = scratch("draw-link");
    let (file, link) = (directory.join("real.svg"), directory.join("link.svg"));
    std::fs::write(&file, "old").unwrap();
    std::os::unix::fs::symlink(&file, &link).unwrap();
    let spec = "engines/wren-single.yaml";
    let done = tautmark(&["draw", spec, "-o", link.to_str().unwrap(), "--force"]);
    assert_eq!(done.status.code(), Some(0));
    assert!(link.symlink_metadata().unwrap().is_symlink());
    assert!(std::fs::read_to_string(&file).unwrap().starts_with("<svg"));
    let device = tautmark(&["draw", spec, "-o", "/dev/null", "--force"]);
    assert_eq!(device.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&device.stderr).contains("not a regular file"));
}

#[test]
fn what_cannot_be_drawn_is_refused_with_its_reason() {
    let spec = "engines/heron-v6.yaml";
    for (arguments, reason) in [
        (&["--slip", "left-intake"][..], "expected SHAFT=N"),
        (&["--slip", "left-intake=1/2"], "whole teeth"),
        (
            &["--slip", "left-intake=43"],
            "in the required range of -42..=42",
        ),
        (&["--slip", "left-intake=18 deg"], "expected teeth"),
        (&["--slip", "left-idler=1"], "which one?"),
        (&["--slip", "left-intak=1"], "did you mean 'left-intake'?"),
        (&["--slip", "crank=1", "--slip", "crank=2"], "given twice"),
        (
            &["--slip", "crank=1", "--link", "crank=on"],
            "cannot be used with",
        ),
        (&["--turned", "-1"], "is not in the required range"),
        (&["--force"], "--output"),
        (&["--width", "10"], "40..=200"),
    ] {
        let output = tautmark(&[&["draw", spec][..], arguments].concat());
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(error.contains(reason), "{arguments:?}: {error}");
        assert!(output.stdout.is_empty());
    }
    for slip in ["2", "+2", "2 ahead", " 2 "] {
        let output = tautmark(&["draw", spec, "--slip", &format!("left-intake={slip}")]);
        let svg = String::from_utf8(output.stdout).unwrap();
        assert!(
            words(&svg).contains("left-intake: 2 teeth ahead (advanced)"),
            "{slip}"
        );
    }
}

/// A spec cannot make a sprocket slip that another chain holds.
#[test]
fn a_shaft_held_by_two_chains_slips_on_neither_alone() {
    let drive = read(
        "
tautmark: 1
engine: Loop
crank_turns: clockwise
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains:
  one: { links: 60, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 30 } ] }
  two: { links: 90, path: [ { sprocket: crank, teeth: 20, link: 0 }, { sprocket: cam, teeth: 40, link: 45 } ] }
",
    );
    let second = Engagement {
        chain: drive.chain_named("two").unwrap(),
        sprocket: 1,
    };
    let pose = Pose::slipped(&drive, Turns::ZERO, &[(second, Teeth::whole(1))]).unwrap();
    // The first chain holds the camshaft where it belongs, whatever was wanted of the second.
    assert_eq!(pose.sprocket(&drive, second).unwrap().seat, Teeth::ZERO);
}
