//! The geometry in figures: laws that hold for every loop, and figures by hand.
#![allow(
    clippy::float_arithmetic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use crate::support::{drive, engines};
use tautmark::{
    plane::geometry_report,
    render::{geometry_json, geometry_text},
};

#[test]
fn every_loop_is_made_of_its_strands_and_wraps() {
    let mut laid_chains = 0;
    for (name, text) in engines() {
        let drive = drive(&text);
        for report in geometry_report(&drive) {
            let chain = drive.chain(report.chain);
            let Ok(laid) = &report.laid else { continue };
            laid_chains += 1;
            let links: f64 = laid
                .strands
                .iter()
                .map(|strand| strand.links)
                .chain(laid.parts.iter().map(|part| part.links))
                .sum();
            assert!((links - laid.loop_links).abs() < 1e-6, "{name}");
            if laid
                .tensioner
                .is_some_and(|tensioner| tensioner.new.is_some())
            {
                let wanted = f64::from(chain.links().get());
                assert!(
                    (laid.loop_links - wanted).abs() < 1e-6,
                    "{name}: {}",
                    laid.loop_links
                );
            }
            let pitch = chain.pitch().unwrap().to_f64();
            for strand in &laid.strands {
                assert!((strand.mm - strand.links * pitch).abs() < 1e-6, "{name}");
            }
            // A link spans a pitch between pins: one tooth each.
            for part in &laid.parts {
                if let Some(teeth) = part.teeth {
                    let mesh = part.wrap * f64::from(teeth.get()) / 360.0;
                    assert!((part.links - mesh).abs() < 1e-6, "{name}");
                }
            }
            // Once round: wraps of the inside less those of the outside are a whole turn.
            let outside: Vec<bool> = chain
                .path()
                .iter()
                .map(|part| match part {
                    tautmark::drive::Part::Sprocket(sprocket) => {
                        chain.sprockets()[usize::from(*sprocket)].outside()
                    }
                    tautmark::drive::Part::Guide(shoe)
                    | tautmark::drive::Part::Tensioner { shoe, .. } => shoe.outside,
                })
                .collect();
            assert_eq!(outside.len(), laid.parts.len(), "{name}");
            let turned: f64 = laid
                .parts
                .iter()
                .zip(outside)
                .map(|(part, outside)| if outside { -part.wrap } else { part.wrap })
                .sum();
            assert!((turned - 360.0).abs() < 1e-6, "{name}: {turned}");
            for (_, residual) in &laid.marks {
                assert!(
                    residual.is_none_or(|residual| residual.off.abs() <= 0.25),
                    "{name}"
                );
            }
        }
    }
    assert!(laid_chains >= 10, "{laid_chains}");
}

/// Two equal sprockets: half of each in mesh, both strands as long as the centres are apart (handbooks of chain drives give the
/// length in links as 2 C / p + z for equal sprockets; value from memory).
#[test]
fn two_equal_sprockets_are_as_by_hand() {
    let text = "tautmark: 1
engine: x
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 0] }
  pump: { kind: pump, at: [0, 254] }
chains:
  main:
    pitch: 12.7
    links: 58
    path:
      - { sprocket: crank, teeth: 18, dot: 180, link: 0 }
      - { sprocket: pump, teeth: 18, dot: 0, link: 29 }
";
    let of = drive(text);
    let report = geometry_report(&of);
    let laid = report[0].laid.as_ref().unwrap();
    assert!((laid.loop_links - (2.0 * 254.0 / 12.7 + 18.0)).abs() < 1e-9);
    assert!(
        laid.strands
            .iter()
            .all(|strand| (strand.links - 20.0).abs() < 1e-9)
    );
    assert!(
        laid.parts
            .iter()
            .all(|part| (part.links - 9.0).abs() < 1e-9 && (part.wrap - 180.0).abs() < 1e-9)
    );
    let json = geometry_json(&of, &report);
    assert_eq!(json["chains"][0]["laid"]["marks"][1]["counted"], 29.0);
    assert_eq!(json["returns"]["dots"], 1);
    let told = geometry_text(&of, &report);
    for words in [
        "58 links (even)",
        "29 links from 'crank', the mark 0 (0 deg): within 0.25 links",
        "links are counted from here",
    ] {
        assert!(told.contains(words), "{told}");
    }
    // One link further it is not within, and says so.
    let off = drive(&text.replace("link: 29", "link: 30"));
    let told = geometry_text(&off, &geometry_report(&off));
    assert!(
        told.contains("the mark +1 (+20 deg): NOT within 0.25 links"),
        "{told}"
    );
}

#[test]
fn what_cannot_be_laid_is_said() {
    let text = std::fs::read_to_string("engines/kestrel-four.yaml").unwrap();
    let of = drive(&text.replace("    pitch: 8\n", ""));
    let told = geometry_text(&of, &geometry_report(&of));
    assert!(
        told.contains("not laid: the spec gives no pitch ('pitch:') for 'main'"),
        "{told}"
    );
}
