//! Shafts that do not make a drive.

use super::words::{did_you_mean, family, quoted};
use crate::units::quantity::Exact;

family! {
    /// Shafts that do not make a drive.
    DriveProblem {
        /// A name that refers to nothing.
        UnknownShaft {
            /// As written.
            name: String,
            /// The nearest shaft.
            nearest: Option<String>,
        } = "unknown-shaft", Error {
            title: format!("no shaft is called {}", quoted(name)),
            label: "not under 'shafts:'",
            help: did_you_mean(nearest.as_deref(), || "add it under 'shafts:'".into()),
        }
        /// No shaft is the crankshaft.
        NoCrankshaft = "no-crankshaft", Error {
            title: "no shaft is the crankshaft",
            label: "one of these must be",
            help: "give one shaft 'kind: crankshaft'",
        }
        /// Two shafts are the crankshaft.
        SecondCrankshaft {
            /// The second.
            name: String,
        } = "second-crankshaft", Error {
            title: format!("{} is a second crankshaft", quoted(name)),
            label: "also a crankshaft",
            related: "the first one",
            help: "a drive has exactly one; give the other its own kind",
        }
        /// More camshafts under `shafts` than the engine has.
        CamshaftsMiscounted {
            /// Under `shafts`.
            named: usize,
            /// As it says the engine has.
            engine: usize,
        } = "camshafts-miscounted", Error {
            title: format!("{named} shafts are camshafts, but the engine has {engine}"),
            label: "counted here",
            help: "count the camshafts of all banks again, and give what is no camshaft its own kind (idler, pump, balance)",
        }
        /// Fewer camshafts under `shafts` than the engine has.
        CamshaftsNotNamed {
            /// Under `shafts`.
            named: usize,
            /// As it says the engine has.
            engine: usize,
        } = "camshafts-not-named", Warning {
            title: format!("the engine has {engine} camshafts, and {named} are under 'shafts:'"),
            label: "counted here",
            help: "add those that are left out, with their marks: nothing that is seen proves this engine in time without them",
        }
        /// A phaser on something else than a camshaft.
        PhaserNotOnCamshaft {
            /// The shaft.
            shaft: String,
        } = "phaser-not-on-camshaft", Error {
            title: format!("{} has a phaser but is not a camshaft", quoted(shaft)),
            label: "this phaser",
            related: "not a camshaft",
            help: "a phaser sits between a sprocket and a camshaft; move it there, or make this shaft a camshaft",
        }
        /// A shaft that no chain joins to the crankshaft.
        ShaftNotDriven {
            /// The shaft.
            shaft: String,
        } = "shaft-not-driven", Error {
            title: format!("nothing connects {} to the crankshaft", quoted(shaft)),
            label: "not driven",
            help: "put its sprocket on a path that the crankshaft drives, or leave the shaft out",
        }
        /// Two ways from the crankshaft to one shaft that give it two speeds.
        RatioOpen {
            /// The shaft.
            shaft: String,
            /// One chain that drives it, and the speed so.
            first: (String, Exact),
            /// The other.
            second: (String, Exact),
        } = "ratio-does-not-close", Error {
            title: format!(
                "{} would turn at two speeds: {} by {}, {} by {}",
                quoted(shaft), first.1, quoted(&first.0), second.1, quoted(&second.0)
            ),
            label: format!("{} turns per crank turn this way", second.1),
            related: "the other way",
            help: "tooth counts around a closed loop must multiply to 1; recount the teeth, or check whether a sprocket is on the outside",
        }
        /// A camshaft that does not turn at half crank speed.
        CamshaftSpeed {
            /// The shaft.
            shaft: String,
            /// Its turns per crank turn.
            ratio: Exact,
            /// The tooth count on its sprocket that would make it right, if there is one.
            teeth: Option<u16>,
        } = "camshaft-not-half-speed", Error {
            title: format!(
                "camshaft {} makes {} turns per crank turn, not 1/2",
                quoted(shaft),
                ratio.abs()
            ),
            label: match teeth {
                None => "no tooth count here makes it half speed".into(),
                Some(teeth) => format!("{teeth} teeth would make it half speed"),
            },
            related: "this camshaft",
            help: match teeth {
                None => "a four-stroke camshaft turns at exactly half crank speed; recount the teeth of every sprocket on the way to it".into(),
                Some(teeth) => format!("a four-stroke camshaft turns at exactly half crank speed; recount: 'teeth: {teeth}' here would do, or another sprocket on the way is wrong"),
            },
        }
        /// Several camshafts that do not turn at half crank speed, all because of one sprocket.
        CamshaftsSpeed {
            /// The camshafts.
            shafts: Vec<String>,
            /// Turns per crank turn of the first of them.
            ratio: Exact,
            /// Each sprocket with the tooth count that would make all of them right: shaft, chain, teeth.
            instead: Vec<(String, String, u16)>,
        } = "camshafts-not-half-speed", Error {
            title: format!(
                "{} make {} turns per crank turn, not 1/2, for one common reason",
                all_of(shafts), ratio.abs()
            ),
            label: match instead.first() {
                Some((shaft, _, teeth)) => format!("{teeth} teeth of {} here would make all of them right", quoted(shaft)),
                None => "common to all of them".into(),
            },
            help: format!(
                "a four-stroke camshaft turns at exactly half crank speed; recount the sprockets common to them: {} would do",
                instead
                    .iter()
                    .map(|(shaft, chain, teeth)| format!("'teeth: {teeth}' for {} on {}", quoted(shaft), quoted(chain)))
                    .collect::<Vec<_>>()
                    .join(", or ")
            ),
        }
        /// Tooth counts whose exact fractions would not fit.
        TooIntricate = "too-intricate", Error {
            title: "these tooth counts give fractions too fine to hold exactly",
            label: "among these shafts",
            help: "every shaft must turn at 1/100 to 100 times crank speed, in fractions under a million; recount the teeth",
        }
    }
}

fn all_of(names: &[String]) -> String {
    match names {
        [one, other] => format!("{} and {}", quoted(one), quoted(other)),
        [first, others @ ..] => format!("{} and {} other camshafts", quoted(first), others.len()),
        [] => String::new(),
    }
}
