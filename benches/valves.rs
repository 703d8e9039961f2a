//! How long does a sweep take, and what would sampling as densely as it is exact cost?
#![allow(
    missing_docs,
    clippy::expect_used,
    clippy::float_arithmetic,
    reason = "a bench has no documentation, and one that cannot go on must fail"
)]

use divan::{Bencher, black_box};
use tautmark::{
    Drive, Observations, Source, check, link_named,
    timing::name_of,
    valves::{PistonAndValve, Slips, safe_moves, sprocket_named, sweep, timing},
};

fn main() {
    divan::main();
}

fn engine(name: &str) -> Drive {
    let path = format!("{}/engines/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let source = Source::new(
        name,
        std::fs::read(path).expect("an engine of this repository"),
    )
    .expect("a text");
    Drive::read(&source).drive.expect("a clean spec")
}

const ENGINES: [&str; 3] = ["kestrel-four", "buzzard-v8", "wren-single"];

/// A sprocket that moves all camshafts of the engine, or those of one bank.
fn sprocket(engine: &str) -> &'static str {
    match engine {
        "buzzard-v8" => "left/crank",
        "wren-single" => "cam",
        _ => "crank",
    }
}

/// -4..4 teeth: events, overlap, compression and clearance of every cylinder.
#[divan::bench(args = ENGINES)]
fn sweep_of_nine_slips(bencher: Bencher<'_, '_>, name: &str) {
    let drive = engine(name);
    let at = sprocket_named(&drive, sprocket(name)).expect("a sprocket");
    bencher.bench(|| sweep(black_box(&drive), &Slips::none(), at, -4..=4));
}

/// The clearances alone of the same nine slips, by samples 0.01 degrees apart, which may still
/// step over a contact.
#[divan::bench(args = ENGINES, sample_count = 10)]
fn dense_sampling_of_nine_slips(bencher: Bencher<'_, '_>, name: &str) {
    let drive = engine(name);
    bencher.bench(|| {
        let drive = black_box(&drive);
        let mut least = f64::INFINITY;
        for valve in 0..drive.valves().len() {
            let Ok(both) = PistonAndValve::of(drive, valve) else {
                continue;
            };
            for teeth in -4_i32..=4 {
                let shift = f64::from(teeth) * 20.0;
                for i in 0..72_000 {
                    least = least.min(both.clearance(f64::from(i) * 0.01, shift));
                }
            }
        }
        least
    });
}

/// The worst for the search: a lobe that rises as the piston goes down, so that for 90 degrees
/// everything is nearly the least.
#[divan::bench]
fn lobe_along_the_piston(bencher: Bencher<'_, '_>) {
    let crank = tautmark::valves::SliderCrank::new(86.0, 143.5).expect("a crank");
    let points: Vec<[f64; 2]> = (0..=60_i32)
        .map(|i| {
            let up = f64::from(if i <= 30 { i } else { 60 - i }) * 3.0;
            [f64::from(i) * 3.0, crank.travel(up)]
        })
        .collect();
    let lobe = tautmark::units::LiftCurve::table(&points).expect("a lobe");
    let both = PistonAndValve::new(crank, lobe, 360.0, 0.0, 1.0);
    bencher.bench(|| black_box(&both).least(0.0));
}

/// Events alone, exact.
#[divan::bench]
fn timing_without_slip(bencher: Bencher<'_, '_>) {
    let drive = engine("buzzard-v8");
    bencher.bench(|| timing(black_box(&drive), &[]));
}

/// An order of moves with every camshaft two teeth behind, looked for with all that it tries.
#[divan::bench(args = ["kestrel-four", "buzzard-v8", "siskin-v6"])]
fn order_of_moves(bencher: Bencher<'_, '_>, name: &str) {
    let drive = engine(name);
    let mut seen = Observations::at_timed_position();
    for (at, sprocket) in drive.engagements() {
        let driver = sprocket.shaft() == drive.crank();
        let what = if driver { "on" } else { "2 behind" };
        let at = link_named(&drive, &name_of(&drive, at)).expect("a link");
        seen.see_link(&drive, at, what.parse().expect("a look"))
            .expect("a mark of this drive");
    }
    let proof = check(&drive, &seen).expect("a proof");
    bencher.bench(|| safe_moves(black_box(&drive), &proof));
}
