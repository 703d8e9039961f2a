//! The glossary: its words say what the drive in its pictures does, and the pictures show what the words say.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_arithmetic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{scratch, tautmark};
use roxmltree::{Document, Node};
use tautmark::{
    Drive, Observations, Seen, Source, Verdict, check,
    drive::Engagement,
    plane::lint,
    render::{Term, glossary},
    units::{Exact, Turns},
};

fn drive() -> Drive {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/render/glossary.yaml");
    let source = Source::new("glossary.yaml", std::fs::read(path).unwrap()).unwrap();
    let reading = lint(&source);
    assert!(reading.findings.is_empty(), "{:?}", reading.findings);
    reading.drive.unwrap()
}

fn both(drive: &Drive) -> [Engagement; 2] {
    let all: Vec<_> = drive.engagements().map(|(at, _)| at).collect();
    all.try_into().unwrap()
}

fn term(word: &str) -> &'static Term {
    let found = glossary().iter().find(|term| term.word == word);
    found.unwrap_or_else(|| panic!("{word}"))
}

#[test]
fn every_word_has_a_picture_of_its_own_that_an_xml_parser_reads() {
    let mut seen = std::collections::BTreeSet::new();
    for term in glossary() {
        let svg = term.picture().unwrap();
        let document = Document::parse(&svg).unwrap_or_else(|e| panic!("{}: {e}", term.word));
        let root = document.root_element();
        assert_eq!(root.attribute("role"), Some("img"), "{}", term.word);
        assert_eq!(root.attribute("aria-label"), Some(term.word));
        // Something stands out, and none of that is cut by the edge of the paper.
        let bold = |node: &Node<'_, '_>| node.attribute("stroke") == Some("#1558a0");
        let view: Vec<f64> = numbers(root.attribute("viewBox").unwrap());
        let on_paper = |[x, y]: [f64; 2]| {
            (view[0]..=view[0] + view[2]).contains(&x) && (view[1]..=view[1] + view[3]).contains(&y)
        };
        let mut whole = 0;
        for node in document.descendants().filter(bold) {
            let places = places(node);
            let inside = places.iter().filter(|place| on_paper(**place)).count();
            assert!(
                inside == 0 || inside == places.len(),
                "{}: {node:?}",
                term.word
            );
            whole += usize::from(inside > 0);
        }
        assert!(whole > 0, "{}", term.word);
        // Its picture is not that of another word.
        let drawn = svg.replace(term.word, "").replace(term.means, "");
        assert!(seen.insert(drawn), "{}", term.word);
        let end = term.means.ends_with('.');
        assert!(end && !term.means.contains("  "), "{}", term.means);
    }
    assert!(seen.len() >= 12, "{}", seen.len());
}

fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'));
    parts.filter_map(|part| part.parse().ok()).collect()
}

/// Where a shape is.
fn places(node: Node<'_, '_>) -> Vec<[f64; 2]> {
    match (
        node.attribute("d"),
        node.attribute("cx"),
        node.attribute("cy"),
    ) {
        (Some(path), ..) => numbers(path)
            .chunks_exact(2)
            .map(|xy| [xy[0], xy[1]])
            .collect(),
        (None, Some(x), Some(y)) => vec![[x.parse().unwrap(), y.parse().unwrap()]],
        _ => Vec::new(),
    }
}

/// The clock angles of the camshaft's dot, and of the ring where it belongs if that is drawn.
fn dot_and_ring(term: &Term, drive: &Drive) -> (f64, Option<f64>) {
    let svg = term.picture().unwrap();
    let document = Document::parse(&svg).unwrap();
    // As the spec gives it.
    assert!(drive.shaft_named("cam").is_some());
    let centre = [0.0, -109.0];
    let clock = |[x, y]: [f64; 2]| (x - centre[0]).atan2(centre[1] - y).to_degrees();
    let near = |place: &[f64; 2]| (place[0] - centre[0]).hypot(place[1] - centre[1]) < 30.0;
    let circles = |fill: &str, dashed: bool| -> Vec<f64> {
        let all = document.descendants().filter(|node| {
            node.has_tag_name("circle")
                && node.attribute("fill") == Some(fill)
                && node.attribute("stroke") == Some("#1558a0")
                && node.has_attribute("stroke-dasharray") == dashed
        });
        all.flat_map(places).filter(near).map(clock).collect()
    };
    let dots = circles("#1558a0", false);
    assert_eq!(dots.len(), 1, "{}", term.word);
    (dots[0], circles("none", true).first().copied())
}

#[test]
fn ahead_and_behind_are_drawn_as_they_are_said() {
    let drive = drive();
    let [_, cam] = both(&drive);
    let tooth = 360.0 / f64::from(drive.sprocket(cam).teeth().get());
    // Seen from the front the crankshaft turns clockwise, and the camshaft with it.
    for (word, teeth) in [("ahead", 2.0), ("behind", -2.0)] {
        let term = term(word);
        assert!(term.means.contains("2 teeth"), "{}", term.means);
        let (dot, ring) = dot_and_ring(term, &drive);
        let off = dot - ring.unwrap();
        assert!((off - teeth * tooth).abs() < 0.2, "{word}: {off}");
    }
    let (dot, ring) = dot_and_ring(term("timed position"), &drive);
    assert!(ring.is_none());
    let timed = drive.sprocket(cam).dot().unwrap().get().to_f64();
    assert!((dot - timed).abs() < 0.2, "{dot} {timed}");
}

#[test]
fn numbers_in_the_words_are_those_of_the_drive() {
    let drive = drive();
    let [_, cam] = both(&drive);
    let teeth = drive.sprocket(cam).teeth().get();
    let degrees = Exact::fraction(360, i64::from(teeth)).unwrap();
    let said = format!("A sprocket of {teeth} teeth: {degrees} cam degrees.");
    assert!(term("tooth").means.contains(&said), "{said}");
    // A quarter of a turn of the crankshaft; common practice: a four-stroke's camshaft turns half as fast.
    let speed = drive.shaft(drive.sprocket(cam).shaft()).speed();
    let cam_degrees = Exact::whole(90).checked_mul(speed).unwrap();
    let said = format!("90 crank degrees are {cam_degrees} cam degrees");
    assert!(
        term("crank degrees, cam degrees").means.contains(&said),
        "{said}"
    );
}

#[test]
fn the_look_alike_looks_right_and_is_wrong() {
    let drive = drive();
    let [crank, cam] = both(&drive);
    let mark = |at: Engagement| drive.sprocket(at).mark().unwrap();
    assert_eq!(mark(crank).colour, mark(cam).colour);
    let mut seen = Observations::at_timed_position();
    for (at, other) in [(crank, cam), (cam, crank)] {
        seen.see_link(&drive, at, Seen::Link(mark(other).link))
            .unwrap();
    }
    let check = check(&drive, &seen).unwrap();
    assert_eq!(check.verdict(), Verdict::OutOfTime);
    let off = check.shafts()[1].off_teeth.unwrap().get().to_f64();
    let (dot, ring) = dot_and_ring(term("look-alike"), &drive);
    let shown = (dot - ring.unwrap()) / 15.0;
    assert!((shown - off).abs() < 0.02, "{shown} {off}");
}

#[test]
fn after_two_turns_dots_are_back_and_links_are_not() {
    let returns = tautmark::timing::returns(&drive());
    assert_eq!(returns.dots, Some(2));
    assert!(returns.links > Some(2), "{returns:?}");
    assert_eq!(Turns::whole(2).get(), Exact::whole(2));
}

#[test]
fn one_word_some_or_all() {
    let all = tautmark(&["glossary"]);
    assert_eq!(all.status, Some(0), "{}", all.stderr);
    for term in glossary() {
        assert!(all.stdout.contains(term.word), "{}", term.word);
    }
    // In the words that somebody else uses for it, in any case.
    let one = tautmark(&["glossary", "Retarded"]);
    assert!(
        one.stdout.starts_with("behind (retarded, late)\n"),
        "{}",
        one.stdout
    );
    assert!(!one.stdout.contains("tooth\n"), "{}", one.stdout);
    let narrow = tautmark(&["glossary", "--width", "40"]);
    assert!(
        narrow
            .stdout
            .lines()
            .all(|line| line.chars().count() <= 40 || !line.starts_with(' '))
    );
    let none = tautmark(&["glossary", "gearbox"]);
    assert_eq!(none.status, Some(2));
    assert!(
        none.stderr
            .contains("'gearbox' is not in the glossary (it has: link; tooth;"),
        "{}",
        none.stderr
    );
}

#[test]
fn the_page_of_words_needs_nothing_else_and_writes_over_nothing() {
    let file = scratch("glossary").join("words.html");
    let path = file.to_str().unwrap();
    let written = tautmark(&["glossary", "--format", "html", "-o", path]);
    assert_eq!(written.status, Some(0), "{}", written.stderr);
    let page = std::fs::read_to_string(&file).unwrap();
    assert_eq!(page.matches("<svg ").count(), glossary().len());
    let own = page.replace("http://www.w3.org/2000/svg", "");
    for outside in ["://", "src=\"", "href=", "<script", "<link"] {
        assert!(!own.contains(outside), "{outside}");
    }
    let again = tautmark(&["glossary", "-o", path]);
    assert_eq!(again.status, Some(2));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), page);
    let which = tautmark(&["glossary", "--format", "svg"]);
    assert_eq!(which.status, Some(2));
    assert!(which.stderr.contains("which word?"), "{}", which.stderr);
}
