// At the engine: the library's questions by thumb, one a screen.
const AtEngine = (app) => {
  // A tap that was meant for the screen before is not taken for an answer to this one.
  const SETTLES = 350;
  // After so long something may have been moved: it is asked, as after a reload.
  const LONG = 10 * 60 * 1000;
  let session = null; // { key, id, job, from, replies, shown, kept, last }
  let shownAt = 0;
  const main = byId("main");

  const now = () => `${new Date().toISOString().slice(0, 19)}Z`;
  const newId = () => {
    const chance = crypto.getRandomValues(new Uint8Array(8));
    return `r${[...chance].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`;
  };
  const keyOf = (spec) => `${spec.name}\n${spec.text}`;
  const step = (replies) => Module.ask("interview", {
    spec: app.spec, id: session.id, job: session.job, record: session.from, replies,
  });

  const show = (...children) => {
    app.put(...children);
    shownAt = performance.now();
    main.dataset.step = session && session.shown ? session.shown.step : "";
  };
  const tap = (act) => () => {
    if (performance.now() - shownAt >= SETTLES) act();
  };
  const choice = (words, act, settings) => button(words, tap(act), settings);

  // Writes the answers down before the next question is shown.
  const keep = async () => {
    const { shown, key } = session;
    if (shown.answers === 0 || shown.record === session.kept) return;
    try {
      await Store.put(key, { record: shown.record, job: session.job, jobFile: session.jobFile, at: Date.now() }, session.kept);
      session.kept = shown.record;
      notice("");
    } catch (error) {
      notice(`NOT KEPT: ${error.message}. Save the record now (below).`);
    }
  };

  const reply = async (what, seen) => {
    const given = [...session.replies, { reply: what, seen, at: now() }];
    const shown = step(given);
    if (shown.refused) {
      notice(shown.refused);
      return screen();
    }
    notice("");
    session.replies = given;
    session.shown = shown;
    session.last = Date.now();
    const saved = keep();
    screen();
    await saved;
    main.dataset.kept = String(session.replies.length);
  };

  const picture = (shown) => {
    if (!shown.parts) return null;
    const { holder, look } = Picture(app.scene.svg, { places: shown.parts });
    if (holder && shown.look_at !== null && shown.look_at !== undefined) {
      // Its size is known once it is on the page.
      requestAnimationFrame(() => look(shown.look_at));
    }
    return holder;
  };

  const choices = (shown, more = []) => make("div", { class: "choices" },
    ...shown.choices.map(({ reply: what, words, seen }, i) =>
      choice(words, () => reply(what, seen), { class: i === 0 && !["say", "felt"].includes(shown.step) ? "main" : what === "back" ? "quiet" : null, "data-reply": what })),
    ...more);

  const files = () => make("details", { class: "files" },
    make("summary", { text: "Save, print, job" }),
    make("div", { class: "buttons" },
      button("Save the record", () => save(`${stem(app.spec.name)}-looks.yaml`, session.shown.record)),
      shareButton(),
      button("Print the report", () => report()),
      button("Job", () => jobScreen()),
      button("Set aside and start over", () => startOver())));

  const shareButton = () => {
    if (!navigator.canShare) return null;
    const file = new File([session.shown.record], `${stem(app.spec.name)}-looks.yaml`, { type: "text/yaml" });
    if (!navigator.canShare({ files: [file] })) return null;
    return button("Share the record", () => navigator.share({ files: [file], title: app.scene.engine }).catch(() => {}));
  };

  const report = () => {
    const said = Module.ask("record", { spec: app.spec, record: session.shown.record });
    const back = button("Back to the questions", () => screen(), { class: "quiet" });
    app.put(make("h2", { text: "Report", tabindex: "-1" }), make("div", { class: "report" }, prose(said.text)),
      make("div", { class: "choices screen-only" }, button("Print", () => print(), { class: "main" }), back));
  };

  const ask = (shown) => {
    const head = make("h2", { text: shown.title, tabindex: "-1" });
    const answers = make("div", { class: "answers" },
      choice(shown.on, () => reply("seen", "on"), { class: "main", "data-reply": "on" }),
      choice("Behind", () => count(shown, "behind"), { "data-reply": "behind" }),
      choice("Ahead", () => count(shown, "ahead"), { "data-reply": "ahead" }),
      shown.earlier ? choice("Keep the answer before", () => reply("keep"), { class: "wide-one", "data-reply": "keep" }) : null,
      choice("Could not see it", () => reply("not-seen"), { "data-reply": "not-seen" }),
      choice("Back", () => reply("back"), { class: "quiet", "data-reply": "back" }));
    show(head,
      shown.why ? make("p", { class: "why", text: shown.why }) : null,
      make("p", { class: "mark" }, make("strong", { text: shown.name }), ` (${shown.kind})`),
      picture(shown),
      ...shown.lines.map((text) => make("p", { text })),
      shown.earlier ? make("p", { class: "earlier", text: `Your answer before: ${shown.earlier}` }) : null,
      make("p", { class: "asks", text: shown.asks }), answers, files());
  };

  const count = (shown, side) => {
    const give = (number) => {
      if (shown.half && Number(number) === shown.half.teeth) return half(shown, number, side);
      return reply("seen", `${number} ${side}`);
    };
    const field = make("input", { type: "text", inputmode: "numeric", id: "teeth", autocomplete: "off", size: "4" });
    const form = make("form", { class: "other" },
      make("label", { for: "teeth", text: "Another number" }), field,
      make("button", { type: "submit", text: "Take it" }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const number = field.value.trim();
      if (/^[1-9][0-9]{0,2}$/.test(number) || /^[0-9]{1,3}\/2$/.test(number)) give(number);
      else notice(`“${number.slice(0, 20)}” is not a number of teeth (2, for example).`);
    });
    show(make("h2", { text: `How many teeth ${side.toUpperCase()}?`, tabindex: "-1" }),
      make("p", { class: "mark" }, make("strong", { text: shown.name }), ` (${shown.kind})`),
      ...shown.lines.slice(-1).map((text) => make("p", { text })),
      make("div", { class: "counts" }, ...[1, 2, 3, 4, 5, 6].map((number) =>
        choice(String(number), () => give(String(number)), { "data-count": number, "aria-label": `${number} ${side}` }))),
      form, make("div", { class: "choices" }, choice("Back", () => screen(), { class: "quiet" })));
  };

  const half = (shown, number, side) => show(
    make("h2", { text: "On the far side?", tabindex: "-1" }), make("p", { text: shown.half.words }),
    make("div", { class: "choices" },
      choice("Yes, it is", () => reply("seen", `${number} ${side}`)),
      choice("No, count again", () => count(shown, side), { class: "quiet" })));

  const halt = (shown) => show(
    make("h2", { class: "verdict off", text: shown.headline || "STOP.", tabindex: "-1" }),
    shown.action ? make("div", { class: "action" }, make("h3", { text: "First, move this" }), make("p", { text: shown.action })) : null,
    shown.action ? picture(shown) : null,
    make("div", { class: "grounds" }, prose(shown.text.split("\n").filter((line) => line !== shown.headline).join("\n"))),
    choices(shown), files());

  const done = (shown) => show(
    make("h2", { class: "verdict", text: shown.verdicts.split("\n")[0], tabindex: "-1" }),
    make("div", { class: "grounds" }, prose(shown.verdicts.split("\n").slice(1).join("\n"))),
    make("h3", { text: "Cautions" }), list(shown.cautions),
    make("div", { class: "choices" },
      button("Save the record", () => save(`${stem(app.spec.name)}-looks.yaml`, shown.record), { class: "main", id: "save-record" }),
      shareButton(), button("Print the report", () => report()), button("Job", () => jobScreen()),
      button("Start over", () => startOver()), choice("Back", () => reply("back"), { class: "quiet" })));

  const plain = (shown) => {
    const [first, ...rest] = shown.text.trim().split("\n");
    show(make("h2", { text: first, tabindex: "-1" }), make("div", { class: "grounds" }, prose(rest.join("\n"))), choices(shown), files());
  };

  // From where, and then which way the crankshaft turns there: whoever looks from the other side finds out.
  const view = (shown) => {
    const put = (text, ...choices) => {
      const [first, ...rest] = text.trim().split("\n");
      show(make("h2", { text: first, tabindex: "-1" }), make("div", { class: "grounds" }, prose(rest.join("\n"))), make("div", { class: "choices" }, ...choices), files());
    };
    put(shown.text, ...shown.views.map(({ words, text, choices: ways }, i) => choice(words, () => put(text,
      ...ways.map(({ reply: what, seen, words: way }) => choice(way, () => reply(what, seen), { "data-way": seen })),
      choice("Back", () => screen(), { class: "quiet" })), { "data-view": i })));
  };

  const screen = () => {
    const { shown } = session;
    ({ ask, halt, done, view }[shown.step] || plain)(shown);
  };

  const begin = (from, job, jobFile) => {
    session = { key: keyOf(app.spec), id: newId(), job: job || null, jobFile: jobFile || null, from, replies: [], kept: null, last: Date.now() };
  };

  const startOver = async () => {
    const { job, jobFile } = session;
    try {
      await Store.setAside(session.key);
    } catch (error) {
      notice(`The draft could not be set aside: ${error.message}`);
    }
    begin(null, job, jobFile);
    session.shown = step([]);
    screen();
  };

  // A draft is not built on before it is known that nothing was moved since.
  const since = (draft) => {
    begin(draft.record, draft.job, draft.jobFile);
    session.kept = draft.kept === undefined ? draft.record : draft.kept;
    let shown;
    try {
      shown = step([]);
    } catch (error) {
      session.shown = { record: draft.record, answers: 0 };
      show(make("h2", { text: "These answers cannot be used here", tabindex: "-1" }), make("p", { text: error.message }),
        make("div", { class: "choices" }, choice("Set aside and start over", () => startOver(), { class: "main" }),
          button("Save the record", () => save(`${stem(app.spec.name)}-looks.yaml`, draft.record))));
      return;
    }
    session.shown = shown;
    if (draft.at > Date.now() + 5 * 60 * 1000) notice("The last answer is later than now. Is the clock right?");
    const words = `There are ${shown.answers} answers from before. Last answer: ${new Date(draft.at).toLocaleString()}.`;
    main.dataset.step = "since";
    show(make("h2", { text: app.scene.engine, tabindex: "-1" }), make("p", { text: words }),
      make("div", { class: "grounds" }, prose(shown.draft)),
      make("p", { class: "asks", text: shown.moved_since }),
      make("div", { class: "choices" },
        choice("No, nothing has moved", () => { screen(); keep(); }, { class: "main", "data-reply": "nothing-moved" }),
        choice("Yes, look at everything again", () => reply("moved"), { "data-reply": "moved" })));
    main.dataset.step = "since";
  };

  // A record from a file: the same file as the command line's.
  const take = (file) => {
    const read = Module.ask("record", { spec: app.spec, record: file.text });
    const at = Date.parse(read.at || "") || Date.now();
    since({ record: file.text, job: read.job, at, kept: session ? session.kept : null });
  };

  const jobScreen = (told = null) => {
    const head = [make("h2", { text: "Job", tabindex: "-1" })];
    const guard = (act) => async (...given) => {
      try {
        await act(...given);
      } catch (error) {
        notice(error.message);
      }
    };
    const by = make("input", { type: "text", id: "by", autocomplete: "name" });
    const who = () => by.value.trim() || null;
    const name = () => (session.jobFile || `${stem(app.spec.name)}-job.yaml`);
    const set = (next) => {
      session.jobText = next.job;
      jobScreen(next);
    };
    const known = told || (session.jobText ? Module.ask("job", { spec: app.spec, job: session.jobText, at: now() }) : null);
    const buttons = make("div", { class: "buttons" },
      opener("Open a job", guard((file) => {
        session.jobFile = file.name;
        set(Module.ask("job", { spec: app.spec, job: file.text, at: now() }));
      })),
      known ? null : button("New job", guard(() => set(Module.ask("job-begin", { spec: app.spec, at: now(), by: who() })))),
      known && session.shown.answers ? button("Take the looks into the job", guard(() => {
        const taken = Module.ask("job-take", {
          spec: app.spec, job: session.jobText, file: name(), record: session.shown.record, at: now(), by: who(),
        });
        set(taken);
        save(name(), taken.job);
      })) : null,
      known ? button("Save the job", () => save(name(), known.job)) : null,
      known ? button("Save the report", () => save(`${stem(app.spec.name)}-report.html`, known.report, "text/html")) : null,
      button("Back to the questions", () => screen(), { class: "quiet" }));
    app.put(...head, make("label", { for: "by", text: "Your name " }), by, buttons,
      known ? make("div", { class: "grounds" }, prose(known.text)) : make("p", { text: "A job keeps parts, steps and torques around the looks, in one file, which is the command line’s too." }));
  };

  const enter = async () => {
    notice("");
    if (session && session.key === keyOf(app.spec) && Date.now() - session.last < LONG) return screen();
    let draft = null;
    try {
      draft = await Store.get(keyOf(app.spec));
    } catch (error) {
      notice(`Answers cannot be kept in this browser: ${error.message}. Save the record before you close the page.`);
    }
    try {
      if (draft) return since(draft);
      begin(null);
      session.shown = step([]);
      screen();
    } catch (error) {
      session = null;
      app.refused(error);
    }
  };

  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && app.mode === "engine" && session && Date.now() - session.last >= LONG) enter();
  });

  return { enter, take };
};
