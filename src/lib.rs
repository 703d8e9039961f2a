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

pub mod drive;
pub mod job;
pub mod plane;
pub mod render;
pub mod spec;
pub mod stream;
pub mod timing;
pub mod units;
pub mod valves;

pub use drive::{Drive, Reading};
pub use spec::{Finding, Source, SourceError};
pub use timing::{
    Check, ObservationError, Observations, Seen, SeenError, Verdict, check, dot_named, link_named,
};
pub use units::OutOfRange;
