// A box with a list of its own: filled from the tables as one types, gone through by arrows, taken by Enter or a click.

import { ask, latest, make } from "./talk.js";
import { drawing } from "./new_job.js";
import { later } from "./steady.js";

let counted = 0;

// `typed` and its list, to be put in the place of the box. What is taken changes the box as typing it would.
export function withList(typed, field) {
  const id = `offers${(counted += 1)}`;
  const list = make("ul", { id, role: "listbox", class: "offers", hidden: true, "aria-label": `from the tables, for ${typed.getAttribute("aria-label")}` });
  for (const [name, value] of Object.entries({ role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": id })) typed.setAttribute(name, value);
  let lit = -1;
  let turn = 0; // of what is asked: an answer to a list that was closed meanwhile does not open it again
  let asked = 0;
  let wish = 0; // an arrow that was pressed before there was a list
  const rows = () => [...list.querySelectorAll("[role=option]")];
  const close = () => {
    list.hidden = true;
    lit = -1;
    wish = 0;
    turn += 1;
    typed.setAttribute("aria-expanded", "false");
    typed.removeAttribute("aria-activedescendant");
  };
  const light = (k) => {
    const all = rows();
    lit = (k + all.length) % all.length;
    all.forEach((row, j) => row.setAttribute("aria-selected", String(j === lit)));
    typed.setAttribute("aria-activedescendant", all[lit].id);
    all[lit].scrollIntoView({ block: "nearest" });
  };
  const pick = (name) => {
    close();
    typed.value = name;
    typed.dispatchEvent(new Event("change", { bubbles: true }));
  };
  const begin = (words) => {
    asked += 1;
    look(words).finally(() => (asked -= 1));
  };
  const look = latest(async (words) => {
    const mine = turn;
    let answer = { names: [] };
    try {
      answer = await ask("look up", { field, typed: words });
    } catch {
      // there is no list then
    }
    // not while an entry of the list is pressed: another would be in its place
    later(id, () => {
      if (mine !== turn) return;
      if (document.activeElement !== typed || !answer.names.length) close();
      else show(answer);
    });
  });
  const show = (answer) => {
    // whoever goes through the list by keys stays at his entry
    const held = rows()[lit]?.dataset.offer;
    const k = answer.names.findIndex((one) => one.name === held);
    const more = answer.more ? [make("li", { class: "about", role: "presentation" }, `${answer.more} more: type a part of the name`)] : [];
    list.replaceChildren(
      ...answer.names.map((one, k) =>
        make(
          "li",
          { id: `${id}-${k}`, role: "option", "aria-selected": "false", "data-offer": one.name, onclick: () => pick(one.name) },
          one.picture ? drawing(one.picture) : null,
          make("b", {}, one.name),
          one.about ? make("span", { class: "about" }, ` ${one.about}`) : null,
        ),
      ),
      ...more,
    );
    list.hidden = false;
    list.style.left = "0";
    // under a box that stands far to the right a wide list would leave the window: it is moved back as far as it must
    const { left, right } = list.getBoundingClientRect();
    const over = right - document.documentElement.clientWidth + 8;
    if (over > 0) list.style.left = `${-Math.min(over, left)}px`;
    typed.setAttribute("aria-expanded", "true");
    lit = -1;
    if (k >= 0) light(k);
    else if (wish) light(wish > 0 ? 0 : -1);
    else typed.removeAttribute("aria-activedescendant");
    wish = 0;
  };
  // the box keeps the focus while an entry is clicked
  list.addEventListener("mousedown", (event) => event.preventDefault());
  typed.addEventListener("input", () => begin(typed.value));
  typed.addEventListener("blur", close);
  typed.addEventListener("keydown", (event) => {
    const open = !list.hidden && rows().length > 0;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (open) light(event.key === "ArrowDown" ? lit + 1 : lit - 1 + (lit < 0 ? 1 : 0));
      else {
        // of what is being looked up for what was typed, or of all
        wish = asked ? (event.key === "ArrowDown" ? 1 : -1) : 0;
        if (!asked) begin("");
      }
    } else if (event.key === "Enter" && open && lit >= 0) {
      event.preventDefault();
      pick(rows()[lit].dataset.offer);
    } else if (event.key === "Escape" && open) {
      // closes the list, and only the next Escape gives the box its old value back
      event.stopImmediatePropagation();
      close();
    }
  });
  return make("span", { class: "listed" }, typed, list);
}
