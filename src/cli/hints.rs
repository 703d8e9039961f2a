//! How the command line is told what a text asks for: the only words that name its flags.

use tautmark::{
    ObservationError,
    render::{Hints, Wanted},
    valves::SlipError,
};

/// For somebody who types commands.
pub(crate) struct Flags;

impl Hints for Flags {
    fn hint(&self, wanted: Wanted<'_>) -> Option<String> {
        Some(match wanted {
            Wanted::Link(name) => format!("--link {name}=..."),
            Wanted::Dot(name) => format!("--dot {name}=..."),
            Wanted::DotsAfter(turned, shafts) => {
                let dots: Vec<String> = shafts
                    .iter()
                    .map(|shaft| format!("--dot {shaft}=..."))
                    .collect();
                format!("tautmark check SPEC --turned {turned} {}", dots.join(" "))
            }
            Wanted::MoreMoments => "--format json lists up to 10,000".to_owned(),
            Wanted::MoreCauses => "--most N lists more".to_owned(),
            Wanted::Contradictions => "tautmark lint shows where".to_owned(),
            Wanted::FindingsFirst => "see what lint finds without --fit".to_owned(),
            Wanted::Phaser => "--phaser".to_owned(),
            Wanted::Elongation => "--elongation".to_owned(),
            _ => return None,
        })
    }
}

/// For somebody who answers questions: nothing is typed in flags there.
pub(crate) struct Answers;

impl Hints for Answers {
    fn hint(&self, wanted: Wanted<'_>) -> Option<String> {
        match wanted {
            Wanted::Contradictions => Flags.hint(wanted),
            _ => None,
        }
    }
}

/// What was seen and cannot be taken, with the flag that takes it.
pub(crate) fn observation(error: ObservationError) -> anyhow::Error {
    let flag = match error {
        ObservationError::NoLink { dot: true, .. } => "--dot",
        ObservationError::LinkForDot { .. } => "--link takes link numbers",
        _ => return error.into(),
    };
    anyhow::anyhow!("{error} ({flag})")
}

/// Why a slip could not be calculated, with the command that says more.
pub(crate) fn slip(error: SlipError) -> anyhow::Error {
    let command = match error {
        SlipError::NoStrands { .. } => "tautmark lint says what is missing",
        SlipError::NoValves => "tautmark schema shows its keys",
        _ => return error.into(),
    };
    anyhow::anyhow!("{error}: {command}")
}
