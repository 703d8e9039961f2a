//! What was seen at an engine, stage by stage, as a file that can be verified again. A record keeps
//! what was seen and nothing that was concluded from it: verdicts are worked out anew each time.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::history;
use crate::spec::conform;
use crate::spec::finding::{self, Finding, ReadingProblem, RecordProblem, Severity};
use crate::spec::format::{self, JOB_VERSION, MAX_SIGHTS, MAX_TEXT, RECORD_VERSION};
use crate::spec::source::{Source, Span};
pub(crate) use crate::spec::stage::Stage;
use crate::spec::values::{exact, text, written};
use crate::spec::yaml::{self, Node, Value};
use crate::timing::check::{Check, Verdict, check};
use crate::timing::lookalike::{Fit, fits};
use crate::timing::observe::{
    ObservationError, Observations, Seen, dot_named, link_named, name_of,
};
use crate::units::quantity::{Exact, OutOfRange, Teeth, Turns};
use std::fmt::Write as _;

/// One thing to look at.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Sight {
    /// The dot of a sprocket against its coloured link.
    Link(Engagement),
    /// The dot of a sprocket against its reference mark on the engine.
    Dot(Engagement),
}

/// What was seen in one go at one stage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Look {
    /// When.
    pub stage: Stage,
    /// What was seen.
    pub seen: Observations,
    /// What was looked for and could not be seen.
    pub not_seen: Vec<Sight>,
}

/// What was seen at one engine, in the order in which it was seen.
///
/// ```
/// use tautmark::{Drive, Observations, Source, Verdict, link_named, job::{Look, Record}, spec::Stage};
///
/// # let text = "
/// # tautmark: 1
/// # engine: Example single
/// # crank_turns: clockwise
/// # shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// # chains: { main: { links: 90, path: [
/// #   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 45 } ] } }
/// # ";
/// let source = Source::new("example.yaml", text.into())?;
/// let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let mut seen = Observations::at_timed_position();
/// for shaft in ["crank", "cam"] {
///     seen.see_link(&drive, link_named(&drive, shaft)?, "on".parse()?)?;
/// }
/// let mut record = Record::new(&drive, source.name());
/// record.looks.push(Look { stage: Stage::Hung, seen, not_seen: Vec::new() });
///
/// let file = Source::new("job.yaml", record.to_yaml(&drive).into())?;
/// let again = Record::read(&file, &drive).record.ok_or("not readable")?;
/// assert_eq!(again, record);
/// // Proven before the tensioner was released; nothing is known of what came after.
/// assert!(again.check(&drive)?.release_tensioner());
/// assert_eq!(again.check(&drive)?.verdict(), Verdict::NotProven);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Record {
    engine: String,
    spec: String,
    /// Every look, the earliest first.
    pub looks: Vec<Look>,
}

/// What reading a record came to.
#[derive(Clone, Debug)]
pub struct RecordReading {
    /// The record; `None` if a finding is an error.
    pub record: Option<Record>,
    /// Everything found, in the order of the file.
    pub findings: Vec<Finding>,
}

/// The verdict on one look.
#[derive(Clone, PartialEq, Debug)]
pub struct LookChecked<'r> {
    /// The look.
    pub look: &'r Look,
    /// What it proves.
    pub check: Check,
    /// The look-alikes that fit it too (see [`fits`]); those that only a look at the dots rules
    /// out are left out where that look was taken later and is in time.
    pub fits: Vec<Fit>,
}

/// The verdicts on a whole record.
#[derive(Clone, PartialEq, Debug)]
pub struct RecordCheck<'r> {
    /// The looks that count, one a stage at most, in the order of the stages.
    pub stages: Vec<LookChecked<'r>>,
    /// The looks that were superseded by later ones.
    pub earlier: Vec<LookChecked<'r>>,
}

impl RecordCheck<'_> {
    /// In time only if all three stages were seen to be; out of time if any stage that counts is.
    pub fn verdict(&self) -> Verdict {
        if self.any_out_of_time() {
            Verdict::OutOfTime
        } else if self.stages.len() == Stage::ALL.len()
            && self
                .stages
                .iter()
                .all(|stage| stage.check.verdict == Verdict::InTime)
        {
            Verdict::InTime
        } else {
            Verdict::NotProven
        }
    }

    /// May the tensioner be released? Only if the chain as hung is proven, and nothing later
    /// speaks against it.
    pub fn release_tensioner(&self) -> bool {
        !self.any_out_of_time()
            && self.stages.iter().any(|stage| {
                stage.look.stage == Stage::Hung && stage.check.verdict == Verdict::InTime
            })
    }

    /// The stages of which there is no look that counts.
    pub fn missing(&self) -> impl Iterator<Item = Stage> + '_ {
        Stage::ALL
            .into_iter()
            .filter(|stage| !self.stages.iter().any(|seen| seen.look.stage == *stage))
    }

    fn any_out_of_time(&self) -> bool {
        self.stages
            .iter()
            .any(|stage| stage.check.verdict == Verdict::OutOfTime)
    }
}

impl Record {
    /// An empty record of `drive`. `spec` is what its file was called; a name that could not be
    /// read back is written in escapes, and of one that is too long the end is kept.
    pub fn new(drive: &Drive, spec: &str) -> Self {
        let shown: Vec<char> = spec
            .chars()
            .flat_map(|c| {
                let hidden = conform::is_unprintable(c);
                let escaped = hidden.then(|| c.escape_unicode());
                escaped.into_iter().flatten().chain((!hidden).then_some(c))
            })
            .collect();
        Self {
            engine: drive.engine().to_owned(),
            spec: shown[shown.len().saturating_sub(MAX_TEXT)..]
                .iter()
                .collect(),
            looks: Vec::new(),
        }
    }

    /// What the engine is called.
    pub fn engine(&self) -> &str {
        &self.engine
    }

    /// What the spec file was called.
    pub fn spec(&self) -> &str {
        &self.spec
    }

    /// How many marks were looked at, those that could not be seen included.
    pub fn answers(&self) -> usize {
        self.looks
            .iter()
            .map(|look| look.seen.links().len() + look.seen.dots().len() + look.not_seen.len())
            .sum()
    }

    /// Reads a record of `drive`. Every mistake in it is found in one go; beyond
    /// [`Drive::MAX_FINDINGS`] the rest is one finding that counts them.
    ///
    /// Of a whole job ([`crate::job::Job`]) it takes the looks.
    ///
    /// ```
    /// # use tautmark::{Drive, Source};
    /// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
    /// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
    /// use tautmark::{Verdict, job::Record};
    ///
    /// let file = Source::new("job.yaml", b"
    /// tautmark_record: 1
    /// engine: Kestrel 2.0 inline-four
    /// spec: kestrel-four.yaml
    /// stages:
    ///   - { stage: hung, links: { crank: on, exhaust: on, intake: on } }
    /// ".to_vec())?;
    /// let record = Record::read(&file, &drive).record.ok_or("not usable")?;
    /// let checked = record.check(&drive)?;
    /// // The tensioner may be released; the job is proven by all three stages only.
    /// assert!(checked.release_tensioner());
    /// assert_eq!(checked.verdict(), Verdict::NotProven);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
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

    /// The looks that count: the last one before the release, the last one of each later stage
    /// that came after it. What was seen before the chain was hung again proves nothing now.
    fn counting(&self) -> Vec<usize> {
        let mut counting = Vec::new();
        let mut from = 0;
        for stage in Stage::ALL {
            let last = (from..self.looks.len())
                .rev()
                .find(|i| self.looks[*i].stage == stage);
            if let Some(last) = last {
                counting.push(last);
                from = last + 1;
            }
        }
        counting
    }

    /// The looks that count, and those that later ones have superseded.
    pub(crate) fn split(self) -> (Vec<Look>, Vec<Look>) {
        let counting = self.counting();
        let (mut now, mut earlier) = (Vec::new(), Vec::new());
        for (i, look) in self.looks.into_iter().enumerate() {
            if counting.contains(&i) {
                now.push(look);
            } else {
                earlier.push(look);
            }
        }
        (now, earlier)
    }

    /// Works out every verdict again.
    ///
    /// # Errors
    /// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] and [`Observations`] prevent it.
    pub fn check(&self, drive: &Drive) -> Result<RecordCheck<'_>, OutOfRange> {
        let counting = self.counting();
        let (mut stages, mut earlier) = (Vec::new(), Vec::new());
        for (i, look) in self.looks.iter().enumerate() {
            let check = check(drive, &look.seen)?;
            let checked = LookChecked {
                look,
                fits: fits(drive, &look.seen, &check)?,
                check,
            };
            if counting.contains(&i) {
                stages.push(checked);
            } else {
                earlier.push(checked);
            }
        }
        let dots_in_time = stages.iter().any(|seen: &LookChecked<'_>| {
            seen.look.stage == Stage::Turned
                && seen.check.verdict == Verdict::InTime
                && !seen.look.seen.dots().is_empty()
        });
        if dots_in_time {
            for seen in &mut stages {
                seen.fits.retain(|fit| fit.explains);
            }
        }
        Ok(RecordCheck { stages, earlier })
    }

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
             # again from what was seen, by `tautmark check SPEC --record FILE`."
        )?;
        writeln!(out, "tautmark_record: {RECORD_VERSION}")?;
        writeln!(out, "engine: {}", quote(&self.engine))?;
        writeln!(out, "spec: {}", quote(&self.spec))?;
        writeln!(
            out,
            "drive: {} # fingerprint of the teeth, links and marks that were looked at",
            quote(&fingerprint(drive))
        )?;
        if self.looks.is_empty() {
            return writeln!(out, "stages: []");
        }
        writeln!(out, "stages:")?;
        for look in &self.looks {
            let (word, about) = (look.stage.word(), look.stage.about());
            writeln!(out, "  # {about}")?;
            writeln!(out, "  - stage: {word}")?;
            writeln!(out, "    turned: {}", look.seen.turned())?;
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
                    writeln!(out, "      - {}", quote(&sight_text(drive, *sight)))?;
                }
            }
        }
        Ok(())
    }
}

/// A scalar that every reader of YAML takes for this text: plain where it begins with a letter, has
/// nothing in it that means something in YAML, and is no word that some version of YAML takes for
/// a truth value, a number or nothing; in double quotes otherwise.
pub(crate) fn quote(text: &str) -> String {
    const WORDS: &[&str] = &[
        "y", "n", "yes", "no", "on", "off", "true", "false", "null", "inf", "nan",
    ];
    let plain = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '_' | '/' | '.'))
        && !text.ends_with(' ')
        && !WORDS.contains(&text.to_ascii_lowercase().as_str());
    if plain {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            _ => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A number that differs, all but surely, if anything differs that a question at the engine or a
/// verdict is made of (FNV-1a, 64 bits). It tells a changed spec, and is no protection against
/// anybody who means to deceive.
pub(crate) fn fingerprint(drive: &Drive) -> String {
    let mut text = drive.crank_turns().word().to_owned();
    let number = |value: Option<Exact>| value.map_or_else(|| "-".to_owned(), |n| n.to_string());
    // Writing to a String cannot fail.
    for (_, shaft) in drive.shafts() {
        let _ = write!(text, ";{} {}", shaft.name(), shaft.kind().word());
    }
    for (id, chain) in drive.chains() {
        let _ = write!(text, ";{} {}", chain.name(), chain.links().get());
        for (_, sprocket) in chain.engagements(id) {
            let mark = sprocket.mark();
            let _ = write!(
                text,
                ",{} {} {} {} {} {}",
                drive.shaft(sprocket.shaft()).name(),
                sprocket.teeth().get(),
                if sprocket.outside() { "out" } else { "in" },
                number(sprocket.dot().map(|dot| dot.get())),
                number(mark.map(|mark| mark.link.get())),
                mark.and_then(|mark| mark.colour.as_deref()).unwrap_or("-"),
            );
        }
    }
    history::checksum(&text)
}

/// The record, and the tree that it was read from.
pub(crate) fn read(
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
    let engine = text(&root, "engine");
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
    } else if let Some(print) = text(&root, "drive")
        && print.value != fingerprint(drive)
    {
        findings.push(Finding::new(RecordProblem::OtherDrive, print.span));
    }
    let (engine, spec) = (engine?.value, text(&root, "spec")?.value);
    if job {
        let print = text(&root, "drive").map_or_else(String::new, |print| print.value);
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
            .filter_map(|item| if job { item.get("look") } else { Some(item) })
            .filter_map(|item| look(item, drive, findings))
            .collect(),
        _ => Vec::new(),
    };
    let record = Record {
        engine,
        spec,
        looks,
    };
    Some((record, root))
}

/// Is it a record with a history?
pub(crate) fn is_job(root: &Node) -> bool {
    let version = root.get("tautmark_record").and_then(written);
    version.and_then(|text| text.parse().ok()) == Some(JOB_VERSION)
}

/// One look on one line, as it stands in a history; it reads back as the same.
pub(crate) fn look_line(drive: &Drive, look: &Look) -> String {
    let mut out = format!(
        "{{ stage: {}, turned: {}",
        look.stage.word(),
        look.seen.turned()
    );
    // Writing to a String cannot fail.
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
        .map(|sight| quote(&sight_text(drive, *sight)))
        .collect();
    if !all.is_empty() {
        let _ = write!(out, ", not_seen: [{}]", all.join(", "));
    }
    out.push_str(" }");
    out
}

/// `link SHAFT` or `dot SHAFT`.
fn sight_text(drive: &Drive, sight: Sight) -> String {
    let (word, at) = match sight {
        Sight::Link(at) => ("link", at),
        Sight::Dot(at) => ("dot", at),
    };
    format!("{word} {}", name_of(drive, at))
}

/// One stage. What conforms to no table is a finding already, and is passed over here.
fn look(node: &Node, drive: &Drive, findings: &mut Vec<Finding>) -> Option<Look> {
    let stage_word = text(node, "stage")?;
    let stage = Stage::from_word(&stage_word.value)?;
    let turned = exact(node, "turned");
    let turns = turned.map_or(Exact::ZERO, |turned| turned.value);
    let place = turned.map_or(stage_word.span, |turned| turned.span);
    let must_turn = stage == Stage::Turned;
    let unreadable = turned.is_none() && node.get("turned").is_some();
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
    let mut places: Vec<(Sight, Span)> = Vec::new();
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
    let items = match node.get("not_seen").map(|node| &node.value) {
        Some(Value::List(items)) => &items[..],
        _ => &[],
    };
    let mut not_seen = Vec::new();
    for item in items.iter().take(2 * MAX_SIGHTS) {
        let Some(text) = written(item) else { continue };
        match sight_named(drive, text) {
            Err(reason) => findings.push(Finding::new(
                RecordProblem::SeenImpossible { reason },
                item.span,
            )),
            Ok(sight) => {
                if not_seen.iter().any(|other| same(drive, *other, sight)) {
                    let twice = ObservationError::Twice {
                        at: text.to_owned(),
                    };
                    findings.push(impossible(&twice, item.span));
                    continue;
                }
                let other = places.iter().find(|(other, _)| same(drive, *other, sight));
                if let Some((_, span)) = other {
                    findings.push(
                        Finding::new(
                            RecordProblem::SeenAndNotSeen {
                                at: text.to_owned(),
                            },
                            item.span,
                        )
                        .with(*span),
                    );
                }
                not_seen.push(sight);
            }
        }
    }
    Some(Look {
        stage,
        seen,
        not_seen,
    })
}

fn impossible(error: &ObservationError, span: Span) -> Finding {
    Finding::new(
        RecordProblem::SeenImpossible {
            reason: error.to_string(),
        },
        span,
    )
}

/// Is it the same thing to look at? A shaft has one dot to compare with the engine, whichever
/// sprocket it is named by.
fn same(drive: &Drive, a: Sight, b: Sight) -> bool {
    match (a, b) {
        (Sight::Dot(a), Sight::Dot(b)) => drive.sprocket(a).shaft() == drive.sprocket(b).shaft(),
        _ => a == b,
    }
}

impl Sight {
    /// The one that is named `link SHAFT` or `dot SHAFT`.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn named(drive: &Drive, text: &str) -> Result<Self, String> {
        sight_named(drive, text)
    }

    /// Is it the same thing to look at? A shaft has one dot to compare with the engine, whichever
    /// sprocket it is named by.
    pub fn is_same(self, drive: &Drive, other: Self) -> bool {
        same(drive, self, other)
    }
}

/// `link SHAFT` or `dot SHAFT`.
fn sight_named(drive: &Drive, text: &str) -> Result<Sight, String> {
    let (word, name) = text.split_once(' ').unwrap_or((text, ""));
    let name = name.trim();
    match word {
        "link" => link_named(drive, name).and_then(|at| match drive.sprocket(at).mark() {
            Some(_) => Ok(Sight::Link(at)),
            None => Err(ObservationError::NoLink {
                at: name.to_owned(),
                dot: drive.is_marked(drive.sprocket(at).shaft()),
            }),
        }),
        "dot" => dot_named(drive, name, Seen::Teeth(Teeth::ZERO)).and_then(|at| {
            if drive.sprocket(at).is_marked() {
                Ok(Sight::Dot(at))
            } else {
                Err(ObservationError::NoDot {
                    shaft: name.to_owned(),
                })
            }
        }),
        _ => return Err("expected 'link SHAFT' or 'dot SHAFT', such as 'link crank'".to_owned()),
    }
    .map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Records that were kept must stay usable, so the fingerprint of a drive must not change with
    /// this program.
    #[test]
    fn a_fingerprint_stays_what_it_was() {
        let text = include_str!("../../engines/kestrel-four.yaml");
        let print = |text: &str| {
            let source = Source::new("test", text.into()).unwrap();
            fingerprint(&Drive::read(&source).drive.unwrap())
        };
        assert_eq!(print(text), "e02c1746a1bd6bd3");
        // Whatever a verdict or a question is made of changes it; a comment and a length do not.
        for (from, to) in [
            ("crank_turns: clockwise", "crank_turns: counter-clockwise"),
            ("links: 118", "links: 120"),
            ("link: 51", "link: 52"),
            ("dot: 350", "dot: 351"),
            ("link: 51, colour: yellow", "link: 51, colour: white"),
        ] {
            assert!(text.contains(from));
            assert_ne!(print(&text.replace(from, to)), print(text), "{to}");
        }
        assert_eq!(print(&text.replace("pitch: 8", "pitch: 9")), print(text));
        assert_eq!(print(&format!("{text}# note")), print(text));
    }

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
