"use strict";
// Places what is drawn and picks words from the tables in the page. It reckons no timing: every state
// that the buttons and the slider can reach lies in the data.
(() => {
  const byId = (id) => document.getElementById(id);
  const data = JSON.parse(byId("data").textContent);
  const { turns, words } = data;
  const range = turns.slip_range;
  const slips = data.sprockets.map(() => 0);
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let base = 0; // the row of the table at which the slider begins
  let timer = null;

  const make = (tag, text, parent) => {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    if (parent) parent.append(element);
    return element;
  };
  const all = (selector) => [...document.querySelectorAll(selector)];

  // The entry of a table over the slips of these sprockets, the last counting fastest.
  const entry = (by) =>
    by.reduce((index, sprocket) => index * (2 * range + 1) + slips[sprocket] + range, 0);
  const stateOf = (shaft) => shaft.table[entry(shaft.by)];

  // --- the drive ---------------------------------------------------------------------------
  const links = all("g.link[data-chain]").map((g) => [g, +g.dataset.chain, +g.dataset.link]);
  const numbers = all("text.number").map((t) => [t, +t.dataset.chain, +t.dataset.link, +t.dataset.out]);
  const turning = ["sprocket", "due", "mark"].flatMap((kind) =>
    all(`g.${kind}[data-${kind}]`).map((g) => [g, kind, +g.dataset[kind]]));

  // Where a place of the chain lies on its track.
  const spot = (chain, link) => {
    const { points, per_link: per } = chain.track;
    const count = points.length / 2;
    const along = ((link * per) % count + count) % count;
    const i = Math.floor(along) % count;
    const j = (i + 1) % count;
    const part = along - Math.floor(along);
    return [0, 1].map((k) => points[2 * i + k] + (points[2 * j + k] - points[2 * i + k]) * part);
  };

  const slider = byId("crank");
  const row = () => base + Math.floor(+slider.value / turns.per_turn);
  const part = () => +slider.value % turns.per_turn;

  const draw = () => {
    const moved = data.chains.map((chain) =>
      chain.turn_moved[row()] + chain.part_moved[part()] + chain.slip_moved[entry(chain.by)]);
    const ends = (chain, link) =>
      [-0.5, 0.5].map((end) => spot(data.chains[chain], link + end + moved[chain]));
    for (const [g, chain, link] of links) {
      const [[x, y], [u, v]] = ends(chain, link);
      const angle = Math.atan2(v - y, u - x) * 180 / Math.PI;
      g.setAttribute("transform",
        `translate(${((x + u) / 2).toFixed(2)} ${((y + v) / 2).toFixed(2)}) rotate(${angle.toFixed(2)})`);
    }
    for (const [text, chain, link, out] of numbers) {
      const [[x, y], [u, v]] = ends(chain, link);
      const { per_link: per, sides } = data.chains[chain].track;
      const place = Math.round((link + moved[chain]) * per) % sides.length;
      const far = out * sides[(place + sides.length) % sides.length] / Math.hypot(u - x, v - y);
      text.setAttribute("x", ((x + u) / 2 + (v - y) * far).toFixed(2));
      text.setAttribute("y", ((y + v) / 2 - (u - x) * far).toFixed(2));
    }
    for (const [g, kind, index] of turning) {
      const sprocket = data.sprockets[index];
      const shaft = data.shafts[sprocket.shaft];
      const ahead = kind === "due" ? 0 : shaft.states[stateOf(shaft)].ahead_turns;
      const past = sprocket.turn_past[row()] + sprocket.part_past[part()] + ahead;
      const angle = sprocket.drawn.clock + sprocket.drawn.sign * 360 * past;
      g.setAttribute("transform", `translate(${g.dataset.x} ${g.dataset.y}) rotate(${angle.toFixed(2)})`);
      g.classList.toggle("off", stateOf(shaft) !== shaft.zero);
    }
    tellPlace();
  };

  const tellPlace = () => {
    const place = row() === 0 ? turns.first_turn[part()] : turns.words[row()] + turns.part_words[part()];
    byId("place").textContent = place;
    slider.setAttribute("aria-valuetext", place);
    const hungRight = slips.every((slip) => slip === 0);
    byId("dots").textContent = part() !== 0
      ? "The dots are on their way; look at them after a whole turn."
      : hungRight ? turns.said[row()].join(" ") : "Hung wrong; so the links on the dots are:";
    byId("marks").replaceChildren();
    if (part() !== 0) return;
    data.sprockets.forEach((sprocket, i) => {
      if (!sprocket.has_dot) return;
      const shaft = data.shafts[sprocket.shaft];
      const line = make("li", undefined, byId("marks"));
      const say = (text) => { line.textContent = `${sprocket.label}: ${text}`; };
      if (sprocket.turn_past[row()] !== 0) return say("its dot is on its way");
      if (sprocket.on_dot.length === 0) {
        return say(stateOf(shaft) === shaft.zero
          ? "its dot is in its timed place" : `its dot is off, ${shaft.states[stateOf(shaft)].words}`);
      }
      const name = (slip) => sprocket.link_names[sprocket.on_dot[slip + range][row()]];
      const on = `${name(slips[i])} on its dot`;
      if (slips[i] !== 0) return say(`${on}; ${name(0)} belongs there`);
      if (sprocket.on_dot[range][row()] === sprocket.own) {
        return say(`${on}, its coloured link${sprocket.colour ? ` (${sprocket.colour})` : ""}`);
      }
      say(`${on}; its coloured link is elsewhere, as it should be by now`);
    });
  };

  // --- slips ---------------------------------------------------------------------------------
  const able = (button, is) => button.setAttribute("aria-disabled", is ? "false" : "true");
  const rows = data.sprockets.map((sprocket, i) => {
    const line = make("div", undefined, byId("sprockets"));
    line.className = "row";
    line.setAttribute("role", "group");
    line.setAttribute("aria-label", `${sprocket.label} sprocket`);
    const about = make("div", undefined, line);
    make("span", sprocket.label, about).className = "name";
    const output = make("output", "", about);
    output.setAttribute("aria-live", "off"); // the verdict says it
    const slip = (by, text) => {
      const button = make("button", text);
      button.type = "button";
      button.setAttribute("aria-label", `Slip ${sprocket.label} one tooth ${by < 0 ? "behind" : "ahead"}`);
      button.addEventListener("click", () => {
        if (Math.abs(slips[i] + by) > range) return;
        slips[i] += by;
        show();
      });
      return button;
    };
    const behind = slip(-1, "1 behind");
    const ahead = slip(1, "1 ahead");
    line.append(behind, ahead);
    return { line, behind, ahead, output };
  });
  byId("right").addEventListener("click", () => { slips.fill(0); show(); });

  const shaftRows = data.shafts.map((shaft) => {
    if (!shaft.driven) return null;
    const line = make("tr", undefined, document.querySelector("#shafts tbody"));
    const head = make("th", shaft.kind === shaft.name ? shaft.name : `${shaft.name} (${shaft.kind})`, line);
    head.scope = "row";
    return { line, cell: make("td", "", line) };
  });

  // --- valves --------------------------------------------------------------------------------
  const table = (title, titles) => {
    const element = make("table", undefined, byId("events"));
    make("caption", title, element);
    const head = make("tr", undefined, make("thead", undefined, element));
    ["", "in time", "after"].forEach((text) => {
      const cell = make(text ? "th" : "td", text, head);
      if (text) cell.scope = "col";
    });
    const body = make("tbody", undefined, element);
    return titles.map((text) => {
      const line = make("tr", undefined, body);
      make("th", text, line).scope = "row";
      return { line, cells: [make("td", "", line), make("td", "", line)] };
    });
  };
  const fill = ({ line, cells }, before, after) => {
    cells[0].textContent = before;
    cells[1].textContent = before === after ? after : `${after} *`;
    line.classList.toggle("changed", before !== after);
  };
  const stateOfValve = (valve) => stateOf(data.shafts[valve.shaft]);
  const valveTables = data.valves.map((valve) =>
    table(`${valve.title} (${valve.stated})`, valve.states[0].rows.map((each) => each[0])));
  const pairTables = data.pairs.map((pair) => table(pair.title, ["overlap", "lobe separation, cam degrees"]));

  const showValves = () => {
    data.valves.forEach((valve, i) => {
      const state = stateOfValve(valve);
      valve.states[state].rows.forEach(([, before, after], j) => fill(valveTables[i][j], before, after));
      const figure = data.figures[i][state];
      const put = (kind, use) => all(`[data-${kind}="${i}"]`).forEach(use);
      put("lift", (g) => {
        g.setAttribute("transform", `translate(${figure.dx.toFixed(2)})`);
        g.style.visibility = figure.dx === 0 ? "hidden" : "visible";
      });
      put("was", (path) => { path.style.visibility = figure.turn === 0 ? "hidden" : "visible"; });
      put("turn", (g) => {
        g.setAttribute("transform", `rotate(${figure.turn.toFixed(2)})`);
        g.querySelectorAll(".upright").forEach((text) =>
          text.setAttribute("transform", `rotate(${(-figure.turn).toFixed(2)})`));
      });
      put("contact", (g) => {
        g.classList.toggle("on", figure.contact !== null);
        if (figure.contact) g.setAttribute("transform", `translate(${figure.contact[0].toFixed(1)} ${figure.contact[1].toFixed(1)})`);
      });
      put("opens", (span) => { span.textContent = figure.opens; });
      put("closes", (span) => { span.textContent = figure.closes; });
    });
    data.pairs.forEach((pair, i) => {
      const states = [pair.intake, pair.exhaust].map((valve) => data.valves[valve]);
      const zero = states.map((valve) => data.shafts[valve.shaft].zero);
      const now = states.map(stateOfValve);
      const [, overlap, separation] = pair.table[now[0]][now[1]];
      const [, overlapWas, separationWas] = pair.table[zero[0]][zero[1]];
      fill(pairTables[i][0], overlapWas, overlap);
      fill(pairTables[i][1], separationWas, separation);
      all(`[data-overlap="${i}"]`).forEach((text) => { text.textContent = `overlap ${overlap}`; });
      all(`[data-separation="${i}"]`).forEach((text) => { text.textContent = `separation ${separation}`; });
    });
  };

  // Whether valves and piston meet, said by the valves with the least clearance.
  const meeting = () => {
    if (words.no_valves) return words.no_valves;
    const now = data.valves.map((valve) => valve.states[stateOfValve(valve)]);
    const known = now.filter((state) => state.least !== null).sort((a, b) => a.least - b.least);
    if (known.length === 0) return words.unknown;
    if (known[0].meets) return known[0].if_meet;
    return known.length < now.length ? known[0].if_unknown : known[0].if_clear;
  };

  const show = () => {
    rows.forEach(({ line, behind, ahead, output }, i) => {
      able(behind, slips[i] > -range);
      able(ahead, slips[i] < range);
      output.textContent = turns.slip_words[slips[i] + range];
      line.classList.toggle("slipped", slips[i] !== 0);
    });
    if (data.shafts.some((shaft) => stateOf(shaft) === null)) {
      byId("timing").textContent = words.cannot_be;
      byId("meeting").textContent = "";
      byId("verdict").classList.add("off");
      return;
    }
    const off = [];
    data.shafts.forEach((shaft, i) => {
      if (!shaft.driven) return;
      const state = shaft.states[stateOf(shaft)];
      const isOff = stateOf(shaft) !== shaft.zero;
      if (isOff && shaft.timed) off.push(`${shaft.name} ${state.words}`);
      shaftRows[i].cell.textContent = state.words;
      Object.assign(shaftRows[i].line.dataset, {
        shaft: shaft.name, offTeeth: state.off_teeth, offCrankDegrees: state.off_crank_degrees,
      });
      shaftRows[i].line.classList.toggle("off", isOff);
    });
    const meets = meeting();
    byId("timing").textContent = off.length ? `${words.out_of_time}: ${off.join("; ")}.` : words.in_time;
    byId("meeting").textContent = meets;
    byId("verdict").classList.toggle("off", off.length > 0);
    showValves();
    draw();
  };

  // --- turning the crankshaft ------------------------------------------------------------------
  // The rows follow each other up to here; beyond may lie the far turn of return by itself.
  const last = turns.last_row;
  const canBack = () => base >= 2 && base <= last;
  const canOn = () => base + 2 <= last;
  const jump = (to, value) => {
    base = to;
    if (value !== undefined) slider.value = value;
    able(byId("back"), canBack());
    able(byId("on"), canOn());
    draw();
  };
  slider.max = turns.slider * turns.per_turn;
  slider.addEventListener("input", draw);
  byId("on").addEventListener("click", () => { if (canOn()) jump(base + 2); });
  byId("back").addEventListener("click", () => { if (canBack()) jump(base - 2); });
  byId("timed").addEventListener("click", () => { stop(); jump(0, 0); });
  const home = byId("return");
  if (turns.home_row === null) home.hidden = true;
  else {
    const what = turns.links_return_after === null ? "dots" : "links";
    home.textContent = `Turn ${turns.numbers[turns.home_row]}: all ${what} back`;
    home.addEventListener("click", () => { stop(); jump(turns.home_row, 0); });
  }

  const run = byId("run");
  const step = (by) => {
    const next = +slider.value + by;
    if (next <= +slider.max) { slider.value = next; draw(); return true; }
    // The slider begins anew where it has come to, if the tables go on.
    const on = base + turns.slider;
    if (on > last) return false;
    jump(on, next - +slider.max);
    return true;
  };
  const stop = () => {
    clearInterval(timer);
    timer = null;
    run.setAttribute("aria-pressed", "false");
    run.textContent = still.matches ? "A quarter turn on" : "Run";
  };
  run.addEventListener("click", () => {
    if (still.matches) return void step(turns.per_turn / 4);
    if (timer !== null) return stop();
    run.setAttribute("aria-pressed", "true");
    run.textContent = "Stop";
    timer = setInterval(() => { if (!step(1)) stop(); }, 45);
  });
  still.addEventListener("change", stop);

  stop();
  jump(0, 0);
  show();
})();
