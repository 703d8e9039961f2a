//! Proves, in exact arithmetic, whether an engine's timing chain is hung right.
//!
//! Data flows one way through rooms, and none imports one further down:
//!
//! | room | what goes out |
//! | --- | --- |
//! | [`units`] | exact numbers and quantities, each a type of its own |
//! | [`spec`] | the file as written: values with places, and [`Finding`]s |
//! | [`drive`] | the checked model: [`Drive`] |
//! | [`timing`] | how it is hung, and what is proven: [`Check`], look-alikes, causes, returns of the marks |
//! | [`plane`] | the chain laid around circles, fit, wear; here floating-point numbers begin |
//! | [`valves`] | events (exact), compression and clearance (estimates), what a slip does |
//! | [`lesson`] | exercises for a class: a hidden fault, what is seen of it, the grade of an answer |
//! | [`job`] | looks kept in a record, questions in order, kit, torques, steps |
//! | [`render`] | text, JSON, pictures, pages |
//! | [`stream`] | one verdict a line for a stream of lines |
//!
//! At the root stands what the main question takes: read a spec, say what was seen, get the verdict.
//! The program `tautmark` is the feature `cli`; without it (`default-features = false`) nothing that only
//! a command line needs is compiled. `examples/` has three small programs.
//!
//! The model is [`Drive`]: shafts, sprockets, chains and marks that hold together. What somebody
//! saw at the engine is [`Observations`]. [`check()`] makes a [`Check`] of both. The library reads
//! no files, prints nothing and holds no floating-point number in its model. Bad input is an error or
//! a finding, never a panic. Ids ([`drive::ShaftId`] and the like) belong to the drive that gave them.
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
//! assert_eq!(outcome.verdict(), Verdict::OutOfTime);
//! // Two teeth of 36, at half crank speed: 2 * 720/36 crank degrees.
//! let intake = outcome.shafts()[2].off.ok_or("not known")?;
//! assert_eq!(intake.angle.to_string(), "-40");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod drive;
pub mod job;
pub mod lesson;
pub mod plane;
pub mod proof;
pub mod render;
pub mod spec;
pub mod stream;
pub mod timing;
pub mod units;
pub mod valves;

pub use drive::{Drive, Reading};
pub use proof::{Check, CheckError, Proof, check, prove};
pub use spec::{Finding, Source, SourceError};
pub use timing::{ObservationError, Observations, Seen, SeenError, Verdict, dot_named, link_named};
pub use units::OutOfRange;
