// The page: what the server tells, drawn; what the user does, asked. Nothing is decided here.

import { ask, latest, make, worded } from "./talk.js";
import { Picture, legend, small } from "./pictures.js";
import { Numbers } from "./numbers.js";
import { holes } from "./holes.js";
import { answers, questions, section } from "./sheet.js";
import { facePart } from "./old_face.js";
import { newJob } from "./new_job.js";
import { calm, free, later, lay, now, settle, steady, waits } from "./steady.js";

const POLL = 2000; // ms between looks at the file: an editor may have it open as well
const HOW_FAR = 400; // ms between looks at how far a search has come
const by = (id) => document.getElementById(id);
const page = { state: "", opened: new Set(), closed: new Set(), ticket: "", sheet: null, acts: 0, out: [] };
const AT_FIRST = 4; // findings
const PAPERS = { parts: "What to buy and cut", commissioning: "Write the commissioning sheet", "going back": "Write the paper for going back" };
const BARS = ["bottom", "top", "left", "right", "rising", "falling"]; // as they are named on the paper
const LEVEL = { stop: "Stop", warn: "Warning", note: "Note" };

const ways = {
  run,
  trial: (answer) => {
    lock(true);
    show(answer.scene, page.state, true);
    verdict(answer.verdict, answer.worst);
    numbers.follow(answer.edits);
  },
  untried: (words) => {
    lock(true);
    verdict({ word: "unusable", say: "CANNOT BE LAID OUT SO", why: words });
  },
  left: () => {
    lock(false);
    show(page.answer.scene, page.state);
    verdict(page.answer.verdict);
    numbers.show();
  },
  fail: (words, where) => tell(words, where),
  preview,
  // the old face is done with: what was found comes to the top
  measured: () => {
    page.measuring = false;
    sheet(page.answer);
    by("findings")?.scrollIntoView({ block: "start" });
    by("findings")?.querySelector("[data-row]")?.focus({ preventScroll: true });
  },
};

const pictureWays = {
  ...ways,
  chosen: (handle) => numbers.choose(handle),
  dropped: (handle, to, fine) => run("drag", { handle, to, fine, write: true }),
  picked: (k) => {
    showAll();
    const row = page.answer.findings.findIndex((found) => found.marks.includes(k));
    const one = document.querySelector(`[data-row="${row}"]`);
    one?.scrollIntoView({ block: "center" });
    one?.focus();
  },
};
const fronts = new Picture(by("front"), 0, pictureWays);
const sides = new Picture(by("side"), 1, pictureWays);
const numbers = new Numbers(by("numbers"), page, ways);

// ------------------------------------------------------------------------------------------- asking

// Does one act against the state that is shown; a refusal is told at the box it came from.
function run(act, about, where) {
  // One after the other: whoever clicks faster than the answers come must not be told that his own click changed the file.
  const [since, state] = [page.out.length, page.state];
  page.acts += 1;
  const done = under.then(() => runNow(act, meant(act, about, since, state), where));
  under = done;
  return done;
}

let under = Promise.resolve();

// What was meant on the sheet as it was when it was said: an entry that was taken out meanwhile by an earlier click has
// moved those below it up; who clicks twice on the same one means it once.
function meant(act, about, since, state) {
  let fields = about.field !== undefined ? [about.field] : (about.edits ?? []).map(([field]) => field);
  for (const gone of page.out.slice(since)) {
    // after a step back or forth nobody knows: the server tells that the file is another
    if (gone === null) return act === "take out" ? { ...about, state } : about;
    fields = fields.map((field) => closed(field, gone));
    if (fields.includes(null)) return null;
  }
  if (about.field !== undefined) return { ...about, field: fields[0] };
  return about.edits ? { ...about, edits: about.edits.map((edit, k) => [fields[k], ...edit.slice(1)]) } : about;
}

// A field after another one is gone; null where it is gone with that.
function closed(field, gone) {
  if (field === gone || field.startsWith(`${gone}.`)) return null;
  const k = gone.lastIndexOf(".") + 1;
  const [list, out] = [gone.slice(0, k), gone.slice(k)];
  const step = field.startsWith(list) ? field.slice(k).split(".")[0] : "";
  if (!/^[0-9]+$/.test(out) || !/^[0-9]+$/.test(step) || Number(step) < Number(out)) return field;
  return `${list}${Number(step) - 1}${field.slice(k + step.length)}`;
}

async function runNow(act, about, where) {
  if (!about) return over(false);
  tell("");
  page.made = null;
  try {
    const answer = await ask(act, { state: page.state, ...about });
    if (act === "take out") page.out.push(about.field);
    if (act === "undo" || act === "redo") page.out.push(null);
    // what was typed for it is in the spec now
    for (const one of [where, ...(where?.form?.elements ?? [])]) if (one) one.given = true;
    if (where?.form) where.form.given = true;
    page.acts -= 1;
    take(answer);
    return true;
  } catch (error) {
    page.acts -= 1;
    where?.classList?.add("wrong");
    if (error.answer?.state) take(error.answer);
    else if (page.answer) ways.left();
    tell(error.message, where);
    settle();
    return false;
  }
}

function over(good) {
  page.acts -= 1;
  settle();
  return good;
}

function take(answer) {
  if (answer.closed) return start();
  if (answer.same) return undefined;
  // nothing of one job belongs to another: a mount of the same name has clicks and a picture of its own
  if ((answer.name ?? page.name) !== page.name) {
    by("sheet").replaceChildren();
    page.faces = {};
  }
  page.name = answer.name ?? page.name;
  page.answer = answer;
  page.state = answer.state;
  page.trying = true;
  page.advised = "";
  page.unit = answer.unit ?? page.unit;
  page.sliders = answer.sliders ?? {};
  later("above", () => above(page.answer));
  // While somebody types in a box, or has more under way, the sheet waits for that: it is drawn once, with all of it in.
  later("sheet", () => sheet(page.answer), () => !page.acts && free(by("desk")));
  advise(answer.state);
  return undefined;
}

function above(answer) {
  by("title").textContent = answer.title ?? answer.name ?? "platekit";
  by("which").textContent = `${answer.name ?? ""}${answer.revision ? `, revision ${answer.revision}` : ""}`;
  document.title = `${answer.title ?? "platekit"}: ${answer.verdict.say}`;
  lock(false);
  verdict(answer.verdict);
  const [back, forth] = answer.steps ?? [0, 0];
  by("undo").disabled = !back;
  by("redo").disabled = !forth;
  lay(by("cautions"), answer.cautions.map((one) => ({ key: one, data: () => one, build: () => make("li", {}, one) })));
  by("pictures").classList.toggle("empty", !answer.scene);
  if (answer.scene) show(answer.scene, answer.state);
}

function show(scene, state, trial = false) {
  fronts.show(scene, state, trial);
  sides.show(scene, state, trial);
  const words = scene.side?.title ?? "";
  if (by("side-says").textContent !== words) by("side-says").textContent = words;
}

function verdict(one, worst) {
  const place = by("verdict");
  const why = worst ?? one.why;
  const said = JSON.stringify([one.word, one.say, why]);
  if (said === page.said) return;
  page.said = said;
  place.className = `verdict ${one.word}`;
  place.replaceChildren(make("b", {}, one.say), why ? ` ${why}` : "");
}

// While a drag goes on the head keeps its height, whatever it says: what is dragged must not move away from the pointer.
function lock(on) {
  const place = by("verdict");
  place.style.height = on ? place.style.height || `${place.offsetHeight}px` : "";
}

function tell(words, where) {
  later("told", () => tellNow(words, where && now(where)));
}

function tellNow(words, where) {
  const place = by("told");
  place.hidden = !words;
  place.textContent = words;
  document.querySelectorAll(".wrong").forEach((one) => {
    one.classList.remove("wrong");
    one.removeAttribute("aria-invalid");
  });
  if (words && where?.classList) {
    where.classList.add("wrong");
    where.setAttribute("aria-invalid", "true");
  }
}

// The advice of findings is tried in the background, and told as it comes: on a plate with much wrong it takes a while.
async function advise(state) {
  if (!page.answer.fresh || !page.answer.findings.length) return;
  try {
    for (let done = false; !done; ) {
      const answer = await ask("advise");
      if (answer.state !== page.state || state !== page.state) return;
      done = answer.done;
      const told = JSON.stringify([done, answer.findings]);
      if (told === page.advised) continue;
      page.advised = told;
      page.answer.findings = answer.findings;
      page.trying = !done;
      renew(state);
    }
  } catch {
    // the next look tells what is wrong
  }
}

// A finding whose change is being looked at is renewed when that is over.
function renew(state) {
  const put = () => {
    if (state !== page.state || !by("findings")) return;
    if (listed(by("findings"), page.answer)) setTimeout(() => renew(state), 500);
  };
  later("findings", put, () => !waits("sheet") && free(by("findings") ?? by("sheet")));
}

// ---------------------------------------------------------------------------------------- the sheet

function sheet(answer) {
  const parts = [];
  const surveys = Object.entries(answer.surveys ?? {});
  const faces = surveys.map(([mount, told]) => facePart(mount, told, page, ways));
  // What is still being measured comes first, as at the bench; a face that is done goes below what was found.
  // It stays there until its user is done with it, so that nothing moves away from under his hands.
  if (surveys.some(([, told]) => told.state !== "placed")) page.measuring = true;
  const measuring = page.measuring && faces.length > 0;
  if (measuring) parts.push(...faces);
  const wrong = answer.fresh ? [] : answer.problems.filter((one) => !(answer.readable && one.measuring));
  if (wrong.length) parts.push({ key: "problems", data: () => [wrong, !answer.scene], build: () => problems(answer, wrong) });
  if (answer.fresh) parts.push({ key: "findings", build: () => findings(answer), update: (old) => listed(old, answer) });
  const finding = choosing(answer);
  if (!measuring) parts.push(finding, ...faces);
  for (const one of answer.sheet ?? []) parts.push(section(one, page, ways));
  if (answer.holes?.length) parts.push({ key: "holes", data: () => answer.holes, build: () => holes(answer.holes, page, ways) });
  if (measuring) parts.push(finding);
  const { verdict: judged, fresh, files: there, coupon } = answer;
  parts.push({ key: "papers", data: () => [judged, fresh, there, coupon, page.unit, page.made, page.barsTaken], build: () => papers(answer) });
  // what is typed there, and not saved yet, is in no state
  const typing = (old) => page.typed !== undefined && old.querySelector("textarea").value === page.typed;
  parts.push({ key: "spec", data: () => [answer.text, answer.state], stays: typing, build: () => text(answer) });
  lay(by("sheet"), parts.filter(Boolean));
  // whoever asked for the next box has it, if he still wants it
  page.wanted = page.another = "";
  page.spot = null;
  numbers.show();
}

function problems(answer, wrong) {
  const rows = wrong.map((one) =>
    make("li", {}, make("button", { type: "button", class: "quiet", onclick: () => goTo(one.line) }, one.said)),
  );
  const kept = answer.scene ? make("p", {}, "The pictures show the last plate that could be laid out.") : null;
  return make("section", { class: "part wrongs" }, make("h2", {}, "What cannot be laid out"), make("ul", {}, ...rows), kept);
}

function findings(answer) {
  const part = make(
    "section",
    { class: "part", id: "findings" },
    make("h2", {}, "What was found"),
    make("p", { class: "none" }, "Nothing was found."),
    make("ol", { class: "findings" }),
    make("button", { type: "button", id: "all-findings", onclick: showAll }),
  );
  listed(part, answer);
  return part;
}

// Puts the findings into their list: those of which nothing new is known stay as they are. Whether one of them was left as
// it is though there is, since its change is being looked at.
function listed(part, answer) {
  // Stops are all shown; of what may be read later only the first few, until somebody wants the rest.
  const stops = answer.findings.filter((one) => one.level === "stop" && !one.accepted).length;
  const shown = page.allFindings ? answer.findings : answer.findings.slice(0, Math.max(stops, AT_FIRST));
  const rest = answer.findings.length - shown.length;
  const same = {};
  let left = false;
  const rows = shown.map((one, k) => {
    const named = JSON.stringify([one.rule, one.places]);
    same[named] = (same[named] ?? 0) + 1;
    const data = [one, !one.tried && one.ideas.length && one.level !== "note" && page.trying];
    const looked = (old) => old.looked !== undefined && old.querySelector(".preview, .trial");
    const stays = (old) => {
      const stay = looked(old) && old.looked === page.state;
      left ||= stay && old.laid.data !== JSON.stringify(data);
      return stay;
    };
    return { key: `${named} ${same[named]}`, data: () => data, build: () => finding(one, k), stays, stale: looked, same: (old) => (old.dataset.row = k) };
  });
  lay(part.querySelector("ol"), rows);
  part.querySelector(".none").hidden = rows.length > 0;
  const more = part.querySelector("#all-findings");
  more.hidden = rest <= 0;
  more.textContent = `Show ${rest} more`;
  return left;
}

function showAll() {
  page.allFindings = true;
  listed(by("findings"), page.answer);
}

function finding(one, k) {
  const row = make("li", { class: `finding ${one.accepted ? "accepted" : one.level}`, tabindex: 0, "data-row": k });
  row.append(make("p", {}, make("b", {}, one.accepted ? `${LEVEL[one.level]}, accepted` : LEVEL[one.level]), " ", ...worded(`${one.led}${one.same}`)));
  row.addEventListener("focus", () => light(one, true));
  row.addEventListener("blur", () => light(one, false));
  row.addEventListener("mouseenter", () => light(one, true));
  row.addEventListener("mouseleave", () => light(one, false));
  if (one.accepted) {
    row.append(make("p", { class: "about" }, `because ${one.accepted}`));
    return row;
  }
  // What was tried and does; or what the rule thinks of, to be tried by whoever wants to know.
  if (one.tried || !one.ideas.length) {
    if (one.advice) row.append(make("p", { class: "about" }, "What to do: ", ...worded(one.advice)));
  } else {
    const waits = page.trying && !one.vain;
    const words = one.level === "note" ? "What may be done about it:" : waits ? "What may do is being tried. It may be:" : one.vain ? "No change that was tried ends this without bringing another stop. These may help together with more:" : "There was no time to try this, as much else is wrong. It may do:";
    if (one.vain && one.hand) row.append(make("p", { class: "about" }, "What to do: ", ...worded(one.hand)));
    row.append(make("p", { class: "about" }, words));
    row.append(make("ul", { class: "ideas" }, ...one.ideas.map((idea) => make("li", {}, ...worded(`${idea.text} `), make("button", { type: "button", class: "quiet", "data-try": one.rule, onclick: (event) => tryOne(one, idea, row, event.currentTarget) }, "Try this one")))));
  }
  const acts = make("div", { class: "line" });
  if (one.tried && one.edits.length) {
    acts.append(make("button", { type: "button", "data-shows": one.rule, onclick: (event) => preview(one, row, event.currentTarget) }, "Show what that changes"));
  }
  if (one.boxes?.length) {
    acts.append(make("button", { type: "button", "data-fill": one.rule, onclick: () => fillForm(one, row) }, one.boxes.length > 1 ? "Fill in the figures" : `Fill in: ${one.boxes[0].label}`));
  }
  if (one.field && one.level !== "note") {
    acts.append(make("button", { type: "button", class: "quiet", "data-goto": one.field, onclick: () => toBox(one.field) }, "Its figures on the sheet"));
  }
  if (one.acceptable) {
    acts.append(make("button", { type: "button", class: "quiet", onclick: () => acceptForm(one, row) }, "Accept it, with a reason"));
  }
  row.append(acts);
  return row;
}

function light(one, on) {
  for (const k of one.marks) document.querySelector(`#front [data-finding="${k}"]`)?.classList.toggle("lit", on);
}

// An advice is shown before it is taken: the lines of the spec, and the pictures as they would be.
async function preview(one, row, button) {
  const state = page.state;
  try {
    const answer = await ask("preview", { state, edits: one.edits });
    await calm();
    // the finding is gone, or another one by now
    if (state !== page.state || !row.isConnected) return;
    steady(() => looked(one, row, button, answer));
  } catch (error) {
    tell(error.message, button);
  }
}

function looked(one, row, button, answer) {
  row.querySelector(".preview")?.remove();
  row.looked = page.state;
  show(answer.scene, page.state);
  verdict(answer.verdict);
  const lines = answer.lines.map((line) => make("div", { class: line[0] === "+" ? "plus" : "minus" }, line));
  const take = make("button", { type: "button", onclick: () => run("set", { edits: one.edits }, button) }, "Make this change");
  const leave = make("button", { type: "button", class: "quiet" }, "Leave it");
  const box = make("div", { class: "preview" }, make("pre", {}, ...lines), make("div", { class: "line" }, take, leave));
  leave.addEventListener("click", () => {
    box.dispatchEvent(new Event("left"));
    box.remove();
    ways.left();
  });
  row.append(box);
  passed(button, row, take);
}

// Gives the focus on to what has come, unless its user has gone elsewhere meanwhile.
function passed(from, place, to) {
  const active = document.activeElement;
  if (active === document.body || active === from || (place.contains(active) && !active.matches("input, textarea, select"))) to?.focus();
}

// One idea is tried on the whole plate: whether the finding goes, and what comes instead; then it is shown.
async function tryOne(one, idea, row, button) {
  row.querySelector(".trial")?.remove();
  const said = make("p", { class: "trial", role: "status" }, "At work: trying it on the whole plate ...");
  row.append(said);
  row.looked = page.state;
  button.disabled = true;
  try {
    const answer = await ask("try advice", { state: page.state, rule: one.rule, features: one.places[0], edits: idea.edits });
    await calm();
    steady(() => {
      said.textContent = answer.said;
      said.classList.toggle("good", answer.good);
    });
    await preview({ ...one, edits: idea.edits }, row, button);
    row.querySelector(".preview")?.addEventListener("left", () => said.remove());
  } catch (error) {
    await calm();
    steady(() => said.remove());
    tell(error.message, button);
  }
  button.disabled = false;
}

// Opens the part of the sheet that a field stands in, and goes to the nearest box.
function toBox(field) {
  const steps = field.split(".");
  for (let k = steps.length; k > 0; k -= 1) {
    const one = document.querySelector(`#sheet [data-field="${CSS.escape(steps.slice(0, k).join("."))}"]`);
    if (!one) continue;
    for (let up = one; up; up = up.parentElement?.closest("details")) if (up.matches("details")) up.open = true;
    (one.matches("details") ? one.querySelector("summary") : one).focus();
    one.scrollIntoView({ block: "center" });
    return;
  }
}

// What a finding asks for, in boxes of its own: whoever measures it types it in where it is missed.
function fillForm(one, row) {
  row.querySelector("form")?.remove();
  const form = make("form", { class: "new", "data-kept": one.rule });
  form.append(
    questions(one.boxes, page, ways),
    make("div", { class: "line" }, make("button", { type: "submit" }, "Put it in"), make("button", { type: "button", class: "quiet", onclick: () => form.remove() }, "Leave it")),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const boxes = answers(form, ways);
    if (boxes) run("fill in", { edits: one.asks, boxes }, form.querySelector("button[type=submit]"));
  });
  row.append(form);
  form.querySelector("input, select")?.focus();
}

function acceptForm(one, row) {
  row.querySelector("form")?.remove();
  const reason = make("input", { type: "text", size: 40, maxlength: 200, "aria-label": "reason", placeholder: "why it may be so; printed on every sheet" });
  const form = make("form", { class: "line", "data-kept": one.rule }, reason, make("button", { type: "submit" }, "Accept"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    run("accept", { rule: one.rule, places: one.places, reason: reason.value }, reason);
  });
  row.append(form);
  reason.focus();
}

// ------------------------------------------------------------------------------- places and stock drives

function choosing(answer) {
  const mounts = (answer.scene?.handles ?? []).filter((one) => one.kind === "place").map((one) => one.name);
  const driven = (answer.sheet ?? []).some((one) => one.boxes.some((box) => box.field === "drive"));
  if (!mounts.length && !driven) return null;
  // what is offered is of one state and goes with it
  const data = [mounts, driven, answer.belts, answer.belt_section, answer.belt_sections, answer.countershaft, page.unit, answer.state];
  return { key: "choosing", data: () => data, build: () => offering(answer, mounts, driven) };
}

function offering(answer, mounts, driven) {
  const part = make("section", { class: "part" }, make("h2", {}, "Let it be found"));
  const places = make("div", { "data-offers": "places" });
  for (const mount of mounts) {
    const button = make("button", { type: "button" }, `Places for ${mount}`);
    button.addEventListener("click", () => offerPlaces(mount, places, button));
    part.append(make("div", { class: "line" }, button));
  }
  const drives = make("div", { "data-offers": "drives" });
  if (driven) {
    const { line, told } = narrowing(answer);
    // a machine with two belts has a list for each, from the motor on
    const belts = answer.belts?.length ? answer.belts : [{ field: "", between: "" }];
    const buttons = belts.map(({ field, between }) => {
      const button = make("button", { type: "button", "data-belt": field }, `Stock belts and pulleys ${belts.length > 1 ? between : "for the wanted speeds"}`);
      button.addEventListener("click", () => offerDrives(drives, button, () => ({ ...told(), belt: field })));
      return button;
    });
    part.append(make("div", { class: "line" }, ...buttons), line);
    if (answer.countershaft?.length) part.append(countershaft(answer.countershaft));
  }
  part.append(places, drives);
  return part;
}

// For a machine that is too slow for one belt: what the countershaft's blocks measure, and both belts are laid out.
function countershaft(asked) {
  // a block out of the table fills the other boxes, which may still be changed
  const fill = (one, typed) => {
    for (const [name, value] of Object.entries(one.fills?.[typed] ?? {})) form.querySelector(`[data-block="${name}"]`).value = value;
  };
  const chosen = (one) => {
    const options = one.words ? Object.entries(one.words) : one.names.map((name) => [name, `${name}: ${one.figures[name]}`]);
    const box = make("select", { "aria-label": one.asks, "data-block": one.name }, ...options.map(([value, said]) => make("option", { value, selected: value === one.usual }, said)));
    box.addEventListener("change", () => fill(one, box.value));
    return box;
  };
  const boxes = asked.map((one) => (one.names || one.words ? chosen(one) : make("input", { type: "text", size: 9, autocomplete: "off", inputmode: "decimal", value: one.usual, "aria-label": one.asks, "data-block": one.name })));
  const put = make("button", { type: "submit" }, "Put it in, with a second belt");
  const form = make(
    "form",
    { class: "new" },
    make("p", { class: "about" }, "For a machine that is too slow for one belt. Its slots and those of the motor tighten both; the lists above have stock pulleys for each."),
    ...asked.map((one, k) => make("label", { class: "box" }, one.asks, one.about ? make("span", { class: "about" }, ` ${one.about} `) : " ", boxes[k])),
    make("div", { class: "line" }, put),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    run("countershaft", { read: Object.fromEntries(boxes.map((one) => [one.dataset.block, one.value])) }, put);
  });
  return make("details", { id: "countershaft" }, make("summary", {}, "Put a countershaft between motor and machine"), form);
}

async function working(button, job) {
  const words = button.textContent;
  // as wide afterwards as it was meanwhile: what stands beside it stays where it is
  button.disabled = true;
  button.busy = words;
  button.textContent = `${words}: at work ...`;
  button.style.minWidth = `${button.offsetWidth}px`;
  try {
    await job();
  } catch (error) {
    tell(error.message, button);
  } finally {
    await calm();
    steady(() => Object.assign(now(button), { disabled: false, busy: "", textContent: words }));
  }
}

// A search for places tells how far it has come, and may be left. Where it stands, if it still does, it puts what is found.
async function watched(search, place) {
  const said = make("span", { role: "status" });
  const leave = make("button", { type: "button", id: "leave", onclick: () => ask("how far", { leave: true }) }, "Leave it");
  const line = make("div", { class: "line", "data-kept": "search" }, leave, said);
  place.replaceChildren(line);
  let over = false;
  const look = async () => {
    if (over) return;
    try {
      const told = (await ask("how far")).said;
      if (!over && told !== said.textContent) steady(() => (said.textContent = told));
    } catch {
      return; // the search itself tells what is wrong
    }
    setTimeout(look, HOW_FAR);
  };
  setTimeout(look, HOW_FAR);
  try {
    return await search;
  } finally {
    over = true;
    await calm();
    steady(() => line.remove());
  }
}

// What was found is of the state that it was looked for in.
async function offer(place, state, ...what) {
  await calm();
  if (state === page.state) steady(() => now(place).replaceChildren(...what));
  else tell("the job was changed meanwhile; what was found is not for it any more: ask again");
}

function offerPlaces(mount, place, button) {
  return working(button, async () => {
    const { places, state } = await watched(ask("places", { mount }), place);
    const cards = places.map((one) =>
      make(
        "button",
        { type: "button", class: "card", onclick: (event) => run("set", { state, edits: one.edits }, event.currentTarget) },
        small(one.scene),
        make("b", {}, `${one.number}. ${one.where}`),
        ...one.merits.map((words) => make("span", {}, words)),
      ),
    );
    await offer(place, state, make("div", { class: "cards" }, ...cards));
  });
}

function needed(one) {
  if (one.width_needed_mm !== null) return `${one.width_needed_mm} mm wide`;
  if (one.ribs_needed !== null) return `${one.ribs_needed} ribs`;
  if (one.belts_needed === null) return "";
  return one.belts_needed === 1 ? "1 belt" : `${one.belts_needed} belts side by side`;
}

function offerDrives(place, button, narrowed) {
  return working(button, async () => {
    const { choices, edits, state } = await ask("drives", narrowed());
    const per = page.unit === "in" ? 25.4 : 1;
    const heads = ["", "belt", "pulleys: driver, driven", "speeds, rpm", `shafts apart, ${page.unit}`, "wrap", "it takes"].map((word) => make("th", { scope: "col" }, word));
    // what takes it comes first: a table that is wider than its place must not hide it
    const rows = choices.map((one, k) =>
      make(
        "tr",
        {},
        make("td", {}, make("button", { type: "button", "aria-label": `Take number ${k + 1}: ${one.belt}`, onclick: (event) => run("take drive", { state, edits: edits[k] }, event.currentTarget) }, `Take ${k + 1}`)),
        make("td", {}, one.belt),
        make("td", {}, `${one.driver}, ${one.driven}`),
        make("td", { class: "number" }, `${Math.round(one.speed_low_rpm)} to ${Math.round(one.speed_high_rpm)}`),
        make("td", { class: "number" }, (one.centre_distance_mm / per).toFixed(page.unit === "in" ? 2 : 0)),
        make("td", { class: "number" }, `${Math.round(one.wrap_small_deg)}\u00b0`),
        make("td", {}, String(needed(one) || "no table at hand: its maker's tells")),
      ),
    );
    const table = make("table", { class: "drives" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
    await offer(place, state, table, make("p", { class: "about" }, "The best first. Speeds are of the driven shaft. What it takes to carry the motor's power is by published tables; wrap is on the smaller pulley. A rim that is too narrow for the belts becomes as wide."));
  });
}

// What the list of stock drives may be narrowed to: belts that the shop has, pulleys that there is room for.
function narrowing(answer) {
  const own = answer.belt_section ?? "";
  const section = make("select", { "aria-label": "section of the belt" }, make("option", { value: "" }, "belts of any section"), ...(answer.belt_sections ?? []).map((word) => make("option", { value: word }, `${word} only`)));
  section.value = (answer.belt_sections ?? []).includes(own) ? own : "";
  const size = (words) => make("input", { type: "text", size: words.length + 6, autocomplete: "off", inputmode: "decimal", "aria-label": `${words}, ${page.unit}`, placeholder: `${words}, ${page.unit}` });
  const [driver, driven, apart] = [size("driver, at most"), size("driven, at most"), size("shafts apart, about")];
  const line = make("div", { class: "line" }, section, driver, driven, apart);
  return { line, told: () => ({ section: section.value, driver: driver.value.replace(",", "."), driven: driven.value.replace(",", "."), apart: apart.value.replace(",", ".") }) };
}

// -------------------------------------------------------------------------------------- papers and files

function papers(answer) {
  const stop = answer.verdict.word !== "clear";
  const why = !stop ? "" : answer.fresh ? `No cut file while this stands: ${answer.verdict.why}. The papers may be written all the same; each says NOT FOR CUTTING.` : `Nothing can be written yet: ${answer.verdict.why}`;
  const part = make("section", { class: "part", id: "papers" }, make("h2", {}, "Paper and files"));
  const kerf = make("input", { type: "checkbox", id: "kerf" });
  const write = (button) => () => working(button, async () => written(await ask("make", { kerf: kerf.checked })));
  const all = make("button", { type: "button", id: "make", "aria-describedby": "why-not" }, "Write papers and cut files");
  all.disabled = !answer.fresh || stop;
  all.addEventListener("click", write(all));
  // what is printed may be looked at while a stop is open, what is cut may not
  const marked = make("button", { type: "button", id: "make-papers", hidden: !answer.fresh || !stop }, "Write the papers, marked NOT FOR CUTTING");
  marked.addEventListener("click", write(marked));
  const single = Object.entries(PAPERS).map(([which, words]) => {
    const one = make("button", { type: "button", "data-paper": which, "aria-describedby": "why-not" }, words);
    one.disabled = !answer.fresh;
    one.addEventListener("click", () => working(one, async () => written(await ask("paper", { which }))));
    return one;
  });
  const moved = make("button", { type: "button", id: "moved" }, "What moved since these were made");
  moved.disabled = !answer.fresh || !(answer.files ?? []).length;
  moved.addEventListener("click", () => working(moved, async () => written(await ask("moved"))));
  // kept until they are taken: a slip in one of them must not cost the others
  const kept = (page.bars ??= {});
  const keeps = (entry, key) => {
    entry.value = kept[key] ?? "";
    entry.addEventListener("input", () => (kept[key] = entry.value));
    return entry;
  };
  const bars = BARS.map((name) => keeps(make("input", { type: "text", size: 6, inputmode: "decimal", autocomplete: "off", "aria-label": `${name} bar as measured, ${page.unit}`, "data-bar": name }), name));
  const measured = () => bars.filter((one) => one.value.trim()).map((one) => `${one.dataset.bar}=${one.value.trim().replace(",", ".")}`).join(", ");
  const printer = keeps(make("input", { type: "text", size: 12, "aria-label": "name of the printer", placeholder: "printer's name" }), "printer");
  const paper = make("button", { type: "button", id: "print" }, "Write the 1:1 paper");
  paper.disabled = !answer.fresh;
  paper.addEventListener("click", () =>
    working(paper, async () => written(await ask("print", { state: page.state, measured: "", printer: "" }))),
  );
  const corrected = make("button", { type: "button", id: "print-corrected" }, "Write it corrected");
  corrected.disabled = !answer.fresh;
  corrected.addEventListener("click", () =>
    working(corrected, async () => {
      const answer = await ask("print", { state: page.state, measured: measured(), printer: printer.value });
      page.bars = undefined;
      page.barsTaken = (page.barsTaken ?? 0) + 1;
      for (const one of [...bars, printer]) one.given = true;
      written(answer);
    }),
  );
  part.append(
    make("p", { class: stop ? "slip" : "", id: "why-not" }, why),
    make("div", { class: "line" }, all, marked, make("label", { for: "kerf" }, kerf, "with paths half a kerf off the edge")),
    make("div", { class: "line" }, paper),
    make(
      "details",
      { class: "bars", open: page.barsOpen, ontoggle: (event) => (page.barsOpen = event.currentTarget.open) },
      make("summary", {}, "Correct it for the printer"),
      make("p", { class: "about" }, `Print the paper at 100 %, measure its four bars and two diagonals with a steel rule, and type in all six (${page.unit}; fractions are inches), with a name for the printer: it is kept, and every later paper of this job is corrected for it. For a printer that is kept already its name is enough.`),
      make("div", { class: "line places" }, ...bars.map((one) => make("label", { class: "about" }, one.dataset.bar, one)), make("label", { class: "about" }, "printer", printer), corrected),
    ),
    answer.coupon ? ownTable(answer) : "",
    make("div", { class: "line" }, ...single, moved),
    ...made(files(answer)),
  );
  return part;
}

// A test piece tells what the user's own table leaves: it is cut, measured at both faces, and typed in here.
function ownTable(answer) {
  const { process, thickness, sizes } = answer.coupon;
  const kept = (page.coupon ??= {});
  const box = (key, label) => {
    const entry = make("input", { type: "text", size: 7, inputmode: "decimal", autocomplete: "off", value: kept[key] ?? "", "aria-label": label, "data-read": key });
    entry.addEventListener("input", () => (kept[key] = entry.value));
    return entry;
  };
  const piece = make("button", { type: "button", id: "test-piece" }, `Write the test piece: ${process}, ${thickness}`);
  piece.addEventListener("click", () => working(piece, async () => written(await ask("test piece"))));
  const rows = sizes.map((one) => {
    const pair = ["at the face cut from", "at the other face"].map((face, k) => box(`${one.name}.${k}`, `${one.said}, ${face}`));
    return make("tr", {}, make("td", {}, one.said), make("td", { class: "number" }, one.drawn), ...pair.map((entry) => make("td", {}, entry)));
  });
  const heads = ["", "drawn", `at the face cut from (${page.unit})`, `at the other face (${page.unit})`].map((words) => make("th", { scope: "col" }, words));
  const kerf = box("kerf_set", `kerf that the controller allowed for, ${page.unit}`);
  const name = make("input", { type: "text", size: 12, autocomplete: "off", value: kept.table ?? "", "aria-label": "name of the table", placeholder: "table's name", "data-read": "table" });
  name.addEventListener("input", () => (kept.table = name.value));
  const put = make("button", { type: "button", id: "test-piece-read" }, "Take these for this job");
  put.addEventListener("click", () => {
    const read = Object.fromEntries(sizes.map((one) => [one.name, [0, 1].map((k) => kept[`${one.name}.${k}`] ?? "")]));
    return working(put, async () => written(await ask("test piece read", { state: page.state, table: name.value, kerf_set: kerf.value, read })));
  });
  return make(
    "details",
    { class: "bars", id: "own-table", open: page.tableOpen, ontoggle: (event) => (page.tableOpen = event.currentTarget.open) },
    make("summary", {}, "Measure your own cutting table"),
    make("p", { class: "about" }, "Kerf, taper and holes of your own table instead of what is usual: cut the test piece of the same sheet, measure it with a caliper at both faces, and type it in. It is kept for later jobs."),
    make("div", { class: "line" }, piece),
    make("table", { class: "coupon" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows)),
    make("div", { class: "line places" }, make("label", { class: "about" }, "kerf allowed for by the controller (0: it ran on the line)", kerf), make("label", { class: "about" }, "table", name), put),
  );
}

function files(answer) {
  const rows = (answer.files ?? []).map((one) =>
    make("li", {}, make("a", { href: `/file/${page.ticket}/${encodeURIComponent(one.name)}`, target: "_blank", rel: "noopener noreferrer" }, one.name), ` ${Math.ceil(one.size / 1024)} kB`),
  );
  return make("ul", { class: "files" }, ...rows);
}

// What is written comes first; all that was said with it, which the sheet shows already, is kept closed below. It stays
// until the next act, also where the sheet is drawn anew meanwhile.
function made(list) {
  const { told, written: names } = page.made ?? { told: "", written: [] };
  const words = names.length > 1 ? `Written: ${names.length} files.` : names.length ? `Written: ${names[0]}.` : "";
  return [
    make("p", { id: "made-word", role: "status", hidden: !words }, words),
    list,
    make("details", { id: "made-told", hidden: !told, open: !names.length }, make("summary", {}, names.length ? "All that was said while it was made" : "What it comes to"), make("pre", { id: "made" }, told)),
  ];
}

function written(answer) {
  page.made = { told: answer.told, written: answer.written };
  take(answer);
  // who has gone on elsewhere meanwhile stays there
  later("written", () => {
    const active = document.activeElement;
    if (active !== document.body && !by("papers").contains(active)) return;
    (answer.written.length ? by("made-word") : by("made-told")).scrollIntoView({ block: "nearest" });
  }, () => !waits("sheet"));
}

// ------------------------------------------------------------------------------------------- the spec

function text(answer) {
  const part = make("details", { class: "part", id: "spec", open: page.specOpen });
  part.addEventListener("toggle", () => (page.specOpen = part.open));
  const typed = make("textarea", { rows: 24, spellcheck: "false", wrap: "off", "aria-label": "the spec", value: page.typed ?? answer.text });
  const wrong = make("ul", { class: "slip" });
  const state = page.typed === undefined ? answer.state : page.typedState;
  const save = make("button", { type: "button" }, "Save the spec");
  const leave = make("button", { type: "button", class: "quiet" }, "Take back what was typed");
  const proof = latest(async () => {
    const { problems } = await ask("proofread", { text: typed.value });
    later("proof", () => wrong.replaceChildren(...problems.slice(0, 8).map((one) => make("li", {}, one.said))));
  });
  typed.addEventListener("input", () => {
    page.typed = typed.value;
    page.typedState = state;
    proof();
  });
  const forget = () => {
    page.typed = undefined;
    page.typedState = undefined;
  };
  save.addEventListener("click", async () => {
    const words = typed.value;
    forget();
    if (!(await run("save", { state, text: words }, typed))) {
      page.typed = words;
      page.typedState = page.state;
      by("spec").querySelector("textarea").value = words;
    }
  });
  leave.addEventListener("click", () => {
    forget();
    sheet(page.answer);
  });
  part.append(make("summary", {}, make("h2", {}, "The spec itself")), typed, wrong, make("div", { class: "line" }, save, leave));
  return part;
}

function goTo(line) {
  const part = by("spec");
  part.open = true;
  const typed = part.querySelector("textarea");
  const lines = typed.value.split("\n");
  const before = lines.slice(0, Math.max(line - 1, 0)).reduce((sum, one) => sum + one.length + 1, 0);
  typed.focus();
  typed.setSelectionRange(before, before + (lines[line - 1] ?? "").length);
  typed.scrollTop = (typed.scrollHeight / lines.length) * Math.max(line - 4, 0);
}

// --------------------------------------------------------------------------------------------- starting

async function start() {
  const answer = await ask("start");
  page.ticket = answer.ticket;
  const open = answer.open;
  by("start").hidden = Boolean(open);
  by("desk").hidden = !open;
  by("close").hidden = !open;
  page.measuring = false;
  by("undo").hidden = by("redo").hidden = !open;
  if (open) return run("look", { state: "" });
  by("title").textContent = "platekit";
  by("which").textContent = `in the folder ${answer.folder}`;
  page.said = "";
  by("verdict").replaceChildren();
  by("verdict").className = "verdict";
  by("start").replaceChildren(newJob(answer, begin, tell), jobs(answer), examples(answer));
  by("cautions").replaceChildren(...answer.cautions.map((one) => make("li", {}, one)));
  return undefined;
}

const STANDS = { clear: "clear to cut", stop: "a stop is open", unusable: "cannot be laid out" };

function jobs(answer) {
  // A card has its full size from the start, and what comes in later is put into its parts: nothing moves or goes away
  // under the pointer of one who knows the name and clicks at once.
  const cards = answer.specs.map((name) =>
    make(
      "button",
      { type: "button", class: "card", "data-job": name, onclick: () => begin("open", { name }) },
      make("span", { class: "look" }),
      make("b", {}, name),
      make("span", { class: "stands" }),
    ),
  );
  peek(cards);
  if (!cards.length) return make("p", { class: "about" }, "There are no jobs in this folder yet: answer the first question above, or open an example.");
  return make("section", { class: "part" }, make("h2", {}, "Jobs in this folder"), make("div", { class: "cards" }, ...cards));
}

// Jobs that come with platekit, to look round in: a copy goes into the folder, and the example stays as it is.
function examples(answer) {
  if (!answer.examples?.length) return "";
  const cards = answer.examples.map((one) =>
    make("button", { type: "button", class: "card", "data-example": one.name, onclick: () => begin("example", { name: one.name }) }, make("b", {}, one.title), make("span", {}, one.name)),
  );
  return make("section", { class: "part" }, make("h2", {}, "Examples to open"), make("p", {}, "Invented jobs. A click puts a copy into this folder and opens it; change in it what you like."), make("div", { class: "cards" }, ...cards));
}

// Each job is laid out for its picture, one after the other: the names are there at once.
async function peek(cards) {
  for (const card of cards) {
    try {
      const one = await ask("peek", { name: card.dataset.job });
      if (one.open || !card.isConnected || by("start").hidden) return;
      card.classList.add(one.word);
      const [look, title, stands] = card.children;
      look.replaceChildren(one.front ? small(one.front) : make("span", { class: "slip" }, one.why));
      title.textContent = one.title;
      stands.textContent = `${one.name}: ${STANDS[one.word]}`;
    } catch {
      // it keeps its name; opening it tells what is wrong
    }
  }
}

async function begin(act, about) {
  if (page.beginning) return false;
  page.beginning = true;
  tell("");
  try {
    await ask(act, about);
    await start();
    window.scrollTo(0, 0);
    return true;
  } catch (error) {
    tell(error.message);
    return false;
  } finally {
    page.beginning = false;
  }
}

by("undo").addEventListener("click", () => run("undo", {}));
by("redo").addEventListener("click", () => run("redo", {}));
by("close").addEventListener("click", async () => {
  await ask("close");
  await start();
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest?.("input[type=text], textarea");
  if (typing || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  event.preventDefault();
  run(event.shiftKey ? "redo" : "undo", {});
});
// What sticks below the head of the page has to know how high that is: its words may take one line or four.
new ResizeObserver(() => document.documentElement.style.setProperty("--head", `${document.querySelector("header").offsetHeight}px`)).observe(document.querySelector("header"));
by("signs").append(...legend());
setInterval(async () => {
  const state = page.state;
  const busy = () => page.acts || fronts.held || sides.held || !free(by("desk"));
  if (by("desk").hidden || document.hidden || busy() || waits("look")) return;
  try {
    const answer = await ask("look", { state });
    // What another program wrote is shown when nobody is in the middle of something: until then the sheet is of the old
    // state, and what is done on it is refused by the server.
    if (!answer.same) later("look", () => state === page.state && !by("desk").hidden && take(answer), () => !busy());
  } catch (error) {
    tell(error.message);
  }
}, POLL);
start().catch((error) => tell(error.message));
