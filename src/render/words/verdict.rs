//! Verdicts.

use crate::drive::model::Drive;
use crate::proof::check::Check;
use crate::render::words::stage::{stage_headline, tensioned};
use crate::spec::stage::Stage;
use crate::timing::check::Verdict;
use crate::units::quantity::Turns;

/// `in time`, `out of time` or `not proven`.
pub(crate) fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InTime => "in time",
        Verdict::OutOfTime => "out of time",
        Verdict::NotProven => "not proven",
    }
}

/// The verdict as a headline. Once the engine has been turned, the tensioner has usually been
/// released, and what must not happen next is that somebody starts it.
/// The headline of one look.
pub(crate) fn verdict_headline(drive: &Drive, check: &Check, turned: Turns) -> &'static str {
    let belts = drive.chains().all(|(_, chain)| chain.is_belt());
    match (check.verdict(), check.fits().is_empty(), turned.is_zero()) {
        (Verdict::InTime, false, true) if belts => {
            "IN TIME by the belt. Take one more look (below) before the tensioner is released."
        }
        (Verdict::InTime, false, false) if belts => {
            "IN TIME by the belt. Take one more look (below) before the engine is started."
        }
        (Verdict::InTime, false, true) => {
            "IN TIME by the links. Take one more look (below) before the tensioner is released."
        }
        (Verdict::InTime, false, false) => {
            "IN TIME by the links. Take one more look (below) before the engine is started."
        }
        // Nothing holds the chain back there: what comes next is that everything is tightened.
        (verdict, _, true) if !tensioned(drive) => {
            stage_headline(drive, Stage::Hung, verdict, true)
        }
        (verdict, _, _) => headline(verdict, turned),
    }
}

fn headline(verdict: Verdict, turned: Turns) -> &'static str {
    match (verdict, turned.is_zero()) {
        (Verdict::InTime, true) => "IN TIME. The tensioner may be released.",
        (Verdict::OutOfTime, true) => "OUT OF TIME. Do not release the tensioner.",
        (Verdict::NotProven, true) => "NOT PROVEN. Do not release the tensioner.",
        (Verdict::InTime, false) => {
            "IN TIME. If the tensioner is still held back, it may be released."
        }
        (Verdict::OutOfTime, false) => {
            "OUT OF TIME. Do not start the engine, and do not release the tensioner."
        }
        (Verdict::NotProven, false) => {
            "NOT PROVEN. Do not start the engine, and do not release the tensioner."
        }
    }
}
