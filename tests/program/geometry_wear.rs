//! Worn chains: against published numbers, there and back through the tensioner, and along several chains.
#![allow(
    clippy::float_arithmetic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use crate::support::engines;
use std::process::Command;
use tautmark::{
    Drive, Source,
    drive::{Chain, ChainId, Part},
    plane::{Elongation, Layout, Wear, WearError, WearLimit, WearVerdict, wear},
    units::Exact,
};

/// Name and model of every engine that has its geometry.
fn laid_out() -> Vec<(String, Drive)> {
    engines()
        .into_iter()
        .map(|(name, text)| (name, drive(&text)))
        .filter(|(_, drive)| drive.chains().all(|(id, _)| Layout::new(drive, id).is_ok()))
        // A belt does not wear at pins.
        .filter(|(_, drive)| !drive.chains().any(|(_, chain)| chain.is_belt()))
        .collect()
}

fn drive(text: &str) -> Drive {
    Drive::read(&Source::new("spec", text.into()).unwrap())
        .drive
        .unwrap()
}

fn engine(name: &str) -> Drive {
    drive(&std::fs::read_to_string(format!("engines/{name}.yaml")).unwrap())
}

fn exact(text: &str) -> Exact {
    Exact::parse(text).unwrap()
}

/// Every chain worn alike.
fn all_worn(drive: &Drive, elongation: &str) -> Wear {
    let elongation = Elongation::given(exact(elongation)).unwrap();
    let chains: Vec<(ChainId, Elongation)> =
        drive.chains().map(|(id, _)| (id, elongation)).collect();
    wear(drive, &chains)
}

fn retard(drive: &Drive, wear: &Wear, shaft: &str) -> f64 {
    let id = drive.shaft_named(shaft).unwrap();
    let of = wear.shafts.iter().find(|of| of.shaft == id).unwrap();
    of.retard.unwrap()
}

/// A crankshaft of 18 teeth and a camshaft of `teeth`, 220 mm apart.
fn two(teeth: u16, limit: &str) -> Drive {
    let crank = teeth / 2;
    drive(&format!(
        "
tautmark: 1
engine: Two sprockets
crank_turns: clockwise
shafts:
  crank: {{ kind: crankshaft, at: [0, 0] }}
  cam: {{ kind: camshaft, at: [0, {}] }}
chains:
  main:
    pitch: 8
    links: {}
{limit}
    path:
      - {{ sprocket: crank, teeth: {crank}, dot: 180, link: 0 }}
      - {{ sprocket: cam, teeth: {teeth}, dot: 0, link: {} }}
",
        u32::from(teeth) * 6,
        u32::from(teeth) * 4,
        u32::from(teeth) * 2,
    ))
}

#[test]
fn the_worked_example_of_one_per_cent() {
    // CHECKS: tight span 218.8091197 mm on 18/36 teeth of 8 mm, 1 %: 5.463288 crank degrees by lengthening over the pitch
    // radius. By links it is eps * span / p teeth, 5.470228: a tooth is a chord and not an arc, hence 0.13 %.
    let drive = drive(
        "
tautmark: 1
engine: Two sprockets
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 0] }
  cam: { kind: camshaft, at: [0, 220] }
chains:
  main:
    pitch: 8
    links: 82
    path:
      - { sprocket: crank, teeth: 18, dot: 180, link: 0 }
      - { sprocket: cam, teeth: 36, dot: 0, link: 41 }
",
    );
    let found = retard(&drive, &all_worn(&drive, "1/100"), "cam");
    assert!((found - 5.470_228).abs() < 1e-5, "{found}");
    assert!((found / 5.463_288 - 1.0).abs() < 0.002, "{found}");
}

#[test]
fn reaching_the_limit_is_beyond_it_exactly() {
    let kestrel = engine("kestrel-four");
    for (elongation, verdict) in [
        ("0", WearVerdict::Within),
        ("999999/100000000", WearVerdict::Within),
        ("1/100", WearVerdict::Beyond),
        ("1/10", WearVerdict::Beyond),
    ] {
        assert_eq!(
            all_worn(&kestrel, elongation).verdict(),
            verdict,
            "{elongation}"
        );
    }
}

#[test]
fn a_tensioner_out_of_its_stroke_is_beyond_the_limit() {
    let text = std::fs::read_to_string("engines/kestrel-four.yaml").unwrap();
    let short = drive(&text.replace("stroke: 25", "stroke: 15"));
    let worn = all_worn(&short, "9/1000");
    assert_eq!(worn.verdict(), WearVerdict::Beyond);
    assert!(!worn.chains[0].tensioner.unwrap().within_stroke());
    assert_eq!(
        all_worn(&engine("kestrel-four"), "9/1000").verdict(),
        WearVerdict::Within
    );
}

#[test]
fn without_a_limit_the_published_ones_are_estimates() {
    // CHECKS, chain makers' published guidance citing ANSI B29.1: min(3, 200/N) %, about 1.5 % for smooth running.
    for (teeth, general) in [
        (66, 3.0),
        (68, 2.9412),
        (80, 2.5),
        (100, 2.0),
        (114, 1.7544),
    ] {
        let drive = two(teeth, "");
        let worn = all_worn(&drive, "0");
        let WearLimit::Published {
            smooth,
            general: found,
            teeth: largest,
        } = worn.chains[0].limit
        else {
            panic!("{:?}", worn.chains[0].limit);
        };
        assert_eq!((smooth, largest), (exact("15/1000"), teeth));
        assert!((found.to_f64() * 100.0 - general).abs() < 5e-5, "{teeth}");
        assert_eq!(all_worn(&drive, "14/1000").verdict(), WearVerdict::Within);
        assert_eq!(
            all_worn(&drive, "15/1000").verdict(),
            WearVerdict::NotProven
        );
        assert_eq!(all_worn(&drive, "3/100").verdict(), WearVerdict::Beyond);
    }
    // A sprocket so large that 200/N is the least of all.
    let worn = all_worn(&two(160, ""), "0");
    let limit = exact("1/80");
    assert_eq!(
        worn.chains[0].limit,
        WearLimit::Published {
            smooth: limit,
            general: limit,
            teeth: 160
        }
    );
    // The spec's own rules.
    let own = two(80, "    elongation_limit: 2/100");
    assert_eq!(all_worn(&own, "19/1000").verdict(), WearVerdict::Within);
    assert_eq!(all_worn(&own, "2/100").verdict(), WearVerdict::Beyond);
}

fn has_tensioner(chain: &Chain) -> bool {
    let mut parts = chain.path().iter();
    parts.any(|part| matches!(part, Part::Tensioner { .. }))
}

#[test]
fn the_tensioner_tells_the_elongation_that_moved_it() {
    let (mut chains, mut tensioners) = (0, 0);
    for (name, drive) in laid_out() {
        for (id, chain) in drive.chains() {
            tensioners += usize::from(has_tensioner(chain));
            for percent in [2, 5, 10] {
                let elongation = Exact::fraction(percent, 1000).unwrap();
                let worn = Layout::worn(&drive, id, elongation).unwrap();
                let Some(fit) = worn.fit() else { continue };
                let mm = exact(&format!("{:.6}", fit.travel));
                let found = Elongation::from_extension(&drive, id, mm).unwrap().to_f64();
                assert!(
                    (found - elongation.to_f64()).abs() < 1e-7,
                    "{name} {}",
                    chain.name()
                );
                chains += 1;
            }
        }
    }
    assert!(tensioners >= 10, "{tensioners}");
    assert_eq!(chains, 3 * tensioners);
}

#[test]
fn chains_in_a_row_add_up() {
    let heron = engine("heron-v6");
    let on = |names: &[&str]| {
        let chains: Vec<(ChainId, Elongation)> = names
            .iter()
            .map(|name| {
                let id = heron.chain_named(name).unwrap();
                (id, Elongation::given(exact("1/200")).unwrap())
            })
            .collect();
        retard(&heron, &wear(&heron, &chains), "left-exhaust")
    };
    let (primary, left, both) = (on(&["primary"]), on(&["left"]), on(&["primary", "left"]));
    // Free tight links 47.852 at 15 crank degrees each, then 34.459 at 22.5: the 24-tooth crank sprocket moves 24 links a
    // turn, the 20-tooth sprocket on an idler of 4/5 speed 16.
    assert!((primary - 47.852 * 15.0 / 200.0).abs() < 1e-3, "{primary}");
    assert!((left - 34.459 * 22.5 / 200.0).abs() < 1e-3, "{left}");
    assert!((both - primary - left).abs() < 1e-9, "{both}");
    assert_eq!(on(&["right"]), 0.0);
}

#[test]
fn by_the_worn_path_the_same_but_for_the_second_order() {
    for (name, drive) in laid_out() {
        let worn = all_worn(&drive, "1/100");
        for shaft in &worn.shafts {
            let (first, path) = (shaft.retard.unwrap(), shaft.retard_by_path.unwrap());
            assert!(
                first > 0.0 && (path / first - 1.0).abs() < 0.02,
                "{name}: {first} {path}"
            );
        }
        for shaft in &all_worn(&drive, "0").shafts {
            assert!(shaft.retard_by_path.unwrap().abs() < 1e-9, "{name}");
        }
    }
}

#[test]
fn polygon_action_is_small_and_not_nothing() {
    for (name, drive) in laid_out() {
        let worn = all_worn(&drive, "0");
        for shaft in &worn.shafts {
            let ripple = shaft.ripple.unwrap();
            // More than half a crank degree would be a chain of very few teeth.
            assert!(ripple > 1e-3 && ripple < 0.5, "{name}: {ripple}");
        }
    }
}

#[test]
fn polygon_action_of_chains_in_a_row_is_in_crank_degrees() {
    // 0.0137 crank degrees on the primary chain; 0.0388 degrees of an idler at 4/5 of crank speed on the other.
    let heron = engine("heron-v6");
    let worn = all_worn(&heron, "0");
    let ripple = worn.shafts[0].ripple.unwrap();
    assert!((ripple - 0.0137 - 0.0388 / 0.8).abs() < 2e-4, "{ripple}");
}

#[test]
fn what_was_measured_wrong_is_refused() {
    let kestrel = engine("kestrel-four");
    let main = kestrel.chain_named("main").unwrap();
    let measured = |mm: &str, over| Elongation::measured(&kestrel, main, exact(mm), over);
    assert_eq!(measured("404", 50), Ok(Elongation::Exact(exact("1/100"))));
    assert_eq!(measured("400", 50), Ok(Elongation::Exact(Exact::ZERO)));
    assert!(matches!(
        measured("399", 50),
        Err(WearError::Shorter { .. })
    ));
    assert_eq!(measured("500", 50), Err(WearError::OutOfRange));
    assert_eq!(measured("404", 0), Err(WearError::Over { links: 118 }));
    assert_eq!(measured("404", 119), Err(WearError::Over { links: 118 }));
    let out = |mm: &str| Elongation::from_extension(&kestrel, main, exact(mm));
    assert!(matches!(out("5.6"), Err(WearError::LessThanNew { .. })));
    assert!(matches!(out("25.1"), Err(WearError::NotInStroke { .. })));
    let dunnock = engine("dunnock-facing");
    let main = dunnock.chain_named("main").unwrap();
    assert!(matches!(
        Elongation::from_extension(&dunnock, main, exact("1")),
        Err(WearError::NoTensioner { .. })
    ));
    for wrong in ["-1/1000", "11/100"] {
        assert_eq!(Elongation::given(exact(wrong)), Err(WearError::OutOfRange));
    }
}

#[test]
fn without_geometry_the_limit_still_speaks() {
    let text = std::fs::read_to_string("engines/kestrel-four.yaml").unwrap();
    let bare = drive(&text.replace("    pitch: 8\n", ""));
    let worn = all_worn(&bare, "1/50");
    assert_eq!(worn.verdict(), WearVerdict::Beyond);
    assert!(worn.chains[0].unknown.is_some());
    assert!(worn.shafts.iter().all(|shaft| shaft.retard.is_none()));
}

#[test]
fn the_command_says_it_by_its_exit_status_too() {
    let run = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_tautmark"))
            .arg("wear")
            .args(arguments)
            .output()
            .unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (
            output.status.code().unwrap(),
            text(output.stdout),
            text(output.stderr),
        )
    };
    let kestrel = "engines/kestrel-four.yaml";
    let heron = "engines/heron-v6.yaml";
    for (arguments, status, says) in [
        (
            &[kestrel, "--elongation", "1/200"][..],
            0,
            "within its limit",
        ),
        (&[kestrel, "--elongation", "1/100"], 1, "BEYOND ITS LIMIT"),
        (&[kestrel, "--length", "402", "--over", "50"], 0, "0.5 %"),
        (&[kestrel, "--extension", "12"], 0, "from the tensioner"),
        (
            &[heron, "--extension", "5", "--chain", "left"],
            0,
            "Chain left",
        ),
        (&[heron, "--elongation", "0.009"], 0, "Chain primary"),
        (
            &[heron, "--extension", "5"],
            2,
            "one of primary, left, right",
        ),
        (
            &[heron, "--elongation", "0", "--chain", "middle"],
            2,
            "no such chain",
        ),
        (&[kestrel], 2, "--elongation"),
        (&[kestrel, "--length", "402"], 2, "--over"),
        (&[kestrel, "--elongation", "1e-2"], 2, "expected a number"),
        (&[kestrel, "--elongation", "-1/100"], 2, "required range"),
    ] {
        let (code, out, err) = run(arguments);
        assert_eq!(code, status, "{arguments:?}: {out}{err}");
        let place = if status == 2 { &err } else { &out };
        assert!(place.contains(says), "{arguments:?}: {out}{err}");
        assert_eq!(out.contains("The maker's service information"), status != 2);
    }
    let (code, out, _) = run(&[kestrel, "--elongation", "1/200", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(code, 0);
    assert_eq!(json["verdict"], "within limit");
    assert_eq!(json["chains"][0]["elongation"], "1/200");
    assert_eq!(json["shafts"][0]["shaft"], "exhaust");
    // 51.346 free links, 0.5 %, 20 crank degrees a tooth.
    let late = json["shafts"][0]["retard_crank_degrees"].as_f64().unwrap();
    assert!((late - 5.1346).abs() < 1e-3, "{late}");
}
