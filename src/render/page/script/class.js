// In class: turn the crankshaft, slip a sprocket, see what follows.
const InClass = (app) => {
  // Places of the crankshaft in a turn, and turns over which the slider goes.
  const PER_TURN = 72;
  const SLIDER = 4;
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let stop = () => {};

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

  const sweep = ({ shaft, rows, says }) => make("div", {},
    make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": `${shaft} tooth by tooth` },
      make("table", {}, make("caption", { text: shaft }), ...rows.map((cells, row) =>
        make("tr", {}, ...cells.map((text, column) =>
          make(text !== "" && (row === 0 || column === 0) ? "th" : "td", { text, scope: text === "" ? null : row === 0 ? "col" : column === 0 ? "row" : null })))))),
    make("p", { text: says }));

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
    let base = 0; // the whole turns at which the slider begins
    let timer = null;
    const places = Module.ask("place", { spec, turned: "0", slips: [] });
    const picture = Picture(scene.svg, { labelled: true, places: places.parts });
    const all = (selector) => [...byId("main").querySelectorAll(selector)];
    const given = () => scene.sprockets.map((name, i) => [name, slips[i]]).filter(([, teeth]) => teeth !== 0);
    let slipped = Module.ask("slipped", { spec, slips: [] });

    const slider = make("input", { id: "crank", type: "range", min: "0", max: String(SLIDER * PER_TURN), step: "1", value: "0", "aria-describedby": "dots" });
    slider.value = "0";
    const run = button("Run", () => running(), { id: "run", "aria-pressed": "false" });
    const able = (which, is) => which.setAttribute("aria-disabled", is ? "false" : "true");
    const on = button("2 turns on", () => { if (canOn()) jump(base + 2); }, { id: "on" });
    const back = button("2 turns back", () => { if (canBack()) jump(base - 2); }, { id: "back" });
    const home = button(scene.home ? scene.home.words : "", () => { stop(); jump(scene.home.turn, 0); }, { id: "return" });
    home.hidden = !scene.home;

    const sprockets = scene.sprockets.map((label, i) => {
      const output = make("output", { "aria-live": "off" }); // the verdict says it
      const slip = (by, text) => button(text, () => {
        if (Math.abs(slips[i] + by) > scene.most_teeth) return;
        slips[i] += by;
        show();
      }, { "aria-label": `Slip ${label} ${text}` });
      const behind = slip(-1, "1 behind");
      const ahead = slip(1, "1 ahead");
      const line = make("div", { class: "row", role: "group", "aria-label": `${label} sprocket` },
        make("div", {}, make("span", { class: "name", text: label }), output), behind, ahead);
      return { line, behind, ahead, output };
    });
    const valveTables = scene.valves.map((title, i) => table(title, slipped.valves[i].map((row) => row[0])));
    const pairTables = scene.pairs.map((title) => table(title, ["overlap", "lobe separation, cam degrees"]));
    const shaftRows = slipped.shafts.map(({ title }) => {
      const cell = make("td");
      return { cell, line: make("tr", {}, make("th", { scope: "row", text: title }), cell) };
    });
    const has = scene.valves.length > 0;
    // They take longer than the picture, and only the class needs them.
    const figures = has ? Module.ask("figures", { spec }) : null;

    app.put(
      make("h2", { class: "visually-hidden", text: "In class: what one tooth does", tabindex: "-1" }),
      make("p", { class: "lead", text: `What one tooth does. ${scene.estimate || ""}` }),
      make("div", { class: has ? "class" : "class plain" },
        make("section", { class: "drive", "aria-labelledby": "drive-head" }, make("h3", { id: "drive-head", text: "The drive" }), picture.holder,
          make("div", { class: "turn" }, make("label", { for: "crank", text: "Crankshaft " }), make("output", { id: "place", for: "crank", "aria-live": "off" }), slider,
            make("div", { class: "buttons" }, run, back, on, home, button("Timed position", () => { stop(); jump(0, 0); }, { id: "timed" })))),
        make("section", { class: "slips", "aria-labelledby": "slip-head" }, make("h3", { id: "slip-head", text: "Slip a sprocket" }),
          make("div", { id: "verdict", class: "verdict", role: "status", "aria-live": "polite", "aria-atomic": "true" }, make("p", { id: "timing" }), make("p", { id: "meeting" })),
          make("div", { id: "sprockets" }, ...sprockets.map(({ line }) => line)),
          make("p", { class: "small", text: "A crankshaft sprocket that slips ahead leaves the camshafts of its chain behind." }),
          button("Hang all right again", () => { slips.fill(0); show(); }, { id: "right" }),
          make("h4", { text: "Where that leaves the shafts" }),
          make("table", { id: "shafts" }, make("thead", {}, make("tr", {}, make("th", { scope: "col", text: "shaft" }), make("th", { scope: "col", text: "stands" }))),
            make("tbody", {}, ...shaftRows.map(({ line }) => line)))),
        make("section", { class: "where", "aria-labelledby": "where-head" }, make("h3", { id: "where-head", text: "Dots and coloured links" }),
          make("p", { id: "dots" }), make("ul", { id: "marks", class: "marks" }), make("p", { class: "small", id: "drive-words", text: scene.stands }), drawn(scene.key)),
        scene.missing.length ? make("section", { class: "missing" }, make("h3", { text: "Not on this page" }), list(scene.missing)) : null,
        has ? make("section", { class: "valves", "aria-labelledby": "valve-head" }, make("h3", { id: "valve-head", text: "What it does to the valves" }),
          make("div", { class: "figures" }, drawn(figures.svg)),
          make("div", { id: "events", class: "tables" }, ...[...valveTables, ...pairTables].map((each) => each.table)),
          make("p", { class: "small", text: "Bold and marked with *: changed. Angles in crank degrees unless it says cam degrees." })) : null,
        has ? make("section", { class: "sweeps" }, make("h3", { text: "Tooth by tooth" }), ...figures.sweeps.map(sweep)) : null,
        has ? make("section", { class: "basis" }, make("details", {}, make("summary", { text: "What it rests on" }), list(scene.rests_on))) : null,
        Exercises(app),
        make("section", { class: "words" }, words()),
        make("section", { class: "cautions" }, make("h3", { text: "Cautions" }), list(scene.cautions))));

    const draw = () => {
      if (slipped.cannot_be) return;
      const turned = `${base * PER_TURN + Number(slider.value)}/${PER_TURN}`;
      const { parts, place, said, marks } = Module.ask("place", { spec, turned, slips: given() });
      picture.place(parts);
      byId("place").textContent = place;
      slider.setAttribute("aria-valuetext", place);
      byId("dots").textContent = said;
      byId("marks").replaceChildren(...marks.map((text) => make("li", { text })));
    };

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

    const show = () => {
      slipped = Module.ask("slipped", { spec, slips: given() });
      sprockets.forEach(({ line, behind, ahead, output }, i) => {
        able(behind, slips[i] > -scene.most_teeth);
        able(ahead, slips[i] < scene.most_teeth);
        output.textContent = slips[i] === 0 ? "on" : `${Math.abs(slips[i])} ${Math.abs(slips[i]) === 1 ? "tooth" : "teeth"} ${slips[i] < 0 ? "behind" : "ahead"}`;
        line.classList.toggle("slipped", slips[i] !== 0);
      });
      byId("timing").textContent = slipped.cannot_be || slipped.timing;
      byId("meeting").textContent = slipped.cannot_be ? "" : slipped.meeting;
      byId("verdict").classList.toggle("off", Boolean(slipped.cannot_be) || slipped.off);
      if (slipped.cannot_be) return;
      slipped.shafts.forEach(({ name, words, off, off_teeth, off_crank_degrees }, i) => {
        const { line, cell } = shaftRows[i];
        cell.textContent = words;
        Object.assign(line.dataset, { shaft: name, offTeeth: off_teeth, offCrankDegrees: off_crank_degrees });
        line.classList.toggle("off", off);
      });
      slipped.valves.forEach((rows, i) => rows.forEach(([, before, after], j) => fill(valveTables[i].rows[j], before, after)));
      slipped.pairs.forEach((pair, i) => {
        pair.forEach(([before, after], j) => fill(pairTables[i].rows[j], before, after));
        all(`[data-overlap="${i}"]`).forEach((text) => { text.textContent = `overlap ${pair[0][1]}`; });
        all(`[data-separation="${i}"]`).forEach((text) => { text.textContent = `separation ${pair[1][1]}`; });
      });
      showFigures();
      draw();
    };

    const last = scene.last_turn;
    const canBack = () => base >= 2;
    const canOn = () => base + 2 <= last;
    const jump = (to, value) => {
      base = to;
      if (value !== undefined) slider.value = value;
      able(back, canBack());
      able(on, canOn());
      draw();
    };
    const advance = (by) => {
      const next = Number(slider.value) + by;
      if (next <= SLIDER * PER_TURN) {
        slider.value = next;
        draw();
        return true;
      }
      // The slider begins anew where it has come to.
      if (base + SLIDER > last) return false;
      jump(base + SLIDER, next - SLIDER * PER_TURN);
      return true;
    };
    const quiet = () => {
      clearInterval(timer);
      timer = null;
      run.setAttribute("aria-pressed", "false");
      run.textContent = still.matches ? "A quarter turn on" : "Run";
    };
    const running = () => {
      if (still.matches) return void advance(PER_TURN / 4);
      if (timer !== null) return quiet();
      run.setAttribute("aria-pressed", "true");
      run.textContent = "Stop";
      timer = setInterval(() => { if (!advance(1)) quiet(); }, 45);
    };
    stop = quiet;
    slider.addEventListener("input", draw);
    quiet();
    jump(0, 0);
    show();
  };
  still.addEventListener("change", () => stop());

  return { enter, leave: () => stop() };
};
