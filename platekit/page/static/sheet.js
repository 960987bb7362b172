// The job sheet: a box for every value of the spec, and what can be added.

import { ask, latest, make } from "./talk.js";
import { withList } from "./list.js";
import { calm, steady } from "./steady.js";

let counted = 0;
const PAIRS = { span: ["from", "to"], stretch: ["from", "to"], sheet: ["long", "wide"] };

// `ways.done` takes an answer that holds the whole sheet, `ways.trial` one of a slider being pulled, `ways.fail` an error.
export function section(one, page, ways) {
  const said = JSON.stringify(one);
  const slides = Object.entries(page.sliders ?? {}).filter(([field]) => said.includes(`"${field}"`));
  return { key: `section ${one.title}`, data: () => [one, slides], build: () => drawnSection(one, page, ways) };
}

function drawnSection(one, page, ways) {
  const body = make("div", { class: "boxes" });
  for (const box of one.boxes) {
    // A group at the top is the section itself: a heading, and no second one below it.
    if (box.kind === "group") body.append(make("p", { class: "about" }, plain(box.about)), inside(box, page, ways, 0));
    else body.append(drawn(box, page, ways, 0));
  }
  if (one.more?.length) body.append(adder(one.more, "", page, ways));
  return make("section", { class: "part" }, make("h2", {}, one.title), body);
}

function drawn(box, page, ways, depth) {
  if (box.kind === "group") return group(box, page, ways, depth);
  if (box.kind === "list") return list(box, page, ways, depth);
  if (box.kind === "row") return row(box, page, ways);
  if (box.kind === "long") {
    return make("p", { class: "box" }, make("b", {}, box.label), ` ${box.count} entries; they stand in the spec itself, below`);
  }
  return single(box, page, ways);
}

function group(box, page, ways, depth) {
  const inner = inside(box, page, ways, depth);
  // Closed it tells what it holds: who looks for a figure sees it without opening all of them.
  const open = page.opened.has(box.field);
  const whole = make(
    "details",
    { class: `group depth${depth}`, open, "data-field": box.field },
    make("summary", {}, make("b", {}, box.label), make("span", { class: "holds" }, ` ${holds(box)}`), make("span", { class: "about" }, ` ${plain(box.about)}`)),
    inner,
  );
  whole.addEventListener("toggle", () => {
    (whole.open ? page.opened : page.closed).add(box.field);
    (whole.open ? page.closed : page.opened).delete(box.field);
  });
  return whole;
}

// The first few values of a group, as they were typed.
function holds(box) {
  const found = [];
  const walk = (one) => {
    if (one.kind === "row") found.push(`${one.label} ${one.boxes.map((entry) => entry.typed).join(", ")}`);
    else if (one.boxes) one.boxes.forEach(walk);
    else if (one.kind === "yesno") found.push(`${one.label}: ${one.typed ? "yes" : "no"}`);
    else if (one.typed !== undefined) found.push(`${one.label} ${one.typed}`);
  };
  box.boxes.forEach(walk);
  const words = found.slice(0, 5).join("; ");
  return found.length > 5 ? `${words} ...` : words;
}

function inside(box, page, ways, depth) {
  const inner = make("div", { class: "boxes" }, ...box.boxes.map((one) => drawn(one, page, ways, depth + 1)));
  if (box.named) inner.append(namer(box, page, ways));
  else if (box.more?.length) inner.append(adder(box.more, box.field, page, ways));
  if (box.out) inner.append(outer(box, page, ways, `Take out ${box.label}`));
  return inner;
}

function list(box, page, ways, depth) {
  const entries = box.boxes.map((one) => drawn(one, page, ways, depth + 1));
  const whole = make("div", { class: "box list" }, head(box), ...entries);
  if (!box.fixed) {
    const field = `${box.field}.${box.boxes.length}`;
    const typed = make("input", { type: "text", "aria-label": `one more for ${box.label}`, placeholder: "one more" });
    const kind = box.boxes[0]?.kind === "row" || box.boxes[0]?.kind === "group" ? "list" : "words";
    const add = make("button", { type: "button", onclick: () => ways.run("edit", { edits: [[field, typed.value, kind]] }, typed) }, "Add");
    whole.append(make("div", { class: "line adder" }, typed, add));
  }
  return whole;
}

// Several values on one line, such as a place (x, y) or a reading.
function row(box, page, ways) {
  const line = make("div", { class: "line" });
  const named = box.fixed && box.boxes.length === 2 ? PAIRS[box.label.split(" ")[0]] ?? ["x", "y"] : null;
  box.boxes.forEach((one, k) => {
    const label = named ? named[k] : one.label;
    const entry = control({ ...one, label: `${box.label} ${label}` }, page, ways);
    // a box and its name stay together where the line breaks
    line.append(named ? make("span", { class: "pair" }, make("span", { class: "about" }, label), entry) : entry);
  });
  if (box.out) line.append(outer(box, page, ways, "Take out"));
  return make("div", { class: "box" }, head(box), line);
}

function single(box, page, ways) {
  const line = make("div", { class: "line" }, control(box, page, ways));
  const slide = page.sliders?.[box.field];
  if (slide && !Number.isNaN(Number(box.typed))) line.append(slider(box, slide, page, ways));
  if (box.out) line.append(outer(box, page, ways, "Take out"));
  return make("div", { class: "box", "data-box": box.field }, head(box), line);
}

function head(box) {
  return make("div", { class: "head" }, make("b", {}, box.label), make("span", { class: "about" }, box.about ? ` ${plain(box.about)}` : ""));
}

// Words of the spec stand in backquotes in its docs; on the page they are just words.
function plain(about) {
  return about.replace(/`/g, "");
}

function control(box, page, ways) {
  const send = (typed, kind, where) => ways.run("edit", { edits: [[box.field, typed, kind]] }, where);
  if (box.kind === "yesno") {
    const tick = make("input", { type: "checkbox", checked: box.typed, "aria-label": box.label, "data-field": box.field });
    tick.addEventListener("change", () => send(String(tick.checked), "yesno", tick));
    return tick;
  }
  if (box.kind === "choice") {
    const pick = make("select", { "aria-label": box.label, "data-field": box.field }, ...box.words.map((word) => make("option", {}, word)));
    pick.value = box.typed;
    pick.addEventListener("change", () => send(pick.value, "choice", pick));
    return pick;
  }
  const typed = make("input", {
    type: "text",
    value: box.typed,
    "aria-label": box.label,
    "data-field": box.field,
    autocomplete: "off",
    size: Math.min(Math.max(String(box.typed).length + 1, 8), 64),
  });
  const shown = offerWords(typed, box);
  typed.addEventListener("change", () => typed.value !== box.typed && send(typed.value, "words", typed));
  typed.addEventListener("keydown", (event) => {
    // what was refused stays in its box, and may be right by now: Enter says it once more
    if (event.key === "Enter" && !typed.typing && typed.classList.contains("wrong")) send(typed.value, "words", typed);
    if (event.key === "Escape") {
      typed.value = box.typed;
      typed.blur();
    }
  });
  return shown;
}

// Words that will do are offered beside what else can be typed; what the tables have is found in a list of the box.
function offerWords(typed, box) {
  if (box.listed) return withList(typed, box.field);
  if (!box.words?.length) return typed;
  const id = `words${(counted += 1)}`;
  typed.setAttribute("list", id);
  return make("span", { class: "listed" }, typed, make("datalist", { id }, ...box.words.map((word) => make("option", { value: word }))));
}

function slider(box, [from, to, step], page, ways) {
  const pull = make("input", { type: "range", min: from, max: to, step, value: Number(box.typed), "aria-label": `${box.label}, slider` });
  const number = () => String(Number(Number(pull.value).toFixed(6)));
  const tell = latest(async (typed) => {
    const state = page.state;
    try {
      const answer = await ask("try", { state, edits: [[box.field, typed, "words"]] });
      if (state === page.state) ways.trial(answer);
    } catch (error) {
      ways.untried(error.message);
    }
  });
  pull.addEventListener("input", () => {
    const shown = pull.parentElement.querySelector("input[type=text]");
    if (shown) shown.value = number();
    tell(number());
  });
  pull.addEventListener("change", () => ways.run("edit", { edits: [[box.field, number(), "words"]] }, pull));
  return pull;
}

function outer(box, page, ways, words) {
  return make(
    "button",
    { type: "button", class: "quiet", "aria-label": `Take out ${box.label}`, onclick: (event) => ways.run("take out", { field: box.field }, event.currentTarget) },
    words,
  );
}

// ----------------------------------------------------------------------------------------- something new

function adder(more, to, page, ways) {
  const place = make("div", { class: "adder", "data-adds": to });
  const pick = make(
    "select",
    { "aria-label": "Add" },
    make("option", { value: "" }, "Add ..."),
    ...more.map((one) => make("option", { value: one.field, title: plain(one.about) }, named({ key: one.label, about: one.about }))),
  );
  pick.addEventListener("change", async () => {
    if (pick.value) await fill(place, pick, pick.value, page, ways);
  });
  place.append(pick);
  return place;
}

function namer(box, page, ways) {
  const place = make("div", { class: "adder", "data-adds": box.field });
  const name = make("input", { type: "text", placeholder: "name", "aria-label": `name of one more of ${box.label}` });
  const add = make("button", { type: "button" }, `One more`);
  add.addEventListener("click", async () => {
    const said = name.value.trim();
    if (!said || NO_NAME.test(said)) {
      ways.fail("give it a name first: letters, digits, blanks", name);
      return;
    }
    await fill(place, add, `${box.field}.${said}`, page, ways);
  });
  place.append(make("div", { class: "line" }, name, add));
  return place;
}

// A form under `place` with the boxes that the new thing needs.
async function fill(place, from, field, page, ways) {
  let offer;
  try {
    offer = (await ask("blank", { field })).offer;
  } catch (error) {
    ways.fail(error.message, from);
    return;
  }
  await calm();
  const form = make("form", { class: "new", "data-kept": field }, make("p", { class: "about" }, plain(offer.about)));
  const add = make("button", { type: "submit" }, `Add ${offer.label}`);
  const leave = make("button", { type: "button", class: "quiet", onclick: () => form.remove() }, "Leave it");
  form.append(blanks(offer, field, page, ways), make("div", { class: "line" }, add, leave));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const boxes = filled(form, field, ways);
    if (boxes) ways.run("add", { field, boxes }, add);
  });
  const there = from.isConnected ? place : document.querySelector(`[data-adds="${CSS.escape(place.dataset.adds)}"]`);
  steady(() => {
    there?.querySelector("form")?.remove();
    there?.append(form);
  });
  if ([from, document.body].includes(document.activeElement)) form.querySelector("[data-new], [data-name], select")?.focus();
}

// Boxes of figures that a finding asks for, and what was typed in them by field.
export function questions(boxes, page, ways) {
  return make("div", { class: "boxes" }, ...boxes.map((one) => boxed(one, page, ways)));
}

export function answers(form, ways) {
  return filled(form, "", ways);
}

// What was typed in a form, by its path below a field; nothing where something is missing, which is told.
function filled(form, field, ways) {
  const name = form.querySelector("[data-name]");
  if (name && (!name.value.trim() || NO_NAME.test(name.value))) {
    ways.fail("give it a name first: letters, digits, blanks", name);
    name.focus();
    return null;
  }
  const open = form.querySelector("select[data-kinds]:not([data-chosen])");
  if (open) {
    ways.fail(`choose first: ${open.getAttribute("aria-label")}`, open);
    open.focus();
    return null;
  }
  const found = {};
  for (const one of form.querySelectorAll("[data-new]")) {
    const parts = one.matches(".places") ? [...one.querySelectorAll("input")] : [one];
    const empty = parts.find((part) => part.type !== "checkbox" && !part.value.trim());
    if (empty) {
      ways.fail(`fill in ${empty.getAttribute("aria-label")} first`, empty);
      empty.focus();
      return null;
    }
    const own = name ? one.dataset.new.replace(`${field}.${NEW}`, `${field}.${name.value.trim()}`) : one.dataset.new;
    const path = own === field ? "" : field ? own.slice(field.length + 1) : own;
    if (one.type === "checkbox") found[path] = [String(one.checked), "yesno"];
    // a decimal comma would part the entries of a list
    else if (one.matches(".places")) found[path] = [`[${parts.map((part) => placed(part.value)).join(", ")}]`, "list"];
    else found[path] = [one.value, one.dataset.kind];
  }
  if (Object.keys(found).length) return found;
  ways.fail("choose what it is first", form);
  return null;
}

// One figure of a list: a decimal comma would part its entries, and a bare fraction is of an inch.
function placed(typed) {
  const said = typed.trim();
  return /^(\d+[ -])?\d+\/\d+$/.test(said) ? `${said} in` : said.replace(",", ".");
}

const NEW = "new"; // stands for the name of what is added, until it is typed
const NO_NAME = /[./\\:[\]]/;

function blanks(offer, field, page, ways) {
  const place = make("div", { class: "boxes" });
  if (offer.kind === "one of") {
    const pick = make("select", { "aria-label": `kind of ${offer.label}` }, ...offer.kinds.map((one, k) => make("option", { value: k }, plain(one.said || one.kind))));
    const under = make("div");
    const show = () => under.replaceChildren(blanks({ ...offer.kinds[pick.value], label: offer.label, about: "", field }, field, page, ways));
    pick.addEventListener("change", show);
    place.append(pick, under);
    show();
    return place;
  }
  if (offer.kind !== "group") {
    place.append(entry(offer, field, page));
    return place;
  }
  if (offer.named) {
    const name = make("input", { type: "text", placeholder: "its name", "aria-label": "its name", "data-name": true, autocomplete: "off" });
    place.append(make("div", { class: "box" }, make("div", { class: "head" }, make("b", {}, "name"), make("span", { class: "about" }, " what you call it")), name));
    const own = `${field}.${NEW}`;
    ask("blank", { field: own }).then(
      async (answer) => {
        await calm();
        steady(() => place.append(blanks({ ...answer.offer, field: own }, own, page, ways)));
      },
      (error) => ways.fail(error.message, name),
    );
    return place;
  }
  for (const one of offer.needed ?? []) {
    const own = one.field.startsWith(field) ? one.field : `${field}.${one.field}`;
    place.append(boxed({ ...one, field: own }, page, ways));
  }
  if (offer.kinds?.length) place.append(oneOf(offer, field, page, ways));
  if (offer.others?.length) place.append(also(offer, field, page, ways));
  return place;
}

function boxed(one, page, ways) {
  return make("div", { class: "box" }, head(one), blanks(one, one.field, page, ways));
}

// Exactly one of several keys says which kind it is; the boxes of what goes with that kind come along.
function oneOf(offer, field, page, ways) {
  const under = make("div");
  const pick = make(
    "select",
    { "aria-label": `which kind of ${offer.label === NEW ? "thing" : offer.label} it is`, "data-kinds": true },
    make("option", { value: "" }, "choose ..."),
    ...offer.kinds.map((one) => make("option", { value: one.key, title: plain(one.about) }, named(one))),
  );
  pick.addEventListener("change", async () => {
    delete pick.dataset.chosen;
    under.replaceChildren();
    const kind = offer.kinds.find((one) => one.key === pick.value);
    if (!kind) return;
    try {
      const boxes = [];
      for (const key of [kind.key, ...kind.with]) {
        const own = `${field}.${key}`;
        boxes.push(boxed({ ...(await ask("blank", { field: own })).offer, field: own }, page, ways));
      }
      await calm();
      // another kind was chosen meanwhile: its own boxes come
      if (pick.value !== kind.key) return;
      steady(() => under.replaceChildren(...boxes));
      pick.dataset.chosen = kind.key;
    } catch (error) {
      ways.fail(error.message, pick);
    }
  });
  return make("div", {}, pick, under);
}

// What may be given beside: a box for each that is wanted, before the whole is added.
function also(offer, field, page, ways) {
  const under = make("div");
  const word = (offer.needed?.length || offer.kinds?.length) ? "also, if wanted ..." : "choose what to give ...";
  const pick = make(
    "select",
    { "aria-label": `more for ${offer.label === NEW ? "it" : offer.label}` },
    make("option", { value: "" }, word),
    ...offer.others.map((one) => make("option", { value: one.key, title: plain(one.about) }, named(one))),
  );
  pick.addEventListener("change", async () => {
    const key = pick.value;
    if (!key) return;
    const own = `${field}.${key}`;
    pick.querySelector(`option[value="${CSS.escape(key)}"]`).disabled = true;
    pick.value = "";
    try {
      const box = boxed({ ...(await ask("blank", { field: own })).offer, field: own }, page, ways);
      await calm();
      steady(() => under.append(box));
      if ([pick, document.body].includes(document.activeElement)) box.querySelector("input, select")?.focus();
    } catch (error) {
      ways.fail(error.message, pick);
    }
  });
  return make("div", {}, under, pick);
}

// A key with the first words of what it is: a list is no place for a paragraph.
function named(one) {
  const about = plain(one.about).split(/[:;.(]/)[0].trim();
  return `${one.key.replace(/_/g, " ")}${about ? `: ${about.length > 60 ? `${about.slice(0, 57)} ...` : about}` : ""}`;
}

function entry(offer, field, page) {
  const given = { "data-new": field, "data-kind": offer.kind, "aria-label": offer.label };
  if (offer.kind === "yesno") return make("input", { type: "checkbox", checked: true, ...given });
  if (offer.kind === "choice") return make("select", given, ...offer.words.map((word) => make("option", {}, word)));
  if (offer.places?.length) {
    return make(
      "div",
      { class: "line places", "data-new": field },
      ...offer.places.map((name) =>
        make("label", { class: "about" }, name, make("input", { type: "text", size: 8, autocomplete: "off", "aria-label": `${offer.label}, ${name}` })),
      ),
    );
  }
  const typed = make("input", { type: "text", autocomplete: "off", placeholder: offer.example ?? "", ...given });
  return offerWords(typed, { ...offer, field });
}
