//! How each cylinder stands at one place of the crankshaft: where it is in its cycle (exact), how far down its piston
//! is and how far its valves are from it (estimates).

use crate::drive::model::Drive;
use crate::units::cycle::Stroke;
use crate::units::quantity::{CrankDegrees, CyclePlace, Exact, OutOfRange, Turns};
use crate::valves::clearance::{NoClearance, PistonAndValve};
use crate::valves::piston::SliderCrank;

/// One cylinder at one moment.
#[derive(Clone, PartialEq, Debug)]
pub struct CylinderPose {
    /// Its number.
    pub cylinder: u8,
    /// Where it is in its cycle. Exact.
    pub place: CyclePlace,
    /// The stroke that it is on; at a dead centre the one that begins there.
    pub stroke: Stroke,
    /// How far its piston stands below TDC, in mm. An estimate.
    pub travel_mm: f64,
    /// Its valves, in the order of [`Drive::valves`].
    pub valves: Vec<ValvePose>,
}

/// The valves of one entry in one cylinder at one moment.
#[derive(Clone, PartialEq, Debug)]
pub struct ValvePose {
    /// Index among [`Drive::valves`].
    pub valve: usize,
    /// How far they are lifted, in mm; `None` if the spec does not say how they are lifted. An estimate.
    pub lift_mm: Option<f64>,
    /// How far they are from the piston at this very place, along their own axis and in mm; at or below zero they meet.
    /// An estimate, or why there is none.
    pub gap_mm: Result<f64, NoClearance>,
}

/// Every cylinder in firing order, the crankshaft `turned` on from the timed position and each shaft off by `errors`
/// (above zero: ahead) in the order of [`Drive::shafts`]; shafts beyond its end stand where they belong. Empty if the
/// spec has no cylinders.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// use tautmark::{units::{Exact, Stroke, Turns}, valves::cylinder_poses};
///
/// // Half a turn on: cylinder 1 is at the end of power, and cylinder 3 has just fired.
/// let half = Turns::new(Exact::parse("1/2")?);
/// let all = cylinder_poses(&drive, half, &[])?;
/// assert_eq!((all[0].cylinder, all[0].stroke), (1, Stroke::Exhaust));
/// assert_eq!(all[0].travel_mm, 86.0);
/// assert_eq!((all[1].cylinder, all[1].travel_mm), (3, 0.0));
/// // Nothing can be said of cylinders that a spec does not have.
/// # let text = std::fs::read("engines/plover-three.yaml")?;
/// # let plover = Drive::read(&Source::new("plover-three.yaml", text)?).drive.ok_or("not usable")?;
/// assert!(cylinder_poses(&plover, half, &[])?.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`OutOfRange`] if a number cannot be held; the bounds of [`Drive`] and of what can have been turned prevent it.
pub fn cylinder_poses(
    drive: &Drive,
    turned: Turns,
    errors: &[CrankDegrees],
) -> Result<Vec<CylinderPose>, OutOfRange> {
    let Some(cylinders) = drive.cylinders() else {
        return Ok(Vec::new());
    };
    let Some(crank) = SliderCrank::new(cylinders.stroke.to_f64(), cylinders.rod.to_f64()) else {
        return Ok(Vec::new());
    };
    let turned = turned.to_crank_degrees()?;
    let mut entries = Vec::with_capacity(drive.valves().len());
    for (i, valves) in drive.valves().iter().enumerate() {
        let error = errors.get(valves.shaft.index()).copied();
        let error = error.unwrap_or(CrankDegrees::ZERO);
        let shift = error.get().nearest_modulo(Exact::whole(720))?.to_f64();
        entries.push((i, valves, shift, PistonAndValve::of(drive, i)));
    }
    let mut poses = Vec::with_capacity(cylinders.firing_order.len());
    for number in &cylinders.firing_order {
        let offset = usize::from(*number)
            .checked_sub(1)
            .and_then(|at| cylinders.offsets.get(at))
            .ok_or(OutOfRange)?;
        let place = CyclePlace::FIRING_TDC.later(turned.checked_sub(*offset)?)?;
        let at = place.get().to_f64();
        let own = entries
            .iter()
            .filter(|(_, valves, ..)| valves.cylinders.contains(number));
        poses.push(CylinderPose {
            cylinder: *number,
            place,
            stroke: place.stroke()?,
            travel_mm: crank.travel(at),
            valves: own
                .map(|(i, valves, shift, both)| ValvePose {
                    valve: *i,
                    lift_mm: match both {
                        Ok(both) => Some(both.lift(at, *shift)),
                        Err(_) => valves.lift_at(at, *shift),
                    },
                    gap_mm: both
                        .as_ref()
                        .map_err(|why| *why)
                        .map(|both| both.clearance(at, *shift)),
                })
                .collect(),
        });
    }
    Ok(poses)
}
