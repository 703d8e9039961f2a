//! What else can look like a drive out of time.

use crate::drive::model::Drive;
use crate::timing::elsewhere::Elsewhere;

/// What stands over the list.
pub(crate) const ELSEWHERE_HEADING: &str = "What else can look like this: what was measured does not rule it out (common practice, in no order)";

/// On what the list rests.
pub(crate) const ELSEWHERE_BASIS: &str = "common practice";

/// One of them: a stable name, what it is, and what tells it from a chain that is off.
pub(crate) struct ElsewhereWords<'a> {
    pub(crate) code: &'static str,
    pub(crate) shaft: Option<&'a str>,
    pub(crate) what: String,
    pub(crate) settled_by: &'static str,
}

const SEE_THE_DOTS: &str = "look at the dots: with it they are where they belong";
const FIND_TDC: &str =
    "find TDC on the piston of cylinder 1 itself, and see whether the mark agrees";

pub(crate) fn elsewhere_words(drive: &Drive, one: Elsewhere) -> ElsewhereWords<'_> {
    let (code, shaft, settled_by) = match one {
        Elsewhere::CamshaftSensor(id) => ("camshaft-sensor", Some(id), SEE_THE_DOTS),
        Elsewhere::ShaftKey(id) => (
            "shaft-key",
            Some(id),
            "see where a lobe of it stands while the dots are where they belong, for the marks on the sprocket cannot show it",
        ),
        Elsewhere::CrankshaftSensor => ("crankshaft-sensor", None, SEE_THE_DOTS),
        Elsewhere::Damper => ("damper-slipped", None, FIND_TDC),
        Elsewhere::CrankshaftKey => (
            "crankshaft-key",
            None,
            "find TDC on the piston of cylinder 1 itself, and see whether the dot on the crankshaft's sprocket agrees",
        ),
    };
    let shaft = shaft.map(|id| drive.shaft(id).name());
    let name = shaft.unwrap_or("");
    let what = match one {
        Elsewhere::CamshaftSensor(_) => {
            format!("{name}: its sensor, or the wheel that the sensor reads, sits wrong")
        }
        Elsewhere::ShaftKey(_) => {
            format!("{name}: the key or dowel in its sprocket is sheared or missing")
        }
        Elsewhere::CrankshaftSensor => {
            "the crankshaft's sensor, or the wheel that it reads, sits wrong".to_owned()
        }
        Elsewhere::Damper => {
            "the damper has slipped on its hub, if the crankshaft's mark or wheel is on it"
                .to_owned()
        }
        Elsewhere::CrankshaftKey => {
            "the key between the crankshaft and its sprocket is sheared".to_owned()
        }
    };
    ElsewhereWords {
        code,
        shaft,
        what,
        settled_by,
    }
}
