//! Every speed that is promised, beside what it is measured by, in one run: both by turns, and the fastest of
//! each, so that whatever else the machine does weighs on both alike. Prints the table of `docs/performance.md`;
//! `benches/performance` puts it there.
//!
//! `cargo bench --bench ratios`, or with words of the rows that are wanted behind `--`. As a test (`cargo test --bench
//! ratios`) everything runs once, on little, and the figures say nothing.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::float_arithmetic,
    clippy::cast_precision_loss,
    missing_docs,
    reason = "a benchmark that cannot run should stop"
)]

#[path = "../tests/support/largest.rs"]
mod large;

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tautmark::{
    Drive, Observations, Source, check,
    proof::{check_in_fractions, prove_in_fractions},
    prove,
};

/// Is this a test of the benchmark, and nothing measured?
fn is_test() -> bool {
    std::env::args().all(|word| word != "--bench")
}

/// So many where it is measured, and so many as a test needs.
fn measured<T>(many: T, few: T) -> T {
    if is_test() { few } else { many }
}

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let is_wanted =
        |name: &str| wanted.is_empty() || wanted.iter().any(|word| name.contains(word.as_str()));
    println!(
        "| what | figure | beside it | ratio | limit | |\n| --- | --- | --- | --- | --- | --- |"
    );
    for (name, run) in [
        ("check", checks as fn()),
        ("stream", streams),
        ("memory", memory),
        ("process", processes),
        ("lint", lints),
        ("reading", readings),
        ("largest", largest),
        ("growth", growth),
    ] {
        if is_wanted(name) {
            run();
        }
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn engines() -> Vec<(String, String)> {
    let mut found: Vec<_> = std::fs::read_dir(root().join("engines"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| {
            (
                path.file_stem().unwrap().to_string_lossy().into_owned(),
                std::fs::read_to_string(path).unwrap(),
            )
        })
        .collect();
    found.sort();
    found
}

fn drive(text: &str) -> Drive {
    Drive::read(&Source::new("bench.yaml", text.into()).unwrap())
        .drive
        .unwrap()
}

/// The fastest run of each, by turns.
fn both(rounds: usize, mut one: impl FnMut(), mut other: impl FnMut()) -> [Duration; 2] {
    let mut fastest = [Duration::MAX; 2];
    let mut take = |place: usize, work: &mut dyn FnMut()| {
        let start = Instant::now();
        work();
        fastest[place] = fastest[place].min(start.elapsed());
    };
    for _ in 0..measured(rounds, 1) {
        take(0, &mut one);
        take(1, &mut other);
    }
    fastest
}

fn shown(time: Duration) -> String {
    let nanos = time.as_nanos() as f64;
    match nanos {
        ..2e3 => format!("{nanos:.0} ns"),
        ..2e6 => format!("{:.1} us", nanos / 1e3),
        ..2e9 => format!("{:.1} ms", nanos / 1e6),
        _ => format!("{:.2} s", nanos / 1e9),
    }
}

fn row(what: &str, figure: &str, beside: &str, ratio: f64, limit: &str, met: bool) {
    let met = if met { "met" } else { "**missed**" };
    println!("| {what} | {figure} | {beside} | {ratio:.2} | {limit} | {met} |");
}

fn ratio(a: Duration, b: Duration) -> f64 {
    a.as_secs_f64() / b.as_secs_f64()
}

/// Every coloured link on its dot, but for one camshaft two teeth behind.
fn two_behind(drive: &Drive) -> Observations {
    let mut seen = Observations::at_timed_position();
    let marked: Vec<_> = drive
        .engagements()
        .filter(|(_, sprocket)| sprocket.mark().is_some())
        .map(|(at, _)| at)
        .collect();
    for (i, at) in marked.iter().enumerate() {
        let what = if i + 1 == marked.len() {
            "2 behind"
        } else {
            "on"
        };
        seen.see_link(drive, *at, what.parse().unwrap()).unwrap();
    }
    seen
}

fn checks() {
    // Short runs, so that some of them are not interrupted.
    const TIMES: u32 = 200;
    for (name, most) in [("kestrel-four", 100), ("buzzard-v8", 200)] {
        let text = std::fs::read_to_string(root().join(format!("engines/{name}.yaml"))).unwrap();
        let drive = drive(&text);
        let seen = two_behind(&drive);
        let many = |work: &dyn Fn()| {
            for _ in 0..TIMES {
                work();
            }
        };
        let [steps, fractions] = both(
            4000,
            || {
                many(&|| {
                    drop(black_box(
                        prove(black_box(&drive), black_box(&seen)).unwrap(),
                    ))
                })
            },
            || {
                many(&|| {
                    drop(black_box(
                        prove_in_fractions(black_box(&drive), black_box(&seen)).unwrap(),
                    ))
                })
            },
        )
        .map(|time| time / TIMES);
        let times = ratio(fractions, steps);
        row(
            &format!("`prove`, {name}"),
            &shown(steps),
            &format!("in fractions {}", shown(fractions)),
            times,
            &format!("{most} ns, 6 times as fast"),
            steps <= Duration::from_nanos(most) && times >= 6.0,
        );
        let [steps, fractions] = both(
            1000,
            || {
                many(&|| {
                    drop(black_box(
                        check(black_box(&drive), black_box(&seen)).unwrap(),
                    ))
                })
            },
            || {
                many(&|| {
                    drop(black_box(
                        check_in_fractions(black_box(&drive), black_box(&seen)).unwrap(),
                    ))
                })
            },
        )
        .map(|time| time / TIMES);
        println!(
            "| `check`, with all that it says, {name} | {} | in fractions {} | {:.2} | none | |",
            shown(steps),
            shown(fractions),
            ratio(fractions, steps)
        );
    }
}

fn scratch(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name)
}

/// No two lines alike in what was seen.
fn lines(count: usize) -> String {
    let mut out = String::new();
    for n in 0..count {
        writeln!(
            out,
            "{{\"id\":\"engine-{n:08}\",\"turned\":\"2\",\"links\":{{}},\"dots\":{{\"crank\":\"on\",\"exhaust\":\"on\",\"intake\":\"{}.{:03} crank deg ahead\"}}}}",
            n / 1000 % 360,
            n % 1000
        )
        .unwrap();
    }
    out
}

fn tautmark(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tautmark"));
    command
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// Runs it; its status must be `expected`.
fn run(command: &mut Command, expected: i32) {
    assert_eq!(
        command.status().unwrap().code(),
        Some(expected),
        "{command:?}"
    );
}

fn streams() {
    let text = lines(measured(360_000, 1000));
    let path = scratch("ratios.jsonl");
    std::fs::write(&path, &text).unwrap();
    let spec = root().join("engines/kestrel-four.yaml");
    let (spec, path) = (spec.to_str().unwrap(), path.to_str().unwrap());
    for fields in ["all", "verdict"] {
        let stream = |jobs: &str| {
            run(
                &mut tautmark(&[
                    "check",
                    spec,
                    "--records",
                    path,
                    "--jobs",
                    jobs,
                    "--fields",
                    fields,
                ]),
                1,
            )
        };
        let [one, alone] = both(
            7,
            || stream("1"),
            || {
                for line in text.lines() {
                    black_box(serde_json::from_str::<serde_json::Value>(line).unwrap());
                }
            },
        );
        let times = ratio(one, alone);
        row(
            &format!("360,000 differing lines, one core, `--fields {fields}`"),
            &shown(one),
            &format!("serde_json reads them in {}", shown(alone)),
            times,
            "2",
            times <= 2.0,
        );
        let [one, two] = both(7, || stream("1"), || stream("2"));
        let times = ratio(one, two);
        row(
            &format!("the same on two cores, `--fields {fields}`"),
            &shown(two),
            &format!("one core {}", shown(one)),
            times,
            "1.8 times as fast",
            times >= 1.8,
        );
    }
    std::fs::remove_file(path).unwrap();
}

/// The most memory that a command took, in KiB.
fn touched(command: &mut Command) -> u64 {
    let mut child = command.spawn().unwrap();
    let mut most = 0;
    while child.try_wait().unwrap().is_none() {
        let status =
            std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        most = most.max(
            line.and_then(|line| line.split_whitespace().next()?.parse().ok())
                .unwrap_or(0),
        );
        std::thread::sleep(Duration::from_micros(500));
    }
    most
}

/// That of a stream of so many lines.
fn peak(count: usize) -> u64 {
    let path = scratch("ratios-memory.jsonl");
    std::fs::write(&path, lines(count)).unwrap();
    let spec = root().join("engines/kestrel-four.yaml");
    let most = touched(&mut tautmark(&[
        "check",
        spec.to_str().unwrap(),
        "--records",
        path.to_str().unwrap(),
        "--jobs",
        "2",
    ]));
    std::fs::remove_file(path).unwrap();
    most
}

fn memory() {
    let (few, many) = (peak(50_000), peak(measured(5_000_000, 50_000)));
    let times = many as f64 / few as f64;
    row(
        "memory for 5,000,000 lines",
        &format!("{:.1} MiB", many as f64 / 1024.0),
        &format!("50,000 lines {:.1} MiB", few as f64 / 1024.0),
        times,
        "the same",
        times <= 1.2,
    );
}

/// A program that does nothing, compiled as this one is.
fn nothing() -> PathBuf {
    let source = scratch("nothing.rs");
    std::fs::write(&source, "fn main() {}\n").unwrap();
    let program = scratch("nothing");
    let flags = [
        "-Copt-level=3",
        "-Ccodegen-units=1",
        "-Cpanic=abort",
        "-Clto=fat",
    ];
    let compiled = Command::new("rustc")
        .args(flags)
        .arg(&source)
        .arg("-o")
        .arg(&program)
        .status()
        .unwrap();
    assert!(compiled.success());
    program
}

fn processes() {
    let nothing = nothing();
    for (name, text) in engines() {
        let drive = drive(&text);
        let path = root().join(format!("engines/{name}.yaml"));
        let mut arguments = vec!["check".to_owned(), path.to_str().unwrap().to_owned()];
        for (at, sprocket) in drive.engagements() {
            if sprocket.mark().is_some() {
                arguments.push(format!(
                    "--link={}=on",
                    tautmark::timing::name_of(&drive, at)
                ));
            }
        }
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        // In time, or in time but for one more look.
        let expected = tautmark(&arguments).status().unwrap().code().unwrap();
        assert!(expected < 2);
        let [check, bare] = both(
            300,
            || run(&mut tautmark(&arguments), expected),
            || {
                run(
                    Command::new(&nothing)
                        .stdin(Stdio::null())
                        .stdout(Stdio::null()),
                    0,
                )
            },
        );
        let times = ratio(check, bare);
        row(
            &format!("`check`, {name}"),
            &shown(check),
            &format!("a program that does nothing {}", shown(bare)),
            times,
            "1.4",
            times <= 1.4,
        );
    }
}

/// Engines that differ in their names, and most of them by tenths of a millimetre.
fn lints() {
    let folder = scratch("ratios-lint");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let engines = engines();
    for n in 0..measured(10_000, 100) {
        // Every engine with every tenth, however many engines there are.
        let (tenth, engine) = (n / engines.len(), n % engines.len());
        let (_, text) = &engines[engine];
        let mut varied = String::new();
        for line in text.lines() {
            let line = match line.strip_prefix("engine:") {
                Some(name) => format!("engine: {n}{name}"),
                None => line.replace("1]", &format!("{}]", tenth % 10)),
            };
            varied += &line;
            varied.push('\n');
        }
        std::fs::write(folder.join(format!("{n:05}.yaml")), varied).unwrap();
    }
    let mut fastest = Duration::MAX;
    for _ in 0..measured(5, 1) {
        let start = Instant::now();
        run(&mut tautmark(&["lint", folder.to_str().unwrap()]), 1);
        fastest = fastest.min(start.elapsed());
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    row(
        "`lint` of 10,000 specs",
        &shown(fastest),
        &format!("on {cores} cores"),
        fastest.as_secs_f64(),
        "1 s",
        fastest <= Duration::from_secs(1),
    );
    std::fs::remove_dir_all(folder).unwrap();
}

fn readings() {
    for (name, text) in engines() {
        let [read, bare] = both(
            400,
            || drop(black_box(drive(black_box(&text)))),
            || {
                for event in granit_parser::Parser::new_from_str(black_box(&text)) {
                    let _ = black_box(event.unwrap());
                }
            },
        );
        let times = ratio(read, bare);
        row(
            &format!("reading {name}"),
            &shown(read),
            &format!("the parser's events alone {}", shown(bare)),
            times,
            "5",
            times <= 5.0,
        );
    }
}

/// A legal spec with so many camshafts on one chain, all with dowel holes, and as many valves and cylinders as there may be.
fn large(cams: usize) -> String {
    let mut text = String::from(
        "tautmark: 1\nengine: Large\ncrank_turns: clockwise\ntimed_position: cylinder 1 at TDC, compression stroke\nshafts:\n  crank: { kind: crankshaft }\n",
    );
    let mut path = String::new();
    for cam in 1..=cams {
        writeln!(
            text,
            "  c{cam}: {{ kind: camshaft, phaser: {{ range: 50, parked: retarded }} }}"
        )
        .unwrap();
        let holes: Vec<String> = (0..16)
            .map(|hole| format!("{}.5", 7 * hole + cam + 1))
            .collect();
        writeln!(
            path,
            "      - {{ sprocket: c{cam}, teeth: 40, link: {}, colour: yellow, dowel_holes: [{}] }}",
            cam * (1990 / (cams + 1)),
            holes.join(", ")
        )
        .unwrap();
    }
    write!(
        text,
        "chains:\n  main:\n    links: 2000\n    path:\n      - {{ sprocket: crank, teeth: 20, link: 0, colour: blue }}\n{path}\
         cylinders:\n  bore: 86\n  stroke: 90\n  rod: 154\n  compression: 10.8\n  deck: -0.3\n  gasket: 0.8\n  firing_order: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16]\nvalves:\n"
    )
    .unwrap();
    let valves = (2 * cams).min(32);
    for valve in 0..valves {
        let cam = 1 + valve % cams;
        let (kind, opens, closes) = if valve < cams {
            ("intake", "16 ATDC", "68 ABDC")
        } else {
            ("exhaust", "36 BBDC", "4 BTDC")
        };
        writeln!(
            text,
            "  v{valve}: {{ shaft: c{cam}, kind: {kind}, cylinders: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16], opens: {opens}, closes: {closes}, at_lift: 1, lift: 9.8, inclination: 13, recess: 1, relief: 3.6 }}"
        )
        .unwrap();
    }
    text
}

fn growth() {
    let sizes = [1, 2, 4, 8, 15];
    let mut curves: Vec<(&str, Vec<f64>)> = Vec::new();
    let page = scratch("ratios-page.html");
    for (what, status) in [
        ("table", 0),
        ("explain", 1),
        ("page", 0),
        ("draw", 0),
        ("sweep", 0),
    ] {
        let mut curve = Vec::new();
        for cams in sizes {
            let spec = scratch(&format!("ratios-{cams}.yaml"));
            std::fs::write(&spec, large(cams)).unwrap();
            let spec = spec.to_str().unwrap();
            let off: Vec<String> = (1..=cams)
                .map(|cam| format!("c{cam}={cam}.37 crank deg behind"))
                .collect();
            let mut arguments: Vec<&str> = match what {
                "table" => vec!["roll", spec, "--turned", "0", "--table", "--format", "json"],
                // Nothing makes up amounts like these exactly, so all sets of faults have to be tried.
                "explain" => vec!["explain", spec, "--tolerance", "0"],
                "page" => vec!["page", spec, "-o", page.to_str().unwrap()],
                "draw" => vec!["draw", spec],
                _ => vec!["slip", spec, "c1", "--sweep", "-20..20"],
            };
            if what == "explain" {
                arguments.extend(off.iter().map(String::as_str));
            }
            let mut fastest = Duration::MAX;
            for _ in 0..measured(5, 1) {
                let _ = std::fs::remove_file(&page);
                let start = Instant::now();
                run(&mut tautmark(&arguments), status);
                fastest = fastest.min(start.elapsed());
            }
            curve.push(fastest.as_secs_f64() * 1e3);
        }
        let (first, last) = (curve[0], curve[sizes.len() - 1]);
        row(
            &format!("`{what}` of the largest spec"),
            &format!("{last:.1} ms"),
            &format!("with one camshaft {first:.1} ms"),
            last / first,
            "1 s",
            last <= 1000.0,
        );
        curves.push((what, curve));
    }
    let _ = std::fs::remove_file(&page);
    println!(
        "\nMilliseconds of each command by the number of camshafts, both on scales of powers:\n"
    );
    println!("```text");
    print!("{}", plot(&sizes, &curves));
    println!("```");
}

/// Every command on the largest specs: of each kind of command the run that took longest, and the one that took most memory.
fn largest() {
    let mut worst: Vec<(String, Duration, u64)> = Vec::new();
    let page = scratch("ratios-largest.html");
    for large in large::Large::ALL {
        let spec = scratch(&format!("ratios-{large:?}.yaml"));
        std::fs::write(&spec, large::spec(large)).unwrap();
        let commands = large::commands(spec.to_str().unwrap(), large, page.to_str().unwrap());
        for (words, status) in commands {
            let name = words[0].clone();
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let mut fastest = Duration::MAX;
            for _ in 0..measured(3, 1) {
                let start = Instant::now();
                run(&mut tautmark(&words), status);
                fastest = fastest.min(start.elapsed());
            }
            let memory = touched(&mut tautmark(&words));
            match worst.iter_mut().find(|(known, ..)| *known == name) {
                Some((_, time, most)) => {
                    *time = fastest.max(*time);
                    *most = memory.max(*most);
                }
                None => worst.push((name, fastest, memory)),
            }
        }
        std::fs::remove_file(spec).unwrap();
    }
    let _ = std::fs::remove_file(page);
    for (name, time, memory) in worst {
        row(
            &format!("the longest `{name}` of the largest specs"),
            &shown(time),
            &format!("most memory {:.1} MiB", memory as f64 / 1024.0),
            time.as_secs_f64(),
            "1 s, 200 MiB",
            time <= Duration::from_secs(1) && memory <= 200 << 10,
        );
    }
}

/// One letter a curve: to the right the number of camshafts, upwards the time.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn plot(sizes: &[usize], curves: &[(&str, Vec<f64>)]) -> String {
    const PER_DECADE: f64 = 6.0;
    const PER_DOUBLING: f64 = 12.0;
    let row = |value: f64| (value.max(1.0).log10() * PER_DECADE).round() as usize;
    let column = |size: usize| ((size as f64).log2() * PER_DOUBLING).round() as usize;
    let height = row(1000.0) + 1;
    let width = column(sizes[sizes.len() - 1]) + 1;
    let mut paper = vec![vec![' '; width]; height];
    for (name, curve) in curves {
        let letter = name.chars().next().unwrap();
        for (size, value) in sizes.iter().zip(curve) {
            let place = &mut paper[row(*value).min(height - 1)][column(*size)];
            *place = if *place == ' ' { letter } else { '*' };
        }
    }
    let mut out = String::new();
    for (i, line) in paper.iter().enumerate().rev() {
        let text: String = line.iter().collect();
        let mark = if i as f64 % PER_DECADE == 0.0 {
            format!("{:>5} |", 10_f64.powf(i as f64 / PER_DECADE))
        } else {
            "      |".into()
        };
        writeln!(out, "{mark}{}", text.trim_end()).unwrap();
    }
    let mut below = String::new();
    for size in sizes {
        let text = size.to_string();
        while below.len() < column(*size) {
            below.push(' ');
        }
        below += &text;
    }
    writeln!(out, "      +{}\n       {below}", "-".repeat(width)).unwrap();
    let names: Vec<&str> = curves.iter().map(|(name, _)| *name).collect();
    writeln!(
        out,
        "{} (by their first letters; * where several meet; the upper edge is the limit)",
        names.join(", ")
    )
    .unwrap();
    out
}
