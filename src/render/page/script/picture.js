// The drive's picture: drawn by the module, its parts put where the module says they are.
const Picture = (markup, parts) => {
  const holder = make("div", { class: "picture" }, drawn(markup));
  const svg = holder.querySelector("svg");
  if (!svg) return { holder: null, place: () => {}, look: () => {}, whole: () => {}, again: () => {} };
  const every = (selector) => [...svg.querySelectorAll(selector)];
  const links = new Map();
  for (const link of every("g.link[data-chain]")) links.set(`${link.dataset.chain} ${link.dataset.link}`, link);
  const numbers = new Map();
  for (const text of every("text.number")) numbers.set(`${text.dataset.chain} ${text.dataset.link}`, text);
  const turning = new Map();
  for (const kind of ["sprocket", "due", "mark"]) {
    for (const part of every(`g.${kind}[data-${kind}]`)) turning.set(`${kind} ${part.dataset[kind]}`, part);
  }
  const full = svg.getAttribute("viewBox");
  // A number, in letters of that size, beside its link.
  const beside = new Map();
  const putNumber = (text, letter) => {
    const [x, y, towardsX, towardsY] = beside.get(text) || [0, 0, 0, 0];
    const out = Number(text.dataset.out) + 0.85 * (letter - Number(text.dataset.letter));
    text.setAttribute("x", (x + towardsX * out).toFixed(2));
    text.setAttribute("y", (y + towardsY * out).toFixed(2));
    text.style.fontSize = `${letter}px`;
  };

  const place = ({ links: chains, numbers: named, sprockets }) => {
    for (const [chain, at] of chains) {
      for (let i = 0; i * 3 < at.length; i++) {
        const link = links.get(`${chain} ${i}`);
        if (link) link.setAttribute("transform", `translate(${at[3 * i]} ${at[3 * i + 1]}) rotate(${at[3 * i + 2]})`);
      }
    }
    for (const [chain, link, x, y, towardsX, towardsY] of named) {
      const text = numbers.get(`${chain} ${link}`);
      if (!text) continue;
      beside.set(text, [x, y, towardsX, towardsY]);
      putNumber(text, Number(text.dataset.letter));
    }
    for (const [index, is, due, off, unseen] of sprockets) {
      for (const kind of ["sprocket", "due", "mark"]) {
        const part = turning.get(`${kind} ${index}`);
        if (!part) continue;
        const { x, y } = part.dataset;
        part.setAttribute("transform", `translate(${x} ${y}) rotate(${kind === "due" ? due : is})`);
        part.classList.toggle("off", off);
        part.classList.toggle("unseen", unseen);
      }
    }
  };

  const whole = () => svg.setAttribute("viewBox", full);

  // How far out the largest sprocket about the same centre reaches: a smaller one before it would leave its chain out of sight.
  const reaches = new Map();
  const reachAbout = ({ x, y }) => {
    const key = `${x} ${y}`;
    if (!reaches.has(key)) {
      reaches.set(key, Math.max(...every("g.sprocket")
        .filter((other) => other.dataset.x === x && other.dataset.y === y)
        .map((other) => other.getBBox().width / 2)));
    }
    return reaches.get(key);
  };

  // Enlarges a sprocket and rings its dot.
  const look = (index) => {
    const body = turning.get(`sprocket ${index}`);
    const mark = turning.get(`mark ${index}`);
    const dot = mark && mark.querySelector(".dot");
    if (!dot || !body) return;
    const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    ring.setAttribute("class", "here");
    ring.setAttribute("cy", dot.getAttribute("cy"));
    ring.setAttribute("r", 2.4 * Number(dot.getAttribute("r")));
    mark.append(ring);
    const half = reachAbout(body.dataset) * 1.6;
    const [x, y] = [Number(body.dataset.x), Number(body.dataset.y)];
    const near = `${x - half} ${y - half} ${2 * half} ${2 * half}`;
    // Numbers grow with the sprocket only as far as they can be read.
    const show = (isNear) => {
      svg.setAttribute("viewBox", isNear ? near : full);
      svg.classList.toggle("near", isNear);
      for (const text of numbers.values()) {
        putNumber(text, isNear ? 2 * half / 13 : Number(text.dataset.letter));
        // One that the edge would cut could be read as another.
        const away = Math.max(Math.abs(text.getAttribute("x") - x), Math.abs(text.getAttribute("y") - y));
        text.style.visibility = isNear && away > half * 0.85 && away < half * 1.8 ? "hidden" : "";
      }
    };
    show(true);
    const toggle = button("Whole drive", () => {
      const isNear = svg.getAttribute("viewBox") === near;
      show(!isNear);
      toggle.textContent = isNear ? "Enlarge" : "Whole drive";
    }, { class: "quiet" });
    holder.append(toggle);
  };

  // The same drawing for another question: as new, without the cost of one.
  const again = ({ places, mirrored }) => {
    for (const ring of every(".here")) ring.remove();
    while (holder.lastChild !== svg) holder.lastChild.remove();
    svg.setAttribute("viewBox", full);
    svg.classList.remove("near");
    for (const text of numbers.values()) text.style.visibility = "";
    svg.classList.toggle("mirrored", Boolean(mirrored));
    if (places) place(places);
  };

  if (!parts.labelled) svg.setAttribute("aria-labelledby", "drive-title");
  // As a mirror shows it: left and right exchanged, and the letters the right way round.
  svg.classList.toggle("mirrored", Boolean(parts.mirrored));
  if (parts.places) place(parts.places);
  return { holder, place, look, whole, again };
};
