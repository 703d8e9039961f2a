//! Reading what was seen from a record, with or without a history.

use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::fingerprint::fingerprint;
use crate::job::history;
use crate::job::look::{Look, Sight};
use crate::job::record::{Record, Use};
use crate::job::said::Said;
use crate::job::view::View;
use crate::spec::choice::{Rotation, Viewpoint};
use crate::spec::conform;
use crate::spec::finding::{self, Finding, ReadingProblem, RecordProblem, Severity};
use crate::spec::format::key;
use crate::spec::format::{self, JOB_VERSIONS, MAX_SIGHTS};
use crate::spec::source::{Source, Span};
use crate::spec::stage::Stage;
use crate::spec::values::{exact, text, written};
use crate::spec::yaml::{self, Node, Value};
use crate::timing::observe::{ObservationError, Observations, Seen, dot_named, link_named};
use crate::units::quantity::{Exact, Turns};
use crate::units::timestamp::{Timestamp, TimestampError};

/// What reading a record came to.
#[derive(Clone, Debug)]
pub struct RecordReading {
    /// The record; `None` if a finding is an error.
    pub record: Option<Record>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
}

impl Record {
    /// Reads a record of `drive`. Every mistake in it is found in one go; beyond
    /// [`Drive::MAX_FINDINGS`] the rest is one finding that counts them.
    ///
    /// Of a whole job ([`crate::job::Job`]) it takes the looks.
    pub fn read(source: &Source, drive: &Drive) -> RecordReading {
        let mut findings = Vec::new();
        let record = read(source, drive, &mut findings).map(|(record, _)| record);
        finding::in_order(&mut findings, Drive::MAX_FINDINGS);
        let broken = findings
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        RecordReading {
            record: record.filter(|_| !broken),
            findings,
        }
    }
}

/// The record, and the tree that it was read from.
pub(super) fn read(
    source: &Source,
    drive: &Drive,
    findings: &mut Vec<Finding>,
) -> Option<(Record, Node)> {
    let root = match yaml::read(source) {
        Ok(root) => root,
        Err(mut finding) => {
            if finding.problem == ReadingProblem::Empty.into() {
                finding.problem = RecordProblem::NoRecord.into();
            }
            findings.push(*finding);
            return None;
        }
    };
    let job = is_job(&root);
    let table = if job { &format::JOB } else { &format::RECORD };
    conform::record(&root, table, findings);
    let engine = text(&root, key::ENGINE);
    if let Some(engine) = &engine
        && engine.value != drive.engine()
    {
        findings.push(Finding::new(
            RecordProblem::OtherEngine {
                found: engine.value.clone(),
                expected: drive.engine().to_owned(),
            },
            engine.span,
        ));
    } else if let Some(print) = text(&root, key::DRIVE)
        && print.value != fingerprint(drive)
    {
        findings.push(Finding::new(RecordProblem::OtherDrive, print.span));
    }
    let (engine, spec) = (engine?.value, text(&root, key::SPEC)?.value);
    if job {
        let print = text(&root, key::DRIVE).map_or_else(String::new, |print| print.value);
        history::verify(
            source,
            &root,
            &history::seed(&engine, &spec, &print),
            findings,
        );
    }
    let looks = match root.get(if job { "history" } else { "stages" }) {
        Some(Node {
            value: Value::List(items),
            ..
        }) => items
            .iter()
            .filter_map(|item| if job { item.get(key::LOOK) } else { Some(item) })
            .filter_map(|item| look(item, drive, findings))
            .collect(),
        _ => Vec::new(),
    };
    let own = |key: &str| {
        let found = if job { None } else { text(&root, key) };
        found.map(|text| text.value)
    };
    let record = Record {
        engine,
        spec,
        id: own(key::ID),
        job: own(key::JOB),
        car: root.get(key::CAR).map(car),
        at: time(&root, findings),
        used_by: root.get(key::USED_BY).and_then(|node| {
            Some(Use {
                job: text(node, key::JOB)?.value,
                file: text(node, key::FILE)?.value,
                at: time(node, findings)?,
            })
        }),
        looks,
    };
    Some((record, root))
}

/// Is it a record with a history?
pub(super) fn is_job(root: &Node) -> bool {
    let version = root.get(key::TAUTMARK_RECORD).and_then(written);
    let version = version.and_then(|text| text.parse().ok());
    version.is_some_and(|version| JOB_VERSIONS.contains(&version))
}

/// When something was; a time that is none is a finding.
pub(super) fn time(node: &Node, findings: &mut Vec<Finding>) -> Option<Timestamp> {
    time_of(node, key::AT, findings)
}

/// The time that a key holds.
pub(super) fn time_of(node: &Node, key: &str, findings: &mut Vec<Finding>) -> Option<Timestamp> {
    let at = text(node, key)?;
    match at.value.parse() {
        Ok(time) => Some(time),
        Err(error) => {
            let error: TimestampError = error;
            findings.push(Finding::new(
                RecordProblem::EntryUnreadable {
                    reason: error.to_string(),
                },
                at.span,
            ));
            None
        }
    }
}

/// What is known of a car.
pub(super) fn car(node: &Node) -> Car {
    let get = |key: &str| text(node, key).map(|text| text.value);
    Car {
        order: get(key::ORDER),
        plate: get(key::PLATE),
        engine_number: get(key::ENGINE_NUMBER),
        mileage: get(key::MILEAGE),
    }
}

/// From where a stage was seen. Where it is not said which way the crankshaft turns there, as it must.
fn view(node: &Node, drive: &Drive, findings: &mut Vec<Finding>) -> Option<View> {
    let word = text(node, key::VIEW)?;
    let from = Viewpoint::from_word(&word.value)?;
    let turns = drive.crank_turns();
    let crank = match text(node, key::CRANK_SEEN) {
        Some(seen) => Rotation::from_word(&seen.value)?,
        None if from == Viewpoint::Mirror => turns.reversed(),
        None => turns,
    };
    let view = View::new(drive, from, crank).ok();
    if view.is_none() {
        findings.push(Finding::new(
            RecordProblem::SeenImpossible {
                reason: format!(
                    "{}, a crankshaft that turns {} is not seen to turn {}",
                    word.value,
                    turns.word(),
                    crank.word()
                ),
            },
            word.span,
        ));
    }
    view
}

/// What a stage says that somebody said.
fn said(node: &Node) -> Vec<(Said, bool)> {
    let Some(Value::Map(pairs)) = node.get(key::SAID).map(|node| &node.value) else {
        return Vec::new();
    };
    // In the order in which it was said.
    let mut said = Vec::new();
    for (key, value) in pairs.iter() {
        if let (Some(what), Some(answer)) = (Said::from_word(&key.text), written(value)) {
            said.push((what, answer == "yes"));
        }
    }
    said
}

/// One stage. What conforms to no table is a finding already, and is passed over here.
fn look(node: &Node, drive: &Drive, findings: &mut Vec<Finding>) -> Option<Look> {
    let stage_word = text(node, key::STAGE)?;
    let stage = Stage::from_word(&stage_word.value)?;
    let turned = exact(node, key::TURNED);
    let turns = turned.map_or(Exact::ZERO, |turned| turned.value);
    let place = turned.map_or(stage_word.span, |turned| turned.span);
    let must_turn = stage == Stage::Turned;
    let unreadable = turned.is_none() && node.get(key::TURNED).is_some();
    if must_turn == turns.is_zero() && !unreadable {
        findings.push(Finding::new(
            RecordProblem::StageTurns {
                stage: stage.word(),
                must_turn,
            },
            place,
        ));
    }
    let mut seen = match Observations::after(Turns::new(turns)) {
        Ok(seen) => seen,
        Err(error) => {
            // Out of bounds is said already; too fine is not.
            if turns >= Exact::ZERO && turns <= Exact::whole(Observations::MAX_TURNED) {
                findings.push(impossible(&error, place));
            }
            Observations::at_timed_position()
        }
    };
    let places = marks_seen(node, drive, &mut seen, findings);
    let not_seen = marks_not_seen(node, drive, &places, findings);
    Some(Look {
        stage,
        seen,
        not_seen,
        at: time(node, findings),
        said: said(node),
        stale: text(node, key::STALE).map(|text| text.value),
        by: text(node, key::BY).map(|text| text.value),
        view: view(node, drive, findings),
        felt: exact(node, key::FELT).map(|felt| Turns::new(felt.value)),
    })
}

/// Adds to `seen` what a stage says of its marks; what it says it of, and where.
fn marks_seen(
    node: &Node,
    drive: &Drive,
    seen: &mut Observations,
    findings: &mut Vec<Finding>,
) -> Vec<(Sight, Span)> {
    let mut places = Vec::new();
    for (key, dots) in [("links", false), ("dots", true)] {
        let Some(Value::Map(pairs)) = node.get(key).map(|node| &node.value) else {
            continue;
        };
        // More than there can be sprockets is a finding already.
        for (i, (name, value)) in pairs.iter().enumerate().take(MAX_SIGHTS) {
            let (Some(what), false) = (
                written(value),
                pairs[..i].iter().any(|(other, _)| other.text == name.text),
            ) else {
                continue;
            };
            let what: Seen = match what.parse() {
                Ok(what) => what,
                Err(error) => {
                    findings.push(Finding::new(
                        RecordProblem::SeenUnreadable {
                            text: what.to_owned(),
                            reason: error.to_string(),
                        },
                        value.span,
                    ));
                    continue;
                }
            };
            let taken = if dots {
                dot_named(drive, &name.text, what).and_then(|at| {
                    seen.see_dot(drive, at, what)?;
                    Ok(Sight::Dot(at))
                })
            } else {
                link_named(drive, &name.text).and_then(|at| {
                    seen.see_link(drive, at, what)?;
                    Ok(Sight::Link(at))
                })
            };
            match taken {
                Ok(sight) => places.push((sight, name.span)),
                Err(error) => findings.push(impossible(&error, name.span)),
            }
        }
    }
    places
}

/// What a stage says could not be seen; `places` are what it says was.
fn marks_not_seen(
    node: &Node,
    drive: &Drive,
    places: &[(Sight, Span)],
    findings: &mut Vec<Finding>,
) -> Vec<Sight> {
    let items = match node.get(key::NOT_SEEN).map(|node| &node.value) {
        Some(Value::List(items)) => &items[..],
        _ => &[],
    };
    let mut not_seen: Vec<Sight> = Vec::new();
    for item in items.iter().take(2 * MAX_SIGHTS) {
        let Some(text) = written(item) else { continue };
        let sight = match Sight::named(drive, text) {
            Ok(sight) => sight,
            Err(reason) => {
                findings.push(Finding::new(
                    RecordProblem::SeenImpossible { reason },
                    item.span,
                ));
                continue;
            }
        };
        if not_seen.iter().any(|other| other.is_same(drive, sight)) {
            let twice = ObservationError::Twice {
                at: text.to_owned(),
            };
            findings.push(impossible(&twice, item.span));
            continue;
        }
        let other = places.iter().find(|(other, _)| other.is_same(drive, sight));
        if let Some((_, span)) = other {
            let problem = RecordProblem::SeenAndNotSeen {
                at: text.to_owned(),
            };
            findings.push(Finding::new(problem, item.span).with(*span));
        }
        not_seen.push(sight);
    }
    not_seen
}

fn impossible(error: &ObservationError, span: Span) -> Finding {
    Finding::new(
        RecordProblem::SeenImpossible {
            reason: error.to_string(),
        },
        span,
    )
}
