//! Data flows one way through the library: no module imports one that comes later.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use std::path::{Path, PathBuf};

/// The modules of the library, each after all that it may import. A new one is a new line here.
const ORDER: &[&str] = &[
    "quantity", //
    "source",
    "cycle",
    "lift",
    "format",
    "torque",
    "timestamp",
    "stage",
    "finding",
    "yaml",
    "conform",
    "spec",
    "place",
    "plan",
    "drive",
    "history",
    "observe",
    "hang",
    "check",
    "measure",
    "roll",
    "false_friend",
    "record",
    "job",
    "interview",
    "trouble",
    "cause",
    "geometry",
    "layout",
    "survey",
    "fitting",
    "wear",
    "piston",
    "valves",
    "slip",
    "pose",
    "render",
    "line",
];

/// What is not library: it may read files, print and exit.
const PROGRAM: &[&str] = &["main", "cli"];

/// Words that say that a file does what only the program may do.
const PROGRAM_ONLY: &[&str] = &[
    "println!",
    "print!",
    "dbg!",
    "std::fs",
    "std::env",
    "std::process",
    "std::io::std",
    "std::time",
    "std::net",
    "std::thread",
];

struct File {
    /// Under `src/`, with slashes.
    name: String,
    /// The module it belongs to: its first folder, or its own name.
    module: String,
    /// Its code without comments; documentation may show anything.
    code: String,
}

fn files() -> Vec<File> {
    let src = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    gather(&src, &src, &mut found);
    assert!(found.len() > ORDER.len(), "the source was not found");
    found
}

fn gather(src: &Path, folder: &Path, found: &mut Vec<File>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(src, &path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            let under = path.strip_prefix(src).unwrap().with_extension("");
            let name = under.to_string_lossy().replace('\\', "/");
            let module = name.split('/').next().unwrap().to_owned();
            let code = code_of(&std::fs::read_to_string(&path).unwrap());
            found.push(File { name, module, code });
        }
    }
}

/// What is neither comment nor test.
fn code_of(text: &str) -> String {
    let library = text.split("#[cfg(test)]").next().unwrap();
    let lines = library.lines().map(|line| match line.find("//") {
        Some(at) => &line[..at],
        None => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn is_program(file: &File) -> bool {
    PROGRAM.contains(&file.module.as_str())
}

fn library() -> impl Iterator<Item = File> {
    files()
        .into_iter()
        .filter(|file| !is_program(file) && file.module != "lib")
}

/// The modules that `code` imports by `crate::X`, `crate::{X, Y}` among them.
fn imports(code: &str) -> Vec<String> {
    let name_of = |text: &str| {
        let end = text.find(|c: char| !c.is_alphanumeric() && c != '_');
        text[..end.unwrap_or(text.len())].to_owned()
    };
    let mut found = Vec::new();
    for part in code.split("crate::").skip(1) {
        match part.strip_prefix('{') {
            None => found.push(name_of(part)),
            Some(group) => {
                let mut depth = 1;
                let mut start = true;
                for (at, c) in group.char_indices() {
                    match c {
                        '{' => depth += 1,
                        '}' => depth -= 1,
                        ',' if depth == 1 => start = true,
                        c if c.is_whitespace() => {}
                        _ if start && depth == 1 => {
                            found.push(name_of(&group[at..]));
                            start = false;
                        }
                        _ => {}
                    }
                    if depth == 0 {
                        break;
                    }
                }
            }
        }
    }
    found
}

fn place(module: &str) -> Option<usize> {
    ORDER.iter().position(|name| *name == module)
}

/// Everything in `files` that goes against the order.
fn offences(files: impl Iterator<Item = File>) -> Vec<String> {
    let mut found = Vec::new();
    for file in files {
        let Some(here) = place(&file.module) else {
            found.push(format!("{} is not in the order", file.name));
            continue;
        };
        for import in imports(&file.code) {
            match place(&import) {
                Some(there) if there <= here => {}
                Some(_) => found.push(format!("{} imports {import}, which comes later", file.name)),
                None => found.push(format!("{} imports {import}: by its module?", file.name)),
            }
        }
    }
    found
}

fn invented(name: &str, code: &str) -> File {
    File {
        name: name.into(),
        module: name.into(),
        code: code.into(),
    }
}

#[test]
fn no_module_imports_one_that_comes_later() {
    assert_eq!(offences(library()), Vec::<String>::new());
}

#[test]
fn every_module_in_the_order_is_there() {
    for name in ORDER {
        assert!(library().any(|file| file.module == *name), "{name}");
    }
}

#[test]
fn an_import_against_the_order_is_seen() {
    for (name, code) in [
        ("drive", "use crate::check::Check;"),
        (
            "drive",
            "use crate::{finding::Finding, hang::{Hung, hang}};",
        ),
        ("spec", "let x = crate::render::text(1);"),
        ("newcomer", ""),
    ] {
        let found = offences(std::iter::once(invented(name, code)));
        assert_eq!(found.len(), 1, "{code}: {found:?}");
    }
    let right = invented("check", "use crate::{drive::Drive, hang::{Hung, hang}};");
    assert_eq!(offences(std::iter::once(right)), Vec::<String>::new());
}

#[test]
fn only_quantity_touches_the_number_library() {
    let touching: Vec<String> = files()
        .into_iter()
        .filter(|file| file.code.contains("num_rational") || file.code.contains("num_traits"))
        .map(|file| file.name)
        .collect();
    assert_eq!(touching, ["quantity"]);
}

#[test]
fn the_library_reads_no_files_prints_nothing_and_asks_no_clock() {
    for file in files().into_iter().filter(|file| !is_program(file)) {
        for word in PROGRAM_ONLY {
            assert!(!file.code.contains(word), "{}: {word}", file.name);
        }
    }
}

#[test]
fn the_library_is_unaware_of_the_program() {
    for file in library() {
        for word in ["clap::", "anyhow::", "anstream::"] {
            assert!(!file.code.contains(word), "{}: {word}", file.name);
        }
    }
}
