//! Words and numbers that texts, JSON and pictures share.

pub(crate) mod band;
pub(crate) mod camshafts;
pub(crate) mod cautions;
pub(crate) mod doubt;
pub(crate) mod elsewhere;
pub(crate) mod escape;
pub(crate) mod fitting;
pub(crate) mod lesson;
pub(crate) mod lookalike;
pub(crate) mod marks;
pub(crate) mod moves;
pub(crate) mod next;
pub(crate) mod numbers;
pub(crate) mod place;
pub(crate) mod remedy;
pub(crate) mod said;
pub(crate) mod slip;
pub(crate) mod stage;
pub(crate) mod style;
pub(crate) mod torque;
pub(crate) mod turns;
pub(crate) mod verdict;
pub(crate) mod view;
