//! The geometry against published and independently computed values (CHECKS.md). Each check names its source.
#![allow(
    clippy::float_arithmetic,
    clippy::unwrap_used,
    reason = "a test may stop at the first thing that is wrong"
)]

use tautmark::plane::geometry::{
    Dot, Limits, Part, Path, PathError, PathFinding, Point, Round, SeatedPins, Side, Tension,
    Tensioner, Travel, Vec2, Wheel, elongated, pitch_diameter, retard, solve_travel,
};

const INCH: f64 = 25.4;

fn sprocket(x: f64, y: f64, teeth: u32) -> Wheel {
    Wheel {
        centre: Point::new(x, y),
        round: Round::Sprocket { teeth },
        side: Side::Inside,
    }
}

fn outside(wheel: Wheel) -> Wheel {
    Wheel {
        side: Side::Outside,
        ..wheel
    }
}

fn close(found: f64, expected: f64, within: f64, what: &str) {
    assert!(
        (found - expected).abs() <= within,
        "{what}: {found} against {expected} (+-{within})"
    );
}

#[test]
fn pitch_diameters_of_a_textbook_example() {
    // Bhandari, Design of Machine Elements, example 14.4.
    close(pitch_diameter(19.05, 17), 103.673_741, 1e-6, "z 17");
    close(pitch_diameter(19.05, 34), 206.462_975, 1e-6, "z 34");
}

#[test]
fn pitch_diameters_of_the_06b_table() {
    // 06B sprocket table (ISO 606), p 9.525 mm.
    for (teeth, diameter) in [
        (17, 51.83),
        (18, 54.85),
        (19, 57.87),
        (20, 60.89),
        (21, 63.91),
        (24, 72.97),
        (25, 76.00),
        (38, 115.35),
        (45, 136.55),
        (57, 172.91),
    ] {
        close(
            pitch_diameter(9.525, teeth),
            diameter,
            0.008,
            &format!("z {teeth}"),
        );
    }
}

#[test]
fn pitch_diameters_of_the_number_80_table() {
    // No. 80 stock sprocket table, p 1 in. Its misprints (z 31, 36) are left out; CHECKS.md names them.
    for (teeth, inches) in [
        (9, 2.924),
        (10, 3.236),
        (12, 3.864),
        (15, 4.810),
        (18, 5.759),
        (20, 6.392),
        (21, 6.710),
        (24, 7.661),
        (28, 8.931),
        (30, 9.567),
    ] {
        close(
            pitch_diameter(1.0, teeth),
            inches,
            0.0006,
            &format!("z {teeth}"),
        );
        close(
            pitch_diameter(INCH, teeth) / INCH,
            inches,
            0.0006,
            &format!("z {teeth} in mm"),
        );
    }
    // The table's misprint, as CHECKS.md corrects it.
    close(pitch_diameter(1.0, 36), 11.4737, 0.00005, "z 36");
}

#[test]
fn unit_diameters_to_twelve_digits() {
    // Computed for CHECKS.md apart from this program.
    for (teeth, diameter) in [
        (9, 2.923_804_400_16),
        (18, 5.758_770_483_14),
        (21, 6.709_506_139_81),
        (24, 7.661_297_575_54),
        (36, 11.473_713_245_7),
        (42, 13.381_489_999_7),
        (60, 19.107_322_609_3),
    ] {
        close(
            pitch_diameter(1.0, teeth),
            diameter,
            6e-11,
            &format!("z {teeth}"),
        );
    }
}

/// The handbook's length over two sprockets, in pitches: L = 2C/p + (N1+N2)/2 + ((N2-N1)/(2 pi))^2 / (C/p).
fn handbook_links(small: u32, large: u32, centres_in_pitches: f64) -> f64 {
    let (small, large) = (f64::from(small), f64::from(large));
    2.0 * centres_in_pitches
        + f64::midpoint(small, large)
        + ((large - small) / (2.0 * std::f64::consts::PI)).powi(2) / centres_in_pitches
}

/// Its inverse: the centre distance in pitches.
fn handbook_centres(small: u32, large: u32, links: f64) -> f64 {
    let (small, large) = (f64::from(small), f64::from(large));
    let straight = links - f64::midpoint(small, large);
    let turn = ((large - small) / (2.0 * std::f64::consts::PI)).powi(2);
    (straight + (straight * straight - 8.0 * turn).sqrt()) / 4.0
}

fn two(small: u32, large: u32, centres: f64, pitch: f64) -> Path {
    Path::new(
        &[sprocket(0.0, 0.0, small), sprocket(0.0, centres, large)],
        pitch,
        Travel::Clockwise,
    )
    .unwrap()
}

#[test]
fn lengths_over_two_sprockets_of_textbooks() {
    // Bhandari ex. 14.3: 21/63, p 12.7, C 500.
    close(
        handbook_links(21, 63, 500.0 / 12.7),
        121.875_097,
        1e-6,
        "handbook 14.3",
    );
    close(
        two(21, 63, 500.0, 12.7).links(),
        121.877_845,
        1e-6,
        "exact 14.3 (CHECKS.md)",
    );
    close(
        handbook_centres(21, 63, 122.0) * 12.7,
        500.804_717,
        1e-6,
        "centres 14.3",
    );
    close(
        two(21, 63, 500.804_717, 12.7).links(),
        122.0,
        0.003,
        "122 links at the handbook's centres",
    );
    // Bhandari ex. 14.4: 17/34, p 19.05, C 40 p.
    close(
        handbook_links(17, 34, 40.0),
        105.683_011,
        1e-6,
        "handbook 14.4",
    );
    close(
        two(17, 34, 40.0 * 19.05, 19.05).links(),
        105.683_080,
        1e-6,
        "exact 14.4 (CHECKS.md)",
    );
    // Jindal, Machine Design, ex. 30-3: 21/42, p 9.52, C 50 p; length in mm.
    close(
        handbook_links(21, 42, 50.0) * 9.52,
        1254.01,
        0.005,
        "handbook 30-3",
    );
    close(
        two(21, 42, 50.0 * 9.52, 9.52).links() * 9.52,
        1254.01,
        0.01,
        "exact 30-3",
    );
    // Jindal ex. 30-1: 17/51, p 9.52, C 300, there and back.
    let links = handbook_links(17, 51, 300.0 / 9.52);
    close(
        handbook_centres(17, 51, links) * 9.52,
        300.0,
        0.005,
        "there and back 30-1",
    );
    close(two(17, 51, 300.0, 9.52).links(), links, 0.003, "exact 30-1");
}

#[test]
fn the_handbook_formula_agrees_on_drives_of_our_size() {
    // CHECKS.md: the handbook formula agrees with exact tangents, arcs counted in teeth, to 0.003 link.
    for (small, large) in [(17, 34), (18, 36), (20, 40), (21, 42), (24, 48)] {
        for pitches in [20.0, 30.0, 50.0] {
            let exact = two(small, large, pitches * 8.0, 8.0).links();
            close(
                exact,
                handbook_links(small, large, pitches),
                0.003,
                &format!("{small}/{large} at {pitches}"),
            );
        }
    }
}

#[test]
fn several_sprockets_against_a_convex_hull() {
    // shapely's convex hull of circles of 80,000 points (length in mm); links from exact tangents computed apart (CHECKS.md).
    let cases = [
        (
            &[(0.0, 0.0, 18), (0.0, 200.0, 36)][..],
            619.165_48,
            77.328_639,
        ),
        (
            &[(0.0, 0.0, 18), (-62.0, 214.0, 36), (62.0, 214.0, 36)],
            801.390_87,
            100.110_768,
        ),
        (
            &[(0.0, 0.0, 21), (-75.0, 240.0, 42), (75.0, 240.0, 42)],
            924.364_56,
            115.491_832,
        ),
        (
            &[
                (0.0, 0.0, 24),
                (-90.0, 60.0, 30),
                (-20.0, 180.0, 40),
                (95.0, 110.0, 20),
            ],
            757.987_54,
            94.687_907,
        ),
    ];
    for (wheels, hull, links) in cases {
        let wheels: Vec<_> = wheels
            .iter()
            .map(|&(x, y, teeth)| sprocket(x, y, teeth))
            .collect();
        let path = Path::new(&wheels, 8.0, Travel::Clockwise).unwrap();
        close(path.length(), hull, 2e-5, "hull");
        close(path.links(), links, 1e-6, "links");
        let findings = path.findings(&Limits::default());
        // The last of them has an idler with few teeth in mesh.
        assert!(
            findings
                .iter()
                .all(|finding| matches!(finding, PathFinding::FewTeeth { .. })),
            "{findings:?}"
        );
    }
}

#[test]
fn a_wheel_outside_the_loop_against_a_parts_library() {
    // cq_warehouse 0.8.0, agreeing to 9 decimals with mpmath (CHECKS.md); counter-clockwise, p 8.
    let wheels = [
        sprocket(0.0, 0.0, 18),
        outside(sprocket(75.0, 100.0, 14)),
        sprocket(60.0, 220.0, 36),
        sprocket(-60.0, 220.0, 36),
    ];
    let path = Path::new(&wheels, 8.0, Travel::CounterClockwise).unwrap();
    close(path.length(), 807.504_942_272, 1e-8, "length");
    close(path.links(), 100.871_136_822, 1e-8, "links");
    for (wheel, wrap) in [141.274_331_8, 7.038_058_7, 114.755_229_8, 111.008_497]
        .into_iter()
        .enumerate()
    {
        close(
            path.contact(wheel).unwrap().wrap,
            wrap,
            1e-6,
            &format!("wrap {wheel}"),
        );
    }
    assert_eq!(path.contact(1).unwrap().turns, Travel::Clockwise);

    let path = Path::new(
        &[
            sprocket(0.0, 0.0, 18),
            sprocket(60.0, 220.0, 36),
            sprocket(-60.0, 220.0, 36),
        ],
        8.0,
        Travel::CounterClockwise,
    )
    .unwrap();
    close(path.length(), 807.086_411_122, 1e-8, "all inside, length");
    close(path.links(), 100.822_445_495, 1e-8, "all inside, links");
    for (strand, length) in path
        .strands()
        .iter()
        .zip([226.886_383_2, 120.0, 226.886_383_2])
    {
        close(strand.length, length, 1e-6, "strand");
    }

    let path = two(18, 36, 220.0, 8.0);
    close(path.length(), 658.927_235_502, 1e-8, "two, length");
    close(path.links(), 82.298_705_759, 1e-8, "two, links");
    close(
        path.contact(0).unwrap().wrap,
        168.071_483_4,
        1e-6,
        "two, wrap",
    );
    close(
        path.contact(1).unwrap().wrap,
        191.928_516_6,
        1e-6,
        "two, wrap",
    );
}

#[test]
fn retard_by_elongation_to_first_order() {
    // CHECKS.md: tight span 218.8091197 mm on 18/36 teeth, p 8, 1 %: 2.188091 mm, camshaft 2.731644 degrees, crank 5.463288. That is
    // the extra length over the pitch radius; the count in teeth, which the exact model uses, differs by the chord (0.13 %).
    let (span, pitch, teeth) = (218.809_119_7, 8.0, 36);
    let extra = span * 0.01;
    close(extra, 2.188_091, 1e-6, "mm");
    let by_arc = (extra / (pitch_diameter(pitch, teeth) / 2.0)).to_degrees();
    close(by_arc, 2.731_644, 1e-6, "cam degrees by arc length");
    close(2.0 * by_arc, 5.463_288, 1e-6, "crank degrees by arc length");
    let by_teeth = retard(span / pitch, 0.01, teeth);
    close(by_teeth, by_arc, 0.0014 * by_arc, "cam degrees by teeth");
}

#[test]
fn the_worn_path_retards_as_first_order_says() {
    // Definition (DESIGN.md): eps times the free links; against the difference of the two exact paths.
    let wheels = [
        sprocket(0.0, 0.0, 18),
        sprocket(-62.0, 214.0, 36),
        sprocket(62.0, 214.0, 36),
    ];
    let new = Path::new(&wheels, 8.0, Travel::Clockwise).unwrap();
    let worn = Path::new(&wheels, elongated(8.0, 0.01), Travel::Clockwise).unwrap();
    for cam in [1, 2] {
        let lost = new.links_between(cam, 10.0, 0, 180.0).unwrap().links
            - worn.links_between(cam, 10.0, 0, 180.0).unwrap().links;
        let first_order = retard(new.free_links(cam, 0), 0.01, 36);
        close(lost * 10.0, first_order, 0.02 * first_order, "cam degrees");
    }
    // The exhaust strand adds what lies between the cams.
    assert!(new.free_links(1, 0) > new.free_links(2, 0));
}

#[test]
fn counts_and_places_agree_on_every_wheel() {
    let wheels = [
        sprocket(0.0, 0.0, 18),
        outside(sprocket(75.0, 100.0, 14)),
        sprocket(60.0, 220.0, 36),
        sprocket(-60.0, 220.0, 36),
    ];
    let path = Path::new(&wheels, 8.0, Travel::CounterClockwise).unwrap();
    for (wheel, round) in wheels.iter().enumerate() {
        let contact = *path.contact(wheel).unwrap();
        let middle = contact.entry_clock + contact.turns.sign() * contact.wrap / 2.0;
        let place = path.place_from(wheel, middle, 0.0).unwrap();
        let expected = round.centre + Vec2::from_clock(middle) * round.radius(8.0);
        assert!(place.point.distance(expected) < 1e-9 && place.wheel == Some(wheel));
        let behind = path.place_from(wheel, middle, -1e-6).unwrap().point;
        let ahead = path.place_from(wheel, middle, 1e-6).unwrap().point;
        assert!(
            (ahead - behind).dot(place.direction) > 0.0,
            "the direction is that of travel"
        );
        close(place.direction.length(), 1.0, 1e-12, "unit");
        let once_round = path.place_from(wheel, middle, path.links()).unwrap();
        assert!(once_round.point.distance(place.point) < 1e-6);
    }
    // Continuous over every joint.
    let mut before = path.place(0.0).unwrap().point;
    let steps = 4000;
    for step in 1..=steps {
        let at = path
            .place(path.links() * f64::from(step) / f64::from(steps))
            .unwrap()
            .point;
        assert!(at.distance(before) < 8.0 * path.links() / f64::from(steps) * 1.01);
        before = at;
    }
    // The flag turns exactly at the ends of the arc, and what is carried on from there is counted on.
    for wheel in 0..wheels.len() {
        let contact = *path.contact(wheel).unwrap();
        let way = contact.turns.sign();
        for (clock, on) in [
            (contact.entry_clock + 0.01 * way, true),
            (contact.entry_clock - 0.01 * way, false),
            (contact.exit_clock - 0.01 * way, true),
            (contact.exit_clock + 0.01 * way, false),
        ] {
            assert_eq!(
                path.position(wheel, clock).unwrap().1,
                on,
                "wheel {wheel} at {clock}"
            );
        }
        let (past, _) = path
            .position(wheel, contact.exit_clock + 20.0 * way)
            .unwrap();
        let (before, _) = path
            .position(wheel, contact.entry_clock - 20.0 * way)
            .unwrap();
        close(
            past - before,
            contact.links * (1.0 + 40.0 / contact.wrap),
            1e-9,
            "carried on",
        );
    }
    let there = path.links_between(0, 180.0, 3, 0.0).unwrap();
    let back = path.links_between(3, 0.0, 0, 180.0).unwrap();
    close(
        there.links + back.links,
        path.links(),
        1e-9,
        "there and back",
    );
    assert!(!there.from_extrapolated);
    assert!(
        path.links_between(0, 0.0, 3, 0.0)
            .unwrap()
            .from_extrapolated,
        "the top of the crank is off the chain"
    );
    assert!(
        path.links_between(0, f64::NAN, 3, 0.0).is_none() && path.place(f64::INFINITY).is_none()
    );
}

#[test]
fn nonsense_is_an_error_with_its_data() {
    let crank = sprocket(0.0, 0.0, 18);
    let of = |wheels: &[Wheel]| Path::new(wheels, 8.0, Travel::Clockwise);
    assert!(
        matches!(of(&[crank, sprocket(0.0, 60.0, 36)]), Err(PathError::Overlap { first: 0, second: 1, by }) if by > 8.0)
    );
    assert_eq!(
        of(&[crank, sprocket(f64::NAN, 0.0, 36)]),
        Err(PathError::Wheel { wheel: 1 })
    );
    assert_eq!(
        of(&[crank, sprocket(0.0, 200.0, 0)]),
        Err(PathError::Wheel { wheel: 1 })
    );
    assert_eq!(
        of(&[crank, sprocket(0.0, 200.0, u32::MAX)]),
        Err(PathError::Wheel { wheel: 1 })
    );
    assert_eq!(of(&[crank]), Err(PathError::Wheels { found: 1 }));
    assert_eq!(of(&[]), Err(PathError::Wheels { found: 0 }));
    for pitch in [0.0, -8.0, f64::NAN, f64::INFINITY] {
        assert_eq!(
            Path::new(&[crank, sprocket(0.0, 200.0, 36)], pitch, Travel::Clockwise),
            Err(PathError::Pitch)
        );
    }
    let shoe = |x: f64, y: f64, radius: f64, side| Wheel {
        centre: Point::new(x, y),
        round: Round::Shoe { radius },
        side,
    };
    assert_eq!(
        of(&[
            crank,
            shoe(0.0, 0.0, 100.0, Side::Inside),
            sprocket(0.0, 200.0, 36)
        ]),
        Err(PathError::NoTangent { from: 0, to: 1 })
    );
    // An idler on the wrong side of its strand.
    assert!(matches!(
        of(&[crank, sprocket(-5.0, 120.0, 12), sprocket(-62.0, 260.0, 36), sprocket(62.0, 260.0, 36)]),
        Err(PathError::NotWrapped { wheel: 1, wrap }) if wrap < 0.0
    ));
    // A shoe that the chain does not reach is left out, and said to be.
    let path = of(&[
        crank,
        shoe(-150.0, 110.0, 40.0, Side::Outside),
        sprocket(0.0, 220.0, 36),
    ])
    .unwrap();
    close(
        path.links(),
        two(18, 36, 220.0, 8.0).links(),
        1e-12,
        "without the shoe",
    );
    let findings = path.findings(&Limits::default());
    assert!(
        matches!(findings[..], [PathFinding::Untouched { wheel: 1, gap }] if gap > 50.0),
        "{findings:?}"
    );
}

#[test]
fn wrong_order_crosses_and_is_found() {
    let limits = Limits::default();
    // Four sprockets on the corners of a square, met in the order of a bow tie: the loop winds twice.
    let bow = [
        sprocket(0.0, 0.0, 20),
        sprocket(300.0, 300.0, 20),
        sprocket(300.0, 0.0, 20),
        sprocket(0.0, 300.0, 20),
    ];
    let findings = Path::new(&bow, 8.0, Travel::Clockwise)
        .unwrap()
        .findings(&limits);
    assert!(
        matches!(findings[0], PathFinding::Winds { turns } if (turns - 2.0).abs() < 1e-9),
        "{findings:?}"
    );
    assert!(
        findings[1..]
            .iter()
            .all(|finding| matches!(finding, PathFinding::Crossing { .. }))
            && findings.len() == 4
    );
    // A figure of eight: its two strands cross in the middle of the square, and it winds not at all.
    let eight = [bow[0], bow[3], outside(bow[2]), outside(bow[1])];
    let findings = Path::new(&eight, 8.0, Travel::Clockwise)
        .unwrap()
        .findings(&limits);
    let [
        PathFinding::Winds { turns },
        PathFinding::Crossing {
            first: Part::Strand(1),
            second: Part::Strand(3),
            at,
        },
    ] = findings[..]
    else {
        unreachable!("{findings:?}")
    };
    close(turns, 0.0, 1e-9, "turns");
    assert!(at.distance(Point::new(150.0, 150.0)) < 1e-9);
    // A strand that cuts a sprocket which it passes.
    let poked = [
        sprocket(0.0, 0.0, 20),
        sprocket(-30.0, 200.0, 20),
        sprocket(30.0, 400.0, 30),
        outside(sprocket(-20.0, 120.0, 10)),
    ];
    let findings = Path::new(&poked, 8.0, Travel::Clockwise)
        .unwrap()
        .findings(&limits);
    assert!(findings.iter().any(|finding| matches!(finding, PathFinding::ThroughSprocket { strand: 2, wheel: 1, by } if *by > 1.0)));
    assert!(findings.iter().any(|finding| matches!(finding, PathFinding::FewTeeth { wheel: 3, least, .. } if (least - 3.0).abs() < 1e-12)));
}

#[test]
fn tight_and_slack_follow_the_travel() {
    let wheels = [
        sprocket(0.0, 0.0, 18),
        sprocket(-62.0, 214.0, 36),
        sprocket(62.0, 214.0, 36),
    ];
    let path = Path::new(&wheels, 8.0, Travel::Clockwise).unwrap();
    assert_eq!(
        path.tensions(0, &[]).unwrap(),
        [Tension::Slack, Tension::Tight, Tension::Tight]
    );
    // Turned backwards, the wheels are met in the other order, and the left strand is the one that arrives at the crank.
    let back = [wheels[0], wheels[2], wheels[1]];
    let path = Path::new(&back, 8.0, Travel::CounterClockwise).unwrap();
    assert_eq!(
        path.tensions(0, &[]).unwrap(),
        [Tension::Slack, Tension::Tight, Tension::Tight]
    );
    assert!(
        path.strands()[2].begin.x < 0.0,
        "the left strand is tight now"
    );
    assert!(path.tensions(7, &[]).is_err());
}

#[test]
fn a_tensioner_makes_its_stretch_and_all_before_it_slack() {
    let shoe = |x: f64, y: f64| Wheel {
        centre: Point::new(x, y),
        round: Round::Shoe { radius: 60.0 },
        side: Side::Outside,
    };
    let (crank, left, right) = (
        sprocket(0.0, 0.0, 18),
        sprocket(-62.0, 260.0, 36),
        sprocket(62.0, 260.0, 36),
    );
    let (slack, tight) = (Tension::Slack, Tension::Tight);
    // On the slack side, where it belongs; the guide on the tight side is no tensioner.
    let path = Path::new(
        &[crank, shoe(-95.0, 110.0), left, right, shoe(95.0, 110.0)],
        8.0,
        Travel::Clockwise,
    )
    .unwrap();
    assert_eq!(
        path.tensions(0, &[1]).unwrap(),
        [slack, slack, tight, tight, tight]
    );
    // On the side that the crank pulls: then nothing can be counted.
    assert_eq!(path.tensions(0, &[4]).unwrap(), [slack; 5]);
    assert!(path.tensions(1, &[]).is_err(), "a shoe drives nothing");
    close(
        path.free_links(3, 0),
        path.strands()[3].links + path.contact(4).unwrap().links + path.strands()[4].links,
        1e-12,
        "free",
    );
}

#[test]
fn the_tensioner_holds_the_links_it_was_solved_for() {
    let shoe = Wheel {
        centre: Point::new(-150.0, 110.0),
        round: Round::Shoe { radius: 80.0 },
        side: Side::Outside,
    };
    let wheels = [sprocket(0.0, 0.0, 18), shoe, sprocket(0.0, 220.0, 36)];
    let tensioner = Tensioner {
        wheel: 1,
        pushes: 90.0,
        stroke: 60.0,
    };
    let fit = solve_travel(&wheels, 8.0, Travel::Clockwise, &tensioner, 83.0).unwrap();
    close(fit.path.links(), 83.0, 1e-9, "links");
    assert!(
        fit.in_stroke && fit.roots == 1,
        "{} {}",
        fit.travel,
        fit.roots
    );
    let worn = solve_travel(
        &wheels,
        elongated(8.0, 0.01),
        Travel::Clockwise,
        &tensioner,
        83.0,
    )
    .unwrap();
    assert!(worn.travel > fit.travel);
    // Shorter than the bare loop: at no travel.
    assert!(solve_travel(&wheels, 8.0, Travel::Clockwise, &tensioner, 82.0).is_err());
    // Pushing away from the chain.
    let away = Tensioner {
        pushes: 270.0,
        ..tensioner
    };
    assert!(solve_travel(&wheels, 8.0, Travel::Clockwise, &away, 83.0).is_err());
    assert!(
        solve_travel(
            &wheels,
            8.0,
            Travel::Clockwise,
            &Tensioner {
                wheel: 9,
                ..tensioner
            },
            83.0
        )
        .is_err()
    );
}

/// A brute-force pin solver that shares no search with the kernel: of every pair of pins, the taut chain is straight between the one
/// for which all pins of both sprockets lie to the right of the line (both turn clockwise); bisection on its length.
fn brute_force_driven(
    centres: f64,
    small: u32,
    large: u32,
    pitch: f64,
    driver: f64,
    links: f64,
) -> f64 {
    let seat = |y: f64, teeth: u32, clock: f64| {
        Point::new(0.0, y) + Vec2::from_clock(clock) * (pitch_diameter(pitch, teeth) / 2.0)
    };
    // Dots point right (90), where the tight strand lies; pins lie half a tooth beside them.
    let pins = |y: f64, teeth: u32, turned: f64| -> Vec<(f64, Point)> {
        let half = i32::try_from(teeth / 2).unwrap();
        (-half..half)
            .map(|pin| f64::from(pin) + 0.5)
            .map(|pin| {
                (
                    pin,
                    seat(y, teeth, 90.0 + turned + pin * 360.0 / f64::from(teeth)),
                )
            })
            .collect()
    };
    let below = pins(0.0, small, driver);
    let excess = |driven: f64| {
        let above = pins(centres, large, driven);
        for (a, begin) in &above {
            for (b, end) in &below {
                let way = *end - *begin;
                let right = |(_, pin): &(f64, Point)| way.cross(*pin - *begin) <= 1e-7;
                if way.y < 0.0 && above.iter().all(right) && below.iter().all(right) {
                    return way.length() - (links + b - a) * pitch;
                }
            }
        }
        f64::NAN
    };
    let (mut low, mut high) = (-40.0, 40.0);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        // Turning the driven sprocket on brings its pins nearer.
        if excess(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

#[test]
fn rigid_pins_against_brute_force() {
    let (centres, pitch) = (220.0, 8.0);
    let path = two(18, 36, centres, pitch);
    let count = path.links_between(1, 90.0, 0, 90.0).unwrap().links;
    let links = count.round();
    let dots = [
        Some(Dot {
            clock: 90.0,
            link: 0.0,
        }),
        Some(Dot {
            clock: 90.0,
            link: -links,
        }),
    ];
    let pins = SeatedPins::new(&path, 0, &[], &dots, 82).unwrap();
    let turn = pins.turn(360).unwrap();
    // The brute force numbers its pins from the dots, so for a part of a turn only.
    for at in &turn[0][..60] {
        let expected = brute_force_driven(centres, 18, 36, pitch, at.driver, links);
        close(
            at.driven,
            expected,
            1e-9,
            &format!("driven at {}", at.driver),
        );
    }
}

#[test]
fn rigid_pins_turn_in_the_ratio_and_ripple_once_a_tooth() {
    let wheels = [
        sprocket(0.0, 0.0, 18),
        sprocket(-62.0, 260.0, 36),
        sprocket(62.0, 260.0, 36),
    ];
    let path = Path::new(&wheels, 8.0, Travel::Clockwise).unwrap();
    // Dots where whole links lie between: carried back from the crank's.
    let links = 112;
    let dot = |wheel: usize, about: f64| {
        let count = path.links_between(wheel, about, 0, 180.0).unwrap().links;
        let whole = count.round();
        Dot {
            clock: about + (count - whole) * 10.0,
            link: f64::from(links) - whole,
        }
    };
    let dots = [
        Some(Dot {
            clock: 180.0,
            link: 0.0,
        }),
        Some(dot(1, 0.0)),
        Some(dot(2, 0.0)),
    ];
    let pins = SeatedPins::new(&path, 0, &[], &dots, links).unwrap();
    assert_eq!(pins.wheels().collect::<Vec<_>>(), [2, 1]);
    let ripples = pins.ripples(18 * 40).unwrap();
    for ripple in &ripples {
        close(ripple.turn, 180.0, 1e-9, "half a turn");
        // On average the exact model; polygon action is a matter of hundredths of a degree.
        close(ripple.mean, 0.0, 0.5, "mean");
        close(ripple.timed, 0.0, 0.5, "timed");
        assert!(ripple.span() > 1e-6 && ripple.span() < 1.0, "{ripple:?}");
    }
    // Once a tooth: the same lead after 20 degrees.
    for turn in pins.turn(360).unwrap() {
        let lead = |at: usize| turn[at].driven * 2.0 - turn[at].driver;
        for at in 0..340 {
            close(lead(at + 20), lead(at), 1e-9, "period");
        }
    }
    // Hung a tooth out, the shaft is a tooth ahead throughout: link h = m + 1 on the dot.
    let mut slipped = dots;
    slipped[2] = dots[2].map(|dot| Dot {
        link: dot.link + 1.0,
        ..dot
    });
    let ahead = SeatedPins::new(&path, 0, &[], &slipped, links)
        .unwrap()
        .ripples(720)
        .unwrap();
    close(
        ahead[0].mean - ripples[0].mean,
        20.0,
        1e-6,
        "a tooth ahead is 20 crank degrees",
    );
    // Even hung at random the chain finds its seats.
    slipped[2] = dots[2].map(|dot| Dot {
        link: dot.link - 37.0,
        ..dot
    });
    let behind = SeatedPins::new(&path, 0, &[], &slipped, links)
        .unwrap()
        .ripples(720)
        .unwrap();
    close(
        behind[0].mean - ripples[0].mean,
        -37.0 * 20.0,
        1e-6,
        "37 teeth behind",
    );
    assert!(pins.turn(0).is_err() && SeatedPins::new(&path, 1, &[], &[None; 3], links).is_err());
}

#[test]
fn rigid_pins_worn_agree_with_the_first_order_retard() {
    let wheels = [
        sprocket(0.0, 0.0, 18),
        sprocket(-62.0, 260.0, 36),
        sprocket(62.0, 260.0, 36),
    ];
    let dots = [
        Some(Dot {
            clock: 180.0,
            link: 0.0,
        }),
        Some(Dot {
            clock: 5.0,
            link: 44.0,
        }),
        Some(Dot {
            clock: 5.0,
            link: 60.0,
        }),
    ];
    let mean = |elongation: f64| {
        let path = Path::new(&wheels, elongated(8.0, elongation), Travel::Clockwise).unwrap();
        SeatedPins::new(&path, 0, &[], &dots, 112)
            .unwrap()
            .ripples(720)
            .unwrap()
    };
    let new = Path::new(&wheels, 8.0, Travel::Clockwise).unwrap();
    for (worn, fresh) in mean(0.01).iter().zip(mean(0.0)) {
        let expected = 2.0 * retard(new.free_links(worn.wheel, 0), 0.01, 36);
        close(
            fresh.mean - worn.mean,
            expected,
            0.03 * expected,
            "crank degrees",
        );
    }
}

#[test]
fn rigid_pins_follow_guides_pumps_and_shafts_that_turn_backwards() {
    // The Plover's and the Linnet's drives (engines/), crank, tensioner, exhaust, intake and the odd one; mean leads against the smooth
    // path's residuals.
    let shoe = |x: f64, y: f64, radius: f64| Wheel {
        centre: Point::new(x, y),
        round: Round::Shoe { radius },
        side: Side::Outside,
    };
    let dot = |clock: f64, link: f64| Some(Dot { clock, link });
    let plover = [
        sprocket(0.0, 0.0, 20),
        shoe(-134.0, 120.0, 90.0),
        sprocket(-80.0, 295.0, 40),
        sprocket(72.0, 295.0, 40),
        outside(sprocket(40.0, 175.7, 20)),
    ];
    let linnet = [
        sprocket(0.0, 0.0, 24),
        shoe(-125.5, 130.0, 90.0),
        sprocket(-60.325, 299.8, 48),
        sprocket(60.325, 299.8, 48),
        shoe(200.0, 160.0, 80.0),
        sprocket(112.0, 38.0, 28),
    ];
    let cases = [
        (
            &plover[..],
            8.0,
            132,
            vec![
                dot(180.0, 0.0),
                None,
                dot(342.0, 53.0),
                dot(18.0, 76.0),
                dot(288.0, 104.0),
            ],
        ),
        (
            &linnet[..],
            6.35,
            166,
            vec![
                dot(210.0, 0.0),
                None,
                dot(345.0, 64.0),
                dot(15.0, 87.0),
                None,
                None,
            ],
        ),
    ];
    for (wheels, pitch, links, dots) in cases {
        let path = Path::new(wheels, pitch, Travel::Clockwise).unwrap();
        let crank_teeth = f64::from(wheels[0].teeth().unwrap());
        let ripples = SeatedPins::new(&path, 0, &[1], &dots, links)
            .unwrap()
            .ripples(720)
            .unwrap();
        assert_eq!(ripples.len(), 3);
        for ripple in ripples {
            let teeth = f64::from(wheels[ripple.wheel].teeth().unwrap());
            close(ripple.turn, 360.0 * crank_teeth / teeth, 1e-9, "ratio");
            // A sprocket without a dot has none to be measured from: its seats are laid where the smooth path has them.
            let residual = dots[ripple.wheel].map_or(0.0, |dot| {
                let count = path
                    .links_between(ripple.wheel, dot.clock, 0, dots[0].unwrap().clock)
                    .unwrap()
                    .links;
                count - (-dot.link).rem_euclid(f64::from(links))
            });
            // Polygon action itself moves the mean by a few hundredths of a crank degree at most.
            close(
                ripple.mean,
                residual * 360.0 / crank_teeth,
                0.03,
                "mean lead",
            );
            assert!(ripple.span() < 0.1 && ripple.span() > 0.001);
        }
    }
}
