"""What stands before a spec is open: the specs of a folder with their verdicts, and a new job by questions."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from platekit.drawing.cautions import CAUTIONS
from platekit.errors import PlatekitError
from platekit.export.files import FORBIDDEN, write_new
from platekit.page.desk import Desk
from platekit.page.new_job import ENDINGS, answered, begun_job, forgotten, kept, questions, refused_words
from platekit.page.scene import front as front_of

MOST_SHOWN: Final = 60
"""Most specs of a folder that are shown as pictures (ours: each is laid out for it)."""


_SHIPPED: Final = Path(__file__).parent / "examples"
EXAMPLES: Final = _SHIPPED if _SHIPPED.is_dir() else Path(__file__).parents[2] / "specs"
"""The jobs that come with platekit: an installation has copies beside the page (`setup.py`), a checkout its `specs`."""
TITLE: Final = re.compile(r"(?m)^title: *(.+?) *$")
DRAWN: Final = re.compile(r"\bfile: *([\w-]+\.(?:svg|dxf|step))\b")
"""A drawing that a spec goes by, which has to lie beside its copy too."""


class JobFolder(Struct, frozen=True):
    """Where the page was opened: a folder, and the spec in it that was named, if one was. Files go under `out`."""

    folder: Path
    out: Path
    spec: Path | None = None

    def desk(self) -> Desk | None:
        """The desk with the spec that was named."""
        return None if self.spec is None else Desk(self.spec, self.out)


def begun(start: JobFolder, desk: Desk | None, asked: Mapping[str, Any]) -> tuple[dict[str, Any], Desk | None]:
    """What an act of the start comes to, and the desk that is open after it."""
    try:
        match asked.get("act"):
            case "start":
                return ({"open": None if desk is None else desk.path.name, **_offered(start, desk)}, desk)
            case "peek":
                path = _named(start, asked.get("name"))
                if desk is not None:
                    return ({"open": desk.path.name}, desk)
                now = Desk(path, start.out).now()
                if now.layout is None or now.verdict is None:
                    why = now.problems[0].found if now.problems else ""
                    return ({"name": path.name, "title": path.stem, "word": "unusable", "why": why}, None)
                front = front_of(now.layout, now.verdict)
                title, word = now.layout.title, now.verdict.word
                return ({"name": path.name, "title": title, "word": word, "front": front}, None)
            case "open":
                path = _named(start, asked.get("name"))
                if not path.is_file():
                    raise PlatekitError(f"there is no {path.name} in this folder")
                return ({"open": path.name}, Desk(path, start.out))
            case "answer":
                return (
                    {"open": None, **_asked(answered(start.folder, asked.get("name"), asked.get("typed")))},
                    desk,
                )
            case "forget":
                forgotten(start.folder)
                return ({"open": None, **_asked({})}, desk)
            case "example":
                path = _copied(start, asked.get("name"))
                return ({"open": path.name}, Desk(path, start.out))
            case "new":
                path = begun_job(start.folder)
                return ({"open": path.name}, Desk(path, start.out))
            case _:
                return ({"open": None, **_offered(start, None)}, None)
    except PlatekitError as error:
        return ({"refused": refused_words(error)}, desk)


def _offered(start: JobFolder, desk: Desk | None) -> dict[str, Any]:
    """The names of the specs in the folder, and the questions of a new job; `peek` shows one of them."""
    if desk is not None:
        return {}
    paths = sorted(path for path in start.folder.iterdir() if path.suffix in ENDINGS and path.is_file())
    return {
        "folder": start.folder.resolve().name or "/",
        "specs": [path.name for path in paths[:MOST_SHOWN]],
        "examples": [one for one in examples() if not (start.folder / str(one["name"])).exists()],
        "cautions": list(CAUTIONS),
        **_asked(kept(start.folder)),
    }


def _asked(answers: Mapping[str, str]) -> dict[str, Any]:
    """The questions of a new job after some answers, and these."""
    return {"questions": questions(answers), "answers": dict(answers)}


def examples() -> list[dict[str, str]]:
    """The jobs that come with platekit, by the name of their file, each with its title."""
    found = []
    for path in sorted(EXAMPLES.glob("*.yaml")) if EXAMPLES.is_dir() else ():
        title = TITLE.search(path.read_text("utf-8"))
        if title is not None:
            found.append({"name": path.name, "title": title[1].strip("'\"")})
    return found


def _copied(start: JobFolder, name: Any) -> Path:
    """A copy of an example in the folder, with the drawings that it goes by; what is there already stays."""
    if name not in [one["name"] for one in examples()]:
        raise PlatekitError("there is no such example")
    text = (EXAMPLES / name).read_text("utf-8")
    for one in (*DRAWN.findall(text), name):
        path = start.folder / one
        if not os.path.lexists(path):
            write_new(path, (EXAMPLES / one).read_bytes())
        elif one == name:
            raise PlatekitError(f"there is a {one} in this folder already; open that one, or rename it")
    return start.folder / str(name)


def _named(start: JobFolder, name: Any) -> Path:
    """The file of that plain name in the folder; raises PlatekitError for any other name."""
    if not isinstance(name, str) or not name.strip() or name.startswith(".") or set(name) & FORBIDDEN or "\0" in name:
        raise PlatekitError(f"found {name!r} for the file's name; give a plain name, such as mixer.yaml")
    plain = name.strip()
    return start.folder / (plain if plain.endswith(ENDINGS) else f"{plain}.yaml")
