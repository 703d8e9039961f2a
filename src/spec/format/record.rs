//! A record of what was seen.

use super::{
    JOB_VERSION, MAX_LOOKS, MAX_SIGHTS, MAX_TURNED, Record, Shape, key, optional, required,
};
use crate::spec::stage::Stage;

const SIGHTS: Shape = Shape::BySprocket {
    value: &Shape::Text,
    max: MAX_SIGHTS,
    what: "marks",
};

/// A whole record of what was seen.
pub(crate) static RECORD: Record = Record {
    title: "a record",
    fields: &[
        required(
            key::TAUTMARK_RECORD,
            Shape::Whole {
                min: 1,
                max: JOB_VERSION as i64,
                unit: "(version of the record format)",
            },
            "version of the record format: 1, or 2 with a history",
        ),
        required(key::ENGINE, Shape::Text, "what the spec calls the engine"),
        required(key::SPEC, Shape::Text, "the spec file, as it was named"),
        optional(
            key::DRIVE,
            Shape::Text,
            "fingerprint of the drive that was looked at; leave it out when writing by hand",
        ),
        required(
            key::STAGES,
            Shape::List {
                of: &Shape::Record(&LOOK),
                min: 0,
                max: MAX_LOOKS,
                what: "stages",
            },
            "what was seen, in order; a stage that was gone through again stands again",
        ),
    ],
};

pub(crate) static LOOK: Record = Record {
    title: "a stage",
    fields: &[
        required(
            key::STAGE,
            Shape::Choice(Stage::CHOICES),
            "when it was looked at",
        ),
        optional(
            key::TURNED,
            Shape::Number {
                min: 0,
                max: MAX_TURNED,
                unit: "turns",
                above: false,
            },
            "crank turns since the drive was timed",
        ),
        optional(
            key::LINKS,
            SIGHTS,
            "where each dot stands against its coloured link",
        ),
        optional(
            key::DOTS,
            SIGHTS,
            "where each dot stands against its reference mark on the engine",
        ),
        optional(
            key::NOT_SEEN,
            Shape::List {
                of: &Shape::Text,
                min: 0,
                max: 2 * MAX_SIGHTS,
                what: "marks",
            },
            "what could not be seen, as 'link SHAFT' or 'dot SHAFT'",
        ),
    ],
};
