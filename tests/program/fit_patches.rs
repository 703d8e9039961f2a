//! Patches that `lint --fit` prints, given to the programs that apply patches.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use crate::support::program::{engine, scratch, tautmark};
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

/// What the patch of `text`, saved as `name`, makes of the file, by each program that there is; and that nothing is left to fit.
fn patched(name: &str, text: &str) -> Vec<String> {
    let mut out = Vec::new();
    for (program, arguments) in [
        ("git", &["apply", "--whitespace=nowarn", "-"][..]),
        ("patch", &["-p1", "--binary"][..]),
    ] {
        let folder = scratch("patched");
        let file = folder.join(name);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, text).unwrap();
        let printed = Command::new(env!("CARGO_BIN_EXE_tautmark"))
            .current_dir(&folder)
            .args(["lint", "--fit", name])
            .output()
            .unwrap();
        assert_eq!(printed.status.code(), Some(1), "{printed:?}");
        if !apply(&folder, program, arguments, &printed.stdout) {
            continue;
        }
        let left = tautmark(&["lint", "--fit", file.to_str().unwrap()]);
        assert_eq!(
            (left.status, left.stdout.as_str()),
            (Some(0), ""),
            "{program}"
        );
        out.push(std::fs::read_to_string(&file).unwrap());
    }
    out
}

/// `false` where this machine has no such program.
fn apply(folder: &Path, program: &str, arguments: &[&str], patch: &[u8]) -> bool {
    let Ok(mut child) = Command::new(program)
        .current_dir(folder)
        .args(arguments)
        // A repository around the scratch folder would make git look there.
        .env("GIT_CEILING_DIRECTORIES", folder.parent().unwrap())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
    else {
        return false;
    };
    child.stdin.take().unwrap().write_all(patch).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(
        output.status.success(),
        "{program}: {}\n{}",
        String::from_utf8_lossy(&output.stderr),
        String::from_utf8_lossy(patch)
    );
    true
}

fn kestrel() -> String {
    std::fs::read_to_string(engine("kestrel-four")).unwrap()
}

#[test]
fn patches_apply_whatever_the_file_is_like() {
    let right = kestrel();
    let wrong = right
        .replace("link: 68", "link: 70")
        .replace("link: 51", "link: 49");
    let windows = |text: &str| text.replace('\n', "\r\n");
    // The mark stands on the last line, which does not end.
    let cut = |text: &str| {
        let drive = &text[..text.find("\ncylinders:").unwrap()];
        let guide = drive.rfind("      - { guide").unwrap();
        let mut lines: Vec<&str> = drive.lines().collect();
        let at = lines
            .iter()
            .position(|line| drive[guide..].starts_with(line))
            .unwrap();
        let guide = lines.remove(at);
        let crank = lines
            .iter()
            .position(|line| line.contains("sprocket: crank"))
            .unwrap();
        lines.insert(crank, guide);
        lines.join("\n")
    };
    for (name, text, expected) in [
        ("plain.yaml", wrong.clone(), right.clone()),
        ("in a folder/with spaces.yaml", wrong.clone(), right.clone()),
        ("wörter.yaml", wrong.clone(), right.clone()),
        ("quo\"te.yaml", wrong.clone(), right.clone()),
        ("windows.yaml", windows(&wrong), windows(&right)),
        ("unended.yaml", cut(&wrong), cut(&right)),
    ] {
        for made in patched(name, &text) {
            assert_eq!(made, expected, "{name}");
        }
    }
    // Lines are added in block form, in the file's own ending.
    let flow = "      - { sprocket: cam, teeth: 40, dot: 22.5, link: 48, colour: yellow }\n";
    let wren = std::fs::read_to_string(engine("wren-single")).unwrap();
    let block = wren.replace(flow, "      - sprocket: cam\n        teeth: 40\n");
    for made in patched("block.yaml", &windows(&block)) {
        assert!(
            made.contains("sprocket: cam\r\n        dot: 355.5\r\n        link: 45\r\n"),
            "{made}"
        );
        assert_eq!(made.matches('\n').count(), made.matches("\r\n").count());
    }
}

#[test]
fn a_file_elsewhere_is_patched_from_the_root() {
    let folder = scratch("elsewhere");
    let file = folder.join("spec.yaml");
    std::fs::write(&file, kestrel().replace("link: 68", "link: 70")).unwrap();
    let here = scratch("here");
    for path in [
        file.clone(),
        Path::new("..")
            .join(folder.file_name().unwrap())
            .join("spec.yaml"),
    ] {
        let printed = Command::new(env!("CARGO_BIN_EXE_tautmark"))
            .current_dir(&here)
            .args(["lint", "--fit", path.to_str().unwrap()])
            .output()
            .unwrap();
        let patch = String::from_utf8(printed.stdout).unwrap();
        let whole = std::fs::canonicalize(&file).unwrap();
        assert!(
            patch.contains(&format!("--- a{}\n", whole.display())),
            "{patch}"
        );
    }
}

#[test]
fn the_status_says_whether_there_is_a_patch() {
    let folder = scratch("status");
    let status = |text: &str| {
        let file = folder.join("spec.yaml");
        std::fs::write(&file, text).unwrap();
        tautmark(&["lint", "--fit", file.to_str().unwrap()]).status
    };
    assert_eq!(status(&kestrel()), Some(0));
    assert_eq!(status(&kestrel().replace("link: 68", "link: 70")), Some(1));
    assert_eq!(status(&kestrel().replace("    pitch: 8\n", "")), Some(2));
    assert_eq!(status("tautmark: 1\n"), Some(2));
}

#[test]
fn the_values_are_in_json() {
    let folder = scratch("values");
    let file = folder.join("spec.yaml");
    std::fs::write(&file, kestrel().replace("link: 68", "link: 70")).unwrap();
    let told = tautmark(&["lint", "--fit", "--format", "json", file.to_str().unwrap()]).json();
    let mark = &told["files"][0]["marks"][0];
    assert_eq!(
        (
            mark["line"].as_i64(),
            mark["shaft"].as_str(),
            mark["key"].as_str(),
            mark["old"].as_str(),
            mark["new"].as_str()
        ),
        (
            Some(21),
            Some("intake"),
            Some("link"),
            Some("link: 70"),
            Some("68")
        )
    );
    assert_eq!(mark["counted_from"], "crank");
    // The path counts in floats; what it says is a link and a fraction that rounds away.
    let off = mark["off"].as_f64().unwrap();
    assert!((1.9..2.1).contains(&off), "{off}");
}

#[test]
fn the_report_stands_below_what_is_found() {
    let folder = scratch("report");
    let file = folder.join("spec.yaml");
    let report = |text: &str, more: &[&str]| {
        std::fs::write(&file, text).unwrap();
        let mut arguments = vec!["lint", "--report", file.to_str().unwrap()];
        arguments.extend(more);
        tautmark(&arguments)
    };
    let clean = report(&kestrel(), &[]);
    assert_eq!(clean.status, Some(0));
    assert!(clean.stdout.contains("Checked by"), "{}", clean.stdout);
    let found = report(
        &kestrel().replace("link: 68", "link: 69"),
        &["--format", "json"],
    );
    assert_eq!(found.status, Some(1));
    let json = found.json();
    assert_eq!(json["files"][0]["findings"][0]["code"], "links-disagree");
    assert_eq!(
        json["files"][0]["geometry"]["chains"][0]["laid"]["marks"][2]["within"],
        false
    );
    let unusable = report("tautmark: 1\n", &[]);
    assert_eq!((unusable.status, unusable.stdout.as_str()), (Some(2), ""));
    assert!(
        unusable
            .stderr
            .contains("put right before there are figures"),
        "{}",
        unusable.stderr
    );
}
