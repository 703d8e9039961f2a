//! The stages at which marks are looked at.

use super::numbers;
use crate::drive::ids::Engagement;
use crate::drive::model::{Drive, Part};
use crate::job::Sight;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::units::quantity::{Exact, Turns};

/// Is there a tensioner to be released? Only a spec that says how its chains run says that there is none.
pub fn tensioned(drive: &Drive) -> bool {
    let tensioner = drive.chains().any(|(_, chain)| {
        let mut path = chain.path().iter();
        path.any(|part| matches!(part, Part::Tensioner { .. }))
    });
    let laid_out = drive.chains().all(|(_, chain)| chain.pitch().is_some())
        && drive.shafts().all(|(_, shaft)| shaft.centre().is_some());
    tensioner || !laid_out
}

/// When a stage is looked at.
pub(crate) fn stage_words(drive: &Drive, stage: Stage, turned: Turns) -> String {
    match stage {
        Stage::Hung if !tensioned(drive) => "before anything is tightened".to_owned(),
        Stage::Released if !tensioned(drive) => "after everything is tightened".to_owned(),
        Stage::Hung => "before the tensioner is released".to_owned(),
        Stage::Released => "after the tensioner is released".to_owned(),
        Stage::Turned => {
            let turns = turned.get();
            let unit = if turns == Exact::ONE { "turn" } else { "turns" };
            format!("after {} {unit} by hand", numbers::exact(turns))
        }
    }
}

/// `Stage 1 of 3, before the tensioner is released`.
pub(crate) fn stage_title(drive: &Drive, stage: Stage, turned: Turns) -> String {
    format!(
        "Stage {} of {}, {}",
        stage.index() + 1,
        Stage::ALL.len(),
        stage_words(drive, stage, turned)
    )
}

/// The marks are in time, but something that has to be so besides was denied or not said.
pub(crate) fn not_yet_headline(drive: &Drive, stage: Stage) -> &'static str {
    match stage {
        Stage::Hung if !tensioned(drive) => "IN TIME by the marks. Do not tighten anything yet.",
        Stage::Hung => "IN TIME by the marks. Do not release the tensioner yet.",
        Stage::Released => "IN TIME by the marks. Do not turn the engine yet.",
        Stage::Turned => "IN TIME by the marks. Do not start the engine.",
    }
}

/// The verdict on a stage, and what it means for what comes next.
pub(crate) fn stage_headline(
    drive: &Drive,
    stage: Stage,
    verdict: Verdict,
    settled: bool,
) -> &'static str {
    if verdict == Verdict::InTime && !settled {
        if drive.chains().all(|(_, chain)| chain.is_belt()) {
            return match stage {
                Stage::Hung => {
                    "IN TIME by the belt. Look once more (below) before the tensioner is released."
                }
                Stage::Released => {
                    "IN TIME by the belt. Look once more (below) before the engine is turned."
                }
                Stage::Turned => {
                    "IN TIME by the belt. Look once more (below) before the engine is started."
                }
            };
        }
        return match stage {
            Stage::Hung => {
                "IN TIME by the links. Look once more (below) before the tensioner is released."
            }
            Stage::Released => {
                "IN TIME by the links. Look once more (below) before the engine is turned."
            }
            Stage::Turned => {
                "IN TIME by the links. Look once more (below) before the engine is started."
            }
        };
    }
    if stage == Stage::Hung && !tensioned(drive) {
        return match verdict {
            Verdict::InTime => "IN TIME. Everything may be tightened.",
            Verdict::OutOfTime => "OUT OF TIME. Do not tighten anything.",
            Verdict::NotProven => "NOT PROVEN. Do not tighten anything.",
        };
    }
    match (verdict, stage) {
        (Verdict::InTime, Stage::Hung) => "IN TIME. The tensioner may be released.",
        (Verdict::InTime, Stage::Released) => "IN TIME. The engine may be turned by hand.",
        (Verdict::InTime, Stage::Turned) => "IN TIME.",
        (Verdict::OutOfTime, Stage::Hung) => "OUT OF TIME. Do not release the tensioner.",
        (Verdict::OutOfTime, Stage::Released) => "OUT OF TIME. Do not turn the engine.",
        (Verdict::OutOfTime, Stage::Turned) => "OUT OF TIME. Do not start the engine.",
        (Verdict::NotProven, Stage::Hung) => "NOT PROVEN. Do not release the tensioner.",
        (Verdict::NotProven, Stage::Released) => "NOT PROVEN. Do not turn the engine.",
        (Verdict::NotProven, Stage::Turned) => "NOT PROVEN. Do not start the engine.",
    }
}

pub(crate) fn sight_parts(sight: Sight) -> (&'static str, Engagement) {
    match sight {
        Sight::Link(at) => ("link", at),
        Sight::Dot(at) => ("dot", at),
    }
}
