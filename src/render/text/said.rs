//! What nothing can measure: how it is asked, and what follows from a "no".

use super::check::release_lines;
use super::view::view_of;
use crate::drive::model::Drive;
use crate::job::{Interview, Said, View};
use crate::render::words::band::Band;
use crate::render::words::numbers;
use crate::render::words::said::said_words;
use crate::render::words::stage::{stage_title, tensioned};
use crate::render::words::style::{bold, heading, printable_but_styled};
use crate::render::words::view::from_here;
use crate::spec::choice::Viewpoint;
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::units::quantity::Turns;

/// Something that nothing can measure, asked. Of those that are asked the other way round
/// ([`Said::is_asked_the_other_way`]) the "no" is what is said to be so. `colour` adds terminal colours, which
/// never carry the meaning alone.
pub fn say_text(interview: &Interview<'_>, stage: Stage, what: Said, colour: bool) -> String {
    let drive = interview.drive();
    let turned = match stage {
        Stage::Turned => interview.turns(),
        _ => Turns::ZERO,
    };
    let mut out = format!("{}\n\n", stage_title(drive, stage, turned));
    let lines = said_lines(drive, what);
    for line in &lines {
        out.push_str(&format!("{line}\n"));
    }
    if !lines.is_empty() {
        out.push('\n');
    }
    let question = said_question(drive, view_of(interview), what);
    out.push_str(&format!("{}\n", bold(&question, colour)));
    printable_but_styled(&out)
}

fn said_question(drive: &Drive, view: View, what: Said) -> String {
    match what {
        Said::PhaserParked => "Is every phaser locked in its parked position?",
        Said::SlackSide => "Does all slack lie on the tensioner's side?",
        Said::NotInsideOut => {
            return format!(
                "Have you made sure that no {} is hung {}?",
                Band::all(drive).name,
                Band::all(drive).over
            );
        }
        Said::FacingEnd if view.from() == Viewpoint::Facing => {
            "Do you stand facing the timing end, and look at it directly, not in a mirror?"
        }
        Said::FacingEnd => return format!("Do you see it {}, as you said?", from_here(view)),
        Said::PinIn => "Is the tensioner held back, its pin or lock in?",
        Said::ToolsIn => "Are all locking tools in?",
        Said::BoltsLoose => "Is any of those bolts tight already?",
        Said::PinsOut if drive.plan().tools().is_empty() => {
            "Is any pin or locking tool still in the engine?"
        }
        Said::PinsOut => "Is any of them, or the tensioner's pin, still in the engine?",
        Said::BoltsTight => "Is every phaser bolt tightened to the maker's figure?",
        Said::TurnedFree => "Did anything resist while you turned it?",
    }
    .to_owned()
}

/// What there is to be looked at before it is said.
fn said_lines(drive: &Drive, what: Said) -> Vec<String> {
    let own = |phaser: bool| {
        let mut lines = release_lines(drive);
        lines.retain(|line| line.contains("phaser") == phaser);
        lines
    };
    let tools = || {
        let tools = drive.plan().tools().iter();
        tools.map(|tool| format!("  - {tool}")).collect()
    };
    match what {
        Said::PhaserParked => own(true),
        Said::SlackSide => own(false),
        Said::ToolsIn | Said::PinsOut => tools(),
        Said::BoltsLoose => {
            let shafts = drive.shafts().filter(|(_, shaft)| {
                let phaser = shaft.phaser();
                phaser.is_some_and(|phaser| phaser.hand_tight)
            });
            let names: Vec<&str> = shafts.map(|(_, shaft)| shaft.name()).collect();
            vec![format!(
                "Until the timing is proven, these phasers' bolts are hand-tight only: {}.",
                names.join(", ")
            )]
        }
        Said::NotInsideOut => vec![
            format!(
                "The {} alone would look the same. Look at the {} itself. Your word is kept; it does\n\
                 not replace the dots.",
                Band::all(drive).links,
                Band::all(drive).name
            ),
        ],
        Said::FacingEnd => vec![
            "A mark was corrected, and is now worse by just what was corrected. That is how it looks if\n\
             ahead and behind are taken for each other: from the other side, or in a mirror."
                .to_owned(),
        ],
        Said::PinIn | Said::BoltsTight | Said::TurnedFree => Vec::new(),
    }
}

/// What is to be done about something that was denied.
pub(super) fn said_remedy(what: Said) -> &'static str {
    match what {
        Said::PhaserParked => {
            "Lock the phaser in its parked position, then look at every mark again."
        }
        Said::SlackSide => {
            "Bring all slack to the tensioner's side, then look at every mark again."
        }
        Said::NotInsideOut => {
            "Look how it faces, and in which order its coloured links or marks come."
        }
        Said::FacingEnd => "Say from where you see it, and look at every mark again.",
        Said::PinIn => "Push the tensioner back and lock it, then look at every mark again.",
        Said::ToolsIn => "Put the locking tools in, then look at every mark again.",
        Said::BoltsLoose => "Slacken the bolt to hand-tight, then look at every mark again.",
        Said::PinsOut => "Take it out before the engine is turned.",
        Said::BoltsTight => "Tighten it before the engine is turned.",
        Said::TurnedFree => "Begin again at stage 1.",
    }
}

/// What must not be done although the marks look right.
pub(super) fn stop_words(drive: &Drive, stage: Stage) -> &'static str {
    match stage {
        Stage::Hung if tensioned(drive) => "STOP. Do not release the tensioner.",
        Stage::Hung => "STOP. Do not tighten anything.",
        Stage::Released => "STOP. Do not turn the engine.",
        Stage::Turned => "STOP. Do not start the engine.",
    }
}

/// Why it stops although the marks look right.
pub(super) fn denied_lines(drive: &Drive, stage: Stage, denied: &[Said], colour: bool) -> String {
    let stop = stop_words(drive, stage);
    let mut out = format!(
        "{}\n\n{}\n\nThe marks look right, but you said\n",
        stage_title(drive, stage, Turns::ZERO),
        heading(stop, Verdict::NotProven, colour)
    );
    for what in denied {
        out.push_str(&format!(
            "  - {}\n    {}\n",
            said_words(*what, false),
            said_remedy(*what)
        ));
    }
    let now = heading("STOP. What now?", Verdict::NotProven, colour);
    out.push_str(&format!("\n{now}\n"));
    out
}

/// What must not be done once something has resisted.
pub(super) const RESISTED: &str = "STOP. Do not turn the engine, and do not start it.";

/// What it can be that resists, in the order in which it is easily looked for. Common practice.
const RESISTING: [&str; 5] = [
    "a pin or a locking tool still in, or a bolt that is too long",
    "something left in the drive: a rag, a tool, the old seal",
    "valves on pistons: the drive is out of time",
    "the chain or belt off a guide, or jammed under the cover's edge",
    "compression, if it springs back: take the spark plugs out and feel again",
];

/// Something resisted: by how many turns? `colour` adds terminal colours, which never carry the meaning alone.
pub fn felt_text(interview: &Interview<'_>, colour: bool) -> String {
    let text = format!(
        "{}\n\n{}\n\nHow far had the crankshaft turned?\n",
        stage_title(interview.drive(), Stage::Turned, interview.turns()),
        heading(
            "STOP. Turn it no further, and do not force it.",
            Verdict::NotProven,
            colour
        )
    );
    printable_but_styled(&text)
}

/// Where in the turn something resisted, what it can be, and what to do.
pub(super) fn resisted_lines(interview: &Interview<'_>, colour: bool) -> String {
    let drive = interview.drive();
    let felt = interview.felt().map_or_else(
        || "Something resisted, nobody knows where in the turn.".to_owned(),
        |turns| {
            format!(
                "Something resisted by {} of {} crank turns.",
                numbers::exact(turns.get()),
                numbers::exact(interview.turns().get())
            )
        },
    );
    let mut out = format!(
        "{}\n\n{}\n\n{felt} It can be\n",
        stage_title(drive, Stage::Turned, interview.turns()),
        heading(RESISTED, Verdict::NotProven, colour)
    );
    for what in RESISTING {
        out.push_str(&format!("  - {what}\n"));
    }
    out.push_str(
        "What was seen before says nothing now. Follow the maker's order to take the load off. Then\n\
         hold the tensioner back and look at every mark again.\n",
    );
    let now = heading("STOP: it RESISTED. What now?", Verdict::NotProven, colour);
    out.push_str(&format!("\n{now}\n"));
    out
}
