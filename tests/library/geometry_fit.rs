//! Marks computed from centres: what was taken out of an engine's spec comes back.
#![allow(
    clippy::float_arithmetic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use crate::support::engines;
use tautmark::{
    Drive, Source,
    plane::{Fitting, FittingError, Layout, Unfitted, fit_marks, lint},
    render::fitting_text,
    spec::{Severity, ShaftKind},
};

/// Every engine whose drive sprockets all bear a dot on a link and whose chains can be laid: the rest can be
/// counted from there.
fn fittable() -> Vec<(String, String)> {
    let usable = |text: &str| {
        let drive = crate::support::drive(text);
        drive.chains().all(|(id, chain)| {
            let driver = &chain.sprockets()[usize::from(chain.driver())];
            driver.mark().is_some() && driver.dot().is_some() && Layout::new(&drive, id).is_ok()
        })
    };
    let engines = engines().into_iter().filter(|(_, text)| usable(text));
    let engines: Vec<_> = engines.collect();
    assert!(engines.len() >= 7);
    engines
}

fn engine(name: &str) -> String {
    std::fs::read_to_string(format!("engines/{name}.yaml")).unwrap()
}

fn source(text: &str) -> Source {
    Source::new("spec", text.into()).unwrap()
}

/// The text with the changes made.
fn applied(text: &str, fitting: &Fitting) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    for change in &fitting.changes {
        assert_eq!(lines[change.line - 1], change.old);
        lines[change.line - 1] = &change.new;
    }
    lines.join("\n") + "\n"
}

/// The text without `key: value` in the entries of sprockets, from the `skip`th one on.
fn without(text: &str, keys: &[&str], skip: usize) -> String {
    let mut seen = 0;
    text.lines()
        .map(|line| {
            let mut line = line.to_owned();
            if line.contains("{ sprocket:") {
                seen += 1;
                for key in keys.iter().filter(|_| seen > skip) {
                    if let Some(start) = line.find(&format!(", {key}: ")) {
                        let rest = &line[start + 2..];
                        let end = match rest.find(']') {
                            Some(end) if rest.starts_with("links") => end + 1,
                            _ => rest.find([',', '}']).unwrap(),
                        };
                        let end = start + 2 + end;
                        line = format!("{} {}", &line[..start], line[end..].trim_start())
                            .replace(" ,", ",");
                    }
                }
            }
            line + "\n"
        })
        .collect()
}

fn marks(text: &str) -> Vec<(Option<String>, Option<f64>)> {
    let drive = Drive::read(&source(text)).drive.unwrap();
    drive
        .engagements()
        .map(|(_, sprocket)| {
            (
                sprocket.mark().map(|mark| mark.link.to_string()),
                sprocket.dot().map(|dot| dot.get().to_f64()),
            )
        })
        .collect()
}

fn clean(text: &str) {
    let reading = lint(&source(text));
    assert!(reading.drive.is_some());
    let worst = reading
        .findings
        .iter()
        .map(tautmark::Finding::severity)
        .max();
    assert!(
        worst.is_none_or(|worst| worst == Severity::Note),
        "{text}\n{:?}",
        reading.findings
    );
}

#[test]
fn what_agrees_stays() {
    for (name, text) in fittable() {
        assert_eq!(fit_marks(&source(&text)), Ok(Fitting::default()), "{name}");
    }
}

#[test]
fn links_come_back_from_dots() {
    for (name, text) in fittable() {
        let bare = without(&text, &["link", "links", "colour"], 0);
        assert_ne!(bare, text);
        let fitting = fit_marks(&source(&bare)).unwrap();
        assert_eq!(fitting.unfitted, [], "{name}");
        let fitted = applied(&bare, &fitting);
        assert_eq!(marks(&fitted), marks(&text), "{name}");
    }
}

#[test]
fn dots_come_back_from_links() {
    for (name, text) in fittable() {
        let bare = without(&text, &["dot"], 1);
        assert_ne!(bare, text);
        // The second chain of an engine has lost its driver's dot too; its other dots are then free.
        let chains = text.matches("pitch:").count();
        let fitting = fit_marks(&source(&bare)).unwrap();
        assert_eq!(fitting.unfitted, [], "{name}");
        let fitted = applied(&bare, &fitting);
        clean(&fitted);
        for ((link, dot), (was_link, was)) in marks(&fitted).into_iter().zip(marks(&text)) {
            assert_eq!(link, was_link, "{name}");
            if let (Some(dot), Some(was), 1) = (dot, was, chains) {
                assert!((dot - was).abs() <= 0.15, "{name}: {dot} against {was}");
            }
        }
    }
}

#[test]
fn a_spec_without_any_mark_gets_them_all() {
    for (name, whole) in fittable() {
        let text = without(&whole, &["dot", "link", "links", "colour"], 0);
        assert!(Drive::read(&source(&text)).drive.is_none());
        let fitting = fit_marks(&source(&text)).unwrap();
        let fitted = applied(&text, &fitting);
        clean(&fitted);
        assert_eq!(
            fit_marks(&source(&fitted)),
            Ok(Fitting::default()),
            "{name}"
        );
        // What may stand anyhow, as an oil pump or an idler, gets none.
        let bare = |text: &str| {
            let marks = marks(text).into_iter();
            marks.filter(|(link, _)| link.is_none()).count()
        };
        let drive = crate::support::drive(&whole);
        let need_none = drive
            .chains()
            .flat_map(|(_, chain)| chain.sprockets())
            .filter(|sprocket| {
                let kind = drive.shaft(sprocket.shaft()).kind();
                matches!(kind, ShaftKind::Idler | ShaftKind::Pump)
            });
        assert_eq!(bare(&fitted), need_none.count(), "{name}");
    }
}

#[test]
fn the_patch_is_a_unified_diff() {
    let text = engine("kestrel-four").replace("link: 68", "link: 70");
    let source = source(&text);
    assert_eq!(
        fitting_text(&fit_marks(&source).unwrap(), &source),
        "\
# line 21, 'intake' on 'main': 'link: 70' becomes 'link: 68': along the path its dot is 68 links from the dot of 'crank'; as given it was 2 too many
--- a/spec
+++ b/spec
@@ -18,7 +18,7 @@
       - { sprocket: crank, teeth: 18, dot: 180, link: 0, colour: blue }
       - { tensioner: [-123, 120], radius: 90, outside: true, pushes: 90, stroke: 25 }
       - { sprocket: exhaust, teeth: 36, dot: 350, link: 51, colour: yellow }
-      - { sprocket: intake, teeth: 36, dot: 10, link: 70, colour: yellow }
+      - { sprocket: intake, teeth: 36, dot: 10, link: 68, colour: yellow }
       - { guide: [150, 130], radius: 90, outside: true }
 cylinders:                           # lengths in mm
   bore: 86
"
    );
}

#[test]
fn lines_are_added_in_block_form() {
    let flow = "      - { sprocket: cam, teeth: 40, dot: 22.5, link: 48, colour: yellow }\n";
    let block = "      - sprocket: cam # the only one\n        teeth: 40\n";
    let text = engine("wren-single").replace(flow, block);
    let source = source(&text);
    let fitting = fit_marks(&source).unwrap();
    assert!(fitting_text(&fitting, &source).contains(
        "\
-      - sprocket: cam # the only one
+      - sprocket: cam # the only one
+        dot: 355.5
+        link: 45
"
    ));
    clean(&applied(&text, &fitting));
}

#[test]
fn what_cannot_be_fitted_is_said() {
    let kestrel = engine("kestrel-four");
    let unfitted = |text: &str| fit_marks(&source(text)).unwrap().unfitted;
    let main = || "main".to_owned();
    assert!(matches!(
        unfitted(&kestrel.replace("    pitch: 8\n", ""))[..],
        [Unfitted::Missing(_)]
    ));
    assert_eq!(
        unfitted(&kestrel.replace("links: 118", "links: 150")),
        [Unfitted::Length { chain: main() }]
    );
    assert_eq!(
        unfitted(&kestrel.replace("[60, 288]", "[20, 288]")),
        [Unfitted::NoPath { chain: main() }]
    );
    let shaft = "crank".to_owned();
    assert_eq!(
        unfitted(&kestrel.replace("dot: 180", "dot: 0")),
        [Unfitted::DotOffChain {
            chain: main(),
            shaft: shaft.clone(),
            marked: true
        }]
    );
    assert_eq!(
        unfitted(&engine("dunnock-facing")),
        [Unfitted::DotOffChain {
            chain: main(),
            shaft,
            marked: false
        }]
    );
    assert!(matches!(
        fit_marks(&source(&kestrel.replace("teeth: 18", "teeth: 19"))),
        Err(FittingError::Spec(_))
    ));
}

#[test]
fn an_entry_that_cannot_be_changed_as_text_is_refused() {
    let text = engine("kestrel-four").replace("link: 68", "\"link\": 70");
    assert_eq!(fit_marks(&source(&text)), Err(FittingError::Unwritable));
}

#[test]
fn a_patch_that_would_not_read_back_is_refused() {
    let flow = "      - { sprocket: cam, teeth: 40, dot: 22.5, link: 48, colour: yellow }\n";
    // A line added under the first one would become part of the name.
    let folded = "      - sprocket: >-\n          cam\n        teeth: 40\n";
    let text = engine("wren-single").replace(flow, folded);
    assert_eq!(fit_marks(&source(&text)), Err(FittingError::Unwritable));
}

#[test]
fn what_need_not_be_in_time_gets_no_marks() {
    // An idler of a chain of its own, and one that drives two.
    for (name, from, to) in [
        ("linnet-idler", "", ""),
        ("heron-v6", ", dot: 150, link: 0, colour: blue", ""),
    ] {
        let text = engine(name).replace(from, to);
        assert_eq!(
            fit_marks(&source(&text)).map(|fitting| fitting.changes),
            Ok(Vec::new()),
            "{name}"
        );
    }
    // Counted from the mark there is, one that is wrong is still found.
    let text = engine("heron-v6")
        .replace(", dot: 150, link: 0, colour: blue", "")
        .replace("dot: 352.5, link: 52", "dot: 352.5, link: 54");
    let fitting = fit_marks(&source(&text)).unwrap();
    assert_eq!(fitting.marks.len(), 1);
    assert_eq!(
        (
            fitting.marks[0].shaft.as_str(),
            fitting.marks[0].new.as_str()
        ),
        ("left-intake", "52")
    );
}

#[test]
fn a_line_that_is_not_what_it_looks_like_is_not_patched() {
    let text = engine("kestrel-four")
        .replace("link: 68", "link: 70")
        .replace(
            "outside: true, pushes: 90, stroke: 25 }",
            "outside: true, pushes: 90, stroke: 25 } # \u{202e}",
        );
    assert_eq!(
        fit_marks(&source(&text)),
        Err(FittingError::Unshowable { line: 19 })
    );
}
