// Screw holes: how wide and how many, by slider or number, with the odds beside them while they are pulled.

import { ask, latest, make } from "./talk.js";

export function holes(rows, page, ways) {
  const said = "The odds count how well the old holes are known, how the plate is cut or drilled, and the play of the screws.";
  return make("section", { class: "part", id: "holes" }, make("h2", {}, "Screw holes and their odds"), make("p", { class: "about" }, said), ...rows.map((one) => mount(one, page, ways)));
}

function mount(one, page, ways) {
  const odds = make("output", { class: "odds", "data-odds": one.mount });
  tell(odds, one.odds);
  return make("fieldset", { class: "box" }, make("legend", {}, one.mount), ...one.boxes.map((box) => line(one.mount, box, odds, page, ways)), odds);
}

function tell(place, odds) {
  const word = { stop: "Stop: ", warn: "Warning: " }[odds.level] ?? "";
  place.classList.toggle("slip", Boolean(word));
  place.textContent = word + odds.said;
}

function line(name, box, odds, page, ways) {
  const label = `${name}, ${box.label}`;
  const typed = make("input", { type: "text", size: 8, value: box.typed, "aria-label": label, "data-hole": box.field, autocomplete: "off" });
  const [from, to, step] = box.slide;
  const pull = make("input", { type: "range", min: from, max: to, step, value: box.at, "aria-label": `${label}, slider`, "data-pull": box.field });
  const number = () => String(Number(Number(pull.value).toFixed(6)));
  const write = (words, where) => ways.run("edit", { edits: [[box.field, words, "words"]] }, where);
  // The odds may have to be drawn, which takes up to a second: they are asked for where the slider rests.
  const draw = latest(async (words, state) => {
    try {
      const answer = await ask("odds", { state, edits: [[box.field, words, "words"]] });
      if (state === page.state && number() === words && answer.odds[name]) tell(odds, answer.odds[name]);
    } catch {
      // the picture has said why it cannot be so
    }
  });
  const follow = latest(async (words) => {
    const state = page.state;
    try {
      const answer = await ask("try", { state, edits: [[box.field, words, "words"]] });
      if (state === page.state) ways.trial(answer);
      if (number() === words) draw(words, state);
    } catch (error) {
      ways.untried(error.message);
    }
  });
  pull.addEventListener("input", () => {
    typed.value = number();
    follow(number());
  });
  pull.addEventListener("change", () => write(number(), pull));
  typed.addEventListener("change", () => typed.value !== box.typed && write(typed.value, typed));
  typed.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    typed.value = box.typed;
    typed.blur();
  });
  return make("div", { class: "line" }, make("span", { class: "about" }, box.label), typed, pull);
}
