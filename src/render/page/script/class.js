// In class: turn the crankshaft, slip a sprocket, see what follows. One crankshaft moves everything on the page.
const InClass = (app) => {
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const QUARTER = 4;
  let leave = () => {};
  let quieten = () => {};
  let remembered = null; // how it was left, for whoever comes back from elsewhere on the page

  const table = (title, titles) => {
    const body = make("tbody");
    const rows = titles.map((text) => {
      const cells = [make("td"), make("td")];
      const line = make("tr", {}, make("th", { scope: "row", text }), ...cells);
      body.append(line);
      return { line, cells };
    });
    const head = make("tr", {}, make("td"), make("th", { scope: "col", text: "in time" }), make("th", { scope: "col", text: "after" }));
    return { rows, table: make("table", {}, make("caption", { text: title }), make("thead", {}, head), body) };
  };
  const fill = ({ line, cells }, before, after) => {
    cells[0].textContent = before;
    cells[1].textContent = before === after ? after : `${after} *`;
    line.classList.toggle("changed", before !== after);
  };

  const sweep = ({ shaft, rows, says }) => {
    const lines = rows.map((cells, row) => make("tr", {}, ...cells.map((text, column) =>
      make(text !== "" && (row === 0 || column === 0) ? "th" : "td", { text, scope: text === "" ? null : row === 0 ? "col" : column === 0 ? "row" : null }))));
    const now = make("p", { class: "small now-words" });
    // The row in which the shaft stands now is marked by a sign and in words, not by how it looks alone.
    const mark = (row) => {
      lines.forEach((line, i) => {
        if (i === row) line.setAttribute("aria-current", "true");
        else line.removeAttribute("aria-current");
      });
      now.textContent = row === null ? "It stands in no row of the table now." : `It stands now at: ${rows[row][0]}.`;
    };
    return { shaft, mark, holder: make("div", {},
      make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": `${shaft} tooth by tooth` },
        make("table", {}, make("caption", { text: shaft }), ...lines)), now, make("p", { text: says })) };
  };

  // The glossary is worked out once somebody opens it.
  const words = () => {
    const terms = make("dl");
    const fill = () => {
      if (terms.firstChild) return;
      for (const { word, also, means, svg } of Module.ask("glossary", {})) {
        const name = make("dt", { text: word }, also ? make("small", { text: ` ${also}` }) : null);
        terms.append(make("div", {}, name, make("dd", {}, drawn(svg), make("p", { text: means }))));
      }
    };
    return make("details", { id: "words", on: { toggle: fill } }, make("summary", { text: "Words of the trade" }), terms);
  };

  const enter = () => {
    const { scene, spec } = app;
    const slips = scene.sprockets.map(() => 0);
    const phasers = scene.phasers.map(() => 0);
    let wear = 0;
    let number = scene.cylinders[0] ?? null; // the cylinder that is shown
    const places = Module.ask("place", { spec, turned: "0", slips: [] });
    const picture = Picture(scene.svg, { labelled: true, places: places.parts });
    const all = (selector) => [...byId("main").querySelectorAll(selector)];
    const hung = () => ({
      slips: scene.sprockets.map((name, i) => [name, slips[i]]).filter(([, teeth]) => teeth !== 0),
      phasers: scene.phasers.map(({ shaft }, i) => [shaft, phasers[i]]).filter(([, ahead]) => ahead !== 0),
      wear,
    });
    let slipped = Module.ask("slipped", { spec, slips: [] });
    const has = scene.valves.length > 0;
    const cylinders = scene.cylinders.length > 0;
    // They take longer than the picture, and only the class needs them.
    const figures = has || cylinders ? Module.ask("figures", { spec }) : null;
    const sweeps = has ? figures.sweeps.map(sweep) : [];

    // The crankshaft.
    const crank = Crank(scene, () => { draw(); keep(); });
    const slider = make("input", { id: "crank", type: "range", min: "0", step: "1", "aria-describedby": "dots" });
    const rounds = make("input", { id: "round", type: "range", min: "0", max: String(Math.max(scene.last_turn - 2, 0)), step: "2", value: "0" });
    const unit = make("select", { id: "step" },
      make("option", { value: "360", text: "1 degree" }), make("option", { value: "36", text: "10 degrees" }),
      scene.tooth ? make("option", { value: String(scene.tooth.teeth), text: scene.tooth.words }) : null,
      make("option", { value: String(QUARTER), text: "a quarter turn" }));
    const able = (which, is) => which.setAttribute("aria-disabled", is ? "false" : "true");
    const stepBy = (by) => () => { crank.stop(); crank.step(Number(unit.value), by); };
    const run = button("Run", () => running(), { id: "run", "aria-pressed": "false" });
    const less = button("\u25c0", stepBy(-1), { id: "less", "aria-label": "One step back" });
    const more = button("\u25b6", stepBy(1), { id: "more-step", "aria-label": "One step on" });
    const on = button("2 turns on", () => crank.turn(2), { id: "on" });
    const back = button("2 turns back", () => crank.turn(-2), { id: "back" });
    const home = button(scene.home ? scene.home.words : "", () => { crank.stop(); crank.set(scene.home.turn, 1); }, { id: "return" });
    home.hidden = !scene.home;
    const timed = button("Timed position", () => { crank.stop(); crank.set(0, 1); }, { id: "timed" });
    const speed = make("input", { id: "speed", type: "range", min: "1", max: "120", step: "1", value: "10" });
    const paced = make("output", { id: "pace", for: "speed", "aria-live": "off" });
    const pace = () => {
      const turns = Number(speed.value);
      crank.speed(turns);
      paced.textContent = `${turns} ${turns === 1 ? "turn" : "turns"} a minute`;
      speed.setAttribute("aria-valuetext", paced.textContent);
    };
    speed.addEventListener("input", () => { pace(); keep(); });
    slider.addEventListener("input", () => crank.slide(Number(slider.value)));
    rounds.addEventListener("input", () => crank.round(Number(rounds.value)));

    // The sprockets.
    const slip = (i, by) => {
      if (Math.abs(slips[i] + by) > scene.most_teeth) return;
      slips[i] += by;
      show();
    };
    const standing = (teeth) => (teeth === 0 ? "on" : `${Math.abs(teeth)} ${Math.abs(teeth) === 1 ? "tooth" : "teeth"} ${teeth < 0 ? "behind" : "ahead"}`);
    const sprockets = scene.sprockets.map((label, i) => {
      const output = make("output", { "aria-live": "off" }); // the verdict says it
      const one = (by, text) => button(text, () => slip(i, by), { "aria-label": `Slip ${label} ${text}` });
      const behind = one(-1, "1 behind");
      const ahead = one(1, "1 ahead");
      const line = make("div", { class: "row", role: "group", "aria-label": `${label} sprocket` },
        make("div", {}, make("span", { class: "name", text: label }), output), behind, ahead);
      return { line, behind, ahead, output };
    });
    // On a phone the sprockets are off the screen when the cylinder is on it: these stay.
    const quick = make("select", { id: "quick", "aria-label": "Sprocket" }, ...scene.sprockets.map((text, i) => make("option", { value: String(i), text })));
    // Whoever opens it slips a camshaft first.
    quick.value = String(Math.max(scene.sprockets.length - 1, 0));
    const quickly = make("div", { class: "quick" }, quick,
      button("1 behind", () => slip(Number(quick.value), -1), { id: "quick-behind", "aria-label": "Slip it 1 behind" }),
      button("1 ahead", () => slip(Number(quick.value), 1), { id: "quick-ahead", "aria-label": "Slip it 1 ahead" }));

    // Phasers and wear.
    const sliders = [];
    const sliding = (id, label, from, to, value, took, said) => {
      const input = make("input", { id, type: "range", min: String(from), max: String(to), step: "1", value: "0" });
      const output = make("output", { for: id, "aria-live": "off" });
      const tell = () => {
        output.textContent = said(value());
        input.setAttribute("aria-valuetext", output.textContent);
        input.value = String(value());
      };
      input.addEventListener("input", () => { took(Number(input.value)); show(); });
      sliders.push(tell);
      return make("div", { class: "slide" }, make("label", { for: id, text: `${label} ` }), output, input);
    };
    const moves = scene.phasers.map(({ shaft, behind, ahead }, i) => sliding(`phaser-${i}`, `Phaser of ${shaft}`, behind, ahead,
      () => phasers[i], (to) => { phasers[i] = to; },
      (at) => (at === 0 ? "parked" : `${Math.abs(at)} crank degrees ${at < 0 ? "behind" : "ahead"}`)));
    const worn = scene.wear.missing !== null ? make("p", { class: "small", id: "no-wear", text: `Wear: ${scene.wear.missing}` })
      : sliding("wear", "Wear of the chains", 0, scene.wear.most, () => wear, (to) => { wear = to; },
        (at) => (at === 0 ? "new" : `${at / 10} per cent longer`));

    // Beside it, another way to hang the chains: A is kept, B is what the buttons change.
    let kept = null; // { hung, slipped }
    const keepA = button("Keep as A, change B", () => { kept = kept ? null : { hung: hung(), slipped }; beside(); show(); }, { id: "keep", "aria-pressed": "false" });
    const both = make("table", { id: "both" });

    // The cylinders.
    const sections = figures && figures.sections.length ? [Cylinder(figures, "b"), Cylinder(figures, "a")] : [];
    if (sections.length) sections[1].holder.hidden = true;
    const order = scene.cylinders.map((each) => {
      const stroke = make("span", { class: "stroke-word" });
      const pick = button("", () => { number = each; choose(); draw(); keep(); }, { "data-cylinder": String(each) });
      pick.append(make("span", { class: "which", text: String(each) }), " ", stroke);
      return { each, pick, stroke };
    });
    const own = () => figures.cylinders.find(({ cylinder }) => cylinder === number);
    let pairs = [];
    const plots = make("section", { class: "plots", "aria-label": "Timing and lift" });
    if (has) plots.append(drawn(figures.svg));
    for (const figure of plots.children) figure.classList.add(figure.querySelector("[data-cursor]") ? "lift" : "circle");
    // Letters that can be read, however small the plot comes to be.
    const READ = 12.5;
    const letters = new ResizeObserver((all) => all.forEach(({ target, contentRect: { width, height } }) => {
      const { width: wide, height: high } = target.viewBox.baseVal;
      const scale = Math.min(width / wide, height / high);
      if (scale > 0) target.style.setProperty("--letter", `${Math.min(Math.max(15, READ / scale), 26).toFixed(1)}px`);
    }));
    for (const plot of plots.querySelectorAll(".plot")) letters.observe(plot);
    const choose = () => {
      for (const { each, pick } of order) pick.setAttribute("aria-pressed", each === number ? "true" : "false");
      // Without cylinders the first pair of valves is shown, and nothing points into it.
      pairs = number === null ? [0] : own().pairs;
      for (const figure of plots.querySelectorAll("[data-pair]")) figure.classList.toggle("away", Number(figure.dataset.pair) !== (pairs[0] ?? 0));
    };

    const valveTables = scene.valves.map((title, i) => table(title, slipped.valves[i].map((row) => row[0])));
    const pairTables = scene.pairs.map((title) => table(title, ["overlap", "lobe separation, cam degrees"]));
    const shaftRows = slipped.shafts.map(({ title }) => {
      const cell = make("td");
      return { cell, line: make("tr", {}, make("th", { scope: "row", text: title }), cell) };
    });
    const lacking = [
      cylinders ? null : "No piston: the spec does not give 'cylinders:'.",
      has ? null : "No valves: the spec does not give 'valves:'.",
    ].filter(Boolean);

    app.put(
      make("h2", { class: "visually-hidden", text: "In class: what one tooth does", tabindex: "-1" }),
      make("div", { class: has ? "stage" : "stage bare" },
        make("div", { id: "verdict", class: "verdict", role: "status", "aria-live": "polite", "aria-atomic": "true" },
          make("p", { id: "timing" }), make("p", { id: "meeting", class: "state" }), make("p", { id: "besides", class: "small" })),
        make("section", { class: "drive", "aria-labelledby": "drive-head" }, make("h3", { id: "drive-head", text: "The drive" }), picture.holder),
        make("section", { class: "cylinders", "aria-labelledby": "cylinder-head" }, make("h3", { id: "cylinder-head", text: "In the cylinder" }),
          make("div", { class: "cuts" }, ...sections.map(({ holder }) => holder).reverse()), lacking.length ? list(lacking, { class: "lacking" }) : null),
        has ? plots : null,
        make("section", { class: "slips", "aria-labelledby": "slip-head" }, make("h3", { id: "slip-head", text: "Slip a sprocket" }),
          make("div", { id: "sprockets" }, ...sprockets.map(({ line }) => line)),
          make("div", { class: "buttons" }, button("Hang all right again", () => { slips.fill(0); phasers.fill(0); wear = 0; show(); }, { id: "right" }), keepA),
          ...moves, worn),
        order.length ? make("div", { class: "order", role: "group", "aria-label": "Cylinders in firing order" }, ...order.map(({ pick }) => pick)) : null,
        make("div", { class: "turn" }, make("div", { class: "where-now" }, make("label", { for: "crank", text: "Crankshaft " }), make("output", { id: "place", for: "crank", "aria-live": "off" })), slider,
          make("div", { class: "buttons" }, run, less, more, make("label", { class: "visually-hidden", for: "step", text: "Step" }), unit), quickly),
        make("div", { class: "further" },
          make("div", { class: "slide pace" }, make("label", { for: "speed", text: "Speed " }), paced, speed),
          make("div", { class: "slide" }, make("label", { for: "round", text: `Turns, of ${scene.last_turn} ` }), rounds),
          make("div", { class: "buttons" }, back, on, home, timed)),
        make("p", { class: "estimate small", text: scene.estimate || "" })),
      make("div", { class: has ? "class" : "class plain" },
        make("section", { class: "where", "aria-labelledby": "where-head" }, make("h3", { id: "where-head", text: "Dots and coloured links" }),
          make("p", { id: "dots" }), make("ul", { id: "marks", class: "marks" }), make("p", { class: "small", id: "drive-words", text: scene.stands }), drawn(scene.key)),
        make("section", { class: "shafts" }, make("h3", { text: "Where that leaves the shafts" }),
          make("p", { class: "small", text: "A crankshaft sprocket that slips ahead leaves the camshafts of its chain behind." }),
          make("table", { id: "shafts" }, make("thead", {}, make("tr", {}, make("th", { scope: "col", text: "shaft" }), make("th", { scope: "col", text: "stands" }))),
            make("tbody", {}, ...shaftRows.map(({ line }) => line))), both),
        scene.missing.length ? make("section", { class: "missing" }, make("h3", { text: "Not on this page" }), list(scene.missing)) : null,
        has ? make("section", { class: "valves", "aria-labelledby": "valve-head" }, make("h3", { id: "valve-head", text: "What it does to the valves" }),
          make("div", { id: "events", class: "tables" }, ...[...valveTables, ...pairTables].map((each) => each.table)),
          make("p", { class: "small", text: "Bold and marked with *: changed. Angles in crank degrees unless it says cam degrees." })) : null,
        has ? make("section", { class: "sweeps" }, make("h3", { text: "Tooth by tooth" }), make("p", { class: "small", text: "One sprocket by itself, all others on. The row in which its shaft stands now has an arrow." }), ...sweeps.map(({ holder }) => holder)) : null,
        has ? make("section", { class: "basis" }, make("details", {}, make("summary", { text: "What it rests on" }), list(scene.rests_on))) : null,
        Exercises(app),
        make("section", { class: "words" }, words()),
        make("section", { class: "cautions" }, make("h3", { text: "Cautions" }), list(scene.cautions))));

    // Puts everything where it is now.
    let marked = "";
    const turns = (selector, of, how) => all(`[data-${selector}]`).filter((part) => pairs.includes(Number(part.dataset[selector]))).forEach((part) => how(part, of));
    function draw() {
      if (slipped.cannot_be) return;
      const turned = crank.turned();
      const { parts, place, said, marks, cylinders: poses } = Module.ask("moment", { spec, turned, ...hung() });
      picture.place(parts);
      byId("place").textContent = place;
      slider.max = String(crank.length());
      slider.value = String(crank.slid());
      slider.setAttribute("aria-valuetext", place);
      rounds.value = String(crank.base());
      able(back, crank.can(-2));
      able(on, crank.can(2));
      byId("dots").textContent = said;
      if (marked !== marks.join("\n")) {
        marked = marks.join("\n");
        byId("marks").replaceChildren(...marks.map((text) => make("li", { text })));
      }
      poses.forEach(({ stroke }, i) => {
        order[i].stroke.textContent = stroke;
        order[i].pick.dataset.stroke = stroke;
      });
      const pose = poses.find(({ cylinder }) => cylinder === number);
      if (pose) {
        sections[0].put(pose, own(), kept ? "B: " : "");
        turns("pointer", pose, (part, { pointer }) => part.setAttribute("transform", `rotate(${pointer})`));
        turns("cursor", pose, (part, { cursor }) => part.setAttribute("transform", `translate(${cursor})`));
        turns("stroke", pose, (part, { stroke }) => { part.textContent = stroke; });
        if (kept) {
          const { cylinders: others } = Module.ask("cylinders", { spec, turned, ...kept.hung });
          sections[1].put(others.find(({ cylinder }) => cylinder === number), own(), "A: ");
        }
      }
      const is = crank.running();
      run.setAttribute("aria-pressed", is ? "true" : "false");
      const name = still.matches ? "A quarter turn on" : is ? "Stop" : "Run";
      if (run.textContent !== name) run.textContent = name;
    }

    const showFigures = () => slipped.figures.forEach((figure, i) => {
      const put = (kind, use) => all(`[data-${kind}="${i}"]`).forEach(use);
      put("lift", (g) => {
        g.setAttribute("transform", `translate(${figure.dx.toFixed(2)})`);
        g.style.visibility = figure.dx === 0 ? "hidden" : "visible";
      });
      put("was", (path) => { path.style.visibility = figure.turn === 0 ? "hidden" : "visible"; });
      put("turn", (g) => {
        g.setAttribute("transform", `rotate(${figure.turn.toFixed(2)})`);
        g.querySelectorAll(".upright").forEach((text) => text.setAttribute("transform", `rotate(${(-figure.turn).toFixed(2)})`));
      });
      put("contact", (g) => {
        g.classList.toggle("on", figure.contact !== null);
        if (figure.contact) g.setAttribute("transform", `translate(${figure.contact[0].toFixed(1)} ${figure.contact[1].toFixed(1)})`);
      });
      put("opens", (span) => { span.textContent = figure.opens; });
      put("closes", (span) => { span.textContent = figure.closes; });
    });

    // A and B in one table, and A's cylinder beside B's.
    function beside() {
      keepA.setAttribute("aria-pressed", kept ? "true" : "false");
      keepA.textContent = kept ? "Without A" : "Keep as A, change B";
      if (sections.length) sections[1].holder.hidden = !kept;
      byId("main").querySelector(".stage").classList.toggle("beside", Boolean(kept));
    }
    const inWords = ({ slips: given, phasers: moved, wear: by }) => [
      ...given.map(([name, teeth]) => `${name} ${standing(teeth)}`),
      ...moved.map(([shaft, at]) => `phaser of ${shaft} ${Math.abs(at)} crank degrees ${at < 0 ? "behind" : "ahead"}`),
      by ? `wear ${by / 10} per cent` : null,
    ].filter(Boolean).join("; ") || "all hung right";
    const compare = () => {
      both.replaceChildren();
      all(".kept").forEach((curve) => curve.remove());
      if (!kept) return;
      const a = kept.slipped;
      // A's lift, where it is not as in time.
      if (!a.cannot_be) a.figures.forEach(({ dx }, i) => all(`[data-lift="${i}"]`).forEach((after) => {
        if (dx === 0) return;
        const curve = after.cloneNode(true);
        delete curve.dataset.lift;
        curve.classList.replace("after", "kept");
        curve.setAttribute("transform", `translate(${dx.toFixed(2)})`);
        curve.style.visibility = "visible";
        after.before(curve);
      }));
      const row = (what, one, other, state) => make("tr", { class: one === other ? null : "changed" }, make("th", { scope: "row", text: what }),
        ...[[one, a.contact], [other, slipped.contact]].map(([text, is]) => make("td", { text, class: state ? "state" : null, "data-state": state ? is : null })));
      const rows = [row("hung", inWords(kept.hung), inWords(hung())), row("timing", a.timing || a.cannot_be, slipped.timing || slipped.cannot_be)];
      if (!a.cannot_be && !slipped.cannot_be) {
        rows.push(row("valves and piston", a.meeting, slipped.meeting, true));
        scene.valves.forEach((title, i) => a.valves[i].forEach(([what, , after], j) => rows.push(row(`${title}: ${what}`, after, slipped.valves[i][j][2]))));
        scene.pairs.forEach((title, i) => ["overlap", "lobe separation"].forEach((what, j) => rows.push(row(`${title}: ${what}`, a.pairs[i][j][1], slipped.pairs[i][j][1]))));
      }
      both.append(make("caption", { text: "A and B side by side (in the lift plot A is dash-dotted, B dashed)" }),
        make("thead", {}, make("tr", {}, make("td"), make("th", { scope: "col", text: "A" }), make("th", { scope: "col", text: "B" }))), make("tbody", {}, ...rows));
    };

    function show() {
      slipped = Module.ask("slipped", { spec, ...hung() });
      sprockets.forEach(({ line, behind, ahead, output }, i) => {
        able(behind, slips[i] > -scene.most_teeth);
        able(ahead, slips[i] < scene.most_teeth);
        output.textContent = standing(slips[i]);
        line.classList.toggle("slipped", slips[i] !== 0);
      });
      sliders.forEach((tell) => tell());
      byId("timing").textContent = slipped.cannot_be || slipped.timing;
      byId("meeting").textContent = slipped.cannot_be ? "" : slipped.meeting;
      byId("meeting").dataset.state = slipped.cannot_be ? "" : slipped.contact;
      byId("besides").textContent = slipped.cannot_be ? "" : slipped.besides.join(" ");
      byId("verdict").classList.toggle("off", Boolean(slipped.cannot_be) || slipped.off);
      keep();
      compare();
      if (slipped.cannot_be) return;
      slipped.shafts.forEach(({ name, words, off, off_teeth, off_crank_degrees, row }, i) => {
        const { line, cell } = shaftRows[i];
        cell.textContent = words;
        Object.assign(line.dataset, { shaft: name, offTeeth: off_teeth, offCrankDegrees: off_crank_degrees });
        line.classList.toggle("off", off);
        sweeps.filter(({ shaft }) => shaft === name).forEach(({ mark }) => mark(row));
      });
      slipped.valves.forEach((rows, i) => rows.forEach(([, before, after], j) => fill(valveTables[i].rows[j], before, after)));
      slipped.pairs.forEach((pair, i) => {
        pair.forEach(([before, after], j) => fill(pairTables[i].rows[j], before, after));
        all(`[data-overlap="${i}"]`).forEach((text) => { text.textContent = `overlap ${pair[0][1]}`; });
        all(`[data-separation="${i}"]`).forEach((text) => { text.textContent = `separation ${pair[1][1]}`; });
      });
      if (has) showFigures();
      draw();
    }

    // The address says all of it, once everything that it said is here.
    let read = false;
    const hungPairs = (before, { slips: given, phasers: moved, wear: by }) => [
      ...given.map(([name, teeth]) => [`${before}slip`, `${name}:${teeth}`]),
      ...moved.map(([shaft, at]) => [`${before}phaser`, `${shaft}:${at}`]),
      ...(by ? [[`${before}wear`, String(by)]] : []),
    ];
    function keep() {
      if (!read) return;
      const pairs = [
        ["engine", stem(spec.name)],
        ...(crank.written() === "0" ? [] : [["crank", crank.written()]]),
        ...(number === null || number === scene.cylinders[0] ? [] : [["cylinder", String(number)]]),
        ...hungPairs("", hung()),
        ...(kept ? [["a", "1"], ...hungPairs("a-", kept.hung)] : []),
        ...(speed.value === "10" ? [] : [["speed", speed.value]]),
        ...(unit.selectedIndex === 0 ? [] : [["step", String(unit.selectedIndex)]]),
      ];
      remembered = { of: spec.text, pairs };
      Address.put("class", pairs);
    }
    unit.addEventListener("change", keep);
    const take = () => {
      let { values } = Address.read();
      if (values.size === 0 && remembered && remembered.of === spec.text) values = new URLSearchParams(remembered.pairs);
      const ignored = [];
      const whole = (text, from, to) => (/^-?\d{1,6}$/.test(text) && Number(text) >= from && Number(text) <= to ? Number(text) : null);
      // What it says of a hanging; what is none is left out, and said to be.
      const hanging = (before) => {
        slips.fill(0);
        phasers.fill(0);
        wear = 0;
        const pair = (key, names, limits, put) => values.getAll(before + key).forEach((text) => {
          const at = names.indexOf(text.slice(0, text.lastIndexOf(":")));
          const much = at < 0 ? null : whole(text.slice(text.lastIndexOf(":") + 1), ...limits(at));
          if (much === null) ignored.push(`${before}${key}=${text}`);
          else put(at, much);
        });
        pair("slip", scene.sprockets, () => [-scene.most_teeth, scene.most_teeth], (at, much) => { slips[at] = much; });
        pair("phaser", scene.phasers.map(({ shaft }) => shaft), (at) => [scene.phasers[at].behind, scene.phasers[at].ahead], (at, much) => { phasers[at] = much; });
        const by = values.get(`${before}wear`);
        if (by !== null) {
          wear = whole(by, 0, scene.wear.most) ?? 0;
          if (String(wear) !== by) ignored.push(`${before}wear=${by}`);
        }
      };
      const one = (key, use) => {
        const text = values.get(key);
        if (text !== null && !use(text)) ignored.push(`${key}=${text}`);
      };
      const numbered = (from, to, use) => (text) => {
        const value = whole(text, from, to);
        if (value !== null) use(value);
        return value !== null;
      };
      const strange = [...values.keys()].filter((key) => !/^(engine|crank|cylinder|a|(a-)?(slip|phaser|wear)|speed|step)$/.test(key));
      ignored.push(...new Set(strange));
      one("cylinder", numbered(1, 255, (value) => { number = value; }));
      if (number !== null && !scene.cylinders.includes(number)) {
        ignored.push(`cylinder=${number}`);
        number = scene.cylinders[0] ?? null;
      }
      one("speed", numbered(1, 120, (value) => { speed.value = String(value); }));
      one("step", numbered(0, unit.length - 1, (value) => { unit.selectedIndex = value; }));
      if (values.has("a")) {
        hanging("a-");
        kept = { hung: hung(), slipped: Module.ask("slipped", { spec, ...hung() }) };
        if (kept.slipped.cannot_be) {
          ignored.push("a");
          kept = null;
        }
      }
      hanging("");
      slipped = Module.ask("slipped", { spec, ...hung() });
      choose();
      one("crank", crank.read);
      if (ignored.length) notice(`Left out, for it is not of this engine or not in its range: ${ignored.map((text) => text.slice(0, 40)).slice(0, 6).join(", ")}`);
    };

    function running() {
      if (still.matches) return crank.step(QUARTER, 1);
      if (crank.running()) return crank.stop();
      return crank.start();
    }
    quieten = () => crank.stop();
    leave = () => {
      letters.disconnect();
      crank.stop();
      Address.forget();
    };
    take();
    pace();
    beside();
    show();
    draw();
    read = true;
    keep();
  };
  still.addEventListener("change", () => quieten());

  return { enter, leave: () => leave() };
};
