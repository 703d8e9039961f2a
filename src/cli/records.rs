//! `check --records`: lines in, verdicts out, in order, on all cores, in constant memory.

use super::{CLEAN, FINDINGS, UNUSABLE, specfile, stream};
use anyhow::{Context as _, Result, bail};
use std::collections::BTreeMap;
use std::io::{IsTerminal as _, Read, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tautmark::{
    Drive, Verdict,
    stream::{LineChecker, LineOutcome},
};

/// Bytes that are read at once.
const CHUNK: usize = 1 << 16;

/// How many lines came to what.
#[derive(Clone, Copy, Default)]
struct Tally {
    in_time: u64,
    out_of_time: u64,
    not_proven: u64,
    bad: u64,
}

impl Tally {
    fn add(&mut self, outcome: LineOutcome) {
        match outcome {
            LineOutcome::Verdict(Verdict::InTime) => self.in_time += 1,
            LineOutcome::Verdict(Verdict::OutOfTime) => self.out_of_time += 1,
            LineOutcome::Verdict(Verdict::NotProven) => self.not_proven += 1,
            LineOutcome::Bad => self.bad += 1,
        }
    }

    fn join(&mut self, other: Self) {
        self.in_time += other.in_time;
        self.out_of_time += other.out_of_time;
        self.not_proven += other.not_proven;
        self.bad += other.bad;
    }

    fn lines(&self) -> u64 {
        self.in_time + self.out_of_time + self.not_proven + self.bad
    }
}

/// Whole lines, in the order in which they were read.
struct Batch {
    place: u64,
    first: u64,
    bytes: Vec<u8>,
    /// Room for its answers, used again and again.
    room: String,
}

/// The answers to a batch.
struct Answered {
    place: u64,
    text: String,
    tally: Tally,
    read: u64,
}

/// Answers every line of `path`: a file, a folder of `.jsonl` files, or `-`.
pub(crate) fn run(specs: &Path, path: &Path, jobs: Option<usize>) -> Result<u8> {
    if specs.as_os_str() == "-" && path.as_os_str() == "-" {
        bail!("the records come from standard input, so the spec cannot (name its file)");
    }
    let Some(drives) = drives(specs)? else {
        return Ok(UNUSABLE);
    };
    let drives = Arc::new(drives);
    let jobs = jobs
        .or_else(|| std::thread::available_parallelism().ok().map(Into::into))
        .unwrap_or(1)
        .clamp(1, 256);
    let mut total = Tally::default();
    for input in inputs(path)? {
        let (reader, size): (Box<dyn Read + Send>, Option<u64>) = if input.as_os_str() == "-" {
            (Box::new(std::io::stdin()), None)
        } else {
            let name = input.display().to_string();
            let file = std::fs::File::open(&input)
                .with_context(|| format!("'{name}' could not be opened"))?;
            let size = file.metadata().ok().map(|metadata| metadata.len());
            (Box::new(file), size)
        };
        let mut progress = Progress::new(size);
        let tally = if jobs == 1 {
            alone(reader, &drives, &mut progress)?
        } else {
            together(reader, &drives, jobs, &mut progress)?
        };
        progress.clear();
        total.join(tally);
    }
    stream::error(&format!(
        "{} lines: {} in time, {} out of time, {} not proven, {} bad\n",
        total.lines(),
        total.in_time,
        total.out_of_time,
        total.not_proven,
        total.bad
    ));
    Ok(if total.bad > 0 {
        UNUSABLE
    } else if total.in_time > 0 && total.in_time == total.lines() {
        CLEAN
    } else {
        FINDINGS
    })
}

/// The spec, or every `.yaml` file of a folder, by its name without the ending.
fn drives(path: &Path) -> Result<Option<BTreeMap<String, Drive>>> {
    let files = if path.is_dir() {
        let found = of_folder(path, &["yaml", "yml"])?;
        if found.is_empty() {
            bail!("'{}' holds no spec (*.yaml)", path.display());
        }
        found
    } else {
        vec![path.to_owned()]
    };
    let mut drives = BTreeMap::new();
    for file in files {
        let Some((_, drive)) = specfile::provable_drive(&file)? else {
            return Ok(None);
        };
        let name = file.file_stem().unwrap_or(file.as_os_str());
        drives.insert(name.to_string_lossy().into_owned(), drive);
    }
    Ok(Some(drives))
}

fn inputs(path: &Path) -> Result<Vec<PathBuf>> {
    if path.as_os_str() == "-" || !path.is_dir() {
        return Ok(vec![path.to_owned()]);
    }
    let found = of_folder(path, &["jsonl", "ndjson"])?;
    if found.is_empty() {
        bail!("'{}' holds no records (*.jsonl)", path.display());
    }
    Ok(found)
}

/// The files with these endings, by name.
fn of_folder(path: &Path, endings: &[&str]) -> Result<Vec<PathBuf>> {
    let read = || format!("'{}' could not be read", path.display());
    let mut found = Vec::new();
    for entry in std::fs::read_dir(path).with_context(read)? {
        let file = entry.with_context(read)?.path();
        let ending = file.extension().and_then(|ending| ending.to_str());
        if ending.is_some_and(|ending| endings.contains(&ending)) {
            found.push(file);
        }
    }
    found.sort();
    Ok(found)
}

/// Cuts what is read into batches of whole lines. Of a line that is too long only so much is kept
/// that its answer says so.
struct Cutter<R> {
    reader: R,
    rest: Vec<u8>,
    skipping: bool,
    place: u64,
    line: u64,
    ended: bool,
}

impl<R: Read> Cutter<R> {
    fn new(reader: R) -> Self {
        Self {
            reader,
            rest: Vec::new(),
            skipping: false,
            place: 0,
            line: 1,
            ended: false,
        }
    }

    /// The next batch, as soon as there is a whole line; `None` at the end.
    fn next(&mut self) -> std::io::Result<Option<Batch>> {
        let mut bytes = std::mem::take(&mut self.rest);
        while !self.ended {
            let start = bytes.len();
            bytes.resize(start + CHUNK, 0);
            let read = match self.reader.read(&mut bytes[start..]) {
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => 0,
                Err(error) => return Err(error),
                Ok(0) => {
                    self.ended = true;
                    0
                }
                Ok(read) => read,
            };
            bytes.truncate(start + read);
            if self.skipping {
                // The line's beginning is kept up to `start`; what follows it, up to its end, is not.
                match bytes[start..].iter().position(|byte| *byte == b'\n') {
                    Some(end) => {
                        bytes.drain(start..start + end);
                        self.skipping = false;
                    }
                    None => bytes.truncate(start),
                }
            }
            match bytes.iter().rposition(|byte| *byte == b'\n') {
                Some(last) => {
                    self.rest = bytes.split_off(last + 1);
                    break;
                }
                None if bytes.len() > LineChecker::LONGEST => {
                    bytes.truncate(LineChecker::LONGEST + 1);
                    self.skipping = true;
                }
                None => {}
            }
        }
        if bytes.is_empty() {
            return Ok(None);
        }
        let lines = bytes.split_inclusive(|byte| *byte == b'\n').count() as u64;
        let batch = Batch {
            place: self.place,
            first: self.line,
            bytes,
            room: String::new(),
        };
        self.place += 1;
        self.line += lines;
        Ok(Some(batch))
    }
}

fn answer(checker: &mut LineChecker<'_>, batch: Batch) -> Answered {
    let mut text = batch.room;
    text.clear();
    let mut tally = Tally::default();
    for (number, line) in (batch.first..).zip(batch.bytes.split_inclusive(|byte| *byte == b'\n')) {
        let line = line.strip_suffix(b"\n").unwrap_or(line);
        // An empty line asks nothing; it counts as a line all the same.
        if line.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        tally.add(checker.answer(number, line, &mut text));
    }
    Answered {
        place: batch.place,
        text,
        tally,
        read: batch.bytes.len() as u64,
    }
}

/// On one core.
fn alone(
    reader: impl Read,
    drives: &BTreeMap<String, Drive>,
    progress: &mut Progress,
) -> Result<Tally> {
    let mut cutter = Cutter::new(reader);
    let mut checker = LineChecker::new(drives);
    let mut total = Tally::default();
    let mut room = String::new();
    while let Some(mut batch) = cutter.next().context("the records could not be read")? {
        batch.room = room;
        let answered = answer(&mut checker, batch);
        stream::output(&answered.text)?;
        total.join(answered.tally);
        progress.show(answered.read, &total);
        room = answered.text;
    }
    Ok(total)
}

/// On several cores: one thread reads, some answer, this one writes. As many batches are under way
/// as there are tokens, so that memory stays what it is however slow one of them is.
fn together(
    reader: impl Read + Send + 'static,
    drives: &Arc<BTreeMap<String, Drive>>,
    jobs: usize,
    progress: &mut Progress,
) -> Result<Tally> {
    let most = 4 * jobs;
    let (token, tokens) = sync_channel::<String>(most);
    for _ in 0..most {
        token.send(String::new())?;
    }
    let (to_work, work) = sync_channel::<Batch>(most);
    let work = Arc::new(Mutex::new(work));
    let (to_write, written) = sync_channel::<Answered>(most);
    // Nobody waits for these threads: when the output is gone the program ends, and they with it,
    // even if one of them is waiting for input that never comes.
    let reading = std::thread::spawn(move || -> std::io::Result<()> {
        let mut cutter = Cutter::new(reader);
        while let Ok(room) = tokens.recv() {
            let Some(mut batch) = cutter.next()? else {
                break;
            };
            batch.room = room;
            if to_work.send(batch).is_err() {
                break;
            }
        }
        Ok(())
    });
    let mut working = Vec::with_capacity(jobs);
    for _ in 0..jobs {
        let (work, to_write, drives) = (Arc::clone(&work), to_write.clone(), Arc::clone(drives));
        working.push(std::thread::spawn(move || {
            work_off(&work, &to_write, &drives);
        }));
    }
    drop(to_write);
    let mut total = Tally::default();
    let mut waiting: BTreeMap<u64, Answered> = BTreeMap::new();
    let mut next = 0;
    for answered in written {
        waiting.insert(answered.place, answered);
        while let Some(answered) = waiting.remove(&next) {
            next += 1;
            stream::output(&answered.text)?;
            total.join(answered.tally);
            progress.show(answered.read, &total);
            // The reader is gone once it has read all.
            let _ = token.send(answered.text);
        }
    }
    // A thread that failed has left lines without an answer, and that must not pass for all.
    if working.into_iter().any(|thread| thread.join().is_err()) {
        bail!("answering the records failed");
    }
    match reading.join() {
        Ok(read) => read.context("the records could not be read")?,
        Err(_) => bail!("reading the records failed"),
    }
    Ok(total)
}

fn work_off(
    work: &Mutex<Receiver<Batch>>,
    to_write: &SyncSender<Answered>,
    drives: &BTreeMap<String, Drive>,
) {
    let mut checker = LineChecker::new(drives);
    loop {
        let batch = match work.lock() {
            Ok(work) => work.recv(),
            Err(_) => return,
        };
        let Ok(batch) = batch else { return };
        if to_write.send(answer(&mut checker, batch)).is_err() {
            return;
        }
    }
}

/// How far it is, on standard error, if that is a terminal.
struct Progress {
    size: Option<u64>,
    read: u64,
    last: Option<Instant>,
    wanted: bool,
    shown: bool,
}

impl Progress {
    const WIDTH: u64 = 30;

    fn new(size: Option<u64>) -> Self {
        Self {
            size: size.filter(|size| *size > 0),
            read: 0,
            last: None,
            wanted: std::io::stderr().is_terminal(),
            shown: false,
        }
    }

    fn show(&mut self, more: u64, tally: &Tally) {
        self.read += more;
        let soon = self
            .last
            .is_some_and(|last| last.elapsed() < Duration::from_millis(200));
        if !self.wanted || soon {
            return;
        }
        self.last = Some(Instant::now());
        self.shown = true;
        let counts = format!("{} lines, {} bad", tally.lines(), tally.bad);
        let text = match self.size {
            Some(size) => {
                let read = self.read.min(size);
                let full = read * Self::WIDTH / size;
                let bar: String = (0..Self::WIDTH)
                    .map(|i| if i < full { '#' } else { '.' })
                    .collect();
                format!("\r[{bar}] {:3} %  {counts}", read * 100 / size)
            }
            None => format!("\r{counts}"),
        };
        // With standard error gone there is nobody left to tell.
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }

    /// Wipes it, so that what follows stands on a line of its own.
    fn clear(&mut self) {
        if self.shown {
            let _ = std::io::stderr().lock().write_all(b"\r\x1b[K");
        }
    }
}
