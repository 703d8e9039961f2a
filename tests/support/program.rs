//! Runs the real program and keeps what it wrote.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "every test file takes what it needs; a test that cannot go on has failed"
)]

use std::ffi::OsStr;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What one run came to.
#[derive(Debug)]
pub(crate) struct Outcome {
    pub(crate) status: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) took: Duration,
}

impl Outcome {
    /// Standard output as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("{error} in {}", self.stdout))
    }

    /// Nothing that a terminal would act on, nor turn around.
    pub(crate) fn assert_printable(&self) {
        for (stream, text) in [("stdout", &self.stdout), ("stderr", &self.stderr)] {
            if let Some(c) = text
                .chars()
                .find(|c| (c.is_control() && !matches!(c, '\n' | '\t')) || is_bidi(*c))
            {
                panic!("{stream} has U+{:04X} raw: {text:?}", u32::from(c));
            }
        }
    }
}

fn is_bidi(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// The program with `arguments`, nothing on standard input, no more memory than 100 MiB.
pub(crate) fn tautmark<S: AsRef<OsStr>>(arguments: &[S]) -> Outcome {
    tautmark_fed(arguments, b"")
}

/// The same with `input` on standard input.
pub(crate) fn tautmark_fed<S: AsRef<OsStr>>(arguments: &[S], input: &[u8]) -> Outcome {
    let mut command = limited();
    command.args(arguments);
    command.stdin(Stdio::piped());
    run(command, input)
}

/// The program under a limit of 100 MiB of address space, which is more than what it touches: a
/// run that asks for more is aborted, and its status shows it.
pub(crate) fn limited() -> Command {
    if cfg!(target_os = "linux") {
        let mut command = Command::new("bash");
        command
            .args(["-c", "ulimit -v 102400 && exec \"$0\" \"$@\""])
            .arg(env!("CARGO_BIN_EXE_tautmark"));
        command
    } else {
        Command::new(env!("CARGO_BIN_EXE_tautmark"))
    }
}

pub(crate) fn run(mut command: Command, input: &[u8]) -> Outcome {
    let start = Instant::now();
    let mut child = command
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    if let Some(mut stdin) = child.stdin.take() {
        // The program may have seen enough before it has read all.
        let _ = stdin.write_all(input);
    }
    let output = child.wait_with_output().unwrap();
    Outcome {
        status: output.status.code(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
        took: start.elapsed(),
    }
}

/// A directory of this test's own, empty.
pub(crate) fn scratch(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).unwrap();
    path
}

pub(crate) const ENGINES: &[&str] = &[
    "buzzard-v8",
    "dunnock-facing",
    "heron-v6",
    "kestrel-four",
    "linnet-idler",
    "plover-three",
    "tern-between",
    "wren-single",
];

pub(crate) fn engine(name: &str) -> String {
    format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR"))
}
