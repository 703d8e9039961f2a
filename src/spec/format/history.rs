//! A record of a whole job: the history of what was done.

use super::{
    ENGINE_NUMBER, Field, JOB_VERSION, LOOK, MAX_ENTRIES, MAX_PARTS, MAX_STEPS, MILEAGE, ORDER,
    PLATE, Record, Shape, key, optional, required,
};

/// What may stand in the history of a job.
pub(crate) static ENTRIES: &[&Record] = &[
    &BEGUN, &BENCH, &ORDERED, &OLD, &PHOTO, &TORQUE, &STEP_DONE, &LOOKED, &CORRECTED,
];

/// A whole record of a job.
pub(crate) static JOB: Record = Record {
    title: "a job",
    fields: &[
        required(
            key::TAUTMARK_RECORD,
            Shape::Whole {
                min: 1,
                max: JOB_VERSION as i64,
                unit: "(version of the record format)",
            },
            "version of the record format: 5, or 6 with a history; 1 to 4 are older",
        ),
        required(key::ENGINE, Shape::Text, "what the spec calls the engine"),
        required(key::SPEC, Shape::Text, "the spec file, as it was named"),
        required(key::DRIVE, Shape::Text, "fingerprint of the drive"),
        required(
            key::HISTORY,
            Shape::Entries {
                variants: ENTRIES,
                max: MAX_ENTRIES,
                what: "entries",
            },
            "what was done, in order",
        ),
        required(key::LAST, Shape::Text, "the checksum of the last entry"),
    ],
};

const AT: Field = optional(key::AT, Shape::Text, "when, in UTC");

const BY: Field = optional(key::BY, Shape::Text, "by whom");

const SUM: Field = required(
    key::SUM,
    Shape::Text,
    "checksum of this entry and the one before",
);

const OVERRIDE: Field = optional(
    key::OVERRIDE,
    Shape::Record(&OVERRIDDEN),
    "what stood against it, and why it was done all the same",
);

pub(crate) static OVERRIDDEN: Record = Record {
    title: "an override",
    fields: &[
        required(key::WHY, Shape::Text, "the reason that was given"),
        required(
            key::AGAINST,
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: 2 * MAX_PARTS + MAX_STEPS,
                what: "reasons",
            },
            "what stood against it",
        ),
    ],
};

pub(crate) static BEGUN: Record = Record {
    title: "a beginning",
    fields: &[
        required(
            key::JOB,
            Shape::Choice(&[("begun", "the record was begun")]),
            "that the job was begun",
        ),
        ORDER,
        PLATE,
        ENGINE_NUMBER,
        MILEAGE,
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static BENCH: Record = Record {
    title: "a part on the bench",
    fields: &[
        required(key::PART, Shape::Text, "the part or single-use fastener"),
        required(
            key::COUNT,
            Shape::Whole {
                min: 0,
                max: 1_000_000,
                unit: "pieces",
            },
            "how many are there",
        ),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static ORDERED: Record = Record {
    title: "an order",
    fields: &[
        required(key::ORDERED, Shape::Text, "the part or single-use fastener"),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static OLD: Record = Record {
    title: "old parts counted",
    fields: &[
        required(
            key::OLD,
            Shape::Text,
            "the part whose old ones were counted",
        ),
        required(
            key::COUNT,
            Shape::Whole {
                min: 0,
                max: 1_000_000,
                unit: "pieces",
            },
            "how many came off",
        ),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static PHOTO: Record = Record {
    title: "a photo",
    fields: &[
        required(
            key::PHOTO,
            Shape::Text,
            "its file, from the folder of the job on",
        ),
        required(
            key::SIZE,
            Shape::Whole {
                min: 0,
                max: 1_000_000_000_000,
                unit: "bytes",
            },
            "how large it was",
        ),
        required(key::CHECKSUM, Shape::Text, "the checksum of what was in it"),
        optional(key::ABOUT, Shape::Text, "what it shows"),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static TORQUE: Record = Record {
    title: "a torque",
    fields: &[
        required(key::TORQUE, Shape::Text, "the fastener"),
        required(key::TO, Shape::Text, "what it was tightened to"),
        AT,
        BY,
        OVERRIDE,
        SUM,
    ],
};

pub(crate) static STEP_DONE: Record = Record {
    title: "a step done",
    fields: &[
        required(key::STEP, Shape::Text, "the step"),
        AT,
        BY,
        OVERRIDE,
        SUM,
    ],
};

pub(crate) static LOOKED: Record = Record {
    title: "a look",
    fields: &[
        required(key::LOOK, Shape::Record(&LOOK), "what was seen"),
        optional(
            key::RECORD,
            Shape::Text,
            "the number of the record that it was taken from",
        ),
        AT,
        BY,
        SUM,
    ],
};

pub(crate) static CORRECTED: Record = Record {
    title: "a correction",
    fields: &[
        required(
            key::CORRECT,
            Shape::Whole {
                min: 1,
                max: MAX_ENTRIES as i64,
                unit: "(number of an entry)",
            },
            "the entry that is corrected, counted from 1",
        ),
        optional(
            key::TO,
            Shape::Text,
            "when it was, in UTC; left out, the entry is void",
        ),
        required(key::WHY, Shape::Text, "the reason that was given"),
        required(key::AT, Shape::Text, "when, in UTC"),
        required(key::BY, Shape::Text, "by whom"),
        SUM,
    ],
};
