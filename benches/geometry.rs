//! Is the geometry fast enough to be asked at every keystroke? The path of a V8's chain should take less than 20 microseconds,
//! a full turn on rigid pins less than 5 milliseconds. Beside it stands what a plain numerical minimiser takes for the same turn.
#![allow(
    clippy::float_arithmetic,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a benchmark"
)]

use divan::{Bencher, black_box};
use std::time::{Duration, Instant};
use tautmark::plane::geometry::{Dot, Path, Point, Round, SeatedPins, Side, Travel, Vec2, Wheel};
use tautmark::{
    Drive, Source,
    plane::{Layout, survey},
};

/// Places in one turn.
const STEPS: usize = 360;
const PITCH: f64 = 8.0;

fn main() {
    let ratio = compare();
    divan::main();
    println!(
        "a plain minimiser takes {ratio:.0} times as long as the rigid-pin solver for the same turn"
    );
}

fn v8() -> Drive {
    let text = include_bytes!("../engines/buzzard-v8.yaml").to_vec();
    Drive::read(&Source::new("buzzard", text).unwrap())
        .drive
        .unwrap()
}

#[divan::bench]
fn path_of_the_v8(bencher: Bencher<'_, '_>) {
    let drive = v8();
    let layout = Layout::new(&drive, drive.chain_named("left").unwrap()).unwrap();
    let wheels = layout.path().wheels().to_vec();
    bencher.bench(|| Path::new(black_box(&wheels), PITCH, Travel::Clockwise).unwrap());
}

#[divan::bench]
fn path_that_cannot_be_laid(bencher: Bencher<'_, '_>) {
    let wheels = [sprocket(0.0, 18), sprocket(10.0, 36)];
    bencher.bench(|| Path::new(black_box(&wheels), PITCH, Travel::Clockwise).unwrap_err());
}

#[divan::bench]
fn tensioner_of_the_v8(bencher: Bencher<'_, '_>) {
    let drive = v8();
    let chain = drive.chain_named("left").unwrap();
    bencher.bench(|| Layout::new(black_box(&drive), chain).unwrap());
}

#[divan::bench]
fn survey_of_the_v8(bencher: Bencher<'_, '_>) {
    let drive = v8();
    bencher.bench(|| survey(black_box(&drive)));
}

#[divan::bench]
fn full_turn_of_the_v8_on_rigid_pins(bencher: Bencher<'_, '_>) {
    let drive = v8();
    let id = drive.chain_named("left").unwrap();
    let layout = Layout::new(&drive, id).unwrap();
    let mut dots = vec![None; layout.path().wheels().len()];
    for (at, sprocket) in drive.chain(id).engagements(id) {
        dots[layout.wheel_of(at).unwrap()] = Some(Dot {
            clock: sprocket.dot().unwrap().get().to_f64(),
            link: sprocket.mark().unwrap().link.get().to_f64(),
        });
    }
    let tensioner = layout.tensioners()[0].wheel;
    bencher.bench(|| {
        SeatedPins::new(
            layout.path(),
            layout.driver(),
            &[tensioner],
            black_box(&dots),
            136,
        )
        .unwrap()
        .turn(STEPS)
        .unwrap()
    });
}

#[divan::bench]
fn full_turn_of_two_sprockets_on_rigid_pins(bencher: Bencher<'_, '_>) {
    let two = Two::new();
    bencher.bench(|| black_box(&two).solved());
}

#[divan::bench(sample_count = 5)]
fn full_turn_of_two_sprockets_by_a_minimiser(bencher: Bencher<'_, '_>) {
    let two = Two::new();
    bencher.bench(|| black_box(&two).minimised());
}

/// The ratio of the two last; both must come to the same angles, or the comparison would be worth nothing.
fn compare() -> f64 {
    let two = Two::new();
    let (solved, minimised) = (two.solved(), two.minimised());
    assert_eq!(solved.len(), minimised.len());
    for (one, other) in solved.iter().zip(&minimised) {
        assert!((one - other).abs() < 1e-6, "{one} against {other} degrees");
    }
    let fast = least(20, || two.solved());
    let slow = least(3, || two.minimised());
    slow.as_secs_f64() / fast.as_secs_f64()
}

fn least<T>(times: u32, run: impl Fn() -> T) -> Duration {
    (0..times)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn sprocket(y: f64, teeth: u32) -> Wheel {
    Wheel {
        centre: Point::new(0.0, y),
        round: Round::Sprocket { teeth },
        side: Side::Inside,
    }
}

/// A crankshaft sprocket and a camshaft sprocket above it, turning clockwise; the tight strand is on the right.
struct Two {
    path: Path,
    /// Links from the camshaft's dot to the crankshaft's, and the camshaft's dot, which makes them whole.
    links: f64,
    clock: f64,
}

impl Two {
    const TEETH: [f64; 2] = [18.0, 36.0];
    const CRANK_DOT: f64 = 180.0;

    fn new() -> Self {
        let wheels = [sprocket(0.0, 18), sprocket(220.0, 36)];
        let path = Path::new(&wheels, PITCH, Travel::Clockwise).unwrap();
        let count = path
            .links_between(1, 0.0, 0, Self::CRANK_DOT)
            .unwrap()
            .links;
        let links = count.floor();
        Self {
            clock: (count - links) * 360.0 / Self::TEETH[1],
            path,
            links,
        }
    }

    fn solved(&self) -> Vec<f64> {
        let dots = [
            Some(Dot {
                clock: Self::CRANK_DOT,
                link: 0.0,
            }),
            Some(Dot {
                clock: self.clock,
                link: -self.links,
            }),
        ];
        let pins = SeatedPins::new(&self.path, 0, &[], &dots, 82).unwrap();
        let turns = pins.turn(STEPS).unwrap();
        turns[0].iter().map(|turned| turned.driven).collect()
    }

    /// The camshaft's angle at each step by golden section on the square of the strand's misfit, over an interval of a tooth.
    fn minimised(&self) -> Vec<f64> {
        let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
        let step = 360.0 / STEPS as f64;
        (0..=STEPS)
            .map(|number| {
                let crank = step * number as f64;
                let near = crank * Self::TEETH[0] / Self::TEETH[1];
                let (mut low, mut high) = (near - 5.0, near + 5.0);
                while high - low > 1e-10 {
                    let (one, other) = (high - golden * (high - low), low + golden * (high - low));
                    if self.misfit(crank, one) < self.misfit(crank, other) {
                        high = other;
                    } else {
                        low = one;
                    }
                }
                f64::midpoint(low, high)
            })
            .collect()
    }

    /// The square of what the straight strand is longer than its whole pitches.
    fn misfit(&self, crank: f64, cam: f64) -> f64 {
        let driver = self.pins(0, Self::CRANK_DOT, 0.0, crank);
        let driven = self.pins(1, self.clock, -self.links, cam);
        // Begin straight down, and turn to the pins farthest out until they stay.
        let mut way = Vec2::new(0.0, -1.0);
        loop {
            let out = |pin: &(f64, Point)| way.left().dot(pin.1 - Point::new(0.0, 0.0));
            let farthest = |pins: &[(f64, Point)]| {
                *pins
                    .iter()
                    .max_by(|one, other| out(one).total_cmp(&out(other)))
                    .unwrap()
            };
            let (last, first) = (farthest(&driven), farthest(&driver));
            let strand = first.1 - last.1;
            let length = strand.length();
            let next = strand * (1.0 / length);
            if (next - way).length() < 1e-15 {
                let excess = length - (first.0 - last.0) * PITCH;
                return excess * excess;
            }
            way = next;
        }
    }

    /// The pins that sit on the right half of a sprocket, with their numbers.
    fn pins(&self, wheel: usize, clock: f64, link: f64, turned: f64) -> Vec<(f64, Point)> {
        let round = self.path.wheels()[wheel];
        let (teeth, radius) = (Self::TEETH[wheel], round.radius(PITCH));
        let tooth = 360.0 / teeth;
        // The pin that sits at three o'clock, or nearly.
        let middle = (link + (90.0 - clock - turned) / tooth).floor() + 0.5;
        let reach = (teeth / 4.0).floor();
        let mut pins = Vec::new();
        let mut pin = middle - reach;
        while pin <= middle + reach {
            let at = Vec2::from_clock(clock + turned + (pin - link) * tooth);
            pins.push((pin, round.centre + at * radius));
            pin += 1.0;
        }
        pins
    }
}
