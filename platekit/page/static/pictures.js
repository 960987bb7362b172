// The two pictures. Both are drawn from figures in mm; y points up in them and is turned over here, once.

import { ask, latest, make, patched } from "./talk.js";

const TARGET = 22; // px: half of the 44 that a finger needs
const KNOB = 7; // px
// A browser hands out moves with each frame; where it tells them at once as well, the question is asked up to a frame
// earlier.
const MOVES = ["pointermove", "pointerrawupdate"];
const GROWN = 0.08; // of a picture, by which it shows more than it must when something is dragged out of it
const LEVELS = { stop: "stop", warn: "warning", note: "note" };

export class Picture {
  // `view` is 0 for the front and 1 for that from the side. `ways` are called when something was dragged or picked.
  constructor(place, view, ways) {
    this.place = place;
    this.view = view;
    this.ways = ways;
    this.svg = make("svg:svg", { class: "scene" });
    this.drawn = make("svg:g", { transform: "scale(1 -1)" });
    this.marks = make("svg:g");
    this.knobs = make("svg:g");
    this.svg.append(this.drawn, this.marks, this.knobs);
    // Where the targets of several handles lie on one another, the one whose middle is nearest is meant.
    this.knobs.addEventListener("pointerdown", (event) => this.grab(event, this.nearest(event)));
    place.replaceChildren(this.svg);
    this.state = "";
    this.scene = null;
    this.held = null;
    this.turn = 0; // counts drags, so that what was asked in one that is over is not drawn any more
    this.last = {}; // the last picture of a drag and its number: the server tells what changed since
    this.tell = latest((handle, to, fine) => this.tried(handle, to, fine));
    // How large the picture is comes from the browser once it has laid it out, before it paints: asking for it in
    // between would have the whole page laid out twice.
    this.size = [0, 0];
    new ResizeObserver(([{ contentRect }]) => {
      this.size = [contentRect.width, contentRect.height];
      if (this.scene) this.show(this.scene, this.state);
    }).observe(this.svg);
  }

  get part() {
    return this.view === 0 ? this.scene.front : this.scene.side;
  }

  // `trial` says that it is of a drag under way.
  show(scene, state, trial = false) {
    this.scene = scene;
    this.state = state;
    this.trial = trial;
    const part = this.part;
    if (!part) {
      this.place.parentElement.hidden = true;
      return;
    }
    this.place.parentElement.hidden = false;
    const [x0, y0, x1, y1] = this.seen(part);
    // Only what changed is set, here and below: a drag makes no new nodes, and the browser lays nothing out in vain.
    const box = `${x0} ${-y1} ${x1 - x0} ${y1 - y0}`;
    if (box !== this.boxed) {
      this.boxed = box;
      this.svg.setAttribute("viewBox", box);
      this.svg.style.aspectRatio = `${x1 - x0} / ${y1 - y0}`;
    }
    this.redraw();
    this.putKnobs();
  }

  box(part) {
    if (this.view === 0) return part.box;
    const [x0, y0, x1, y1] = part.box;
    const rim = 0.06 * Math.max(x1 - x0, y1 - y0);
    return [x0 - rim, y0 - rim, x1 + rim, y1 + rim];
  }

  // What of the plate's plane is shown. While something is dragged it only grows, by some more than it must: what
  // stands still keeps its place under the pointer, and is not drawn anew.
  seen(part) {
    const [x0, y0, x1, y1] = this.box(part);
    const was = this.shown;
    if (!this.trial || !was) return (this.shown = [x0, y0, x1, y1]);
    if (x0 >= was[0] && y0 >= was[1] && x1 <= was[2] && y1 <= was[3]) return was;
    const more = GROWN * Math.max(was[2] - was[0], was[3] - was[1]);
    const low = (now, before) => (now < before ? now - more : before);
    const high = (now, before) => (now > before ? now + more : before);
    return (this.shown = [low(x0, was[0]), low(y0, was[1]), high(x1, was[2]), high(y1, was[3])]);
  }

  // mm of one px, as the picture was laid out last
  get pixel() {
    const [wide, high] = this.size;
    if (!wide || !high || !this.shown) return 1;
    const [x0, y0, x1, y1] = this.shown;
    return Math.max((x1 - x0) / wide, (y1 - y0) / high);
  }

  redraw() {
    if (this.put !== this.part) put(this.drawn, this.view === 0 ? front(this.part) : side(this.part));
    this.put = this.part;
    const marked = JSON.stringify([this.pixel, this.view === 0 ? this.part.marks : [this.part.named, this.mine().map((handle) => handle.at)]]);
    if (marked === this.marked) return;
    this.marked = marked;
    this.marks.replaceChildren(...(this.view === 0 ? this.findings() : this.words()));
  }

  findings() {
    const size = 9 * this.pixel;
    return this.scene.front.marks
      .filter((mark) => !mark.accepted)
      .map((mark) =>
        make(
          "svg:g",
          {
            class: `mark ${mark.level}`,
            transform: `translate(${mark.at[0]} ${-mark.at[1]}) scale(${size})`,
            "data-finding": mark.finding,
            onclick: () => this.ways.picked(mark.finding),
          },
          make("svg:title", {}, `${LEVELS[mark.level]} ${mark.finding + 1}`),
          sign(mark.level),
        ),
      );
  }

  words() {
    const size = 11 * this.pixel;
    // a name gives way to what is taken hold of and to other names, by a line at most: it would stand at another part
    // else
    const held = this.mine().map((handle) => ({ x: handle.at[0], y: -handle.at[1], half: 0.9 * size }));
    const taken = [];
    const found = [];
    // a picture that is higher than its place has room on both sides
    const middle = (this.shown[0] + this.shown[2]) / 2;
    const [left, right] = [-1, 1].map((way) => middle + (way * this.size[0] * this.pixel) / 2);
    for (const name of this.part.named) {
      // Beside its spot, which is the part's right end, so that no edge runs through the words; where the picture ends,
      // on the other side of it. Names that find no room are left to the pointer: it names whatever it rests on.
      const half = 0.3 * size * name.words.length;
      const sides = [name.at[0] + half + 0.5 * size, name.at[0] - half - 0.5 * size].filter((x) => x - half >= left && x + half <= right);
      const over = (x, y, those) => those.some((t) => Math.abs(t.y - y) < 1.2 * size && Math.abs(t.x - x) < t.half + half);
      const away = name.at[1] < 0 ? 1.4 : -1.4;
      const spots = [0, away, -away].flatMap((lines) => sides.map((x) => [x, lines * size - name.at[1]]));
      const spot = spots.find(([x, y]) => !over(x, y, held) && !over(x, y, taken));
      if (!spot) continue;
      const [x, y] = spot;
      taken.push({ x, y, half });
      found.push(make("svg:text", { x, y: y + 0.35 * size, "font-size": size, class: "name" }, name.words));
    }
    return found;
  }

  // the handles of this view
  mine() {
    return this.scene.handles.filter((handle) => handle.view === this.view);
  }

  putKnobs() {
    if (this.held) return;
    const pixel = this.pixel;
    const mine = this.mine();
    // a screen's last decimals make no other knob
    const named = JSON.stringify([pixel.toPrecision(4), mine.map((handle) => [handle.name, handle.kind, handle.said])]);
    if (named === this.named) {
      mine.forEach((handle, k) => {
        const one = this.knobs.children[k];
        one.handle = handle;
        if (one.getAttribute("transform") !== at(handle.at)) one.setAttribute("transform", at(handle.at));
      });
      return;
    }
    this.named = named;
    const focused = document.activeElement?.dataset?.handle;
    this.knobs.replaceChildren(
      ...mine.map((handle) =>
        make(
          "svg:g",
          {
            class: `knob ${handle.kind}`,
            tabindex: 0,
            role: "button",
            "aria-label": `${handle.said}; arrow keys by 1, Shift by 10, Alt by a tenth, Escape leaves it`,
            "data-handle": handle.name,
            transform: at(handle.at),
            onfocus: (event) => this.ways.chosen(event.currentTarget.handle),
            onkeydown: (event) => this.key(event, event.currentTarget.handle),
            onkeyup: (event) => this.keyUp(event, event.currentTarget.handle),
          },
          make("svg:title", {}, handle.said),
          make("svg:circle", { r: TARGET * pixel, class: "target" }),
          knob(handle.kind, KNOB * pixel),
        ),
      ),
    );
    mine.forEach((handle, k) => (this.knobs.children[k].handle = handle));
    if (focused) this.knobs.querySelector(`[data-handle="${CSS.escape(focused)}"]`)?.focus();
  }

  nearest(event) {
    const here = this.svg.getScreenCTM().inverse();
    const [x, y] = [here.a * event.clientX + here.e, -(here.d * event.clientY + here.f)];
    const far = (handle) => Math.hypot(handle.at[0] - x, handle.at[1] - y);
    const mine = this.scene.handles.filter((handle) => handle.view === this.view);
    return mine.reduce((best, one) => (far(one) < far(best) ? one : best));
  }

  grab(event, handle) {
    if (event.button !== 0 || this.held) return;
    const knobAt = this.knobs.querySelector(`[data-handle="${CSS.escape(handle.name)}"]`);
    const [x, y] = [event.clientX, event.clientY];
    const pixel = this.pixel;
    let to = handle.at;
    let asked = "";
    this.held = handle.name;
    knobAt.setPointerCapture(event.pointerId);
    const moved = (move) => {
      // from the side only heights are dragged
      const across = this.view === 0 ? (move.clientX - x) * pixel : 0;
      to = [handle.at[0] + across, handle.at[1] - (move.clientY - y) * pixel];
      if (move.type === "pointermove") knobAt.setAttribute("transform", at(to));
      // A move that was told at once comes with the frame once more: to ask again would keep the next one waiting.
      const now = JSON.stringify([to, move.altKey]);
      if (now !== asked) this.tell(handle.name, to, move.altKey);
      asked = now;
    };
    const end = (write) => (ended) => {
      for (const kind of MOVES) knobAt.removeEventListener(kind, moved);
      this.held = null;
      this.turn += 1;
      document.removeEventListener("keydown", escaped);
      knobAt.removeEventListener("pointerup", up);
      knobAt.removeEventListener("pointercancel", away);
      if (write && to !== handle.at) this.ways.dropped(handle.name, to, ended.altKey);
      else this.ways.left();
    };
    const up = end(true);
    const away = end(false);
    const escaped = (pressed) => pressed.key === "Escape" && away(pressed);
    for (const kind of MOVES) knobAt.addEventListener(kind, moved);
    knobAt.addEventListener("pointerup", up);
    knobAt.addEventListener("pointercancel", away);
    document.addEventListener("keydown", escaped);
    event.preventDefault();
    knobAt.focus();
  }

  key(event, handle) {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.key === "Escape" && this.pressed) {
      this.pressed = null;
      this.turn += 1;
      this.ways.left();
      return;
    }
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    const unit = this.scene.unit === "in" ? 25.4 / 32 : 1;
    const step = unit * (event.shiftKey ? 10 : event.altKey ? 0.1 : 1);
    const from = this.pressed?.to ?? handle.at;
    this.pressed = { to: [from[0] + step * way[0], from[1] + step * way[1]], fine: event.altKey };
    event.currentTarget.setAttribute("transform", at(this.pressed.to));
    this.tell(handle.name, this.pressed.to, event.altKey);
  }

  keyUp(event, handle) {
    if (!this.pressed || !event.key.startsWith("Arrow")) return;
    const { to, fine } = this.pressed;
    this.pressed = null;
    this.turn += 1;
    this.ways.dropped(handle.name, to, fine);
  }

  // What a drag comes to so far: the picture follows, the spec does not yet.
  async tried(handle, to, fine) {
    const turn = this.turn;
    try {
      const answer = await ask("drag", { state: this.state, handle, to, fine, seen: this.last.number ?? 0 });
      const scene = answer.scene ?? patched(this.last.scene, answer.changed);
      this.last = { number: answer.number, scene };
      return () => turn === this.turn && this.ways.trial({ ...answer, scene });
    } catch (error) {
      return () => turn === this.turn && this.ways.untried(error.message);
    }
  }
}

function at([x, y]) {
  return `translate(${x} ${-y})`;
}

// Signs of findings, in a square of -1 to 1: filled square for a stop, upright wedge for a warning, ring for a note.
function sign(level) {
  if (level === "stop") return make("svg:path", { d: "M-1-1H1V1H-1Z M-.5-.5L.5.5 M-.5.5L.5-.5" });
  if (level === "warn") return make("svg:path", { d: "M0-1.1L1.1 1H-1.1Z M0-.3V.5" });
  return make("svg:circle", { r: 0.8 });
}

function knob(kind, r) {
  if (kind === "turn") return make("svg:path", { d: `M0 ${-r}L${r} 0L0 ${r}L${-r} 0Z`, class: "grip" });
  if (kind === "span") return make("svg:path", { d: `M${-r} 0H${r}M0 ${-1.6 * r}V${1.6 * r}`, class: "grip" });
  if (kind === "end") return make("svg:path", { d: `M${-r} ${-0.45 * r}H${r}V${0.45 * r}H${-r}Z`, class: "grip" });
  if (kind === "standoff") return make("svg:path", { d: `M${-r} ${-r}H${r}L0 ${-0.1 * r}Z M${-r} ${r}H${r}L0 ${0.1 * r}Z`, class: "grip" });
  if (kind === "corner") return make("svg:rect", { x: -0.8 * r, y: -0.8 * r, width: 1.6 * r, height: 1.6 * r, class: "grip" });
  if (kind === "place") return make("svg:circle", { r: 1.25 * r, class: "grip main" });
  return make("svg:circle", { r: 0.85 * r, class: "grip" });
}

// The lines of a picture, lowest first: { d, class, title }.
function front(scene) {
  const below = scene.bodies.filter((body) => body.side === "far" && body.kind !== "guard");
  const above = scene.bodies.filter((body) => body.side !== "far" && body.kind !== "guard");
  const guard = scene.bodies.filter((body) => body.kind === "guard");
  return [
    { d: scene.plate + scene.openings.map((one) => one.d).join(""), class: "steel" },
    ...scene.openings.map((one) => ({ d: one.d, class: `opening ${one.role}`, title: one.name })),
    ...[...below, ...above, ...guard].map((body) => ({ d: body.d, class: `body ${body.kind} ${body.side}`, title: body.name })),
    ...scene.bodies.filter((body) => body.swept).map((body) => ({ d: body.swept, class: "swept" })),
  ];
}

function side(scene) {
  const [x0, y0, x1, y1] = scene.plate;
  return [
    { d: `M${x0} ${y0}H${x1}V${y1}H${x0}Z`, class: "steel" },
    ...scene.parts.flatMap((part) => [
      ...part.moved.map((d) => ({ d, class: "swept" })),
      ...part.paths.map((d) => ({ d, class: `body ${part.kind}`, title: part.name })),
    ]),
  ];
}

// Draws lines in a group. What is the same thing as before only gets its new path.
function put(group, lines) {
  const before = group.lines ?? [];
  group.lines = lines.map((line, k) => {
    const old = before[k];
    if (old && old.class === line.class && old.title === line.title) {
      if (old.d !== line.d) old.node.setAttribute("d", line.d);
      return { ...line, node: old.node };
    }
    const title = line.title === undefined ? null : make("svg:title", {}, line.title);
    const node = make("svg:path", { d: line.d, class: line.class }, title);
    if (old) old.node.replaceWith(node);
    else group.append(node);
    return { ...line, node };
  });
  before.slice(lines.length).forEach((old) => old.node.remove());
}

// A small picture without handles, for lists.
export function small(scene) {
  const [x0, y0, x1, y1] = scene.box;
  const svg = make("svg:svg", { class: "scene small", viewBox: `${x0} ${-y1} ${x1 - x0} ${y1 - y0}`, "aria-hidden": "true" });
  const drawn = make("svg:g", { transform: "scale(1 -1)" });
  put(drawn, front(scene));
  svg.append(drawn);
  return svg;
}

// The signs, each beside its meaning.
export function legend() {
  const row = (drawing, words) =>
    make("p", {}, make("svg:svg", { viewBox: "-2 -2 4 4", class: "sign", "aria-hidden": "true" }, drawing), words);
  const mark = (level) => make("svg:g", { class: `mark ${level}` }, sign(level));
  const grip = (kind) => make("svg:g", { class: `knob ${kind}` }, knob(kind, 1));
  return [
    row(mark("stop"), "a stop: the plate must not be cut so"),
    row(mark("warn"), "a warning: read it before you cut"),
    row(mark("note"), "a note"),
    row(grip("place"), "drag it: moves a part (round the belt, where the belt places it)"),
    row(grip("turn"), "drag it: turns the part"),
    row(grip("body"), "drag it: moves a body or an opening of your own"),
    row(grip("span"), "drag it: moves a pulley, and with it the belt, along its shaft"),
    row(grip("standoff"), "drag it: stands the part off the plate"),
    row(grip("end"), "drag it: where a body begins or ends"),
    row(grip("corner"), "drag it: a corner of the outline"),
    make("p", {}, "Solid lines are on the near side, dashed ones on the far side; a guard is dashed and dotted. A thin dotted line is what travel covers."),
  ];
}
