// The old face: a sketch by clicking, the reading to take next, and what the readings come to so far.

import { make } from "./talk.js";
import { readingsTable } from "./survey.js";
import { seenPart } from "./seen.js";
import { redraw } from "./steady.js";

const PUT = {
  hole: "a hole that takes a screw",
  stud: "a stud, or a pin put into a hole: measured over its outside",
  bore: "a bore, which takes no screw",
  shaft: "a shaft that stands out: measured over its outside",
  dowel: "a dowel hole, bare: the plate gets a pin there, and no screw",
  edge: "a straight edge to measure from: click its two ends",
};
const CHOOSE = { origin: "Zero", x_axis: "Which way x points", clockwise: "Way round" };
const CLICKS = {
  origin: ["click the hole, bore or shaft that is zero"],
  x_axis: ["click the one that x starts at", "click the one that x points to"],
  clockwise: ["click three that follow each other clockwise: the first", "the second", "the third"],
};
const HOW = {
  inside: "jaws inside: the gap between the near sides",
  over: "jaws outside: over the far sides",
  centres: "centre to centre",
  edge: "from the edge to the near side of the hole",
  x: "across from the square corner, to the centre",
  y: "up from the square corner, to the centre",
  diameter: "its diameter",
};
const SAID = {
  inside: (a, b) => `${a} to ${b}, jaws inside: the gap between their near sides`,
  over: (a, b) => `${a} to ${b}, jaws outside: over their far sides`,
  centres: (a, b) => `${a} to ${b}, centre to centre`,
  edge: (a, b) => `${a} to ${b}: from the edge to the near side`,
  x: (a) => `${a}, across from the corner to its centre`,
  y: (a) => `${a}, up from the corner to its centre`,
  diameter: (a) => `diameter of ${a}`,
  across: (a) => `${a} in the picture, to the right`,
  up: (a) => `${a} in the picture, upwards`,
};
const SEEN = ["across", "up"]; // how a picture gives places: nobody takes such a reading again by hand

// One face as a part of the sheet: it is drawn anew when what is known of it, or what is being done on it, is another.
export function facePart(mount, told, page, ways) {
  const data = () => {
    const { mode, clicked, picked, seen } = page.faces?.[mount] ?? {};
    const files = (page.answer?.files ?? []).map((one) => one.name);
    return [told, page.unit, page.measuring, mode, clicked, picked, files, page.wanted === mount, seen?.told ? page.state : ""];
  };
  return { key: `face ${mount}`, data, build: () => oldFace(mount, told, page, ways) };
}

function oldFace(mount, told, page, ways) {
  page.faces ??= {};
  // What is being put or chosen, and what is picked, outlives each answer of the server.
  const mine = (page.faces[mount] ??= { mode: told.items.length > 1 ? "pick" : "hole", clicked: [], picked: "" });
  if (![...told.items, ...told.edges].some((one) => one.name === mine.picked)) mine.picked = "";
  const unit = page.unit;
  const per = unit === "in" ? 25.4 : 1;
  const it = { mount, told, page, ways, mine, unit, per };
  it.show = (mm, digits) => (mm / per).toFixed(digits ?? (unit === "in" ? 3 : 2)).replace(/^-(0[.]?0*)$/, "$1");
  it.act = (what, about, where) => ways.run("face", { mount, do: what, ...about }, where);
  it.rough = (mm) => String(Number((mm / per).toFixed(unit === "in" ? 4 : 0)));
  const place = make("section", { class: "part survey face", "data-face": mount }, make("h2", {}, `The old face: ${mount}`));
  it.renew = () => place.isConnected && redraw(place);
  // an answer that comes late belongs to the face as it is shown then
  mine.renew = it.renew;
  // What is said grows and shrinks with every click: below the sketch, which must not move away from under the pointer.
  const parts = [begin(it), tools(it), picture(it), standing(it), picked(it), next(it), frame(it), byNumbers(it), seenPart(it)];
  if (told.items.length) {
    // once all are placed the list is long, and looked at only now and then
    const many = told.readings.length;
    const list = make("details", { open: mine.list ?? (page.measuring || told.state !== "placed") }, make("summary", {}, make("b", {}, `Readings so far: ${many || "none"}`)), readingsTable(mount, told, it, page, ways));
    list.addEventListener("toggle", () => (mine.list = list.open));
    parts.push(list, another(it));
  }
  place.append(...parts.filter(Boolean));
  return place;
}

// What to do first; it stays for as long as holes are being put on.
function begin({ mine, told }) {
  if (!(mine.mode in PUT)) return null;
  const way = told.looking_at === "back" ? "Look at the machine's pattern through the part" : "Look straight at the machine's face";
  return make("p", {}, `${way} and click each hole into the sketch, roughly where it is; then the bore or shaft. Or take a picture of it, below.`);
}

// Whether the focus may be given to a part of a face: its user has not gone elsewhere meanwhile.
function mayHave(part) {
  const active = document.activeElement;
  return active === document.body || active.matches(".part") || Boolean(active.closest(part));
}

function standing({ told, show, unit }) {
  const said = [];
  if (!told.items.length) return null;
  if (told.why_unusable && !told.suspect) said.push(make("p", { class: "slip" }, told.why_unusable));
  if (told.floating.length) said.push(make("p", { class: "open" }, `Still to be placed by readings: ${told.floating.join(", ")}. Till then they are drawn where the sketch has them.`));
  else if (told.redundancy !== null && !told.suspect && told.items.length > 1) {
    const worst = Math.max(...told.items.map((one) => one.sigma_mm ?? 0));
    said.push(make("p", {}, `All are placed; the least sure to ${show(worst)} ${unit} (one standard deviation: two times out of three it is nearer).`));
    if (told.redundancy < 2) said.push(make("p", { class: "open" }, "Nothing checks these readings yet: a slip would not show. Take the next ones, too."));
  }
  if (told.mirror === "unsettled") said.push(make("p", { class: "slip" }, "Readings cannot tell the face from its mirror image: choose the way round, by clicking three holes."));
  const bare = told.items.filter((one) => one.kind === "shaft" && one.stands_mm === null);
  if (bare.length) said.push(make("p", {}, `Pick ${bare.map((one) => one.name).join(", ")} and say how far it stands out of the face; 0 where it ends behind it.`));
  const odds = told.fit_odds?.probability;
  if (odds !== undefined && odds !== null && told.items.length > 1) said.push(make("p", {}, `Odds that all its screws go in: ${percent(odds)}${told.fit_odds.at_least && odds < 0.9995 ? " or better" : ""}.`));
  return make("div", {}, ...said);
}

function percent(share) {
  if (share >= 0.9995) return "more than 99.9 %";
  return `${(100 * share).toFixed(share > 0.99 ? 1 : 0)} %`;
}

// ------------------------------------------------------------------------------------------ the sketch

function tools(it) {
  const { told, mine } = it;
  const mode = (name, words, about) => modeButton(it, name, words, about);
  const rows = [];
  rows.push(make("div", { class: "line" }, make("span", { class: "what" }, "Put on:"), ...told.kinds.map((kind) => mode(kind, kind, PUT[kind])), mode("pick", "nothing: pick or move", "pick what is there to name it, move it or take it off")));
  const words = CLICKS[mine.mode]?.[mine.clicked.length] ?? (mine.mode === "pick" ? "Click one to name, move or take it off; drag it, or move it by the arrow keys." : mine.mode === "edge" && mine.clicked.length ? "Now click the other end of the edge." : `Click where it is: ${PUT[mine.mode]}.`);
  rows.push(make("p", { class: "about", "aria-live": "polite" }, words[0].toUpperCase() + words.slice(1)));
  return make("div", { class: "tools" }, ...rows);
}

// Zero, direction and way round; below the sketch, which must not move away from under the pointer when this comes.
function frame(it) {
  const { told } = it;
  if (told.items.length < 2) return null;
  const lying = told.lying ? shaftOver(it) : null;
  const chosen = {
    origin: told.origin ?? "not chosen",
    x_axis: told.x_axis ? `from ${told.x_axis.join(" to ")}` : "not chosen",
    clockwise: told.clockwise ? `${told.clockwise.join(", ")}${told.clockwise_sketched ? ", as sketched" : ""}` : "not chosen",
  };
  const keys = Object.entries(CHOOSE).filter(([key]) => key !== "clockwise" || told.items.length > 2);
  return make("div", { class: "tools" }, make("div", { class: "line" }, make("span", { class: "what" }, "Choose:"), ...keys.map(([key, words]) => modeButton(it, key, `${words}: ${chosen[key]}`, CLICKS[key].join(", ")))), lying);
}

// A shaft that lies along the plate is on no hole of the face: where it ends is measured from zero.
function shaftOver(it) {
  const { told, unit, per, mount, act } = it;
  const place = make("div", { class: "lying", "data-lying": mount });
  if (!told.origin) {
    place.append(make("p", { class: "open" }, "The machine's shaft lies over this face. Choose zero, a hole of it: then say how far from there the shaft ends."));
    return place;
  }
  const end = told.lying.ends[1];
  const boxes = ["x", "y"].map((axis, k) => make("input", { type: "text", size: 7, inputmode: "decimal", autocomplete: "off", value: told.lying.said ? String(Number((end[k] / per).toFixed(4))) : "", "aria-label": `${axis} of the shaft's end, ${unit}`, "data-end": axis }));
  const form = make("form", { class: "line" }, make("span", { class: "about" }, `x, to the right (${unit})`), boxes[0], make("span", { class: "about" }, "y, up"), boxes[1], make("button", { type: "submit" }, "Put it in"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    act("lies", { x: boxes[0].value, y: boxes[1].value }, boxes.find((one) => !one.value.trim()) ?? boxes[0]);
  });
  const words = `The machine's shaft lies over this face. Below the middle of its end, measured from ${told.origin}, which is zero:`;
  place.append(make("p", { class: told.lying.said ? "about" : "open" }, told.lying.said ? words : `Not said yet: ${words[0].toLowerCase()}${words.slice(1)}`), form);
  return place;
}

// The shaft as it lies over the holes, once these are in the frame that it is told in.
function lyingShaft({ told }, size) {
  if (!told.lying?.said || told.movable || !told.origin) return [];
  const [[ax, ay], [bx, by]] = told.lying.ends;
  const long = Math.hypot(bx - ax, by - ay) || 1;
  const [ux, uy] = [(by - ay) / long * told.lying.diameter_mm / 2, -(bx - ax) / long * told.lying.diameter_mm / 2];
  const d = `M${ax + ux} ${-(ay + uy)}L${bx + ux} ${-(by + uy)}L${bx - ux} ${-(by - uy)}L${ax - ux} ${-(ay - uy)}Z`;
  return [make("svg:path", { d, class: "lying" }), make("svg:text", { x: bx, y: -by - told.lying.diameter_mm / 2 - 0.3 * size, "font-size": 0.9 * size, class: "name end" }, "end of the shaft")];
}

function modeButton(it, name, words, about) {
  return make("button", { type: "button", class: "mode", "aria-pressed": String(it.mine.mode === name), title: about, "data-mode": name, onclick: () => choose(it, name) }, words);
}

function choose(it, name) {
  it.mine.mode = name;
  it.mine.clicked = [];
  it.renew();
  const face = document.querySelector(`[data-face="${CSS.escape(it.mount)}"]`);
  face?.querySelector(`[data-mode="${name}"]`)?.focus({ preventScroll: true });
  // what is to be clicked next has to be seen
  if (name in CLICKS) face?.querySelector(".sketching")?.scrollIntoView({ block: "nearest" });
}

function picture(it) {
  const { told, mine } = it;
  const room = told.room;
  const shaft = told.lying?.said && told.origin && !told.movable ? [{ at: told.lying.ends[1] }] : [];
  const drawn = told.items.filter((one) => one.at);
  const shown = [...drawn, ...shaft];
  const mid = told.movable || !drawn.length ? [0, 0] : [0, 1].map((k) => (Math.min(...shown.map((one) => one.at[k])) + Math.max(...shown.map((one) => one.at[k]))) / 2);
  const half = told.movable ? room : 0.75 * Math.max(...[0, 1].map((k) => Math.max(...shown.map((one) => one.at[k])) - Math.min(...shown.map((one) => one.at[k]))), 20);
  const svg = make("svg:svg", {
    class: "scene sketching",
    viewBox: `${mid[0] - 1.25 * half} ${-mid[1] - half} ${2.5 * half} ${2 * half}`,
    role: "group",
    "aria-label": "the sketch of the old face, as looked at; x to the right, y up",
  });
  // on a narrow screen the sketch is small, its letters must not be
  const size = half / (window.innerWidth < 900 ? 9 : 12);
  it.half = half;
  svg.append(make("svg:rect", { x: mid[0] - 1.25 * half, y: -mid[1] - half, width: 2.5 * half, height: 2 * half, class: "ground" }));
  svg.append(...paper(mid, half, it.per));
  const spot = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [point.x, -point.y];
  };
  svg.addEventListener("click", (event) => {
    if (event.target.closest("[data-spot]")) return;
    if (!(mine.mode in PUT)) return;
    put(it, spot(event));
  });
  for (const one of told.edges) if (one.ends.length === 4) svg.append(edge(one, it, size));
  svg.append(...lyingShaft(it, size), ...axes(it, size));
  const names = [];
  for (const one of drawn) {
    svg.append(item(one, it, size, spot));
    names.push(label(one, size, names));
  }
  svg.append(...names.map((one) => one.drawn));
  svg.append(...jaws(it, size));
  if (mine.mode === "edge" && mine.clicked.length) {
    const [x, y] = mine.clicked[0];
    svg.append(make("svg:path", { d: `M${x - size / 2} ${-y}h${size}M${x} ${-y - size / 2}v${size}`, class: "begun" }));
  }
  const words = told.movable ? "As looked at. Dashed: roughly, by hand. Solid: placed by readings." : "Places by the readings. Rings: where each may lie (one standard deviation), thirty times as large.";
  const squares = `${it.rough(squareOf(half, it.per))} ${it.unit}`;
  return make("figure", {}, svg, make("figcaption", {}, `${words} A square is ${squares}.`));
}

// How wide a square of the paper is, mm: whole inches or parts of them for whoever measures in inches.
function squareOf(half, per) {
  const steps = per === 1 ? [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000] : [0.125, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100];
  return per * (steps.find((one) => half / (per * one) < 9) ?? steps.at(-1));
}

// Squared paper, so that a hand has something to go by.
function paper([mx, my], half, per) {
  const step = squareOf(half, per);
  const lines = [];
  for (let k = Math.ceil((mx - 1.25 * half) / step); k * step <= mx + 1.25 * half; k += 1) lines.push(`M${k * step} ${-my - half}v${2 * half}`);
  for (let k = Math.ceil((my - half) / step); k * step <= my + half; k += 1) lines.push(`M${mx - 1.25 * half} ${-k * step}h${2.5 * half}`);
  return [make("svg:path", { d: lines.join(""), class: "squares" })];
}

function radius(one, size) {
  const usual = one.kind === "bore" || one.kind === "shaft" ? 2 : 0.5;
  return Math.max(one.diameter_mm ? one.diameter_mm / 2 : usual * size, 0.25 * size);
}

function item(one, it, size, spot) {
  const { told, mine, act } = it;
  const [x, y] = one.at;
  const r = radius(one, size);
  const slip = told.suspect?.reading.features.includes(one.name);
  const chosen = mine.clicked.includes(one.name) || (mine.mode === "pick" && mine.picked === one.name);
  const movable = told.movable && !one.placed;
  const shape = make(
    "svg:g",
    {
      class: `item ${one.kind} ${one.placed ? "known" : "rough"}${slip ? " wrong" : ""}${chosen ? " chosen" : ""}`,
      transform: `translate(${x} ${-y})`,
      tabindex: 0,
      role: "button",
      "data-spot": one.name,
      "aria-label": `${one.kind} ${one.name}${one.placed ? "" : ", not placed yet"}; Enter picks it${movable ? ", arrow keys move it" : ""}, Delete takes it off`,
    },
    make("svg:title", {}, `${one.kind} ${one.name}`),
    make("svg:circle", { r: Math.max(r, 1.1 * size), class: "target" }),
    make("svg:circle", { r, class: "rim" }),
  );
  if (one.kind === "stud" || one.kind === "pin") shape.append(make("svg:circle", { r: 0.55 * r, class: "core" }));
  if (one.kind === "shaft") shape.append(make("svg:path", { d: `M${-0.7 * r} ${0.7 * r}L${0.7 * r} ${-0.7 * r}M${-0.98 * r} 0L0 ${-0.98 * r}M0 ${0.98 * r}L${0.98 * r} 0` }));
  if (one.kind === "dowel") shape.append(make("svg:path", { d: `M${-1.3 * r} 0h${2.6 * r}M0 ${-1.3 * r}v${2.6 * r}` }), make("svg:circle", { r: 0.3 * r, class: "core" }));
  if (one.kind === "hole" || one.kind === "bore") shape.append(make("svg:path", { d: `M${-1.3 * r} 0h${0.6 * r}M${0.7 * r} 0h${0.6 * r}M0 ${-1.3 * r}v${0.6 * r}M0 ${0.7 * r}v${0.6 * r}` }));
  if (one.ellipse) shape.append(make("svg:ellipse", { rx: 30 * one.ellipse[0], ry: 30 * one.ellipse[1], class: "odds", transform: `rotate(${-one.ellipse[2]})` }));
  shape.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const start = spot(event);
    let to = null;
    const moved = (move) => {
      if (!movable || mine.mode !== "pick") return;
      const at = spot(move);
      if (!to && Math.hypot(at[0] - start[0], at[1] - start[1]) < 0.25 * size) return;
      to = [x + at[0] - start[0], y + at[1] - start[1]];
      shape.setAttribute("transform", `translate(${to[0]} ${-to[1]})`);
    };
    const end = (write) => () => {
      shape.removeEventListener("pointermove", moved);
      shape.removeEventListener("pointerup", up);
      shape.removeEventListener("pointercancel", away);
      if (to && write) {
        mine.picked = one.name;
        act("move", { name: one.name, at: to });
      } else if (to) it.renew();
      else if (write) pick(it, one.name);
    };
    const up = end(true);
    const away = end(false);
    shape.setPointerCapture(event.pointerId);
    shape.addEventListener("pointermove", moved);
    shape.addEventListener("pointerup", up);
    shape.addEventListener("pointercancel", away);
  });
  shape.addEventListener("keydown", (event) => {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      pick(it, one.name);
    } else if (event.key === "Delete") act("remove", { name: one.name });
    else if (ways && movable) {
      event.preventDefault();
      const step = (it.unit === "in" ? 25.4 / 16 : 1) * (event.shiftKey ? 10 : 1);
      mine.picked = one.name;
      it.page.spot = [it.mount, one.name];
      act("move", { name: one.name, at: [x + step * ways[0], y + step * ways[1]] });
    }
  });
  if (it.page.spot?.[0] === it.mount && it.page.spot[1] === one.name) {
    it.page.spot = null;
    queueMicrotask(() => mayHave(".sketching") && shape.focus());
  }
  return shape;
}

// Names go to the upper right of each, and farther up where that would cover another.
function label(one, size, others) {
  const r = radius(one, size);
  const wide = 0.62 * size * one.name.length;
  let [x, y] = [one.at[0] + 0.75 * r + 0.25 * size, -one.at[1] - 0.75 * r - 0.15 * size];
  while (others.some((t) => Math.abs(t.y - y) < size && x < t.x + t.wide && t.x < x + wide)) y -= size;
  return { x, y, wide, drawn: make("svg:text", { x, y, "font-size": size, class: "name start" }, one.name) };
}

function edge(one, it, size) {
  const [x0, y0, x1, y1] = one.ends;
  const chosen = it.mine.mode === "pick" && it.mine.picked === one.name;
  const line = make(
    "svg:g",
    { class: `item edge rough${chosen ? " chosen" : ""}`, tabindex: 0, role: "button", "data-spot": one.name, "aria-label": `edge ${one.name}; Enter picks it, Delete takes it off` },
    make("svg:path", { d: `M${x0} ${-y0}L${x1} ${-y1}`, class: "target wide" }),
    make("svg:path", { d: `M${x0} ${-y0}L${x1} ${-y1}`, class: "rim" }),
    make("svg:text", { x: (x0 + x1) / 2, y: -(y0 + y1) / 2 + 1.2 * size, "font-size": size, class: "name" }, one.name),
  );
  line.addEventListener("click", () => pick(it, one.name));
  line.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      pick(it, one.name);
    } else if (event.key === "Delete") it.act("remove", { name: one.name });
  });
  return line;
}

// Zero as a ring with a cross, x as an arrow from it, and the way round as an arrow through the three holes.
function axes(it, size) {
  const { told } = it;
  const at = (name) => told.items.find((one) => one.name === name)?.at;
  const found = [];
  const zero = at(told.origin);
  const [from, to] = (told.x_axis ?? []).map(at);
  if (from && to) {
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
    const way = [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
    const base = zero ?? from;
    const tip = [base[0] + 4.2 * size * way[0], base[1] + 4.2 * size * way[1]];
    const barb = (turn) => `L${tip[0] - 0.8 * size * (way[0] * 0.9 - turn * way[1] * 0.45)} ${-(tip[1] - 0.8 * size * (way[1] * 0.9 + turn * way[0] * 0.45))}`;
    found.push(make("svg:path", { d: `M${base[0]} ${-base[1]}L${tip[0]} ${-tip[1]}${barb(1)}M${tip[0]} ${-tip[1]}${barb(-1)}`, class: "axis" }));
    found.push(make("svg:text", { x: tip[0] + 0.5 * size * way[0], y: -(tip[1] + 0.5 * size * way[1]) + 0.35 * size, "font-size": 0.9 * size, class: "name axis-name" }, "x"));
  }
  if (zero) found.push(make("svg:path", { d: `M${zero[0] - 0.5 * size} ${-zero[1]}h${size}M${zero[0]} ${-zero[1] - 0.5 * size}v${size}`, class: "axis" }));
  if (it.mine.mode === "clockwise" && told.clockwise?.every((name) => at(name))) {
    found.push(make("svg:path", { d: `M${told.clockwise.map((name) => `${at(name)[0]} ${-at(name)[1]}`).join("L")}`, class: "axis thin" }));
  }
  return found;
}

// The reading to take next, as the jaws stand.
function jaws({ told }, size) {
  const step = wanted(told);
  if (!step) return [];
  const [a, b] = step.features.map((name) => told.items.find((one) => one.name === name));
  if (!a?.at) return [];
  if (step.kind === "diameter") {
    const r = radius(a, size);
    const [x, y] = [a.at[0], -a.at[1]];
    return [make("svg:path", { d: `M${x - r} ${y}H${x + r}M${x - r} ${y - 0.6 * size}v${1.2 * size}M${x + r} ${y - 0.6 * size}v${1.2 * size}`, class: "jaws" })];
  }
  if (!b?.at) return [];
  const long = Math.hypot(b.at[0] - a.at[0], b.at[1] - a.at[1]) || 1;
  const [ux, uy] = [(b.at[0] - a.at[0]) / long, (b.at[1] - a.at[1]) / long];
  const by = { inside: 1, over: -1 }[step.kind] ?? 0;
  const end = (one, way) => [one.at[0] + way * by * radius(one, size) * ux, one.at[1] + way * by * radius(one, size) * uy];
  const tick = ([x, y]) => `M${x - 0.7 * size * uy} ${-(y + 0.7 * size * ux)}L${x + 0.7 * size * uy} ${-(y - 0.7 * size * ux)}`;
  const [p, q] = [end(a, 1), end(b, -1)];
  return [make("svg:path", { d: `M${p[0]} ${-p[1]}L${q[0]} ${-q[1]}${tick(p)}${tick(q)}`, class: "jaws" })];
}

function put(it, at) {
  const { mine, act } = it;
  if (mine.mode === "edge") {
    mine.clicked.push(at);
    if (mine.clicked.length < 2) return it.renew();
    const ends = mine.clicked.flat();
    mine.clicked = [];
    return act("put", { kind: "edge", at: ends });
  }
  return act("put", { kind: mine.mode, at });
}

function pick(it, name) {
  const { mine, act } = it;
  if (mine.mode in CLICKS) {
    if (it.told.edge_names.includes(name)) return it.ways.fail("an edge is no hole; click holes, the bore or the shaft");
    mine.clicked.push(name);
    if (mine.clicked.length < CLICKS[mine.mode].length) return it.renew();
    const [what, names] = [mine.mode, mine.clicked];
    mine.clicked = [];
    mine.mode = "pick";
    return act("frame", { what, names });
  }
  mine.mode = "pick";
  mine.picked = name;
  it.renew();
  return document.querySelector(`[data-face="${CSS.escape(it.mount)}"] [data-spot="${CSS.escape(name)}"]`)?.focus();
}

// The same by numbers: for whoever has no mouse, or a drawing with figures on it.
function byNumbers(it) {
  const { mine, unit, per, told } = it;
  if (!(mine.mode in PUT)) return null;
  const box = (label) => make("input", { type: "text", size: 6, inputmode: "decimal", "aria-label": `${label}, ${unit}`, placeholder: label });
  const boxes = (mine.mode === "edge" ? ["x of one end", "y of one end", "x of the other", "y of the other"] : ["x", "y"]).map(box);
  // from zero, once that is chosen: so a tape has it
  const zero = told.items.find((one) => one.name === told.origin)?.at ?? [0, 0];
  const from = told.items.some((one) => one.name === told.origin && one.at) ? told.origin : "the sketch's middle";
  const form = make("form", { class: "line numbers" }, make("span", { class: "about" }, `or by numbers (${unit} from ${from}, right and up)`), ...boxes, make("button", { type: "submit" }, `Put the ${mine.mode} there`));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const at = boxes.map((one, k) => per * number(one.value) + zero[k % 2]);
    const bad = at.findIndex(Number.isNaN);
    if (bad >= 0) it.ways.fail(`found no number; type how far it is from ${from}, such as -60`, boxes[bad]);
    else it.act("put", { kind: mine.mode, at }, boxes[0]);
  });
  return form;
}

function number(typed) {
  const said = typed.trim().replace(",", ".");
  return /^[-+]?(\d+[.]?\d*|[.]\d+)$/.test(said) ? Number(said) : NaN;
}

// A reading as typed, mm; a bare fraction is in inches, as the server takes it.
function inMm(typed, per) {
  const part = /^(?:(\d+)[ -])?(\d+)\/(\d+)(?: *in)?$/.exec(typed.trim());
  return part ? 25.4 * (Number(part[1] ?? 0) + Number(part[2]) / Number(part[3])) : per * number(typed);
}

// What is picked: its name, its rough place, and the way off the face.
function picked(it) {
  const { told, mine, act, per, unit, rough } = it;
  if (mine.mode !== "pick" || !mine.picked) return null;
  const one = told.items.find((found) => found.name === mine.picked) ?? told.edges.find((found) => found.name === mine.picked);
  if (!one) return null;
  const name = make("input", { type: "text", size: 8, value: one.name, "aria-label": "its name", "data-picked": "name" });
  name.addEventListener("change", () => {
    const to = name.value.trim();
    if (!to || to === one.name) return;
    const before = mine.picked;
    mine.picked = to;
    act("rename", { name: one.name, to }, name).then((good) => {
      if (!good) mine.picked = before;
    });
  });
  const line = make("div", { class: "line" }, make("b", {}, one.kind ?? "edge"), make("label", {}, make("span", { class: "about" }, "called "), name));
  const at = one.ends ?? one.at;
  if (told.movable && !one.placed && at?.length) {
    const boxes = at.map((v, k) => make("input", { type: "text", size: 6, value: rough(v), inputmode: "decimal", "aria-label": `${k % 2 ? "y" : "x"}, ${unit}`, "data-picked": `at ${k}` }));
    for (const box of boxes) {
      box.addEventListener("change", () => {
        const to = boxes.map((entry) => per * number(entry.value));
        if (to.some(Number.isNaN)) it.ways.fail("found no number; type how far it is from the middle, such as -60", box);
        else act("move", { name: one.name, at: to }, box);
      });
    }
    line.append(make("span", { class: "about" }, `roughly at (${unit})`), ...boxes);
  } else if (one.at) line.append(make("span", { class: "about" }, `at ${it.show(one.at[0])}, ${it.show(one.at[1])} ${unit}, by the readings`));
  if (one.kind === "shaft" || one.kind === "stud") {
    const stands = make("input", { type: "text", size: 6, inputmode: "decimal", value: one.stands_mm === null ? "" : it.show(one.stands_mm), "aria-label": `how far it stands out, ${unit}`, "data-picked": "stands" });
    const field = `mounts.${it.mount}.pattern.measured.holes.${one.name}.stands`;
    stands.addEventListener("change", () => stands.value.trim() && it.ways.run("edit", { edits: [[field, stands.value, "reading"]] }, stands));
    line.append(make("label", {}, make("span", { class: "about" }, `stands out by (${unit}${one.kind === "shaft" ? "; 0: ends behind the face" : ""}) `), stands));
  }
  line.append(make("button", { type: "button", class: "quiet", onclick: (event) => act("remove", { name: one.name }, event.currentTarget) }, "Take it off, with its readings"));
  return line;
}

// ------------------------------------------------------------------------------------------ readings

// The reading that is asked for: one that does not go with the others is taken again before anything else.
function wanted(told) {
  for (const one of told.suspect ? [told.suspect.reading, ...told.suspect.rivals] : []) {
    if (SEEN.includes(one.kind)) continue;
    const [field] = again(told, one) ?? [];
    // What was taken again and came out the same is left: then it is one of the others.
    if (field && !confirmed.has(marked(one))) return { features: one.features, kind: one.kind, value_mm: one.value_mm, field };
  }
  return told.next;
}

// Readings that were taken again and gave the same number, on this page.
const confirmed = new Set();

function marked(one) {
  return `${one.features.join(" ")} ${one.kind} ${one.value_mm}`;
}

// Where the number of a reading stands, and what was typed there.
function again(told, one) {
  const key = `${one.features.join(" ")} ${one.kind}`;
  const same = told.readings.filter((other) => `${other.features.join(" ")} ${other.kind}` === key);
  const nth = Math.max(same.findIndex((other) => other.value_mm === one.value_mm), 0);
  return told.boxes[key]?.slice(2 * nth, 2 * nth + 2) ?? null;
}

function next(it) {
  const { mount, told, unit, per, page, ways } = it;
  const step = wanted(told);
  const place = make("div", { class: `next${told.suspect ? " wrong-reading" : ""}`, role: "group", "aria-label": "the reading to take next" });
  if (told.suspect) place.append(slipWords(it));
  if (!step) {
    if (told.state === "placed" && page.measuring) place.append(make("button", { type: "button", id: "measured", onclick: () => ways.measured() }, "That will do: on to what was found"));
    if (!told.items.length) return null;
    const none = told.stuck ? `What can be reached does not do: ${told.stuck}. Any other reading may be put in below.` : "No further reading is needed.";
    place.prepend(make("p", {}, told.items.length > 1 ? none : "Put the other holes on the sketch; then the page says what to measure."));
    if (!told.stuck && told.items.length > 1 && told.state !== "placed") place.append(...wayOfX(it));
    return place;
  }
  const spare = told.state === "placed" && !told.suspect;
  const count = told.left > 1 ? ` (${told.left} planned)` : "";
  const head = step.field ? "Take this one again:" : spare ? "You may stop here. One more makes it surer:" : `Take this reading next${count}:`;
  place.append(make("p", {}, head), make("p", { class: "wanted" }, make("b", {}, SAID[step.kind](...step.features)), step.why && !step.field ? make("span", { class: "about" }, ` ${step.why}`) : null));
  const typed = make("input", { type: "text", class: "reading", inputmode: "decimal", autocomplete: "off", "aria-label": `reading, ${unit}`, "data-reading": mount, "data-of": `${step.features.join(" ")} ${step.kind} ${step.field ? step.value_mm : ""}`, placeholder: `such as ${step.kind === "diameter" ? (unit === "in" ? "17/32" : "8,5") : unit === "in" ? "3 7/8" : "81,7"}` });
  // whatever is in the way of the jaws stands in no spec: the page asks for another pair then
  const cannot = step.field || step.features.length < 2 ? null : make("button", { type: "button", class: "quiet", "data-cannot": mount, onclick: (event) => {
    page.wanted = mount;
    it.act("cannot", { from: step.features[0], to: step.features[1] }, event.currentTarget);
  } }, "It cannot be taken: ask for another");
  const form = make("form", { class: "line" }, typed, make("span", {}, unit), make("button", { type: "submit" }, "Put it in"), cannot);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    page.wanted = mount;
    if (step.field && Math.abs(inMm(typed.value, per) - step.value_mm) < 1e-6) {
      confirmed.add(marked(step));
      return it.renew();
    }
    if (step.field) return ways.run("edit", { edits: [[step.field, typed.value, "reading"]] }, typed);
    // from here on a click on the sketch is no hole any more
    it.mine.mode = "pick";
    return it.act("read", { from: step.features[0], to: step.features[1] ?? step.features[0], how: step.kind, typed: typed.value }, typed);
  });
  place.append(form);
  if (spare && page.measuring) place.append(make("button", { type: "button", id: "measured", onclick: () => ways.measured() }, "That will do: on to what was found"));
  if (page.wanted === mount) {
    queueMicrotask(() => {
      page.wanted = "";
      if (mayHave(".next")) document.querySelector(`[data-reading="${CSS.escape(mount)}"]`)?.focus({ preventScroll: false });
    });
  }
  return place;
}

// What keeps readings that are enough from placing the holes is which way x points: the pair that lies levelest is offered.
function wayOfX(it) {
  const { told, act } = it;
  if (told.x_axis) return [];
  const parts = [make("p", { class: "open" }, "Say now which way x points, which is to the right as you look at this face; any two may say it, below under Choose.")];
  const [from, to] = told.level ?? [];
  if (from) parts.push(make("button", { type: "button", "data-level": true, onclick: (event) => act("frame", { what: "x_axis", names: [from, to] }, event.currentTarget) }, `From ${from} to ${to}, the levelest two`));
  return parts;
}

function slipWords({ told, show, unit, ways, page, mount }) {
  const slip = told.suspect;
  const { features, kind, value_mm } = slip.reading;
  const sure = slip.sure ? "does not go with the others" : "may be wrong";
  // a fraction is told as it was typed
  const [field, typed] = again(told, slip.reading) ?? [];
  const reads = typed?.includes("/") ? typed : `${show(value_mm)} ${unit}`;
  const place = make("div", { class: "slip" }, make("p", {}, make("b", {}, "Slip? "), `${SAID[kind](...features)}: ${reads} ${sure}: ${slip.why}.`));
  for (const story of slip.stories.slice(0, 4)) place.append(make("p", {}, story));
  if (slip.rivals.length) {
    const others = slip.rivals.map((one) => `${one.features.join(" to ")}, ${one.kind}`).join("; ");
    place.append(make("p", {}, `It could also be ${others}: taking one of them again${SEEN.includes(kind) ? ", or looking at the hole in the picture," : ""} shows which.`));
  }
  const likely = slip.likely_mm;
  if (field && !SEEN.includes(kind) && likely !== null && likely !== undefined && Math.abs(likely - value_mm) > 1e-6) {
    const says = show(likely);
    place.append(make("button", { type: "button", onclick: (event) => {
      page.wanted = mount; // and on with the next
      ways.run("edit", { edits: [[field, says, "words"]] }, event.currentTarget);
    } }, `My paper says ${says} ${unit}`));
  }
  return place;
}

// Any other reading, in the order in which the user wants to take it.
function another(it) {
  const { told, unit, page, mount, mine } = it;
  const names = [...told.names, ...told.edge_names];
  if (!told.names.length) return null;
  const pickOf = (words, label, first) => {
    const pick = make("select", { "aria-label": label }, ...words.map((word) => make("option", { value: word }, HOW[word] ? `${word}: ${HOW[word]}` : word)));
    if (first) pick.value = first;
    return pick;
  };
  const from = pickOf(names, "from");
  const to = pickOf(names, "to", names[1]);
  const how = pickOf(Object.keys(HOW).filter((kind) => kind !== "edge" || told.edge_names.length), "how it is taken");
  const alone = () => (to.hidden = ["x", "y", "diameter"].includes(how.value));
  how.addEventListener("change", alone);
  how.addEventListener("carried", alone);
  alone();
  const typed = make("input", { type: "text", size: 9, inputmode: "decimal", autocomplete: "off", "aria-label": `another reading, ${unit}` });
  const form = make("form", { class: "line" }, from, to, how, typed, make("span", {}, unit), make("button", { type: "submit" }, "Put it in"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    page.another = mount;
    it.act("read", { from: from.value, to: to.value, how: how.value, typed: typed.value }, typed);
  });
  if (page.another === mount) {
    page.another = "";
    queueMicrotask(() => mayHave(".another") && from.focus({ preventScroll: true }));
  }
  const whole = make("details", { open: mine.other, class: "another" }, make("summary", {}, "Another reading than the one asked for"), form);
  whole.addEventListener("toggle", () => (mine.other = whole.open));
  return whole;
}
