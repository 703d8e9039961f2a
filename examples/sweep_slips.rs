//! Slips one sprocket tooth by tooth and says what the valves do: `SPEC SHAFT [TEETH]`.
//!
//! ```sh
//! cargo run --example sweep_slips -- engines/kestrel-four.yaml intake 4
//! ```
#![allow(clippy::print_stdout, reason = "a program may print")]

use std::error::Error;
use tautmark::valves::{Contact, Slips, sprocket_named, sweep};
use tautmark::{Drive, Source};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(path), Some(shaft)) = (arguments.next(), arguments.next()) else {
        return Err("usage: SPEC SHAFT [TEETH]".into());
    };
    let teeth = arguments.next().map_or(Ok(4), |teeth| teeth.parse())?;
    let source = Source::new(path.clone(), std::fs::read(path)?)?;
    print!("{}", table(&source, &shaft, teeth)?);
    Ok(())
}

/// A line for each number of teeth from so many behind to so many ahead.
pub(crate) fn table(source: &Source, shaft: &str, teeth: i64) -> Result<String, Box<dyn Error>> {
    let drive = Drive::read(source)
        .drive
        .ok_or("the spec has mistakes: lint it")?;
    let at = sprocket_named(&drive, shaft)?;
    let sweep = sweep(&drive, &Slips::none(), at, -teeth..=teeth)?;
    let mut text = String::new();
    for row in &sweep.rows {
        // Above zero: ahead, in crank degrees.
        let off = row.errors[drive.sprocket(at).shaft().index()];
        let contact = match row.timing.contact() {
            Contact::Meet => "valves and piston meet",
            Contact::Clear => "clear by this model; measure before you rely on it",
            Contact::NotKnown => "not known",
        };
        text += &format!("{:+} teeth: {off} crank degrees, {contact}\n", row.teeth);
    }
    Ok(text)
}
