"""What changed since the files in a plate's folder were made, told by the figures that lie beside them."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any, Final

from platekit.analysis.compare import MOVED
from platekit.drawing.cautions import CAUTIONS, TWO_LINES
from platekit.errors import PlatekitError
from platekit.export.data.plate import figures_bytes
from platekit.export.files import file_in
from platekit.export.marks import LARGEST, WHERE, mark_of
from platekit.export.standing import NO_STATE, part_of
from platekit.export.text.difference import way_words
from platekit.jobs.plates import laid_out
from platekit.jobs.told import Told, Working, silent
from platekit.placed import SAME_LENGTH, Layout
from platekit.units import Unit, show_length

WHOLE: Final = ("width_mm", "height_mm", "outline", "thickness_mm", "material")
"""Figures of the plate as a whole that a cut file or a paper goes by."""
KEPT: Final = ("shape", "depth_mm", "opens_to", "thread", "made", "drill_mm", "work")
"""Figures of an opening, beside its place, that the bench goes by."""


def since_made(path: Path, out: Path, working: Working = silent) -> Told:
    """Hole by hole, what moved since `NAME.json` under `out` was written, and which files are of another revision.

    Nothing is written or taken away. Raises `SpecError`; `PlatekitError` where no figures were written yet, or where
    they cannot be read.
    """
    layout = laid_out(path, working)
    name = layout.spec.name
    folder = file_in(out, name)
    file = file_in(folder, f"{name}.json")
    try:
        # figures of ours are never that large: another file of this name is not read whole
        old = json.loads(file.read_bytes() if file.stat().st_size <= LARGEST else b"")
        if old["spec"] != name or not isinstance(old["revision"], str):
            raise ValueError
        lines = differences(old, json.loads(figures_bytes(layout)), layout.spec.unit)
    except FileNotFoundError:
        raise PlatekitError(
            f"{file.name} is not there: nothing was made of this plate yet, so nothing can be compared"
        ) from None
    except (OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError):
        raise PlatekitError(f"{file.name} cannot be read as figures of this plate; write the papers anew") from None
    mark, now = old["revision"], layout.spec.revision
    others = [f"{one.name} shows revision {shown}: do not use it" for one, shown in _others(folder, layout)]

    def text() -> str:
        head = [f"made as revision {mark}; the spec is revision {now} now", ""]
        same = ["no hole moved and nothing of the plate changed; it is the same steel"] if not lines else []
        return "\n".join([*head, *lines, *same, "", *others, *TWO_LINES])

    return Told(
        "done",
        text,
        lambda: {"cautions": list(CAUTIONS), "made": mark, "revision": now, "changed": lines, "outdated": others},
    )


def differences(old: dict[str, Any], new: dict[str, Any], unit: Unit) -> list[str]:
    """What differs between two states of the figures, a line each; lengths in `unit`.

    Raises KeyError, TypeError and the like for what are no figures of a plate.
    """
    said = []
    # the outline may be written from another corner: only its figures as a whole tell that it is another
    for key in WHOLE:
        if old["plate"][key] != new["plate"][key]:
            what = key.removesuffix("_mm")
            was, now = (one["plate"][key] for one in (old, new))
            if isinstance(was, dict):
                was, now = was.get("name"), now.get("name")
            if isinstance(was, int | float) and isinstance(now, int | float):
                was, now = show_length(float(was), unit), show_length(float(now), unit)
            said.append(f"plate: its {what} is another" if was == now else f"plate: its {what} is {now}, was {was}")
    before, after = ({one["name"]: one for one in state["openings"]} for state in (old, new))
    for name, one in after.items():
        was = before.get(name)
        if was is None:
            said.append(f"{name}: new")
            continue
        move = (float(one["x_mm"]) - float(was["x_mm"]), float(one["y_mm"]) - float(was["y_mm"]))
        words = []
        if math.hypot(*move) >= MOVED - SAME_LENGTH:
            words.append(f"moved {show_length(math.hypot(*move), unit)}: {way_words(move, unit)}")
        size, size_was = one["size_mm"], was["size_mm"]
        if size != size_was and size and size_was:
            words.append(f"now {show_length(float(size), unit)} wide, was {show_length(float(size_was), unit)}")
        elif any(_in_place(one, key) != _in_place(was, key) for key in KEPT):
            words.append("shaped or made in another way")
        if words:
            said.append(f"{name}: {'; '.join(words)}")
    return [*said, *(f"{name}: gone" for name in before if name not in after)]


def _in_place(opening: dict[str, Any], key: str) -> Any:
    """A figure of an opening, a shape without the place where it lies: 0.01 mm more or less are none (`MOVED`)."""
    if key != "shape":
        return opening[key]
    shape, x, y = opening["shape"], float(opening["x_mm"]), float(opening["y_mm"])
    points = {"center_mm", "from_mm", "to_mm"}
    near = {
        key: [round(value[0] - x, 2), round(value[1] - y, 2)] if key in points else value
        for key, value in shape.items()
        if key != "vertices_mm"
    }
    return near | {"corners": [[round(px - x, 2), round(py - y, 2)] for px, py in shape.get("vertices_mm", ())]}


def _others(folder: Path, layout: Layout) -> list[tuple[Path, str]]:
    """The files of the plate that carry another mark than its own; parts of the guard have marks of their own."""
    name = layout.spec.name
    found = []
    for path in sorted(folder.iterdir()):
        if path.suffix not in WHERE or not path.name.startswith(f"{name}.") or path.name.endswith(NO_STATE):
            continue
        if path.is_symlink() or not path.is_file() or part_of(path, name) is not None:
            continue
        mark = mark_of(path)
        if mark is not None and mark != layout.spec.revision:
            found.append((path, mark))
    return found
