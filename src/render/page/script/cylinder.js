// One cylinder in section: drawn by the module, its piston and valves put where the module says they are.
const Cylinder = (figures, mark) => {
  const title = make("h4");
  const picture = make("div", { class: "cut" });
  const said = make("dl", { class: "gaps" });
  const notes = make("div", { class: "small" });
  const holder = make("div", { class: "cylinder" }, title, picture, said, notes);
  let shown = null; // the number of the section that is drawn
  let parts = null;
  let lines = [];

  const draw = (of) => {
    picture.replaceChildren(drawn(figures.sections[of]));
    const every = (selector) => [...picture.querySelectorAll(selector)];
    // A second one on the page has a clip of its own.
    for (const clip of every("clipPath")) {
      const id = `${clip.id}-${mark}`;
      for (const user of every(`[clip-path="url(#${clip.id})"]`)) user.setAttribute("clip-path", `url(#${id})`);
      clip.id = id;
    }
    const rod = picture.querySelector("[data-rod]");
    parts = {
      piston: picture.querySelector("[data-piston]"),
      rod,
      pin: rod.getAttribute("transform"),
      valves: new Map(every("[data-valve]").map((valve) => [Number(valve.dataset.valve), valve])),
    };
    shown = of;
  };
  const put = (cylinder, { section, notes: lacks }, name) => {
    if (shown !== section) {
      draw(section);
      notes.replaceChildren(...lacks.map((text) => make("p", { text })));
      lines = cylinder.valves.map(({ name: of }) => {
        const [lift, gap] = [make("span"), make("span", { class: "state" })];
        return { lift, gap, line: make("div", {}, make("dt", { text: of }), make("dd", {}, "lift ", lift, "; gap ", gap)) };
      });
      said.replaceChildren(...lines.map(({ line }) => line));
    }
    title.textContent = `${name}Cylinder ${cylinder.cylinder}, ${cylinder.place}`;
    holder.dataset.down = cylinder.down;
    parts.piston.setAttribute("transform", `translate(0 ${cylinder.down})`);
    parts.rod.setAttribute("transform", `translate(0 ${cylinder.down}) ${parts.pin} rotate(${cylinder.lean})`);
    cylinder.valves.forEach(({ valve, moved, lift, gap, state, gap_mm, lift_mm }, i) => {
      const part = parts.valves.get(valve);
      part.setAttribute("transform", `translate(${moved[0]} ${moved[1]})`);
      part.classList.toggle("meets", state === "meet");
      lines[i].lift.textContent = lift;
      lines[i].gap.textContent = gap;
      lines[i].gap.dataset.state = state;
      Object.assign(lines[i].line.dataset, { gapOf: valve, gapMm: gap_mm, liftMm: lift_mm });
    });
  };
  return { holder, put };
};
