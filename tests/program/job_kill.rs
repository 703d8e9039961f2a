//! The program is killed at random moments while it writes: the record is always the old or the new
//! one. Of two writers at once one wins and the other says so.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use crate::support::program::{program, scratch};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;
use tautmark::{Drive, Source, job::Job};

const SPEC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/engines/wren-single.yaml");
const WRITES: usize = 500;

fn drive() -> Drive {
    let source = Source::new(SPEC, std::fs::read(SPEC).unwrap()).unwrap();
    Drive::read(&source).drive.unwrap()
}

/// In memory, where there is such a folder: that a killed process leaves no half of a file does not
/// hang on the disk, and 1000 waits for a slow one would take minutes.
fn folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        tempfile::tempdir().unwrap()
    }
}

fn new_job(folder: &Path) -> PathBuf {
    let job = folder.join("job.yaml");
    let status = command(
        &["new", SPEC, "-o"],
        &job,
        &["--at", "2024-11-25T08:00:00Z"],
    )
    .status()
    .unwrap();
    assert!(status.success());
    job
}

fn command(before: &[&str], job: &Path, after: &[&str]) -> Command {
    let mut command = program();
    command.arg("job").args(before).arg(job).args(after);
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// A look, with something to tell it by.
fn write(job: &Path, n: usize) -> Command {
    let by = format!("writer-{n}");
    let seen = [
        "--stage",
        "hung",
        "--link",
        "crank=on",
        "--link",
        "cam=on",
        "--dot",
        "crank=on",
        "--dot",
        "cam=on",
        "--said",
        "pin-in",
        "--said",
        "slack-side",
        "--at",
        "2024-11-25T09:00:00Z",
        "--by",
        &by,
    ];
    command(&["look", SPEC], job, &seen)
}

/// Everybody who wrote, in order; the record must be whole.
fn writers(drive: &Drive, job: &Path) -> Vec<String> {
    let source = Source::new("job", std::fs::read(job).unwrap()).unwrap();
    let reading = Job::read(&source, drive);
    let job = reading
        .job
        .unwrap_or_else(|| panic!("{:?}", reading.findings));
    job.entries()
        .iter()
        .filter_map(|entry| entry.by.clone())
        .collect()
}

/// xorshift.
struct Random(u64);

impl Random {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

#[test]
fn killed_at_any_moment_the_record_is_the_old_or_the_new_one() {
    let drive = drive();
    let folder = folder();
    let job = new_job(folder.path());
    let seed = u64::from(std::process::id()) * 0x9e37_79b9 + 1;
    let mut random = Random(seed);
    assert!(write(&job, 0).status().unwrap().success());
    let mut kept = vec!["writer-0".to_owned()];
    let (mut old, mut new) = (0, 0);
    // How long the writer is let live, in microseconds: longer after one that wrote nothing, shorter after
    // one that was done. So the kills gather about the writing, on whatever machine.
    let mut life = 1000;
    for n in 1..=WRITES {
        let mut child = write(&job, n).spawn().unwrap();
        std::thread::sleep(Duration::from_micros(life / 2 + random.below(life)));
        // SIGKILL, on the systems that have it.
        child.kill().unwrap();
        child.wait().unwrap();
        let found = writers(&drive, &job);
        let mine = format!("writer-{n}");
        if found.last() == Some(&mine) {
            kept.push(mine);
            new += 1;
            life = (life * 4 / 5).max(10);
        } else {
            old += 1;
            life = life * 5 / 4 + 1;
        }
        // Nothing that was there before is lost, and nothing is there in part.
        assert_eq!(found, kept, "write {n}, seed {seed}");
    }
    // A test that kills only before or only after the writing shows nothing.
    assert!(old >= 20 && new >= 20, "{old} old, {new} new, seed {seed}");
    // A killed writer's lock does not block the next one.
    assert!(write(&job, WRITES + 1).status().unwrap().success());
    assert_eq!(writers(&drive, &job).len(), kept.len() + 1);
}

#[test]
fn of_writers_at_once_nobody_loses_what_another_wrote() {
    let drive = drive();
    let folder = scratch("job-writers");
    let job = new_job(&folder);
    let threads: Vec<_> = (0..4)
        .map(|writer| {
            let job = job.clone();
            std::thread::spawn(move || {
                let mut kept = Vec::new();
                for n in 0..20 {
                    let n = writer * 100 + n;
                    let output = write(&job, n).stderr(Stdio::piped()).output().unwrap();
                    if output.status.success() {
                        kept.push(format!("writer-{n}"));
                    } else {
                        let says = String::from_utf8(output.stderr).unwrap();
                        assert!(
                            says.contains("is being written by another program"),
                            "{says}"
                        );
                        assert_eq!(output.status.code(), Some(2));
                    }
                }
                kept
            })
        })
        .collect();
    let mut kept: Vec<String> = threads
        .into_iter()
        .flat_map(|thread| thread.join().unwrap())
        .collect();
    let mut found = writers(&drive, &job);
    kept.sort();
    found.sort();
    assert_eq!(found, kept);
    assert!(!kept.is_empty());
}

#[test]
fn while_one_holds_the_lock_the_other_says_so_and_writes_nothing() {
    let folder = scratch("job-lock");
    let job = new_job(&folder);
    let lock = folder.join("job.yaml.lock");
    // The first write makes the lock file; it stays, and blocks nobody.
    assert!(write(&job, 1).status().unwrap().success());
    let held = std::fs::File::options().write(true).open(&lock).unwrap();
    held.lock().unwrap();
    let before = std::fs::read(&job).unwrap();
    let output = write(&job, 2).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let says = String::from_utf8(output.stderr).unwrap();
    assert!(says.contains("(nothing was written; try again)"), "{says}");
    assert_eq!(std::fs::read(&job).unwrap(), before);
    // Reading needs no lock.
    let status = command(&["status", SPEC], &job, &[]).status().unwrap();
    assert_eq!(status.code(), Some(1));
    // Unlocked, not just closed: another test may be starting a program at this moment, which has all that is
    // open here open too until it runs.
    held.unlock().unwrap();
    assert!(write(&job, 3).status().unwrap().success());
    // By another name it is the same file, and the same lock.
    #[cfg(unix)]
    {
        let other = folder.join("other.yaml");
        std::os::unix::fs::symlink(&job, &other).unwrap();
        let held = std::fs::File::options().write(true).open(&lock).unwrap();
        held.lock().unwrap();
        assert_eq!(write(&other, 4).status().unwrap().code(), Some(2));
        held.unlock().unwrap();
        assert!(write(&other, 5).status().unwrap().success());
        assert!(other.symlink_metadata().unwrap().is_symlink());
        assert_eq!(writers(&drive(), &job).last().unwrap(), "writer-5");
    }
}
