//! Records and histories that cannot be gone by.

use super::words::{family, quoted};

family! {
    /// Records and histories that cannot be gone by.
    RecordProblem {
        /// Nothing in a file that should hold a record.
        NoRecord = "no-record", Error {
            title: "there is no record in this file",
            label: "",
            help: "`tautmark ask` can write one",
        }
        /// A record of another engine.
        OtherEngine {
            /// What the record names.
            found: String,
            /// What the spec names.
            expected: String,
        } = "other-engine", Error {
            title: format!("this record is of {}, the spec of {}", quoted(found), quoted(expected)),
            label: "another engine",
            help: "use the spec that the record was made with",
        }
        /// Teeth, links or marks of the drive are not what they were when the record was made.
        OtherDrive = "other-drive", Error {
            title: "the drive in the spec is not the one that was looked at",
            label: "its teeth, links or marks were different",
            help: "use the spec as it was then, or look at every mark again",
        }
        /// A text that does not say where a dot stands.
        SeenUnreadable {
            /// As written.
            text: String,
            /// Why not.
            reason: String,
        } = "seen-unreadable", Error {
            title: format!("{} does not say where a dot is", quoted(text)),
            label: "where is it?",
            help: reason.clone(),
        }
        /// Something seen that this drive does not have.
        SeenImpossible {
            /// Why not.
            reason: String,
        } = "seen-impossible", Error {
            title: "this cannot have been seen on this drive",
            label: "not on this drive",
            help: reason.clone(),
        }
        /// Something both seen and not seen.
        SeenAndNotSeen {
            /// Chain and shaft.
            at: String,
        } = "seen-and-not-seen", Error {
            title: format!("{} is given both as seen and as not seen", quoted(at)),
            label: "not seen",
            related: "seen",
            help: "keep the one that is true",
        }
        /// Crank turns that do not belong to the stage.
        StageTurns {
            /// The stage.
            stage: &'static str,
            /// Must the crankshaft have turned?
            must_turn: bool,
        } = "stage-turns", Error {
            title: if *must_turn {
                format!("stage '{stage}' needs the number of crank turns")
            } else {
                format!("stage '{stage}' comes before the engine is turned")
            },
            label: if *must_turn { "turned how far?" } else { "not turned yet" },
            help: if *must_turn {
                "add 'turned: 2', or however many crank turns it was"
            } else {
                "remove 'turned', or call the stage 'turned'"
            },
        }
        /// An entry of a history that is not as it was written.
        HistoryBroken {
            /// Its number, from 1.
            entry: usize,
        } = "history-broken", Error {
            title: format!("entry {entry} of the history is not as it was written"),
            label: "it, or one before it, was changed, moved or removed",
            help: "nothing in this file can be trusted now: use an unchanged copy, or start a new job",
        }
        /// A history from whose end something was cut off.
        HistoryCut = "history-cut", Error {
            title: "the history does not end as it was written",
            label: "the last entry has another checksum",
            help: "entries were cut off or added by hand: use an unchanged copy, or start a new job",
        }
        /// An entry of a history that cannot be read.
        EntryUnreadable {
            /// Why not.
            reason: String,
        } = "entry-unreadable", Error {
            title: format!("this entry cannot be read: {reason}"),
            label: "this entry",
            help: "use an unchanged copy, or start a new job",
        }
    }
}
