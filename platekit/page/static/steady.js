// What is under somebody's hands stays there. Answers come whenever they are ready: none of them takes away what is being
// pressed, typed, marked or read, closes what is open, or moves it. Whatever an answer changes on the page goes through here.

const TAP = 400; // ms within which the click follows a finger that was lifted
const AGAIN = 150; // ms between looks whether what waits may be drawn
const OPEN = CSS.supports("selector(:open)") ? "[aria-expanded=true], select:open" : "[aria-expanded=true]";
const WRITES = "[data-field], [data-hole], [data-pull], [data-number], [data-picked], [type=range], textarea"; // what is typed here is an act
const SCROLLED = "table, pre, textarea, .names";

// ------------------------------------------------------------------------------------------- whose hands are where

const hands = { pressed: false, x: -1, y: -1, onKeys: false };
const waiting = new Map(); // what is still to be drawn, the latest of each name
let letting = 0;
let looking = 0;

function letGo(ms) {
  clearTimeout(letting);
  letting = setTimeout(() => {
    hands.pressed = false;
    settle();
  }, ms);
}

function press() {
  clearTimeout(letting);
  hands.pressed = true;
}

function on(kinds, told) {
  for (const kind of kinds.split(" ")) window.addEventListener(kind, told, true);
}

on("pointerdown", (event) => event.button === 0 && press());
// the click comes in the same breath as a mouse button, and some time after a finger
on("pointerup", (event) => letGo(event.pointerType === "mouse" ? 0 : TAP));
on("pointercancel click", () => letGo(0));
on("pointermove pointerdown", (event) => {
  Object.assign(hands, { x: event.clientX, y: event.clientY, onKeys: false });
  // it was let go where this page could not see it
  if (hands.pressed && event.type === "pointermove" && event.buttons === 0) letGo(0);
});
window.addEventListener("blur", () => letGo(0)); // the window's own: those of boxes do not come up to it
on("keydown", (event) => {
  hands.onKeys = true;
  const one = event.target;
  // a button acts when the blank is let go; a handle or a slider goes on as long as its arrow is down
  if ((event.key === " " && one.matches?.("button, summary, [type=checkbox], [type=radio]")) || (event.key.startsWith("Arrow") && one.matches?.("[role=button], [type=range]"))) press();
  if (event.key.startsWith("Arrow") && one.matches?.("[list]")) one.typing = true; // its list may be open
});
on("keyup", () => hands.pressed && letGo(0));
on("mousedown", (event) => event.target.matches?.("[list]") && (event.target.typing = true));
on("input", (event) => {
  event.target.typing = true;
  event.target.given = false;
  if (event.target.form) event.target.form.given = false;
});
on("change blur", (event) => (event.target.typing = false));
on("submit", (event) => [...event.target.elements].forEach((one) => (one.typing = false)));

// The second click of a pair is for what got the first one, not for what has come in its place meanwhile.
let clicked = null;
on("click", (event) => {
  const one = event.target.closest?.("button, summary, a, label");
  if (event.detail > 1 && one && one !== clicked) {
    event.preventDefault();
    event.stopImmediatePropagation();
  } else clicked = one;
});

// Whether nobody types in a place, or has a list open in it.
export function free(place) {
  const one = document.activeElement;
  return !(one?.typing && one.matches("input") && place.contains(one)) && !place.querySelector(OPEN);
}

// Draws at once, or as soon as nothing is pressed any more and `may` says so; of one name only the latest is drawn.
export function later(name, draw, may = () => true) {
  waiting.delete(name);
  waiting.set(name, [draw, may]);
  settle();
}

export function settle() {
  for (const [name, [draw, may]] of [...waiting]) {
    // one of them may have led to another, and that drawn it already
    if (hands.pressed || waiting.get(name)?.[0] !== draw || !may()) continue;
    waiting.delete(name);
    steady(draw);
  }
  if (waiting.size && !looking) {
    looking = setTimeout(() => {
      looking = 0;
      settle();
    }, AGAIN);
  }
}

export function waits(name) {
  return waiting.has(name);
}

// For what goes on after an answer: fulfilled when nothing is pressed.
export function calm() {
  return new Promise((done) => later(Symbol("calm"), done));
}

// ------------------------------------------------------------------------------------------- nothing moves

let within = false;
let gap = null;

// Changes the page, with what is under the pointer, or has the keys, at the same place of the window afterwards.
export function steady(draw) {
  if (within) return draw();
  within = true;
  try {
    const held = anchors();
    draw();
    if (gap) gap.style.marginTop = "";
    gap = null;
    document.body.style.minHeight = "";
    for (const { one, top, where } of held) {
      const now = one.isConnected ? one : found(where);
      if (now) return put(now, top);
    }
    return undefined;
  } finally {
    within = false;
  }
}

function put(one, top) {
  const off = () => one.getBoundingClientRect().top - top;
  if (Math.abs(off()) > 0.5) window.scrollBy({ top: off(), behavior: "instant" });
  const rest = off();
  if (rest < -0.5) {
    // there is nothing above to be scrolled to: room is left instead
    gap = one.closest(".finding, .part") ?? one;
    gap.style.marginTop = `${parseFloat(getComputedStyle(gap).marginTop) - rest}px`;
  } else if (rest > 0.5) {
    document.body.style.minHeight = `${document.body.offsetHeight + rest}px`;
    window.scrollBy({ top: off(), behavior: "instant" });
  }
}

// What is looked at, and all that it stands in: the first of them that is still there is held.
function anchors() {
  const root = document.querySelector("main");
  const fixed = (one) => one.closest("header") || (one.closest("#pictures") && getComputedStyle(one.closest("#pictures")).position === "sticky");
  const seen = (one) => {
    const { top, bottom } = one.getBoundingClientRect();
    return bottom > 0 && top < window.innerHeight;
  };
  const pointed = hands.x < 0 ? null : document.elementFromPoint(hands.x, hands.y);
  const active = document.activeElement;
  const first = [...root.querySelectorAll("#sheet > *, #start > *")].find(seen);
  const from = [...(hands.onKeys ? [active, pointed] : [pointed, active]), first].find((one) => one && one !== document.body && root.contains(one) && one !== root && !fixed(one) && seen(one));
  const held = [];
  for (let one = from; one && one !== root; one = one.parentElement) held.push({ one, top: one.getBoundingClientRect().top, where: address(one, root) });
  return held;
}

// ------------------------------------------------------------------------------------------- known again

// What tells an element from others of its kind: its id and data, or else its label.
function sign(one) {
  const all = [...one.attributes];
  const own = all.filter(({ name }) => name === "id" || (name.startsWith("data-") && name !== "data-chosen"));
  return (own.length ? own : all.filter(({ name }) => name === "aria-label")).map(({ name, value }) => `[${name}="${CSS.escape(value)}"]`).join("");
}

const words = (one) => (one.matches("button") ? one.busy || one.textContent : "");

// Where an element stands below another: found there again after all in between was made anew.
function address(one, root) {
  const steps = [];
  for (let at = one; at && at !== root; ) {
    let scope = at.parentElement;
    while (scope && scope !== root && !sign(scope)) scope = scope.parentElement;
    if (!scope) return null;
    const what = at.tagName + sign(at);
    steps.unshift([what, [...scope.querySelectorAll(what)].indexOf(at), words(at)]);
    at = scope;
  }
  return { root, steps };
}

function found(where, root = where?.root) {
  if (!where) return null;
  let at = root;
  for (const [what, k, said] of where.steps) {
    const all = [...at.querySelectorAll(what)];
    const one = !said || (all[k] && words(all[k]) === said) ? all[k] : (all.find((other) => words(other) === said) ?? (what.includes("[") ? all[k] : null));
    if (!one) return null;
    at = one;
  }
  return at;
}

// What stands for an element now, where its part of the page was made anew since.
export function now(one) {
  let at = one;
  while (at?.twin) at = at.twin;
  return at;
}

const valued = (one) => (one.matches("[type=checkbox], [type=radio]") ? one.checked : one.value);

// ------------------------------------------------------------------------------------------- made anew, in part

// The parts of a place, {key, data(), build()}: one whose data are what they were stays as it is, so that all in it does.
// `stays(old)` says that it stays all the same, `update(old)` renews it from within.
export function lay(place, wanted) {
  const back = kept(place);
  const keys = new Set(wanted.map((part) => part.key));
  for (const one of [...place.childNodes]) if (!keys.has(one.laid?.key)) one.remove();
  const old = new Map([...place.children].map((one) => [one.laid.key, one]));
  let at = place.firstElementChild;
  for (const part of wanted) {
    let one = old.get(part.key);
    if (one && part.update) part.update(one);
    else if (one && (part.stays?.(one) || (one.laid.data === told(part) && !part.stale?.(one) && !strays(one)))) part.same?.(one);
    else if (one) {
      const fresh = built(part);
      if (one === at) at = at.nextElementSibling;
      swap(one, fresh);
      if (at !== fresh.nextElementSibling) place.insertBefore(fresh, at);
      continue;
    } else one = built(part);
    if (one === at) at = at.nextElementSibling;
    else place.insertBefore(one, at);
  }
  back();
}

// One part made anew where it stands: its user changed what it shows, or an answer of its own has come.
export function redraw(one) {
  const back = kept(one.parentElement);
  const fresh = built(one.laid.of);
  swap(one, fresh);
  back();
  return fresh;
}

const told = (part) => JSON.stringify(part.data?.() ?? null);

function built(part) {
  const one = part.build();
  one.laid = { key: part.key, of: part, data: told(part) };
  for (const box of one.querySelectorAll("input, select, textarea")) box.begun = valued(box);
  for (const folded of one.querySelectorAll("details")) folded.begun = folded.open;
  return one;
}

// A box of the spec that shows what is not in it, as after a refusal.
function strays(part) {
  return [...part.querySelectorAll(WRITES)].some((box) => "begun" in box && valued(box) !== box.begun && !box.classList.contains("wrong"));
}

// Puts a part in the place of an old one, with all that its user had done in that and that is in no spec yet.
function swap(old, fresh) {
  const twin = (one) => found(address(one, old), fresh);
  const pairs = (what) => [...old.querySelectorAll(what)].map((one) => [one, twin(one)]).filter(([, other]) => other);
  for (const [one, other] of pairs("details")) if ("begun" in one && one.open !== one.begun) other.open = one.open;
  for (const [one, other] of pairs("input, select, textarea")) {
    const wrong = one.classList.contains("wrong");
    if (!("begun" in one) || one.begun !== other.begun || valued(one) === one.begun || one.given || one.type === "file") continue;
    if (one.matches(WRITES) && !wrong) continue;
    if (one.matches("[type=checkbox], [type=radio]")) other.checked = one.checked;
    else other.value = one.value;
    other.dispatchEvent(new Event("carried"));
  }
  for (const [one, other] of pairs(".wrong")) {
    other.classList.add("wrong");
    other.setAttribute("aria-invalid", "true");
    one.twin = other;
  }
  // who waits for something goes on waiting for it; `busy` has the words of a button that says so
  for (const [one, other] of pairs("[data-offers]")) one.twin = other;
  for (const [one, other] of pairs("button")) {
    if (!one.busy) continue;
    Object.assign(other, { busy: one.busy, disabled: true, textContent: one.textContent });
    one.twin = other;
  }
  const inner = pairs(SCROLLED).map(([one, other]) => [other, one.scrollLeft, one.scrollTop]);
  for (const one of old.querySelectorAll("[data-kept]")) {
    const place = one.given ? null : one.parentElement === old ? fresh : twin(one.parentElement);
    place?.append(one);
  }
  old.replaceWith(fresh);
  for (const [other, left, top] of inner) if (left || top) other.scrollTo(left, top);
}

// What has the focus, and what is marked: given back once the place is made anew.
function kept(place) {
  const active = place.contains(document.activeElement) ? document.activeElement : null;
  const where = active && address(active, place);
  const part = active && [...place.children].find((one) => one.contains(active))?.laid?.key;
  const caret = active?.matches("input[type=text], textarea") ? [active.selectionStart, active.selectionEnd, active.selectionDirection] : null;
  const marked = document.getSelection();
  const ends = marked.isCollapsed ? [] : [[marked.anchorNode, marked.anchorOffset], [marked.focusNode, marked.focusOffset]].map(([node, k]) => ({ node, k, path: path(node, place) }));
  return () => {
    if (active && document.activeElement !== active) {
      const one = active.isConnected ? active : found(where, place);
      one?.focus({ preventScroll: true });
      if (one && caret && one.matches("input[type=text], textarea")) one.setSelectionRange(...caret);
      // what had it is gone: the next press of Tab goes on from there, not from the top
      const rest = !one && [...place.children].find((other) => other.laid?.key === part);
      if (rest) {
        if (!rest.hasAttribute("tabindex")) rest.tabIndex = -1;
        rest.focus({ preventScroll: true });
      }
    }
    if (ends.length && ends.every(({ path: one }) => one) && ends.some(({ node }) => !node.isConnected)) {
      const after = ends.map(({ node, path: one }) => (node.isConnected ? node : followed(one, place, node)));
      if (after.every(Boolean)) document.getSelection().setBaseAndExtent(after[0], ends[0].k, after[1], ends[1].k);
    }
  };
}

function path(node, place) {
  const steps = [];
  let at = node;
  for (; at && at !== place && at.parentNode !== place; at = at.parentNode) steps.unshift([...at.parentNode.childNodes].indexOf(at));
  return at && at !== place && at.laid ? { key: at.laid.key, steps } : null;
}

// The same words at the same place of the same part.
function followed({ key, steps }, place, node) {
  let at = [...place.children].find((one) => one.laid?.key === key);
  for (const k of steps) at = at?.childNodes[k];
  return at && at.nodeType === node.nodeType && at.textContent === node.textContent ? at : null;
}
