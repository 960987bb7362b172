"""Ten thousand requests of any kind at the page's server: `python -m tests.page.fuzz [COUNT] [SEED]`, by hand.

Acts with known and unknown names, with fields as a page sends them, spoilt or left out, from two clients at once. After
each batch the server must answer, nothing outside the spec's folder may have changed, and whatever was not saved as
typed must still be a spec. It ends with 1 and the request where that does not hold.
"""

from __future__ import annotations

import http.client
import json
import random
import sys
import tempfile
import threading
from collections import Counter
from pathlib import Path
from typing import Any

import platekit
from platekit.page.acts import ACTS
from platekit.page.new_job import BLOCKS, KEPT
from platekit.page.server import TOKEN, Page
from platekit.page.start import JobFolder
from tests.checks.lying import SOUND

SPECS = Path(platekit.__file__).parents[1] / "specs"
LASTING = {"make", "print", "paper", "moved", "places", "drives", "advise", "try advice", "frame"}
"""Acts that work for seconds: of these only one request in so many."""
SELDOM = 0.03
"""Share of the requests that are of such acts."""
WORDS = (
    "", " ", "motor", "machine", "cable", "plate.thickness", "mounts.motor.at.0", "mounts..", "accept.0", "12,5",
    "3/8 in", "1e999", "nan", "-0", "[1, 2", "{a: 1}", "../x", "\0", "&a *a", "!!python/object", "\u202e", "a" * 5000,
    "units", "- ",
)  # fmt: skip
KEYS = (
    "state", "edits", "field", "boxes", "text", "typed", "rule", "reason", "places", "mount", "handle", "to", "fine",
    "write", "which", "section", "driver", "driven", "measured", "printer", "kerf", "solid",
    "picture", "clicks", "without", "find", "kind", "looking_at", "sigma", "sizes", "size", "read", "table", "kerf_set",
    "do", "at", "names", "name", "from", "how", "x", "y", "belt", "outline", "over", "low",
    "high",
)  # fmt: skip
FIGURES = (
    "mounts.motor.pattern.hole", "mounts.machine.pattern.circle.hole", "mounts.machine.pattern.circle.count",
    "plate.thickness", "mounts.motor.turn", "mounts.motor.standoff", "drive.wanted.torque",
)  # fmt: skip
PIECE = ("square", "disc", "slot", "hole")
"""Names as a test piece's readings have them, some of them wrong."""
JOBS = ((SPECS / "dough-mixer.yaml").read_text("utf-8"), SOUND)
"""The jobs that are tried, by the seed: a motor on its face, and one on feet, which a countershaft can be put to."""
BATCH = 100


def around_of(name: str, folder: Path) -> list[Path]:
    """Everything outside what the page writes: its output, printers, and the answers of a job that was begun."""
    own = (folder / "output", folder / "printers", folder / "machines", folder / KEPT)
    return sorted(path for path in Path(name).rglob("*") if not any(path.is_relative_to(one) for one in own))


def value(dice: random.Random, depth: int = 0) -> Any:
    """Any plain data."""
    kind = dice.randrange(9 if depth < 3 else 6)
    if kind == 0:
        return dice.choice((None, True, False))
    if kind == 1:
        return dice.choice((0, -1, 3, 10**9, 10**400))
    if kind == 2:
        return dice.choice((0.5, -1e-300, 1e300, 7.25))
    if kind < 6:
        return dice.choice(WORDS)
    if kind == 6:
        return {dice.choice(WORDS): value(dice, depth + 1) for _ in range(dice.randrange(3))}
    return [value(dice, depth + 1) for _ in range(dice.randrange(4))]


def request(dice: random.Random, state: str) -> dict[str, Any]:
    """One request: half of them name the state that holds, and most have what their act wants in some form."""
    seldom = dice.random() < SELDOM
    names = LASTING if seldom else {*(ACTS.keys() - LASTING), "start", "peek", "answer", "no such act"}
    said: dict[str, Any] = {"act": dice.choice(sorted(names))}
    said |= {key: value(dice) for key in KEYS if dice.random() < 0.35}
    if dice.random() < 0.5:
        said["state"] = state
    if dice.random() < 0.4:
        said["edits"] = [
            [dice.choice(WORDS), dice.choice(WORDS), dice.choice(("words", "list", "yesno", "choice", "?"))]
        ]
    if dice.random() < 0.2:
        # figures that an act can try: sliders and odds, within what a plate can be and beyond
        said["edits"] = [[dice.choice(FIGURES), f"{dice.uniform(-5, 40):.1f}", "words"]]
    if dice.random() < 0.4:
        said["which"] = dice.choice(("parts", "commissioning", "going back", "../x", ""))
    if dice.random() < 0.2:
        said |= {"name": dice.choice((*WORDS, "wool-carder.yaml", "job.yaml")), "typed": dice.choice(WORDS)}
    if dice.random() < 0.3:
        # what is asked of a countershaft's blocks, and of a test piece: plain, impossible or left out
        said["read"] = {key: dice.choice(("170", "7 in", "25,4", *WORDS)) for key in BLOCKS if dice.random() < 0.9}
        said |= {"read": {key: [dice.choice(("25,1", *WORDS))] * 2 for key in PIECE}} if dice.random() < 0.4 else {}
        said |= {"table": dice.choice(("shed", *WORDS)), "kerf_set": dice.choice(("0", *WORDS))}
    if dice.random() < 0.3:
        said |= {"handle": dice.choice(("motor", "cable", "motor turn", "?")), "to": [dice.uniform(-400, 400), 20.0]}
    return said


class Client:
    """A connection that is kept, as a browser does."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.link = http.client.HTTPConnection("127.0.0.1", page.server_address[1], timeout=120)

    def send(self, said: dict[str, Any]) -> tuple[int, Any]:
        """Status and answer of one request; a refused one may close the connection."""
        headers = {"Origin": self.page.origin, "Content-Type": "application/json", TOKEN: self.page.token}
        self.link.request("POST", "/do", json.dumps(said), headers)
        answer = self.link.getresponse()
        data = answer.read()
        return answer.status, json.loads(data) if answer.status == 200 else None


def main() -> int:
    """Sends so many requests and says how they were answered."""
    count, seed = ([int(one) for one in sys.argv[1:]] + [10_000, 1][len(sys.argv) - 1 :])[:2]
    dice, answered = random.Random(seed), Counter[int]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "job"
        folder.mkdir()
        path = folder / "job.yaml"
        path.write_text(JOBS[seed % 2], "utf-8")
        good, around = path.read_bytes(), around_of(name, folder)
        page = Page(JobFolder(folder, folder / "output", path))
        threading.Thread(target=page.serve_forever, daemon=True).start()
        clients = [Client(page), Client(page)]
        state = clients[0].send({"act": "look", "state": ""})[1]["state"]
        for k in range(count):
            said = request(dice, state)
            status, told = clients[k % 2].send(said)
            answered[status] += 1
            saved = said["act"] == "save"
            state = (told or {}).get("state") or state
            if status not in (200, 400) or (not saved and not platekit_reads(path)):
                print(f"request {k} of seed {seed}: {status} to {json.dumps(said)[:600]}")
                return 1
            if k % BATCH == BATCH - 1 or saved:
                path.write_bytes(good)
                state = clients[0].send({"act": "look", "state": ""})[1]["state"]
                if (found := around_of(name, folder)) != around:
                    print(f"request {k} of seed {seed}: other files: {found}")
                    return 1
        page.shutdown()
        page.server_close()
    print(f"{count} requests, answered with " + ", ".join(f"{status}: {n}" for status, n in sorted(answered.items())))
    return 0


def platekit_reads(path: Path) -> bool:
    """Whether a file is a spec; it is read only where it has changed since the last look."""
    text = path.read_text("utf-8")
    if text not in READ:
        READ.clear()
        try:
            platekit.loads(text, path.stem)
        except platekit.SpecError:
            return False
        READ.add(text)
    return True


READ: set[str] = set()

if __name__ == "__main__":
    sys.exit(main())
