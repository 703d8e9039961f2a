//! From where somebody sees the timing end, as it is typed.

use anyhow::{Context as _, Result, bail};
use tautmark::{
    Drive,
    job::View,
    render::wrong_view_text,
    spec::{Rotation, Viewpoint},
};

#[derive(clap::Args)]
pub(crate) struct ViewArgument {
    /// From where you see it, and which way the crankshaft must turn there: every direction is in these words
    ///
    /// 'facing clockwise', 'mirror counter-clockwise', 'photo clockwise'; 'above right' or 'above left' for where
    /// the upper side of the crankshaft's sprocket must go. A way that cannot be is refused: it shows a mirror, or
    /// the other end of the engine.
    #[arg(long, value_name = "WHERE WAY")]
    view: Option<String>,
}

impl ViewArgument {
    /// The view; `None` where none was typed.
    pub(crate) fn view(&self, drive: &Drive) -> Result<Option<View>> {
        let Some(text) = &self.view else {
            return Ok(None);
        };
        let mut words = text.split_whitespace();
        let from = words.next().and_then(Viewpoint::from_word);
        let way: Vec<&str> = words.collect();
        let Some(from) = from else {
            bail!(
                "--view '{text}': expected facing, mirror, photo or above, then which way the crankshaft must turn there, such as 'mirror counter-clockwise'"
            );
        };
        let crank = match (from, &way[..]) {
            (Viewpoint::Above, ["right"] | ["to", "the", "right"]) => Rotation::Clockwise,
            (Viewpoint::Above, ["left"] | ["to", "the", "left"]) => Rotation::CounterClockwise,
            (Viewpoint::Above, _) => bail!(
                "--view '{text}': say too which way the upper side of the crankshaft's sprocket must go, 'above right' or 'above left'"
            ),
            _ => match way[..] {
                [word] => Rotation::from_word(word),
                _ => None,
            }
            .with_context(|| {
                format!(
                    "--view '{text}': say too which way the crankshaft must turn as you see it, such as '{} clockwise'",
                    from.word()
                )
            })?,
        };
        match View::new(drive, from, crank) {
            Ok(view) => Ok(Some(view)),
            Err(_) => bail!("--view '{text}': {}", wrong_view_text(drive, from, crank)),
        }
    }
}
