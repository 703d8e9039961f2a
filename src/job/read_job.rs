//! Reading a job from its file.

use crate::drive::model::Drive;
use crate::job::entry::{Correction, Entry, Event, Override, Photo};
use crate::job::history;
use crate::job::model::Job;
use crate::job::read_record;
use crate::job::record::Record;
use crate::spec::conform;
use crate::spec::finding::{self, Finding, RecordProblem, Severity};
use crate::spec::format;
use crate::spec::format::key;
use crate::spec::source::Source;
use crate::spec::values::{exact, text, written};
use crate::spec::yaml::{Node, Value};

/// What reading a job came to.
#[derive(Clone, Debug)]
pub struct JobReading {
    /// The job; `None` if a finding is an error.
    pub job: Option<Job>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
}

impl Job {
    /// Reads a job. A record without a history, as `ask` keeps it, is taken over, its looks without
    /// times.
    pub fn read(source: &Source, drive: &Drive) -> JobReading {
        let mut findings = Vec::new();
        let job = read(source, drive, &mut findings);
        finding::in_order(&mut findings, Drive::MAX_FINDINGS);
        let broken = findings
            .iter()
            .any(|finding| finding.severity() == Severity::Error);
        JobReading {
            job: job.filter(|_| !broken),
            findings,
        }
    }
}

fn read(source: &Source, drive: &Drive, findings: &mut Vec<Finding>) -> Option<Job> {
    let (record, root) = read_record::read(source, drive, findings)?;
    if !read_record::is_job(&root) {
        let looks = record.looks.clone();
        let mut job = Job::empty(drive, Record::new(drive, record.spec()));
        for look in looks {
            // A record holds no more looks than a history takes.
            job.push_look(drive, look, None, None, None).ok()?;
        }
        return Some(job);
    }
    let mut looks = 0;
    let mut entries = Vec::new();
    if let Some(Value::List(items)) = root.get(key::HISTORY).map(|node| &node.value) {
        for item in items.iter() {
            entries.extend(entry(item, &mut looks, findings));
        }
    }
    correct(&mut entries, &root, findings);
    let mut kept = history::without_last_line(source, &root)?.to_owned();
    // What is added from now on is of the present format. The number is under no checksum.
    if let Some(version) = root.get(key::TAUTMARK_RECORD) {
        kept.replace_range(
            version.span.start..version.span.end,
            &format::JOB_VERSION.to_string(),
        );
    }
    let first = match root.get(key::HISTORY).map(|node| &node.value) {
        Some(Value::List(items)) => items.first().and_then(|item| text(item, key::SUM)),
        _ => None,
    };
    Some(Job {
        record,
        entries,
        text: kept,
        sum: text(&root, key::LAST)?.value,
        id: first.map(|sum| sum.value),
        values: root.values(),
    })
}

/// Ties every correction to the entry that it corrects.
fn correct(entries: &mut [Entry], root: &Node, findings: &mut Vec<Finding>) {
    for i in 0..entries.len() {
        let Event::Corrected { entry, to, why } = &entries[i].event else {
            continue;
        };
        let correction = Correction {
            to: *to,
            by: entries[i].by.clone(),
            why: why.clone(),
        };
        let place = *entry;
        match entries[..i].get_mut(place.wrapping_sub(1)) {
            Some(corrected) if corrected.is_correctable() => {
                corrected.corrected = Some(correction);
            }
            _ => findings.push(Finding::new(
                RecordProblem::EntryUnreadable {
                    reason: format!("there is no entry {place} before it that can be corrected"),
                },
                root.get(key::HISTORY).map_or(root.span, |node| node.span),
            )),
        }
    }
}

fn entry(node: &Node, looks: &mut usize, findings: &mut Vec<Finding>) -> Option<Entry> {
    let found = conform::variant(node, format::ENTRIES)?;
    let get = |key: &str| text(node, key).map(|text| text.value);
    let event = match found.fields[0].key {
        "job" => Event::Begun {
            car: read_record::car(node),
        },
        "old" => Event::Old {
            part: get(key::OLD)?,
            count: u32::try_from(exact(node, key::COUNT)?.value.floor()).ok()?,
        },
        "photo" => Event::Photo(Photo {
            file: get(key::PHOTO)?,
            size: u64::try_from(exact(node, key::SIZE)?.value.floor()).ok()?,
            checksum: get(key::CHECKSUM)?,
            about: get(key::ABOUT),
        }),
        "part" => Event::OnHand {
            kit: get(key::PART)?,
            count: u32::try_from(exact(node, key::COUNT)?.value.floor()).ok()?,
        },
        "ordered" => Event::Ordered {
            kit: get(key::ORDERED)?,
        },
        "torque" => Event::Torque {
            fastener: get(key::TORQUE)?,
            to: get(key::TO)?,
        },
        "step" => Event::Step {
            step: get(key::STEP)?,
        },
        "correct" => Event::Corrected {
            entry: usize::try_from(exact(node, key::CORRECT)?.value.floor()).ok()?,
            to: read_record::time_of(node, key::TO, findings),
            why: get(key::WHY)?,
        },
        _ => {
            *looks += 1;
            Event::Look {
                look: *looks - 1,
                record: get(key::RECORD),
            }
        }
    };
    let at = read_record::time(node, findings);
    let overriding = node.get(key::OVERRIDE).map(|node| Override {
        why: text(node, key::WHY).map_or_else(String::new, |why| why.value),
        against: match node.get(key::AGAINST).map(|node| &node.value) {
            Some(Value::List(items)) => items
                .iter()
                .filter_map(|item| written(item).map(str::to_owned))
                .collect(),
            _ => Vec::new(),
        },
    });
    Some(Entry {
        at,
        by: get(key::BY),
        event,
        overriding,
        corrected: None,
    })
}
