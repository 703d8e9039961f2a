//! Proves, in exact arithmetic, whether an engine's timing chain is hung right.
//!
//! Data flows one way, and no module imports one that comes later:
//!
//! ```text
//! text -> spec as written -> checked model -> hung state -> verdict -> words, JSON, picture
//! source  yaml, conform,     drive            hang          check      render
//!         format, spec
//! ```
//!
//! Beside that line stand the plane (`geometry`, where floats begin), the valves, and the job around
//! the chain; DEVELOPERS.md has the whole map.
//!
//! From the checked model another way leads into the plane, where floating-point numbers begin
//! ([`geometry`]) and nothing leads back:
//!
//! ```text
//! checked model -> chain in the plane -> does it hold together, marks from centres, wear
//! drive            geometry, layout      survey, fitting, wear
//! ```
//!
//! The model is [`Drive`]: shafts, sprockets, chains and marks that hold together. What somebody
//! saw at the engine is [`Observations`]. [`check()`] makes a [`Check`] of both. The library reads
//! no files, prints nothing and holds no floating-point number in its model.
//!
//! ```
//! use tautmark::{Drive, Observations, Source, Verdict, check, link_named};
//!
//! let text = "
//! tautmark: 1
//! engine: Example twin-cam
//! crank_turns: clockwise
//! shafts:
//!   crank: { kind: crankshaft }
//!   exhaust: { kind: camshaft }
//!   intake: { kind: camshaft }
//! chains:
//!   main:
//!     links: 128
//!     path:
//!       - { sprocket: crank, teeth: 18, link: 0, colour: blue }
//!       - { sprocket: exhaust, teeth: 36, link: 44, colour: yellow }
//!       - { sprocket: intake, teeth: 36, link: 62, colour: yellow }
//! ";
//! let source = Source::new("example.yaml", text.into())?;
//! let reading = Drive::read(&source);
//! assert!(reading.findings.is_empty());
//! let drive = reading.drive.ok_or("not usable")?;
//!
//! let mut seen = Observations::at_timed_position();
//! for (shaft, what) in [("crank", "on"), ("exhaust", "on"), ("intake", "2 behind")] {
//!     seen.see_link(&drive, link_named(&drive, shaft)?, what.parse()?)?;
//! }
//! let outcome = check(&drive, &seen)?;
//! assert_eq!(outcome.verdict, Verdict::OutOfTime);
//! // Two teeth of 36, at half crank speed: 2 * 720/36 crank degrees.
//! let intake = outcome.shafts[2].off.ok_or("not known")?;
//! assert_eq!(intake.angle.to_string(), "-40");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod cause;
mod check;
mod conform;
mod cycle;
mod drive;
mod false_friend;
mod finding;
mod fitting;
mod format;
pub mod geometry;
mod hang;
mod history;
mod interview;
mod job;
mod layout;
mod lift;
mod line;
mod measure;
mod observe;
mod piston;
mod place;
mod plan;
mod pose;
mod quantity;
mod record;
mod render;
mod roll;
mod slip;
mod source;
mod spec;
mod stage;
mod survey;
mod timestamp;
mod torque;
mod trouble;
mod valves;
mod wear;
mod yaml;

pub use cause::{Cause, Explanation, Fault, FromMarks, MOST_FAULTS, Strands, explain};
pub use check::{
    Check, Doubt, Reconciliation, Remedy, ShaftState, Unseen, Verdict, check, link_due,
};
pub use cycle::{DeadCentre, Stroke, TradeAngle, TradeAngleError};
pub use drive::{
    Chain, ChainId, Cylinders, Drive, Engagement, Lift, Mark, Part, Phaser, Reading, Shaft,
    ShaftId, Shoe, Sprocket, Valves,
};
pub use false_friend::{FalseFriend, FalseFriendKind, Fit, ambiguous, false_friends, fits};
pub use finding::{AlsoRight, Finding, LiftTableFault, PartName, Piece, Problem, Severity};
pub use fitting::{Change, Fitting, FittingError, Unfitted, fit_marks};
pub use format::{FORMAT_VERSION, JOB_VERSION, MAX_CHAINS, MAX_SHAFTS, RECORD_VERSION};
pub use hang::{Hung, Offset, OwnOffset, ShaftHung, hang};
pub use interview::{Answer, Interview, Question, Refusal, Repeat, Reply, Step};
pub use job::{
    Block, Deed, Doing, Entry, Item, Job, JobError, JobReading, JobStatus, KitStatus, Overriding,
    Standing, StepStatus,
};
pub use layout::{FromPaths, Layout, LayoutError, MissingGeometry, Residual};
pub use lift::LiftCurve;
pub use line::{LineChecker, LineOutcome};
pub use measure::{MeasureError, Measured};
pub use observe::{
    ObservationError, Observations, Seen, SeenError, dot_named, link_named, name_of, shaft_named,
};
pub use piston::SliderCrank;
pub use plan::{Fastener, JobPart, JobStep, Plan};
pub use pose::{Ground, Pose, Stand};
pub use quantity::{
    ClockAngle, CrankDegrees, CyclePlace, Exact, LinkCount, LinkPosition, NumberError, OutOfRange,
    Teeth, ToothCount, Turns,
};
pub use record::{Look, LookChecked, Record, RecordCheck, RecordReading, Sight};
pub use render::{
    CAUTIONS, LinkPlace, Picture, Plot, PlotError, STARTER, ShoePlace, SprocketPlace,
    TensionerPlace, answer_text, check_json, check_text, confirm_text, doubt_text, draft_text,
    draw_svg, draw_text, explain_json, explain_text, false_friend_json, false_friend_text,
    finding_json, finding_text, finding_title, fitting_json, fitting_text, format_tables,
    halt_text, job_html, job_json, job_report_text, job_status_text, json_text, look_text,
    made_sure_text, page, plot, printable, question_text, ready_text, record_json, record_text,
    refusal_text, remedy_text, roll_json, roll_text, schema, sheet_json, sheet_text, slip_json,
    slip_text, tensioned, unfitted_text, verdicts_text, wear_json, wear_text,
};
pub use roll::{
    MarkPlace, Meeting, Moment, Moments, Returns, Roll, meetings, moments, returns, roll,
};
pub use slip::{
    Contact, Slip, SlipError, SlipOutcome, Slips, Sweep, SweepRow, Symptom, slip, sprocket_named,
    sweep,
};
pub use source::{At, Position, Source, SourceError, Span};
pub use spec::{Parked, Rotation, ShaftKind, ValveKind};
pub use stage::{Gate, Stage};
pub use survey::{lint, survey};
pub use timestamp::{Timestamp, TimestampError};
pub use torque::{Tightening, Torque, TorqueError, TorqueUnit};
pub use trouble::{ABOUT_CODES, TROUBLE_CODES, TroubleCode, trouble_code};
pub use valves::{
    CLEARANCE_ACCURACY_MM, LeastClearance, NoClearance, PairTiming, PistonAndValve, Timing,
    ValveTiming, timing,
};
pub use wear::{
    ChainWear, Elongation, Extension, ShaftWear, Wear, WearError, WearLimit, WearVerdict, wear,
};
