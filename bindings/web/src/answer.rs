//! Answers.

use crate::ask::{Ask, Hung, Looks, Spec};
use crate::{interview, job};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::rc::Rc;
use tautmark::drive::Engagement;
use tautmark::lesson::{Claim, Exercise, Level, SeedError, exercise};
use tautmark::plane::{FittingError, fit_marks, lint, seek_remedies};
use tautmark::proof::contradictions;
use tautmark::render::{
    PlainWords, STARTER, check_json, check_text, cylinders_json, draw_svg, exercise_json,
    figures_json, finding_json, fitting_json, glossary, grade_json, moment_json, place_json,
    record_json, record_text, roll_json, roll_text, scene_json, slip_json, slip_text, slipped_json,
    unfitted_text,
};
use tautmark::spec::Severity;
use tautmark::timing::{Pose, lookalikes, roll};
use tautmark::units::{CrankDegrees, Exact, Teeth, Turns};
use tautmark::valves::{Slip, Slips, slip, sprocket_named};
use tautmark::{Drive, Finding, Observations, Source, check, dot_named, link_named};

/// Why there is no answer.
pub(crate) struct Refused {
    why: String,
    findings: Vec<Value>,
}

impl Refused {
    pub(crate) fn by(why: impl Into<String>) -> Self {
        Self {
            why: why.into(),
            findings: Vec::new(),
        }
    }

    pub(crate) fn findings<'f>(
        why: impl Into<String>,
        source: &Source,
        findings: impl IntoIterator<Item = &'f Finding>,
    ) -> Self {
        let findings = findings.into_iter();
        Self {
            why: why.into(),
            findings: findings
                .map(|finding| finding_json(finding, source))
                .collect(),
        }
    }
}

impl<E: std::error::Error> From<E> for Refused {
    fn from(error: E) -> Self {
        Self::by(error.to_string())
    }
}

pub(crate) type Answer = Result<Value, Refused>;

/// The answer to a question. Bad questions have one too.
///
/// ```
/// let answer = tautmark_web::answer(r#"{"ask": "check", "spec": {"name": "none", "text": "{}"}}"#);
/// assert!(answer.starts_with(r#"{"error":"#));
/// ```
pub fn answer(question: &str) -> String {
    let answer = match serde_json::from_str(question) {
        Ok(ask) => of(ask),
        Err(error) => Err(Refused::by(format!("not a question: {error}"))),
    };
    match answer {
        Ok(answer) => json!({ "ok": answer }),
        Err(refused) => json!({ "error": refused.why, "findings": refused.findings }),
    }
    .to_string()
}

fn of(ask: Ask) -> Answer {
    match ask {
        Ask::About => Ok(json!({
            "sources": option_env!("TAUTMARK_SOURCES"),
            "version": env!("CARGO_PKG_VERSION"),
        })),
        Ask::Glossary => worded(),
        Ask::Starter => Ok(json!(STARTER)),
        Ask::Lint { spec, seek } => linted(spec, seek),
        Ask::Fit { spec } => fitted(spec),
        Ask::Scene { spec } => Ok(scene_json(&*drive(spec)?)?),
        Ask::Figures { spec } => Ok(figures_json(&*drive(spec)?)?),
        Ask::Place { spec, turned, hung } => {
            let drive = drive(spec)?;
            Ok(place_json(
                &drive,
                place(&turned)?,
                &slips_of(&drive, &hung)?,
            )?)
        }
        Ask::Moment { spec, turned, hung } => {
            let drive = drive(spec)?;
            Ok(moment_json(
                &drive,
                place(&turned)?,
                &slips_of(&drive, &hung)?,
            )?)
        }
        Ask::Cylinders { spec, turned, hung } => {
            let drive = drive(spec)?;
            let slips = slips_of(&drive, &hung)?;
            Ok(json!({ "cylinders": cylinders_json(&drive, place(&turned)?, &slips)? }))
        }
        Ask::Slipped { spec, hung } => {
            let drive = drive(spec)?;
            Ok(slipped_json(&drive, &slips_of(&drive, &hung)?)?)
        }
        Ask::Slip { spec, hung } => {
            let drive = drive(spec)?;
            let slips = slips_of(&drive, &hung)?;
            let outcome = slip(&drive, &slips)?;
            Ok(json!({
                "json": slip_json(&drive, &slips, &outcome, None, &PlainWords),
                "text": slip_text(&drive, &slips, &outcome, None, &PlainWords),
            }))
        }
        Ask::Exercise { spec, seed, level } => {
            let drive = provable(spec)?;
            let exercise = exercise_of(&drive, &seed, &level)?;
            Ok(exercise_json(&drive, &exercise, false))
        }
        Ask::Grade {
            spec,
            seed,
            level,
            says,
        } => {
            let drive = provable(spec)?;
            let exercise = exercise_of(&drive, &seed, &level)?;
            let mut claims = Vec::new();
            for text in &says {
                let claim = Claim::read(&drive, text);
                claims.extend(claim.map_err(|error| Refused::by(format!("'{text}': {error}")))?);
            }
            let grade = exercise.grade(&drive, &claims)?;
            Ok(grade_json(&drive, &exercise, &grade))
        }
        Ask::Check { spec, looks } => {
            let drive = drive(spec)?;
            let seen = seen(&drive, &looks)?;
            let check = check(&drive, &seen)?;
            let fits = check.fits();
            Ok(json!({
                "json": check_json(&drive, &check, fits, &PlainWords),
                "text": check_text(&drive, &seen, &check, fits, &PlainWords, false),
            }))
        }
        Ask::Roll { spec, turned } => rolled(&*drive(spec)?, &turned),
        Ask::Draw { spec, looks } => {
            let drive = drive(spec)?;
            let seen = seen(&drive, &looks)?;
            let check = check(&drive, &seen)?;
            Ok(json!(draw_svg(
                &drive,
                &Pose::seen(&drive, &seen)?,
                Some(&check)
            )?))
        }
        Ask::Interview {
            spec,
            id,
            job,
            record,
            replies,
        } => {
            let name = spec.name.clone();
            let drive = provable(spec)?;
            let begun = interview::begin(&drive, &name, &id, job.as_deref(), record)?;
            interview::held(begun, &replies)
        }
        Ask::Record { spec, record } => {
            let drive = provable(spec)?;
            let record = interview::record_of(&drive, record)?;
            let outcome = record.check(&drive)?;
            Ok(json!({
                "job": record.job,
                "at": record.at.map(|at| at.to_string()),
                "json": record_json(&drive, &outcome, &PlainWords),
                "text": record_text(&drive, &outcome, &PlainWords, false),
            }))
        }
        Ask::JobBegin { spec, at, by } => {
            let name = spec.name.clone();
            job::begin(&*provable(spec)?, &name, &at, by.as_deref())
        }
        Ask::Job { spec, job, at } => job::stands(&*provable(spec)?, job, &at),
        Ask::JobTake {
            spec,
            job,
            file,
            record,
            at,
            by,
        } => job::take(&*provable(spec)?, job, &file, record, &at, by.as_deref()),
        Ask::JobTick {
            spec,
            job,
            items,
            at,
            by,
        } => job::tick(&*provable(spec)?, job, &items, &at, by.as_deref()),
    }
}

thread_local! {
    /// The drive that was read last, by its spec's name and text.
    static LAST: RefCell<Option<(Spec, Rc<Drive>)>> = const { RefCell::new(None) };
}

/// The drive of a spec that must be usable.
fn drive(spec: Spec) -> Result<Rc<Drive>, Refused> {
    LAST.with_borrow_mut(|last| {
        if let Some((of, drive)) = last
            && of.text == spec.text
            && of.name == spec.name
        {
            return Ok(Rc::clone(drive));
        }
        let source = Source::new(spec.name.clone(), spec.text.clone().into_bytes())?;
        let reading = Drive::read(&source);
        let Some(drive) = reading.drive else {
            let errors = reading.findings.iter();
            let errors = errors.filter(|finding| finding.severity() == Severity::Error);
            return Err(Refused::findings(
                "The spec is not usable.",
                &source,
                errors,
            ));
        };
        let drive = Rc::new(drive);
        *last = Some((spec, Rc::clone(&drive)));
        Ok(drive)
    })
}

/// The drive of a spec by which something is to be proven: one that contradicts itself is refused.
fn provable(spec: Spec) -> Result<Rc<Drive>, Refused> {
    let source = Source::new(spec.name.clone(), spec.text.clone().into_bytes())?;
    let drive = drive(spec)?;
    let found = contradictions(&drive);
    if found.is_empty() {
        return Ok(drive);
    }
    let why = "The spec contradicts itself, so it can prove nothing. Put it right first.";
    Err(Refused::findings(why, &source, &found))
}

fn worded() -> Answer {
    let terms = glossary().iter().map(|term| {
        Ok(json!({
            "word": term.word,
            "also": term.also.join(", "),
            "means": term.means,
            "svg": term.picture()?,
        }))
    });
    terms.collect()
}

fn linted(spec: Spec, seek: bool) -> Answer {
    let source = Source::new(spec.name, spec.text.into_bytes())?;
    let mut reading = lint(&source);
    if seek {
        seek_remedies(&source, &mut reading);
    }
    let findings: Vec<Value> = reading
        .findings
        .iter()
        .map(|finding| finding_json(finding, &source))
        .collect();
    let worst = reading.findings.iter().map(Finding::severity).max();
    Ok(json!({
        "findings": findings,
        "clean": worst.is_none_or(|worst| worst == Severity::Note),
        "usable": reading.drive.is_some(),
    }))
}

fn fitted(spec: Spec) -> Answer {
    let source = Source::new(spec.name, spec.text.into_bytes())?;
    match fit_marks(&source) {
        Ok(fitting) => Ok(json!({
            "json": fitting_json(&fitting, &source, &PlainWords),
            "unfitted": fitting.unfitted.iter().map(|u| unfitted_text(u, &PlainWords)).collect::<Vec<_>>(),
        })),
        Err(error) => Err(match &error {
            FittingError::Spec(findings) => Refused::findings(error.to_string(), &source, findings),
            _ => error.into(),
        }),
    }
}

fn exercise_of(drive: &Drive, seed: &str, level: &str) -> Result<Exercise, Refused> {
    let seed = seed
        .parse()
        .map_err(|error: SeedError| Refused::by(format!("'{seed}': {error}")))?;
    let level = match level {
        "easy" => Level::Easy,
        "medium" => Level::Medium,
        "hard" => Level::Hard,
        other => {
            return Err(Refused::by(format!(
                "'{other}' is no level (easy, medium or hard)"
            )));
        }
    };
    Ok(exercise(drive, seed, level)?)
}

fn turns(text: &str) -> Result<Turns, Refused> {
    let turned = Turns::new(Exact::parse(text)?);
    // What cannot have been turned cannot be shown either.
    Observations::after(turned)?;
    Ok(turned)
}

/// The finest part of a turn at which a picture is asked for: a tenth of a degree.
const FINEST: i128 = 3600;

/// Where the crankshaft stands in a picture, which may be finer than anybody can have turned it by hand.
fn place(text: &str) -> Result<Turns, Refused> {
    let turned = Exact::parse(text)?;
    let reached = Exact::ZERO..=Exact::whole(Observations::MAX_TURNED);
    if reached.contains(&turned) && turned.denominator() <= FINEST {
        return Ok(Turns::new(turned));
    }
    turns(text)
}

fn rolled(drive: &Drive, turned: &str) -> Answer {
    let place = roll(drive, turns(turned)?)?;
    Ok(json!({
        "json": roll_json(drive, &place, None),
        "text": roll_text(drive, &place, &lookalikes(drive)?, None, &PlainWords),
    }))
}

fn slips_of(drive: &Drive, hung: &Hung) -> Result<Slips, Refused> {
    let mut slips = Slips::none();
    for (name, teeth) in &hung.slips {
        let at: Engagement = sprocket_named(drive, name)?;
        let most = i64::from(drive.chain(at.chain).links().get());
        if teeth.abs() > most {
            return Err(Refused::by(format!(
                "{name}: '{teeth}' is not in the required range of -{most}..={most} teeth"
            )));
        }
        slips.slip(drive, at, Slip::Teeth(Teeth::whole(*teeth)))?;
    }
    for (name, ahead) in &hung.phasers {
        let shaft = drive.shaft_named(name);
        let shaft =
            shaft.ok_or_else(|| Refused::by(format!("'{name}' is no shaft of this engine")))?;
        slips.phaser(drive, shaft, CrankDegrees::whole(*ahead))?;
    }
    if hung.wear != 0 {
        let worn = Exact::fraction(hung.wear, 1000);
        slips.wear(drive, worn.ok_or_else(|| Refused::by("that is no wear"))?)?;
    }
    Ok(slips)
}

fn seen(drive: &Drive, looks: &Looks) -> Result<Observations, Refused> {
    let mut seen = Observations::after(Turns::new(Exact::parse(&looks.turned)?))?;
    for (name, what) in &looks.links {
        seen.see_link(drive, link_named(drive, name)?, what.parse()?)?;
    }
    for (name, what) in &looks.dots {
        let what = what.parse()?;
        seen.see_dot(drive, dot_named(drive, name, what)?, what)?;
    }
    Ok(seen)
}
