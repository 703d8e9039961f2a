//! From where, for which paper, and for whom a picture is drawn.

use crate::job::View;

/// How a picture is drawn.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Look {
    /// From where the timing end is seen. From above no face of a sprocket is seen: [`super::draw_svg_seen`] draws left
    /// and right as from there, and everything else as facing it.
    pub view: View,
    /// The sheet that it is printed on; `None`: as large as the screen or the page that shows it.
    pub paper: Option<Paper>,
    /// A worksheet: no names, colours, verdict or what is off, and lines to write them on.
    pub blank: bool,
}

impl Default for Look {
    /// Facing the timing end, for no paper in particular, with everything on it.
    fn default() -> Self {
        Self {
            view: View::facing(),
            paper: None,
            blank: false,
        }
    }
}

/// A sheet of paper, upright.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8 1/2 in by 11 in (ANSI/ASME Y14.1, size A): 215.9 mm by 279.4 mm.
    Letter,
}

/// What no printer prints on, at each edge, in mm.
const MARGIN: f64 = 10.0;

impl Paper {
    /// Width and height in mm.
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// The part that can be printed on.
    pub(super) fn printable(self) -> (f64, f64) {
        let (width, height) = self.size();
        (width - 2.0 * MARGIN, height - 2.0 * MARGIN)
    }
}
