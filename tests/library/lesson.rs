//! Exercises: the same everywhere, answered by the smallest explanation, graded with reasons.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on must fail"
)]

use crate::support::{drive as read, engines};
use tautmark::Drive;
use tautmark::lesson::{Claim, Exercise, Level, Outcome, Seed, Why, exercise};
use tautmark::plane::FromPaths;
use tautmark::timing::{Cause, Fault, explain};

fn seed(number: u32) -> Seed {
    Seed::new(number).unwrap()
}

/// What somebody would say who means `faults`.
fn said(drive: &Drive, faults: &[Fault]) -> Vec<Claim> {
    faults
        .iter()
        .map(|fault| {
            let text = match fault {
                Fault::Slip { at, teeth } => {
                    let name = tautmark::timing::name_of(drive, *at);
                    let name = if name.contains('/') {
                        name
                    } else {
                        format!("{}/{name}", drive.chain(at.chain).name())
                    };
                    format!("{name}={}", signed(&teeth.get().to_string()))
                }
                Fault::Phaser { shaft, angle } => format!(
                    "phaser {}={} crank deg {}",
                    drive.shaft(*shaft).name(),
                    tenths(angle.get().to_f64().abs()),
                    side(angle.get().signum())
                ),
                Fault::Dowel { shaft, angle } => format!(
                    "dowel {}={} crank deg {}",
                    drive.shaft(*shaft).name(),
                    tenths(angle.get().to_f64().abs()),
                    side(angle.get().signum())
                ),
                Fault::CrankTurn => "crank turn".to_owned(),
                Fault::Elongation { .. } => "wear".to_owned(),
                _ => panic!("a fault that nobody could name: {fault:?}"),
            };
            Claim::read(drive, &text)
                .unwrap_or_else(|error| panic!("{text}: {error}"))
                .unwrap()
        })
        .collect()
}

fn signed(number: &str) -> String {
    if number.starts_with('-') {
        number.to_owned()
    } else {
        format!("+{number}")
    }
}

/// As somebody would say it: the instrument tells no more than a degree.
fn tenths(degrees: f64) -> String {
    format!("{degrees:.1}")
}

fn side(sign: i32) -> &'static str {
    if sign < 0 { "behind" } else { "ahead" }
}

fn named(cause: &Cause) -> Vec<String> {
    let mut all: Vec<String> = cause
        .faults
        .iter()
        .map(|fault| format!("{fault:?}"))
        .collect();
    all.sort();
    all
}

/// The stated answer is the one smallest cause, or all that are as small are accepted; nothing smaller explains it.
fn assert_sound(drive: &Drive, one: &Exercise) {
    let explained = explain(drive, one.measured(), &FromPaths::new(drive), 1000).unwrap();
    assert!(
        !explained.more && !explained.cut_short,
        "{:?} of {}",
        one.seed(),
        drive.engine()
    );
    let mut searched: Vec<_> = explained.causes.iter().map(named).collect();
    let mut accepted: Vec<_> = one.causes().iter().map(named).collect();
    searched.sort();
    accepted.sort();
    assert_eq!(searched, accepted);
    for cause in one.causes() {
        let grade = one.grade(drive, &said(drive, &cause.faults)).unwrap();
        assert_eq!(grade.outcome, Outcome::Right, "{:?} {cause:?}", one.seed());
        assert!(grade.why.is_empty());
        assert_eq!(cause.faults.len(), one.hidden().len());
    }
    let hidden = one.grade(drive, &said(drive, one.hidden())).unwrap();
    assert_eq!(
        hidden.outcome,
        Outcome::Right,
        "{:?} {:?}",
        one.seed(),
        one.hidden()
    );
    // Whatever else is said of one sprocket is not right.
    for (at, sprocket) in drive.engagements() {
        for teeth in [-3, -2, -1, 1, 2, 3] {
            let name = format!(
                "{}/{}={}",
                drive.chain(at.chain).name(),
                drive.shaft(sprocket.shaft()).name(),
                signed(&teeth.to_string())
            );
            let claim = Claim::read(drive, &name).unwrap().unwrap();
            // On a chain of two sprockets, one behind is the other ahead.
            let two: Vec<_> = drive
                .chain(at.chain)
                .engagements(at.chain)
                .map(|(of, _)| of)
                .collect();
            let other = (two.len() == 2).then(|| two.iter().copied().find(|of| *of != at).unwrap());
            let is = |fault: &Fault| match fault {
                Fault::Slip { at: of, teeth: by } => {
                    let by = by.get().to_string();
                    (*of == at && by == teeth.to_string())
                        || (Some(*of) == other && by == (-teeth).to_string())
                }
                _ => false,
            };
            let right = one
                .causes()
                .iter()
                .any(|cause| matches!(&cause.faults[..], [fault] if is(fault)));
            let grade = one.grade(drive, &[claim]).unwrap();
            assert_eq!(
                grade.outcome == Outcome::Right,
                right,
                "{name} for {:?}",
                one.hidden()
            );
            assert_eq!(grade.why.is_empty(), right, "{name}");
        }
    }
    let nothing = one.grade(drive, &[]).unwrap();
    assert_eq!(nothing.outcome == Outcome::Right, one.hidden().is_empty());
}

#[test]
fn a_thousand_seeds_have_their_smallest_cause_for_an_answer() {
    let drives: Vec<Drive> = engines().iter().map(|(_, text)| read(text)).collect();
    let mut kinds = [0; 5];
    for number in 0..1000 {
        let drive = &drives[number as usize % drives.len()];
        let level = Level::ALL[(number as usize / drives.len()) % 3];
        let one = exercise(drive, seed(number), level).unwrap();
        assert_sound(drive, &one);
        for fault in one.hidden() {
            kinds[match fault {
                Fault::Slip { .. } => 1,
                Fault::Phaser { .. } => 2,
                Fault::CrankTurn => 3,
                _ => 4,
            }] += 1;
        }
        kinds[0] += usize::from(one.hidden().is_empty());
        if level == Level::Easy {
            assert!(one.hidden().len() <= 1);
        }
    }
    // Every kind comes up, and no kind but slips is most of it.
    assert!(kinds.iter().all(|count| *count >= 10), "{kinds:?}");
    assert!(kinds[0] < 350, "{kinds:?}");
}

fn kestrel() -> Drive {
    read(include_str!("../../engines/kestrel-four.yaml"))
}

/// The first exercise of a level of which that is so.
fn first(drive: &Drive, level: Level, so: impl Fn(&Exercise) -> bool) -> Exercise {
    (0..500)
        .map(|number| exercise(drive, seed(number), level).unwrap())
        .find(so)
        .unwrap()
}

#[test]
fn a_wrong_answer_is_told_why() {
    let drive = kestrel();
    let intake = |teeth: &str| {
        Claim::read(&drive, &format!("intake={teeth}"))
            .unwrap()
            .unwrap()
    };
    let behind = first(&drive, Level::Easy, |one| {
        matches!(one.hidden(), [Fault::Slip { at, teeth }]
            if drive.shaft(drive.sprocket(*at).shaft()).name() == "intake" && teeth.get().to_string() == "-1")
    });
    // One tooth of 36 at a camshaft is 20 crank degrees: 720 / 36.
    let camshaft = behind
        .sights()
        .iter()
        .find(|sight| drive.shaft(sight.shaft).name() == "intake")
        .unwrap();
    assert_eq!(camshaft.angle.unwrap().to_string(), "-20");
    assert_eq!(camshaft.dot.unwrap().get().to_string(), "-1");
    let grade = |claims: &[Claim]| behind.grade(&drive, claims).unwrap();
    let other_way = grade(&[intake("1 ahead")]);
    assert_eq!(other_way.outcome, Outcome::Wrong);
    assert!(
        matches!(other_way.why[..], [Why::OtherWay(_), Why::Shows { .. }]),
        "{other_way:?}"
    );
    let more = grade(&[intake("2 behind")]);
    assert!(
        matches!(more.why[..], [Why::OtherCount(_), Why::Shows { .. }]),
        "{more:?}"
    );
    let nothing = grade(&[]);
    assert!(
        matches!(nothing.why[..], [Why::Shows { .. }]),
        "{nothing:?}"
    );
    // The same by two faults: the crankshaft's sprocket a tooth ahead, and the exhaust's with it.
    let both = ["crank=1 ahead", "exhaust=1 ahead"]
        .map(|text| Claim::read(&drive, text).unwrap().unwrap());
    let too_many = grade(&both);
    assert_eq!(too_many.outcome, Outcome::TooMany);
    assert_eq!(
        too_many.why,
        [Why::FewerDo {
            named: 2,
            needed: 1
        }]
    );
    // One sprocket twice adds up to nothing.
    let twice = grade(&[intake("1 behind"), intake("1 behind")]);
    assert_eq!(twice.why, [Why::CannotBe]);
    // Right, and something more.
    assert_ne!(
        grade(&[intake("1 behind"), Claim::Wear]).outcome,
        Outcome::Right
    );
}

#[test]
fn what_names_no_fault_is_refused() {
    let drive = kestrel();
    for bad in [
        "",
        "intake",
        "intake=",
        "intake=1",
        "intake=0 behind",
        "intake=1/2 behind",
        "intake=500 behind",
        "intake=20 crank deg behind",
        "inlet=1 behind",
        "phaser intake=1 behind",
        "phaser crank=10 crank deg ahead",
        "phaser intake=500 crank deg ahead",
        "turn",
        "phaser intake=0 crank deg ahead",
        "wear wear",
        "intake=link 3",
    ] {
        let error = Claim::read(&drive, bad).unwrap_err().to_string();
        assert!(!error.is_empty() && !error.contains('\n'), "{bad}");
    }
    assert_eq!(Claim::read(&drive, "nothing"), Ok(None));
    assert_eq!(
        Claim::read(&drive, " crank  turn "),
        Ok(Some(Claim::CrankTurn))
    );
}
