//! Records and entries as they are written.

use crate::drive::model::Drive;
use crate::job::car::Car;
use crate::job::entry::{Entry, Event, Override};
use crate::job::fingerprint::fingerprint;
use crate::job::look::Look;
use crate::job::record::{Record, Use};
pub(super) use crate::spec::edit::quote;
use crate::spec::format::{RECORD_VERSION, key};
use crate::timing::observe::name_of;
use std::fmt::Write as _;

impl Record {
    /// The record as a file.
    pub fn to_yaml(&self, drive: &Drive) -> String {
        let mut out = String::new();
        // Writing to a String cannot fail.
        let _ = self.write(&mut out, drive);
        out
    }

    fn write(&self, out: &mut String, drive: &Drive) -> std::fmt::Result {
        writeln!(
            out,
            "# What was seen at the engine, kept by tautmark. No verdict stands here: each is worked out\n\
             # again from what was seen, by `tautmark check`."
        )?;
        writeln!(out, "tautmark_record: {RECORD_VERSION}")?;
        writeln!(out, "engine: {}", quote(self.engine()))?;
        writeln!(out, "spec: {}", quote(self.spec()))?;
        writeln!(
            out,
            "drive: {} # fingerprint of the teeth, links and marks that were looked at",
            quote(&fingerprint(drive))
        )?;
        if let Some(id) = &self.id {
            writeln!(out, "id: {} # of this record alone", quote(id))?;
        }
        if let Some(job) = &self.job {
            writeln!(out, "job: {} # whose looks these are", quote(job))?;
        }
        if let Some(car) = &self.car {
            writeln!(out, "car: {{ {} }}", car_pairs(car).join(", "))?;
        }
        if let Some(at) = self.at {
            writeln!(out, "at: {}", quote(&at.to_string()))?;
        }
        if let Some(Use { job, file, at }) = &self.used_by {
            writeln!(
                out,
                "used_by: {{ job: {}, file: {}, at: {} }}",
                quote(job),
                quote(file),
                quote(&at.to_string())
            )?;
        }
        if self.looks.is_empty() {
            return writeln!(out, "stages: []");
        }
        writeln!(out, "stages:")?;
        for look in &self.looks {
            let (word, about) = (look.stage.word(), look.stage.about());
            writeln!(out, "  # {about}")?;
            writeln!(out, "  - stage: {word}")?;
            writeln!(out, "    turned: {}", look.seen.turned())?;
            if let Some(at) = look.at {
                writeln!(out, "    at: {}", quote(&at.to_string()))?;
            }
            for (key, value) in circumstances(look, drive) {
                writeln!(out, "    {key}: {value}")?;
            }
            if let Some(stale) = &look.stale {
                writeln!(out, "    stale: {}", quote(stale))?;
            }
            let lists = [
                ("links", "dot against coloured link", look.seen.links()),
                ("dots", "dot against reference mark", look.seen.dots()),
            ];
            for (key, about, seen) in lists {
                if seen.is_empty() {
                    continue;
                }
                writeln!(out, "    {key}: # {about}")?;
                for (at, what) in seen {
                    let name = quote(&name_of(drive, *at));
                    writeln!(out, "      {name}: {}", quote(&what.to_string()))?;
                }
            }
            if !look.not_seen.is_empty() {
                writeln!(out, "    not_seen:")?;
                for sight in &look.not_seen {
                    writeln!(out, "      - {}", quote(&sight.text(drive)))?;
                }
            }
            if !look.said.is_empty() {
                writeln!(out, "    said: # what somebody said; it proves nothing")?;
                for (said, answer) in &look.said {
                    writeln!(out, "      {}: {}", said.word(), yes_or_no(*answer))?;
                }
            }
        }
        Ok(())
    }
}

/// Who looked, from where, and what was felt, as keys and values.
fn circumstances(look: &Look, drive: &Drive) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if let Some(by) = &look.by {
        all.push((key::BY, quote(by)));
    }
    if let Some(view) = look.view {
        all.push((key::VIEW, view.from().word().to_owned()));
        let crank = view.seen(drive.crank_turns());
        all.push((key::CRANK_SEEN, crank.word().to_owned()));
    }
    if let Some(felt) = look.felt {
        all.push((key::FELT, felt.to_string()));
    }
    all
}

/// What is known of a car, as `key: value`.
fn car_pairs(car: &Car) -> Vec<String> {
    [
        (key::ORDER, &car.order),
        (key::PLATE, &car.plate),
        (key::ENGINE_NUMBER, &car.engine_number),
        (key::MILEAGE, &car.mileage),
    ]
    .into_iter()
    .filter_map(|(key, text)| Some(format!("{key}: {}", quote(text.as_ref()?))))
    .collect()
}

fn yes_or_no(answer: bool) -> &'static str {
    if answer { "\"yes\"" } else { "\"no\"" }
}

/// One look on one line, as it stands in a history; it reads back as the same.
fn look_line(drive: &Drive, look: &Look) -> String {
    let mut out = format!(
        "{{ stage: {}, turned: {}",
        look.stage.word(),
        look.seen.turned()
    );
    // Writing to a String cannot fail.
    if let Some(at) = look.at {
        let _ = write!(out, ", at: {}", quote(&at.to_string()));
    }
    for (key, value) in circumstances(look, drive) {
        let _ = write!(out, ", {key}: {value}");
    }
    if let Some(stale) = &look.stale {
        let _ = write!(out, ", stale: {}", quote(stale));
    }
    for (key, seen) in [("links", look.seen.links()), ("dots", look.seen.dots())] {
        let all: Vec<String> = seen
            .iter()
            .map(|(at, what)| {
                let name = quote(&name_of(drive, *at));
                format!("{name}: {}", quote(&what.to_string()))
            })
            .collect();
        if !all.is_empty() {
            let _ = write!(out, ", {key}: {{ {} }}", all.join(", "));
        }
    }
    let all: Vec<String> = look
        .not_seen
        .iter()
        .map(|sight| quote(&sight.text(drive)))
        .collect();
    if !all.is_empty() {
        let _ = write!(out, ", not_seen: [{}]", all.join(", "));
    }
    let all: Vec<String> = look
        .said
        .iter()
        .map(|(said, answer)| format!("{}: {}", said.word(), yes_or_no(*answer)))
        .collect();
    if !all.is_empty() {
        let _ = write!(out, ", said: {{ {} }}", all.join(", "));
    }
    out.push_str(" }");
    out
}

/// An entry of the history of `record` as it is written, up to its checksum.
pub(super) fn entry_body(drive: &Drive, record: &Record, entry: &Entry) -> String {
    let mut out = match &entry.event {
        Event::Begun { car } => {
            let mut all = vec!["job: begun".to_owned()];
            all.extend(car_pairs(car));
            format!("{{ {}, ", all.join(", "))
        }
        Event::Old { part, count } => {
            format!("{{ old: {}, count: {count}, ", quote(part))
        }
        Event::Photo(photo) => {
            let about = photo
                .about
                .as_ref()
                .map_or_else(String::new, |about| format!("about: {}, ", quote(about)));
            format!(
                "{{ photo: {}, size: {}, checksum: {}, {about}",
                quote(&photo.file),
                photo.size,
                quote(&photo.checksum)
            )
        }
        Event::OnHand { kit, count } => {
            format!("{{ part: {}, count: {count}, ", quote(kit))
        }
        Event::Ordered { kit } => format!("{{ ordered: {}, ", quote(kit)),
        Event::Torque { fastener, to } => {
            format!("{{ torque: {}, to: {}, ", quote(fastener), quote(to))
        }
        Event::Step { step } => format!("{{ step: {}, ", quote(step)),
        Event::Look { look, record: from } => match record.looks.get(*look) {
            Some(look) => {
                let from = from
                    .as_ref()
                    .map_or_else(String::new, |id| format!("record: {}, ", quote(id)));
                format!("{{ look: {}, {from}", look_line(drive, look))
            }
            None => "{ ".to_owned(),
        },
        Event::Corrected { entry, to, why } => {
            let to = to.map_or_else(String::new, |to| {
                format!("to: {}, ", quote(&to.to_string()))
            });
            format!("{{ correct: {entry}, {to}why: {}, ", quote(why))
        }
    };
    if let Some(at) = entry.at {
        out.push_str(&format!("at: {}, ", quote(&at.to_string())));
    }
    if let Some(by) = &entry.by {
        out.push_str(&format!("by: {}, ", quote(by)));
    }
    if let Some(Override { why, against }) = &entry.overriding {
        let against: Vec<String> = against.iter().map(|text| quote(text)).collect();
        out.push_str(&format!(
            "override: {{ why: {}, against: [{}] }}, ",
            quote(why),
            against.join(", ")
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_quoted_where_some_reader_would_take_them_for_something_else() {
        for plain in ["Kestrel 2.0 inline-four", "left/crank", "a.yaml", "hung"] {
            assert_eq!(quote(plain), plain);
        }
        for other in [
            "", "on", "No", "NULL", "1e3", "0x10", "2 behind", "a: b", "a #b", "é", "- a", "a ",
            "nan",
        ] {
            assert_eq!(quote(other), format!("\"{other}\""));
        }
        assert_eq!(quote("C:\\x \"y\""), r#""C:\\x \"y\"""#);
    }
}
