//! What else can look like a drive that is out of time, while every link lies where it belongs.
//!
//! A measurement compares two things that each can have moved on its own: the sensors and their wheels,
//! the damper by which the crankshaft is set, the keys that tie sprockets to shafts. What was measured rules some
//! of them out, by which shafts are off and by whether they are off alike; of the rest it says nothing, so
//! they stand here in no order of likelihood. Which parts can do so is common practice of the trade.

use crate::drive::ids::ShaftId;
use crate::drive::model::Drive;
use crate::spec::raw::ShaftKind;
use crate::timing::measure::Measured;
use crate::units::quantity::OutOfRange;

/// Something outside the model of the drive that what was measured does not rule out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Elsewhere {
    /// The sensor of a camshaft, or the wheel that it reads.
    CamshaftSensor(ShaftId),
    /// What ties a shaft to its sprocket: a key or dowel sheared or left out, a bolt that let go.
    ShaftKey(ShaftId),
    /// The crankshaft's sensor, or the wheel that it reads.
    CrankshaftSensor,
    /// The damper has slipped on its hub or in its rubber, and with it the mark or the wheel on it.
    Damper,
    /// The key between the crankshaft and its sprocket is sheared.
    CrankshaftKey,
}

/// What else `measured` does not rule out. Nothing where nothing that was measured is off for certain.
///
/// - A sensor shows only in what an instrument measured, and so does what lies between a sprocket and its
///   shaft: marks are on the sprocket.
/// - What is wrong at the crankshaft is wrong by as much for every shaft that was measured the same way.
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held.
pub fn elsewhere(drive: &Drive, measured: &[Measured]) -> Result<Vec<Elsewhere>, OutOfRange> {
    let mut found = Vec::new();
    let off = |one: &&Measured| one.angle.abs() > one.tolerance;
    let by_instrument: Vec<&Measured> = measured.iter().filter(|one| one.at_camshaft).collect();
    for one in by_instrument.iter().copied().filter(off) {
        if drive.shaft(one.shaft).kind() == ShaftKind::Camshaft {
            found.push(Elsewhere::CamshaftSensor(one.shaft));
        }
        found.push(Elsewhere::ShaftKey(one.shaft));
    }
    if by_instrument.is_empty() {
        let by_marks: Vec<&Measured> = measured.iter().collect();
        if by_marks.iter().any(off) && alike(&by_marks)? {
            found.push(Elsewhere::Damper);
        }
    } else if by_instrument.iter().any(off) && alike(&by_instrument)? {
        found.extend([
            Elsewhere::CrankshaftSensor,
            Elsewhere::Damper,
            Elsewhere::CrankshaftKey,
        ]);
    }
    Ok(found)
}

/// Is there one angle by which all of them can be off?
fn alike(measured: &[&Measured]) -> Result<bool, OutOfRange> {
    for one in measured {
        for other in measured {
            let least = one.angle.checked_sub(one.tolerance)?;
            if least > other.angle.checked_add(other.tolerance)? {
                return Ok(false);
            }
        }
    }
    Ok(true)
}
