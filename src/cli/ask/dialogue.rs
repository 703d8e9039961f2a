//! The interview, held on a screen.

use super::super::{CLEAN, FINDINGS, UNUSABLE, clock, colour_wanted, files, specfile, stream};
use super::bench::{Bench, Gate};
use super::draft::{self, Draft};
use super::screen::{Key, Screen, quoted};
use crate::cli::hints::Answers;
use anyhow::Result;
use std::path::Path;
use tautmark::{
    Drive, Seen, Verdict,
    drive::Engagement,
    job::{Answer, Car, Counting, Interview, Passed, Question, Record, Reply, Sight, Step},
    render::{
        CAUTIONS, HALF_A_TURN, again_words, answer_text, car_text, closing_text, confirm_text,
        count_text, done_words, draft_text, halt_text, moved_since_words, plates_text, printable,
        question_text, ready_text, refusal_text, say_text, verdicts_text,
    },
    spec::Stage,
    timing::{DotCount, Plates, counted_on},
    units::{Exact, LinkPosition, Teeth, Timestamp},
};

/// Words that may be typed for the keys of a question.
const WORDS: &[(&str, &str)] = &[
    ("on", "1"),
    ("ahead", "2"),
    ("a", "2"),
    ("behind", "3"),
    ("b", "3"),
];

/// Words that may be typed for the keys of what has to be said. None of these keys answers for a mark, so
/// that no single key, pressed again and again, gets through.
pub(super) const YES_NO: &[(&str, &str)] = &[("yes", "y"), ("no", "n")];

pub(super) struct Dialogue<'a> {
    pub(super) screen: Screen,
    pub(super) draft: Draft,
    pub(super) record: Option<&'a Path>,
    pub(super) spec: &'a str,
    /// The number of the job whose looks these are, if any.
    pub(super) job: Option<&'a str>,
    pub(super) bench: Option<Bench<'a>>,
    /// The car of that job.
    pub(super) car: Option<&'a Car>,
    /// Who looks.
    pub(super) by: Option<&'a str>,
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
    Link(LinkPosition),
    Back,
    Stop,
}

impl Dialogue<'_> {
    /// The interview to be held: a draft gone on with, or a new one. `None`: stopped.
    pub(super) fn begin<'d>(&mut self, drive: &'d Drive) -> Result<Option<Interview<'d>>> {
        let new = || -> Result<Interview<'d>> {
            let interview = Interview::new(drive, self.spec)?;
            Ok(interview
                .named(&clock::number(), self.job)
                .on(self.car, self.by))
        };
        let fresh = new()?;
        if self.draft.path.symlink_metadata().is_err() {
            let Some((record, interview)) = self.of_job(drive)? else {
                return Ok(Some(fresh));
            };
            let interview = interview.named(&clock::number(), self.job);
            return self.go_on(interview, &record, "What was seen stands in this job");
        }
        let name = self.draft.name();
        let now = clock::now()?;
        let Some((record, interview)) = self.usable_draft(drive, now) else {
            let text = format!(
                "The draft {name} cannot be used here.\n\n\
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
        let job = if record.job.is_some() {
            " of this job"
        } else {
            ""
        };
        let what = format!("There is a draft{job}, {name}");
        self.draft.kept = Some(record.clone());
        self.go_on(interview, &record, &what)
    }

    /// The looks that count in the job, gone on from: somebody has begun, here or elsewhere.
    fn of_job<'d>(&mut self, drive: &'d Drive) -> Result<Option<(Record, Interview<'d>)>> {
        let Some(bench) = &self.bench else {
            return Ok(None);
        };
        let record = bench.read(drive)?.looks_that_count(drive, clock::now()?)?;
        if record.answers() == 0 {
            return Ok(None);
        }
        let interview = Interview::resume_any(drive, self.spec, record.clone())?;
        if interview.is_none() {
            self.screen.notice =
                "What was seen in this job cannot be gone on from: look at every mark again."
                    .to_owned();
        }
        Ok(interview.map(|interview| (record, interview)))
    }

    /// Was anything moved since? `None`: stopped.
    fn go_on<'d>(
        &mut self,
        interview: Interview<'d>,
        record: &Record,
        what: &str,
    ) -> Result<Option<Interview<'d>>> {
        let drive = interview.drive();
        let now = clock::now()?;
        let mut interview = interview.on(self.car, self.by);
        let last = record.looks.iter().rev();
        let who = last.filter_map(|look| look.by.as_ref()).next();
        let who = who.map_or_else(String::new, |by| format!(", by {by}"));
        let when = record.at.map_or_else(
            || "at a time that is not known".to_owned(),
            |at| {
                format!(
                    "{}, {} ago",
                    at.in_words(),
                    age_words(now.minutes_since(at))
                )
            },
        );
        let but_for = moved_since_words(&interview);
        let text = format!(
            "{}\n{}\n{what}, with {} from an earlier run.\n\
             Last answer: {when}{who}.\n\n{}{but_for}\n\
             n = no, nothing has moved   y = yes, look at everything again   q = stop\n",
            drive.engine(),
            self.car_line(),
            answers_words(record.answers()),
            draft_text(&interview, colour_wanted()),
        );
        Ok(match self.screen.choose_or(&text, &["n", "y"], YES_NO)? {
            Key::One(key) => {
                if key == "y" {
                    interview.moved()?;
                    // At once: a break before the next answer must not bring the old ones back.
                    self.keep(&interview);
                    if self.draft.is_behind {
                        let aside = files::set_aside(&self.draft.path)?;
                        let aside = printable(&aside.to_string_lossy());
                        self.screen
                            .notice
                            .push_str(&format!(" The old draft is now called {aside}."));
                        self.draft.kept = None;
                    }
                }
                Some(interview)
            }
            Key::Stop => None,
        })
    }

    /// The car, so that nobody goes on at another one; empty where none is known.
    pub(super) fn car_line(&self) -> String {
        self.car.map_or_else(String::new, car_text)
    }

    /// Keeps the answers, and says so where that fails.
    fn keep(&mut self, interview: &Interview<'_>) {
        if let Err(error) = self.draft.keep(interview) {
            self.screen.notice = format!("NOT KEPT: {}", printable(&format!("{error:#}")));
        }
    }

    /// The draft, if it can be gone on with. Why not is said on standard error.
    fn usable_draft<'d>(
        &self,
        drive: &'d Drive,
        now: Timestamp,
    ) -> Option<(Record, Interview<'d>)> {
        let source = specfile::source_of(&self.draft.path, "a draft")
            .map_err(|error| stream::error(&format!("error: {error:#}\n")))
            .ok()?;
        let reading = Record::read(&source, drive);
        specfile::report(&source, reading.findings.iter());
        let record = reading.record?;
        let name = self.draft.name();
        if record.job.as_deref() != self.job {
            let whose = match (&record.job, self.job) {
                (_, None) => "a job (name it with --job)",
                (None, _) => "no job",
                _ => "another job",
            };
            stream::error(&format!("error: '{name}' holds the answers of {whose}\n"));
            return None;
        }
        if let Some(at) = record.at.filter(|at| *at > now) {
            stream::error(&format!(
                "error: the last answer in '{name}' is of {at}, later than now (is the clock right?)\n"
            ));
            return None;
        }
        // A draft of a job may have been gone on with from looks that were typed.
        let resume = match self.job {
            Some(_) => Interview::resume_any,
            None => Interview::resume,
        };
        if let Ok(Some(interview)) = resume(drive, self.spec, record.clone()) {
            Some((record, interview))
        } else {
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
                Step::Done => match self.end_of_job(interview)? {
                    Gate::Open => return Ok(Finished::Yes),
                    Gate::Stop => return Ok(Finished::No),
                    Gate::Back => Reply::Back,
                    Gate::Again => {
                        interview.begin_again()?;
                        self.keep(interview);
                        continue;
                    }
                },
                Step::Ready(stage) => {
                    // Before anybody is told to do anything.
                    match self.gate(interview, passed_before(stage))? {
                        Gate::Open => {}
                        Gate::Stop => return Ok(Finished::No),
                        Gate::Back if stage == Stage::Hung => return Ok(Finished::No),
                        Gate::Back => {
                            interview.reply_at(Reply::Back, clock::now()?).ok();
                            continue;
                        }
                        Gate::Again => {
                            interview.begin_again()?;
                            self.keep(interview);
                            continue;
                        }
                    }
                    let done = done_words(interview.drive(), stage);
                    let back = match stage {
                        Stage::Hung => "",
                        Stage::Released | Stage::Turned => "   0 = back",
                    };
                    let text = format!(
                        "{}{}\ny = {done}{back}   q = stop\n",
                        self.car_line(),
                        ready_text(interview, stage, &Answers, colour)?
                    );
                    let keys: &[&str] = if back.is_empty() { &["y"] } else { &["y", "0"] };
                    match self.screen.choose_or(&text, keys, YES_NO)? {
                        Key::One("y") if stage == Stage::Released => {
                            match self.gate(interview, Passed::Release)? {
                                Gate::Open => Reply::Ready,
                                Gate::Stop => return Ok(Finished::No),
                                Gate::Back => continue,
                                Gate::Again => {
                                    interview.begin_again()?;
                                    self.keep(interview);
                                    continue;
                                }
                            }
                        }
                        Key::One("y") => Reply::Ready,
                        Key::One(_) => Reply::Back,
                        Key::Stop => return Ok(Finished::No),
                    }
                }
                Step::Felt => match self.ask_felt(interview)? {
                    Some(reply) => reply,
                    None => return Ok(Finished::No),
                },
                Step::Say(stage, what) => {
                    let text = format!(
                        "{}y = yes   n = no   0 = back   q = stop\n",
                        say_text(interview, stage, what, colour)
                    );
                    match self.screen.choose_or(&text, &["y", "n", "0"], YES_NO)? {
                        Key::One(key @ ("y" | "n")) => {
                            Reply::Said((key == "y") != what.is_asked_the_other_way())
                        }
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
                Step::Ask(_) if interview.view().is_none() => {
                    if !self.ask_view(interview)? {
                        return Ok(Finished::No);
                    }
                    continue;
                }
                Step::Ask(question) => {
                    let text = question_text(interview, &question, colour);
                    match self.answer(&text, &question, interview)? {
                        Some(reply) => reply,
                        None => return Ok(Finished::No),
                    }
                }
            };
            let asked = interview.step();
            match interview.reply_at(reply, clock::now()?) {
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
            self.keep(interview);
        }
    }

    /// The marks are done with: their last stage is taken into the job, and then the job goes on to its end.
    fn end_of_job(&mut self, interview: &Interview<'_>) -> Result<Gate> {
        match self.gate(interview, Passed::Stage(Stage::Turned))? {
            Gate::Open => self.gate(interview, Passed::Job),
            shut => Ok(shut),
        }
    }

    /// Everything that was answered is read back; `None`: stop.
    fn confirm(&mut self, interview: &Interview<'_>, stage: Stage) -> Result<Option<Reply>> {
        let text = confirm_text(interview, stage, &Answers, colour_wanted())?;
        let open = interview.not_ruled_out(stage)?;
        let (choice, keys): (String, &[&str]) = if open.is_empty() {
            ("y = yes, that is what I saw".to_owned(), &["y", "0"])
        } else {
            ("2 = look again".to_owned(), &["2", "0"])
        };
        let text = format!("{text}{choice}   0 = back   q = stop\n");
        Ok(match self.screen.choose_or(&text, keys, YES_NO)? {
            Key::One("y") => Some(Reply::Ready),
            Key::One("2") => Some(Reply::Again),
            Key::One(_) => Some(Reply::Back),
            Key::Stop => None,
        })
    }

    /// What speaks against the timing is told to the job at once.
    fn warn(&mut self, interview: &Interview<'_>) -> bool {
        let warned = self
            .bench
            .as_ref()
            .map_or(Ok(()), |bench| bench.warn(interview));
        if let Err(error) = &warned {
            let why = printable(&format!("{error:#}"));
            self.screen
                .notice
                .push_str(&format!("NOT IN THE JOB: {why}"));
        }
        warned.is_ok()
    }

    /// A stage is not in time: look again, go back, or leave.
    fn halt(&mut self, interview: &Interview<'_>, stage: Stage) -> Result<Halted> {
        self.warn(interview);
        let again = again_words(interview, stage)?;
        let (save, keys): (&str, &[&str]) = match self.record {
            Some(_) => ("   2 = save it as it is and quit", &["1", "2", "0"]),
            None => ("", &["1", "0"]),
        };
        let text = format!(
            "{}1 = {again}{save}   0 = back   q = stop\n",
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
    fn answer(
        &mut self,
        text: &str,
        question: &Question,
        interview: &Interview<'_>,
    ) -> Result<Option<Reply>> {
        let drive = interview.drive();
        let counting = interview.counting()?;
        let (Sight::Link(at) | Sight::Dot(at)) = question.sight;
        let around = drive.sprocket(at).teeth().to_exact();
        let mut keys = vec!["1", "2", "3", "4"];
        keys.extend(counting.is_some().then_some("5"));
        keys.push("0");
        keys.extend(question.earlier.is_some().then_some(""));
        loop {
            let sign = match self.screen.choose_or(text, &keys, WORDS)? {
                Key::Stop => return Ok(None),
                Key::One("5") => match self.count(drive, at, counting)? {
                    Number::Link(link) => {
                        return Ok(Some(Reply::Answer(Answer::Seen(Seen::Link(link)))));
                    }
                    Number::Stop => return Ok(None),
                    _ => continue,
                },
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
                    // Ahead and behind are the same there, and a slip of the count is likelier.
                    if teeth.abs().get().is_half_of(around) && !self.is_half_a_turn()? {
                        continue;
                    }
                    return Ok(Some(Reply::Answer(Answer::Seen(Seen::Teeth(teeth)))));
                }
                Number::Link(_) | Number::Back => {}
                Number::Stop => return Ok(None),
            }
        }
    }

    /// The link on the dot of `at`, counted from the dot before it; the chain is numbered from here where nothing
    /// of it is known yet.
    fn count(
        &mut self,
        drive: &Drive,
        at: Engagement,
        counting: Option<Counting>,
    ) -> Result<Number> {
        let (from, link, due) = match counting {
            Some(Counting::Here(link)) => return Ok(Number::Link(link)),
            Some(Counting::From { from, link, due }) => (from, link, due),
            None => return Ok(Number::Back),
        };
        // The kinds first: who has not counted yet does not know what they should be.
        loop {
            let text = format!(
                "{}y = both of one kind   n = one outer, one inner   0 = back   q = stop\n",
                plates_text(drive, from, at)
            );
            let other = match self.screen.choose_or(&text, &["y", "n", "0"], YES_NO)? {
                Key::One("y") => Plates::Outer,
                Key::One("n") => Plates::Inner,
                Key::One(_) => return Ok(Number::Back),
                Key::Stop => return Ok(Number::Stop),
            };
            let links = match self.how_many_links(&count_text(drive, from, at, due))? {
                Number::Link(links) => links.get(),
                other => return Ok(other),
            };
            let count = DotCount {
                from,
                to: at,
                links,
                plates: Some((Plates::Outer, other)),
            };
            match counted_on(drive, count, link) {
                Ok(link) => return Ok(Number::Link(link)),
                Err(error) => self.screen.notice = format!("{error}."),
            }
        }
    }

    /// How many links were counted, as a place along the chain from where it began.
    fn how_many_links(&mut self, text: &str) -> Result<Number> {
        loop {
            self.screen.show(text)?;
            let prompt = "\nA number, then Enter\n0 = back   q = stop\nHow many links? ";
            let line = match self.screen.prompt(prompt)? {
                Some(line) if !line.eq_ignore_ascii_case("q") => line,
                _ => return Ok(Number::Stop),
            };
            match line.trim().parse::<u16>() {
                Ok(0) => return Ok(Number::Back),
                Ok(links) => return Ok(Number::Link(LinkPosition::whole(i64::from(links)))),
                Err(_) => {
                    self.screen.notice = format!(
                        "{} is not a number of links (51, for example).",
                        quoted(&line)
                    );
                }
            }
        }
    }

    /// Just half of the teeth was counted: is the dot on the far side?
    fn is_half_a_turn(&mut self) -> Result<bool> {
        let text = format!("{HALF_A_TURN}\ny = yes, it is   0 = no, count again   q = stop\n");
        Ok(matches!(
            self.screen.choose(&text, &["y", "0"])?,
            Key::One("y")
        ))
    }

    /// How many teeth ahead (`sign` 1) or behind (-1).
    fn how_many(&mut self, sign: Exact) -> Result<Number> {
        let side = if sign.signum() < 0 { "behind" } else { "ahead" };
        loop {
            let prompt = format!(
                "A number, then Enter\n0 = back   q = stop\nHow many teeth {}? ",
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
        let warned = self.warn(interview);
        let record = interview.record();
        let outcome = record.check(interview.drive())?;
        let proven = outcome.verdict() == Verdict::InTime;
        let closing = self.closing(interview)?;
        let mut text = format!("{}\n\nCautions\n", interview.drive().engine());
        for caution in CAUTIONS {
            text.push_str(&format!("  - {caution}\n"));
        }
        text.push_str(&format!(
            "\n{}",
            verdicts_text(interview.drive(), &outcome, colour_wanted())
        ));
        if record.answers() == 0 && record.looks.is_empty() {
            text.push_str(&format!("\n{closing}"));
            self.screen.show(&text)?;
            return Ok(FINDINGS);
        }
        let spec = printable(self.spec);
        let name = self.draft.name();
        let kept = match (self.record, finished) {
            (Some(path), Finished::Yes) => {
                let saved = draft::readable(interview).and_then(|text| files::create(path, &text));
                saved.map(|()| {
                    self.draft.remove();
                    let path = printable(&path.to_string_lossy());
                    format!(
                        "\nSaved as {path}. To check it again:\n  tautmark check {spec} --record {path}\n"
                    )
                })
            }
            (None, Finished::Yes) => self.draft.keep(interview).map(|()| {
                format!(
                    "\nThe answers are in {name}. To check them again:\n  tautmark check {spec} --record {name}\n"
                )
            }),
            (_, Finished::No) => self.draft.keep(interview).map(|()| {
                format!("\nStopped. The answers are in {name}; the next run offers to continue.\n")
            }),
        };
        match kept {
            Ok(where_to) => {
                // The verdict and what to do stand last, where they are still on the screen when all is written.
                text.push_str(&format!("{where_to}\n{closing}"));
                self.screen.show(&text)?;
                Ok(match (warned, proven) {
                    (false, _) => UNUSABLE,
                    (true, true) => CLEAN,
                    (true, false) => FINDINGS,
                })
            }
            Err(error) => {
                text.push_str(&format!("\n{closing}"));
                self.screen.show(&text)?;
                let status = self.save_elsewhere(interview, &error)?;
                Ok(status.unwrap_or(if proven { CLEAN } else { FINDINGS }))
            }
        }
    }

    /// The verdict and the one thing to do next; with a job, what is next in it.
    fn closing(&self, interview: &Interview<'_>) -> Result<String> {
        let drive = interview.drive();
        let Some(bench) = &self.bench else {
            return Ok(closing_text(interview, None, &Answers, colour_wanted())?);
        };
        let job = bench.read(drive)?;
        let status = job.status(drive, clock::now()?)?;
        let text = closing_text(interview, Some(&status), &Answers, colour_wanted())?;
        Ok(match interview.step() {
            Step::Done => format!("In the job {}.\n{text}", bench.name()),
            _ => text,
        })
    }

    /// Asks for another file until the answers are in one; the status to end with if they are in none.
    fn save_elsewhere(
        &mut self,
        interview: &Interview<'_>,
        error: &anyhow::Error,
    ) -> Result<Option<u8>> {
        let spec = printable(self.spec);
        let mut why = format!("{error:#}");
        if self.draft.kept.is_some() && !self.draft.is_behind {
            why.push_str(&format!(
                " (the answers are still in '{}')",
                self.draft.name()
            ));
        }
        loop {
            let why_now = printable(&why);
            stream::output(&format!("\nNOT KEPT: {why_now}\n"))?;
            let prompt = "Another file to save the answers to, elsewhere (q = give up)? ";
            let path = match self.screen.prompt(prompt)? {
                Some(line) if line.eq_ignore_ascii_case("q") => None,
                Some(line) => Some(line),
                None => None,
            };
            let Some(path) = path else {
                stream::error(&format!("error: the answers were NOT KEPT: {why_now}\n"));
                return Ok(Some(UNUSABLE));
            };
            if path.is_empty() {
                continue;
            }
            let saved =
                draft::readable(interview).and_then(|text| files::create(Path::new(&path), &text));
            match saved {
                Ok(()) => {
                    self.draft.remove();
                    let path = printable(&path);
                    stream::output(&format!(
                        "\nSaved as {path}. To check it again:\n  tautmark check {spec} --record {path}\n"
                    ))?;
                    return Ok(None);
                }
                Err(error) => why = format!("{error:#}"),
            }
        }
    }
}

/// What was passed before a stage is got ready for.
fn passed_before(stage: Stage) -> Passed {
    match stage {
        Stage::Hung => Passed::Nothing,
        Stage::Released => Passed::Stage(Stage::Hung),
        Stage::Turned => Passed::Stage(Stage::Released),
    }
}

/// `3 minutes`, `2 hours`, `5 days`.
fn age_words(minutes: i64) -> String {
    let (count, unit) = match minutes {
        0..120 => (minutes, "minute"),
        120..2880 => (minutes / 60, "hour"),
        _ => (minutes / 1440, "day"),
    };
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {unit}{plural}")
}

fn answers_words(count: usize) -> String {
    match count {
        1 => "1 answer".to_owned(),
        n => format!("{n} answers"),
    }
}
