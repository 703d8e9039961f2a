//! The README and docs/ say what is so: every command in them is run, every file they show is read,
//! their tables are those of the code, and their links lead somewhere.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const README: &str = include_str!("../../README.md");
const FORMAT: &str = include_str!("../../docs/file-format.md");

/// Everything that documents the program for its users, the README first.
fn documents() -> Vec<(PathBuf, String)> {
    let root = Path::new(ROOT);
    let mut paths: Vec<PathBuf> = std::fs::read_dir(root.join("docs"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .collect();
    paths.sort();
    paths.insert(0, root.join("README.md"));
    assert!(paths.len() > 7, "{paths:?}");
    paths
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            (path, text)
        })
        .collect()
}

/// A piece of a document: a fenced block with its kind, or what stands between two.
struct Piece {
    kind: Option<String>,
    text: String,
}

fn pieces(document: &str) -> Vec<Piece> {
    let mut pieces = vec![Piece {
        kind: None,
        text: String::new(),
    }];
    for line in document.lines() {
        let last = pieces.last_mut().unwrap();
        match line.strip_prefix("```") {
            None => {
                last.text.push_str(line);
                last.text.push('\n');
            }
            Some(kind) => {
                let kind = last.kind.is_none().then(|| kind.to_owned());
                pieces.push(Piece {
                    kind,
                    text: String::new(),
                });
            }
        }
    }
    assert!(
        pieces.last().unwrap().kind.is_none(),
        "a block is left open"
    );
    pieces
}

fn tautmark(words: &[String], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .args(words)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// A folder with the engines in it, where a reader would try things.
fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let engines = folder.path().join("engines");
    std::fs::create_dir(&engines).unwrap();
    for file in std::fs::read_dir(Path::new(ROOT).join("engines")).unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), engines.join(file.file_name())).unwrap();
    }
    folder
}

/// Every `console` block: the commands, what they print, and how they end. `TRYCMD=overwrite`
/// writes what they print now.
#[test]
fn every_command_prints_what_the_documents_show() {
    trycmd::TestCases::new().case("README.md").case("docs/*.md");
}

/// The first of the two commands runs the main job, and what is shown below it is what it prints.
#[test]
fn the_first_command_of_all_is_the_one_that_is_shown() {
    let line = README
        .lines()
        .find_map(|line| line.strip_prefix("cargo run --release -- "))
        .unwrap();
    let output = tautmark(&shlex::split(line).unwrap(), Path::new(ROOT));
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stdout).contains("OUT OF TIME"));
    let shown = README
        .lines()
        .find_map(|line| line.strip_prefix("$ tautmark "));
    assert_eq!(shown, Some(line));
}

/// No command hides in a block that no test runs.
#[test]
fn no_other_block_holds_a_command() {
    for (path, text) in documents() {
        for piece in pieces(&text) {
            let kind = piece.kind.as_deref();
            for line in piece.text.lines() {
                let command = line.starts_with("$ ") || line.starts_with("tautmark ");
                match kind {
                    Some("console") | None => {}
                    Some("sh") => assert!(
                        line.starts_with("tautmark ")
                            || line.starts_with("cargo run --release -- ")
                            || line == "cargo test",
                        "{}: {line}",
                        path.display()
                    ),
                    Some("yaml" | "text") => {
                        assert!(!command, "{}: {line}", path.display());
                    }
                    Some(other) => panic!("{}: a block of kind '{other}'", path.display()),
                }
            }
        }
    }
}

/// Commands within a sentence and those of `sh` blocks, run in order, a folder for each document.
#[test]
fn every_command_in_a_sentence_can_be_given_as_it_stands() {
    let (mut run, mut whole) = (0, 0);
    for (path, text) in documents() {
        let folder = bench();
        for piece in pieces(&text) {
            let commands: Vec<&str> = match piece.kind.as_deref() {
                None => piece.text.split('`').skip(1).step_by(2).collect(),
                Some("sh") => piece.text.lines().collect(),
                Some(_) => continue,
            };
            for command in commands {
                let Some(words) = command.strip_prefix("tautmark ") else {
                    continue;
                };
                let output = tautmark(&shlex::split(words).unwrap(), folder.path());
                let told = String::from_utf8_lossy(&output.stderr);
                assert!(
                    matches!(output.status.code(), Some(0 | 1)) && !told.contains("refused"),
                    "{}: {command}: {output:?}",
                    path.display()
                );
                run += 1;
                // Where a whole job is shown, its report at the end says that it is signed off on proof.
                if command.starts_with("tautmark job report") && command.contains(" --at ") {
                    assert_eq!(output.status.code(), Some(0), "{command}: {output:?}");
                    whole += 1;
                }
            }
        }
    }
    assert!(run > 20, "{run}");
    assert_eq!(whole, 3, "whole jobs");
}

/// A whole file that is shown can be used as it stands; a part of one is a part of an engine's.
#[test]
fn every_file_that_is_shown_is_read() {
    let engines: String = std::fs::read_dir(Path::new(ROOT).join("engines"))
        .unwrap()
        .map(|file| std::fs::read_to_string(file.unwrap().path()).unwrap())
        .collect();
    let known: Vec<&str> = engines.lines().collect();
    let (mut specs, mut records, mut jobs) = (0, 0, 0);
    for (path, text) in documents() {
        for piece in pieces(&text) {
            if piece.kind.as_deref() != Some("yaml") {
                continue;
            }
            let folder = bench();
            std::fs::write(folder.path().join("shown.yaml"), &piece.text).unwrap();
            let has = |key: &str| piece.text.lines().any(|line| line.starts_with(key));
            let line = if has("tautmark: ") {
                specs += 1;
                "lint shown.yaml"
            } else if has("tautmark_record: 1") || has("tautmark_record: 5") {
                records += 1;
                "check engines/wren-single.yaml --record shown.yaml"
            } else if has("tautmark_record: 6") {
                jobs += 1;
                "job status engines/wren-single.yaml shown.yaml --at 2024-11-25T09:00:00Z"
            } else {
                for line in piece.text.lines() {
                    assert!(known.contains(&line), "{}: {line}", path.display());
                }
                continue;
            };
            let output = tautmark(&shlex::split(line).unwrap(), folder.path());
            // A job that has just begun is not proven.
            let expected = i32::from(line.starts_with("job"));
            assert_eq!(output.status.code(), Some(expected), "{output:?}");
            assert!(output.stderr.is_empty(), "{output:?}");
        }
    }
    assert!(specs > 0 && records > 0 && jobs > 0);
}

#[test]
fn the_cautions_are_those_of_the_program() {
    for caution in tautmark::render::CAUTIONS {
        assert!(README.contains(&format!("- {caution}\n")), "{caution}");
    }
}

/// `UPDATE_SNAPSHOTS=1` writes the table that is right now.
#[test]
fn the_table_of_keys_is_that_of_the_format() {
    let (begin, end) = ("<!-- keys -->\n", "<!-- /keys -->");
    let start = FORMAT.find(begin).unwrap() + begin.len();
    let stop = FORMAT.find(end).unwrap();
    let table = format!("\n{}\n", tautmark::render::format_tables());
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        let text = format!("{}{table}{}", &FORMAT[..start], &FORMAT[stop..]);
        std::fs::write(Path::new(ROOT).join("docs/file-format.md"), text).unwrap();
        return;
    }
    assert_eq!(&FORMAT[start..stop], table);
}

/// The versions that are stated are those of the program.
#[test]
fn the_versions_are_those_of_the_program() {
    let text = std::fs::read_to_string(Path::new(ROOT).join("docs/versions.md")).unwrap();
    let rows = [
        format!(
            "| the program and the library | `tautmark --version`, `Cargo.toml` | {} |",
            env!("CARGO_PKG_VERSION")
        ),
        format!(
            "| the spec format | `tautmark:` in the file | {} |",
            tautmark::spec::FORMAT_VERSION
        ),
        format!(
            "| the record formats | `tautmark_record:` in the file | {} (looks), {} (job) |",
            tautmark::spec::RECORD_VERSION,
            tautmark::spec::JOB_VERSION
        ),
    ];
    for row in rows {
        assert!(text.contains(&row), "{row}");
    }
    let changes = std::fs::read_to_string(Path::new(ROOT).join("CHANGELOG.md")).unwrap();
    assert!(changes.contains("\n## Unreleased\n"));
    assert!(changes.contains(&format!("\n## {}\n", env!("CARGO_PKG_VERSION"))));
}

#[test]
fn the_readme_fits_on_one_page() {
    let lines = README.lines().count();
    assert!(lines <= 170, "{lines} lines");
}

/// The name by which a heading is linked to.
fn anchor(heading: &str) -> String {
    heading
        .trim_start_matches('#')
        .trim()
        .to_lowercase()
        .chars()
        .filter_map(|c| match c {
            ' ' => Some('-'),
            c if c.is_alphanumeric() || c == '-' || c == '_' => Some(c),
            _ => None,
        })
        .collect()
}

#[test]
fn every_link_leads_somewhere() {
    let mut all = documents();
    for name in ["DEVELOPERS.md", "CHANGELOG.md"] {
        let path = Path::new(ROOT).join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        all.push((path, text));
    }
    let mut followed = 0;
    for (path, text) in &all {
        let prose: String = pieces(text)
            .into_iter()
            .filter(|piece| piece.kind.is_none())
            .map(|piece| piece.text)
            .collect();
        for target in prose.split("](").skip(1) {
            let target = target.split(')').next().unwrap();
            if target.starts_with("https://") {
                continue;
            }
            let (file, heading) = target.split_once('#').unwrap_or((target, ""));
            let place = if file.is_empty() {
                path.clone()
            } else {
                path.parent().unwrap().join(file)
            };
            assert!(place.exists(), "{}: {target}", path.display());
            if !heading.is_empty() {
                let there = std::fs::read_to_string(&place).unwrap();
                let found = pieces(&there)
                    .iter()
                    .filter(|piece| piece.kind.is_none())
                    .flat_map(|piece| piece.text.lines())
                    .any(|line| line.starts_with('#') && anchor(line) == heading);
                assert!(found, "{}: {target}", path.display());
            }
            followed += 1;
        }
    }
    assert!(followed > 20, "{followed}");
}

/// Nobody finds a guide that the README does not name.
#[test]
fn the_readme_leads_to_every_document() {
    for (path, _) in documents().iter().skip(1) {
        let name = path.file_name().unwrap().to_string_lossy();
        assert!(README.contains(&format!("](docs/{name})")), "{name}");
    }
}
