//! Data flows one way through the library: no room imports one that comes later, and within a room no
//! file leads back to itself.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The rooms of the library, each after all that it may import.
const ROOMS: &[&str] = &[
    "units", "spec", "drive", "timing", "plane", "proof", "valves", "lesson", "job", "render",
    "stream",
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
    /// As a path of modules: `timing::check`.
    name: String,
    /// The first part of it.
    room: String,
    /// Its code without comments and tests; documentation may show anything.
    code: String,
    /// Its whole text.
    text: String,
}

fn files() -> Vec<File> {
    let src = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    gather(&src, &src, &mut found);
    assert!(found.len() > 40, "the source was not found");
    found
}

fn gather(src: &Path, folder: &Path, found: &mut Vec<File>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(src, &path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            let under = path.strip_prefix(src).unwrap().with_extension("");
            let name = under
                .to_string_lossy()
                .replace('\\', "/")
                .replace('/', "::");
            let room = name.split("::").next().unwrap().to_owned();
            let text = std::fs::read_to_string(&path).unwrap();
            let code = code_of(&text);
            found.push(File {
                name,
                room,
                code,
                text,
            });
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

fn library() -> impl Iterator<Item = File> {
    files()
        .into_iter()
        .filter(|file| !PROGRAM.contains(&file.room.as_str()) && file.name != "lib")
}

/// Every path that `code` names after `crate::` or `super::`, groups spread out, as full paths.
fn imports(file: &str, code: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let parts: Vec<&str> = file.split("::").collect();
    for (word, base) in [
        ("crate::", Vec::new()),
        ("self::", parts.clone()),
        ("super::", parts[..parts.len() - 1].to_vec()),
    ] {
        for (at, _) in code.match_indices(word) {
            let before = code[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let mut base = base.clone();
            let mut rest = &code[at + word.len()..];
            while let Some(further) = rest.strip_prefix("super::") {
                base.pop();
                rest = further;
            }
            spread(&base, rest, &mut found);
        }
    }
    found
}

fn spread(base: &[&str], rest: &str, found: &mut BTreeSet<String>) {
    let rest = rest.trim_start();
    if let Some(group) = rest.strip_prefix('{') {
        let (mut depth, mut start) = (0, true);
        for (at, c) in group.char_indices() {
            match c {
                '}' if depth == 0 => return,
                '}' => depth -= 1,
                ',' if depth == 0 => start = true,
                c if c.is_whitespace() => {}
                c => {
                    if start && depth == 0 {
                        spread(base, &group[at..], found);
                        start = false;
                    }
                    if c == '{' {
                        depth += 1;
                    }
                }
            }
        }
        return;
    }
    let end = rest
        .find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(rest.len());
    let mut path = base.to_vec();
    if &rest[..end] != "self" {
        path.push(&rest[..end]);
    }
    match rest[end..].strip_prefix("::") {
        Some(further) if !further.starts_with('<') => spread(&path, further, found),
        _ => {
            found.insert(path.join("::"));
        }
    }
}

/// Everything in `files` that goes against the order of the rooms.
fn offences(files: &[File]) -> Vec<String> {
    let place = |room: &str| ROOMS.iter().position(|name| *name == room);
    let mut found = Vec::new();
    for file in files {
        let Some(here) = place(&file.room) else {
            found.push(format!("{} is in no room", file.name));
            continue;
        };
        for import in imports(&file.name, &file.code) {
            let room = import.split("::").next().unwrap();
            match place(room) {
                Some(there) if there <= here => {}
                Some(_) => found.push(format!("{} imports {import}, which comes later", file.name)),
                None => found.push(format!("{} imports {import}: from which room?", file.name)),
            }
        }
    }
    found
}

/// Which file imports which: a path of modules belongs to the longest file name that begins it.
fn graph(files: &[File]) -> BTreeMap<String, BTreeSet<String>> {
    let names: BTreeSet<&str> = files.iter().map(|file| file.name.as_str()).collect();
    let owner = |path: &str| {
        let mut path = path;
        loop {
            if names.contains(path) {
                return Some(path.to_owned());
            }
            path = path.rsplit_once("::")?.0;
        }
    };
    files
        .iter()
        .map(|file| {
            let to = imports(&file.name, &file.code)
                .iter()
                .filter_map(|path| owner(path))
                .filter(|to| *to != file.name)
                // What a front file declares beneath it is its own.
                .filter(|to| !to.starts_with(&format!("{}::", file.name)))
                .collect();
            (file.name.clone(), to)
        })
        .collect()
}

/// A way from a file back to itself, if there is one.
fn circle(graph: &BTreeMap<String, BTreeSet<String>>) -> Option<Vec<String>> {
    fn walk<'g>(
        graph: &'g BTreeMap<String, BTreeSet<String>>,
        at: &'g str,
        way: &mut Vec<&'g str>,
        done: &mut BTreeSet<&'g str>,
    ) -> Option<Vec<String>> {
        if let Some(from) = way.iter().position(|name| *name == at) {
            let mut found: Vec<String> = way[from..].iter().map(ToString::to_string).collect();
            found.push(at.to_owned());
            return Some(found);
        }
        if !done.insert(at) {
            return None;
        }
        way.push(at);
        for to in graph.get(at).into_iter().flatten() {
            if let Some(found) = walk(graph, to, way, done) {
                return Some(found);
            }
        }
        way.pop();
        None
    }
    let mut done = BTreeSet::new();
    graph
        .keys()
        .find_map(|name| walk(graph, name, &mut Vec::new(), &mut done))
}

fn invented(name: &str, code: &str) -> File {
    File {
        name: name.into(),
        room: name.split("::").next().unwrap().into(),
        code: code.into(),
        text: code.into(),
    }
}

#[test]
fn no_room_imports_one_that_comes_later() {
    let files: Vec<File> = library().collect();
    assert_eq!(offences(&files), Vec::<String>::new());
}

#[test]
fn no_file_leads_back_to_itself() {
    let files: Vec<File> = library().collect();
    assert_eq!(circle(&graph(&files)), None);
}

#[test]
fn every_room_is_there_and_says_what_comes_in_and_out() {
    let files: Vec<File> = files().into_iter().collect();
    for room in ROOMS {
        let front = files.iter().find(|file| file.name == *room).unwrap();
        for word in ["In:", "Out:", "Never:"] {
            assert!(
                front.text.contains(&format!("//! {word}")),
                "{room}: {word}"
            );
        }
    }
}

/// The table in DEVELOPERS.md: the rooms in order, and after each what it imports.
#[test]
fn the_table_of_rooms_is_what_is_so() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let document = std::fs::read_to_string(path).unwrap();
    let files: Vec<File> = library().collect();
    let mut rest = document.as_str();
    for room in ROOMS {
        let mut taken = BTreeSet::new();
        for file in files.iter().filter(|file| file.room == *room) {
            for import in imports(&file.name, &file.code) {
                taken.insert(import.split("::").next().unwrap().to_owned());
            }
        }
        let names = ROOMS.iter().filter(|name| *name != room);
        let names = names.filter(|name| taken.contains(**name));
        let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
        let (_, from) = rest.split_once(&format!("\n| `{room}` | ")).unwrap();
        let row = from.lines().next().unwrap();
        let last = row.trim_end_matches('|').rsplit_once('|').unwrap().1;
        assert_eq!(last.trim(), names.join(", "), "{room} in DEVELOPERS.md");
        rest = &from[row.len()..];
    }
}

#[test]
fn an_import_against_the_order_is_seen() {
    for (name, code) in [
        ("drive::model", "use crate::timing::check::Check;"),
        (
            "drive::model",
            "use crate::{spec::finding::Finding, timing::hang::{Hung, hang}};",
        ),
        ("spec::raw", "let x = crate::render::text(1);"),
        ("spec::raw", "use super::super::render::text;"),
        ("newcomer", ""),
    ] {
        let found = offences(&[invented(name, code)]);
        assert!(!found.is_empty(), "{code}: {found:?}");
    }
    let right = invented(
        "timing::check",
        "use crate::{drive::model::Drive, timing::hang::{Hung, hang}};",
    );
    assert_eq!(offences(&[right]), Vec::<String>::new());
}

#[test]
fn a_circle_is_seen() {
    let two = [
        invented("drive::model", "use crate::drive::read::Reading;"),
        invented("drive::read", "use super::{graph::Graph, model::Drive};"),
        invented("drive::graph", ""),
    ];
    assert_eq!(circle(&graph(&two)).unwrap().len(), 3);
    assert_eq!(circle(&graph(&two[1..])), None);
}

#[test]
fn only_quantity_touches_the_number_libraries() {
    let touching: Vec<String> = files()
        .into_iter()
        .filter(|file| {
            ["num_integer", "num_rational", "num_traits"]
                .iter()
                .any(|library| file.code.contains(library))
        })
        .map(|file| file.name)
        .collect();
    assert_eq!(touching, ["units::quantity"]);
}

/// A property that fails leaves its seed in tests/proptest-regressions: none turns that off.
#[test]
fn every_property_keeps_the_seeds_that_failed() {
    let tests = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests");
    let mut files = Vec::new();
    gather(&tests, &tests, &mut files);
    let mut properties = 0;
    for file in files {
        let blocks = file.text.matches("\nproptest! {\n").count();
        let kept = "\nproptest! {\n    #![proptest_config(crate::support::cases(";
        assert_eq!(file.text.matches(kept).count(), blocks, "{}", file.name);
        properties += blocks;
    }
    assert!(properties > 10, "{properties}");
}

/// Whatever reckons with whole numbers asks the same file.
#[test]
fn there_is_one_greatest_common_divisor() {
    for file in files() {
        let own = file.code.contains("fn gcd") || file.code.contains("fn lcm");
        assert!(!own, "{}", file.name);
    }
}

#[test]
fn the_library_reads_no_files_prints_nothing_and_asks_no_clock() {
    for file in library() {
        for word in PROGRAM_ONLY {
            assert!(!file.code.contains(word), "{}: {word}", file.name);
        }
    }
}

#[test]
fn the_library_is_unaware_of_the_program() {
    for file in library() {
        for word in [
            "clap::",
            "anyhow::",
            "anstream::",
            "terminal_size",
            "tempfile::",
        ] {
            assert!(!file.code.contains(word), "{}: {word}", file.name);
        }
    }
}

/// Files whose words still name a command: a header says which program keeps the file, and a finding
/// which command writes a right one.
const NAMES_A_COMMAND: &[&str] = &[
    "job::model",
    "job::record",
    "job::write",
    "render::finding_text",
    "spec::finding::reading",
    "spec::finding::record",
];

/// Flags and commands that `code` names.
fn command_line_words(code: &str) -> Vec<String> {
    let word = |text: &str| -> String {
        text.chars()
            .take_while(|c| c.is_ascii_lowercase() || *c == '-')
            .collect()
    };
    let flags = code.match_indices("--").filter_map(|(at, _)| {
        let flag = word(&code[at..]);
        let named = flag
            .strip_prefix("--")
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()));
        named.then_some(flag)
    });
    let commands = code.match_indices("tautmark ").filter_map(|(at, _)| {
        let command = word(&code[at + "tautmark ".len()..]);
        COMMANDS
            .contains(&command.as_str())
            .then(|| format!("tautmark {command}"))
    });
    flags.chain(commands).collect()
}

const COMMANDS: &[&str] = &[
    "ask", "check", "draw", "explain", "job", "lint", "new", "page", "roll", "schema", "slip",
    "wear",
];

#[test]
fn the_library_names_no_flag_and_no_command() {
    for file in library() {
        if !NAMES_A_COMMAND.contains(&file.name.as_str()) {
            let found = command_line_words(&file.code);
            assert_eq!(found, Vec::<String>::new(), "{}", file.name);
        }
    }
}

#[test]
fn flags_and_commands_are_seen() {
    let text =
        "look at it (--dot crank=...), or run `tautmark lint SPEC`; a tautmark spec -- no flag";
    assert_eq!(command_line_words(text), ["--dot", "tautmark lint"]);
}
