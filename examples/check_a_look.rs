//! Checks what was seen at an engine: `SPEC SHAFT=WHAT...`, WHAT as `on`, `2 behind` or `link 46`.
//!
//! ```sh
//! cargo run --example check_a_look -- engines/kestrel-four.yaml crank=on exhaust=on intake="2 behind"
//! ```
#![allow(clippy::print_stdout, reason = "a program may print")]

use std::error::Error;
use std::process::ExitCode;
use tautmark::render::{PlainWords, check_text, finding_text};
use tautmark::{Drive, Observations, Source, Verdict, check, link_named};

/// Ends with success only if the drive is proven to be in time.
fn main() -> Result<ExitCode, Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or("usage: SPEC SHAFT=WHAT...")?;
    let looks: Vec<String> = arguments.collect();
    let source = Source::new(path.clone(), std::fs::read(path)?)?;
    let (verdict, text) = answer(&source, &looks)?;
    print!("{text}");
    Ok(match verdict {
        Verdict::InTime => ExitCode::SUCCESS,
        _ => ExitCode::FAILURE,
    })
}

/// The verdict, and the same in words with all that has to be looked at, moved, and kept in mind.
pub(crate) fn answer(
    source: &Source,
    looks: &[String],
) -> Result<(Verdict, String), Box<dyn Error>> {
    let reading = Drive::read(source);
    let Some(drive) = reading.drive else {
        let findings = reading.findings.iter();
        let findings: Vec<String> = findings
            .map(|finding| finding_text(finding, source, false))
            .collect();
        return Err(findings.join("\n\n").into());
    };
    let mut seen = Observations::at_timed_position();
    for look in looks {
        let (shaft, what) = look.split_once('=').ok_or("expected SHAFT=WHAT")?;
        seen.see_link(&drive, link_named(&drive, shaft)?, what.parse()?)?;
    }
    let outcome = check(&drive, &seen)?;
    // What looks the same and is wrong belongs to the answer.
    let fits = outcome.fits();
    let text = check_text(&drive, &seen, &outcome, fits, &PlainWords, false);
    Ok((outcome.verdict(), text))
}
