//! What can be asked.

use serde::Deserialize;

/// A spec: its file's name and what stands in it.
#[derive(Deserialize)]
pub(crate) struct Spec {
    pub(crate) name: String,
    pub(crate) text: String,
}

/// Sprockets with the teeth by which each has slipped.
pub(crate) type Slipped = Vec<(String, i64)>;

/// How a drive is hung.
#[derive(Deserialize)]
pub(crate) struct Hung {
    pub(crate) slips: Slipped,
    /// Shafts with the whole crank degrees by which their phaser stands ahead of where it parks.
    #[serde(default)]
    pub(crate) phasers: Vec<(String, i64)>,
    /// By how many thousandths every chain has grown.
    #[serde(default)]
    pub(crate) wear: i64,
}

/// What was seen: shafts, and where the dot of each stands.
#[derive(Deserialize)]
pub(crate) struct Looks {
    #[serde(default = "zero")]
    pub(crate) turned: String,
    #[serde(default)]
    pub(crate) links: Vec<(String, String)>,
    #[serde(default)]
    pub(crate) dots: Vec<(String, String)>,
}

fn zero() -> String {
    "0".to_owned()
}

/// A question.
#[derive(Deserialize)]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub(crate) enum Ask {
    /// Which sources the module was built from.
    About,
    /// The words of the trade, with their pictures.
    Glossary,
    /// A spec to start from.
    Starter,
    /// Every finding in a spec, with its place.
    Lint {
        spec: Spec,
        /// Whether what would put a warning right is sought too, which takes longer.
        #[serde(default)]
        seek: bool,
    },
    /// The lines that change if marks are computed from centres.
    Fit { spec: Spec },
    /// What of a drive stays on a page.
    Scene { spec: Spec },
    /// The figures of the valves, and what each tooth does to them.
    Figures { spec: Spec },
    /// Where everything is after so many turns.
    Place {
        spec: Spec,
        turned: String,
        #[serde(flatten)]
        hung: Hung,
    },
    /// The same, and how each cylinder stands then.
    Moment {
        spec: Spec,
        turned: String,
        #[serde(flatten)]
        hung: Hung,
    },
    /// How each cylinder stands after so many turns, by itself.
    Cylinders {
        spec: Spec,
        turned: String,
        #[serde(flatten)]
        hung: Hung,
    },
    /// What slips do, for a page.
    Slipped {
        spec: Spec,
        #[serde(flatten)]
        hung: Hung,
    },
    /// What slips do, as the command line says it.
    Slip {
        spec: Spec,
        #[serde(flatten)]
        hung: Hung,
    },
    /// An exercise, as pupils see it.
    Exercise {
        spec: Spec,
        seed: String,
        level: String,
    },
    /// What an answer to an exercise is worth: every fault that was named.
    Grade {
        spec: Spec,
        seed: String,
        level: String,
        says: Vec<String>,
    },
    /// The verdict on a look.
    Check {
        spec: Spec,
        #[serde(flatten)]
        looks: Looks,
    },
    /// Where the marks are after so many turns.
    Roll { spec: Spec, turned: String },
    /// The whole sheet with the picture as it was seen.
    Draw {
        spec: Spec,
        #[serde(flatten)]
        looks: Looks,
    },
    /// The questions at the engine: from a record, or none, on by these replies.
    Interview {
        spec: Spec,
        /// What tells a new record from every other one.
        id: String,
        /// The job whose looks these are, if any.
        job: Option<String>,
        record: Option<String>,
        replies: Vec<Reply>,
    },
    /// The verdicts on a record.
    Record { spec: Spec, record: String },
    /// A new job.
    JobBegin {
        spec: Spec,
        at: String,
        by: Option<String>,
    },
    /// How a job stands.
    Job { spec: Spec, job: String, at: String },
    /// The looks of a record taken into a job.
    JobTake {
        spec: Spec,
        job: String,
        file: String,
        record: String,
        at: String,
        by: Option<String>,
    },
    /// Items of a job ticked off.
    JobTick {
        spec: Spec,
        job: String,
        items: Vec<String>,
        at: String,
        by: Option<String>,
    },
}

/// A reply at the engine, with the time at which it was given.
#[derive(Deserialize)]
pub(crate) struct Reply {
    pub(crate) reply: String,
    /// Of `seen`: where the dot stands, as the command line takes it.
    #[serde(default)]
    pub(crate) seen: String,
    pub(crate) at: String,
}
