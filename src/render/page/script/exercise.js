// Predict, then reveal: the module makes an exercise of a number, and judges what is said of it.
const Exercises = (app) => {
  const { spec } = app;
  // As many faults as any exercise has.
  const MOST = 4;
  const LEVELS = ["easy", "medium", "hard"];
  const choice = (texts, settings) => make("select", settings, ...texts.map((text) => make("option", { value: text, text })));
  const field = (label, input) => make("div", {}, make("label", { for: input.id, text: label }), input);

  const seed = make("input", { id: "seed", type: "text", inputmode: "numeric", autocomplete: "off" });
  seed.value = "1";
  const level = choice(LEVELS, { id: "level" });
  const sheet = make("div", { id: "sheet" });
  let next = null;

  // One fault: which part, which way, how much.
  const fault = (parts, number) => {
    const id = (what) => `fault-${what}-${number}`;
    const part = make("select", { id: id("part") }, ...parts.map(({ label }, i) => make("option", { value: String(i), text: label })));
    const side = choice(["ahead", "behind"], { id: id("side") });
    const count = make("input", { id: id("count"), class: "count", type: "text", inputmode: "decimal", autocomplete: "off" });
    const name = make("label", { for: count.id });
    const much = [field("Which way", side), make("div", {}, name, count)];
    const chosen = () => parts[Number(part.value)];
    const show = () => {
      const { amount } = chosen();
      much.forEach((each) => { each.hidden = amount === null; });
      name.textContent = amount === null ? "" : `How many ${amount}`;
    };
    part.addEventListener("change", show);
    show();
    const says = () => {
      const { amount, before, after } = chosen();
      return amount === null ? before : `${before}${count.value.trim()} ${after}${side.value}`;
    };
    return { says, line: make("fieldset", {}, make("legend", { text: `Fault ${number}` }), make("div", { class: "ask" }, field("What", part), ...much)) };
  };

  const put = (exercise) => {
    next = exercise.next;
    const faults = [fault(exercise.parts, 1)];
    const lines = make("div", {}, faults[0].line);
    const judged = make("div", { id: "judged", class: "judged", role: "status" });
    const answers = make("div", { id: "answers" });
    const reveal = button("Show the answer", () => {}, { id: "reveal", hidden: true });
    const more = button("One fault more", () => {
      const one = fault(exercise.parts, faults.length + 1);
      faults.push(one);
      lines.append(one.line);
      more.hidden = faults.length >= MOST;
    }, { id: "more" });
    const judge = button("Judge it", () => {
      try {
        const grade = Module.ask("grade", { spec, seed: exercise.seed, level: exercise.level, says: faults.map(({ says }) => says()) });
        judged.dataset.outcome = grade.outcome;
        judged.replaceChildren(make("p", { text: grade.says }), list(grade.why));
        reveal.hidden = false;
        reveal.onclick = () => answers.replaceChildren(make("h4", { text: grade.answers.length > 1 ? "Right answers" : "The answer" }), list(grade.answers));
      } catch (error) {
        judged.dataset.outcome = "unread";
        judged.replaceChildren(make("p", { text: error.message }));
      }
    }, { id: "judge" });
    sheet.replaceChildren(
      make("h4", { id: "exercise-name", text: exercise.heading }),
      make("p", { class: "small", text: exercise.says }),
      make("table", { id: "sights" }, make("caption", { text: "Seen at the timed position" }),
        make("thead", {}, make("tr", {}, ...["shaft", "dot", "instrument"].map((text) => make("th", { scope: "col", text })))),
        make("tbody", {}, ...exercise.sights.map(({ shaft, dot, instrument }) => make("tr", {}, make("th", { scope: "row", text: shaft }), make("td", { text: dot }), make("td", { text: instrument }))))),
      make("p", { class: "small", text: exercise.accuracy }),
      exercise.noticed.length ? make("details", {}, make("summary", { text: "Noticed besides (an estimate; signs are common practice)" }), list(exercise.noticed)) : "",
      make("p", { text: exercise.asked }), lines, make("div", { class: "buttons" }, judge, more, reveal), judged, answers);
  };

  const show = () => {
    try {
      put(Module.ask("exercise", { spec, seed: seed.value, level: level.value }));
    } catch (error) {
      next = null;
      sheet.replaceChildren(make("p", { class: "judged", role: "alert", text: error.message }));
    }
  };
  const on = () => {
    if (next !== null) seed.value = next;
    show();
  };

  return make("section", { class: "exercise", "aria-labelledby": "exercise-head" }, make("h3", { id: "exercise-head", text: "Predict, then reveal" }),
    make("p", { text: "The same number is the same exercise on every phone and on the command line." }),
    make("div", { class: "ask" }, field("Exercise number", seed), field("Level", level), button("Set it", show, { id: "set" }), button("Next one", on, { id: "next" })), sheet);
};
