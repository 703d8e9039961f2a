use super::hints::Answers;
use super::{CLEAN, FINDINGS, UNUSABLE, colour_wanted, files, specfile, stream};
use anyhow::{Result, bail};
use std::ffi::OsString;
use std::io::{BufRead as _, IsTerminal as _, Read as _};
use std::path::{Path, PathBuf};
use tautmark::{
    Drive, Seen, Verdict,
    job::{Answer, Interview, Question, Record, Repeat, Reply, Step},
    render::{
        CAUTIONS, answer_text, confirm_text, draft_text, halt_text, made_sure_text, printable,
        question_text, ready_text, refusal_text, tensioned, verdicts_text,
    },
    spec::Stage,
    units::{Exact, Teeth},
};

/// The same as questions, one mark at a time, for a person at the engine.
///
/// Numbers and single keys, each followed by Enter. Every mark is looked at three times: before the
/// tensioner is released, after it, and after turning the engine by hand. Nothing that was not seen
/// is taken to be right.
///
/// Every answer is kept at once in a draft: FILE.draft with --record FILE, else SPEC.ask-draft.yaml
/// in the current folder (SPEC without its folder and ending). Ctrl-C simply ends; the next run
/// offers to go on.
///
/// Exit status: 0 in time at all three stages; 1 out of time or not proven; 2 unusable input or usage.
#[derive(clap::Args)]
pub(crate) struct AskArguments {
    /// The engine's spec file
    #[arg(value_name = "SPEC")]
    spec: PathBuf,
    /// Save the answers to this file, which must not exist yet (`check --record` verifies it)
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
}

pub(crate) fn run(arguments: &AskArguments) -> Result<u8> {
    let path = &arguments.spec;
    if path.as_os_str() == "-" {
        bail!("the answers come from standard input, so the spec cannot (name its file)");
    }
    let draft = draft_path(path, arguments.record.as_deref());
    if let Some(record) = &arguments.record {
        files::refuse_existing(record)?;
        files::refuse_unwritable(record)?;
    }
    let Some((source, drive)) = specfile::provable_drive(path)? else {
        return Ok(UNUSABLE);
    };
    let spec = source.name();
    let mut session = Session {
        screen: Screen::new(),
        draft: Draft {
            path: draft,
            kept: None,
        },
        record: arguments.record.as_deref(),
        spec,
    };
    let Some(mut interview) = session.begin(&drive)? else {
        return Ok(FINDINGS);
    };
    let finished = session.ask(&mut interview)?;
    session.close(&interview, finished)
}

/// Where the draft belongs.
fn draft_path(spec: &Path, record: Option<&Path>) -> PathBuf {
    let (mut name, ending): (OsString, &str) = match record {
        Some(record) => (record.as_os_str().to_owned(), ".draft"),
        None => (
            spec.file_stem().unwrap_or(spec.as_os_str()).to_owned(),
            ".ask-draft.yaml",
        ),
    };
    name.push(ending);
    name.into()
}

/// Words that may be typed for the keys of a question.
const WORDS: &[(&str, &str)] = &[
    ("on", "1"),
    ("ahead", "2"),
    ("a", "2"),
    ("behind", "3"),
    ("b", "3"),
];

/// The answers so far, on the disk.
struct Draft {
    path: PathBuf,
    /// What stands there, as far as we wrote or read it.
    kept: Option<Record>,
}

impl Draft {
    fn name(&self) -> String {
        printable(&self.path.to_string_lossy())
    }

    /// Writes the answers if they are others than those that are kept.
    fn keep(&mut self, interview: &Interview<'_>) -> Result<()> {
        let record = interview.record();
        if record.answers() == 0 || self.kept.as_ref() == Some(&record) {
            return Ok(());
        }
        files::replace(&self.path, &record.to_yaml(interview.drive()))?;
        self.kept = Some(record);
        Ok(())
    }

    /// Removes it, if it is ours.
    fn remove(&mut self) {
        if self.kept.take().is_some() {
            // If it cannot be removed, the next run offers it once more; nothing is lost by that.
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

struct Session<'a> {
    screen: Screen,
    draft: Draft,
    record: Option<&'a Path>,
    spec: &'a str,
}

/// How the interview was left.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Finished {
    /// Nothing more is to be asked.
    Yes,
    /// Stopped; the next run can go on.
    No,
}

impl Session<'_> {
    /// The interview to be held: a draft gone on with, or a new one. `None`: stopped.
    fn begin<'d>(&mut self, drive: &'d Drive) -> Result<Option<Interview<'d>>> {
        let new = || Interview::new(drive, self.spec);
        if self.draft.path.symlink_metadata().is_err() {
            return Ok(Some(new()?));
        }
        let fresh = new()?;
        let name = self.draft.name();
        let Some((record, interview)) = self.usable_draft(drive) else {
            let text = format!(
                "The draft {name} cannot be used with this spec.\n\n\
                 1 = set it aside and begin anew   q = stop, and leave it where it is\n"
            );
            return Ok(match self.screen.choose(&text, &["1"])? {
                Key::One(_) => {
                    let aside = files::set_aside(&self.draft.path)?;
                    let aside = printable(&aside.to_string_lossy());
                    self.screen.notice = format!("The draft is now called {aside}.");
                    Some(fresh)
                }
                Key::Stop => None,
            });
        };
        let text = format!(
            "{}\n\nThere is a draft, {name}, with {} of an earlier run.\n\n{}\
             Has anything been moved since?\n\
             1 = no, nothing moved   2 = yes, look at everything again   q = stop\n",
            drive.engine(),
            answers_words(record.answers()),
            draft_text(&interview, colour_wanted()),
        );
        Ok(match self.screen.choose(&text, &["1", "2"])? {
            Key::One(key) => {
                self.draft.kept = Some(record);
                // The draft stays until the first new answer goes over it.
                Some(if key == "1" { interview } else { fresh })
            }
            Key::Stop => None,
        })
    }

    /// The draft, if it can be gone on with. Why not is said on standard error.
    fn usable_draft<'d>(&self, drive: &'d Drive) -> Option<(Record, Interview<'d>)> {
        let source = specfile::source_of(&self.draft.path, "a draft")
            .map_err(|error| stream::error(&format!("error: {error:#}\n")))
            .ok()?;
        let reading = Record::read(&source, drive);
        specfile::report(&source, reading.findings.iter());
        let record = reading.record?;
        let interview = Interview::resume(drive, self.spec, record.clone());
        if let Ok(Some(interview)) = interview {
            Some((record, interview))
        } else {
            let name = self.draft.name();
            stream::error(&format!(
                "error: '{name}' holds answers that this spec does not ask for\n"
            ));
            None
        }
    }

    fn ask(&mut self, interview: &mut Interview<'_>) -> Result<Finished> {
        let colour = colour_wanted();
        loop {
            let reply = match interview.step() {
                Step::Done => return Ok(Finished::Yes),
                Step::Ready(stage) => {
                    let (done, back) = match stage {
                        Stage::Hung => ("1 = ready", ""),
                        Stage::Released if !tensioned(interview.drive()) => {
                            ("1 = everything is tight", "   0 = back")
                        }
                        Stage::Released => ("1 = it is released", "   0 = back"),
                        Stage::Turned => ("1 = it is turned", "   0 = back"),
                    };
                    let text = format!(
                        "{}\n{done}{back}   q = stop\n",
                        ready_text(interview, stage, &Answers, colour)?
                    );
                    let keys: &[&str] = if back.is_empty() { &["1"] } else { &["1", "0"] };
                    match self.screen.choose(&text, keys)? {
                        Key::One("1") => Reply::Ready,
                        Key::One(_) => Reply::Back,
                        Key::Stop => return Ok(Finished::No),
                    }
                }
                Step::Confirm(stage) => match self.confirm(interview, stage)? {
                    Some(reply) => reply,
                    None => return Ok(Finished::No),
                },
                Step::Halt(stage) => match self.halt(interview, stage)? {
                    Halted::Reply(reply) => reply,
                    Halted::Leave(finished) => return Ok(finished),
                },
                Step::Ask(question) => {
                    let text = question_text(interview, &question, colour);
                    match self.answer(&text, &question)? {
                        Some(reply) => reply,
                        None => return Ok(Finished::No),
                    }
                }
            };
            let asked = interview.step();
            match interview.reply(reply) {
                Err(refusal) => self.screen.notice = refusal_text(&refusal),
                Ok(()) => {
                    if let Step::Ask(question) = asked {
                        let answer = match reply {
                            Reply::Answer(answer) => Some(answer),
                            Reply::Keep => question.earlier,
                            _ => None,
                        };
                        if let Some(answer) = answer {
                            self.screen.noted =
                                answer_text(interview.drive(), question.sight, answer);
                        }
                    }
                }
            }
            if let Err(error) = self.draft.keep(interview) {
                self.screen.notice = format!("NOT KEPT: {}", printable(&format!("{error:#}")));
            }
        }
    }

    /// Everything that was answered is read back; `None`: stop.
    fn confirm(&mut self, interview: &Interview<'_>, stage: Stage) -> Result<Option<Reply>> {
        let text = confirm_text(interview, stage, &Answers, colour_wanted())?;
        let open = interview.not_ruled_out(stage)?;
        let (choice, keys): (String, &[&str]) = if open.is_empty() {
            ("1 = yes, that is what I saw".to_owned(), &["1", "0"])
        } else {
            let sure = made_sure_text(&open);
            (format!("1 = {sure}   2 = look again"), &["1", "2", "0"])
        };
        let text = format!("{text}{choice}   0 = back   q = stop\n");
        Ok(match self.screen.choose(&text, keys)? {
            Key::One("1") => Some(Reply::Ready),
            Key::One("2") => Some(Reply::Again),
            Key::One(_) => Some(Reply::Back),
            Key::Stop => None,
        })
    }

    /// A stage is not in time: look again, go back, or leave.
    fn halt(&mut self, interview: &Interview<'_>, stage: Stage) -> Result<Halted> {
        let again = match interview.repeats(stage)? {
            Repeat::Unseen => "1 = look again at what was not seen",
            Repeat::Stage => "1 = look at every mark again",
            Repeat::Everything if stage == Stage::Hung => "1 = put right, look at every mark again",
            Repeat::Everything if tensioned(interview.drive()) => {
                "1 = hung again, tensioner held back: begin at stage 1"
            }
            Repeat::Everything => "1 = hung again: begin at stage 1",
        };
        let (save, keys): (&str, &[&str]) = match self.record {
            Some(_) => ("   2 = save it as it is, and end", &["1", "2", "0"]),
            None => ("", &["1", "0"]),
        };
        let text = format!(
            "{}{again}{save}   0 = back   q = stop\n",
            halt_text(interview, stage, &Answers, colour_wanted())?
        );
        Ok(match self.screen.choose(&text, keys)? {
            Key::One("1") => Halted::Reply(Reply::Again),
            Key::One("2") => Halted::Leave(Finished::Yes),
            Key::One(_) => Halted::Reply(Reply::Back),
            Key::Stop => Halted::Leave(Finished::No),
        })
    }

    /// The answer to a question; `None`: stop.
    fn answer(&mut self, text: &str, question: &Question) -> Result<Option<Reply>> {
        let keys: &[&str] = match question.earlier {
            Some(_) => &["1", "2", "3", "4", "0", ""],
            None => &["1", "2", "3", "4", "0"],
        };
        loop {
            let sign = match self.screen.choose_or(text, keys, WORDS)? {
                Key::Stop => return Ok(None),
                Key::One("1") => {
                    return Ok(Some(Reply::Answer(Answer::Seen(Seen::Teeth(Teeth::ZERO)))));
                }
                Key::One("4") => return Ok(Some(Reply::Answer(Answer::NotSeen))),
                Key::One("0") => return Ok(Some(Reply::Back)),
                Key::One("") => return Ok(Some(Reply::Keep)),
                Key::One("2") => Exact::ONE,
                Key::One(_) => Exact::whole(-1),
            };
            match self.how_many(sign)? {
                Number::Teeth(teeth) => {
                    return Ok(Some(Reply::Answer(Answer::Seen(Seen::Teeth(teeth)))));
                }
                Number::Back => {}
                Number::Stop => return Ok(None),
            }
        }
    }

    /// How many teeth ahead (`sign` 1) or behind (-1).
    fn how_many(&mut self, sign: Exact) -> Result<Number> {
        let side = if sign.signum() < 0 { "behind" } else { "ahead" };
        loop {
            let prompt = format!(
                "A number, then Enter   0 = back   q = stop\nHow many teeth {}? ",
                side.to_uppercase()
            );
            let Some(line) = self.screen.prompt(&prompt)? else {
                return Ok(Number::Stop);
            };
            if line.eq_ignore_ascii_case("q") {
                return Ok(Number::Stop);
            }
            // Read in the library's own way, so that nothing is taken here that a record refuses.
            match format!("{line} {side}").parse() {
                Ok(Seen::Teeth(teeth)) if teeth.is_zero() => return Ok(Number::Back),
                Ok(Seen::Teeth(teeth)) => return Ok(Number::Teeth(teeth)),
                _ => {
                    self.screen.notice =
                        format!("{} is no number of teeth, such as 2.", quoted(&line));
                }
            }
        }
    }

    /// The verdicts, and where the answers are.
    fn close(mut self, interview: &Interview<'_>, finished: Finished) -> Result<u8> {
        let record = interview.record();
        let outcome = record.check(interview.drive())?;
        // The verdict stands last, where it is still on the screen when all is written.
        let mut text = format!("{}\n\nCautions\n", interview.drive().engine());
        for caution in CAUTIONS {
            text.push_str(&format!("  - {caution}\n"));
        }
        text.push_str(&format!(
            "\n{}",
            verdicts_text(interview.drive(), &outcome, colour_wanted())
        ));
        let spec = printable(self.spec);
        match (self.record, finished) {
            (Some(path), Finished::Yes) => {
                let saved = files::create(path, &record.to_yaml(interview.drive()));
                if let Err(error) = saved {
                    return Err(match &self.draft.kept {
                        Some(_) => {
                            let name = self.draft.name();
                            error.context(format!("the answers are kept in '{name}' only"))
                        }
                        None => error,
                    });
                }
                self.draft.remove();
                let path = printable(&path.to_string_lossy());
                text.push_str(&format!(
                    "\nSaved as {path}. To verify it again:\n  tautmark check {spec} --record {path}\n"
                ));
            }
            (None, Finished::Yes) if self.draft.kept.is_some() => {
                let name = self.draft.name();
                text.push_str(&format!(
                    "\nThe answers are kept in {name}. To verify them again:\n  tautmark check {spec} --record {name}\n"
                ));
            }
            (_, Finished::No) if self.draft.kept.is_some() => text.push_str(&format!(
                "\nStopped. The answers are kept in {}; the next run offers to go on.\n",
                self.draft.name()
            )),
            _ => {}
        }
        self.screen.show(&text)?;
        Ok(if outcome.verdict() == Verdict::InTime {
            CLEAN
        } else {
            FINDINGS
        })
    }
}

enum Halted {
    Reply(Reply),
    Leave(Finished),
}

enum Number {
    Teeth(Teeth),
    Back,
    Stop,
}

enum Key {
    /// One of those that were offered.
    One(&'static str),
    /// `q`, or the end of input.
    Stop,
}

/// Where questions are shown and answers typed.
struct Screen {
    /// Is the screen wiped before each question, so that only one is on it?
    wipes: bool,
    /// Is what is typed not shown by a terminal, so that we have to?
    echoes: bool,
    /// Was anything shown yet?
    shown: bool,
    /// One line to be shown above the next question.
    notice: String,
    /// The last answer in words, to be read back above the next question.
    noted: String,
}

impl Screen {
    /// Longest line that is read; what is beyond is dropped.
    const LONGEST: u64 = 1000;

    fn new() -> Self {
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

    fn show(&mut self, text: &str) -> Result<()> {
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
        if let Some(columns) = self.columns() {
            out = wrapped(&out, columns);
        }
        self.shown = true;
        stream::output(&out)
    }

    /// How many columns the terminal has; `None` where there is none, or none to speak of.
    fn columns(&self) -> Option<usize> {
        let terminal = std::io::stdout().is_terminal();
        let (terminal_size::Width(columns), _) =
            terminal.then(terminal_size::terminal_size).flatten()?;
        (columns >= 20).then_some(usize::from(columns))
    }

    /// Shows `text` until one of `keys` is typed.
    fn choose(&mut self, text: &str, keys: &[&'static str]) -> Result<Key> {
        self.choose_or(text, keys, &[])
    }

    /// The same, with words that may be typed for a key.
    fn choose_or(
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
                "{} is none of the keys {}, q.",
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
    fn prompt(&mut self, prompt: &str) -> Result<Option<String>> {
        let mut out = String::new();
        if !self.notice.is_empty() {
            out.push_str(&format!("! {}\n", self.notice));
            self.notice.clear();
        }
        out.push_str(prompt);
        stream::output(&out)?;
        self.read()
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

/// `text` with its lines broken between words, and between keys where a line offers some.
fn wrapped(text: &str, columns: usize) -> String {
    text.split_inclusive('\n')
        .map(|line| wrapped_line(line, columns))
        .collect()
}

fn wrapped_line(line: &str, columns: usize) -> String {
    if width(line.trim_end()) <= columns {
        return line.to_owned();
    }
    let body = line.trim_start_matches(' ');
    let mut indent = line.len() - body.len();
    let keys = indent == 0 && body.starts_with(|c: char| c.is_ascii_digit());
    if body.starts_with("- ") {
        indent += 2;
    } else if !keys && body.starts_with(|c: char| c.is_ascii_digit()) {
        indent += 3;
    }
    let gap = if keys { "   " } else { " " };
    let start = line.len() - body.len();
    let mut out = " ".repeat(start);
    let mut used = start;
    let mut first = true;
    for word in body.trim_end_matches('\n').split(gap) {
        let size = width(word);
        if first {
            first = false;
        } else if used + gap.len() + size > columns {
            out.truncate(out.trim_end_matches(' ').len());
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            used = indent;
        } else {
            out.push_str(gap);
            used += gap.len();
        }
        out.push_str(word);
        used += size;
    }
    if line.ends_with('\n') {
        out.push('\n');
    }
    out
}

/// Columns that a text takes, styles taking none.
fn width(text: &str) -> usize {
    let mut pieces = text.split("\u{1b}[");
    let first = pieces.next().map_or(0, |piece| piece.chars().count());
    first
        + pieces
            .map(|piece| {
                let rest = piece.find(|c: char| c.is_ascii_alphabetic());
                rest.map_or(0, |end| piece[end + 1..].chars().count())
            })
            .sum::<usize>()
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

fn quoted(text: &str) -> String {
    format!("'{}'", shortened(text))
}

fn answers_words(count: usize) -> String {
    match count {
        1 => "1 answer".to_owned(),
        n => format!("{n} answers"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_between_keys() {
        for (line, broken) in [
            ("short\n", "short\n"),
            ("one two three four\n", "one two\nthree four\n"),
            ("  - one two three\n", "  - one\n    two\n    three\n"),
            ("  1. one two\n", "  1. one\n     two\n"),
            (
                "1 = on   2 = ahead   q = stop\n",
                "1 = on\n2 = ahead\nq = stop\n",
            ),
            ("\u{1b}[1mone\u{1b}[0m two\n", "\u{1b}[1mone\u{1b}[0m two\n"),
            ("overlongwordhere and\n", "overlongwordhere\nand\n"),
            ("no end here", "no end\nhere"),
        ] {
            assert_eq!(wrapped_line(line, 10), broken);
        }
    }
}
