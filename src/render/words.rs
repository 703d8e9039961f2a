//! Words that texts, JSON and pictures share.

pub(crate) mod escape;
