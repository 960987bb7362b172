// The readings of an old face as a table, each with what the others say of it.

import { make } from "./talk.js";

// A row a reading, its number in a box: a slip is put right where it stands, and a new job's figures one after the other.
export function readingsTable(mount, told, { show, unit }, page, ways) {
  if (!told.readings.length) return make("p", {}, "None yet.");
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
      make("td", { class: "number" }, off === undefined || off === null || told.floating.length ? "" : show(off)),
      make("td", {}, slip ? make("b", {}, "slip? ") : null, out(features, kind, boxes[2 * nth], ways)),
    );
  });
  const heads = ["between", "how", `reads (${unit})`, `residual (${unit})`, ""].map((word) => make("th", { scope: "col" }, word));
  return make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
}

function box(field, typed, label, page, ways) {
  if (!field) return typed;
  const entry = make("input", { type: "text", class: "number", size: 9, value: typed, inputmode: "decimal", "aria-label": label, "data-field": field, "data-measured": true });
  entry.addEventListener("change", () => entry.value !== typed && ways.run("edit", { edits: [[field, entry.value, "reading"]] }, entry));
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

// A reading that should not have been taken goes; a diameter goes with its hole.
function out(features, kind, field, ways) {
  if (!field || kind === "diameter") return null;
  const whole = field.slice(0, field.lastIndexOf("."));
  return make(
    "button",
    { type: "button", class: "quiet", "aria-label": `Take out ${features.join(" to ")}, ${kind}`, onclick: (event) => ways.run("take out", { field: whole }, event.currentTarget) },
    "Take out",
  );
}
