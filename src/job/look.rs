//! One look at the engine: what was looked at, and what was seen.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::job::said::Said;
use crate::job::view::View;
use crate::spec::stage::Stage;
use crate::timing::observe::{
    ObservationError, Observations, Seen, dot_named, link_named, name_of,
};
use crate::units::quantity::{Teeth, Turns};
use crate::units::timestamp::Timestamp;

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
    /// At which stage.
    pub stage: Stage,
    /// What was seen.
    pub seen: Observations,
    /// What was looked for and could not be seen.
    pub not_seen: Vec<Sight>,
    /// When the first of its marks was looked at; `None` if that is not known, and in a job it then proves
    /// nothing.
    pub at: Option<Timestamp>,
    /// What somebody said, where nothing can be measured.
    pub said: Vec<(Said, bool)>,
    /// What has happened since, in words, so that it says nothing now.
    pub stale: Option<String>,
    /// Who looked, if it is known.
    pub by: Option<String>,
    /// From where it was seen, if it was asked.
    pub view: Option<View>,
    /// By how many crank turns something resisted, if it did and it is known.
    pub felt: Option<Turns>,
}

impl Look {
    /// What was seen at a stage, with nothing else known.
    pub fn new(stage: Stage, seen: Observations, not_seen: Vec<Sight>) -> Self {
        Self {
            stage,
            seen,
            not_seen,
            at: None,
            said: Vec::new(),
            stale: None,
            by: None,
            view: None,
            felt: None,
        }
    }
}

impl Look {
    /// What was answered to it; `None` if it was not asked.
    pub fn said(&self, what: Said) -> Option<bool> {
        let answer = self.said.iter().find(|(said, _)| *said == what);
        answer.map(|(_, answer)| *answer)
    }

    /// Is it the same look, told once more? In whatever order its marks are told; one without a time may be another.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        let same_marks = |a: &[(Engagement, Seen)], b: &[(Engagement, Seen)]| {
            a.len() == b.len() && a.iter().all(|mark| b.contains(mark))
        };
        let same_said = self.said.len() == other.said.len()
            && self.said.iter().all(|said| other.said.contains(said));
        let same_not_seen = self.not_seen.len() == other.not_seen.len()
            && self.not_seen.iter().all(|at| other.not_seen.contains(at));
        self.at.is_some()
            && (self.at, self.stage, &self.by) == (other.at, other.stage, &other.by)
            && (&self.stale, self.felt) == (&other.stale, other.felt)
            && self.seen.turned() == other.seen.turned()
            && same_marks(self.seen.links(), other.seen.links())
            && same_marks(self.seen.dots(), other.seen.dots())
            && same_said
            && same_not_seen
    }

    /// Did something resist while the engine was turned? Valves may have met pistons, and the chain may have
    /// jumped: what was seen before says nothing then.
    pub fn resisted(&self) -> bool {
        self.said(Said::TurnedFree) == Some(false)
    }

    /// What keeps the next stage closed, whatever the marks show: each thing that was denied, and, of a
    /// look with a time, each that was not said.
    pub fn unsaid(&self, drive: &Drive) -> Vec<(Said, Option<bool>)> {
        let denied = self.said.iter().filter(|(_, answer)| !answer);
        let mut open: Vec<_> = denied.map(|(said, _)| (*said, Some(false))).collect();
        if self.at.is_some() {
            for said in Said::needed(drive, self.stage) {
                if self.said(said).is_none() {
                    open.push((said, None));
                }
            }
        }
        open
    }
}

impl Sight {
    /// The one that is named `link SHAFT` or `dot SHAFT`.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn named(drive: &Drive, text: &str) -> Result<Self, String> {
        let (word, name) = text.split_once(' ').unwrap_or((text, ""));
        let name = name.trim();
        match word {
            "link" => link_named(drive, name).and_then(|at| match drive.sprocket(at).mark() {
                Some(_) => Ok(Self::Link(at)),
                None => Err(ObservationError::NoLink {
                    at: name.to_owned(),
                    dot: drive.is_marked(drive.sprocket(at).shaft()),
                }),
            }),
            "dot" => dot_named(drive, name, Seen::Teeth(Teeth::ZERO)).and_then(|at| {
                if drive.sprocket(at).is_marked() {
                    Ok(Self::Dot(at))
                } else {
                    Err(ObservationError::NoDot {
                        shaft: name.to_owned(),
                    })
                }
            }),
            _ => {
                return Err("expected 'link SHAFT' or 'dot SHAFT', such as 'link crank'".to_owned());
            }
        }
        .map_err(|error| error.to_string())
    }

    /// Is it the same thing to look at? A shaft has one dot to compare with the engine, whichever
    /// sprocket it is named by.
    pub fn is_same(self, drive: &Drive, other: Self) -> bool {
        match (self, other) {
            (Self::Dot(a), Self::Dot(b)) => drive.sprocket(a).shaft() == drive.sprocket(b).shaft(),
            _ => self == other,
        }
    }

    /// `link SHAFT` or `dot SHAFT`.
    pub(super) fn text(self, drive: &Drive) -> String {
        let (word, at) = match self {
            Self::Link(at) => ("link", at),
            Self::Dot(at) => ("dot", at),
        };
        format!("{word} {}", name_of(drive, at))
    }
}
