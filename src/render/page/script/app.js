// Which engine, and which of the three ways to look at it.
(async () => {
  const main = byId("main");
  const specs = JSON.parse(byId("specs").textContent);
  const MODES = { engine: "At the engine", class: "In class", desk: "At the desk" };

  const app = {
    spec: null,
    scene: null,
    mode: null,
    put(...children) {
      main.replaceChildren(...children.filter(Boolean));
      scrollTo(0, 0);
      const head = main.querySelector("h2");
      // A reader hears where it is; nobody is moved by it when the page first opens.
      if (head && app.mode !== null && app.settled) head.focus({ preventScroll: true });
    },
    title() {
      byId("engine-name").textContent = app.scene ? app.scene.engine : "tautmark";
      document.title = app.scene ? `${app.scene.engine}: timing drive` : "tautmark";
    },
    refused(error) {
      app.put(make("h2", { text: "This does not go", tabindex: "-1" }), make("p", { text: error.message }),
        error.findings && error.findings.length
          ? list(error.findings.map(({ message, at }) => (at ? `line ${at.line}, column ${at.column}: ${message}` : message))) : null,
        make("p", { text: "At the desk you can look at the spec and put it right." }));
    },
  };
  const modes = { engine: AtEngine(app), class: InClass(app), desk: AtDesk(app) };

  const home = () => {
    const shown = app.scene ? Picture(app.scene.svg, { places: Module.ask("place", { spec: app.spec, turned: "0", slips: [] }).parts }) : null;
    app.put(make("h2", { class: "visually-hidden", text: "Start", tabindex: "-1" }),
      app.spec === null ? make("p", { text: `${specs.length ? "Choose an engine, or open its spec from a file." : "Open the spec of an engine from a file, or drag it here."} Nothing leaves this machine.` }) : null,
      app.spec === null ? button("Write a new spec", () => {
        choose({ name: "engine.yaml", text: Module.ask("starter", {}) });
        location.hash = "#desk";
      }, { id: "new-spec" }) : null,
      shown && shown.holder,
      app.scene ? make("p", { class: "small", id: "drive-words", text: app.scene.stands }) : null,
      app.scene ? make("h3", { text: "Cautions" }) : null, app.scene ? list(app.scene.cautions) : null);
  };

  // Goes to the way that the address names, and marks it.
  const turnTo = () => {
    const wanted = Address.read().mode;
    if (app.mode && modes[app.mode] && modes[app.mode].leave) modes[app.mode].leave();
    app.mode = wanted in MODES && app.spec ? wanted : "";
    main.dataset.step = "";
    for (const link of document.querySelectorAll("nav a")) {
      if (link.hash.slice(1) === app.mode) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    document.body.dataset.mode = app.mode || "home";
    byId("modes").hidden = app.spec === null;
  };
  // The address may name its engine. One that is not here is told, and what else the address says is of no use then.
  const named = () => {
    const { mode, values } = Address.read();
    const wanted = values.get("engine");
    if (wanted === null || (app.spec && stem(app.spec.name) === wanted)) return "";
    const found = specs.find(({ name }) => stem(name) === wanted);
    if (found) {
      choose(found);
      return "";
    }
    history.replaceState(null, "", `#${mode}`);
    return `The address is of the engine “${wanted.slice(0, 60)}”, which is not in this page. Open its spec from a file.`;
  };
  const show = () => {
    const strange = named();
    turnTo();
    notice("");
    const entered = !app.mode ? home() : !app.scene && app.mode !== "desk" ? app.refused(app.problem) : modes[app.mode].enter();
    if (strange) notice(strange);
    return entered;
  };
  // Another engine: what the address says is of the one before.
  const change = (spec) => {
    history.replaceState(null, "", `#${Address.read().mode}`);
    choose(spec);
    show();
  };

  const choose = (spec) => {
    app.spec = spec;
    app.scene = app.problem = null;
    try {
      app.scene = Module.ask("scene", { spec });
    } catch (error) {
      app.problem = error;
      if (Address.read().mode !== "desk") {
        location.hash = "#desk";
      }
    }
    app.title();
  };

  // A spec, or a record of the engine that is shown.
  const take = async (file) => {
    if (/^tautmark_record:/m.test(file.text)) {
      try {
        if (!app.scene) throw new Error("Open the engine's spec first.");
        await modes.engine.take(file, () => {
          history.replaceState(null, "", "#engine");
          turnTo();
        });
      } catch (error) {
        notice(error.message);
      }
      return;
    }
    change(file);
  };

  const chooser = () => {
    const holder = byId("chooser");
    if (specs.length > 1) {
      const select = make("select", { id: "which" }, make("option", { value: "", text: "Choose an engine" }), ...specs.map(({ title }, i) => make("option", { value: String(i), text: title })));
      select.addEventListener("change", () => { if (select.value !== "") change(specs[Number(select.value)]); });
      holder.append(make("label", { for: "which", text: "Engine " }), select);
    }
    holder.append(opener("Open a file", take, { id: "open" }));
  };

  addEventListener("hashchange", show);
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", async (event) => {
    event.preventDefault();
    const file = event.dataTransfer && event.dataTransfer.files[0];
    if (file) take({ name: file.name, text: await file.text() });
  });

  try {
    await Module.load();
  } catch (error) {
    main.replaceChildren(make("p", { text: `This browser cannot run what is in this page: ${error.message}` }));
    return;
  }
  chooser();
  if (specs.length === 1) choose(specs[0]);
  await show();
  performance.mark("first picture");
  app.settled = true;
  document.body.dataset.ready = "yes";
  if (document.querySelector("link[rel=manifest]") && "serviceWorker" in navigator) {
    navigator.serviceWorker.register("worker.js").catch(() => notice("It could not be kept for use without a network."));
  }
})();
