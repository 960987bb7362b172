// A scan or photo of the old face: what is seen in it, what is clicked in it, and what of it is kept.

import { free, later } from "./steady.js";
import { MOST_PICTURE, ask, make, send } from "./talk.js";

const LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ";
const FIND = {
  pattern: "by the sketch or the readings",
  clicks: "only where I click",
  blind: "all over",
};
const FRAMES = { a4: "A4", letter: "Letter", a3: "A3" };
const BY = { pattern: "pattern", nominal: "pattern", click: "click", blind: "all over" };
const BARS = ["bottom", "top", "left", "right", "rising", "falling"]; // as they are named on the paper
const MISFIT = 50; // how much longer misfits of the crossings are drawn than they are

export function seenPart(it) {
  const { mine, told, page, mount } = it;
  const seen = (mine.seen ??= { status: make("p", { class: "about", role: "status", "aria-live": "polite" }), clicks: {}, without: [], sizes: {}, left: [], how: {}, picked: "", told: null });
  // what the picture shows is of the spec as it was: asked again when that has changed
  if (seen.told && seen.told.state !== page.state && !seen.busy) queueMicrotask(() => look(it, false));
  const part = make("details", { class: "seen", open: mine.seeing }, make("summary", {}, make("b", {}, "A picture of the face: all its holes at once")));
  part.addEventListener("toggle", () => (mine.seeing = part.open));
  part.append(framePage(it));
  if (told.no_pictures) part.append(make("p", { class: "open", "data-without": mount }, `${capital(told.no_pictures)}. All else on this page goes without it.`));
  else part.append(choosing(it, part), seen.status);
  if (seen.told) part.append(...shown(it));
  return part;
}

function capital(words) {
  return words[0].toUpperCase() + words.slice(1);
}

// Draws the part anew where it stands.
function renew(it) {
  const asked = document.querySelector("[data-size]")?.getBoundingClientRect().top;
  it.mine.renew();
  // the next question comes where the last one was, under the pointer
  const asks = document.querySelector("[data-size]")?.getBoundingClientRect().top;
  if (asked !== undefined && asks !== undefined) window.scrollBy(0, asks - asked);
}

function say(it, words) {
  const { status } = it.mine.seen;
  later(`said ${it.mount}`, () => (status.textContent = words));
}

// The same after an answer: when nobody is in the middle of something on this face; `then` comes after it.
function renewLater(it, then = () => undefined) {
  const face = () => document.querySelector(`[data-face="${CSS.escape(it.mount)}"]`);
  const draw = () => {
    renew(it);
    then();
  };
  later(`seen ${it.mount}`, draw, () => !face() || free(face()));
}

// ------------------------------------------------------------------------------------------ frame and picture

function framePage(it) {
  const { told, page, ways, mine } = it;
  const seen = mine.seen;
  const size = choice("size of the paper", "frame-size", FRAMES, seen.size ?? "a4", (value) => (seen.size = value));
  const shows = choice("what the picture will show", "frame-shows", { face: "shows the face", back: "shows the back", "": "not said" }, seen.shows ?? told.looking_at ?? "", (value) => (seen.shows = value));
  const printer = make("input", { type: "text", size: 16, "aria-label": "name of the printer that it is corrected for", placeholder: "printer, if stored", value: seen.printer ?? "", "data-seen": "frame-printer" });
  printer.addEventListener("change", () => (seen.printer = printer.value.trim()));
  const write = make("button", { type: "button", "data-seen": "frame", onclick: () => ways.run("frame", { size: size.value, looking_at: shows.value, printer: printer.value }, write).then((good) => good && say(it, "The frame page is written: print it at 100 %.")) }, "Write the frame page");
  const files = (page.answer?.files ?? []).filter((one) => /^frame-.*[.]pdf$/.test(one.name));
  const links = files.map((one) => make("a", { href: `/file/${page.ticket}/${encodeURIComponent(one.name)}`, target: "_blank", rel: "noopener noreferrer" }, one.name));
  const told_ = "Print the frame at 100 %, lay it round the part in one plane with the holes' edges, and scan it or photograph it from straight above, all four corners in. Two or three distances by caliper set its scale and show a slip.";
  return make("div", {}, make("p", { class: "about" }, told_), make("div", { class: "line" }, size, shows, printer, write, ...links));
}

function choice(label, name, words, value, changed) {
  const pick = make("select", { "aria-label": label, "data-seen": name }, ...Object.entries(words).map(([key, said]) => make("option", { value: key }, said)));
  pick.value = value;
  pick.addEventListener("change", () => changed(pick.value));
  return pick;
}

function choosing(it, part) {
  const file = make("input", { type: "file", accept: "image/jpeg,image/png,image/tiff,image/bmp,image/webp", "data-seen": "file" });
  file.addEventListener("change", () => file.files.length && take(it, file.files[0]));
  part.addEventListener("dragover", (event) => {
    event.preventDefault();
    part.classList.add("dropping");
  });
  part.addEventListener("dragleave", () => part.classList.remove("dropping"));
  part.addEventListener("drop", (event) => {
    event.preventDefault();
    part.classList.remove("dropping");
    if (event.dataTransfer.files.length) take(it, event.dataTransfer.files[0]);
  });
  return make("div", { class: "line" }, make("label", {}, make("span", {}, "Scan or photo, or drop it here:\u00a0"), file), make("span", { class: "about" }, "It is only read, and kept nowhere."));
}

async function take(it, file) {
  const { mine, ways, told } = it;
  const seen = mine.seen;
  if (file.size > MOST_PICTURE) return ways.fail(`${file.name}: found a file of ${Math.round(file.size / 1e6)} MB; the page takes up to ${MOST_PICTURE / 1e6} MB, \`platekit read\` larger ones`);
  seen.busy = true;
  ways.fail("");
  say(it, `${file.name}: being read ...`);
  try {
    const answer = await send(file);
    Object.assign(seen, { picture: answer.picture, name: answer.name, pixels: answer.pixels, clicks: {}, without: [], sizes: {}, left: [], picked: "", told: null, put: "", outline: null, aim: false, asks: null, drawn: null, find: begun(told) ? "pattern" : "blind" });
  } catch (error) {
    seen.busy = false;
    say(it, "No picture was taken.");
    return ways.fail(error.message);
  }
  return look(it, true);
}

function wanted(it) {
  const { mount, mine } = it;
  const { picture, find, clicks, without, outline, how } = mine.seen;
  return { mount, picture, find, clicks, without, outline, ...how };
}

// Asks what the picture shows, with all that was clicked and said; `whole` brings the flat picture, too.
async function look(it, whole) {
  const { mine, ways, page } = it;
  const seen = mine.seen;
  let good = false;
  seen.busy = true;
  say(it, `${seen.name}: looking for the frame and the holes${seen.outline ? ", following the outline" : ""} ...`);
  try {
    const answer = await ask("see", { ...wanted(it), whole });
    seen.told = answer;
    if (answer.flat.jpeg) seen.jpeg = answer.flat.jpeg;
    const lost = answer.not_holes.length ? `, ${answer.not_holes.length} refused` : "";
    const loose = answer.holes.filter((one) => !one.named).length;
    const round = answer.outline ? ` Outline ${over(it, answer.outline)}.` : "";
    good = true;
    say(it, `${seen.name}: ${named(seen).length} holes with a name${loose ? `, ${loose} without` : ""}${lost}; crossings off by ${answer.frame.rms_mm.toFixed(3)} mm (rms).${round}`);
  } catch (error) {
    say(it, `${seen.name}: ${error.message}`);
    ways.fail(error.message);
    if (whole) Object.assign(seen, { told: null, outline: null });
    else if (seen.told) seen.told.state = page.state;
  } finally {
    seen.busy = false;
  }
  renewLater(it);
  return good;
}

function named(seen) {
  return seen.told.holes.filter((one) => one.named);
}

// ------------------------------------------------------------------------------------------ what is seen

function shown(it) {
  const { mine } = it;
  const seen = mine.seen;
  const finding = make("div", { class: "line" }, make("span", { class: "what" }, "Holes are looked for:"), ...Object.entries(FIND).filter(([key]) => key !== "pattern" || it.told.names.length).map(([key, words]) => make("button", { type: "button", class: "mode", "aria-pressed": String(seen.find === key), "data-seen": `find ${key}`, onclick: () => ((seen.find = key), look(it, false)) }, words)));
  return [bars(it), finding, clicking(it), aiming(it), overlay(it), pickedHole(it), byNumbers(it), table(it), outlined(it), howTaken(it), size(it), notes(it), putting(it)].filter(Boolean);
}

// Whether a hole that takes a screw is on the sketch: the shaft alone, as the questions put it there, lays no pattern.
function begun(told) {
  return told.items.some((one) => one.kind !== "shaft" && one.kind !== "bore");
}

function open(it) {
  const has = new Set(named(it.mine.seen).map((one) => one.name));
  return it.told.names.filter((name) => !has.has(name));
}

// Letters that no hole has yet.
function letters(it) {
  const { mine, told } = it;
  const has = new Set([...named(mine.seen).map((one) => one.name), ...told.names, ...Object.keys(mine.seen.clicks)]);
  return [...LETTERS].filter((one) => !has.has(one));
}

// The name that the next click gives: the first of the sketch that is not seen, then new letters.
function nextName(it) {
  const names = [...open(it), ...letters(it).slice(0, 1)];
  return names.includes(it.mine.seen.next) ? it.mine.seen.next : (names[0] ?? "");
}

// All at once that are seen and have no name, in the order in which they lie; not while the sketch wants some of them.
function takeAll(it) {
  const seen = it.mine.seen;
  const loose = seen.told.holes.filter((one) => !one.named);
  const free = letters(it).slice(0, loose.length);
  if (!loose.length || free.length < loose.length || (open(it).length && begun(it.told))) return null;
  const words = loose.length === 1 ? `Take the other one, as ${free[0]}` : `Take the other ${loose.length}, as ${free[0]} to ${free[free.length - 1]}`;
  return make("button", { type: "button", "data-seen": "take all", onclick: () => {
    for (const [k, one] of loose.entries()) seen.clicks[free[k]] = [...one.at, one.diameter_mm];
    seen.picked = "";
    look(it, false);
  } }, words);
}

function clicking(it) {
  const { told, mine } = it;
  const seen = mine.seen;
  if (seen.aim) return make("p", { class: "about" }, "Click on the casting, or on its edge: the closed edge round that place is followed, holes within it left out.");
  const wanted = open(it);
  if (!told.names.length) return make("p", { class: "about" }, `Click a hole that was missed: it will be ${nextName(it)}. Click one that was found to name it otherwise or to leave it out.`);
  if (!wanted.length) return make("div", {}, make("p", { class: "about" }, `All holes of the sketch are seen. Click one to name it otherwise or to leave it out; another one that you click will be ${nextName(it)}.`), takeAll(it));
  const names = [...wanted, ...letters(it).slice(0, 1)];
  const pick = choice("the hole that is clicked next", "next", Object.fromEntries(names.map((name) => [name, wanted.includes(name) ? name : `${name}, a new one`])), nextName(it), (value) => (seen.next = value));
  return make("div", {}, make("div", { class: "line" }, make("span", {}, "Not seen yet; click it in the picture:"), pick), takeAll(it));
}

function clicked(it, at, wide) {
  const { mine, ways } = it;
  const seen = mine.seen;
  const name = nextName(it);
  if (!name) return ways.fail("no letter is left for another hole; put it on the sketch under a name of your own");
  return call(it, name, at, wide);
}

// Says that a hole is there: whatever had that name has it no longer.
function call(it, name, at, wide) {
  const seen = it.mine.seen;
  seen.clicks[name] = wide ? [...at, wide] : at;
  seen.without = seen.without.filter((one) => one !== name);
  seen.picked = name;
  return look(it, false);
}

function overlay(it) {
  const { mine, page } = it;
  const seen = mine.seen;
  const { bars, flat, holes, not_holes: refused, crossings, frame } = seen.told;
  const [wide, high] = bars;
  const svg = make("svg:svg", { class: "scene seeing", viewBox: `-4 -4 ${wide + 8} ${high + 8}`, role: "group", "aria-label": `${seen.name} straightened, in mm of the frame: x to the right, y up from the lower left end of its bars` });
  const [x0, y0, x1, y1] = flat.box;
  svg.append(make("svg:image", { x: x0, y: high - y1, width: x1 - x0, height: y1 - y0, preserveAspectRatio: "none", href: `data:image/jpeg;base64,${seen.jpeg}` }));
  for (const [x, y, dx, dy] of crossings) svg.append(make("svg:path", { d: `M${x} ${high - y}l${MISFIT * dx} ${MISFIT * dy}`, class: "off" }));
  if (seen.told.outline) svg.append(followed(it, seen.told.outline, high));
  for (const one of holes) svg.append(hole(it, one, high));
  for (const one of holes) {
    const side = one.at[0] > 0.7 * wide ? -1 : 1;
    const [x, y] = [one.at[0] + side * (one.diameter_mm / 2 + 1.5), high - one.at[1]];
    svg.append(make("svg:text", { x, y, dy: "0.35em", "text-anchor": side < 0 ? "end" : "start" }, one.named ? one.name : "?"));
  }
  for (const one of refused) {
    const [x, y] = [one.at_mm[0], high - one.at_mm[1]];
    svg.append(make("svg:path", { d: cross(x, y, 4), class: "under" }), make("svg:path", { d: cross(x, y, 4), class: "not" }));
    svg.append(make("svg:text", { x: x + 5, y, dy: "0.35em" }, one.name));
  }
  svg.addEventListener("click", (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const at = [Math.round(100 * point.x) / 100, Math.round(100 * (high - point.y)) / 100];
    if (seen.aim) return follow(it, at);
    const own = event.target.closest("[data-seen-hole]")?.dataset.seenHole;
    const near = holes.find((one) => one.name === own);
    // beside a hole that is seen may lie one that was missed
    const on = near && Math.hypot(near.at[0] - at[0], near.at[1] - at[1]) < near.diameter_mm / 2 + 2;
    return near && (on || !nextName(it)) ? pick(it, near.name) : clicked(it, at);
  });
  // however wide the picture is shown, a target is 44 px and letters can be read
  new ResizeObserver(() => {
    const scale = svg.getScreenCTM()?.a;
    if (!scale) return;
    for (const one of svg.querySelectorAll(".target")) one.setAttribute("r", Math.max(Number(one.dataset.own), 22.5 / scale));
    for (const one of svg.querySelectorAll("text")) one.setAttribute("font-size", 14 / scale);
  }).observe(svg);
  const tilt = frame.read_as === "photo" ? `, about ${frame.tilt_deg} degrees from square` : "";
  const words = `Frame ${FRAMES[frame.size]}, read as a ${frame.read_as}${tilt}: ${frame.codes} of 4 codes, ${frame.crossings} of ${frame.of} crossings, off by ${frame.rms_mm.toFixed(3)} mm (rms). A pixel is ${frame.pixel_mm.toFixed(2)} mm, edges are ${frame.softness_px.toFixed(1)} pixels soft.`;
  const key = make("span", { class: "key" }, ...[["#4dff88", "fitted"], ["#ff5cff", "edge seen"], ["#9fd4ff", "without a name"], ["#ff9d2e", `how far crossings are off, ${MISFIT} times`], ["#ff6f61", "refused"]].flatMap(([colour, said]) => [swatch(colour), said]));
  return make("figure", {}, svg, make("figcaption", {}, words, key));
}

function swatch(colour) {
  const one = make("i", {});
  one.style.background = colour;
  return one;
}

function cross(x, y, r) {
  return `M${x - r} ${y - r}l${2 * r} ${2 * r}M${x - r} ${y + r}l${2 * r} ${-2 * r}`;
}

function hole(it, one, high) {
  const seen = it.mine.seen;
  const [x, y] = [one.at[0], high - one.at[1]];
  const r = one.diameter_mm / 2;
  const said = one.named ? `hole ${one.name}` : "a hole without a name";
  const group = make(
    "svg:g",
    { class: `hole${one.named ? "" : " loose"}${seen.picked === one.name ? " chosen" : ""}`, tabindex: 0, role: "button", "data-seen-hole": one.name, "data-seen": `hole ${one.name}`, "aria-label": `${said}, ${one.diameter_mm.toFixed(1)} mm wide at ${one.at[0].toFixed(0)}, ${one.at[1].toFixed(0)}; Enter ${one.named || !nextName(it) ? "picks it" : `says that it is ${nextName(it)}`}` },
    make("svg:circle", { cx: x, cy: y, r, "data-own": r, class: "target" }),
    make("svg:circle", { cx: x, cy: y, r, class: "under" }),
    make("svg:circle", { cx: x, cy: y, r, class: "fitted" }),
    make("svg:path", { d: one.edges.map(([ex, ey]) => `M${ex} ${(high - ey).toFixed(2)}h0.01`).join(""), class: "edges" }),
    make("svg:path", { d: `M${x - 2} ${y}h4M${x} ${y - 2}v4`, class: "fitted" }),
  );
  group.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    pick(it, one.name);
  });
  return group;
}

function pick(it, name) {
  const one = it.mine.seen.told.holes.find((other) => other.name === name);
  // one that has no name is what was asked for
  if (!one.named && nextName(it)) return call(it, nextName(it), one.at, one.diameter_mm);
  it.mine.seen.picked = name;
  it.mine.renew();
  return document.querySelector(`[data-seen-hole="${CSS.escape(name)}"]`)?.focus({ preventScroll: true });
}

// The hole that is picked: another name for it, or none.
function pickedHole(it) {
  const { told, mine, ways } = it;
  const seen = mine.seen;
  const one = seen.told.holes.find((other) => other.name === seen.picked);
  if (!one) return null;
  const rename = (to) => {
    if (!to || (one.named && to === one.name)) return;
    if (one.named) {
      delete seen.clicks[one.name];
      delete seen.sizes[one.name];
      // on a new face nothing but the click has the old name; of a pattern it is looked for again
      if (!told.names.length) seen.without.push(one.name);
    }
    call(it, to, one.at, one.diameter_mm);
  };
  const name = told.names.length
    ? choice("its name", "name", { ...(one.named ? {} : { "": "none" }), ...Object.fromEntries([...new Set([...told.names, ...(one.named ? [one.name] : []), ...letters(it).slice(0, 1)])].map((word) => [word, word])) }, one.named ? one.name : "", rename)
    : make("input", { type: "text", size: 8, value: one.name, "aria-label": "its name", "data-seen": "name" });
  if (!told.names.length) name.addEventListener("change", () => (seen.told.holes.some((other) => other.named && other.name === name.value.trim()) ? ways.fail(`there is a ${name.value.trim()} already; give it another name`, name) : rename(name.value.trim())));
  const out = make("button", { type: "button", class: "quiet", "data-seen": "leave out", onclick: () => {
    const own = one.name in seen.clicks && told.names.length && !told.names.includes(one.name);
    delete seen.clicks[one.name];
    // a letter that only a click gave is gone with the click
    if (!own) seen.without.push(one.name);
    seen.picked = "";
    look(it, false);
  } }, "Leave it out");
  return make("div", { class: "line", "data-picked-hole": one.name }, make("b", {}, `${one.diameter_mm.toFixed(1)} mm wide`), make("label", {}, make("span", { class: "about" }, "called\u00a0"), name), one.named ? out : null);
}

// The same by numbers, for whoever has no pointer.
function byNumbers(it) {
  const name = nextName(it);
  return name ? placeForm(it, "number", "or by numbers", "the hole", make("button", { type: "submit", "data-seen": "numbers" }, `${name} is there`), (at) => clicked(it, at)) : null;
}

function placeForm({ ways }, kind, lead, of, button, then) {
  const boxes = ["x", "y"].map((axis) => make("input", { type: "text", size: 6, inputmode: "decimal", placeholder: axis, "aria-label": `${axis} of ${of} in the picture, mm`, "data-seen": `${kind} ${axis}` }));
  const form = make("form", { class: "line" }, make("span", { class: "about" }, `${lead} (mm off the lower left end of the bars)`), ...boxes, button);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const at = boxes.map((one) => (one.value.trim() ? Number(one.value.trim().replace(",", ".")) : NaN));
    const bad = at.findIndex(Number.isNaN);
    if (bad >= 0) ways.fail("found no number; type mm off the lower left end of the bars, such as 52", boxes[bad]);
    else then(at);
  });
  return form;
}

// ------------------------------------------------------------------------------------------ the casting's outline

function aiming(it) {
  const { mine } = it;
  const seen = mine.seen;
  return make("div", { class: "line" }, make("span", { class: "what" }, "The casting's outline:"), make("button", { type: "button", class: "mode", "aria-pressed": String(seen.aim), "data-seen": "aim", onclick: () => ((seen.aim = !seen.aim), renew(it)) }, "Follow the edge round the next click"));
}

// One that cannot be followed leaves the one before, and waits for another click.
async function follow(it, at) {
  const seen = it.mine.seen;
  const [before, aimed] = [seen.outline, seen.aim];
  it.ways.fail("");
  Object.assign(seen, { outline: at, aim: false, asks: null });
  if (await look(it, false)) return;
  Object.assign(seen, { outline: before, aim: aimed });
  renewLater(it);
}

function over({ show, unit, per }, { over_all_mm: sides, area_mm2: area }) {
  return `${sides.map((mm) => show(mm)).join(" x ")} ${unit} over all, area ${(area / per ** 2).toFixed(unit === "in" ? 2 : 0)} ${unit}\u00b2`;
}

function followed(it, one, high) {
  const places = (list) => list.map(([x, y]) => `${x} ${(high - y).toFixed(3)}`);
  const round = (list) => `M${places(list).join("L")}Z`;
  const line = round(one.corners);
  return make("svg:g", { class: "outline", role: "img", "aria-label": `the outline followed, ${over(it, one)}` }, make("svg:path", { d: line, class: "under" }), make("svg:path", { d: line, class: "fitted" }), make("svg:path", { d: round(one.edge), class: "edges" }), make("svg:path", { d: places(one.corners).map((at) => `M${at}h0.01`).join(""), class: "corners" }));
}

function outlined(it) {
  const { mine, page } = it;
  const seen = mine.seen;
  const one = seen.told.outline;
  const part = make("div", { class: "outlined", role: "group", "aria-label": "the casting's outline" }, make("b", {}, "The casting's outline"));
  part.append(placeForm(it, "outline", "A place on it by numbers", "a place on the casting", make("button", { type: "submit", "data-seen": "follow" }, "Follow the edge round here"), (at) => follow(it, at)));
  if (!one) return part;
  const lies = one.in_frame_of === "pattern" ? "It lies in the pattern's own frame, and has the caliper's scale." : "It lies on the paper, and has the paper's scale.";
  const words = `Followed round ${one.at.map((mm) => Number(mm.toFixed(1))).join(", ")}: ${over(it, one)}, ${one.corners.length} corners; ${Math.round(100 * one.agreeing)} % of the rays agree, the edge is ${one.softness_px.toFixed(1)} pixels soft. ${lies} Look whether the green line is the right edge.`;
  const write = make("button", { type: "button", "data-seen": "write outline", onclick: () => writeOutline(it, write, null) }, "Write it as a drawing (DXF)");
  const leave = make("button", { type: "button", class: "quiet", "data-seen": "leave outline", onclick: () => {
    seen.outline = seen.asks = null;
    look(it, false);
  } }, "Leave the outline");
  part.append(make("p", { "data-outline": one.in_frame_of }, words), make("div", { class: "line" }, write, leave));
  const key = JSON.stringify(one.points_mm);
  if (seen.asks?.key === key) {
    const go = make("button", { type: "button", "data-seen": "write over", onclick: () => writeOutline(it, go, seen.asks.over) }, "Write over it");
    const keep = make("button", { type: "button", class: "quiet", "data-seen": "keep file", onclick: () => ((seen.asks = null), renew(it)) }, "Keep the one that is there");
    part.append(make("div", { class: "next", role: "group", "aria-label": seen.asks.asks }, make("p", {}, `${seen.asks.asks}.`), make("div", { class: "line" }, go, keep)));
  }
  if (seen.drawn?.key === key) {
    const link = make("a", { href: `/file/${page.ticket}/${encodeURIComponent(seen.drawn.name)}`, target: "_blank", rel: "noopener noreferrer" }, seen.drawn.name);
    part.append(make("p", { "data-outline-written": seen.drawn.name }, "Written: ", link, ". It may be used ", make("code", {}, seen.drawn.use), "."));
    if (page.answer?.text?.includes(seen.drawn.file)) part.append(make("p", { class: "about" }, "The spec uses it."));
    else if (one.in_frame_of === "pattern") part.append(asBody(it));
  }
  return part;
}

async function writeOutline(it, button, may) {
  const { mine, ways, page } = it;
  const seen = mine.seen;
  const key = JSON.stringify(seen.told.outline.points_mm);
  if (!(await ways.run("outline", { ...wanted(it), over: may }, button))) return;
  const done = { key, ...page.answer.outline };
  seen.asks = done.asks ? done : null;
  if (!done.asks) seen.drawn = done;
  say(it, done.asks ? `${done.asks}; nothing was written.` : `${done.name} is written.`);
  renewLater(it, () => {
    const active = document.activeElement;
    if (done.asks && (active === document.body || active.closest(".outlined"))) document.querySelector('[data-seen="write over"]')?.focus();
  });
}

// The casting as space that it takes up, shown line by line before it is in the spec.
function asBody(it) {
  const { mount, mine, ways, page, unit } = it;
  const said = (mine.seen.body ??= { name: "casting", low: "0", high: "" });
  const box = (key, label, size) => {
    const one = make("input", { type: "text", size, value: said[key], autocomplete: "off", "aria-label": label, "data-seen": `body ${key}` });
    one.addEventListener("change", () => (said[key] = one.value.trim()));
    return one;
  };
  const [name, low, high] = [box("name", "name of the body", 10), box("low", `from, off the mating face, ${unit}`, 6), box("high", `to, off the mating face, ${unit}`, 6)];
  const submit = make("button", { type: "submit", "data-seen": "body" }, "Show what that changes");
  const form = make("form", { class: "line" }, make("label", {}, "As a body called\u00a0", name), make("label", {}, "from\u00a0", low), make("label", {}, "to\u00a0", high), make("span", {}, `${unit} off the mating face, into the part's own side`), submit);
  const place = make("div", {}, form);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    ways.fail("");
    try {
      const answer = await ask("outline body", { mount, name: name.value.trim(), low: low.value, high: high.value });
      await ways.preview(answer, place, submit);
    } catch (error) {
      ways.fail(error.message, [low, high].find((one) => !one.value.trim()) ?? name);
    }
  });
  return place;
}

// ------------------------------------------------------------------------------------------ the holes as a table

function table(it) {
  const { mine, show, unit } = it;
  const { holes, not_holes: refused, places } = mine.seen.told;
  const rows = holes.filter((one) => one.named).map((one) =>
    make("tr", {}, make("td", {}, one.name), ...places[one.name].map((mm) => make("td", { class: "number" }, show(mm))), make("td", { class: "number" }, show(one.diameter_mm)), make("td", { class: "number" }, `\u00b1${(one.off_mm / it.per).toFixed(unit === "in" ? 4 : 3)}`), make("td", { class: "number" }, `${Math.round(100 * one.agreeing)} %`), make("td", {}, BY[one.by])),
  );
  const heads = ["hole", `across (${unit})`, `up (${unit})`, `looks wide (${unit})`, `edge off its circle (${unit})`, "rays that agree", "found by"].map((word) => make("th", { scope: "col" }, word));
  const not = refused.map((one) => make("li", {}, `Refused: ${one.name} at ${one.at_mm[0].toFixed(0)}, ${one.at_mm[1].toFixed(0)}: ${one.why}`));
  return make("div", {}, rows.length ? make("table", { class: "seen-holes" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows)) : null, not.length ? make("ul", { class: "slip" }, ...not) : null);
}

// What the printer made of the frame. A stretch one way and not the other shows in no picture: only a rule tells.
function bars(it) {
  const { mine, unit, per } = it;
  const seen = mine.seen;
  const typed = (seen.bars ??= {});
  const [across, along] = seen.told.bars;
  const whole = { bottom: across, top: across, left: along, right: along, rising: Math.hypot(across, along), falling: Math.hypot(across, along) };
  const boxes = BARS.map((name) => make("input", { type: "text", size: 8, inputmode: "decimal", autocomplete: "off", value: typed[name] ?? "", placeholder: it.show(whole[name], unit === "in" ? 3 : 1), "aria-label": `${name} of the frame, ${unit}`, "data-seen": `bar ${name}` }));
  const form = make("form", { class: "line" }, ...BARS.map((name, k) => make("label", {}, make("span", { class: "about" }, `${name} `), boxes[k])), make("span", {}, unit), make("button", { type: "submit", "data-seen": "bars in" }, "Take them"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    for (const [k, name] of BARS.entries()) typed[name] = boxes[k].value.trim();
    const open = BARS.findIndex((name) => !typed[name]);
    const some = BARS.some((name) => typed[name]);
    if (some && open >= 0) return it.ways.fail(`measure the ${BARS[open]} ${open < 4 ? "bar" : "diagonal"} of the frame, too`, boxes[open]);
    seen.how.measured = some ? BARS.map((name) => `${name}=${typed[name].replace(/^(\d+),(\d+)$/, "$1.$2")}`).join(", ") : "";
    return look(it, true);
  });
  const words = seen.how.measured ? "The picture is read by the frame as it was measured:" : "Measure the printed frame's four bars and two diagonals with a steel rule: a printer that stretches one way puts half a millimetre into 100 mm, and nothing in the picture shows it.";
  return make("div", { role: "group", "aria-label": "the frame as printed" }, make("p", { class: seen.how.measured ? "about" : "open" }, words), form);
}

function howTaken(it) {
  const { mine, told } = it;
  const seen = mine.seen;
  const set = (key) => (value) => {
    seen.how[key] = value;
    look(it, key === "kind");
  };
  const typed = (key, label, words, about) => {
    const box = make("input", { type: "text", size: about, value: seen.how[key] ?? "", placeholder: words, "aria-label": label, "data-seen": key, autocomplete: "off" });
    box.addEventListener("change", () => set(key)(box.value.trim()));
    return box;
  };
  const line = make(
    "div",
    { class: "line" },
    choice("how it was taken", "kind", { "": "scan or photo: found out", photo: "a photo", scan: "a scan" }, seen.how.kind ?? "", set("kind")),
    choice("what it shows", "looking_at", { "": "shows what the frame says", face: "shows the face", back: "shows the back" }, seen.how.looking_at ?? "", set("looking_at")),
    typed("sigma", "usual error of a place off this picture", "sigma: 0.1 mm", 12),
  );
  const part = make("details", { open: seen.howOpen }, make("summary", {}, "How it was taken"), line);
  part.addEventListener("toggle", () => (seen.howOpen = part.open));
  return told.no_pictures ? null : part;
}

// A diameter is asked of its user one hole after the other; what a picture shows is a proposal and no more.
function size(it) {
  const { mine, show, unit } = it;
  const seen = mine.seen;
  const open = seen.told.sizes.filter((one) => !(one.name in seen.sizes) && !seen.left.includes(one.name));
  const known = seen.told.sizes.filter((one) => one.name in seen.sizes);
  const said = known.length ? make("p", { class: "about" }, `Diameters that go in: ${known.map((one) => `${one.name} ${seen.sizes[one.name]}`).join(", ")}. `, make("button", { type: "button", class: "quiet", "data-seen": "ask again", onclick: () => ((seen.sizes = {}), (seen.left = []), renew(it)) }, "Ask again")) : null;
  if (!open.length) return said;
  const [one] = open;
  const is = (typed) => {
    seen.sizes[one.name] = typed;
    renew(it);
    document.querySelector("[data-size]")?.querySelector("button, input")?.focus();
  };
  const own = make("input", { type: "text", size: 8, inputmode: "decimal", autocomplete: "off", "aria-label": `diameter of ${one.name} by caliper, ${unit}`, placeholder: "by caliper", "data-seen": "size" });
  // most faces have one size of hole: those that may be of one drill are said together
  const all = one.drills.flatMap((drill) => {
    const alike = open.filter((other) => other.drills.includes(drill));
    return alike.length < 2 ? [] : [make("button", { type: "button", "data-all": drill, "data-seen": `all ${drill}`, onclick: () => {
      for (const other of alike) seen.sizes[other.name] = drill;
      renew(it);
    } }, alike.length === 2 ? `${alike.map((other) => other.name).join(" and ")} are both ${drill}` : `${alike.map((other) => other.name).join(", ")} are all ${drill}`)];
  });
  const form = make("form", { class: "line" }, ...all, ...one.drills.map((drill, k) => make("button", { type: "button", "data-drill": drill, "data-seen": `drill ${k}`, onclick: () => is(drill) }, `It is ${drill}`)), own, make("span", {}, unit), make("button", { type: "submit", "data-seen": "size in" }, "Take that"), make("button", { type: "button", class: "quiet", "data-seen": "size open", onclick: () => {
    seen.left.push(one.name);
    renew(it);
  } }, "Leave it open"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (own.value.trim()) is(own.value.trim());
  });
  const words = `Diameter of ${one.name}? It looks ${show(one.seen_mm)} ${unit} wide, which is a proposal: a picture is off by up to some tenths of a mm, and jaws go by the real edge.${open.length > 1 ? ` (${open.length} to ask)` : ""}`;
  return make("div", { class: "next", role: "group", "aria-label": `diameter of ${one.name}`, "data-size": one.name }, make("p", {}, words), form, said);
}

function notes(it) {
  const { notes: told, survey, slip } = it.mine.seen.told;
  const part = make("div", {});
  // what is said of diameters is asked above
  const rows = told.filter((one) => !one.startsWith("diameter of "));
  part.append(make("ul", { class: "about" }, ...rows.map((one) => make("li", {}, capital(one)))));
  if (slip) part.append(make("p", { class: "slip" }, make("b", {}, "Slip? "), slip));
  if (survey) part.append(make("details", {}, make("summary", {}, "What the survey makes of it, with the picture in"), make("pre", {}, survey)));
  return part;
}

function putting(it) {
  const { mine, ways } = it;
  const seen = mine.seen;
  const count = named(seen).length;
  const button = make("button", { type: "button", "data-seen": "put", onclick: async () => {
    const sizes = Object.fromEntries(Object.entries(seen.sizes).filter(([name]) => named(seen).some((one) => one.name === name)));
    const good = await ways.run("put places", { ...wanted(it), sizes }, button);
    if (!good) return;
    seen.put = `${2 * count} readings of ${count} holes are in the spec; Undo takes them out again. Go on with the reading that is asked for above.`;
    say(it, seen.put);
    renew(it);
  } }, `Put ${count} places into the spec`);
  button.disabled = !count;
  return make("div", {}, make("p", { class: "about" }, "Two readings a hole, across and up, with the picture's own sigma, in place of those of an earlier picture. What was seen is drawn beside the papers."), make("div", { class: "line" }, button), seen.put ? make("p", { role: "status" }, seen.put) : null);
}
