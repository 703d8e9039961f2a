//! The page in a real browser: headless Chromium, driven over WebDriver on the loopback interface.
//!
//! Needs `chromium` and `chromedriver` (Debian: `chromium`, `chromium-driver`), and fails without them:
//! `cargo test --features browser-tests --test browser`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_arithmetic,
    reason = "a test that cannot go on must fail"
)]

#[path = "support/mod.rs"]
mod support;

use serde_json::{Value, json};
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Instant;
use support::program::{PATIENCE, engine, scratch, tautmark};
use tautmark::{
    Drive, Source, link_named,
    render::{Picture, scene_json},
    timing::Pose,
    units::{CrankDegrees, Exact, Teeth, Turns},
    valves::{Slip, Slips, cylinder_poses, sprocket_named},
};

/// A browser of this test's own; it ends with the test.
struct Browser {
    driver: Child,
    port: u16,
    session: String,
}

impl Browser {
    fn start(test: &str) -> Self {
        // The driver takes a port that is free, and says which.
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is not there: install chromium and chromium-driver");
        let mut says = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = says
            .by_ref()
            .find_map(|line| {
                let line = line.unwrap();
                let (_, port) = line.split_once("started successfully on port ")?;
                port.trim_end_matches('.').parse().ok()
            })
            .expect("chromedriver names its port");
        // It must not find its output closed.
        std::thread::spawn(move || says.for_each(drop));
        let mut browser = Self {
            driver,
            port,
            session: String::new(),
        };
        let profile = scratch(&format!("profile-{test}"));
        let arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ];
        let mut arguments: Vec<String> = arguments.map(str::to_owned).to_vec();
        arguments.push(format!("--user-data-dir={}", profile.display()));
        let answer = browser.call(
            "POST",
            "/session",
            &json!({ "capabilities": { "alwaysMatch": {
                "browserName": "chrome",
                "goog:loggingPrefs": { "browser": "ALL" },
                "goog:chromeOptions": { "args": arguments },
            } } }),
        );
        browser.session = format!("/session/{}", answer["sessionId"].as_str().unwrap());
        browser
    }

    /// One WebDriver command, as plain HTTP.
    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let body = if method == "POST" {
            body.to_string()
        } else {
            String::new()
        };
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.port,
            body.len()
        )
        .unwrap();
        let mut head = Vec::new();
        let mut byte = [0];
        while !head.ends_with(b"\r\n\r\n") {
            stream.read_exact(&mut byte).unwrap();
            head.push(byte[0]);
        }
        let head = String::from_utf8(head).unwrap().to_lowercase();
        let length: usize = head
            .lines()
            .find_map(|line| line.strip_prefix("content-length:"))
            .unwrap()
            .trim()
            .parse()
            .unwrap();
        let mut answer = vec![0; length];
        stream.read_exact(&mut answer).unwrap();
        let answer: Value = serde_json::from_slice(&answer).unwrap();
        assert!(
            head.starts_with("http/1.1 200"),
            "{method} {path}: {answer}"
        );
        answer["value"].clone()
    }

    fn post(&self, path: &str, body: &Value) -> Value {
        self.call("POST", &format!("{}{path}", self.session), body)
    }

    /// Opens one of the page's ways to look at an engine; empty: where it begins.
    fn open(&self, page: &std::path::Path, mode: &str) {
        self.open_address(&format!("file://{}#{mode}", page.display()));
    }

    fn open_address(&self, address: &str) {
        // From elsewhere, so that it is read anew; what was logged before belongs to another page.
        self.post("/url", &json!({ "url": "about:blank" }));
        self.log();
        self.post("/url", &json!({ "url": address }));
        self.until("document.body.dataset.ready === 'yes'");
    }

    /// Waits until that is so.
    fn until(&self, condition: &str) {
        let start = Instant::now();
        while self.script(&format!("return Boolean({condition})")) != json!(true) {
            assert!(start.elapsed() < PATIENCE, "never: {condition}");
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
    }

    /// Taps an answer at the engine, once the screen takes one, and waits for the next screen.
    fn tap(&self, selector: &str) {
        std::thread::sleep(std::time::Duration::from_millis(400));
        self.script("document.querySelector('main > *').dataset.before = 'yes'");
        self.click(&format!("main {selector}"));
        self.until("!document.querySelector('main [data-before]')");
    }

    /// Nothing was asked for, nothing logged, and no rule of accessibility is broken.
    fn assert_accessible(&self, place: &str) {
        let checker = include_str!("axe/axe.min.js");
        // Through the developer's door: the page's own policy would not let it in.
        let answer = self.devtools_answer(
            "Runtime.evaluate",
            &json!({
                "expression": format!("{checker}\n;axe.run(document, {{ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], resultTypes: ['violations'] }}).then(found => JSON.stringify([found.passes.length, found.violations.map(v => [v.id, v.nodes.map(n => n.target.join(' '))])]))"),
                "awaitPromise": true,
                "returnByValue": true,
            }),
        );
        let found: Value =
            serde_json::from_str(answer["result"]["value"].as_str().unwrap()).unwrap();
        assert!(
            found[0].as_u64().unwrap() > 5,
            "{place}: it looked at nothing: {found}"
        );
        assert_eq!(found[1], json!([]), "{place}");
    }

    fn sized(&self, (width, height): (u32, u32)) {
        self.devtools(
            "Emulation.setDeviceMetricsOverride",
            &json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false }),
        );
    }

    fn script(&self, script: &str) -> Value {
        self.post("/execute/sync", &json!({ "script": script, "args": [] }))
    }

    fn text(&self, selector: &str) -> String {
        let text = self.script(&format!(
            "return document.querySelector('{selector}').textContent"
        ));
        text.as_str()
            .unwrap_or_else(|| panic!("{selector}: {text}"))
            .to_owned()
    }

    fn log(&self) -> Value {
        self.post("/se/log", &json!({ "type": "browser" }))
    }

    fn devtools(&self, command: &str, parameters: &Value) {
        self.devtools_answer(command, parameters);
    }

    fn devtools_answer(&self, command: &str, parameters: &Value) -> Value {
        self.post(
            "/goog/cdp/execute",
            &json!({ "cmd": command, "params": parameters }),
        )
    }

    /// Clicks as a pointer does; fails if something lies over it.
    fn click(&self, selector: &str) {
        let element = self.element(selector);
        self.post(&format!("/element/{element}/click"), &json!({}));
    }

    /// Types with the focus on that element.
    fn keys(&self, selector: &str, keys: &str) {
        let element = self.element(selector);
        self.post(
            &format!("/element/{element}/value"),
            &json!({ "text": keys }),
        );
    }

    fn element(&self, selector: &str) -> String {
        let found = self.post(
            "/element",
            &json!({ "using": "css selector", "value": selector }),
        );
        let id = found.as_object().unwrap().values().next().unwrap();
        id.as_str().unwrap().to_owned()
    }

    /// Nothing was logged, and nothing asked for.
    fn assert_quiet(&self) {
        assert_eq!(self.log(), json!([]), "the console");
        assert_eq!(
            self.script("return performance.getEntriesByType('resource').map(e => e.name)"),
            json!([])
        );
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() && !std::thread::panicking() {
            self.call("DELETE", &self.session, &Value::Null);
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

fn page(spec: &str, test: &str) -> PathBuf {
    page_of(&[spec], test)
}

/// A page of several engines, of which the reader chooses one.
fn page_of(specs: &[&str], test: &str) -> PathBuf {
    let file = scratch(&format!("browser-{test}")).join("page.html");
    let outcome = tautmark(&[&["page"][..], specs, &["-o", file.to_str().unwrap()]].concat());
    assert_eq!(outcome.status, Some(0), "{outcome:?}");
    file
}

fn drive(spec: &str) -> Drive {
    let source = Source::new(spec, std::fs::read(spec).unwrap()).unwrap();
    Drive::read(&source).drive.unwrap()
}

/// Every link and every dot is where the library's own picture has it.
fn assert_placed(browser: &Browser, drive: &Drive, turned: Exact, slips: &[(&str, i64)]) {
    let slips: Vec<_> = slips
        .iter()
        .map(|(name, teeth)| (link_named(drive, name).unwrap(), Teeth::whole(*teeth)))
        .collect();
    let pose = Pose::slipped(drive, Turns::new(turned), &slips).unwrap();
    let links = browser.script(
        "return [...document.querySelectorAll('g.link[data-chain]')].map(g => [+g.dataset.chain, +g.dataset.link, ...g.getAttribute('transform').match(/[-0-9.]+/g).map(Number)])",
    );
    let links = links.as_array().unwrap();
    let marks = browser.script(
        "return [...document.querySelectorAll('g.mark')].map(g => [+g.dataset.mark, ...g.getAttribute('transform').match(/[-0-9.]+/g).map(Number)])",
    );
    let marks = marks.as_array().unwrap();
    let (mut seen_links, mut seen_marks) = (0, 0);
    for (id, _) in drive.chains() {
        let picture = Picture::new(drive, &pose, id).unwrap();
        for link in &picture.links {
            let there = links
                .iter()
                .find(|there| there[0] == json!(id.index()) && there[1] == json!(link.number))
                .unwrap();
            let middle = link.middle();
            let off = (there[2].as_f64().unwrap() - middle.x)
                .hypot(there[3].as_f64().unwrap() + middle.y);
            assert!(
                off < 0.05,
                "link {} is {off} mm off at {turned}",
                link.number
            );
            seen_links += 1;
        }
        for sprocket in &picture.sprockets {
            let Some((clock, _)) = sprocket.dot else {
                continue;
            };
            let there = marks
                .iter()
                .find(|there| {
                    there[0]
                        == json!(
                            drive
                                .engagements()
                                .position(|(at, _)| at == sprocket.stand.at)
                        )
                })
                .unwrap();
            let off = (there[3].as_f64().unwrap() - clock + 180.0).rem_euclid(360.0) - 180.0;
            assert!(off.abs() < 0.02, "a dot is {off} degrees off at {turned}");
            seen_marks += 1;
        }
    }
    assert_eq!((seen_links, seen_marks), (links.len(), marks.len()));
    assert!(seen_links > 50 && seen_marks > 1);
}

fn slip_json(spec: &str, slips: &[&str]) -> Value {
    let mut arguments = vec!["slip", spec];
    arguments.extend(slips);
    arguments.extend(["--format", "json"]);
    tautmark(&arguments).json()
}

/// The shafts' errors and the valves' tables as shown are those of the command line.
fn assert_shown(browser: &Browser, spec: &str, slips: &[&str]) {
    let said = slip_json(spec, slips);
    for shaft in said["shafts"].as_array().unwrap() {
        let shown = browser.script(&format!(
            "const d = document.querySelector('#shafts tr[data-shaft=\"{}\"]').dataset; return [d.offTeeth, d.offCrankDegrees]",
            shaft["shaft"].as_str().unwrap()
        ));
        assert_eq!(
            shown,
            json!([shaft["off_teeth"], shaft["off_crank_degrees"]]),
            "{slips:?}"
        );
    }
    let mut arguments = vec!["slip", spec];
    arguments.extend(slips);
    let words = tautmark(&arguments).stdout;
    let tables = browser.script(
        "return [...document.querySelectorAll('#events tr')].filter(r => r.cells.length === 3 && r.cells[0].textContent).map(r => [...r.cells].map(c => c.textContent))",
    );
    let tables = tables.as_array().unwrap();
    let rows: Vec<&str> = words
        .lines()
        .filter(|line| line.starts_with("    "))
        .skip(1)
        .collect();
    assert!(tables.len() > 8);
    for (shown, said) in tables.iter().zip(&rows) {
        let said: Vec<&str> = said
            .split("  ")
            .map(str::trim)
            .filter(|cell| !cell.is_empty())
            .collect();
        assert_eq!(*shown, json!(said), "{slips:?}");
    }
    let meets = words.lines().nth(3).unwrap();
    assert_eq!(browser.text("#meeting"), meets);
}

const ROW: &str = "#sprockets .row";
const PHONE: (u32, u32) = (360, 740);
const PROJECTOR: (u32, u32) = (1920, 1080);

#[test]
fn the_page_shows_what_the_library_says() {
    let browser = Browser::start("kestrel");
    let spec = engine("kestrel-four");
    let drive = drive(&spec);
    browser.open(&page(&spec, "kestrel"), "class");
    browser.assert_quiet();
    assert_eq!(browser.text("h1"), "Kestrel 2.0 inline-four");
    assert_eq!(browser.text("#place"), "Timed position");
    assert_eq!(browser.text("#timing"), "In time: exhaust, intake.");
    assert_shown(&browser, &spec, &[]);
    assert_placed(&browser, &drive, Exact::ZERO, &[]);

    // The slider by keyboard: a degree each.
    browser.keys("#crank", &"\u{e014}".repeat(35));
    assert_eq!(browser.text("#place"), "35 crank degrees");
    assert_eq!(
        browser.script("return document.getElementById('crank').getAttribute('aria-valuetext')"),
        "35 crank degrees"
    );
    assert_placed(&browser, &drive, Exact::parse("7/72").unwrap(), &[]);
    // To the end of the cycle, on by two turns, to the turn of return, and back.
    browser.keys("#crank", "\u{e010}");
    assert_eq!(browser.text("#place"), "2 crank turns");
    assert_placed(&browser, &drive, Exact::whole(2), &[]);
    browser.click("#on");
    assert_eq!(browser.text("#place"), "4 crank turns");
    assert_placed(&browser, &drive, Exact::whole(4), &[]);
    assert!(
        browser.text("#dots").contains("every 118"),
        "{}",
        browser.text("#dots")
    );
    browser.click("#return");
    assert_eq!(browser.text("#place"), "118 crank turns");
    assert!(
        browser
            .text("#dots")
            .contains("Every coloured link is on its dot now.")
    );
    assert_placed(&browser, &drive, Exact::ZERO, &[]);
    browser.click("#timed");

    // A tooth by the pointer, a second one by the keyboard; the focus stays.
    let behind = format!("{ROW}:nth-child(3) button:nth-of-type(1)");
    browser.click(&behind);
    assert_shown(&browser, &spec, &["intake=-1"]);
    assert_eq!(
        browser.text("#timing"),
        "OUT OF TIME: intake 1 tooth, 20 crank degrees behind (late)."
    );
    assert!(
        browser
            .text("#marks")
            .contains("link 67 on its dot; link 68 belongs there")
    );
    assert_placed(&browser, &drive, Exact::ZERO, &[("intake", -1)]);
    browser.keys(&behind, " ");
    assert_shown(&browser, &spec, &["intake=-2"]);
    browser.keys(
        &format!("{ROW}:nth-child(2) button:nth-of-type(2)"),
        "\u{e007}",
    );
    browser.keys(
        &format!("{ROW}:nth-child(1) button:nth-of-type(1)"),
        "\u{e007}\u{e007}",
    );
    let slips = ["intake=-2", "exhaust=+1", "crank=-2"];
    assert_shown(&browser, &spec, &slips);
    browser.keys("#crank", &"\u{e014}".repeat(3));
    assert_placed(
        &browser,
        &drive,
        Exact::parse("3/360").unwrap(),
        &[("intake", -2), ("exhaust", 1), ("crank", -2)],
    );
    // No further than the tables go, and then they meet.
    browser.click("#right");
    assert_shown(&browser, &spec, &[]);
    browser.keys(
        &format!("{ROW}:nth-child(3) button:nth-of-type(2)"),
        &" ".repeat(6),
    );
    assert_shown(&browser, &spec, &["intake=+4"]);
    assert!(browser.text("#meeting").contains("MEET"));
    let announced = browser.script(
        "const v = document.getElementById('verdict'); return [v.getAttribute('aria-live'), v.contains(document.getElementById('meeting'))]",
    );
    assert_eq!(announced, json!(["polite", true]));
    browser.assert_quiet();

    // It runs by itself, unless that is not wanted.
    browser.click("#timed");
    browser.click("#run");
    let start = Instant::now();
    while browser.text("#place") == "Timed position" {
        assert!(start.elapsed() < PATIENCE, "it does not run");
    }
    browser.click("#run");
    assert_eq!(browser.text("#run"), "Run");
    browser.devtools(
        "Emulation.setEmulatedMedia",
        &json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] }),
    );
    browser.post("/refresh", &json!({}));
    browser.until("document.body.dataset.ready === 'yes'");
    assert_eq!(browser.text("#run"), "A quarter turn on");
    browser.click("#timed");
    browser.click("#run");
    // Had it gone on running, it would be elsewhere a few pictures later.
    browser.script(
        "return new Promise(done => { let n = 10; const next = () => n-- ? requestAnimationFrame(next) : done(n); next(); })",
    );
    assert_eq!(browser.text("#place"), "90 crank degrees");
    assert_placed(
        &browser,
        &drive,
        Exact::parse("1/4").unwrap(),
        &[("intake", 4)],
    );
    browser.assert_quiet();
}

/// How the drive is hung: sprockets with teeth, phasers with crank degrees ahead, thousandths of wear.
#[derive(Clone, Copy)]
struct Hung<'a> {
    slips: &'a [(&'a str, i64)],
    phasers: &'a [(&'a str, i64)],
    wear: i64,
}

impl Hung<'_> {
    fn of(&self, drive: &Drive) -> Slips {
        let mut slips = Slips::none();
        for (name, teeth) in self.slips {
            let at = sprocket_named(drive, name).unwrap();
            slips
                .slip(drive, at, Slip::Teeth(Teeth::whole(*teeth)))
                .unwrap();
        }
        for (name, ahead) in self.phasers {
            let shaft = drive.shaft_named(name).unwrap();
            slips
                .phaser(drive, shaft, CrankDegrees::whole(*ahead))
                .unwrap();
        }
        if self.wear > 0 {
            slips
                .wear(drive, Exact::fraction(self.wear, 1000).unwrap())
                .unwrap();
        }
        slips
    }

    /// As the address has it.
    fn address(&self) -> String {
        let slips = self
            .slips
            .iter()
            .map(|(name, by)| format!("&slip={name}:{by}"));
        let phasers = self.phasers.iter();
        let phasers = phasers.map(|(name, by)| format!("&phaser={name}:{by}"));
        let all: String = slips.chain(phasers).collect();
        format!("{all}&wear={}", self.wear)
    }
}

/// Everything that turns with the crankshaft is where the library has it: dots and links, the cylinder that is shown with
/// its piston, its valves and their gaps, the pointer of the circle, the cursor of the lift plot, every cylinder's stroke.
fn assert_at(browser: &Browser, drive: &Drive, degrees: Exact, hung: Hung<'_>, cylinder: u8) {
    let turned = degrees.checked_div(Exact::whole(360)).unwrap();
    assert_placed(browser, drive, turned, hung.slips);
    let errors = hung.of(drive).errors(drive).unwrap();
    let poses = cylinder_poses(drive, Turns::new(turned), &errors).unwrap();
    let shown = browser.script(
        "const number = (part) => part && Number(part.getAttribute('transform').match(/-?[0-9.]+/g)[part.getAttribute('transform').startsWith('translate(0 ') ? 1 : 0]); const on = [...document.querySelectorAll('.cylinder:not([hidden])')].at(-1); \
         return { strokes: [...document.querySelectorAll('.order button')].map(b => [Number(b.dataset.cylinder), b.dataset.stroke]), title: on.querySelector('h4').textContent, piston: number(on.querySelector('[data-piston]')), \
         gaps: [...on.querySelectorAll('.gaps > div')].map(d => [Number(d.dataset.gapOf), Number(d.dataset.gapMm), Number(d.dataset.liftMm), d.querySelector('.state').dataset.state, d.textContent]), \
         valves: [...on.querySelectorAll('[data-valve]')].map(g => [Number(g.dataset.valve), ...g.getAttribute('transform').match(/-?[0-9.]+/g).map(Number)]), \
         pointer: number(document.querySelector('figure:not(.away) [data-pointer]')), cursor: number(document.querySelector('figure:not(.away) [data-cursor]')) }",
    );
    let strokes: Vec<Value> = poses
        .iter()
        .map(|pose| json!([pose.cylinder, pose.stroke.word()]))
        .collect();
    assert_eq!(shown["strokes"], Value::Array(strokes), "{degrees}");
    let pose = poses.iter().find(|pose| pose.cylinder == cylinder).unwrap();
    let near = |shown: &Value, is: f64, what: &str| {
        let there = shown.as_f64().unwrap();
        assert!(
            (there - is).abs() < 0.002,
            "{what} at {degrees}: {there} is shown, {is} is right"
        );
    };
    let title = shown["title"].as_str().unwrap();
    assert!(title.contains(&format!("Cylinder {cylinder}, ")), "{title}");
    near(&shown["piston"], pose.travel_mm, "piston");
    let place = pose.place.get().to_f64();
    near(&shown["pointer"], place.rem_euclid(360.0), "pointer");
    // The plot has 62 to its left, and 520 for the cycle.
    near(&shown["cursor"], 62.0 + 520.0 * place / 720.0, "cursor");
    let gaps = shown["gaps"].as_array().unwrap();
    assert_eq!(gaps.len(), pose.valves.len());
    for (shown_gap, valve) in gaps.iter().zip(&pose.valves) {
        let gap = valve.gap_mm.unwrap();
        assert_eq!(shown_gap[0], valve.valve);
        near(&shown_gap[1], gap, "gap");
        near(&shown_gap[2], valve.lift_mm.unwrap(), "lift");
        let state = match gap {
            gap if gap <= 0.0 => "meet",
            gap if gap < 1.0 => "close",
            _ => "clear",
        };
        assert_eq!(shown_gap[3], state, "{degrees}: {gap}");
        let words = shown_gap[4].as_str().unwrap();
        assert!(words.contains(&format!("{:.2} mm", gap.abs())), "{words}");
        let moved = shown["valves"].as_array().unwrap();
        let moved = moved.iter().find(|moved| moved[0] == valve.valve).unwrap();
        let (x, y) = (moved[1].as_f64().unwrap(), moved[2].as_f64().unwrap());
        near(&json!(x.hypot(y)), valve.lift_mm.unwrap(), "valve");
    }
}

/// Twenty places all over the return, hung right and wrong, phasers moved and chains worn, against the library.
#[test]
fn everything_follows_the_crankshaft() {
    let browser = Browser::start("crank");
    let right = Hung {
        slips: &[],
        phasers: &[],
        wear: 0,
    };
    let all = [
        ("kestrel-four", 1, right),
        (
            "kestrel-four",
            3,
            Hung {
                slips: &[("intake", 4), ("exhaust", -1)],
                phasers: &[("intake", 17)],
                wear: 7,
            },
        ),
        (
            "buzzard-v8",
            6,
            Hung {
                slips: &[("right/crank", 1), ("left-intake", -2)],
                phasers: &[("right-intake", 50)],
                wear: 0,
            },
        ),
    ];
    for (name, cylinder, hung) in all {
        let spec = engine(name);
        let drive = drive(&spec);
        let file = page(&spec, &format!("crank-{name}"));
        let last = if name == "kestrel-four" { 118 } else { 136 };
        browser.sized((1280, 720));
        browser.open(
            &file,
            &format!("class?engine={name}&cylinder={cylinder}{}", hung.address()),
        );
        assert_eq!(browser.text("#notice"), "");
        assert_at(&browser, &drive, Exact::ZERO, hung, cylinder);
        // A prime number of degrees apart, so that every part of the cycle is met; by both sliders, as a hand does it.
        for i in 1..20 {
            let degrees = i * 2_111 % (last * 360);
            let base = degrees / 720 * 2;
            browser.script(&format!(
                "const put = (id, value) => {{ const slider = document.getElementById(id); slider.value = value; slider.dispatchEvent(new Event('input')) }}; put('round', {base}); put('crank', {})",
                degrees - base * 360
            ));
            assert_at(&browser, &drive, Exact::whole(degrees), hung, cylinder);
        }
        // A tooth of the crankshaft's sprocket, back and on, from where a degree had come to.
        let teeth = drive
            .sprocket(drive.shaft(drive.crank()).engagements()[0])
            .teeth()
            .get();
        browser.script("document.getElementById('timed').click(); const s = document.getElementById('step'); s.selectedIndex = 0");
        browser.click("#more-step");
        assert_at(&browser, &drive, Exact::ONE, hung, cylinder);
        browser.script(&format!(
            "document.getElementById('step').value = '{teeth}'"
        ));
        browser.click("#more-step");
        let tooth = Exact::fraction(360, i64::from(teeth)).unwrap();
        assert_at(&browser, &drive, tooth, hung, cylinder);
        browser.click("#less");
        assert_at(&browser, &drive, Exact::ZERO, hung, cylinder);
        browser.assert_quiet();
    }
}

/// What an address says is on the page, and what is on the page is in the address after a reload.
#[test]
fn the_address_holds_what_is_shown() {
    let browser = Browser::start("address");
    let spec = engine("kestrel-four");
    let drive = drive(&spec);
    let file = page(&spec, "address");
    browser.sized((1280, 720));
    browser.open(&file, "class");
    let hung = Hung {
        slips: &[("intake", 3)],
        phasers: &[("intake", 20)],
        wear: 4,
    };
    browser.script(
        "const put = (id, value) => { const slider = document.getElementById(id); slider.value = value; slider.dispatchEvent(new Event('input')) }; put('phaser-0', 20); put('wear', 4); put('speed', 33); put('round', 40); put('crank', 77); document.getElementById('keep').click()",
    );
    let ahead = format!("{ROW}:nth-child(3) button:nth-of-type(2)");
    browser.keys(&ahead, "   ");
    browser.click("[data-cylinder='4']");
    browser.script("const s = document.getElementById('step'); s.selectedIndex = 2; s.dispatchEvent(new Event('change'))");
    let all = "return ['place', 'timing', 'meeting', 'besides', 'pace', 'both', 'events', 'shafts'].map(id => document.getElementById(id).textContent).concat([...document.querySelectorAll('.cylinder')].map(c => c.textContent), document.getElementById('step').selectedIndex)";
    let before = browser.script(all);
    browser.until("location.hash.includes('cylinder=4') && location.hash.includes('step=2')");
    browser.post("/refresh", &json!({}));
    browser.until("document.body.dataset.ready === 'yes'");
    assert_eq!(browser.script(all), before);
    assert_eq!(browser.text("#notice"), "");
    assert_eq!(browser.text("#place"), "40 crank turns and 77 degrees");
    assert!(
        before.to_string().contains("A and B side by side"),
        "{before}"
    );
    // A's lift stands beside B's; A has a phaser and wear, so both camshafts are off by something of it.
    let curves = "return document.querySelectorAll('.kept .curve').length";
    assert_eq!(browser.script(curves), json!(6));
    // The second of the two cylinders is B, the one that the buttons change.
    browser.click("#keep");
    assert_eq!(browser.script(curves), json!(0));
    assert_at(&browser, &drive, Exact::whole(40 * 360 + 77), hung, 4);
    // Elsewhere on the page and back it is as it was left.
    browser.click("nav a[href='#desk']");
    browser.until("document.querySelector('#spec-text')");
    browser.click("nav a[href='#class']");
    browser.until("document.querySelector('#crank')");
    assert_eq!(browser.text("#place"), "40 crank turns and 77 degrees");
    browser.assert_quiet();
    // A tooth that is no whole degree comes back, too.
    let spec = engine("siskin-v6");
    browser.open(&page(&spec, "address-tooth"), "class");
    browser.script("document.getElementById('step').selectedIndex = 2");
    browser.click("#more-step");
    let place = browser.text("#place");
    browser.until("location.hash.includes('crank=')");
    browser.post("/refresh", &json!({}));
    browser.until("document.body.dataset.ready === 'yes'");
    assert_eq!(browser.text("#place"), place);
}

/// Nonsense in an address harms nothing, and it is told what was left out.
#[test]
fn an_address_with_nonsense_is_told() {
    let browser = Browser::start("nonsense");
    let spec = engine("kestrel-four");
    let drive = drive(&spec);
    let file = page(&spec, "nonsense");
    let right = Hung {
        slips: &[],
        phasers: &[],
        wear: 0,
    };
    for (address, told) in [
        ("crank=1e9", "crank=1e9"),
        ("crank=99999999", "crank=99999999"),
        ("crank=1/7", "crank=1/7"),
        ("crank=1/0", "crank=1/0"),
        ("crank=-3", "crank=-3"),
        ("slip=intake:5", "slip=intake:5"),
        ("slip=intake:0.5", "slip=intake:0.5"),
        ("slip=nobody:1", "slip=nobody:1"),
        ("slip=1", "slip=1"),
        ("slip=", "slip="),
        ("phaser=exhaust:1", "phaser=exhaust:1"),
        ("phaser=intake:51", "phaser=intake:51"),
        ("wear=21", "wear=21"),
        ("wear=x", "wear=x"),
        ("cylinder=9", "cylinder=9"),
        ("cylinder=__proto__", "cylinder=__proto__"),
        ("speed=0", "speed=0"),
        ("step=7", "step=7"),
        ("a=1&a-slip=<img src=x onerror=alert(1)>:1", "a-slip=<img"),
        ("%00%ff=%u", "Left out"),
        ("engine=heron-v6&slip=intake:1", "heron-v6"),
        ("engine=", "not in this page"),
    ] {
        browser.open(&file, &format!("class?{address}"));
        assert!(
            browser.text("#notice").contains(told),
            "{address}: {}",
            browser.text("#notice")
        );
        assert_eq!(
            browser.text("#timing"),
            "In time: exhaust, intake.",
            "{address}"
        );
        assert_at(&browser, &drive, Exact::ZERO, right, 1);
        browser.assert_quiet();
    }
    // What is right beside it counts.
    browser.open(&file, "class?slip=intake:1&slip=intake:99&crank=10");
    assert!(browser.text("#notice").contains("slip=intake:99"));
    assert_eq!(browser.text("#place"), "10 crank degrees");
    // A way that there is none is where the page begins.
    browser.open(&file, "nowhere?crank=10");
    assert_eq!(browser.script("return document.body.dataset.mode"), "home");
}

/// What belongs together is seen together: nothing to scroll for, nothing cut off, letters that can be read.
#[test]
fn the_class_is_on_one_screen_of_a_projector() {
    let browser = Browser::start("stage");
    for name in [
        "kestrel-four",
        "buzzard-v8",
        "siskin-v6",
        "wren-single",
        "heron-v6",
        "plover-three",
    ] {
        let spec = engine(name);
        let file = page(&spec, &format!("stage-{name}"));
        for (width, height) in [(1280, 720), (1920, 1080)] {
            browser.sized((width, height));
            for address in ["class", "class?a=1&crank=430"] {
                browser.open(&file, address);
                let out = browser.script(
                    "const out = []; const high = document.documentElement.clientHeight, wide = document.documentElement.clientWidth; \
                     const seen = ['#drive', '#verdict', '#run', '#less', '#more-step', '#step', '#crank', '#round', '#speed', '#place', '#timed', '.estimate', '#sprockets button', '.order button', '.cylinder:not([hidden]) .section', '.cylinder:not([hidden]) .gaps > div', 'figure:not(.away) .plot', '.lacking li']; \
                     for (const selector of seen) for (const part of document.querySelectorAll(selector)) { const r = part.getBoundingClientRect(); \
                       if (!part.offsetParent && !part.ownerSVGElement && part.tagName !== 'svg') continue; \
                       if (part.textContent === '' && selector === '.estimate') continue; \
                       if (r.width < 20 || r.height < 10 || r.left < -0.5 || r.top < -0.5 || r.right > wide + 0.5 || r.bottom > high + 0.5) out.push([selector, part.textContent.slice(0, 20), r.left, r.top, r.right, r.bottom]); \
                       const frame = part.closest('.slips, .cylinders, .plots, .drive'); if (frame) { const f = frame.getBoundingClientRect(); if (r.bottom > f.bottom + 1 || r.right > f.right + 1) out.push([selector, 'cut', part.textContent.slice(0, 20), r.bottom, f.bottom]) } } \
                     for (const one of document.querySelectorAll('.stage section, .stage .turn, .stage .further, .stage .order')) for (const other of document.querySelectorAll('.stage section, .stage .turn, .stage .further, .stage .order')) { if (one === other) continue; const [a, b] = [one.getBoundingClientRect(), other.getBoundingClientRect()]; if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1) out.push(['over each other', one.className, other.className]) } \
                     for (const e of document.querySelectorAll('.stage *')) { if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || !e.getClientRects().length || getComputedStyle(e).visibility === 'hidden' || e.closest('.visually-hidden, title, h3')) continue; const svg = e.ownerSVGElement; const size = parseFloat(getComputedStyle(e).fontSize) * (svg ? svg.getScreenCTM().a : 1); if (size < 11.99) out.push(['small', e.textContent.slice(0, 20), size]) } \
                     if (document.documentElement.scrollWidth > innerWidth) out.push('too wide'); return out",
                );
                assert_eq!(out, json!([]), "{name} {width} {address}");
                browser.assert_quiet();
            }
        }
    }
}

/// On a phone the picture that one has scrolled to stands between the verdict and the crankshaft's buttons.
#[test]
fn on_a_phone_the_buttons_stay() {
    let browser = Browser::start("sticky");
    browser.sized((360, 640));
    browser.open(&page(&engine("buzzard-v8"), "sticky"), "class");
    for part in [".drive", ".cylinders", ".plots", "#sprockets"] {
        browser.script(&format!(
            "document.querySelector('{part}').scrollIntoView({{ block: 'center' }})"
        ));
        let seen = browser.script(
            "return ['#verdict', '#run', '#crank', '#quick-ahead'].map(q => document.querySelector(q).getBoundingClientRect()).map(r => r.top >= -0.5 && r.bottom <= innerHeight + 0.5)",
        );
        assert_eq!(seen, json!([true, true, true, true]), "{part}");
        let room = browser.script("return document.querySelector('.turn').getBoundingClientRect().top - document.querySelector('#verdict').getBoundingClientRect().bottom");
        assert!(room.as_f64().unwrap() > 250.0, "{part}: {room}");
    }
    browser.script("document.getElementById('quick').value = '5'");
    browser.click("#quick-ahead");
    assert!(
        browser.text("#timing").contains("right-exhaust 1 tooth"),
        "{}",
        browser.text("#timing")
    );
    browser.assert_quiet();
}

/// Somebody slips, looks elsewhere, opens another engine: all while it runs.
#[test]
fn it_may_be_changed_while_it_runs() {
    let browser = Browser::start("running");
    let two = [engine("kestrel-four"), engine("siskin-v6")];
    let file = page_of(&[&two[0], &two[1]], "running");
    browser.open(&file, "class?engine=siskin-v6&speed=120&cylinder=4");
    assert_eq!(browser.text("h1"), "Siskin 2.6 V6");
    browser.click("#run");
    let still_runs = || {
        let place = browser.text("#place");
        browser.until(&format!(
            "document.getElementById('place').textContent !== {}",
            json!(place)
        ));
    };
    for _ in 0..3 {
        browser.script("document.querySelector('#sprockets button:last-of-type').click()");
        still_runs();
        browser.script("const p = document.getElementById('phaser-0'); p.value = Number(p.value) + 9; p.dispatchEvent(new Event('input'))");
        browser.script("document.getElementById('keep').click()");
        still_runs();
    }
    browser.script("document.querySelector(\"[data-cylinder='2']\").click()");
    still_runs();
    // What is shown is of one moment: the words and the picture agree once it stands.
    browser.click("#run");
    let place = browser.text("#place");
    browser.script("return new Promise(done => { let n = 10; const next = () => n-- ? requestAnimationFrame(next) : done(n); next(); })");
    assert_eq!(browser.text("#place"), place);
    // Another engine is dropped on it while it runs: it begins in its own timed position, and hung right.
    browser.click("#run");
    let text = Value::from(std::fs::read_to_string(engine("wren-single")).unwrap());
    browser.script(&format!(
        "const t = new DataTransfer(); t.items.add(new File([{text}], 'wren-single.yaml')); dispatchEvent(new DragEvent('drop', {{ dataTransfer: t }}))"
    ));
    browser.until("document.querySelector('h1').textContent.startsWith('Wren')");
    browser.until("document.getElementById('place')");
    assert_eq!(browser.text("#place"), "Timed position");
    assert_eq!(browser.text("#notice"), "");
    assert!(browser.text("#timing").starts_with("In time"));
    browser.click("#run");
    still_runs();
    // Away while it runs, and nothing goes on behind the other screen.
    browser.click("nav a[href='#desk']");
    browser.until("document.querySelector('#spec-text')");
    browser.script("return new Promise(done => { let n = 10; const next = () => n-- ? requestAnimationFrame(next) : done(n); next(); })");
    assert_eq!(browser.script("return location.hash"), "#desk");
    assert_eq!(browser.log(), json!([]));
    // The engine of that address is in no page: it is told after a reload.
    browser.open(&file, "class?engine=wren-single&crank=90");
    assert!(
        browser.text("#notice").contains("wren-single"),
        "{}",
        browser.text("#notice")
    );
}

/// Three banks, each with its chain off the crankshaft, and links that come back after hundreds of turns.
const THREE_BANKS: &str = "tautmark: 1
engine: Three banks
crank_turns: clockwise
shafts:
  crank: { kind: crankshaft, at: [0, 0] }
  left: { kind: camshaft, at: [-200, 200] }
  middle: { kind: camshaft, at: [0, 300] }
  right: { kind: camshaft, at: [200, 200] }
chains:
  one: { pitch: 8, links: 94, path: [ { sprocket: crank, teeth: 19, dot: 0, link: 0 }, { sprocket: left, teeth: 38, dot: 0, link: 40 } ] }
  two: { pitch: 8, links: 104, path: [ { sprocket: crank, teeth: 21, dot: 0, link: 0 }, { sprocket: middle, teeth: 42, dot: 0, link: 45 } ] }
  three: { pitch: 8, links: 94, path: [ { sprocket: crank, teeth: 23, dot: 0, link: 0 }, { sprocket: right, teeth: 46, dot: 0, link: 40 } ] }
cylinders: { stroke: 80, rod: 130, compression: 10, firing_order: [1, 3, 2], offsets: [0, 480, 240] }
valves:
  li: { shaft: left, kind: intake, cylinders: [1], opens: 10 BTDC, closes: 50 ABDC, at_lift: 1, lift: 9, recess: 1, relief: 2 }
  le: { shaft: left, kind: exhaust, cylinders: [1], opens: 50 BBDC, closes: 10 ATDC, at_lift: 1, lift: 9 }
  mi: { shaft: middle, kind: intake, cylinders: [2], opens: 10 BTDC, closes: 50 ABDC, at_lift: 1, lift: 9, recess: 1 }
  me: { shaft: middle, kind: exhaust, cylinders: [2], opens: 50 BBDC, closes: 10 ATDC, at_lift: 1 }
";

#[test]
fn engines_of_other_kinds_turn_too() {
    let browser = Browser::start("kinds");
    browser.sized((1280, 720));
    let folder = scratch("browser-kinds");
    let banks = folder.join("banks.yaml");
    std::fs::write(&banks, THREE_BANKS).unwrap();
    let largest = folder.join("largest.yaml");
    std::fs::write(
        &largest,
        support::largest::spec(support::largest::Large::Alike),
    )
    .unwrap();
    let names = [
        banks.to_str().unwrap().to_owned(),
        largest.to_str().unwrap().to_owned(),
        engine("heron-v6"),
        engine("plover-three"),
        engine("tern-between"),
    ];
    for spec in names {
        let drive = drive(&spec);
        let file = page(&spec, "kinds");
        browser.open(&file, "class");
        browser.assert_quiet();
        for _ in 0..3 {
            browser.click("#more-step");
        }
        assert_eq!(browser.text("#place"), "3 crank degrees");
        for (at, number) in drive
            .cylinders()
            .map_or(&[][..], |all| &all.firing_order)
            .iter()
            .enumerate()
        {
            browser.click(&format!("[data-cylinder='{number}']"));
            let poses =
                cylinder_poses(&drive, Turns::new(Exact::parse("1/120").unwrap()), &[]).unwrap();
            assert!(
                browser
                    .text(".cylinder:not([hidden]) h4")
                    .contains(&format!("Cylinder {number}, "))
            );
            let gaps = browser.script("return [...document.querySelectorAll('.cylinder:not([hidden]) .gaps .state')].map(gap => gap.dataset.state)");
            let known = poses[at]
                .valves
                .iter()
                .filter(|valve| valve.gap_mm.is_ok())
                .count();
            let unknown = gaps
                .as_array()
                .unwrap()
                .iter()
                .filter(|gap| **gap == "unknown")
                .count();
            assert_eq!(gaps.as_array().unwrap().len(), poses[at].valves.len());
            assert_eq!(unknown, poses[at].valves.len() - known, "{gaps}");
        }
        // To the end of the return and no further.
        browser.script("const r = document.getElementById('round'); r.value = r.max; r.dispatchEvent(new Event('input')); const c = document.getElementById('crank'); c.value = c.max; c.dispatchEvent(new Event('input'))");
        browser.script("document.getElementById('more-step').click()");
        let last = scene_json(&drive).unwrap()["last_turn"].clone();
        let turns = format!("{last} crank turns");
        assert_eq!(browser.text("#place"), turns);
        browser.script("document.getElementById('less').click()");
        assert!(
            browser.text("#place").ends_with("359 degrees"),
            "{}",
            browser.text("#place")
        );
        browser.assert_quiet();
    }
    // What is missing is said where it would stand.
    browser.open(&page(banks.to_str().unwrap(), "kinds"), "class?cylinder=2");
    let said = browser.text(".cylinders");
    for words in ["'bore'", "me: drawn closed", "needs 'lift' or 'lift_table'"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    browser.open(&page(banks.to_str().unwrap(), "kinds"), "class?cylinder=3");
    assert!(
        browser
            .text(".cylinders")
            .contains("no valves of these cylinders"),
        "{}",
        browser.text(".cylinders")
    );
    browser.open(&page(&engine("plover-three"), "kinds"), "class");
    let said = browser.text(".cylinders");
    assert!(
        said.contains("'cylinders:'") && said.contains("'valves:'"),
        "{said}"
    );
}

/// The row of the table in which a shaft stands, by whatever has slipped.
#[test]
fn the_current_row_of_the_table_is_marked() {
    let browser = Browser::start("row");
    browser.sized((1280, 720));
    browser.open(&page(&engine("kestrel-four"), "row"), "class");
    let rows = || {
        browser.script("return [...document.querySelectorAll('.sweeps tr[aria-current]')].map(row => row.cells[0].textContent)")
    };
    let words = || {
        browser.script(
            "return [...document.querySelectorAll('.now-words')].map(words => words.textContent)",
        )
    };
    assert_eq!(rows(), json!(["0", "0"]));
    // The crankshaft's sprocket ahead leaves both behind.
    browser.click(&format!("{ROW}:nth-child(1) button:nth-of-type(2)"));
    assert_eq!(rows(), json!(["1 behind", "1 behind"]));
    browser.click(&format!("{ROW}:nth-child(3) button:nth-of-type(2)"));
    browser.click(&format!("{ROW}:nth-child(3) button:nth-of-type(2)"));
    assert_eq!(rows(), json!(["1 behind", "1 ahead"]));
    // A phaser between two teeth is in no row.
    browser.script("const p = document.getElementById('phaser-0'); p.value = 7; p.dispatchEvent(new Event('input'))");
    assert_eq!(rows(), json!(["1 behind"]));
    assert_eq!(words()[1], "It stands in no row of the table now.");
    // A phaser is moved on purpose: it is told, and is no fault.
    browser.click("#right");
    browser.script("const p = document.getElementById('phaser-0'); p.value = 20; p.dispatchEvent(new Event('input'))");
    assert_eq!(browser.text("#timing"), "In time: exhaust, intake.");
    assert!(
        browser
            .text("#besides")
            .contains("Phaser of intake: 20 crank degrees ahead"),
        "{}",
        browser.text("#besides")
    );
    assert_eq!(rows(), json!(["0", "1 ahead"]));
    // Worn chains are hung right, and no more is said of them.
    browser.click("#right");
    browser.script("const p = document.getElementById('wear'); p.value = 10; p.dispatchEvent(new Event('input'))");
    assert_eq!(browser.text("#timing"), "Hung right: exhaust, intake.");
    assert!(
        browser
            .text("#besides")
            .contains("Wear holds exhaust 10.269 crank degrees behind"),
        "{}",
        browser.text("#besides")
    );
}

/// The answer of an exercise by its number and level, as the command line judges and tells it.
fn exercise_of(spec: &str, seed: &str, level: &str, more: &[&str]) -> (Option<i32>, Value) {
    let mut arguments = vec![
        "exercise", spec, "--seed", seed, "--level", level, "--format", "json",
    ];
    arguments.extend(more);
    let outcome = tautmark(&arguments);
    (outcome.status, outcome.json())
}

#[test]
fn an_exercise_is_the_command_lines_and_judged_alike() {
    let browser = Browser::start("exercise");
    let spec = engine("kestrel-four");
    browser.sized((360, 740));
    browser.open(&page(&spec, "exercise"), "class");
    let type_seed = |seed: &str| {
        browser.script("document.getElementById('seed').value = ''");
        browser.keys("#seed", seed);
    };
    for (level, seed) in [("easy", "7"), ("medium", "7"), ("hard", "8")] {
        type_seed(seed);
        browser.script(&format!(
            "document.getElementById('level').value = '{level}'"
        ));
        browser.click("#set");
        let (_, told) = exercise_of(&spec, seed, level, &[]);
        let told = &told["exercises"];
        assert_eq!(browser.text("#exercise-name"), told[0]["heading"]);
        let shown = browser.script(
            "return [...document.querySelectorAll('#sights tbody tr')].map(row => [...row.children].map(cell => cell.textContent))",
        );
        let sights = told[0]["sights"].as_array().unwrap();
        let sights: Vec<Value> = sights
            .iter()
            .map(|sight| json!([sight["shaft"], sight["dot"], sight["instrument"]]))
            .collect();
        assert_eq!(shown, Value::Array(sights));
        // The answer is not on the page before something was said.
        assert_eq!(
            browser.script("return document.getElementById('reveal').hidden"),
            json!(true)
        );
    }
    // Seed 7, easy: the intake sprocket two teeth ahead. Nothing said, too little, and then right.
    type_seed("7");
    browser.script("document.getElementById('level').value = 'easy'");
    browser.click("#set");
    browser.click("#judge");
    let (status, told) = exercise_of(&spec, "7", "easy", &["--says", "nothing"]);
    assert_eq!(status, Some(1));
    assert_eq!(browser.text("#judged p"), told["says"]);
    assert_eq!(browser.text("#judged li"), told["why"][0]);
    browser.script(
        "const part = document.getElementById('fault-part-1'); part.value = [...part.options].find(o => o.textContent === 'intake sprocket').value; part.dispatchEvent(new Event('change'))",
    );
    browser.click("#judge");
    assert_eq!(
        browser.script("return document.getElementById('judged').dataset.outcome"),
        json!("unread")
    );
    browser.keys("#fault-count-1", "1");
    browser.click("#judge");
    assert_eq!(
        browser.script("return document.getElementById('judged').dataset.outcome"),
        json!("wrong")
    );
    browser.keys("#fault-count-1", "\u{e003}2");
    browser.click("#judge");
    let (status, told) = exercise_of(&spec, "7", "easy", &["--says", "intake=2 ahead"]);
    assert_eq!(status, Some(0));
    assert_eq!(browser.text("#judged p"), told["says"]);
    browser.click("#reveal");
    assert_eq!(browser.text("#answers li"), told["answers"][0]);
    browser.assert_accessible("an exercise, judged");
    assert_eq!(
        browser.script("return document.documentElement.scrollWidth <= innerWidth"),
        json!(true)
    );
    // On to the next, and a number that is none.
    browser.click("#next");
    assert_eq!(browser.text("#exercise-name"), "Exercise 8, easy");
    type_seed("seven");
    browser.click("#set");
    assert!(browser.text("#sheet").contains("whole number"));
    browser.assert_quiet();
}

#[test]
fn every_kind_of_engine_fits_a_phone_and_a_projector() {
    let browser = Browser::start("sizes");
    for name in ["buzzard-v8", "plover-three", "dunnock-facing"] {
        let spec = engine(name);
        let drive = drive(&spec);
        let page = page(&spec, name);
        for (width, height) in [(360, 640), (1920, 1080)] {
            browser.sized((width, height));
            browser.open(&page, "class");
            browser.assert_quiet();
            assert_placed(&browser, &drive, Exact::ZERO, &[]);
            let wide = browser.script("return document.documentElement.scrollWidth - innerWidth");
            assert!(
                wide.as_i64().unwrap() <= 0,
                "{name}: {wide} too wide at {width}"
            );
            let small = browser.script(
                "return [...document.querySelectorAll('button, input, summary')].filter(e => e.offsetParent && !e.matches('.visually-hidden')).map(e => e.getBoundingClientRect()).filter(r => r.width < 44 || r.height < 43.9).length",
            );
            assert_eq!(small, 0, "{name}: too small for a finger at {width}");
            // Everything that can be used can be reached, and has a name.
            let unnamed = browser.script(
                "return [...document.querySelectorAll('button')].filter(b => b.tabIndex < 0 || !(b.textContent.trim() || b.hidden)).length",
            );
            assert_eq!(unnamed, 0);
        }
    }
    // Two chains off one crankshaft: each sprocket of it by itself.
    let spec = engine("buzzard-v8");
    browser.open(&page(&spec, "buzzard"), "class");
    browser.click(&format!(
        "{ROW}[aria-label^='left/crank'] button:nth-of-type(2)"
    ));
    browser.click(&format!(
        "{ROW}[aria-label^='right-exhaust'] button:nth-of-type(1)"
    ));
    assert_shown(&browser, &spec, &["left/crank=+1", "right-exhaust=-1"]);
    browser.keys("#crank", &"\u{e014}".repeat(180));
    assert_placed(
        &browser,
        &drive(&spec),
        Exact::parse("1/2").unwrap(),
        &[("left/crank", 1), ("right-exhaust", -1)],
    );
}

#[test]
fn hostile_words_stay_text() {
    let browser = Browser::start("hostile");
    let hostile =
        "</script><img src=x onerror=document.title=1><script>document.title=2</script>\\\"'";
    let text = std::fs::read_to_string(engine("kestrel-four"))
        .unwrap()
        .replace(
            "engine: Kestrel 2.0 inline-four",
            &format!("engine: \"{hostile}\""),
        )
        .replace("colour: blue", "colour: \"<b onclick='x'>\"");
    let spec = scratch("browser-spec-hostile").join("spec.yaml");
    std::fs::write(&spec, text).unwrap();
    let file = page(spec.to_str().unwrap(), "hostile");
    for mode in ["", "engine", "desk"] {
        browser.open(&file, mode);
        assert_eq!(
            browser.script("return document.querySelectorAll('img, b, h1 *').length"),
            0
        );
        browser.assert_quiet();
    }
    browser.open(&file, "class");
    browser.assert_quiet();
    let heading = browser.text("h1");
    assert!(
        heading.starts_with("</script><img src=x onerror="),
        "{heading}"
    );
    assert!(
        browser
            .script("return document.title")
            .as_str()
            .unwrap()
            .contains("</script>")
    );
    assert_eq!(
        browser.script("return document.querySelectorAll('img, b, h1 *').length"),
        0
    );
    assert!(browser.text("#marks").contains("<b onclick='x'>"));
    // The policy would stop what came through all the same.
    browser.script("const s = document.createElement('script'); s.textContent = 'document.title = 3'; document.head.append(s)");
    assert_ne!(browser.script("return document.title"), "3");
    assert!(
        browser
            .log()
            .to_string()
            .contains("Content Security Policy")
    );
}

/// What the answers of a check lead to: the record as it is kept, after a reload.
fn record_kept(browser: &Browser) -> String {
    let kept = browser.script(
        "return new Promise(done => { indexedDB.open('tautmark').onsuccess = e => { e.target.result.transaction('drafts').objectStore('drafts').getAll().onsuccess = f => done(f.target.result.map(d => d.record)) } })",
    );
    let kept = kept.as_array().unwrap();
    assert_eq!(kept.len(), 1, "{kept:?}");
    kept[0].as_str().unwrap().to_owned()
}

/// What the command line says of a record.
fn check_record(spec: &str, record: &str, name: &str) -> support::program::Outcome {
    let path = scratch(&format!("browser-record-{name}")).join("looks.yaml");
    std::fs::write(&path, record).unwrap();
    tautmark(&["check", spec, "--record", path.to_str().unwrap()])
}

/// Says that all is as it belongs, until `step` comes.
fn go_on_to(browser: &Browser, step: &str) {
    for _ in 0..80 {
        let now = browser.script("return document.getElementById('main').dataset.step");
        let now = now.as_str().unwrap();
        if now == step {
            return;
        }
        browser.tap(match now {
            "ask" => "[data-reply=on]",
            "since" => "[data-reply=nothing-moved]",
            "view" => {
                browser.tap("[data-view='0']");
                "[data-way$=' clockwise']"
            }
            // What is said is asked either way round: the page tells which answer holds nothing up.
            "say" => match browser.text("main").as_str() {
                text if text.contains("still in")
                    || text.contains("resist")
                    || text.contains("tight already") =>
                {
                    "[data-reply=no]"
                }
                _ => "[data-reply=yes]",
            },
            _ => ".choices [data-reply]",
        });
    }
    panic!("{step} never came");
}

#[test]
fn a_whole_check_by_thumb_is_the_command_lines() {
    for (name, size) in [("kestrel-four", PHONE), ("plover-three", PROJECTOR)] {
        let browser = Browser::start(&format!("thumb-{name}"));
        let spec = engine(name);
        let file = page(&spec, &format!("thumb-{name}"));
        browser.sized(size);
        browser.open(&file, "engine");
        // No network at all, from here on.
        browser.devtools("Network.enable", &json!({}));
        browser.devtools(
            "Network.emulateNetworkConditions",
            &json!({ "offline": true, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0 }),
        );
        browser.tap("[data-reply=ready]");
        // From where: somebody on the other side finds out before the first mark.
        browser.tap("[data-view='0']");
        browser.tap("[data-way='facing counter-clockwise']");
        assert!(
            browser.text("#notice").contains("other side"),
            "{}",
            browser.text("#notice")
        );
        browser.tap("[data-view='0']");
        browser.tap("[data-way='facing clockwise']");
        // A finger that comes down twice answers once.
        browser.script("const b = document.querySelector('[data-reply=on]'); b.click();");
        assert!(
            browser.text("h2").contains("Mark 1 of"),
            "{}",
            browser.text("h2")
        );
        browser.tap("[data-reply=on]");
        assert!(
            browser.text("h2").contains("Mark 2 of"),
            "{}",
            browser.text("h2")
        );
        let ringed = browser.script("return document.querySelectorAll('svg .here').length");
        assert_eq!(ringed, 1);
        browser.tap("[data-reply=behind]");
        browser.tap("[data-count='2']");
        go_on_to(&browser, "halt");
        assert!(
            browser.text("h2").starts_with("OUT OF TIME."),
            "{}",
            browser.text("h2")
        );
        // The one thing to do is the command line's, and what is ringed is what is off.
        browser.until("document.getElementById('main').dataset.kept");
        let said = check_record(&spec, &record_kept(&browser), &format!("{name}-halt"));
        assert_eq!(said.status, Some(1), "{said:?}");
        let action = browser.text(".action");
        assert!(said.stdout.contains(&action), "{action}\n{said:?}");
        assert!(action.starts_with("Next"), "{action}");
        browser.until("document.querySelector('.mark.off .here')");
        browser.tap("[data-reply=again]");
        go_on_to(&browser, "confirm");
        // The battery is dead; what was answered is there, and it is asked whether anything was moved.
        browser.until("document.getElementById('main').dataset.kept");
        let before = record_kept(&browser);
        browser.post("/refresh", &json!({}));
        browser.until("document.body.dataset.ready === 'yes'");
        assert_eq!(
            browser.script("return document.getElementById('main').dataset.step"),
            "since"
        );
        assert!(
            browser
                .text("main")
                .contains("has anything been moved since?")
                || browser
                    .text("main")
                    .contains("Has anything been moved since?")
        );
        go_on_to(&browser, "done");
        assert_eq!(browser.text("h2"), "IN TIME at all three stages.");
        browser.until(&format!(
            "document.getElementById('main').dataset.kept > {}",
            0
        ));
        browser.assert_quiet();
        browser.assert_accessible("done");
        // The same file as the command line's, with the same verdict.
        let record = record_kept(&browser);
        assert_ne!(record, before);
        let folder = scratch(&format!("browser-record-{name}"));
        for (text, verdict, status) in [(&record, "in time", 0), (&before, "not proven", 1)] {
            let path = folder.join(format!("{status}.yaml"));
            std::fs::write(&path, text).unwrap();
            let said = tautmark(&[
                "check",
                &spec,
                "--record",
                path.to_str().unwrap(),
                "--format",
                "json",
            ]);
            assert_eq!(said.json()["verdict"], verdict, "{said:?}");
            assert_eq!(said.status, Some(status), "{said:?}");
        }
        // What is saved is what is kept.
        let saved = browser.script(
            "let text; const make = URL.createObjectURL; URL.createObjectURL = blob => { text = blob.text(); return make(blob) }; document.getElementById('save-record').click(); return text",
        );
        assert_eq!(saved.as_str(), Some(record.as_str()));
    }
}

#[test]
fn a_record_of_the_command_line_goes_on_in_the_page() {
    let browser = Browser::start("import");
    let spec = engine("wren-single");
    let file = page(&spec, "import");
    browser.open(&file, "engine");
    go_on_to(&browser, "ask");
    browser.tap("[data-reply=on]");
    browser.until("document.getElementById('main').dataset.kept === '3'");
    let record = record_kept(&browser);
    let two = record.replace("link crank: on", "link crank: 1 behind");
    let drop = |text: &str| {
        let text = Value::from(text);
        browser.script(&format!(
            "const t = new DataTransfer(); t.items.add(new File([{text}], 'looks.yaml')); dispatchEvent(new DragEvent('drop', {{ dataTransfer: t }}))"
        ));
    };
    drop(&two);
    browser.until("document.getElementById('main').dataset.step === 'since'");
    // One that is none is refused in words, and nothing is lost by it.
    drop("tautmark_record: 3\nnonsense: 1\n");
    browser.until("!document.getElementById('notice').hidden");
    assert!(
        browser.text("#notice").contains("not a record"),
        "{}",
        browser.text("#notice")
    );
    assert_eq!(record_kept(&browser), record);
}

/// Answers the first mark, so that there is something to keep.
fn first_mark(browser: &Browser) {
    browser.tap("[data-reply=ready]");
    browser.tap("[data-view='0']");
    browser.tap("[data-way='facing clockwise']");
    browser.tap("[data-reply=on]");
    browser.until("document.getElementById('main').dataset.kept");
}

/// Answers of another car are not brought back unasked, and come back when they are wanted.
#[test]
fn the_next_car_begins_with_nothing_and_the_first_one_comes_back() {
    let browser = Browser::start("cars");
    let file = page(&engine("wren-single"), "cars");
    browser.open(&file, "engine");
    first_mark(&browser);
    // The phone was put away; another car of the kind is on the lift now.
    browser.open(&file, "engine");
    assert_eq!(browser.text("h2"), "There is 1 answer from before");
    assert!(
        browser
            .text(".asks")
            .starts_with("Is it this engine, in this car?")
    );
    // Looking elsewhere is no answer to that.
    browser.click("nav a[href='#class']");
    browser.until("document.querySelector('#crank')");
    browser.click("nav a[href='#engine']");
    browser.until("document.querySelector('[data-reply=another]')");
    browser.assert_accessible("answers from before");
    browser.tap("[data-reply=another]");
    browser.tap("[data-reply=ready]");
    browser.tap("[data-view='0']");
    browser.tap("[data-way='facing clockwise']");
    assert!(
        browser.text("h2").contains("Mark 1 of"),
        "{}",
        browser.text("h2")
    );
    browser.tap("[data-reply=behind]");
    browser.tap("[data-count='1']");
    browser.until("document.getElementById('main').dataset.kept === '3'");
    assert_eq!(drafts(&browser), 2);
    // Back to the first one.
    browser.script("document.querySelector('details').open = true");
    browser.click("[data-aside]");
    browser.tap(".choices button");
    assert!(
        browser.text(".grounds").contains("crank: dot on its link"),
        "{}",
        browser.text(".grounds")
    );
    go_on_to(&browser, "ask");
    assert!(
        browser.text("h2").contains("Mark 2 of"),
        "{}",
        browser.text("h2")
    );
    browser.open(&file, "engine");
    assert!(browser.text(".grounds").contains("crank: dot on its link"));
    assert_eq!(drafts(&browser), 2);
    browser.assert_quiet();
}

/// How many drafts there are, those set aside included.
fn drafts(browser: &Browser) -> u64 {
    let count = browser.script(
        "return new Promise(done => { indexedDB.open('tautmark').onsuccess = e => { e.target.result.transaction('drafts').objectStore('drafts').count().onsuccess = f => done(f.target.result) } })",
    );
    count.as_u64().unwrap()
}

#[test]
fn two_windows_at_one_check_do_not_write_over_each_other() {
    let browser = Browser::start("windows");
    let file = page(&engine("wren-single"), "windows");
    browser.open(&file, "engine");
    first_mark(&browser);
    let first = browser.call("GET", &format!("{}/window", browser.session), &Value::Null);
    let second = browser.post("/window/new", &json!({ "type": "tab" }))["handle"].clone();
    browser.post("/window", &json!({ "handle": second }));
    browser.open(&file, "engine");
    // From where is asked in each window: two people may stand at two sides.
    go_on_to(&browser, "ask");
    browser.tap("[data-reply=behind]");
    browser.tap("[data-count='1']");
    browser.until("document.getElementById('main').dataset.kept === '2'");
    let kept = record_kept(&browser);
    assert!(kept.contains("1 behind"), "{kept}");
    // The first window still shows the second mark: what it is told now is not kept, and it says so.
    browser.post("/window", &json!({ "handle": first }));
    browser.tap("[data-reply=on]");
    browser.until("!document.getElementById('notice').hidden");
    let notice = browser.text("#notice p");
    assert!(notice.starts_with("NOT KEPT: another window"), "{notice}");
    browser.assert_accessible("not kept");
    assert_eq!(record_kept(&browser), kept);
    // The record can still be saved, right there.
    assert_eq!(browser.text("#notice button"), "Save the record");
}

/// A private window, a full phone, a store that was thrown away: it says so, goes on, and the record can be saved.
#[test]
fn where_nothing_can_be_kept_it_says_so() {
    let browser = Browser::start("store");
    let file = page(&engine("wren-single"), "store");
    let broken = [
        (
            "Object.defineProperty(window, 'indexedDB', { value: { open() { throw new DOMException('denied here', 'SecurityError') } } })",
            "denied here",
            true,
        ),
        (
            "Object.defineProperty(window, 'indexedDB', { value: { open() { const asked = { error: new DOMException('no private store', 'UnknownError') }; setTimeout(() => asked.onerror()); return asked } } })",
            "no private store",
            true,
        ),
        (
            "IDBObjectStore.prototype.put = function () { throw new DOMException('the phone is full', 'QuotaExceededError') }",
            "the phone is full",
            false,
        ),
        (
            "const put = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = function (...all) { const asked = put.apply(this, all); this.transaction.abort(); return asked }",
            "NOT KEPT",
            false,
        ),
    ];
    for (script, reason, at_once) in broken {
        let added = browser.devtools_answer(
            "Page.addScriptToEvaluateOnNewDocument",
            &json!({ "source": script }),
        );
        browser.open(&file, "engine");
        let not_kept = || {
            browser.until("!document.getElementById('notice').hidden");
            let notice = browser.text("#notice p");
            assert!(
                notice.starts_with("NOT KEPT") && notice.contains(reason),
                "{notice}"
            );
        };
        if at_once {
            not_kept();
        }
        first_mark(&browser);
        not_kept();
        assert!(
            browser.text("h2").contains("Mark 2 of"),
            "{}",
            browser.text("h2")
        );
        // Elsewhere and back: the answers are still on this screen.
        browser.click("nav a[href='#class']");
        browser.until("document.querySelector('#crank')");
        browser.click("nav a[href='#engine']");
        browser.until("document.querySelector('h2').textContent.includes('Mark 2 of')");
        browser.until("!document.getElementById('notice').hidden");
        let saved = browser.script(
            "let text; const make = URL.createObjectURL; URL.createObjectURL = blob => { text = blob.text(); return make(blob) }; document.querySelector('#notice button').click(); return text",
        );
        assert!(saved.as_str().unwrap().contains("crank: \"on\""), "{saved}");
        assert_eq!(browser.log(), json!([]));
        browser.devtools(
            "Page.removeScriptToEvaluateOnNewDocument",
            &json!({ "identifier": added["identifier"] }),
        );
    }
}

/// A spec that is edited at the desk in the middle of a check: answers go on only with what they were given to.
#[test]
fn answers_do_not_go_over_to_another_spec() {
    let browser = Browser::start("edited");
    let file = page(&engine("wren-single"), "edited");
    browser.open(&file, "engine");
    first_mark(&browser);
    let edit = |changes: &[(&str, &str)]| {
        browser.click("nav a[href='#desk']");
        browser.until("document.querySelector('#spec-text')");
        browser.script(&format!(
            "const t = document.getElementById('spec-text'); for (const [from, to] of {}) {{ if (!t.value.includes(from)) throw new Error(from); t.value = t.value.replace(from, to); }} t.dispatchEvent(new Event('input'))",
            json!(changes)
        ));
        // At once, before what was typed has been looked at.
        browser.click("nav a[href='#engine']");
        browser.until("!document.querySelector('#spec-text') && document.querySelector('main [data-reply], main li')");
    };
    // Another word in a comment: the answers are still about these marks, and it is asked.
    edit(&[("tautmark: 1", "# checked again\ntautmark: 1")]);
    assert_eq!(browser.text("h2"), "There is 1 answer from before");
    go_on_to(&browser, "ask");
    assert!(
        browser.text("h2").contains("Mark 2 of"),
        "{}",
        browser.text("h2")
    );
    browser.tap("[data-reply=on]");
    browser.until("document.getElementById('main').dataset.kept");
    // Another mark: they are not, and nothing of them is used.
    edit(&[("link: 0,", "link: 2,"), ("link: 48", "link: 50")]);
    assert_eq!(
        browser.script("return document.getElementById('main').dataset.step"),
        "ready"
    );
    assert!(
        browser
            .text("#notice")
            .contains("Those answers are not used"),
        "{}",
        browser.text("#notice")
    );
    // A spec that contradicts itself proves nothing.
    edit(&[("link: 2,", "link: 0,")]);
    assert_eq!(browser.text("h2"), "This does not go");
    assert!(!browser.text("main").contains("answer"));
    edit(&[("link: 50", "link: 48")]);
    assert_eq!(browser.text("h2"), "There are 2 answers from before");
    browser.assert_quiet();
}

#[test]
fn the_back_button_loses_no_answer_and_gives_none() {
    let browser = Browser::start("back");
    let file = page(&engine("wren-single"), "back");
    browser.open(&file, "");
    browser.click("nav a[href='#class']");
    browser.until("document.querySelector('#crank')");
    browser.click("nav a[href='#engine']");
    browser.until("document.querySelector('[data-reply=ready]')");
    first_mark(&browser);
    let asked = browser.text("h2");
    browser.post("/back", &json!({}));
    browser.until("document.querySelector('#crank')");
    browser.post("/forward", &json!({}));
    browser.until("document.querySelector('[data-reply=on]')");
    assert_eq!(browser.text("h2"), asked);
    // In the middle of a count as well.
    browser.tap("[data-reply=ahead]");
    browser.post("/back", &json!({}));
    browser.until("document.querySelector('#crank')");
    browser.post("/forward", &json!({}));
    browser.until("document.querySelector('[data-reply=on]')");
    assert_eq!(browser.text("h2"), asked);
    // Out of the page, and back in.
    browser.post("/url", &json!({ "url": "about:blank" }));
    browser.post("/back", &json!({}));
    browser.until("document.body.dataset.ready === 'yes' && document.querySelector('h2')");
    browser.until("document.getElementById('main').dataset.step === 'since' || document.querySelector('h2').textContent.includes('Mark 2 of')");
    assert_eq!(drafts(&browser), 1);
}

/// A phone whose clock is wrong: answers from later than now are doubted, and it goes on.
#[test]
fn a_wrong_clock_is_doubted() {
    let browser = Browser::start("clock");
    let file = page(&engine("wren-single"), "clock");
    let clock = |years: i64| {
        browser.devtools_answer(
            "Page.addScriptToEvaluateOnNewDocument",
            &json!({ "source": format!("{{ const Real = Date; const off = {years} * 31556952000; globalThis.Date = class extends Real {{ constructor(...all) {{ if (all.length) super(...all); else super(Real.now() + off) }} static now() {{ return Real.now() + off }} }} }}") }),
        )
    };
    let ahead = clock(9);
    browser.open(&file, "engine");
    first_mark(&browser);
    browser.devtools("Page.removeScriptToEvaluateOnNewDocument", &ahead);
    browser.open(&file, "engine");
    assert!(
        browser.text(".loud").contains("Is the clock right?"),
        "{}",
        browser.text("main")
    );
    browser.tap("[data-reply=another]");
    // A clock before anything can be, and one after: nothing is lost and nothing breaks.
    for years in [-56, 8200] {
        let wrong = clock(years);
        browser.open(&file, "engine");
        if browser.script("return document.getElementById('main').dataset.step") == "since" {
            browser.tap("[data-reply=another]");
        }
        browser.tap("[data-reply=ready]");
        assert_eq!(browser.log(), json!([]), "{years}");
        browser.devtools("Page.removeScriptToEvaluateOnNewDocument", &wrong);
    }
}

/// Whoever looks into a mirror has left for right; so has the picture, and its letters are upright.
#[test]
fn in_a_mirror_the_picture_is_mirrored() {
    let browser = Browser::start("mirror");
    let file = page(&engine("kestrel-four"), "mirror");
    browser.sized(PHONE);
    let mut dots = Vec::new();
    for (view, way) in [("0", "facing clockwise"), ("1", "mirror counter-clockwise")] {
        browser.open(&file, "engine");
        if browser.script("return document.getElementById('main').dataset.step") == "since" {
            browser.tap("[data-reply=another]");
        }
        browser.tap("[data-reply=ready]");
        browser.tap(&format!("[data-view='{view}']"));
        browser.tap(&format!("[data-way='{way}']"));
        browser.tap("[data-reply=on]");
        browser.until("document.querySelector('svg .here')");
        browser.click(".picture .quiet");
        dots.push(browser.script(
            "const all = document.getElementById('drive').getBoundingClientRect(); const dot = document.querySelector('.mark:has(.here) .dot').getBoundingClientRect(); return (dot.left + dot.width / 2 - all.left) / all.width",
        ).as_f64().unwrap());
        // The number of its link stands by it, not mirrored away from it.
        let away = browser.script(
            "const at = e => { const r = e.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2] }; const [x, y] = at(document.querySelector('.mark:has(.here) .dot')); const [a, b] = at([...document.querySelectorAll('text.number')].find(t => t.textContent === '51')); return Math.hypot(x - a, y - b)",
        ).as_f64().unwrap();
        assert!(away < 40.0, "{away}");
        browser.assert_accessible("whole drive");
    }
    assert!(dots[0] < 0.45, "{dots:?}");
    assert!((dots[0] + dots[1] - 1.0).abs() < 0.01, "{dots:?}");
    assert_eq!(browser.text(".drawn-as"), "Drawn as the mirror shows it.");
}

/// The links counted from dot to dot, as on the command line, and the same verdict.
#[test]
fn links_without_a_colour_are_counted() {
    let browser = Browser::start("counted");
    let spec = engine("wren-single");
    browser.open(&page(&spec, "counted"), "engine");
    browser.tap("[data-reply=ready]");
    browser.tap("[data-view='0']");
    browser.tap("[data-way='facing clockwise']");
    browser.tap("[data-reply=counted]");
    // A count one too many does not go with the kinds of the links.
    for (number, taken) in [("49", false), ("48", true)] {
        browser.tap("[data-reply=counted]");
        browser.tap("[data-kinds=same]");
        browser.assert_accessible("counting links");
        browser.keys("#links", number);
        browser.click("main form button");
        if taken {
            browser.until("document.getElementById('main').dataset.kept === '4'");
        } else {
            browser.until("!document.getElementById('notice').hidden");
        }
    }
    go_on_to(&browser, "ready");
    let said = check_record(&spec, &record_kept(&browser), "counted");
    assert!(said.stdout.contains("in time"), "{said:?}");
    browser.assert_quiet();
}

/// A job of the command line is opened, takes the looks, and goes back.
#[test]
fn a_job_goes_both_ways() {
    let browser = Browser::start("job");
    let spec = engine("wren-single");
    let folder = scratch("browser-job");
    let job = folder.join("job.yaml");
    let made = tautmark(&["job", "new", &spec, "-o", job.to_str().unwrap()]);
    assert_eq!(made.status, Some(0), "{made:?}");
    browser.open(&page(&spec, "job"), "");
    let text = Value::from(std::fs::read_to_string(&job).unwrap());
    browser.script(&format!(
        "const t = new DataTransfer(); t.items.add(new File([{text}], 'job.yaml')); dispatchEvent(new DragEvent('drop', {{ dataTransfer: t }}))"
    ));
    browser.until("document.querySelector('h2').textContent === 'Job'");
    assert_eq!(
        browser.script("return document.body.dataset.mode"),
        "engine"
    );
    browser.assert_accessible("job");
    let press = |words: &str| {
        browser.script(&format!(
            "const b = [...document.querySelectorAll('main button')].find(b => b.textContent === {words:?}); b.click()"
        ));
    };
    press("Back to the questions");
    go_on_to(&browser, "ask");
    browser.tap("[data-reply=on]");
    browser.until("document.getElementById('main').dataset.kept");
    // The battery is dead: job and looks are both there.
    browser.post("/refresh", &json!({}));
    browser.until("document.body.dataset.ready === 'yes'");
    go_on_to(&browser, "done");
    press("Job");
    let saved = browser.script(
        "let text; const make = URL.createObjectURL; URL.createObjectURL = blob => { text = blob.text(); return make(blob) }; [...document.querySelectorAll('main button')].find(b => b.textContent === 'Take the looks into the job').click(); return text",
    );
    let took = folder.join("took.yaml");
    std::fs::write(
        &took,
        saved
            .as_str()
            .unwrap_or_else(|| panic!("{}", browser.text("body"))),
    )
    .unwrap();
    let said = tautmark(&["job", "status", &spec, took.to_str().unwrap()]);
    assert!(said.stdout.contains("in time"), "{said:?}");
    browser.assert_accessible("job with looks");
    browser.assert_quiet();
}

/// What the desk shows of each finding: its words, its help, its remedies.
const FOUND: &str = "return [...document.querySelectorAll('#found .finding')].map((each) => [
    each.querySelector('p').textContent,
    each.querySelector('.help').textContent,
    [...each.querySelectorAll('.remedies span')].map((remedy) => remedy.textContent)])";

/// The same of the command line's findings.
fn as_found(said: &[Value]) -> Value {
    let one = |finding: &Value| {
        let remedies = finding["remedies"].as_array().unwrap().iter();
        let remedies: Vec<String> = remedies
            .map(|remedy| {
                format!(
                    "line {}: {}",
                    remedy["at"]["line"],
                    remedy["change"].as_str().unwrap()
                )
            })
            .collect();
        let said = format!(
            "{}: {}",
            finding["severity"].as_str().unwrap(),
            finding["message"].as_str().unwrap()
        );
        json!([said, finding["help"], remedies])
    };
    said.iter().map(one).collect()
}

#[test]
fn at_the_desk_findings_follow_what_is_typed() {
    let browser = Browser::start("desk");
    let spec = engine("kestrel-four");
    for size in [PHONE, PROJECTOR] {
        browser.sized(size);
        browser.open(&page(&spec, &format!("desk-{}", size.0)), "desk");
        assert_eq!(browser.text("#found-count"), "Clean.");
        let typed = |from: &str, to: &str| {
            browser.script(&format!(
                "const t = document.getElementById('spec-text'); t.value = t.value.replace({}, {}); t.dispatchEvent(new Event('input'))",
                Value::from(from), Value::from(to)
            ));
        };
        // What the command line finds, in the same words.
        typed("exhaust, teeth: 36", "exhaust, teeth: 35");
        browser.until("document.getElementById('found-count').textContent !== 'Clean.'");
        let text = std::fs::read_to_string(&spec)
            .unwrap()
            .replace("exhaust, teeth: 36", "exhaust, teeth: 35");
        let broken = scratch("browser-desk").join("kestrel-four.yaml");
        std::fs::write(&broken, text).unwrap();
        let said = tautmark(&["lint", broken.to_str().unwrap(), "--format", "json"]).json();
        let said = said["files"][0]["findings"].as_array().unwrap();
        browser.until("'sought' in document.getElementById('found').dataset");
        let shown = browser.script(FOUND);
        assert!(!said.is_empty());
        assert_eq!(shown, as_found(said));
        let line = said[0]["at"]["line"].as_u64().unwrap();
        browser.click("#found .buttons button");
        let at = browser.script("const t = document.getElementById('spec-text'); return t.value.slice(0, t.selectionStart).split('\\n').length");
        assert_eq!(at, line);
        browser.assert_accessible("desk with findings");
        typed("exhaust, teeth: 35", "exhaust, teeth: 36");
        browser.until("document.getElementById('found-count').textContent === 'Clean.'");
        // What would put it right is sought as `lint` does: here the one link that is out by three.
        typed("link: 68", "link: 71");
        browser.until("document.querySelector('#found .remedies')");
        let broken = scratch("browser-desk").join("moved.yaml");
        let text = std::fs::read_to_string(&spec)
            .unwrap()
            .replace("link: 68", "link: 71");
        std::fs::write(&broken, text).unwrap();
        let said = tautmark(&["lint", broken.to_str().unwrap(), "--format", "json"]).json();
        let said = said["files"][0]["findings"].as_array().unwrap();
        assert!(said.iter().any(|finding| {
            finding["remedies"]
                .as_array()
                .is_some_and(|all| !all.is_empty())
        }));
        assert_eq!(browser.script(FOUND), as_found(said));
        browser.assert_accessible("desk with remedies");
        typed("link: 71", "link: 68");
        browser.until("document.getElementById('found-count').textContent === 'Clean.'");
        // A mark that is left out comes back by one click.
        typed(", link: 68", "");
        browser.until("document.getElementById('found-count').textContent !== 'Clean.'");
        browser.click("#fit");
        browser.click("#fits button");
        browser.until("document.getElementById('found-count').textContent === 'Clean.'");
        assert!(
            browser
                .script("return document.getElementById('spec-text').value")
                .as_str()
                .unwrap()
                .contains("link: 68")
        );
        browser.assert_quiet();
    }
}

#[test]
fn one_of_several_engines_is_chosen_and_none_is_opened_from_a_file() {
    let browser = Browser::start("several");
    let two = [engine("kestrel-four"), engine("heron-v6")];
    let file = page_of(&[&two[0], &two[1]], "several");
    let folder = file.parent().unwrap().to_owned();
    browser.open(&file, "");
    browser.assert_accessible("choosing");
    browser.script("const s = document.getElementById('which'); s.value = '1'; s.dispatchEvent(new Event('change'))");
    assert_eq!(browser.text("h1"), "Heron 3.0 V6");
    let file = folder.join("none.html");
    let made = tautmark(&["page", "-o", file.to_str().unwrap()]);
    assert_eq!(made.status, Some(0), "{made:?}");
    browser.open(&file, "");
    let text = Value::from(std::fs::read_to_string(engine("wren-single")).unwrap());
    browser.script(&format!(
        "const t = new DataTransfer(); t.items.add(new File([{text}], 'wren-single.yaml')); dispatchEvent(new DragEvent('drop', {{ dataTransfer: t }}))"
    ));
    browser.until("document.querySelector('#drive')");
    browser.assert_quiet();
}

#[test]
fn the_words_of_the_trade_are_there_once_they_are_opened() {
    let browser = Browser::start("words");
    let file = page(&engine("kestrel-four"), "words");
    browser.sized(PHONE);
    browser.open(&file, "class");
    let count = "return document.querySelectorAll('#words dt').length";
    assert_eq!(browser.script(count), 0);
    browser.script("document.querySelector('#words summary').click()");
    browser.until("document.querySelector('#words dd svg')");
    let terms = tautmark::render::glossary();
    assert_eq!(browser.script(count), terms.len());
    let said = browser
        .script("return [...document.querySelectorAll('#words dd p')].map(p => p.textContent)");
    let means: Vec<&str> = terms.iter().map(|term| term.means).collect();
    assert_eq!(said, json!(means));
    // Every picture has room, and closing and opening again makes nothing double.
    let room = browser.script("return [...document.querySelectorAll('#words svg')].every(s => s.getBoundingClientRect().width > 100)");
    assert_eq!(room, true);
    browser.script("document.querySelector('#words summary').click(); document.querySelector('#words summary').click()");
    assert_eq!(browser.script(count), terms.len());
    assert_eq!(browser.log(), json!([]));
}

#[test]
fn no_rule_of_accessibility_is_broken() {
    let browser = Browser::start("rules");
    let file = page(&engine("kestrel-four"), "rules");
    for size in [PHONE, PROJECTOR] {
        for scheme in ["light", "dark"] {
            browser.sized(size);
            browser.devtools(
                "Emulation.setEmulatedMedia",
                &json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] }),
            );
            for mode in ["", "class", "desk", "engine"] {
                browser.open(&file, mode);
                // The glossary is empty until it is opened.
                browser.script("document.getElementById('words')?.setAttribute('open', '')");
                browser.assert_accessible(&format!("{mode} {scheme} {size:?}"));
            }
        }
        // Text is never smaller than 12 px, in pictures too; and nothing is cut off, at twice the size of text as well.
        for mode in ["", "class", "desk", "engine"] {
            browser.open(&file, mode);
            let small = browser.script(
                "const out = []; for (const e of document.querySelectorAll('main *')) { if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || !e.getClientRects().length || getComputedStyle(e).visibility === 'hidden' || e.closest('.visually-hidden, title')) continue; const svg = e.ownerSVGElement; const scale = svg ? svg.getScreenCTM().a : 1; const size = parseFloat(getComputedStyle(e).fontSize) * scale; if (size < 11.99) out.push(`${e.textContent.slice(0, 20)} ${size}`) } return out",
            );
            assert_eq!(small, json!([]), "{mode} {size:?}");
            browser.script("document.documentElement.style.fontSize = '200%'");
            let wide = browser.script("return document.documentElement.scrollWidth - innerWidth");
            assert!(
                wide.as_i64().unwrap() <= 0,
                "{mode}: {wide} too wide at {size:?} with large text"
            );
        }
    }
    // A check by the keyboard alone.
    browser.sized(PHONE);
    browser.open(&file, "engine");
    let press = |selector: &str| {
        std::thread::sleep(std::time::Duration::from_millis(400));
        browser.keys(selector, "\u{e007}");
    };
    press("[data-reply=ready]");
    press("[data-view='0']");
    press("[data-way='facing clockwise']");
    press("[data-reply=on]");
    browser.until("document.querySelector('h2').textContent.includes('Mark 2 of')");
    assert_eq!(
        browser.script("return document.activeElement.tagName"),
        "H2"
    );
}

/// A folder on a web server: opened once, it works when the server is gone.
#[test]
fn a_folder_works_without_its_server_afterwards() {
    let folder = scratch("browser-folder").join("site");
    let made = tautmark(&[
        "page",
        &engine("wren-single"),
        "--folder",
        folder.to_str().unwrap(),
    ]);
    assert_eq!(made.status, Some(0), "{made:?}");
    let listener = std::net::TcpListener::bind(("127.0.0.1", 0)).unwrap();
    let address = format!(
        "http://127.0.0.1:{}/",
        listener.local_addr().unwrap().port()
    );
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let mut stream = stream.unwrap();
            let mut line = String::new();
            let mut reader = BufReader::new(stream.try_clone().unwrap());
            if reader.read_line(&mut line).is_err() {
                continue;
            }
            let path = line
                .split(' ')
                .nth(1)
                .unwrap_or("/")
                .trim_start_matches('/');
            let name = if path.is_empty() { "index.html" } else { path };
            let kind = match name.rsplit('.').next() {
                Some("html") => "text/html",
                Some("js") => "text/javascript",
                Some("svg") => "image/svg+xml",
                _ => "application/manifest+json",
            };
            let body = std::fs::read(folder.join(name)).unwrap_or_default();
            let _ = write!(
                stream,
                "HTTP/1.1 200 OK\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
                body.len()
            );
            let _ = stream.write_all(&body);
        }
    });
    let browser = Browser::start("folder");
    browser.open_address(&address);
    browser.until("navigator.serviceWorker.controller");
    assert_eq!(browser.log(), json!([]));
    browser.devtools("Network.enable", &json!({}));
    browser.devtools(
        "Network.emulateNetworkConditions",
        &json!({ "offline": true, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0 }),
    );
    browser.open_address(&format!("{address}#class"));
    assert_eq!(browser.text("#place"), "Timed position");
}

/// Size and speed of the page, for a person: a test does not measure time. Rows for `docs/page.md`, by
/// `cargo test --features browser-tests --test browser -- --ignored --nocapture the_page_in_figures`.
#[test]
#[ignore = "measures time"]
#[allow(clippy::print_stdout, reason = "the rows are what it is run for")]
fn the_page_in_figures() {
    let browser = Browser::start("figures");
    browser.sized(PHONE);
    let largest = scratch("browser-largest").join("largest.yaml");
    std::fs::write(
        &largest,
        support::largest::spec(support::largest::Large::Alike),
    )
    .unwrap();
    for (name, spec) in [
        ("kestrel-four", engine("kestrel-four")),
        ("buzzard-v8", engine("buzzard-v8")),
        ("the largest spec", largest.to_str().unwrap().to_owned()),
    ] {
        let file = page(&spec, "figures");
        let size = std::fs::metadata(&file).unwrap().len() / 1024;
        let slowed = |rate: u32| {
            browser.devtools("Emulation.setCPUThrottlingRate", &json!({ "rate": rate }));
        };
        // The middle one of several.
        let middle = |script: &str, mode: &str| {
            let mut all: Vec<f64> = (0..7)
                .map(|_| {
                    slowed(4);
                    browser.open(&file, mode);
                    let time = browser.script(script).as_f64().unwrap();
                    slowed(1);
                    time
                })
                .collect();
            all.sort_by(f64::total_cmp);
            all[3]
        };
        let first = middle(
            "return performance.getEntriesByName('first picture')[0].startTime",
            "",
        );
        let frame = "const from = performance.now(); const end = () => new Promise(done => requestAnimationFrame(() => setTimeout(() => done(performance.now() - from))));";
        let turn = middle(
            &format!(
                "{frame} const c = document.getElementById('crank'); c.value = '37'; c.dispatchEvent(new Event('input')); return end()"
            ),
            "class",
        );
        let slip = middle(
            &format!("{frame} document.querySelector('{ROW} button').click(); return end()"),
            "class",
        );
        // From a tap to the next question: the interview is gone through, the answer is being kept.
        let answer = middle(
            "const wait = t => new Promise(done => setTimeout(done, t)); const b = q => document.querySelector('main ' + q); \
             return (async () => { if (b('[data-reply=another]')) { await wait(400); b('[data-reply=another]').click(); await wait(600) } await wait(400); b('[data-reply=ready]').click(); await wait(400); b(\"[data-view='0']\").click(); await wait(400); b(\"[data-way$=' clockwise']\").click(); await wait(400); const from = performance.now(); b('[data-reply=on]').click(); return new Promise(done => requestAnimationFrame(() => setTimeout(() => done(performance.now() - from)))) })()",
            "engine",
        );
        println!(
            "| {name} | {size} KiB | {first:.0} ms | {turn:.0} ms | {slip:.0} ms | {answer:.0} ms |"
        );
    }
}

/// Frames while the crankshaft runs, and from an input until it is drawn, in class: for a person, as above. Rows for
/// `docs/page.md`, by `cargo test --features browser-tests --test browser -- --ignored --nocapture the_class_in_figures`.
#[test]
#[ignore = "measures time"]
#[allow(clippy::print_stdout, reason = "the rows are what it is run for")]
fn the_class_in_figures() {
    let browser = Browser::start("class-figures");
    browser.sized((1280, 720));
    let largest = scratch("browser-largest-class").join("largest.yaml");
    std::fs::write(
        &largest,
        support::largest::spec(support::largest::Large::Alike),
    )
    .unwrap();
    // The middle one of all, and the one that one in twenty is slower than; in milliseconds.
    let measures = "const stats = all => { all.sort((a, b) => a - b); return [all[all.length >> 1], all[Math.floor(all.length * 0.95)]].map(t => t.toFixed(1)).join(' / ') }; \
         const frame = () => new Promise(requestAnimationFrame); const drawn = () => new Promise(done => requestAnimationFrame(() => setTimeout(() => done(performance.now())))); \
         const wait = t => new Promise(done => setTimeout(done, t)); const run = document.getElementById('run'), crank = document.getElementById('crank'); \
         return (async () => { const frames = [], inputs = [], works = [], slips = []; \
         run.click(); await frame(); let before = await frame(); const end = before + 5000; while (frames.length < 120 && before < end) { const now = await frame(); frames.push(now - before); before = now } run.click(); await wait(300); \
         for (let i = 0; i < 20; i++) { await wait(30); const from = performance.now(); crank.value = i * 17 % 720; crank.dispatchEvent(new Event('input')); works.push(performance.now() - from); inputs.push(await drawn() - from) } \
         const both = document.querySelectorAll('#sprockets .row:last-child button'); for (let i = 0; i < 20; i++) { await wait(30); const from = performance.now(); both[i >> 1 & 1].click(); slips.push(await drawn() - from) } \
         return [frames, works, inputs, slips].map(stats).join(' | ') })()";
    for (name, spec) in [
        ("kestrel-four", engine("kestrel-four")),
        ("buzzard-v8", engine("buzzard-v8")),
        ("the largest spec", largest.to_str().unwrap().to_owned()),
    ] {
        let file = page(&spec, "class-figures");
        for rate in [1, 4] {
            browser.open(&file, "class?speed=60");
            browser.devtools("Emulation.setCPUThrottlingRate", &json!({ "rate": rate }));
            let row = browser.script(measures);
            browser.devtools("Emulation.setCPUThrottlingRate", &json!({ "rate": 1 }));
            println!("| {name} | {rate} | {} |", row.as_str().unwrap());
        }
    }
}
