//! The file format, stated once: which keys there are, of what kind, within which bounds, and what
//! they mean, a file for each section. The reader checks against these tables, `tautmark schema` is made of
//! them, and the table of keys in `docs/file-format.md` is tested against them.

mod drive;
mod history;
mod job;
pub(crate) mod key;
mod record;
mod spec;
mod valves;

use drive::{CHAIN, SHAFT};
pub(crate) use history::{ENTRIES, JOB};
use job::{FASTENER, PART, STEP};
pub(crate) use record::RECORD;
use record::{ENGINE_NUMBER, LOOK, MILEAGE, ORDER, PLATE};
pub(crate) use spec::SPEC;
use valves::{CYLINDERS, VALVE};

/// The version of the file format that this library reads.
pub const FORMAT_VERSION: u32 = 1;
/// The version of the format of records that this library reads and writes.
pub const RECORD_VERSION: u32 = 5;
/// The version of the format of records that hold a whole job, as this library writes it.
pub const JOB_VERSION: u32 = 6;
/// The versions of a whole job that this library reads.
pub(crate) const JOB_VERSIONS: [u32; 3] = [2, 4, JOB_VERSION];
/// Most shafts of one drive.
pub const MAX_SHAFTS: usize = 16;
/// Most camshafts of an engine, whether they are on the drive or not.
pub(crate) const MAX_CAMSHAFTS: usize = 100;
/// Most chains of one drive.
pub const MAX_CHAINS: usize = 8;
/// Most crank turns since a drive was timed.
pub(crate) const MAX_TURNED: i64 = 1_000_000;
/// Most looks in one record.
pub(crate) const MAX_LOOKS: usize = 1000;
/// Most entries in the history of one job.
pub(crate) const MAX_ENTRIES: usize = 2000;
/// Most sprockets of one drive, and so most marks in one look.
pub(crate) const MAX_SIGHTS: usize = MAX_CHAINS * MAX_PATH;
/// Most entries on one chain's path.
pub(crate) const MAX_PATH: usize = 64;
/// How many of them are kept for corrections: a full history must still take one.
pub(crate) const CORRECTIONS: usize = 100;
/// Most parts, and most kinds of fasteners, of one job.
pub(crate) const MAX_PARTS: usize = 200;
/// Most steps of one job.
pub(crate) const MAX_STEPS: usize = 100;
/// Most locking tools of one engine.
pub(crate) const MAX_TOOLS: usize = 16;
/// Most minutes that a step makes the next one wait: a week.
pub(crate) const MAX_WAIT: i64 = 7 * 24 * 60;
/// Most characters of a name.
pub(crate) const MAX_NAME: usize = 32;
/// Most characters of a text.
pub(crate) const MAX_TEXT: usize = 200;

/// Most cylinders of one engine.
pub(crate) const MAX_CYLINDERS: usize = 16;
/// Most entries under `valves:`.
pub(crate) const MAX_VALVES: usize = 32;
/// Most points of a lift table.
pub(crate) const MAX_LIFT_POINTS: usize = 720;

/// What kind of value a key takes.
#[derive(Clone, Copy)]
pub(crate) enum Shape {
    /// Printable characters, at most [`MAX_TEXT`].
    Text,
    /// A name given elsewhere in the file.
    Name,
    /// A name of one's own.
    OwnName,
    /// One of some words, each with its meaning.
    Choice(&'static [(&'static str, &'static str)]),
    /// A whole number within bounds.
    Whole {
        min: i64,
        max: i64,
        unit: &'static str,
    },
    /// An exact number within bounds; `above`: the least itself is excluded.
    Number {
        min: i64,
        max: i64,
        unit: &'static str,
        above: bool,
    },
    /// `true` or `false`.
    Flag,
    /// A list of exactly two.
    Pair(&'static Shape, &'static str),
    /// A list of so many values of one kind.
    List {
        of: &'static Shape,
        min: usize,
        max: usize,
        what: &'static str,
    },
    /// A valve event in the trade's form: `12 BTDC`.
    Event,
    /// A mapping with fixed keys.
    Record(&'static Record),
    /// A mapping from names of one's own to records.
    Named {
        record: &'static Record,
        max: usize,
        what: &'static str,
    },
    /// A mapping from sprockets, as `SHAFT` or `CHAIN/SHAFT`, to values of one kind.
    BySprocket {
        value: &'static Shape,
        max: usize,
        what: &'static str,
    },
    /// A list of records, told apart by the first key of each.
    Entries {
        variants: &'static [&'static Record],
        max: usize,
        what: &'static str,
    },
}

/// A key of a record.
pub(crate) struct Field {
    pub(crate) key: &'static str,
    pub(crate) required: bool,
    pub(crate) shape: Shape,
    pub(crate) about: &'static str,
}

/// A mapping with fixed keys.
pub(crate) struct Record {
    /// With its article, for messages: "a shaft".
    pub(crate) title: &'static str,
    pub(crate) fields: &'static [Field],
}

const fn required(key: &'static str, shape: Shape, about: &'static str) -> Field {
    Field {
        key,
        required: true,
        shape,
        about,
    }
}

const fn optional(key: &'static str, shape: Shape, about: &'static str) -> Field {
    Field {
        key,
        required: false,
        shape,
        about,
    }
}
