//! The interview, held on a screen.

use super::super::{CLEAN, FINDINGS, colour_wanted, files, specfile, stream};
use super::draft::Draft;
use super::screen::{Key, Screen, quoted};
use crate::cli::hints::Answers;
use anyhow::Result;
use std::path::Path;
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

/// Words that may be typed for the keys of a question.
const WORDS: &[(&str, &str)] = &[
    ("on", "1"),
    ("ahead", "2"),
    ("a", "2"),
    ("behind", "3"),
    ("b", "3"),
];

pub(super) struct Dialogue<'a> {
    pub(super) screen: Screen,
    pub(super) draft: Draft,
    pub(super) record: Option<&'a Path>,
    pub(super) spec: &'a str,
}

/// How the interview was left.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Finished {
    /// Nothing more is to be asked.
    Yes,
    /// Stopped; the next run can go on.
    No,
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

impl Dialogue<'_> {
    /// The interview to be held: a draft gone on with, or a new one. `None`: stopped.
    pub(super) fn begin<'d>(&mut self, drive: &'d Drive) -> Result<Option<Interview<'d>>> {
        let new = || Interview::new(drive, self.spec);
        if self.draft.path.symlink_metadata().is_err() {
            return Ok(Some(new()?));
        }
        let fresh = new()?;
        let name = self.draft.name();
        let Some((record, interview)) = self.usable_draft(drive) else {
            let text = format!(
                "The draft {name} cannot be used with this spec.\n\n\
                 1 = set it aside and start over   q = stop and leave it\n"
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
            "{}\n\nThere is a draft, {name}, with {} from an earlier run.\n\n{}\
             Has anything been moved since?\n\
             1 = no, nothing has moved   2 = yes, look at everything again   q = stop\n",
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

    pub(super) fn ask(&mut self, interview: &mut Interview<'_>) -> Result<Finished> {
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
                self.screen.notice = format!("NOT SAVED: {}", printable(&format!("{error:#}")));
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
            Repeat::Everything if stage == Stage::Hung => "1 = corrected, look at every mark again",
            Repeat::Everything if tensioned(interview.drive()) => {
                "1 = rehung, tensioner held back: start at stage 1"
            }
            Repeat::Everything => "1 = rehung: start at stage 1",
        };
        let (save, keys): (&str, &[&str]) = match self.record {
            Some(_) => ("   2 = save it as it is and quit", &["1", "2", "0"]),
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
                    self.screen.notice = format!(
                        "{} is not a number of teeth (2, for example).",
                        quoted(&line)
                    );
                }
            }
        }
    }

    /// The verdicts, and where the answers are.
    pub(super) fn close(mut self, interview: &Interview<'_>, finished: Finished) -> Result<u8> {
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
                            error.context(format!("the answers are only in '{name}'"))
                        }
                        None => error,
                    });
                }
                self.draft.remove();
                let path = printable(&path.to_string_lossy());
                text.push_str(&format!(
                    "\nSaved as {path}. To check it again:\n  tautmark check {spec} --record {path}\n"
                ));
            }
            (None, Finished::Yes) if self.draft.kept.is_some() => {
                let name = self.draft.name();
                text.push_str(&format!(
                    "\nThe answers are in {name}. To check them again:\n  tautmark check {spec} --record {name}\n"
                ));
            }
            (_, Finished::No) if self.draft.kept.is_some() => text.push_str(&format!(
                "\nStopped. The answers are in {}; the next run offers to continue.\n",
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

fn answers_words(count: usize) -> String {
    match count {
        1 => "1 answer".to_owned(),
        n => format!("{n} answers"),
    }
}
