//! Where questions are shown and answers typed.

use super::super::stream;
use crate::cli::wrap::{columns, wrapped};
use anyhow::Result;
use std::io::{BufRead as _, IsTerminal as _, Read as _};
use tautmark::render::printable;

pub(super) enum Key {
    /// One of those that were offered.
    One(&'static str),
    /// `q`, or the end of input.
    Stop,
}

/// A number that was typed.
pub(super) enum HowMany {
    Number(u32),
    /// Enter alone: nought is a number here.
    Back,
    /// `q`, or the end of input.
    Stop,
}

/// Where questions are shown and answers typed.
pub(super) struct Screen {
    /// Is the screen wiped before each question, so that only one is on it?
    wipes: bool,
    /// Is what is typed not shown by a terminal, so that we have to?
    echoes: bool,
    /// Was anything shown yet?
    shown: bool,
    /// One line to be shown above the next question.
    pub(super) notice: String,
    /// The last answer in words, to be read back above the next question.
    pub(super) noted: String,
}

impl Screen {
    /// Longest line that is read; what is beyond is dropped.
    const LONGEST: u64 = 1000;

    pub(super) fn new() -> Self {
        let typed = std::io::stdin().is_terminal();
        let able = std::env::var_os("TERM").is_some_and(|term| !term.is_empty() && term != "dumb");
        Self {
            wipes: typed && able && std::io::stdout().is_terminal(),
            echoes: !typed,
            shown: false,
            notice: String::new(),
            noted: String::new(),
        }
    }

    pub(super) fn show(&mut self, text: &str) -> Result<()> {
        let mut out = String::new();
        // What the shell or an error message left on the screen stays until something was read.
        if self.shown {
            out.push_str(if self.wipes {
                "\u{1b}[2J\u{1b}[H"
            } else {
                "\n"
            });
        }
        if !self.notice.is_empty() {
            out.push_str(&format!("! {}\n\n", self.notice));
            self.notice.clear();
        }
        if !self.noted.is_empty() {
            out.push_str(&format!("Noted: {}.\n\n", self.noted));
            self.noted.clear();
        }
        out.push_str(text);
        if let Some(columns) = columns() {
            out = wrapped(&out, columns);
        }
        self.shown = true;
        stream::output(&out)
    }

    /// Shows `text` until one of `keys` is typed.
    pub(super) fn choose(&mut self, text: &str, keys: &[&'static str]) -> Result<Key> {
        self.choose_or(text, keys, &[])
    }

    /// The same, with words that may be typed for a key.
    pub(super) fn choose_or(
        &mut self,
        text: &str,
        keys: &[&'static str],
        words: &[(&str, &'static str)],
    ) -> Result<Key> {
        loop {
            self.show(text)?;
            stream::output("> ")?;
            let Some(line) = self.read()? else {
                return Ok(Key::Stop);
            };
            if line.eq_ignore_ascii_case("q") {
                return Ok(Key::Stop);
            }
            if let Some(key) = keys.iter().find(|key| **key == line) {
                return Ok(Key::One(key));
            }
            let word = words
                .iter()
                .find(|(word, _)| word.eq_ignore_ascii_case(&line));
            if let Some((_, key)) = word {
                return Ok(Key::One(key));
            }
            let offered: Vec<&str> = keys.iter().copied().filter(|key| !key.is_empty()).collect();
            self.notice = format!(
                "{} is not one of the keys {}, q.",
                if line.is_empty() {
                    "Enter alone".to_owned()
                } else {
                    quoted(&line)
                },
                offered.join(", ")
            );
        }
    }

    /// A line in reply to `prompt`; `None` at the end of input.
    pub(super) fn prompt(&mut self, prompt: &str) -> Result<Option<String>> {
        let mut out = String::new();
        if !self.notice.is_empty() {
            out.push_str(&format!("! {}\n", self.notice));
            self.notice.clear();
        }
        out.push_str(prompt);
        if let Some(columns) = columns() {
            out = wrapped(&out, columns);
        }
        stream::output(&out)?;
        self.read()
    }

    /// Shows `text` until a number of pieces is typed.
    pub(super) fn how_many(&mut self, text: &str) -> Result<HowMany> {
        loop {
            self.show(text)?;
            let prompt = "A number, then Enter; 0 = none\nEnter alone = back   q = stop\n> ";
            let Some(line) = self.prompt(prompt)? else {
                return Ok(HowMany::Stop);
            };
            if line.is_empty() {
                return Ok(HowMany::Back);
            }
            if line.eq_ignore_ascii_case("q") {
                return Ok(HowMany::Stop);
            }
            match line.parse() {
                Ok(count) => return Ok(HowMany::Number(count)),
                Err(_) => {
                    self.notice = format!("{} is not a number (2, for example).", quoted(&line));
                }
            }
        }
    }

    fn read(&self) -> Result<Option<String>> {
        let mut stdin = std::io::stdin().lock();
        let mut bytes = Vec::new();
        (&mut stdin)
            .take(Self::LONGEST)
            .read_until(b'\n', &mut bytes)?;
        if bytes.is_empty() {
            stream::output("\n")?;
            return Ok(None);
        }
        if bytes.len() as u64 == Self::LONGEST && !bytes.ends_with(b"\n") {
            stdin.skip_until(b'\n')?;
        }
        let line = String::from_utf8_lossy(&bytes).trim().to_owned();
        if self.echoes {
            stream::output(&format!("{}\n", shortened(&line)))?;
        }
        Ok(Some(line))
    }
}

/// What was typed, as it can be shown.
fn shortened(text: &str) -> String {
    const MOST: usize = 20;
    let text = printable(text);
    if text.chars().count() <= MOST {
        text
    } else {
        format!("{}...", text.chars().take(MOST).collect::<String>())
    }
}

pub(super) fn quoted(text: &str) -> String {
    format!("'{}'", shortened(text))
}
