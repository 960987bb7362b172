// Readings of an old face, one number at a time, with what they come to.

import { make } from "./talk.js";

const KINDS = {
  inside: "jaws inside: the gap between the near edges of two holes, or of a bore and a hole",
  over: "jaws outside: over the far edges of two holes or pins",
  centres: "centre to centre",
  x: "across: how far to the right of the zero",
  y: "up: how far above the zero",
};

export function survey(mount, told, page, ways) {
  const unit = page.unit;
  const per = unit === "in" ? 25.4 : 1;
  const show = (mm, digits) => (mm / per).toFixed(digits ?? (unit === "in" ? 4 : 2)).replace(/^-(0[.]?0*)$/, "$1");
  const place = make("section", { class: "part survey" }, make("h2", {}, `Readings on ${mount}`));
  place.append(sketch(told, per), state(told, show, unit));
  place.append(table(mount, told, show, unit, page, ways));
  place.append(next(mount, told, show, unit, page, ways));
  return place;
}

function state(told, show, unit) {
  if (told.why_unusable) return make("p", { class: "slip" }, told.why_unusable);
  const said = [];
  if (told.suspect) said.push(make("p", { class: "slip" }, words(told.suspect, show, unit)));
  if (told.floating.length) said.push(make("p", { class: "open" }, `Not placed yet: ${told.floating.join(", ")}.`));
  if (told.redundancy !== null && !told.floating.length && !told.suspect) {
    const worst = Math.max(...Object.values(told.holes).map((hole) => hole.sigma_mm ?? 0));
    said.push(make("p", {}, `All holes are placed; the worst to ${show(worst, unit === "in" ? 4 : 2)} ${unit} (one standard deviation: two times out of three it is nearer).`));
  }
  return make("div", {}, ...said);
}

function words(suspect, show, unit) {
  const which = suspect.reading.features.join(" to ");
  const could = suspect.likely_mm ?? suspect.predicted_mm;
  const said = could === null ? "" : `; it could have been ${show(could)} ${unit}`;
  const sure = suspect.sure ? "does not go with the others" : "may be the one that does not go with the others";
  return `${which}, ${suspect.reading.kind}: ${show(suspect.reading.value_mm)} ${unit} ${sure}${said}. Take it again.`;
}

// A row a reading, its number in a box: a slip is put right where it stands, and a new job's figures one after the other.
function table(mount, told, show, unit, page, ways) {
  if (!told.readings.length) return make("p", {}, "No readings yet.");
  const bad = told.suspect ? JSON.stringify(told.suspect.reading) : "";
  const used = {};
  const rows = told.readings.map((reading, k) => {
    const { features, kind, value_mm } = reading;
    const slip = JSON.stringify({ features, kind, value_mm }) === bad || (told.suspect !== null && told.suspect.index === k);
    const key = `${features.join(" ")} ${kind}`;
    const nth = (used[key] = (used[key] ?? -1) + 1);
    const boxes = told.boxes[key] ?? [];
    const off = reading.residual_mm;
    return make(
      "tr",
      { class: slip ? "slip" : "" },
      make("td", {}, features.join(" to ")),
      make("td", {}, kind),
      make("td", {}, box(boxes[2 * nth], boxes[2 * nth + 1] ?? show(value_mm), `${features.join(" to ")}, ${kind}`, page, ways)),
      make("td", { class: "number" }, off === undefined || off === null ? "" : show(off)),
      make("td", {}, slip ? "slip?" : ""),
    );
  });
  const heads = ["between", "how", `reads (${unit})`, `residual (${unit})`, ""].map((word) => make("th", { scope: "col" }, word));
  return make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
}

function box(field, typed, label, page, ways) {
  if (!field) return typed;
  const entry = make("input", { type: "text", class: "number", size: 9, value: typed, inputmode: "decimal", "aria-label": label, "data-field": field, "data-measured": true });
  entry.addEventListener("change", () => entry.value !== typed && ways.run("edit", { edits: [[field, entry.value, "words"]] }, entry));
  // Enter goes on to the next reading, as down a list on paper.
  entry.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    const all = [...document.querySelectorAll("[data-measured]")];
    const after = all[all.indexOf(entry) + 1]?.dataset.field;
    entry.blur();
    if (after) setTimeout(() => document.querySelector(`[data-measured][data-field="${CSS.escape(after)}"]`)?.select(), 0);
  });
  return entry;
}

function next(mount, told, show, unit, page, ways) {
  const wanted = told.next_reading ?? (told.plan?.readings ?? []).find((one) => !taken(one, told.readings));
  const from = choice(told.names, wanted?.features?.[0], "from");
  const to = choice(told.names, wanted?.features?.[1] ?? told.names[1], "to");
  const how = choice(Object.keys(KINDS), wanted?.kind, "how it was taken");
  const alone = () => (to.hidden = how.value === "x" || how.value === "y");
  how.addEventListener("change", alone);
  alone();
  const typed = make("input", { type: "text", class: "reading", inputmode: "decimal", "aria-label": `reading, ${unit}`, "data-reading": mount, autocomplete: "off" });
  const form = make(
    "form",
    { class: "line" },
    from,
    to,
    how,
    typed,
    make("span", {}, unit),
    make("button", { type: "submit" }, "Put it in"),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    page.wanted = mount;
    ways.run("reading", { mount, from: from.value, to: to.value, how: how.value, typed: typed.value }, typed);
  });
  if (page.wanted === mount) queueMicrotask(() => document.querySelector(`[data-reading="${CSS.escape(mount)}"]`)?.focus());
  const why = wanted ? `Next: ${wanted.features.join(" to ")}, ${wanted.kind}${wanted.why ? ` (${wanted.why})` : ""}.` : "";
  return make("div", { class: "next" }, make("p", {}, why), form, hole(mount, unit, ways));
}

// One more hole, bore or pin of the old face: its name and what the caliper says of its diameter.
function hole(mount, unit, ways) {
  const name = make("input", { type: "text", size: 6, placeholder: "name", "aria-label": "name of one more hole" });
  const size = make("input", { type: "text", size: 8, placeholder: "diameter", inputmode: "decimal", "aria-label": `its diameter, ${unit}` });
  const form = make("form", { class: "line" }, name, size, make("span", {}, unit), make("button", { type: "submit" }, "One more hole"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const said = name.value.trim();
    if (!/^[^./\\:[\]]+$/.test(said)) ways.fail("give the hole a name first, such as E", name);
    else ways.run("edit", { edits: [[`mounts.${mount}.pattern.measured.holes.${said}`, size.value, "words"]] }, size);
  });
  return form;
}

function taken(wanted, readings) {
  const key = (one) => `${[...(one.features ?? [])].sort().join()} ${one.kind}`;
  return readings.some((one) => key(one) === key(wanted));
}

function choice(words, first, label) {
  const pick = make("select", { "aria-label": label }, ...words.map((word) => make("option", { title: KINDS[word] }, word)));
  if (first) pick.value = first;
  return pick;
}

// The holes as far as they are known, each with the ellipse that holds it, drawn thirty times as large.
function sketch(told) {
  const spots = Object.entries(told.holes).filter(([, hole]) => hole.x_mm !== null && hole.y_mm !== null);
  if (spots.length < 2) return make("p", {}, "");
  const xs = spots.map(([, hole]) => hole.x_mm);
  const ys = spots.map(([, hole]) => -hole.y_mm);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const size = Math.max(x1 - x0, y1 - y0, 1);
  const rim = 0.2 * size;
  const svg = make("svg:svg", { class: "scene sketch", viewBox: `${x0 - rim} ${y0 - rim} ${x1 - x0 + 2 * rim} ${y1 - y0 + 2 * rim}`, role: "img", "aria-label": "the holes as the readings place them" });
  for (const [name, hole] of spots) {
    const [x, y] = [hole.x_mm, -hole.y_mm];
    const known = !told.floating.includes(name);
    svg.append(
      make("svg:circle", { cx: x, cy: y, r: 0.02 * size, class: known ? "spot" : "spot open" }),
      make("svg:text", { x: x + 0.035 * size, y: y - 0.02 * size, "font-size": 0.06 * size, class: "name start" }, name),
    );
    if (hole.ellipse?.major_mm) {
      const turn = -hole.ellipse.angle_deg;
      svg.append(
        make("svg:ellipse", { cx: x, cy: y, rx: 30 * hole.ellipse.major_mm, ry: 30 * hole.ellipse.minor_mm, class: "odds", transform: `rotate(${turn} ${x} ${y})` }),
      );
    }
  }
  return make("figure", {}, svg, make("figcaption", {}, "Rings: where each hole may lie (one standard deviation), thirty times as large."));
}
