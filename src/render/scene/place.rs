//! Where marks and links are at one moment, and what is said of it.

use crate::drive::ids::Engagement;
use crate::drive::model::Drive;
use crate::render::draw::places;
use crate::render::words::band::Band;
use crate::render::words::numbers;
use crate::render::words::turns::{next_words, turns};
use crate::timing::check::link_due;
use crate::timing::observe::name_of;
use crate::timing::pose::Pose;
use crate::timing::roll::roll;
use crate::units::quantity::{Exact, LinkPosition, OutOfRange, Teeth, Turns};
use crate::valves::slip::{SlipError, Slips};
use serde_json::{Value, json};

/// The drive after that many crank turns, hung with these slips: places of every moving part (`parts`), the words for
/// where the crankshaft stands (`place`), when the marks come back (`said`), and for each dot what is on it (`marks`).
///
/// # Errors
/// [`SlipError`] if two chains would put a shaft in two places, or a slip is of another drive.
pub fn place_json(drive: &Drive, turned: Turns, slips: &Slips) -> Result<Value, SlipError> {
    slips.errors(drive)?;
    let pose = Pose::slipped(drive, turned, slips.teeth())?;
    let whole = turned.get().is_whole();
    let right = slips.teeth().iter().all(|(_, teeth)| teeth.is_zero());
    let said = match (whole, right) {
        (false, _) => "The dots are on their way; look at them after a whole turn.".to_owned(),
        (true, true) => next_words(drive, &roll(drive, turned)?).join(" "),
        (true, false) => format!(
            "Hung wrong; so the {} on the dots are:",
            Band::all(drive).links
        ),
    };
    let mut marks = Vec::new();
    if whole {
        for (at, sprocket) in drive.engagements() {
            if sprocket.is_marked() {
                let words = on_dot(drive, &pose, slips, at)?;
                marks.push(format!("{}: {words}", name_of(drive, at)));
            }
        }
    }
    Ok(json!({
        "parts": places(drive, &pose)?,
        "place": place_words(turned)?,
        "said": said,
        "marks": marks,
    }))
}

/// `Timed position`, `35 crank degrees`, `6 crank turns and 35 degrees`.
fn place_words(turned: Turns) -> Result<String, OutOfRange> {
    let whole = turned.get().modulo(Exact::ONE)?;
    let past = whole.checked_mul(Exact::whole(360))?;
    let degrees = numbers::exact(past);
    let count = turned.get().checked_sub(whole)?;
    Ok(match (count.is_zero(), past.is_zero()) {
        (true, true) => "Timed position".to_owned(),
        (true, false) => format!("{degrees} crank degrees"),
        (false, true) => turns(turned),
        (false, false) => format!("{} and {degrees} degrees", turns(Turns::new(count))),
    })
}

/// Which link is on a dot after whole turns, and whether it belongs there.
fn on_dot(drive: &Drive, pose: &Pose, slips: &Slips, at: Engagement) -> Result<String, SlipError> {
    let Some(stand) = pose.sprocket(drive, at) else {
        return Ok(String::new());
    };
    if !stand.due.is_zero() {
        return Ok("its dot is on its way".to_owned());
    }
    let chain = drive.chain(at.chain);
    let links = chain.links();
    let name = |link: LinkPosition| numbers::link(link, chain);
    let mark = drive.sprocket(at).mark();
    let due = match mark {
        Some(_) => link_due(drive, at, pose.turned())?,
        None => None,
    };
    let (Some(mark), Some(due)) = (mark, due) else {
        return Ok(if stand.ahead.is_zero() {
            "its dot is in its timed place".to_owned()
        } else {
            format!(
                "its dot is off, {} {}",
                numbers::teeth(stand.ahead),
                numbers::side(stand.ahead.get())
            )
        });
    };
    let slipped = slips.of(at);
    let is = due.moved(slipped, links)?;
    let on = format!("{} on its dot", name(is));
    Ok(if slipped != Teeth::ZERO {
        format!("{on}; {} belongs there", name(due))
    } else if is == mark.link {
        let colour = mark.colour.as_deref();
        let colour = colour.map_or_else(String::new, |colour| format!(" ({colour})"));
        format!("{on}, its {}{colour}", Band::of(chain).mark)
    } else {
        format!(
            "{on}; its {} is elsewhere, as it should be by now",
            Band::of(chain).mark
        )
    })
}
