//! How far it is, on standard error.

use super::batch::Tally;
use std::io::{IsTerminal as _, Write as _};
use std::time::{Duration, Instant};

/// How far it is, on standard error, if that is a terminal.
pub(super) struct Progress {
    size: Option<u64>,
    read: u64,
    last: Option<Instant>,
    wanted: bool,
    shown: bool,
}

impl Progress {
    const WIDTH: u64 = 30;

    pub(super) fn new(size: Option<u64>) -> Self {
        Self {
            size: size.filter(|size| *size > 0),
            read: 0,
            last: None,
            wanted: std::io::stderr().is_terminal(),
            shown: false,
        }
    }

    pub(super) fn show(&mut self, more: u64, tally: &Tally) {
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
    pub(super) fn clear(&mut self) {
        if self.shown {
            let _ = std::io::stderr().lock().write_all(b"\r\x1b[K");
        }
    }
}
