// A new job by questions: one after the other, each answer kept as it is given, so that it can be left and taken up.

import { later } from "./steady.js";
import { ask, make } from "./talk.js";

// `begin` opens the job that was written; `fail` tells why something will not do.
export function newJob(told, begin, fail) {
  const place = make("section", { class: "part new-job", id: "new-job" });
  let answer = told;
  let again = "";
  const draw = (focus) => {
    const { questions, answers } = answer;
    const open = again || questions.find((one) => !(one.name in answers))?.name;
    const done = questions.filter((one) => one.name in answers && one.name !== open);
    const count = questions.filter((one) => !(one.name in answers)).length;
    const rows = done.map((one) =>
      make(
        "li",
        {},
        make("span", { class: "about" }, `${one.asks} `),
        make("b", {}, said(one, answers[one.name])),
        make("button", { type: "button", class: "quiet", "aria-label": `Change: ${one.asks}`, onclick: () => ((again = one.name), draw(true)) }, "change"),
      ),
    );
    const question = questions.find((one) => one.name === open);
    const parts = [make("h2", {}, "A new job")];
    if (rows.length) parts.push(make("ul", { class: "answered" }, ...rows));
    if (question) parts.push(asked(question, answers, count, give));
    else parts.push(make("p", {}, "That is all that is needed to begin; everything can be changed on the sheet."));
    const end = make("div", { class: "line" });
    if ("title" in answers) end.append(make("button", { type: "button", id: "start-job", onclick: start }, question ? "Begin now, the rest as usual" : "Begin this job"));
    if (rows.length) end.append(make("button", { type: "button", class: "quiet", onclick: forget }, "Forget these answers"));
    parts.push(end);
    if (rows.length) parts.push(make("p", { class: "about" }, "The answers are kept in this folder: you may leave the page and go on another day."));
    // who has gone elsewhere on the page meanwhile keeps that
    const active = document.activeElement;
    const here = active === document.body || place.contains(active);
    place.replaceChildren(...parts);
    if (focus && here) place.querySelector("form input:checked, form input, #start-job")?.focus();
  };
  let giving = false;
  const give = async (name, typed, where) => {
    // pressed twice: the second answer would come when the next question is being answered already
    if (giving) return;
    giving = true;
    try {
      answer = await ask("answer", { name, typed });
      again = "";
      fail("");
      later("new job", () => draw(true));
    } catch (error) {
      fail(error.message, where);
      if (place.contains(document.activeElement)) where?.focus();
    }
    giving = false;
  };
  const start = async (event) => {
    const button = event.currentTarget;
    const words = button.textContent;
    button.disabled = true;
    button.textContent = "At work: trying places for the motor ...";
    const good = await begin("new", {});
    if (!good) {
      button.disabled = false;
      button.textContent = words;
    }
  };
  const forget = async () => {
    answer = await ask("forget");
    again = "";
    later("new job", () => draw(true));
  };
  draw(false);
  return place;
}

// An answer as it is read back: with its unit, where only a figure was typed.
function said(one, typed) {
  if (one.words) return one.words[typed] ?? typed;
  if (!typed) return "left empty";
  return one.per && /^[\d.,]+$/.test(typed) ? `${typed} ${one.per}` : typed;
}

function asked(one, answers, count, give) {
  const form = make("form", { class: "asked", "data-question": one.name });
  form.append(make("p", { class: "wanted", id: "asked" }, make("b", {}, one.asks), one.about ? make("span", { class: "about" }, ` ${one.about}`) : null));
  const usual = answers[one.name] ?? one.usual;
  let value;
  if (one.words) {
    const choices = Object.entries(one.words).map(([word, said]) => {
      const box = make("input", { type: "radio", name: "answer", value: word, checked: word === usual, id: `answer-${word}` });
      return make("label", { class: one.pictures ? "choice pictured" : "choice", for: `answer-${word}` }, box, one.pictures ? drawing(word) : null, make("span", {}, said));
    });
    form.append(make("div", { class: "choices", role: "radiogroup", "aria-labelledby": "asked" }, ...choices));
    value = () => form.querySelector("input:checked")?.value ?? "";
  } else {
    const typed = make("input", { type: "text", size: 34, id: "answer", "aria-labelledby": "asked", autocomplete: "off", value: answers[one.name] ?? (one.names ? "" : usual), placeholder: one.example || (one.names ? usual : "") });
    form.append(one.per ? make("span", { class: "line" }, typed, make("span", { class: "about" }, one.per)) : typed);
    value = () => typed.value;
    if (one.names) form.append(listed(one, typed, usual));
    typed.addEventListener("focus", () => typed.select());
  }
  form.append(make("div", { class: "line" }, make("button", { type: "submit" }, "Next"), make("span", { class: "about" }, `${count} to go`)));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    give(one.name, value(), form.querySelector("#answer"));
  });
  return form;
}

// What the tables have, narrowed by what is typed; a click takes one.
function listed({ names, figures, pictures }, typed, usual) {
  const MOST = 24;
  const about = (name) => figures?.[name] ?? "";
  const place = make("div", { class: "line names" });
  const show = () => {
    const said = typed.value.trim().toLowerCase();
    const found = names.filter((name) => said.split(/\s+/).every((part) => `${name} ${about(name)}`.toLowerCase().includes(part)));
    found.sort((a, b) => b.toLowerCase().includes(said) - a.toLowerCase().includes(said));
    const first = !said && names.includes(usual) ? [usual, ...found.filter((name) => name !== usual)] : found;
    const take = (name) => {
      typed.value = name;
      typed.form.requestSubmit();
    };
    const rest = found.length - MOST;
    place.replaceChildren(
      ...first.slice(0, MOST).map((name) =>
        make("button", { type: "button", class: pictures ? "frame" : figures ? "frame bare" : "", onclick: () => take(name) }, pictures ? drawing(pictures[name]) : null, make("b", {}, name), figures ? make("span", { class: "about" }, about(name)) : null),
      ),
      rest > 0 ? make("span", { class: "about" }, `and ${rest} more: type a part of the name`) : "",
      found.length ? "" : make("span", { class: "about" }, "none is called so"),
    );
  };
  typed.addEventListener("input", show);
  show();
  return place;
}

// Small pictures of our own: the plate is the thick line, the shaft the thin one.
export function drawing(word) {
  const svg = make("svg:svg", { class: "small-sketch", viewBox: "0 0 120 80", "aria-hidden": "true" });
  const path = (d, kind) => svg.append(make("svg:path", { d, class: kind }));
  const ring = (x, y, r) => svg.append(make("svg:circle", { cx: x, cy: y, r, class: "thin" }));
  if (word === "face") {
    path("M30 8V72", "thick");
    path("M34 14H42V66H34ZM42 20H100V60H42ZM58 20V12H80V20", "thin");
    path("M42 40H8M8 36V44", "shaft");
    path("M52 28H92M52 36H92M52 44H92M52 52H92", "fine");
  } else if (word === "through") {
    // a flange wider than the motor: screws with nuts go through it and through the plate
    path("M30 4V76", "thick");
    path("M34 6H42V74H34ZM42 22H100V58H42Z", "thin");
    path("M42 40H8M8 36V44", "shaft");
    path("M18 13H54M20 9V17M50 8V18M18 67H54M20 63V71M50 62V72", "thin");
    path("M52 31H92M52 40H92M52 49H92", "fine");
  } else if (word === "threads") {
    // a face no wider than the motor: screws come through the plate into threads in it
    path("M30 4V76", "thick");
    path("M34 16H100V64H34Z", "thin");
    path("M34 40H8M8 36V44", "shaft");
    path("M18 25H56M20 20V30M18 55H56M20 50V60", "thin");
    path("M40 22V28M44 22V28M48 22V28M52 22V28M40 52V58M44 52V58M48 52V58M52 52V58", "fine");
  } else if (word === "feet") {
    path("M10 66H110", "thick");
    path("M30 16H88V54H30ZM34 54V62H46V54M72 54V62H84V54M48 16V8H68V16", "thin");
    path("M88 35H114M114 31V39", "shaft");
    path("M38 24H80M38 32H80M38 40H80M38 48H80", "fine");
  } else if (word === "measure") {
    for (const [x, y] of [[30, 20], [88, 14], [96, 58], [24, 64]]) ring(x, y, 5);
    ring(60, 40, 14);
    path("M30 12L88 6M30 8V16M88 2V10", "shaft");
  } else if (word === "circle") {
    for (const turn of [45, 135, 225, 315]) ring(60 + 28 * Math.cos((turn * Math.PI) / 180), 40 + 28 * Math.sin((turn * Math.PI) / 180), 5);
    svg.append(make("svg:circle", { cx: 60, cy: 40, r: 28, class: "fine" }));
  } else if (word === "flange") {
    path("M30 8V72", "thick");
    path("M34 18H42V62H34ZM42 28H70V20H96V60H70V52H42", "thin");
    path("M42 40H12", "shaft");
    ring(83, 40, 9);
  } else if (word === "before" || word === "behind") {
    // the old machine to the right of the plate, its pulley on either side of it
    path("M52 8V72", "thick");
    path("M58 20H112V60H58Z", "thin");
    path("M66 28H104M66 36H104M66 44H104M66 52H104", "fine");
    if (word === "before") path("M58 40H10M8 36V44", "shaft");
    else path("M112 40H118", "shaft");
    if (word === "before") path("M18 16H34V64H18Z", "thin");
    else path("M70 6H86V74H70Z", "thin");
  } else if (word === "belt") {
    ring(30, 52, 12);
    ring(88, 34, 24);
    path("M26 40.500L80 11.500M34 63.500L96 56.500", "shaft");
  } else if (word === "two") {
    ring(20, 60, 8);
    ring(62, 36, 22);
    ring(62, 36, 8);
    ring(102, 20, 15);
    path("M18 52.200L54 15.500M24 67L68 57.200", "shaft");
    path("M60 28.200L98 5.600M65 43.400L107 34.200", "shaft");
  } else if (word === "none") {
    path("M12 28H48V52H12ZM72 22H108V58H72Z", "thin");
    path("M48 40H72M56 32V48M64 32V48", "shaft");
  } else if (word === "rectangle") {
    for (const [x, y] of [[26, 16], [94, 16], [94, 64], [26, 64]]) ring(x, y, 5);
    path("M26 16H94V64H26Z", "fine");
  }
  return svg;
}
