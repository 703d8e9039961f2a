// At the desk: a spec on one side; what is found in it, its picture and its path on the other, as one types.
const AtDesk = (app) => {
  const WAITS = 150;
  // What would put a warning right is sought once nobody types any more: hundreds of changes are tried for it.
  const SEEKS = 500;
  let waiting = null;
  let seeking = null;
  let looked = () => {};
  const enter = () => {
    const area = make("textarea", { id: "spec-text", spellcheck: "false", autocapitalize: "off", autocomplete: "off", wrap: "off", "aria-describedby": "found-count" });
    area.value = app.spec.text;
    const gutter = make("div", { class: "gutter", "aria-hidden": "true" });
    const count = make("p", { id: "found-count", role: "status", "aria-live": "polite" });
    const found = make("div", { id: "found" });
    const picture = make("div", { id: "desk-picture" });
    const fits = make("div", { id: "fits" });
    const spec = () => ({ name: app.spec.name, text: area.value });

    const goTo = (line, column) => {
      const lines = area.value.split("\n");
      const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0) + (column || 1) - 1;
      area.focus();
      area.setSelectionRange(start, start);
      const high = area.scrollHeight / Math.max(lines.length, 1);
      area.scrollTop = Math.max(0, (line - 4) * high);
      gutter.scrollTop = area.scrollTop;
    };
    const place = (at) => (at ? `line ${at.line}, column ${at.column}` : "the whole file");

    const show = (findings, clean) => {
      const lines = area.value.split("\n").length;
      const worst = new Map();
      for (const { at, severity } of findings) {
        if (at && worst.get(at.line) !== "error") worst.set(at.line, severity);
      }
      gutter.replaceChildren(...Array.from({ length: lines }, (_, i) =>
        make("div", { class: worst.get(i + 1) || null, text: worst.has(i + 1) ? `▸ ${i + 1}` : String(i + 1) })));
      gutter.scrollTop = area.scrollTop;
      count.textContent = clean ? "Clean." : findings.length === 1 ? "1 finding." : `${findings.length} findings.`;
      found.replaceChildren(...findings.map(({ code, severity, message, help, remedies, at, see_also: also }) =>
        make("div", { class: `finding ${severity}` },
          make("p", {}, make("strong", { text: `${severity}: ` }), message),
          help ? make("p", { class: "small help", text: help }) : null,
          remedies.length ? make("ul", { class: "remedies" }, ...remedies.map(({ at: there, change }) =>
            make("li", {}, make("span", { text: `line ${there.line}: ${change}` }), " ",
              button(`Go to ${place(there)}`, () => goTo(there.line, there.column), { class: "quiet", "aria-label": `Go to ${place(there)}: ${change}` })))) : null,
          make("div", { class: "buttons" },
            at ? button(`Go to ${place(at)}`, () => goTo(at.line, at.column), { "aria-label": `Go to ${place(at)}: ${code}` }) : null,
            also ? button(`See also ${place(also)}`, () => goTo(also.line, also.column)) : null))));
    };
    const seek = (of) => {
      seeking = null;
      if (area.value !== of || !area.isConnected) return;
      const { findings, clean } = Module.ask("lint", { spec: spec(), seek: true });
      // A finger or a key that is on a finding keeps its place.
      const at = [...found.querySelectorAll("button")].indexOf(document.activeElement);
      const label = at < 0 ? null : document.activeElement.getAttribute("aria-label") || document.activeElement.textContent;
      show(findings, clean);
      if (label) [...found.querySelectorAll("button")].find((each) => (each.getAttribute("aria-label") || each.textContent) === label)?.focus();
      found.dataset.sought = "";
    };

    const look = () => {
      const { findings, clean, usable } = Module.ask("lint", { spec: spec() });
      show(findings, clean);
      clearTimeout(seeking);
      delete found.dataset.sought;
      if (clean) found.dataset.sought = "";
      else seeking = setTimeout(seek, SEEKS, area.value);
      app.spec = spec();
      waiting = null;
      if (!usable) {
        // Nothing is asked or shown of what it was before.
        app.scene = null;
        try {
          Module.ask("scene", { spec: spec() });
        } catch (error) {
          app.problem = error;
        }
        picture.replaceChildren(make("p", { text: "The picture comes back once the spec is usable." }));
        return;
      }
      try {
        app.scene = Module.ask("scene", { spec: spec() });
        app.title();
        const { parts } = Module.ask("place", { spec: spec(), turned: "0", slips: [] });
        const shown = Picture(app.scene.svg, { places: parts });
        picture.replaceChildren(...(shown.holder ? [shown.holder, drawn(app.scene.key)] : [make("p", { text: "No chain has a place yet." })]),
          ...(app.scene.missing.length ? [list(app.scene.missing)] : []));
      } catch (error) {
        app.scene = null;
        app.problem = error;
        picture.replaceChildren(make("p", { text: error.message }));
      }
    };
    const soon = () => {
      clearTimeout(waiting);
      clearTimeout(seeking);
      waiting = setTimeout(look, WAITS);
    };

    // Puts lines in the place of those that are there, as the user's own change: it can be undone.
    const change = (changes) => {
      const lines = area.value.split("\n");
      for (const { line, new: text } of [...changes].reverse()) lines.splice(line - 1, 1, ...text.replace(/\n$/, "").split("\n"));
      area.focus();
      area.setSelectionRange(0, area.value.length);
      if (!document.execCommand("insertText", false, lines.join("\n"))) area.value = lines.join("\n");
      fits.replaceChildren();
      look();
    };
    const fit = () => {
      try {
        const { json, unfitted } = Module.ask("fit", { spec: spec() });
        const { changes } = json;
        fits.replaceChildren(make("h3", { text: "Marks from the centres" }),
          ...(changes.length ? [] : [make("p", { text: "No mark would change." })]),
          ...(unfitted.length ? [list(unfitted)] : []),
          ...changes.map((each) => make("div", { class: "finding" },
            make("p", { text: `Line ${each.line}` }), make("pre", { class: "old", text: `- ${each.old}` }), make("pre", { class: "new", text: `+ ${each.new}` }),
            button("Take this change", () => change([each]), { "aria-label": `Take the change of line ${each.line}` }))),
          changes.length > 1 ? button("Take all changes", () => change(changes), { class: "main", id: "take-all" }) : "");
      } catch (error) {
        fits.replaceChildren(make("h3", { text: "Marks from the centres" }), make("p", { text: error.message }));
      }
    };

    area.addEventListener("input", soon);
    area.addEventListener("scroll", () => { gutter.scrollTop = area.scrollTop; });
    app.put(make("h2", { class: "visually-hidden", text: "At the desk: the spec", tabindex: "-1" }),
      make("div", { class: "desk" },
        make("section", { class: "editor" }, make("label", { for: "spec-text", text: app.spec.name }),
          make("div", { class: "lines" }, gutter, area),
          make("div", { class: "buttons" },
            button("Save the spec", () => save(`${stem(app.spec.name)}.yaml`, area.value), { class: "main" }),
            button("Compute the marks", () => fit(), { id: "fit" }),
            button("A spec to start from", () => { area.focus(); area.value = Module.ask("starter", {}); look(); })),
          make("p", { class: "small", text: "Nothing leaves this machine. A spec that is dragged onto the page is opened." })),
        make("section", { class: "results", "aria-label": "What is found, and the picture" }, count, found, fits, picture)));
    looked = look;
    look();
  };
  // What was typed last counts, even where it has not been looked at yet.
  const leave = () => {
    clearTimeout(seeking);
    if (waiting === null) return;
    clearTimeout(waiting);
    looked();
  };
  return { enter, leave };
};
