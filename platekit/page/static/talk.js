// Asks the server on this machine. The token stands behind the # of the address and is sent to nobody else.

const token = location.hash.slice(1);

export class Refused extends Error {
  // Something that the user can mend; `answer` holds what the server told with it.
  constructor(answer) {
    super(answer.refused);
    this.answer = answer;
  }
}

export function ask(act, about = {}) {
  return post("/do", "application/json", JSON.stringify({ act, ...about }));
}

export const MOST_PICTURE = 64e6; // bytes; as the server has it

// The bytes of a picture, as they lie in its file.
export function send(file) {
  return post(`/picture?name=${encodeURIComponent(file.name)}`, "application/octet-stream", file);
}

async function post(path, kind, body) {
  let response;
  try {
    response = await fetch(path, { method: "POST", headers: { "Content-Type": kind, "X-Platekit-Token": token }, body });
  } catch {
    throw new Refused({ refused: "platekit does not answer: it was ended; run `platekit open` again", gone: true });
  }
  if (response.status === 403) {
    throw new Refused({ refused: "this address is of an earlier run; use the one that `platekit open` printed", gone: true });
  }
  if (!response.ok) {
    throw new Refused({ refused: "platekit made a mistake of its own; the terminal says which. The spec is as it was" });
  }
  const answer = await response.json();
  if (answer.refused) throw new Refused(answer);
  return answer;
}

// Runs one request at a time and only the latest of those that come meanwhile: what a drag needs. Where `run` gives a
// function, that is called with the next request under way: the page draws one answer while the server works at another.
export function latest(run) {
  let busy = false;
  let next = null;
  return async function start(...given) {
    next = given;
    if (busy) return;
    busy = true;
    let rest;
    try {
      while (next !== null) {
        const now = next;
        next = null;
        const asked = run(...now);
        rest?.();
        rest = await asked;
      }
    } finally {
      busy = false;
    }
    rest?.();
  };
}

// Plain data with what is told of it put in: [value] takes the place of a thing, {key: change} goes into it. What did
// not change stays the very same thing.
export function patched(before, change) {
  if (Array.isArray(change)) return change[0];
  const after = Array.isArray(before) ? [...before] : { ...before };
  for (const [key, below] of Object.entries(change)) after[key] = patched(after[key], below);
  return after;
}

// Words of a sentence that stand between backquotes are those of the spec: they are set as such, without the marks.
export function worded(said) {
  return said.split("`").map((part, k) => (k % 2 ? make("code", {}, part) : part));
}

// An element with its attributes, properties that begin with "on", and children.
export function make(tag, given = {}, ...children) {
  const one = tag.includes(":")
    ? document.createElementNS("http://www.w3.org/2000/svg", tag.slice(tag.indexOf(":") + 1))
    : document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) one.addEventListener(name.slice(2), value);
    else if (name === "value") one.value = value;
    else one.setAttribute(name, value === true ? "" : value);
  }
  one.append(...children.filter((child) => child !== null && child !== undefined));
  return one;
}
