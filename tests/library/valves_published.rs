//! Published values and definitions; the source stands beside each.
#![allow(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

use tautmark::{
    Drive, Source,
    units::{CrankDegrees, Exact},
    valves::{SliderCrank, Slip, Slips, Timing, slip, sprocket_named, timing},
};

/// A drive with both camshafts on 2:1 sprockets and the stated events.
fn engine(teeth: u16, events: [&str; 4]) -> Drive {
    let [io, ic, eo, ec] = events;
    let crank = teeth / 2;
    let text = format!(
        "
tautmark: 1
engine: Dipper twin-cam
crank_turns: clockwise
shafts: {{ crank: {{ kind: crankshaft }}, exhaust: {{ kind: camshaft }}, intake: {{ kind: camshaft }} }}
chains:
  main:
    links: 150
    path:
      - {{ sprocket: crank, teeth: {crank}, link: 0 }}
      - {{ sprocket: exhaust, teeth: {teeth}, link: 44 }}
      - {{ sprocket: intake, teeth: {teeth}, link: 62 }}
valves:
  intake: {{ shaft: intake, kind: intake, opens: {io}, closes: {ic}, at_lift: 1 }}
  exhaust: {{ shaft: exhaust, kind: exhaust, opens: {eo}, closes: {ec}, at_lift: 1 }}
"
    );
    let reading = Drive::read(&Source::new("dipper", text.into()).unwrap());
    assert_eq!(reading.findings, []);
    reading.drive.unwrap()
}

fn slipped(drive: &Drive, slips: &[(&str, &str)]) -> Timing {
    let mut all = Slips::none();
    for (name, what) in slips {
        let what: Slip = what.parse().unwrap();
        all.slip(drive, sprocket_named(drive, name).unwrap(), what)
            .unwrap();
    }
    slip(drive, &all).unwrap().after
}

/// Intake opens, closes, exhaust opens, closes; durations; overlap; centrelines; separation.
fn figures(drive: &Drive, timing: &Timing) -> Vec<String> {
    let (i, e) = (&timing.valves[0], &timing.valves[1]);
    let (vi, ve) = (&drive.valves()[0], &drive.valves()[1]);
    let pair = &timing.pairs[0];
    vec![
        i.opens.trade(vi.opens_near()).unwrap().to_string(),
        i.closes.trade(vi.closes_near()).unwrap().to_string(),
        e.opens.trade(ve.opens_near()).unwrap().to_string(),
        e.closes.trade(ve.closes_near()).unwrap().to_string(),
        i.duration.to_string(),
        e.duration.to_string(),
        pair.overlap.to_string(),
        i.centreline.to_string(),
        e.centreline.to_string(),
        pair.separation.to_string(),
    ]
}

/// Textbook definitions of duration, overlap, lobe centreline and separation; the worked example
/// and its 5-degree shifts are from a public tutorial, the one-tooth rows were derived from it.
#[test]
fn a_worked_example_of_valve_events() {
    let drive = engine(36, ["20 BTDC", "60 ABDC", "60 BBDC", "20 ATDC"]);
    let of = |slips: &[(&str, &str)]| figures(&drive, &slipped(&drive, slips));
    assert_eq!(
        of(&[]),
        [
            "20 BTDC", "60 ABDC", "60 BBDC", "20 ATDC", "260", "260", "40", "110", "110", "110"
        ]
    );
    assert_eq!(
        of(&[
            ("intake", "5 crank deg ahead"),
            ("exhaust", "5 crank deg ahead")
        ])[..4],
        ["25 BTDC", "55 ABDC", "65 BBDC", "15 ATDC"]
    );
    assert_eq!(
        of(&[
            ("intake", "5 crank deg behind"),
            ("exhaust", "5 crank deg behind")
        ])[..4],
        ["15 BTDC", "65 ABDC", "55 BBDC", "25 ATDC"]
    );
    // One tooth of 36 late is 20 crank degrees: 0/80 and 40/40, overlap and separation as before.
    assert_eq!(
        of(&[("intake", "-1"), ("exhaust", "-1")]),
        [
            "TDC", "80 ABDC", "40 BBDC", "40 ATDC", "260", "260", "40", "130", "90", "110"
        ]
    );
    // The same by one slip of the crankshaft's sprocket.
    assert_eq!(
        of(&[("crank", "1 ahead")]),
        of(&[("intake", "-1"), ("exhaust", "-1")])
    );
    // On the intake alone: centreline 130, separation 120, overlap 20.
    assert_eq!(
        of(&[("intake", "-1")]),
        [
            "TDC", "80 ABDC", "60 BBDC", "20 ATDC", "260", "260", "20", "130", "110", "120"
        ]
    );
}

/// An examiners' report in auto mechanics: 6/35 and 38/5 give overlap 11, inlet 221, exhaust 223.
#[test]
fn an_examiners_example() {
    let drive = engine(36, ["6 BTDC", "35 ABDC", "38 BBDC", "5 ATDC"]);
    let all = figures(&drive, &timing(&drive, &[]).unwrap());
    assert_eq!(all[4..7], ["221", "223", "11"]);
}

/// 24-tooth crank and 48-tooth cam: one tooth is 15 crank degrees (trade fact, common practice);
/// 720/Z for the others (computed).
#[test]
fn one_tooth_in_crank_degrees() {
    for (teeth, degrees) in [
        (48, "15"),
        (34, "360/17"),
        (36, "20"),
        (40, "18"),
        (42, "120/7"),
        (44, "180/11"),
        (46, "360/23"),
        (50, "72/5"),
    ] {
        let drive = engine(teeth, ["20 BTDC", "60 ABDC", "60 BBDC", "20 ATDC"]);
        let late = slipped(&drive, &[("intake", "1 behind")]);
        let shift = late.valves[0].shift;
        assert_eq!(
            shift,
            CrankDegrees::new(Exact::parse(degrees).unwrap()).negated()
        );
    }
}

fn close(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found}, expected {expected}"
    );
}

/// Heywood, Internal Combustion Engine Fundamentals, chapter 2: s = a cos t + sqrt(l^2 - a^2 sin^2 t),
/// x = a + l - s. The values were computed from it with mpmath.
#[test]
fn slider_crank() {
    let long = SliderCrank::new(86.0, 143.5).unwrap();
    for (at, x) in [
        (30.0, 7.380_676_456_177_528),
        (90.0, 49.594_010_357_471_94),
        (250.0, 63.513_213_759_065_74),
        (180.0, 86.0),
        (0.0, 0.0),
        (720.0, 0.0),
        (610.0, 63.513_213_759_065_74),
        (-110.0, 63.513_213_759_065_74),
    ] {
        close(long.travel(at), x, 1e-12);
    }
    let short = SliderCrank::new(87.0, 145.0).unwrap();
    for (at, x) in [
        (60.0, 26.729_242_610_247_2),
        (90.0, 50.178_815_794_542_9),
        (120.0, 70.229_242_610_247_2),
    ] {
        close(short.travel(at), x, 1e-12);
    }
    // Published article on trapped compression: stroke 3.48 in, rod 5.7 in, 70 degrees after BDC
    // the piston has risen 0.9053 in (computed 0.90533932).
    let article = SliderCrank::new(3.48, 5.7).unwrap();
    close(3.48 - article.travel(250.0), 0.905_339_32, 5e-9);
}

/// Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine, example 2-1 (value from
/// memory): a 4.30, l 16.6, compression ratio 9.5, 20 degrees after TDC: V/Vc = 1.32 (computed 1.3208).
#[test]
fn volume_near_tdc() {
    let crank = SliderCrank::new(8.6, 16.6).unwrap();
    // V/Vc = 1 + (r - 1) x / stroke, which is the compression ratio that would be left from there.
    close(crank.trapped_compression(9.5, 20.0), 1.3208, 5e-5);
}

/// Trapped compression = 1 + (r - 1) x(180 + IVC) / stroke. Stroke 3.48 in, rod 5.7 in, intake
/// closing 70 ABDC (dimensions of the published article; results computed, no published complete
/// example was found).
#[test]
fn trapped_compression() {
    let crank = SliderCrank::new(3.48, 5.7).unwrap();
    close(crank.trapped_compression(10.0, 250.0), 7.658_605_2, 5e-8);
    close(crank.trapped_compression(9.0, 250.0), 6.918_760_2, 5e-8);
    // Trapped at BDC it is the whole ratio, whatever the rod.
    close(crank.trapped_compression(10.0, 180.0), 10.0, 1e-12);
}

/// The same formula reached through a spec: lengths in mm (1 in = 25.4 mm, exact).
#[test]
fn trapped_compression_of_a_spec() {
    let text = "
tautmark: 1
engine: Dipper single
crank_turns: clockwise
shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
chains: { main: { links: 90, path: [
  { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 45 } ] } }
cylinders: { stroke: 88.392, rod: 144.78, compression: 10, firing_order: [1] }
valves:
  in: { shaft: cam, kind: intake, opens: 20 BTDC, closes: 70 ABDC, at_lift: 0 }
";
    let drive = Drive::read(&Source::new("dipper", text.into()).unwrap())
        .drive
        .unwrap();
    let ratio = timing(&drive, &[]).unwrap().valves[0]
        .trapped_compression
        .unwrap();
    close(ratio, 7.658_605_2, 5e-8);
}
