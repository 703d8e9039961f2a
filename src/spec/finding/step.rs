//! Parts, fasteners and steps that do not make a job.

use super::words::{did_you_mean, family, quoted};
use crate::units::torque::TorqueError;

family! {
    /// Parts, fasteners and steps that do not make a job.
    StepProblem {
        /// A step that takes what is not there.
        UnknownNeed {
            /// `part` or `fastener`.
            what: &'static str,
            /// As written.
            name: String,
            /// The nearest that is there.
            nearest: Option<String>,
        } = "unknown-need", Error {
            title: format!("no {what} is called {}", quoted(name)),
            label: format!("not under '{what}s:'"),
            help: did_you_mean(nearest.as_deref(), || format!("add it under '{what}s:'")),
        }
        /// A part or fastener that two steps take.
        NeededTwice {
            /// `part` or `fastener`.
            what: &'static str,
            /// As written.
            name: String,
        } = "needed-twice", Error {
            title: format!("{what} {} is used by two steps", quoted(name)),
            label: "again here",
            related: "first here",
            help: format!("keep it in the step where it is fitted, or give the other step's {what} a name of its own"),
        }
        /// A part or fastener that no step takes.
        InNoStep {
            /// `part` or `fastener`.
            what: &'static str,
            /// As written.
            name: String,
        } = "in-no-step", Warning {
            title: format!("no step uses the {what} {}", quoted(name)),
            label: "when is it needed?",
            help: format!("add it to '{what}s:' of the step that uses it"),
        }
        /// A first step that has to come soon after one before it.
        WithinNothing {
            /// As written.
            name: String,
        } = "within-nothing", Error {
            title: format!("step {} has 'within', and no step comes before it", quoted(name)),
            label: "this is the first step",
            help: "'within' counts from the step before: give it to a later one, or leave it out",
        }
        /// Two steps of one name.
        StepTwice {
            /// As written.
            name: String,
        } = "step-twice", Error {
            title: format!("two steps are called {}", quoted(name)),
            label: "again here",
            related: "first here",
            help: "give each step a name of its own",
        }
        /// A mark check or a gate that two steps are.
        StepRepeats {
            /// Key and word.
            what: String,
        } = "step-repeats", Error {
            title: format!("two steps have '{what}'"),
            label: "again here",
            related: "first here",
            help: "keep it on the step that ends with it",
        }
        /// A mark check or a gate that no step is.
        StepMissing {
            /// Key and word.
            what: String,
        } = "step-missing", Error {
            title: format!("no step has '{what}'"),
            label: "one of these must have it",
            help: "a job proves the marks at all three stages and has all three gates; add it to a step, or leave out 'steps:' altogether",
        }
        /// Mark checks and gates in an order that proves nothing.
        StepOrder {
            /// What must come first.
            first: String,
            /// What must come after it.
            second: String,
        } = "step-order", Error {
            title: format!("'{second}' must come in a step after '{first}'"),
            label: "too early here",
            related: "must come before it",
            help: "the order is hung, release, released, turned, cover, sign-off, each in a step of its own",
        }
        /// A step after the sign-off.
        AfterSignOff = "after-sign-off", Error {
            title: "a step after the sign-off",
            label: "comes after it",
            related: "the sign-off",
            help: "make the sign-off the last step",
        }
        /// A text that is no stage of tightening.
        TorqueUnreadable {
            /// As written.
            text: String,
            /// Why not.
            reason: TorqueError,
        } = "torque-unreadable", Error {
            title: format!("{} is not a tightening stage", quoted(text)),
            label: reason.to_string(),
            help: "write each stage as '30 N m', '22 lbf ft', '90 lbf in' or '90 deg'",
        }
        /// Tightening that begins with an angle.
        AngleFirst = "angle-first", Warning {
            title: "tightening starts with an angle",
            label: "an angle from where?",
            help: "an angle counts from the torque before it; give that torque first",
        }
    }
}
