//! The questions at the engine, held by replaying the replies.

use crate::answer::{Answer as Answered, Refused};
use crate::ask::Reply as Given;
use tautmark::job::{Answer, Counting, Interview, Record, Refusal, Reply, Sight, Step, View};
use tautmark::render::{PlainWords, interview_json, refusal_text, wrong_view_text};
use tautmark::spec::{Rotation, Viewpoint};
use tautmark::timing::{DotCount, Plates, Seen, counted_on};
use tautmark::units::{Exact, Timestamp, Turns};
use tautmark::{Drive, Source};

/// The record that stands in a text.
pub(crate) fn record_of(drive: &Drive, text: String) -> Result<Record, Refused> {
    let source = Source::new("the record", text.into_bytes())?;
    let reading = Record::read(&source, drive);
    reading.record.ok_or_else(|| {
        Refused::findings(
            "This is not a record of this engine.",
            &source,
            &reading.findings,
        )
    })
}

/// An interview that goes on where a record ends, or a new one.
pub(crate) fn begin<'d>(
    drive: &'d Drive,
    spec: &str,
    id: &str,
    job: Option<&str>,
    record: Option<String>,
) -> Result<Interview<'d>, Refused> {
    let Some(record) = record else {
        return Ok(Interview::new(drive, spec)?.named(id, job));
    };
    let record = record_of(drive, record)?;
    if record.job.as_deref() != job {
        return Err(Refused::by(match (&record.job, job) {
            (Some(_), None) => "The record holds the answers of a job. Open that job first.",
            (None, _) => "The record holds the answers of no job.",
            _ => "The record holds the answers of another job.",
        }));
    }
    Interview::resume(drive, spec, record)?
        .ok_or_else(|| Refused::by("The record holds answers that this spec does not ask for."))
}

/// What is asked after these replies. The first that does not fit ends them, and is told in `refused`.
pub(crate) fn held(mut interview: Interview<'_>, replies: &[Given]) -> Answered {
    let mut refused = None;
    for given in replies {
        let at: Timestamp = given.at.parse()?;
        if given.reply == "moved" {
            interview.moved()?;
        } else if given.reply == "view" {
            refused = see_from(&mut interview, &given.seen)?;
            if refused.is_some() {
                break;
            }
        } else if given.reply == "counted" {
            refused = count(&mut interview, &given.seen, at)?;
            if refused.is_some() {
                break;
            }
        } else if let Err(refusal) = interview.reply_at(reply(given, interview.step())?, at) {
            refused = Some(told(&refusal));
            break;
        }
    }
    let mut shown = interview_json(&interview, &PlainWords)?;
    shown["refused"] = refused.into();
    Ok(shown)
}

/// Why a reply was not taken. The command line names the key that counts; here it is a button.
fn told(refusal: &Refusal) -> String {
    match refusal {
        Refusal::Counted => {
            "No colour was left on this chain, so it is counted from dot to dot. Count here, too."
                .to_owned()
        }
        other => refusal_text(other),
    }
}

/// From where the marks are seen, as `facing clockwise`; why it cannot be, if so.
fn see_from(interview: &mut Interview<'_>, words: &str) -> Result<Option<String>, Refused> {
    let (from, way) = words.split_once(' ').unwrap_or((words, ""));
    let (from, way) = (Viewpoint::from_word(from), Rotation::from_word(way));
    let (Some(from), Some(way)) = (from, way) else {
        return Err(Refused::by(format!("'{words}' is no view")));
    };
    Ok(match View::new(interview.drive(), from, way) {
        Ok(view) => {
            interview.see_from(view);
            None
        }
        Err(_) => Some(wrong_view_text(interview.drive(), from, way)),
    })
}

/// Links counted from the dot before, as `51 same` or `51 other` (`other`: one of both dots is on an outer link and one on an
/// inner one); nothing is said where the chain is numbered from here. Why it is not taken, if so.
fn count(
    interview: &mut Interview<'_>,
    words: &str,
    at: Timestamp,
) -> Result<Option<String>, Refused> {
    let none = || Refused::by("There is nothing to count here.");
    let Step::Ask(question) = interview.step() else {
        return Err(none());
    };
    let (Sight::Link(to) | Sight::Dot(to)) = question.sight;
    let link = match interview.counting()?.ok_or_else(none)? {
        Counting::Here(link) => link,
        Counting::From { from, link, .. } => {
            let unclear = || Refused::by(format!("'{words}' is no count"));
            let (links, kinds) = words.split_once(' ').ok_or_else(unclear)?;
            let other = match kinds {
                "same" => Plates::Outer,
                "other" => Plates::Inner,
                _ => return Err(unclear()),
            };
            let count = DotCount {
                from,
                to,
                links: Exact::whole(i64::from(links.parse::<u16>().map_err(|_| unclear())?)),
                plates: Some((Plates::Outer, other)),
            };
            match counted_on(interview.drive(), count, link) {
                Ok(link) => link,
                Err(error) => return Ok(Some(format!("{error}."))),
            }
        }
    };
    let seen = Reply::Answer(Answer::Seen(Seen::Link(link)));
    let refusal = interview.reply_at(seen, at).err();
    Ok(refusal.map(|refusal| told(&refusal)))
}

fn reply(given: &Given, step: Step) -> Result<Reply, Refused> {
    // Some things are asked so that "no" is what is hoped for.
    let turned_round = matches!(step, Step::Say(_, what) if what.is_asked_the_other_way());
    Ok(match given.reply.as_str() {
        "felt" if given.seen.is_empty() => Reply::Felt(None),
        "felt" => Reply::Felt(Some(Turns::new(Exact::parse(&given.seen)?))),
        "ready" => Reply::Ready,
        "yes" => Reply::Said(!turned_round),
        "no" => Reply::Said(turned_round),
        "keep" => Reply::Keep,
        "again" => Reply::Again,
        "back" => Reply::Back,
        "not-seen" => Reply::Answer(Answer::NotSeen),
        "seen" => Reply::Answer(Answer::Seen(given.seen.parse()?)),
        other => return Err(Refused::by(format!("'{other}' is no reply"))),
    })
}
