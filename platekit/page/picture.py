"""A scan or photo of an old face on the page: what it shows, what is clicked in it, and what of it is kept.

The picture itself is only read: it stays in memory until another comes or the job is closed, and is written nowhere.
Its user has the file, what counts of it is in the spec, and what was seen is drawn beside the papers.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from pathlib import PurePath
from statistics import mean
from typing import Any, Final, cast, get_args

from platekit.choices import HoleSearch, LookedAt, PictureFrame, PictureKind
from platekit.errors import PlatekitError, SpecError
from platekit.geometry import Point
from platekit.page.asked import Asked, BadRequest
from platekit.page.boxes import value_of
from platekit.page.desk import Desk, Edit, Held, Now
from platekit.page.old_face import check_name, with_diameter
from platekit.spec import loads_at
from platekit.spec.editing import Value, with_value
from platekit.spec.measured_words import MeasuredPattern
from platekit.survey.net import UNSCREWED
from platekit.units import Unit, mm_per

Figures = dict[str, Any]
MOST_CLICKS: Final = 200
"""Most holes that are clicked (ours)."""
NAMED: Final = 80
"""Longest name of a picture that is told, signs (ours)."""
MOST_EDGE: Final = 1500
"""Most places of an outline's edge that are drawn over the picture (ours)."""


def taken(desk: Desk, data: bytes, name: str) -> Figures:
    """Takes a picture onto the desk, in place of an earlier one; or says in one line why it cannot be used."""
    from platekit.scan.pictures import picture_in

    called = "".join(sign for sign in PurePath(name.replace("\\", "/")).name if sign.isprintable())[-NAMED:]
    try:
        picture = picture_in(data, called or "the picture")
    except PlatekitError as error:
        return {"refused": str(error)}
    mark = hashlib.sha256(data).hexdigest()[:16]
    desk.picture = Held(mark, picture)
    return {"picture": mark, "name": picture.name, "pixels": [picture.width, picture.height]}


def seen(desk: Desk, asked: Asked) -> Figures:
    """The frame and the holes of the picture on the desk, as `platekit read` tells them, and what is drawn of them.

    With `whole` the flat picture comes with it; mm of the frame.
    """
    from platekit.export.picture.seen_holes import flat_jpeg
    from platekit.export.text.survey import pattern_lines
    from platekit.jobs.read import pattern_of, read_figures, read_picture, size_proposals

    now, wanted = desk.now(), _wanted(asked)
    spec = _spec(now)
    found, flat = read_picture(_picture(desk, asked), spec, wanted, lambda words: None)
    unit, frame = spec.unit, found.frame
    survey = found.survey
    told = read_figures(found, wanted, ())
    return {
        "state": now.state,
        "placed": found.state == "placed",
        "mount": found.mount,
        "frame": told["frame"],
        "bars": [frame.sheet.bars.width, frame.sheet.bars.height],
        "flat": {
            "box": [flat.box.x0, flat.box.y0, flat.box.x1, flat.box.y1],
            "jpeg": base64.b64encode(flat_jpeg(flat)).decode() if asked.flag("whole") else None,
        },
        "crossings": [
            [*(round(v, 3) for v in at), *(round(v, 4) for v in off)]
            for at, off in zip(frame.at.tolist(), frame.misfits.tolist(), strict=True)
        ],
        "holes": [
            {
                "name": hole.name,
                "named": hole in found.holes,
                "at": [round(v, 3) for v in hole.circle.at],
                "diameter_mm": round(hole.circle.diameter, 3),
                "agreeing": round(hole.circle.agreeing, 3),
                "off_mm": round(hole.circle.sigma, 4),
                "by": hole.by,
                "edges": [[round(v, 2) for v in edge] for edge in hole.circle.edges[::4].tolist()],
            }
            for hole in (*found.holes, *found.unnamed)
        ],
        "not_holes": told["refused"],
        "outline": None
        if found.outline is None
        else {**cast(Figures, told["outline"]), **_drawn_over(found.outline.seen)},
        "places": {name: [round(v, 3) for v in at] for name, at in found.places.items()},
        "sizes": [
            {"name": one.name, "seen_mm": round(one.seen, 3), "drills": one.drills}
            for one in size_proposals(found.holes, pattern_of(spec, found.mount)[1], spec)
        ],
        "notes": list(found.notes),
        "survey": "" if survey is None else "\n".join(pattern_lines(survey, unit)),
        "slip": None if survey is None or survey.suspect is None else str(survey.suspect),
    }


def places_put(desk: Desk, asked: Asked) -> Now:
    """Puts the places into the spec, in place of those of an earlier picture, with the diameters that were said.

    What was seen is drawn beside the papers, as by `platekit read`. Raises as `Desk.change` does.
    """
    from platekit.export.files import write_together
    from platekit.jobs.read import overlay_file, pattern_of, read_picture

    now, wanted = desk.now(), _wanted(asked)
    spec, picture = _spec(now), _picture(desk, asked)
    if now.state != asked.state:
        return desk.change(asked.state, lambda text: text)  # says what has happened
    found, flat = read_picture(picture, spec, wanted, lambda words: None)
    if not found.places:
        raise PlatekitError(f"{picture.name}: found no hole whose name is known; nothing was written")
    text, field = found.text, f"mounts.{found.mount}.pattern.measured"
    for name, size in _sizes(asked).items():
        if name not in found.places:
            raise PlatekitError(f"{name} is not seen in the picture; its diameter was not written")
        after = loads_at(text, desk.path).model.mounts[found.mount].pattern.measured
        assert after is not None
        text = with_diameter(text, field, after, name, size)
    text = _sketched(text, field, pattern_of(spec, found.mount)[1], found.places, spec.unit)
    write_together([overlay_file(found, flat, picture.name, desk.out)])
    return desk.change(asked.state, lambda before: text)


def _sketched(text: str, field: str, before: MeasuredPattern, places: Mapping[str, Point], unit: Unit) -> str:
    """The text with a sketch of what the picture shows, where none has a hole yet: it says which way round they lie.

    A shaft or bore that is on the sketch already stays where it is, and the others go round it.
    """
    if any(before.kind_of(name) not in UNSCREWED for name in before.sketch if name in before.holes):
        return text
    stays = next((name for name in places if name in before.sketch), None)
    x0, y0 = places[stays] if stays else (mean(x for x, _ in places.values()), mean(y for _, y in places.values()))
    x1, y1 = before.sketch[stays] if stays else (0.0, 0.0)
    digits = 0 if unit == "mm" else 2
    for name, (x, y) in places.items():
        if name not in before.sketch:
            at = [round(v / mm_per(unit), digits) for v in (x - x0 + x1, y - y0 + y1)]
            text = with_value(text, f"{field}.sketch.{name}", [int(v) if v.is_integer() else v for v in at])
    return text


def outline_written(desk: Desk, asked: Asked) -> Figures:
    """The outline that was followed as a drawing, where `platekit read` has it; and what it is good for.

    Another drawing of that name stays as it is, and `asks` says so; `over` is then the mark of the one that may go.
    """
    from platekit.export.files import cannot_write, write_together
    from platekit.jobs.read import named_in, outline_file, overlay_file, read_picture, use_of_outline

    now, wanted = desk.now(), _wanted(asked)
    spec, picture = _spec(now), _picture(desk, asked)
    if wanted.outline is None:
        raise BadRequest("found no place to follow an edge round")
    desk.change(asked.state, lambda text: text)  # says where it has changed meanwhile
    found, flat = read_picture(picture, spec, wanted, lambda words: None)
    assert found.outline is not None  # what cannot be followed is refused above
    target, data = outline_file(found, found.outline, picture.name, desk.out)
    file = named_in(spec, target)
    try:
        there = hashlib.sha256(target.read_bytes()).hexdigest()
    except FileNotFoundError:
        there = None
    except OSError as error:
        raise cannot_write(target, error) from error
    told = {"name": target.name, "file": file}
    if there not in (None, hashlib.sha256(data).hexdigest(), asked.said.get("over")):
        used = ", and the spec uses it" if file in now.text else ""
        return told | {"over": there, "asks": f"{target.name} is there already with another outline{used}"}
    write_together([overlay_file(found, flat, picture.name, desk.out), (target, data)])
    desk.work_out_again()
    return told | {"use": use_of_outline(spec, found.mount, target)}


def outline_as_body(desk: Desk, asked: Asked) -> list[Edit]:
    """The edits that make a body on the mount of the outline that was written; nothing is changed."""
    from platekit.jobs.read import named_in, outline_path, pattern_of

    spec = _spec(desk.now())
    mount = pattern_of(spec, asked.text("mount"))[0]
    drawn = outline_path(spec, mount, desk.out)
    if not drawn.is_file():
        raise PlatekitError(f"{drawn.name} is not there; write the outline first")
    name = asked.text("name").strip()
    check_name(name, {*spec.model.bodies})
    body: dict[str, Value] = {
        "carried_by": mount,
        "span": [value_of(asked.text(end), "words") for end in ("low", "high")],
        "shape": {"drawn": {"file": named_in(spec, drawn), "units": "mm"}},
    }
    return [(f"bodies.{name}", body)]


def frame_written(desk: Desk, asked: Asked) -> Any:
    """The page with the frame, beside the papers; what `platekit frame` tells of it."""
    from platekit.jobs.frame import frame

    printer = str(asked.said.get("printer") or "").strip()
    size, shows = _choice(asked, "size", PictureFrame), _choice(asked, "looking_at", LookedAt)
    if size is None:
        raise BadRequest("found no size of the frame")
    return frame(size, shows, printer or None, desk.folder)


def _drawn_over(outline: Any) -> Figures:
    """An outline as it lies in the picture: its corners, and the edge that was seen, mm of the frame."""
    every = max(4, len(outline.edge) // MOST_EDGE + 1)
    return {
        "at": list(outline.at),
        "corners": [[round(v, 3) for v in corner] for corner in outline.corners.tolist()],
        "edge": [[round(v, 2) for v in place] for place in outline.edge[::every].tolist()],
    }


def _spec(now: Now) -> Any:
    if now.spec is None:
        raise SpecError(now.problems)
    return now.spec


def _picture(desk: Desk, asked: Asked) -> Any:
    held = desk.picture
    if held is None or held.mark != asked.text("picture"):
        raise PlatekitError("that picture is not at hand any more; choose it again")
    return held.picture


def _wanted(asked: Asked) -> Any:
    """What is asked of the picture."""
    from platekit.jobs.read import ReadWanted

    without = asked.said.get("without", [])
    if not isinstance(without, list) or not all(isinstance(one, str) for one in without):
        raise BadRequest("found no names to leave out")
    typed = {key: str(asked.said.get(key) or "").strip() or None for key in ("sigma", "measured")}
    return ReadWanted(
        mount=asked.text("mount"),
        kind=_choice(asked, "kind", PictureKind),
        looking_at=_choice(asked, "looking_at", LookedAt),
        measured=typed["measured"],
        sigma=None if typed["sigma"] is None else re.sub(r"(?<=\d),(?=\d)", ".", typed["sigma"]),
        find=_choice(asked, "find", HoleSearch) or "pattern",
        clicks=_clicks(asked),
        outline=_round_at(asked),
        without=tuple(without),
        by="page",
    )


def _choice(asked: Asked, key: str, words: Any) -> Any:
    said = asked.said.get(key) or None
    if said is not None and said not in get_args(words):
        raise BadRequest(f"found no such {key}")
    return said


def _clicks(asked: Asked) -> dict[str, tuple[Point, float | None]]:
    """Holes that were clicked: mm of the frame, and how wide each is about, if that is known."""
    said = asked.said.get("clicks", {})
    if not isinstance(said, Mapping) or len(said) > MOST_CLICKS:
        raise BadRequest("found no clicks")
    found: dict[str, tuple[Point, float | None]] = {}
    for name, at in said.items():
        if (
            not isinstance(at, list)
            or len(at) not in (2, 3)
            or not all(isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e4 for v in at)
            or (len(at) == 3 and not 2.0 <= at[2] <= 140.0)
        ):
            raise BadRequest("found no place of a click")
        check_name(name, set())
        found[name] = ((float(at[0]), float(at[1])), float(at[2]) if len(at) == 3 else None)
    return found


def _round_at(asked: Asked) -> str | None:
    """The place round which an edge is to be followed, mm of the frame, as the command would have it typed."""
    at = asked.said.get("outline")
    if at is None:
        return None
    if (
        not isinstance(at, list)
        or len(at) != 2
        or not all(isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e4 for v in at)
    ):
        raise BadRequest("found no place to follow an edge round")
    return f"{at[0]:.2f},{at[1]:.2f}"


def _sizes(asked: Asked) -> dict[str, Value]:
    """Diameters that were said, by the hole."""
    said = asked.said.get("sizes", {})
    if not isinstance(said, Mapping) or not all(isinstance(one, str) for one in said.values()):
        raise BadRequest("found no diameters")
    return {name: value_of(cast(str, typed), "reading") for name, typed in said.items()}
