"""What the README shows of the program, taken from it so that it stays true: `python -m tests.readme` writes it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import platekit
from platekit.export.screen import closing, verdict_text
from platekit.tables import counts_by_kind

ROOT = Path(platekit.__file__).parents[1]
README = ROOT / "README.md"
PICTURE = ROOT / "specs" / "dough-mixer.svg"
BLOCK = re.compile(r"(<!-- from: (\w+) -->\n```(\w*)\n)(.*?)(```\n<!-- end -->)", re.DOTALL)


def judged(name: str) -> tuple[platekit.Layout, platekit.Verdict]:
    layout = platekit.lay_out(platekit.load(ROOT / "specs" / f"{name}.yaml"))
    return layout, platekit.check(layout)


def wrong() -> str:
    """The stops of the plate that is wrong on purpose, and the verdict."""
    layout, verdict = judged("wrong-on-purpose")
    told = verdict_text(layout, verdict).split("\n\n")
    stops = [part for part in told if part.startswith("stop")]
    return "\n\n".join([*stops, closing(verdict)]) + "\n"


def mixer() -> str:
    """The demo's spec, without the line for editors."""
    return (ROOT / "specs" / "dough-mixer.yaml").read_text("utf-8").split("\n", 1)[1]


def counts() -> str:
    """Rows and figures of the tables by kind of source."""
    found = counts_by_kind()
    return "".join(f"{kind:<16}{found.rows[kind]:>6} rows{found.figures[kind]:>8} figures\n" for kind in found.rows)


def picture() -> str:
    """The demo's picture."""
    return platekit.export.svg_text(*judged("dough-mixer"))


def written(text: str) -> str:
    """The README's text with every block taken from the program."""
    blocks = {"wrong": wrong, "mixer": mixer, "counts": counts}
    return BLOCK.sub(lambda found: found[1] + blocks[found[2]]() + found[5], text)


def stale() -> Iterator[str]:
    """What in the README is not as the program has it."""
    text = README.read_text("utf-8")
    if written(text) != text:
        yield "a block of README.md"
    if PICTURE.read_text("utf-8") != picture():
        yield "specs/dough-mixer.svg"


if __name__ == "__main__":
    README.write_text(written(README.read_text("utf-8")), "utf-8")
    PICTURE.write_text(picture(), "utf-8")
