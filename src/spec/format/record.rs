//! A record of what was seen.

use super::{
    Field, JOB_VERSION, MAX_LOOKS, MAX_SIGHTS, MAX_TURNED, Record, Shape, key, optional, required,
};
use crate::spec::choice::{Rotation, Viewpoint};
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
            "version of the record format: 5, or 6 with a history; 1 to 4 are older",
        ),
        required(key::ENGINE, Shape::Text, "what the spec calls the engine"),
        required(key::SPEC, Shape::Text, "the spec file, as it was named"),
        optional(
            key::DRIVE,
            Shape::Text,
            "fingerprint of the drive that was looked at; leave it out when writing by hand",
        ),
        optional(
            key::ID,
            Shape::Text,
            "what tells this record from every other one",
        ),
        optional(key::JOB, Shape::Text, "the job whose looks these are"),
        optional(key::AT, Shape::Text, "when it was last added to, in UTC"),
        optional(key::CAR, Shape::Record(&CAR), "the car that was looked at"),
        optional(
            key::USED_BY,
            Shape::Record(&USED_BY),
            "the job that has taken it",
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

/// The car that a job is about. What is not known is left out.
static CAR: Record = Record {
    title: "a car",
    fields: &[ORDER, PLATE, ENGINE_NUMBER, MILEAGE],
};

pub(super) const ORDER: Field = optional(key::ORDER, Shape::Text, "the order number");
pub(super) const PLATE: Field = optional(key::PLATE, Shape::Text, "the number plate");
pub(super) const ENGINE_NUMBER: Field =
    optional(key::ENGINE_NUMBER, Shape::Text, "the number on its engine");
pub(super) const MILEAGE: Field = optional(key::MILEAGE, Shape::Text, "its mileage, with its unit");

/// What has taken a record.
static USED_BY: Record = Record {
    title: "a use",
    fields: &[
        required(key::JOB, Shape::Text, "the job's own number"),
        required(key::FILE, Shape::Text, "its file, as it was named"),
        required(key::AT, Shape::Text, "when, in UTC"),
    ],
};

const YES_OR_NO: Shape = Shape::Choice(&[("yes", "it is so"), ("no", "it is not so")]);

/// What somebody said at a stage, where nothing can be measured.
static SAID: Record = Record {
    title: "what was said",
    fields: &[
        optional(
            key::PHASER_PARKED,
            YES_OR_NO,
            "every phaser is locked in its parked position",
        ),
        optional(
            key::SLACK_SIDE,
            YES_OR_NO,
            "all slack lies on the tensioner's strand",
        ),
        optional(
            key::NOT_INSIDE_OUT,
            YES_OR_NO,
            "no chain is hung inside out",
        ),
        optional(
            key::FACING_END,
            YES_OR_NO,
            "seen from where `view` says: facing the timing end, in no mirror, where it is left out",
        ),
        optional(
            key::PIN_IN,
            YES_OR_NO,
            "the tensioner is held back by its pin or lock",
        ),
        optional(key::TOOLS_IN, YES_OR_NO, "every locking tool is in"),
        optional(
            key::BOLTS_LOOSE,
            YES_OR_NO,
            "the bolts of the phasers are hand-tight only",
        ),
        optional(
            key::PINS_OUT,
            YES_OR_NO,
            "no pin and no locking tool is in any more",
        ),
        optional(
            key::BOLTS_TIGHT,
            YES_OR_NO,
            "every phaser bolt is tightened as its maker says",
        ),
        optional(
            key::TURNED_FREE,
            YES_OR_NO,
            "nothing resisted while the engine was turned by hand",
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
        optional(
            key::AT,
            Shape::Text,
            "when its first mark was looked at, in UTC",
        ),
        optional(
            key::SAID,
            Shape::Record(&SAID),
            "what somebody said, where nothing can be measured",
        ),
        optional(key::BY, Shape::Text, "who looked"),
        optional(
            key::VIEW,
            Shape::Choice(Viewpoint::CHOICES),
            "from where it was seen",
        ),
        optional(
            key::CRANK_SEEN,
            Shape::Choice(Rotation::CHOICES),
            "which way the crankshaft turns there; from above, clockwise is to the right",
        ),
        optional(
            key::FELT,
            Shape::Number {
                min: 0,
                max: MAX_TURNED,
                unit: "turns",
                above: false,
            },
            "by how many crank turns something resisted",
        ),
        optional(
            key::STALE,
            Shape::Text,
            "what has happened since, so that it says nothing now",
        ),
    ],
};
