//! The README says what is so: every command in it is run, and its tables are those of the code.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use std::process::Command;

const README: &str = include_str!("../../README.md");

/// Every `console` block: the commands, what they print, and how they end. `TRYCMD=overwrite`
/// writes what they print now.
#[test]
fn every_command_prints_what_the_readme_shows() {
    trycmd::TestCases::new().case("README.md");
}

/// The first of the two commands, without `cargo run`.
#[test]
fn the_first_command_of_all_runs_the_main_job() {
    let line = README
        .lines()
        .find_map(|line| line.strip_prefix("cargo run --release -- "))
        .unwrap();
    let words = shlex::split(line).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_tautmark"))
        .args(words)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stdout).contains("OUT OF TIME"));
}

#[test]
fn no_other_block_holds_a_command() {
    let mut inside = None;
    for line in README.lines() {
        if let Some(kind) = line.strip_prefix("```") {
            inside = if inside.is_some() { None } else { Some(kind) };
        } else if inside == Some("sh") {
            assert!(
                line.starts_with("cargo run --release -- ") || line == "cargo test",
                "{line}"
            );
        } else if inside != Some("console") {
            assert!(!line.starts_with("$ "), "{line}");
        }
    }
}

/// Commands within a sentence, run in order in a folder of their own.
#[test]
fn every_command_in_a_sentence_can_be_given_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let engines = folder.path().join("engines");
    std::fs::create_dir(&engines).unwrap();
    for file in std::fs::read_dir("engines").unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), engines.join(file.file_name())).unwrap();
    }
    let prose = README.split("```").step_by(2);
    let commands: Vec<&str> = prose
        .flat_map(|text| text.split('`').skip(1).step_by(2))
        .filter_map(|code| code.strip_prefix("tautmark "))
        .collect();
    assert!(commands.len() > 4, "{commands:?}");
    for command in commands {
        let output = Command::new(env!("CARGO_BIN_EXE_tautmark"))
            .args(shlex::split(command).unwrap())
            .current_dir(folder.path())
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        let status = output.status.code();
        assert!(
            status == Some(0) || status == Some(1),
            "{command}: {output:?}"
        );
    }
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
    let start = README.find(begin).unwrap() + begin.len();
    let stop = README.find(end).unwrap();
    let table = format!("\n{}\n", tautmark::render::format_tables());
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        let text = format!("{}{table}{}", &README[..start], &README[stop..]);
        std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md"), text).unwrap();
        return;
    }
    assert_eq!(&README[start..stop], table);
}
