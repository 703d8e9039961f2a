//! Whole specs, moved, turned, mirrored, enlarged and reversed: what must not change does not, what must does.
#![allow(
    clippy::float_arithmetic,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use proptest::prelude::*;
use std::collections::BTreeMap;
use tautmark::plane::geometry::Tension;
use tautmark::{
    Drive, Finding, Source,
    drive::ChainId,
    plane::{Elongation, Layout, fit_marks, lint, wear},
    render::finding_text,
    units::Exact,
};

/// Every engine, and every spec with something wrong in its geometry.
fn specs() -> Vec<(String, String)> {
    let mut specs = Vec::new();
    for folder in ["engines", "tests/fixtures/geometry"] {
        for file in std::fs::read_dir(folder).unwrap() {
            let path = file.unwrap().path();
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            specs.push((name, drive_of(path.to_str().unwrap())));
        }
    }
    specs.sort();
    assert!(specs.len() > 25);
    specs
}

/// The shafts and chains of a spec; what comes after them says nothing of the plane.
fn drive_of(path: &str) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    let end = text.find("\ncylinders:").map_or(text.len(), |at| at + 1);
    text[..end].to_owned()
}

/// A move of the whole drive: mirrored at the vertical, then enlarged, turned clockwise, and moved.
#[derive(Clone, Copy, Debug)]
struct Moved {
    mirrored: bool,
    scale: f64,
    turned: f64,
    by: [f64; 2],
}

impl Moved {
    fn point(self, [x, y]: [f64; 2]) -> [f64; 2] {
        let x = if self.mirrored { -x } else { x };
        let (sin, cos) = self.turned.to_radians().sin_cos();
        let (x, y) = (x * self.scale, y * self.scale);
        [
            x * cos + y * sin + self.by[0],
            y * cos - x * sin + self.by[1],
        ]
    }

    fn clock(self, degrees: f64) -> f64 {
        let degrees = if self.mirrored { -degrees } else { degrees };
        (degrees + self.turned).rem_euclid(360.0)
    }

    fn apply(self, text: &str) -> String {
        let mut text = text.to_owned();
        for key in ["at", "tensioner", "guide"] {
            text = each(&text, key, |value| {
                let [x, y] = pair(value);
                let [x, y] = self.point([x, y]);
                format!("[{x:.9}, {y:.9}]")
            });
        }
        for key in ["dot", "pushes"] {
            text = each(&text, key, |value| {
                // Rounding must not reach the full turn.
                format!("{:.9}", self.clock(value.parse().unwrap())).replace("360.000000000", "0")
            });
        }
        for key in ["radius", "pitch", "stroke"] {
            text = each(&text, key, |value| {
                format!("{:.9}", value.parse::<f64>().unwrap() * self.scale)
            });
        }
        if self.mirrored {
            text = each(&text, "crank_turns", |value| match value {
                "clockwise" => "counter-clockwise".into(),
                _ => "clockwise".into(),
            });
        }
        text
    }
}

fn pair(value: &str) -> [f64; 2] {
    let (x, y) = value.trim_matches(['[', ']']).split_once(',').unwrap();
    [x.trim().parse().unwrap(), y.trim().parse().unwrap()]
}

/// The text with each value of `key` changed.
fn each(text: &str, key: &str, change: impl Fn(&str) -> String) -> String {
    let key = format!("{key}: ");
    let mut out = String::new();
    let mut rest = text;
    while let Some(found) = rest.find(&key) {
        let whole_key = rest[..found].ends_with([' ', '\n']);
        let (before, value) = rest.split_at(found + key.len());
        out.push_str(before);
        let end = if value.starts_with('[') {
            value.find(']').unwrap() + 1
        } else {
            value.find([',', ' ', '\n', '}']).unwrap()
        };
        if whole_key {
            out.push_str(&change(&value[..end]));
        } else {
            out.push_str(&value[..end]);
        }
        rest = &value[end..];
    }
    out + rest
}

fn reading(text: &str) -> (Drive, Vec<Finding>) {
    let reading = lint(&Source::new("spec", text.into()).unwrap());
    (
        reading
            .drive
            .unwrap_or_else(|| panic!("{text}\n{:?}", reading.findings)),
        reading.findings,
    )
}

/// Codes and lines, without the note about the pitch, which enlarging brings about or takes away.
fn codes(text: &str) -> Vec<(&'static str, usize)> {
    let source = Source::new("spec", text.into()).unwrap();
    lint(&source)
        .findings
        .iter()
        .filter(|finding| finding.code() != "pitch-not-standard")
        .map(|finding| (finding.code(), source.position(finding.span.unwrap()).line))
        .collect()
}

/// What the layouts of a spec come to, without lengths: residuals in links, links of the loop; and the tensioners' travels in mm.
fn numbers(text: &str) -> (Vec<f64>, Vec<f64>) {
    let (drive, _) = reading(text);
    let (mut pure, mut lengths) = (Vec::new(), Vec::new());
    for (id, _) in drive.chains() {
        let Ok(layout) = Layout::new(&drive, id) else {
            continue;
        };
        pure.push(layout.path().links());
        lengths.extend(layout.fit().map(|fit| fit.travel));
        for (at, _) in drive.chain(id).engagements(id) {
            pure.extend(layout.residual(&drive, at).map(|residual| residual.off));
        }
    }
    (pure, lengths)
}

fn moved() -> impl Strategy<Value = Moved> {
    (
        any::<bool>(),
        0.5f64..2.0,
        0.0f64..360.0,
        -900.0f64..900.0,
        -900.0f64..900.0,
    )
        .prop_map(|(mirrored, scale, turned, x, y)| Moved {
            mirrored,
            scale,
            turned,
            by: [x, y],
        })
}

proptest! {
    #![proptest_config(crate::support::cases(24))]

    #[test]
    fn a_drive_that_is_moved_keeps_its_findings_and_residuals(moved in moved()) {
        for (name, text) in specs() {
            let there = moved.apply(&text);
            prop_assert_ne!(&there, &text);
            prop_assert_eq!(codes(&there), codes(&text), "{} {:?}\n{}", name, moved, there);
            let ((pure, lengths), (was, were)) = (numbers(&there), numbers(&text));
            prop_assert_eq!(pure.len(), was.len());
            for (now, was) in pure.iter().zip(&was) {
                prop_assert!((now - was).abs() < 1e-5, "{} {:?}: {} {}", name, moved, now, was);
            }
            prop_assert_eq!(lengths.len(), were.len());
            for (now, was) in lengths.iter().zip(&were) {
                // Centres are written to a billionth of a millimetre; a tensioner moves many times what the loop does.
                prop_assert!((now - was * moved.scale).abs() < 1e-3, "{} {:?}: {} {}", name, moved, now, was);
            }
        }
    }
}

/// Numbers at the bounds of the format, near nothing, and in between.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("-5000".to_owned()),
        Just("5000".to_owned()),
        Just("0".to_owned()),
        Just("0.000000001".to_owned()),
        Just("1/999999999999".to_owned()),
        (-300i32..300).prop_map(|n| n.to_string()),
        (1i32..100).prop_map(|n| n.to_string()),
    ]
}

proptest! {
    #![proptest_config(crate::support::cases(400))]

    #[test]
    fn whatever_the_numbers_nothing_breaks(
        which in 0usize..30,
        key in prop::sample::select(vec![
            "at", "tensioner", "guide", "radius", "pitch", "stroke", "pushes", "dot", "links", "teeth",
        ]),
        nth in 0usize..6,
        (one, other) in (number(), number()),
    ) {
        let specs = specs();
        let (name, text) = &specs[which % specs.len()];
        let seen = std::cell::Cell::new(0);
        let text = each(text, key, |value| {
            let here = seen.replace(seen.get() + 1);
            if here != nth {
                value.to_owned()
            } else if value.starts_with('[') {
                format!("[{one}, {other}]")
            } else {
                one.clone()
            }
        });
        let source = Source::new(name.as_str(), text.into()).unwrap();
        let reading = lint(&source);
        for finding in &reading.findings {
            let words = finding_text(finding, &source, false);
            for nonsense in ["NaN", "inf ", "-0 "] {
                prop_assert!(!words.contains(nonsense), "{}", words);
            }
        }
        let _ = fit_marks(&source);
        if let Some(drive) = reading.drive {
            let elongation = Elongation::given(Exact::fraction(1, 100).unwrap()).unwrap();
            let chains: Vec<_> = drive.chains().map(|(id, _)| (id, elongation)).collect();
            for shaft in wear(&drive, &chains).shafts {
                for value in [shaft.retard, shaft.retard_by_path, shaft.ripple] {
                    prop_assert!(value.is_none_or(f64::is_finite), "{:?}", shaft);
                }
            }
            for (id, _) in drive.chains() {
                let _ = Elongation::from_extension(&drive, id, Exact::ONE);
            }
        }
    }
}

#[test]
fn mirrored_alone_without_turning_the_crank_the_other_way_is_wrong() {
    let text = drive_of("engines/kestrel-four.yaml");
    let moved = Moved {
        mirrored: true,
        scale: 1.0,
        turned: 0.0,
        by: [0.0, 0.0],
    };
    let mirrored = moved.apply(&text);
    assert_eq!(codes(&mirrored), []);
    assert_ne!(
        codes(&mirrored.replace("counter-clockwise", "clockwise")),
        []
    );
}

/// The drive running the other way: the path in reverse order and the links numbered the other way.
fn reversed(text: &str) -> String {
    let links: u32 = {
        let start = text.find("    links: ").unwrap() + 11;
        text[start..].lines().next().unwrap().parse().unwrap()
    };
    let text = each(text, "crank_turns", |value| match value {
        "clockwise" => "counter-clockwise".into(),
        _ => "clockwise".into(),
    });
    let text = each(&text, "link", |value| {
        format!("{}", (links - value.parse::<u32>().unwrap()) % links)
    });
    let (head, path) = text.split_at(text.find("      - ").unwrap());
    // What comes after the path says nothing of the drive.
    let mut entries: Vec<&str> = path
        .lines()
        .take_while(|line| line.starts_with("      - "))
        .collect();
    entries.reverse();
    format!("{head}{}\n", entries.join("\n"))
}

/// The tension of each strand by the names of the parts at its ends, whichever way it runs.
fn tensions(text: &str) -> BTreeMap<[String; 2], Tension> {
    let (drive, _) = reading(text);
    let id: ChainId = drive.chains().next().unwrap().0;
    let layout = Layout::new(&drive, id).unwrap();
    let name = |wheel: usize| {
        let place = layout.path().wheels()[wheel].centre;
        format!("{:.1} {:.1}", place.x, place.y)
    };
    layout
        .strands()
        .map(|(strand, tension)| {
            let mut ends = [name(strand.from), name(strand.to)];
            ends.sort();
            (ends, tension)
        })
        .collect()
}

#[test]
fn the_other_way_round_tight_and_slack_change_places() {
    for (name, sprockets) in [("wren-single", 2), ("kestrel-four", 3), ("plover-three", 4)] {
        let text = drive_of(&format!("engines/{name}.yaml"));
        // A tensioner keeps its strand slack whichever way the engine turns; without it the direction alone decides.
        let text: String = text
            .lines()
            .filter(|line| !line.contains("tensioner:"))
            .map(|line| format!("{line}\n"))
            .collect();
        let (there, back) = (tensions(&text), tensions(&reversed(&text)));
        assert_eq!(there.len(), back.len(), "{name}");
        let changed: Vec<_> = there
            .iter()
            .filter(|(ends, t)| back[*ends] != **t)
            .collect();
        let slack = |tensions: &BTreeMap<[String; 2], Tension>| {
            tensions
                .values()
                .filter(|tension| **tension == Tension::Slack)
                .count()
        };
        assert!(slack(&there) > 0 && slack(&back) > 0, "{name}");
        // The stretch that leaves the driver and the one that arrives change places; those between two driven sprockets are
        // pulled either way.
        assert_eq!(changed.len(), slack(&there) + slack(&back), "{name}");
        if sprockets == 2 {
            assert_eq!(changed.len(), there.len(), "{name}");
        }
    }
}
