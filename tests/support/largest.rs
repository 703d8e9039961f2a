//! The largest specs that are accepted, and every command on them. Sixteen shafts with names of 32 letters, each with a sprocket on
//! every chain of 2000 links, all marks of one colour; phasers, dowel holes, valves and cylinders, parts and steps, as many as may be.

#![allow(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    clippy::cast_precision_loss,
    reason = "a test that cannot go on should stop"
)]

use std::fmt::Write as _;

const SHAFTS: usize = 16;
const LINKS: usize = 2000;

fn shaft(n: usize) -> String {
    // As long as a name may be.
    format!("shaft-{n:02}-{}", "x".repeat(32 - 9))
}

fn chain(n: usize) -> String {
    format!("chain-{n}-{}", "x".repeat(32 - 8))
}

/// What makes a spec large.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Large {
    /// Eight chains without geometry, which all look alike turned by any number of marks; and a job.
    Alike,
    /// Eight chains around shafts in a ring, each with 48 shoes.
    Placed,
    /// One chain, for what cannot be asked where several drive a shaft.
    Single,
}

impl Large {
    pub(crate) const ALL: [Self; 3] = [Self::Alike, Self::Placed, Self::Single];

    fn chains(self) -> usize {
        if self == Self::Single { 1 } else { 8 }
    }
}

pub(crate) fn spec(large: Large) -> String {
    let placed = large == Large::Placed;
    let mut out = String::from(
        "tautmark: 1\nengine: Largest\ncrank_turns: clockwise\ntimed_position: cylinder 1 at TDC, compression stroke\nshafts:\n",
    );
    // Half way round at the bottom, where a clock shows six.
    let ring = |part: f64, radius: f64| {
        let clock = std::f64::consts::PI * (1.0 + 2.0 * part);
        format!("[{:.1}, {:.1}]", radius * clock.sin(), radius * clock.cos())
    };
    let part = |n: usize| n as f64 / SHAFTS as f64;
    for n in 0..SHAFTS {
        let kind = match n {
            0 => "crankshaft",
            _ => "camshaft, phaser: { range: 50, parked: retarded }",
        };
        let at = if placed {
            format!(", at: {}", ring(part(n), 2520.0))
        } else {
            String::new()
        };
        writeln!(out, "  {}: {{ kind: {kind}{at} }}", shaft(n)).unwrap();
    }
    out += "chains:\n";
    for c in 0..large.chains() {
        let pitch = if placed { "    pitch: 8\n" } else { "" };
        writeln!(out, "  {}:\n{pitch}    links: {LINKS}\n    path:", chain(c)).unwrap();
        for n in 0..SHAFTS {
            let teeth = if n == 0 { 80 } else { 160 };
            let mut more = String::new();
            if placed {
                let dot = (180.0 + 360.0 * part(n)) % 360.0;
                write!(more, ", dot: {dot}").unwrap();
            }
            if c == 0 && n > 0 {
                let holes: Vec<String> = (0..16)
                    .map(|hole| format!("{}.5", 7 * hole + n + 1))
                    .collect();
                write!(more, ", dowel_holes: [{}]", holes.join(", ")).unwrap();
            }
            writeln!(
                out,
                "      - {{ sprocket: {}, teeth: {teeth}, link: {}, colour: yellow{more} }}",
                shaft(n),
                // Not quite even: then the marks of a chain that was hung some of them further on are wrong, and look right.
                n * LINKS / SHAFTS + if placed { 0 } else { n * n % 7 }
            )
            .unwrap();
            if !placed {
                continue;
            }
            // Three shoes on each strand, which the taut chain does not touch, and one of them a tensioner.
            for shoe in 0..3 {
                let place = ring(
                    part(n) + (f64::from(shoe) + 2.0) / 96.0,
                    2500.0 + f64::from(shoe),
                );
                if n == SHAFTS / 2 && shoe == 1 {
                    writeln!(
                        out,
                        "      - {{ tensioner: {place}, radius: 50, outside: true, pushes: 180, stroke: 400 }}"
                    )
                    .unwrap();
                } else {
                    writeln!(
                        out,
                        "      - {{ guide: {place}, radius: 50, outside: false }}"
                    )
                    .unwrap();
                }
            }
        }
    }
    out += "cylinders:\n  bore: 86\n  stroke: 90\n  rod: 154\n  compression: 10.8\n  deck: -0.3\n  gasket: 0.8\n  firing_order: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16]\nvalves:\n";
    for valve in 0..32 {
        let (kind, opens, closes) = if valve % 2 == 0 {
            ("intake", "16 ATDC", "68 ABDC")
        } else {
            ("exhaust", "36 BBDC", "4 BTDC")
        };
        writeln!(
            out,
            "  valve-{valve:02}-{}: {{ shaft: {}, kind: {kind}, cylinders: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16], opens: {opens}, closes: {closes}, at_lift: 1, lift: 9.8, inclination: 13, recess: 1, relief: 3.6 }}",
            "x".repeat(32 - 9),
            shaft(1 + valve % (SHAFTS - 1))
        )
        .unwrap();
    }
    if large == Large::Alike {
        job(&mut out);
    }
    out
}

/// 200 parts, each of a kind, and 100 steps.
fn job(out: &mut String) {
    let about = "a".repeat(200);
    out.push_str("parts:\n");
    for n in 0..200 {
        writeln!(
            out,
            "  part-{n:03}: {{ about: {about}, quantity: 1, single_use: true }}"
        )
        .unwrap();
    }
    out.push_str("fasteners:\n");
    for n in 0..200 {
        writeln!(
            out,
            "  bolt-{n:03}: {{ component: {about}, count: 12, thread: M8 x 1.25, length: 30, single_use: true, torque: [30 N m, 90 deg, 90 deg] }}"
        )
        .unwrap();
    }
    out.push_str("steps:\n");
    for n in 0..100 {
        let more = match n {
            10 => ", stage: hung",
            11 => ", gate: release",
            50 => ", gate: cover, wait: 60",
            12 => ", stage: released",
            13 => ", stage: turned",
            99 => ", gate: sign-off",
            _ => "",
        };
        writeln!(
            out,
            "  - {{ step: step-{n:02}, about: {about}, parts: [part-{:03}, part-{:03}], fasteners: [bolt-{:03}, bolt-{:03}]{more} }}",
            2 * n,
            2 * n + 1,
            2 * n,
            2 * n + 1
        )
        .unwrap();
    }
}

/// Every command that takes a spec, with as much to do as it can be given: its arguments, and how it ends. `into` is a file that it may
/// write.
pub(crate) fn commands(spec: &str, large: Large, into: &str) -> Vec<(Vec<String>, i32)> {
    let mut all: Vec<(Vec<String>, i32)> = Vec::new();
    let mut add = |words: &str, more: &[String], status: i32| {
        let words = words.split_whitespace().map(|word| match word {
            "SPEC" => spec.to_owned(),
            "INTO" => into.to_owned(),
            "CAM" => shaft(1),
            _ => word.to_owned(),
        });
        all.push((words.chain(more.iter().cloned()).collect(), status));
    };
    let name = |c: usize, n: usize| {
        if large == Large::Single {
            shaft(n)
        } else {
            format!("{}/{}", chain(c), shaft(n))
        }
    };
    let each = |what: &str| -> Vec<String> {
        (0..large.chains())
            .flat_map(|c| (0..SHAFTS).map(move |n| (c, n)))
            .map(|(c, n)| format!("--link={}={what}", name(c, n)))
            .collect()
    };
    let off: Vec<String> = (1..SHAFTS)
        .map(|n| format!("{}={n}.37 crank deg behind", shaft(n)))
        .collect();
    let slips: Vec<String> = (1..SHAFTS).map(|n| format!("{}=+{n}", shaft(n))).collect();
    for format in ["text", "json"] {
        add(&format!("check SPEC --format {format}"), &[], 1);
        for what in ["on", "+1", "link 3"] {
            add(&format!("check SPEC --format {format}"), &each(what), 1);
        }
        for tolerance in ["0", "0.2", "3"] {
            add(
                &format!("explain SPEC --most 1000 --tolerance {tolerance} --format {format}"),
                &off,
                1,
            );
        }
        add(&format!("lint SPEC --format {format}"), &[], 1);
        add(
            &format!("roll SPEC --turned 999999.5 --format {format}"),
            &[],
            0,
        );
        add(
            &format!("roll SPEC --turned 0 --table --format {format}"),
            &[],
            0,
        );
        if large == Large::Single {
            add(&format!("slip SPEC --format {format}"), &slips, 0);
            let sweep = format!("slip SPEC CAM --sweep -20..20 --format {format}");
            add(&sweep, &slips[1..], 0);
        }
        add(
            &format!("wear SPEC --elongation 1/100 --format {format}"),
            &[],
            0,
        );
    }
    // There is nothing to go by, or what there is contradicts itself.
    add("lint SPEC --fit", &[], 2);
    add("draw SPEC", &each("+1"), 0);
    add("draw SPEC --turned 1/3", &[], 0);
    add("draw SPEC --format text --width 200", &each("+1"), 0);
    add("page SPEC --force -o INTO", &[], 0);
    match large {
        Large::Alike => {
            add("paint plan SPEC", &[], 0);
            add("ask SPEC", &[], 1);
            add("job sheet SPEC", &[], 0);
        }
        Large::Placed => {}
        Large::Single => {
            add("paint plan SPEC", &[], 0);
            add("slip SPEC --plot lift", &slips, 0);
            add("slip SPEC --plot circle", &slips, 0);
            add("slip SPEC CAM --sweep -20..20 --plot clearance", &[], 0);
        }
    }
    all
}
