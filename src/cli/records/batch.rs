//! Lines in batches, and their answers.

use std::io::{BufRead as _, Read};
use tautmark::{
    Verdict,
    stream::{LineChecker, LineOutcome},
};

/// Bytes that are read at once.
const CHUNK: usize = 1 << 16;

/// How many lines came to what.
#[derive(Clone, Copy, Default)]
pub(super) struct Tally {
    pub(super) in_time: u64,
    pub(super) out_of_time: u64,
    pub(super) not_proven: u64,
    pub(super) bad: u64,
    /// Those in time by which the tensioner may be released.
    pub(super) released: u64,
}

impl Tally {
    fn add(&mut self, outcome: LineOutcome) {
        let LineOutcome::Verdict { verdict, release } = outcome else {
            self.bad += 1;
            return;
        };
        match verdict {
            Verdict::InTime => self.in_time += 1,
            Verdict::OutOfTime => self.out_of_time += 1,
            Verdict::NotProven => self.not_proven += 1,
        }
        self.released += u64::from(release);
    }

    pub(super) fn join(&mut self, other: Self) {
        self.in_time += other.in_time;
        self.out_of_time += other.out_of_time;
        self.not_proven += other.not_proven;
        self.bad += other.bad;
        self.released += other.released;
    }

    pub(super) fn lines(&self) -> u64 {
        self.in_time + self.out_of_time + self.not_proven + self.bad
    }
}

/// Whole lines, in the order in which they were read.
pub(super) struct Batch {
    pub(super) place: u64,
    first: u64,
    bytes: Vec<u8>,
    /// Room for its answers, used again and again.
    pub(super) room: String,
}

/// The answers to a batch.
pub(super) struct Answered {
    pub(super) place: u64,
    pub(super) text: String,
    pub(super) tally: Tally,
    pub(super) read: u64,
}

/// Cuts what is read into batches of whole lines. Of a line that is too long only so much is kept
/// that its answer says so.
pub(super) struct Cutter<R> {
    reader: R,
    rest: Vec<u8>,
    skipping: bool,
    place: u64,
    line: u64,
    ended: bool,
}

impl<R: Read> Cutter<R> {
    pub(super) fn new(reader: R) -> Self {
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
    pub(super) fn next(&mut self) -> std::io::Result<Option<Batch>> {
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
        // The last line may have no break.
        let lines = breaks(&bytes) + u64::from(bytes.last() != Some(&b'\n'));
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

/// How many line breaks there are; in parts of which each count fits into a byte, so that many bytes are compared at once.
fn breaks(bytes: &[u8]) -> u64 {
    let of_part = |part: &[u8]| part.iter().map(|byte| u8::from(*byte == b'\n')).sum::<u8>();
    bytes
        .chunks(usize::from(u8::MAX))
        .map(|part| u64::from(of_part(part)))
        .sum()
}

pub(super) fn answer(checker: &mut LineChecker<'_>, batch: Batch) -> Answered {
    let mut text = batch.room;
    text.clear();
    let mut tally = Tally::default();
    let mut rest = batch.bytes.as_slice();
    for number in batch.first.. {
        let line = rest;
        // Looks at many bytes at once, and cannot fail in memory.
        let length = rest.skip_until(b'\n').unwrap_or(0);
        if length == 0 {
            break;
        }
        let line = &line[..length];
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
