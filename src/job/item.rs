//! What can be ticked off, and how it is typed.

use crate::job::error::JobError;
use crate::units::quantity::Exact;

/// Most pieces of one part.
const MAX_COUNT: u32 = 1_000_000;

/// Something that can be ticked off.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Item {
    /// `part:NAME`, `part:NAME=COUNT` or `part:NAME=COUNTxLENGTH`.
    OnHand {
        /// Its name in the spec.
        kit: String,
        /// How many are there; as many as are needed where it is not said.
        count: Option<u32>,
        /// How long they are in mm, as measured.
        length: Option<Exact>,
    },
    /// `old:NAME` or `old:NAME=COUNT`.
    Old {
        /// Its name in the spec.
        part: String,
        /// How many old ones came off; as many as go on where it is not said.
        count: Option<u32>,
    },
    /// `ordered:NAME`.
    Ordered(String),
    /// `torque:NAME`.
    Torque(String),
    /// `step:NAME`.
    Step(String),
}

impl std::str::FromStr for Item {
    type Err = JobError;

    fn from_str(text: &str) -> Result<Self, JobError> {
        let form = || JobError::Form {
            text: text.to_owned(),
        };
        let (kind, name) = text.split_once(':').ok_or_else(form)?;
        match kind {
            "old" => Ok(match name.split_once('=') {
                None => Self::Old {
                    part: name.to_owned(),
                    count: None,
                },
                Some((part, count)) => Self::Old {
                    part: part.to_owned(),
                    count: Some(
                        count
                            .trim()
                            .parse()
                            .ok()
                            .filter(|count| *count <= MAX_COUNT)
                            .ok_or_else(form)?,
                    ),
                },
            }),
            "ordered" => Ok(Self::Ordered(name.to_owned())),
            "torque" => Ok(Self::Torque(name.to_owned())),
            "step" => Ok(Self::Step(name.to_owned())),
            "part" => {
                let Some((kit, amount)) = name.split_once('=') else {
                    return Ok(Self::OnHand {
                        kit: name.to_owned(),
                        count: None,
                        length: None,
                    });
                };
                let (count, length) = match amount.split_once('x') {
                    Some((count, length)) => (
                        count,
                        Some(Exact::parse(length.trim()).map_err(|_| form())?),
                    ),
                    None => (amount, None),
                };
                let count: u32 = count.trim().parse().map_err(|_| form())?;
                if count > MAX_COUNT {
                    return Err(form());
                }
                Ok(Self::OnHand {
                    kit: kit.to_owned(),
                    count: Some(count),
                    length,
                })
            }
            _ => Err(form()),
        }
    }
}

impl Item {
    /// It, in words.
    pub(super) fn words(&self) -> String {
        match self {
            Self::OnHand { kit, .. } => format!("part {kit}"),
            Self::Old { part, .. } => format!("the old {part}"),
            Self::Ordered(kit) => format!("the order of {kit}"),
            Self::Torque(name) => format!("torque {name}"),
            Self::Step(name) => format!("step {name}"),
        }
    }
}
