//! Runs the real program and keeps what it wrote.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "every test file takes what it needs; a test that cannot go on has failed"
)]

use std::cell::RefCell;
use std::ffi::OsStr;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use std::time::Duration;
use tempfile::TempDir;

/// What one run came to.
#[derive(Debug)]
pub(crate) struct Outcome {
    pub(crate) status: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Outcome {
    /// Standard output as JSON, held to its published schema.
    pub(crate) fn json(&self) -> serde_json::Value {
        let answer = serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("{error} in {}", self.stdout));
        super::contract::hold(&answer);
        answer
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

/// The program with `arguments` and nothing on standard input, [`limited`].
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

/// The program, with the signals of a shell at a terminal: whoever runs the tests may ignore some of
/// them (`nohup`, a runner in the background), and a child inherits that.
pub(crate) fn program() -> Command {
    unless_ignored(env!("CARGO_BIN_EXE_tautmark"))
}

fn unless_ignored(program: &str) -> Command {
    if cfg!(target_os = "linux") {
        let mut command = Command::new("env");
        command.args(["--default-signal", program]);
        command
    } else {
        Command::new(program)
    }
}

/// The program under two limits, either of which ends it, so that its status shows it: 100 MiB of
/// address space, which is more than what it touches, and [`CPU_SECONDS`] of computing. Neither
/// depends on what else the machine does.
pub(crate) fn limited() -> Command {
    if cfg!(target_os = "linux") {
        let mut command = unless_ignored("bash");
        let script = format!("ulimit -v 102400 -t {CPU_SECONDS} && exec \"$0\" \"$@\"");
        command
            .args(["-c", &script])
            .arg(env!("CARGO_BIN_EXE_tautmark"));
        command
    } else {
        program()
    }
}

/// What one run may compute. The longest of them takes about a tenth of it in an unoptimized build; one
/// that goes through all combinations would take hours. How fast it is stands in the benches.
const CPU_SECONDS: u32 = 30;

/// How long a test waits for what a broken program would never send. It measures nothing: on the
/// slowest machine that is long enough.
pub(crate) const PATIENCE: Duration = Duration::from_secs(300);

pub(crate) fn run(mut command: Command, input: &[u8]) -> Outcome {
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
    }
}

/// An empty folder of this call's own; it goes when the test that asked for it ends.
pub(crate) fn scratch(name: &str) -> PathBuf {
    thread_local! {
        // Each test runs on a thread of its own, and takes its folders with it.
        static FOLDERS: RefCell<Vec<TempDir>> = const { RefCell::new(Vec::new()) };
    }
    let folder = tempfile::Builder::new()
        .prefix(&format!("{name}-"))
        .tempdir_in(env!("CARGO_TARGET_TMPDIR"))
        .unwrap();
    let path = folder.path().to_owned();
    FOLDERS.with_borrow_mut(|folders| folders.push(folder));
    path
}

/// The names of the engines that come with the project.
pub(crate) static ENGINES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let engines = super::engines().into_iter();
    engines
        .map(|(file, _)| file.trim_end_matches(".yaml").to_owned())
        .collect()
});

pub(crate) fn engine(name: &str) -> String {
    format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR"))
}
