// The boxes beside a drag: whatever a handle changes can be typed as well, and follows while it is dragged.

import { lay } from "./steady.js";
import { make } from "./talk.js";

export class Numbers {
  constructor(place, page, ways) {
    this.place = place;
    this.page = page;
    this.ways = ways;
    this.name = "";
  }

  // The boxes of one handle, when it is taken hold of; nothing happens where they are shown already.
  choose(handle) {
    if (handle.name === this.name) return;
    this.name = handle.name;
    this.show();
  }

  // Anew, from what the sheet has now.
  show() {
    const handle = (this.page.answer?.scene?.handles ?? []).find((one) => one.name === this.name);
    const rows = this.page.answer?.numbers?.[this.name] ?? [];
    const none = { key: "none", build: () => make("p", { class: "about" }, "Take hold of a handle: its numbers can be typed here.") };
    if (!handle || !rows.length) return lay(this.place, [none]);
    const boxes = rows.map((row) => ({ key: `${this.name} ${row.field}`, data: () => row, build: () => this.box(row) }));
    return lay(this.place, [{ key: "said", data: () => handle.said, build: () => make("b", {}, handle.said) }, ...boxes]);
  }

  box(row) {
    const typed = make("input", { type: "text", size: 8, value: row.typed, "data-number": row.field, "aria-label": `${this.name}, ${row.label}`, autocomplete: "off" });
    typed.addEventListener("change", () => typed.value !== row.typed && this.ways.run("edit", { edits: [[row.field, typed.value, row.kind]] }, typed));
    typed.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      typed.value = row.typed;
      typed.blur();
    });
    return make("label", { class: "number-box" }, make("span", { class: "about" }, row.label), typed);
  }

  // What a drag comes to so far, [[field, value], ...]: nothing is written yet.
  follow(edits) {
    for (const [field, value] of edits ?? []) {
      const whole = this.place.querySelector(`[data-number="${CSS.escape(field)}"]`);
      if (whole) whole.value = Array.isArray(value) ? `[${value.join(", ")}]` : value;
      else if (Array.isArray(value)) {
        value.forEach((one, k) => {
          const part = this.place.querySelector(`[data-number="${CSS.escape(`${field}.${k}`)}"]`);
          if (part) part.value = one;
        });
      }
    }
  }
}
