// At the engine: the library's questions by thumb, one a screen.
const AtEngine = (app) => {
  // A tap that was meant for the screen before is not taken for an answer to this one.
  const SETTLES = 350;
  // After so long something may have been moved: it is asked, as after a reload.
  const LONG = 10 * 60 * 1000;
  // By so much two clocks in one shop may differ.
  const CLOCKS = 5 * 60 * 1000;
  let session = null; // { key, id, job, jobFile, jobText, from, replies, shown, mark, written, clear, saving, last, aside }
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

  // Writes the answers down as soon as they are given; one writing after the other.
  const keep = () => {
    const of = session;
    of.saving = of.saving.then(() => write(of));
    return of.saving;
  };
  const write = async (of) => {
    const { shown, key } = of;
    const written = JSON.stringify([shown.record, of.jobText]);
    if ((shown.answers === 0 && !of.jobText && of.mark === null) || written === of.written) return;
    try {
      while (of.clear.length) {
        await of.clear[0]();
        of.clear.shift();
        of.mark = null;
        of.aside = await Store.aside(key);
      }
      const mark = newId();
      await Store.put(key, {
        record: shown.record, answers: shown.answers, job: of.job, jobFile: of.jobFile, jobText: of.jobText, at: of.last, mark,
      }, of.mark);
      [of.mark, of.written] = [mark, written];
      if (of.unkept) notice("");
      of.unkept = false;
    } catch (error) {
      of.unkept = true;
      if (of === session) notKept(error);
    }
  };
  const notKept = (error) => notice(`NOT KEPT: ${error.message || error.name}. Save the record before you go on.`,
    button("Save the record", () => saveRecord(session.shown.record)));
  const saveRecord = (record) => save(`${stem(app.spec.name)}-looks.yaml`, record);

  const reply = async (what, seen) => {
    const given = [...session.replies, { reply: what, seen, at: now() }];
    let shown;
    try {
      shown = step(given);
    } catch (error) {
      shown = { refused: error.message };
    }
    if (shown.refused) {
      notice(shown.refused);
      return screen();
    }
    if (!session.unkept) notice("");
    session.replies = given;
    session.pending = null;
    session.shown = shown;
    session.last = Date.now();
    const saved = keep();
    screen();
    await saved;
    main.dataset.kept = String(session.replies.length);
  };

  // One picture for all questions: a new one for each would take longer than the answer.
  let kept = null; // { of, picture, frame }
  const picture = (shown) => {
    if (!shown.parts) return null;
    const parts = { places: shown.parts, mirrored: shown.mirrored };
    if (kept) cancelAnimationFrame(kept.frame);
    if (kept && kept.of === app.scene) kept.picture.again(parts);
    else kept = { of: app.scene, picture: Picture(app.scene.svg, parts), frame: 0 };
    const { holder, look } = kept.picture;
    if (holder && shown.look_at !== null && shown.look_at !== undefined) {
      // Its size is known once it is on the page.
      kept.frame = requestAnimationFrame(() => look(shown.look_at));
    }
    if (holder && shown.drawn_as) holder.append(make("p", { class: "small drawn-as", text: shown.drawn_as }));
    return holder;
  };

  const choices = (shown, more = []) => make("div", { class: "choices" },
    ...shown.choices.map(({ reply: what, words, seen }, i) =>
      choice(words, () => reply(what, seen), { class: i === 0 && !["say", "felt"].includes(shown.step) ? "main" : what === "back" ? "quiet" : null, "data-reply": what })),
    ...more);

  const files = () => make("details", { class: "files" },
    make("summary", { text: "Save, print, job" }),
    make("div", { class: "buttons" },
      button("Save the record", () => saveRecord(session.shown.record)),
      shareButton(),
      button("Print the report", () => report()),
      button("Job", () => jobScreen()),
      button("Set aside and start over", () => startOver()),
      asideButton()));

  // Another car's answers, that were set aside.
  const asideButton = () => (session.aside.length
    ? button(`Set aside before: ${session.aside.length}`, () => asideScreen(), { "data-aside": "" }) : null);
  const asideScreen = () => show(
    make("h2", { text: "Set aside", tabindex: "-1" }),
    make("p", { text: "What is open now is set aside for it." }),
    make("div", { class: "choices" },
      ...session.aside.map((draft) => choice(`Last answer ${when(draft.at)}, ${answersWords(draft.answers)}`, () => since(draft, [
        () => Store.setAside(keyOf(app.spec)), () => Store.remove(draft.key),
      ]))),
      choice("Back", () => screen(), { class: "quiet" })));
  const when = (at) => new Date(at).toLocaleString();
  const answersWords = (count) => (count === 1 ? "1 answer" : `${count} answers`);

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
      shown.counting ? choice("No colour left: count the links", () => countLinks(shown), { class: "wide-one", "data-reply": "counted" }) : null,
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

  // Where no colour tells the links apart: their kinds first, since who has not counted yet does not know what they should be.
  const countLinks = (shown) => {
    const { plates, count: counts } = shown.counting;
    if (!plates) return reply("counted", "");
    const name = make("p", { class: "mark" }, make("strong", { text: shown.name }), ` (${shown.kind})`);
    const back = () => choice("Back", () => screen(), { class: "quiet" });
    const links = (kinds) => {
      const field = make("input", { type: "text", inputmode: "numeric", id: "links", autocomplete: "off", size: "4" });
      const form = make("form", { class: "other" }, make("label", { for: "links", text: "Links" }), field, make("button", { type: "submit", text: "Take it" }));
      form.addEventListener("submit", (event) => {
        event.preventDefault();
        const number = field.value.trim();
        if (/^[1-9][0-9]{0,3}$/.test(number)) reply("counted", `${number} ${kinds}`);
        else notice(`“${number.slice(0, 20)}” is not a number of links (51, for example).`);
      });
      show(make("h2", { text: "How many links?", tabindex: "-1" }), name, make("div", { class: "grounds" }, prose(counts)),
        form, make("div", { class: "choices" }, back()));
    };
    return show(make("h2", { text: "Inner or outer links?", tabindex: "-1" }), name, make("div", { class: "grounds" }, prose(plates)),
      make("div", { class: "choices" },
        choice("Both of one kind", () => links("same"), { "data-kinds": "same" }),
        choice("One outer, one inner", () => links("other"), { "data-kinds": "other" }), back()));
  };

  const half = (shown, number, side) => show(
    make("h2", { text: "On the far side?", tabindex: "-1" }), make("p", { text: shown.half.words }),
    make("div", { class: "choices" },
      choice("Yes, it is", () => reply("seen", `${number} ${side}`)),
      choice("No, count again", () => count(shown, side), { class: "quiet" })));

  // What must not be missed stands on top, once: the text has it, too, among its grounds.
  const halt = (shown) => show(
    make("h2", { class: "verdict off", text: shown.headline, tabindex: "-1" }),
    shown.action ? make("p", { class: "action", text: shown.action }) : null,
    shown.parts ? picture(shown) : null,
    shown.parts ? make("p", { class: "small", text: "As you saw it. Crossed: a dot that is off. Dashed ring: where it belongs." }) : null,
    make("div", { class: "grounds" }, prose(shown.text.split("\n").filter((line) => line !== shown.headline && line !== shown.action).join("\n"))),
    choices(shown), files());

  const done = (shown) => show(
    make("h2", { class: "verdict", text: shown.verdicts.split("\n")[0], tabindex: "-1" }),
    make("div", { class: "grounds" }, prose(shown.verdicts.split("\n").slice(1).join("\n"))),
    make("h3", { text: "Cautions" }), list(shown.cautions),
    make("div", { class: "choices" },
      button("Save the record", () => saveRecord(shown.record), { class: "main", id: "save-record" }),
      shareButton(), button("Print the report", () => report()), button("Job", () => jobScreen()),
      button("Set aside and start over", () => startOver()), asideButton(), choice("Back", () => reply("back"), { class: "quiet" })));

  // The first line of a text as its head. The engine's name stands above already.
  const headed = (text) => {
    const [name, ...lines] = text.trim().split("\n");
    const [first, ...rest] = name === app.scene.engine ? lines.join("\n").trim().split("\n") : [name, ...lines];
    return [first, rest];
  };

  const plain = (shown) => {
    const [first, rest] = headed(shown.text);
    show(make("h2", { text: first, tabindex: "-1" }), make("div", { class: "grounds" }, prose(rest.join("\n"))), choices(shown), files());
  };

  // From where, and then which way the crankshaft turns there: whoever looks from the other side finds out.
  const view = (shown) => {
    const put = (text, ...choices) => {
      const [first, rest] = headed(text);
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

  const begin = (draft = {}) => {
    delete main.dataset.kept;
    session = {
      key: keyOf(app.spec), id: newId(), job: draft.job || null, jobFile: draft.jobFile || null, jobText: draft.jobText || null,
      from: draft.record || null, replies: [], mark: null, written: null, clear: [], saving: Promise.resolve(), last: draft.at || Date.now(),
      aside: session && session.key === keyOf(app.spec) ? session.aside : [], unkept: false, pending: null,
    };
  };

  // The next car: no answer, and no job, of this one goes with it.
  const startOver = async () => {
    await session.saving;
    const { clear } = session;
    let failed = null;
    try {
      await Store.setAside(session.key);
      for (const each of clear) await each();
      session.aside = await Store.aside(session.key);
    } catch (error) {
      failed = error;
    }
    begin();
    session.shown = step([]);
    screen();
    if (failed) notice(`The draft could not be set aside: ${failed.message}`);
  };

  // A draft is not built on before it is known that nothing was moved since. `clear`: what has to go from the store before it is
  // kept there.
  const since = (draft, clear = null) => {
    begin(draft);
    session.mark = clear ? null : draft.mark;
    session.clear = clear || [];
    const answers = draft.record && draft.answers !== 0;
    let shown;
    try {
      shown = step([]);
    } catch (error) {
      session.shown = { record: draft.record, answers: 0 };
      show(make("h2", { text: "These answers cannot be used here", tabindex: "-1" }), make("p", { text: error.message }),
        make("div", { class: "choices" }, choice("Set aside and start over", () => startOver(), { class: "main" }),
          button("Save the record", () => saveRecord(draft.record))));
      return;
    }
    session.shown = shown;
    if (!answers) return screen();
    session.pending = [draft, clear];
    if (!clear) session.written = JSON.stringify([shown.record, session.jobText]);
    show(make("h2", { text: `There ${shown.answers === 1 ? "is" : "are"} ${answersWords(shown.answers)} from before`, tabindex: "-1" }),
      make("p", { text: `Last answer: ${when(draft.at)}.` }),
      draft.at > Date.now() + CLOCKS ? make("p", { class: "loud", text: "That is later than now. Is the clock right?" }) : null,
      make("div", { class: "grounds" }, prose(shown.draft)),
      make("p", { class: "asks", text: `Is it this engine, in this car? ${shown.moved_since}` }),
      make("div", { class: "choices" },
        choice("The same engine, nothing has moved", () => {
          session.pending = null;
          screen();
          keep();
        }, { class: "main", "data-reply": "nothing-moved" }),
        choice("Something has moved: look at everything again", () => reply("moved"), { "data-reply": "moved" }),
        choice("Another car: set these aside", () => startOver(), { "data-reply": "another" })));
    main.dataset.step = "since";
  };

  // A record or a job from a file: the same files as the command line's.
  const take = async (file, turnTo) => {
    if (/^history:/m.test(file.text)) {
      const told = Module.ask("job", { spec: app.spec, job: file.text, at: now() });
      turnTo();
      if (!session || session.key !== keyOf(app.spec)) await enter();
      takeJob(file.name, told);
      return;
    }
    const read = Module.ask("record", { spec: app.spec, record: file.text });
    const at = Date.parse(read.at || "") || Date.now();
    if (session) await session.saving;
    const key = keyOf(app.spec);
    notice("");
    turnTo();
    since({ record: file.text, job: read.job, at }, [() => Store.setAside(key)]);
  };

  const takeJob = (name, told) => {
    session.jobFile = name;
    session.jobText = told.job;
    keep();
    jobScreen(told);
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
    const set = (next) => takeJob(name(), next);
    const known = told || (session.jobText ? Module.ask("job", { spec: app.spec, job: session.jobText, at: now() }) : null);
    const buttons = make("div", { class: "buttons" },
      opener("Open a job", guard((file) => {
        takeJob(file.name, Module.ask("job", { spec: app.spec, job: file.text, at: now() }));
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
    const key = keyOf(app.spec);
    if (session && session.key === key && Date.now() - session.last < LONG) {
      // What was asked about older answers is asked until it is answered.
      if (session.pending) since(...session.pending);
      else screen();
      if (session.unkept) notKept(new Error("it is on this screen alone"));
      return;
    }
    // What is not in the store may still be here.
    const here = session && session.shown && session.shown.answers && session.unkept
      ? { name: session.key.split("\n")[0], key: session.key, draft: { ...session, record: session.shown.record, answers: session.shown.answers, at: session.last } } : null;
    let [draft, aside, earlier, failed] = [null, [], [], null];
    try {
      draft = await Store.get(key);
      aside = await Store.aside(key);
      if (!draft) earlier = await Store.alike(app.spec.name, key);
    } catch (error) {
      failed = error;
    }
    // Somebody has gone on meanwhile.
    if (app.mode !== "engine" || key !== keyOf(app.spec)) return;
    if (!draft && here && here.name === app.spec.name) earlier.unshift({ ...here.draft, key: here.key });
    try {
      begin();
      session.aside = aside;
      // Of a spec that proves nothing nothing is asked, and no older answer is shown.
      session.shown = step([]);
      if (here && here.key === key) since(here.draft, [() => Store.setAside(key)]);
      else if (draft) since(draft);
      else if (!taken(earlier)) screen();
    } catch (error) {
      session = null;
      app.refused(error);
      return;
    }
    if (failed) notice(`NOT KEPT: answers cannot be kept in this browser (${failed.message || failed.name}). Save the record before you close the page.`);
  };

  // The spec's text has changed since they were given: they go on if all that was looked at is still the same.
  const taken = ([newest]) => {
    if (!newest || !newest.record) return false;
    try {
      Module.ask("record", { spec: app.spec, record: newest.record });
    } catch {
      if (newest.record.includes(`engine: ${app.scene.engine}`)) {
        notice("The marks, teeth or links in this spec have changed since answers were given to it. Those answers are not used: look at every mark.");
      }
      return false;
    }
    since(newest, [() => Store.setAside(newest.key)]);
    return true;
  };

  // What nobody has kept goes with the page.
  addEventListener("beforeunload", (event) => {
    if (session && session.unkept) event.preventDefault();
  });
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && app.mode === "engine" && session && Date.now() - session.last >= LONG) enter();
  });

  return { enter, take };
};
