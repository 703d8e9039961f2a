// Small things to build a page of. Text is only ever set as text.
const make = (tag, settings = {}, ...children) => {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(settings)) {
    if (name === "text") element.textContent = value;
    else if (name === "on") for (const [event, act] of Object.entries(value)) element.addEventListener(event, act);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
};
const byId = (id) => document.getElementById(id);
const button = (text, act, settings = {}) => make("button", { type: "button", text, on: { click: act }, ...settings });
const list = (lines, settings = {}) => make("ul", settings, ...lines.map((text) => make("li", { text })));

// SVG and HTML of the module's own making, in which every word is escaped already.
const drawn = (markup) => {
  const parsed = new DOMParser().parseFromString(markup, "text/html");
  const fragment = document.createDocumentFragment();
  fragment.append(...[...parsed.body.childNodes].map((node) => document.importNode(node, true)));
  return fragment;
};

// A text that was laid out for a terminal, as paragraphs, lists and headings.
const prose = (text) => {
  const out = document.createDocumentFragment();
  const lines = text.split("\n");
  let paragraph = null;
  let items = null;
  lines.forEach((line, i) => {
    const item = line.match(/^\s+(?:- |(\d+)\. )(.*)$/);
    if (line.trim() === "") {
      paragraph = items = null;
    } else if (item) {
      if (!items) {
        items = make("ul", { class: item[1] ? "steps" : null });
        out.append(items);
      }
      items.append(make("li", { text: item[1] ? `${item[1]}. ${item[2]}` : item[2] }));
      paragraph = null;
    } else if (items && /^\s{3,}/.test(line)) {
      items.lastChild.append(` ${line.trim()}`);
    } else if (line.startsWith("  ")) {
      out.append(make("p", { class: "line", text: line.trim().replace(/ {2,}/g, ": ") }));
      paragraph = items = null;
    } else if (paragraph && lines[i - 1].length > 60) {
      paragraph.append(` ${line}`);
    } else {
      const titles = /^\s+\S/.test(lines[i + 1] || "") && line.length < 90 && !/[.?:,]$/.test(line);
      // What is in capitals must not be missed.
      paragraph = make(titles ? "h3" : "p", { text: line, class: /^[A-Z][A-Z ]{14,}/.test(line) ? "loud" : null });
      items = null;
      out.append(paragraph);
    }
  });
  return out;
};

// A file for whoever holds the phone.
const save = (name, text, type = "text/yaml") => {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = make("a", { download: name });
  link.href = address;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
};
const stem = (name) => name.replace(/^.*[\\/]/, "").replace(/\.ya?ml$/i, "");

// A button that opens a file and hands its name and text on.
const opener = (words, take, settings = {}) => {
  const input = make("input", { type: "file", accept: ".yaml,.yml,text/yaml,text/plain", class: "visually-hidden", tabindex: "-1", "aria-hidden": "true" });
  input.addEventListener("change", async () => {
    const file = input.files[0];
    if (file) take({ name: file.name, text: await file.text() });
    input.value = "";
  });
  return make("span", {}, button(words, () => input.click(), settings), input);
};

// What must not be missed.
const notice = (text, ...more) => {
  byId("notice").replaceChildren(text === "" ? "" : make("p", { text }), ...more);
  byId("notice").hidden = text === "";
};
