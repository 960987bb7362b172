"""`platekit read`: holes off a scan or a photo, as readings of a spec's measured pattern."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable
from functools import lru_cache
from itertools import count
from pathlib import Path
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.choices import HoleSearch, LookedAt, PictureKind
from platekit.drawing.cautions import CAUTIONS
from platekit.drawing.pdf.printer import NominalBars, printer_of, readings_of
from platekit.drawing.text import in_letters
from platekit.errors import LookupFailed, PlatekitError
from platekit.export.data.rounded import Figures
from platekit.export.data.survey import pattern_figures
from platekit.export.dxf_files.seen_outline import OUTLINE_SUFFIX, outline_dxf
from platekit.export.files import file_in, folder_in, rewrite, write_together
from platekit.export.picture.seen_holes import SEEN_SUFFIX, seen_svg
from platekit.export.text.survey import in_paragraph, pattern_lines
from platekit.geometry import Loop, Point, loop_of
from platekit.jobs.told import State, Told, Working, silent, wrote_lines
from platekit.laying.measured import net_of
from platekit.scan.edges import Circle
from platekit.scan.holes import (
    Flat,
    Hole,
    Match,
    Refused,
    blind_holes,
    flat_picture,
    hole_near,
    nominal_holes,
    similar,
    why_not,
)
from platekit.scan.located import Distorted, Frame, frame_in
from platekit.scan.outlines import Outline, outline_round
from platekit.scan.pictures import Picture, picture_of
from platekit.scan.sheet import BARS
from platekit.spec import Spec, load
from platekit.spec.editing import Value, with_list_begun, with_rows, with_value, without_value
from platekit.spec.measured_words import MAX_SIGMA, MeasuredPattern
from platekit.spec.printers import measured_of_text
from platekit.spec.reading import loads_at
from platekit.studies.surveyed import Surveyed, surveyed
from platekit.survey.net import SEEN_KINDS, BadReading
from platekit.survey.solve import solved_once
from platekit.tables.drills import System, nearest_drill
from platekit.units import mm_per, show_length, typed_length

SIGMA: Final = 0.1
"""Sigma of a place off a picture, mm (ours, until real scans are measured): several times what made pictures show."""
DRILL: Final = 0.3
"""A drill farther than this from what a picture shows is not proposed, mm (ours: three of its sigmas)."""
DRILLS: Final[dict[System, str]] = {"metric": "", "fraction": " in"}
"""The drills that are proposed, and what their names want to be lengths: those of metric ones end in mm."""
OTHER_SIZE: Final = 0.5
"""A measured diameter that differs by more from what the picture shows is told, mm (ours)."""
SAME: Final = 1.0
"""Two names that come to circles nearer than this are of one hole, mm (ours)."""
DECIMALS: Final = {"mm": 2, "in": 4}
"""Of places as they are written, by the unit of the spec."""
_AT = re.compile(r"\s*([^=]+?)\s*=\s*([^,;]+)[,;]\s*([^,;]+)(?:[,;]\s*([^,;]+))?\s*")

HEIGHT: Final = (
    "only edges in the plane of the paper come out true: 1 mm above or below it costs about 0.16 mm at 90 mm from the "
    "middle of a photo; shim the frame to the face, or scan with both on the glass, and hold two or three distances "
    "against a caliper"
)
"""What is always to be borne in mind."""


class ReadWanted(Struct, frozen=True):
    """What `read` is asked for: each `at` is a hole's name and place on the frame, `outline` a place, as typed.

    `clicks` are such places as a page has them: mm, and about how large, mm, or None. `find` says how the other holes
    are looked for, `without` which are left out, `by` whose words are used where something is to be done.
    """

    mount: str | None = None
    at: tuple[str, ...] = ()
    kind: PictureKind | None = None
    looking_at: LookedAt | None = None
    measured: str | None = None
    sigma: str | None = None
    write: bool = False
    outline: str | None = None
    find: HoleSearch = "pattern"
    clicks: dict[str, tuple[Point, float | None]] = {}
    without: tuple[str, ...] = ()
    by: Literal["command", "page"] = "command"


SAID: Final = {
    "command": {
        "mirror": "If it is the other, say --looking-at, or print the frame with it",
        "unlaid": "give `--at NAME=X,Y`",
        "flipped": "is the picture of the other face? then say --looking-at",
        "unsought": "Give `--at {name}=X,Y` with mm off the grid of the picture that was drawn, or a `sketch` of the "
        "pattern",
        "overlook": "look at the picture that was drawn",
        "sigma": "--sigma",
    },
    "page": {
        "mirror": "If it is the other, say so under *How it was taken*, or print the frame with it",
        "unlaid": "click them in the picture",
        "flipped": "is the picture of the other face? then say so under *How it was taken*",
        "unsought": "Click {name} in the picture",
        "overlook": "look at the picture, and click what is missing",
        "sigma": "sigma",
    },
}
"""What to do, in the words of whoever asked."""


class SizeProposal(Struct, frozen=True):
    """What a picture says of the width of a hole that has no diameter yet: mm, and drills that come near, as typed."""

    name: str
    seen: float
    drills: tuple[str, ...]


class SeenOutline(Struct, frozen=True, eq=False):
    """An outline as seen, and as it is written: `loop`, mm in the pattern's own frame, or of the paper.

    `scale` is how many mm of the pattern a mm of the paper is by the caliper; None where the survey does not say, and
    the outline stays on the paper's grid.
    """

    seen: Outline
    loop: Loop
    scale: float | None
    sigma: float


class Read(Struct, frozen=True, eq=False):
    """What a picture came to. `places` are mm as looked at; `notes` are sentences; `text` is the spec with them in."""

    spec: Spec
    mount: str
    frame: Frame
    holes: tuple[Hole, ...]
    refused: tuple[Refused, ...]
    unnamed: tuple[Hole, ...]
    places: dict[str, Point]
    mirrored: bool
    notes: tuple[str, ...]
    text: str
    survey: Surveyed | None
    outline: SeenOutline | None = None

    @property
    def state(self) -> State:
        """Whether all holes are placed by the survey with the picture in it; odds are for `platekit survey` to tell."""
        one = self.survey
        if one is None:
            return "open"
        if one.survey is None:
            return "unusable"
        unsettled = one.floating or one.survey.flips or one.mirror_open or one.contradict
        return "open" if unsettled or self.refused else "placed"


def read(picture: Path, path: Path, out: Path, wanted: ReadWanted, working: Working = silent) -> Told:
    """Finds the holes of a pattern of the spec at `path` in a picture; draws what was seen under `out`.

    With `wanted.write` their places go into the spec as readings, in place of those of an earlier picture. Raises
    `PictureError`, `ScanMissing`, `SpecError`, `PlatekitError`, `OutputError`; nothing is written then.
    """
    spec = load(path)
    found, flat = read_picture(picture_of(picture), spec, wanted, working)
    files = [overlay_file(found, flat, picture.name, out)]
    if found.outline is not None:
        files.append(outline_file(found, found.outline, picture.name, out))
    write_together(files)
    written = tuple(path for path, _ in files)
    if wanted.write:
        if not found.places:
            raise PlatekitError(f"{picture}: found no hole whose name is known; nothing was written into {path}")
        rewrite(path, spec.text, found.text)
        written += (path,)
    return Told(
        found.state, lambda: read_text(found, wanted, written), lambda: read_figures(found, wanted, written), written
    )


def overlay_file(found: Read, flat: Flat, called: str, out: Path) -> tuple[Path, bytes]:
    """The overlay of a picture that is `called` so: where it lies under `out`, and what is in it."""
    spec = found.spec
    title = f"{spec.title}: {found.mount}, seen in {called}"
    seen = None if found.outline is None else found.outline.seen
    drawn = seen_svg(flat, found.frame, (*found.holes, *found.unnamed), found.refused, title, seen)
    return file_in(folder_in(out, spec.name), f"{spec.name}.{found.mount}{SEEN_SUFFIX}"), drawn.encode()


def outline_file(found: Read, outline: SeenOutline, called: str, out: Path) -> tuple[Path, bytes]:
    """The drawing of an outline off a picture that is `called` so: where it lies under `out`, and what is in it."""
    told = f"outline seen in {called}, sigma {show_length(outline.sigma, 'mm')}; no maker's drawing"
    return outline_path(found.spec, found.mount, out), outline_dxf(outline.loop, told)


def outline_path(spec: Spec, mount: str, out: Path) -> Path:
    """Where the outline off the picture of a mount lies under `out`; raises `OutputError` as `folder_in` does."""
    return file_in(folder_in(out, spec.name), f"{spec.name}.{mount}{OUTLINE_SUFFIX}")


def use_of_outline(spec: Spec, mount: str, drawn: Path) -> str:
    """What the outline of a mount is good for, in the words of a spec."""
    return f"as the shape of a body on {mount}: {{drawn: {{file: {named_in(spec, drawn)}, units: mm}}}}"


def read_picture(picture: Picture, spec: Spec, wanted: ReadWanted, working: Working) -> tuple[Read, Flat]:
    """What a picture says of a pattern of the spec, and the flat picture; raises as `read` does."""
    name, pattern = pattern_of(spec, wanted.mount)
    say = SAID[wanted.by]
    sigma = SIGMA if wanted.sigma is None else typed_length(wanted.sigma, spec.unit)
    if not 0 < sigma <= MAX_SIGMA:
        raise PlatekitError(f"{say['sigma']}: found {wanted.sigma}; give a length above zero, such as 0.1 mm")
    asked = _asked_at(wanted.at, pattern) | wanted.clicks
    # a click on the page shows what it gives a name to, and may give a new one
    for called in (*asked, *wanted.without):
        if pattern.holes and called not in pattern.holes and called not in wanted.clicks:
            raise PlatekitError(f"found a hole {called}; the pattern has {', '.join(pattern.holes)}")
    round_at = None if wanted.outline is None else _asked_outline(wanted.outline)
    working("looking for the frame")
    frame = _frame_of(picture, wanted.kind, None)
    distorted = None if wanted.measured is None else _distorted(frame, wanted.measured, spec)
    if distorted is not None:
        frame = _frame_of(picture, wanted.kind, distorted)
    outline = None
    if round_at is not None:
        working("following the outline")
        outline = outline_round(picture, frame, round_at)
    working("looking for the holes")
    mirrored, notes = _face(spec, name, frame, wanted.looking_at, say["mirror"])
    holes: list[Hole] = []
    refused: list[Refused] = []
    for called, (at, diameter) in asked.items():
        own = pattern.holes.get(called)
        circle = hole_near(picture, frame, at, diameter or (None if own is None else own.diameter))
        why = why_not(circle) or _taken(circle, holes)
        if circle is None or why:
            refused.append(Refused(called, at, why))
        else:
            holes.append(Hole(called, circle, "click"))
    nominal, rough = _nominal(pattern, spec) if wanted.find == "pattern" else ({}, False)
    left_out = {*asked, *wanted.without}
    rest = {called: at for called, at in nominal.items() if called not in left_out}
    if rest:
        # a click settles its own hole, but helps to lay the pattern as well: all of it is laid, and the rest taken
        sides = -1.0 if mirrored else 1.0
        sizes = {called: pattern.holes[called].diameter for called in rest}
        laid_pattern = {called: (sides * x, y) for called, (x, y) in nominal.items()}
        seen, missed, straight, other = nominal_holes(picture, frame, laid_pattern, sizes, rough)
        clicked = list(holes)
        for hole in seen:
            if hole.name in rest and (why := _taken(hole.circle, clicked)):
                refused.append(Refused(hole.name, hole.circle.at, why))
            elif hole.name in rest:
                holes.append(hole)
        refused += [one for one in missed if one.name in rest]
        notes += _laid_words(straight, other, rough, say)
    named = {hole.name for hole in holes}
    circles = _circles_in(picture, frame) if wanted.find != "clicks" else []
    unnamed = [circle for circle in circles if _is_new(circle.at, holes)]
    if not pattern.holes and (wanted.find == "blind" or not asked):
        # nothing is named yet: the holes get letters, from the upper left in rows
        letters = (letter for k in count() if (letter := in_letters(k)) not in left_out)
        holes += [Hole(letter, circle, "blind") for circle, letter in zip(unnamed, letters, strict=False)]
        named, unnamed = {hole.name for hole in holes}, []
    if wanted.find == "blind" or not pattern.holes:
        notes.append(f"blind search loses holes in heavy rust (14 of 30 in a trial): {say['overlook']}")
    said = named | {one.name for one in refused} | {*wanted.without}
    missing = [called for called in pattern.holes if called not in said]
    if missing:
        how = say["unsought"].format(name=missing[0])
        notes.append(f"not looked for: {', '.join(missing)}; nothing says where they are. {how}")
    places = {hole.name: ((-hole.circle.x if mirrored else hole.circle.x), hole.circle.y) for hole in holes}
    text = _with_places(spec, name, pattern, places, sigma)
    after = loads_at(text, spec.path) if places and spec.path is not None else spec
    survey = next((one for one in surveyed(after) if one.mount == name), None) if places else None
    notes += _sizes_told(holes, pattern, spec)
    seen_outline = None if outline is None else _outline_in_pattern(outline, places, mirrored, survey, sigma)
    if seen_outline is not None:
        notes += _outline_notes(seen_outline, spec)
    notes.append(HEIGHT)
    loose = tuple(Hole(f"hole {k}", circle, "blind") for k, circle in enumerate(unnamed, 1))
    found = Read(
        spec, name, frame, tuple(holes), tuple(refused), loose, places, mirrored, tuple(notes), text, survey,
        seen_outline,
    )  # fmt: skip
    box = frame.sheet.bars
    return found, flat_picture(picture, frame, box, max(0.2, frame.pixel))


# The page reads one picture again after every reading of a caliper, and a picture does not change: what hangs on it
# alone is found once, with and without the printer's own scale.
_frame_of = lru_cache(maxsize=2)(frame_in)
_circles_in = lru_cache(maxsize=2)(blind_holes)


def pattern_of(spec: Spec, wanted: str | None) -> tuple[str, MeasuredPattern]:
    """The mount that the picture is of, and its measured pattern."""
    measured = {name: mount.pattern.measured for name, mount in spec.model.mounts.items() if mount.pattern.measured}
    if not measured:
        raise PlatekitError(
            f"{spec.path}: has no measured pattern for a picture to go into; `platekit new SPEC --machine measured` "
            "writes one"
        )
    if wanted is None and len(measured) > 1:
        raise PlatekitError(f"{spec.path}: name the mount that the picture is of with --mount: {', '.join(measured)}")
    name = wanted or next(iter(measured))
    pattern = measured.get(name)
    if pattern is None:
        raise PlatekitError(f"{spec.path}: has no measured pattern of a mount {name}; use {', '.join(measured)}")
    return name, pattern


def _asked_at(typed: tuple[str, ...], pattern: MeasuredPattern) -> dict[str, tuple[Point, float | None]]:
    """Where holes are, as typed: name, place on the frame, and about how large, mm."""
    found: dict[str, tuple[Point, float | None]] = {}
    for one in typed:
        match = _AT.fullmatch(one)
        if match is None:
            raise PlatekitError(f"--at: found {one}; write NAME=X,Y or NAME=X,Y,DIAMETER, as A=112,84,11")
        name = match[1]
        if pattern.holes and name not in pattern.holes:
            raise PlatekitError(f"--at: found {name}; the pattern has {', '.join(pattern.holes)}")
        x, y = (typed_length(part.strip(), "mm") for part in (match[2], match[3]))
        size = None if match[4] is None else typed_length(match[4].strip(), "mm")
        if not (math.isfinite(x) and math.isfinite(y)) or (size is not None and not 2.0 <= size <= 140.0):
            raise PlatekitError(f"--at: found {one}; a hole is 2 to 140 mm wide")
        found[name] = ((x, y), size)
    return found


def _taken(circle: Circle | None, holes: list[Hole]) -> str:
    """Why a circle is no hole of its own: one of these has it already; "" where none has."""
    if circle is None:
        return ""
    other = next((hole.name for hole in holes if math.dist(circle.at, hole.circle.at) < SAME), "")
    return other and f"what is seen there is {other}, as was said"


def _asked_outline(typed: str) -> Point:
    """The place round which an outline is wanted, mm of the frame."""
    parts = typed.replace(";", ",").split(",")
    if len(parts) != 2:
        raise PlatekitError(f"--outline: found {typed}; write X,Y, as 90,120: a place on the part, mm of the frame")
    x, y = (typed_length(part.strip(), "mm") for part in parts)
    return x, y


def _outline_in_pattern(
    outline: Outline, places: dict[str, Point], mirrored: bool, one: Surveyed | None, sigma: float
) -> SeenOutline:
    """An outline as looked at, laid where the survey has the holes that the picture shows with it.

    Without two holes that the survey settles it stays where it lies on the paper, in the paper's own mm.
    """
    corners = outline.corners * ((-1.0, 1.0) if mirrored else (1.0, 1.0))
    scale = None
    if one is not None and one.survey is not None and len(places) > 1:
        survey = one.survey
        if not (one.floating or survey.flips or one.mirror_open or one.contradict):
            there = [(survey.holes[name].x, survey.holes[name].y) for name in places]
            laid = similar(np.array(list(places.values())), np.array(there), mirrored=False)
            corners, scale = np.array([laid.place((x, y)) for x, y in corners.tolist()]), laid.scale
    loop = loop_of([(round(x, 3), round(y, 3), 0.0) for x, y in corners.tolist()])
    return SeenOutline(outline, loop, scale, sigma)


def _outline_notes(outline: SeenOutline, spec: Spec) -> list[str]:
    """What must be known of an outline before anything is made by it."""
    sigma, within = (show_length(value, spec.unit) for value in (outline.sigma, outline.seen.within))
    notes = [
        f"the outline is a picture's, sigma {sigma}, its sides within {within} of the edge seen: a chamfer, a slope of "
        "the casting's wall or a shadow beside the edge moves it; hold its length and width over all against a "
        "caliper, and leave a gap"
    ]
    if outline.scale is None:
        notes.append(
            "the outline has the paper's scale and zero, as two holes that the survey settles are wanting: "
            "`zero: middle` and `at` lay it by its middle"
        )
    return notes


def _distorted(frame: Frame, measured: str, spec: Spec) -> Distorted:
    """What the printer did to this frame, by its six bars as measured."""
    readings = readings_of(measured_of_text(measured, spec.unit))
    across, along = BARS[frame.sheet.size]
    printer = printer_of(readings, NominalBars(across, along), spec.unit)
    return printer.distortion(across, along).matrix


def _face(spec: Spec, mount: str, frame: Frame, said: LookedAt | None, other: str) -> tuple[bool, list[str]]:
    """Whether the picture shows the other face than the spec looks at, and what is to be said of it."""
    looked = spec.model.mounts[mount].looking_at
    shown = said or (None if frame.sheet.shows == "unsaid" else frame.sheet.shows)
    notes: list[str] = []
    if frame.mirrored:
        notes.append("the picture itself is a mirror image (its codes read backwards); that is undone")
    if shown is None:
        notes.append(
            f"mirror image: nothing says which face the picture shows; it is taken for the "
            f"{looked or 'one looked at'}. {other}"
        )
    elif looked is None:
        notes.append(f"the picture shows the {shown}; the spec does not say what it looks at: looking_at: {shown}")
    elif shown != looked:
        notes.append(f"the picture shows the {shown}, the spec looks at the {looked}: its places are mirrored")
        return True, notes
    return False, notes


def _nominal(pattern: MeasuredPattern, spec: Spec) -> tuple[dict[str, Point], bool]:
    """Where the holes are as far as anything says, mm as looked at, and whether a hand drew it."""
    net = net_of(pattern, spec.unit)
    readings = tuple(reading for reading in net.readings if reading.kind not in SEEN_KINDS)
    try:
        survey = solved_once(replace(net, readings=readings), floating_ok=True) if readings else None
    except BadReading:
        survey = None
    # places of readings that leave nothing open; which way round they lie must be known as well
    if survey is not None and not survey.floating and not survey.flips and survey.mirror != "open":
        return {name: (hole.x, hole.y) for name, hole in survey.holes.items()}, False
    return {name: (at[0], at[1]) for name, at in pattern.sketch.items() if name in pattern.holes and len(at) == 2}, True


def _laid_words(straight: Match | None, other: Match | None, rough: bool, say: dict[str, str]) -> list[str]:
    """What is to be said of how the pattern lay."""
    what = "sketch" if rough else "pattern as measured"
    if straight is None:
        return [f"the {what} could not be laid over what is seen; {say['unlaid']}"]
    if other is not None and len(other.pairs) > len(straight.pairs):
        return [
            f"mirror image: the {what} fits {len(other.pairs)} holes mirrored and {len(straight.pairs)} as it is; "
            f"{say['flipped']}"
        ]
    return []


def _is_new(at: Point, holes: list[Hole]) -> bool:
    return all(math.dist(at, hole.circle.at) > hole.circle.radius for hole in holes)


def _with_places(spec: Spec, mount: str, pattern: MeasuredPattern, places: dict[str, Point], sigma: float) -> str:
    """The spec with the places in, in place of those of an earlier picture; comments and layout stay."""
    field, text = f"mounts.{mount}.pattern.measured", spec.text
    if not places:
        return text
    for called in places:
        if called not in pattern.holes:
            text = with_value(text, f"{field}.holes.{called}", {})
    digits, unit = DECIMALS[spec.unit], mm_per(spec.unit)
    rows: dict[tuple[str, str], Value] = {}
    for called, place in places.items():
        for kind, value in zip(("across", "up"), place, strict=True):
            rows[called, kind] = [called, kind, round(value / unit, digits), show_length(sigma, "mm")]
    written = spec.top.data["mounts"][mount]["pattern"]["measured"].get("readings") or []
    # A row that an earlier picture gave keeps its line; one that would say the same is not written again.
    gone, there = [], len(pattern.readings)
    for k, reading in enumerate(pattern.readings):
        if reading.kind not in SEEN_KINDS:
            continue
        key = (reading.features[0], reading.kind)
        if key not in rows:
            gone.append(k)
        elif (row := rows.pop(key)) != written[k]:
            text = with_value(text, f"{field}.readings.{k}", row)
    more = list(rows.values())
    if not there and more:
        text, there = with_list_begun(text, f"{field}.readings", more.pop(0)), 1
    text = with_rows(text, f"{field}.readings", there, more)
    for k in reversed(gone):
        text = without_value(text, f"{field}.readings.{k}")
    return text


def _sizes_told(holes: list[Hole], pattern: MeasuredPattern, spec: Spec) -> list[str]:
    """Diameters as proposals: a drill that may have made each, and where a measured one differs."""
    notes = []
    for hole in holes:
        size, own = hole.circle.diameter, pattern.holes.get(hole.name)
        if own is None or own.diameter is None or abs(own.diameter - size) <= OTHER_SIZE:
            continue
        seen, there = show_length(size, spec.unit), show_length(own.diameter, spec.unit)
        notes.append(f"{hole.name} looks {seen} wide, the spec has {there}: is it the same hole?")
    for one in size_proposals(holes, pattern, spec):
        like = f", like a drill of {' or '.join(one.drills)}" if one.drills else ""
        notes.append(f"diameter of {one.name}: looks {show_length(one.seen, spec.unit)} wide{like}; measure it")
    return notes


def size_proposals(holes: Iterable[Hole], pattern: MeasuredPattern, spec: Spec) -> list[SizeProposal]:
    """What is to be asked of holes whose diameter the spec does not have; nothing of it goes in by itself."""
    found = []
    for hole in holes:
        own = pattern.holes.get(hole.name)
        if own is None or own.diameter is None:
            found.append(SizeProposal(hole.name, hole.circle.diameter, _drills(hole.circle.diameter)))
    return found


def _drills(size: float) -> tuple[str, ...]:
    """The nearest metric and inch drill, the nearer first, where they are near."""
    near = []
    for system in DRILLS:
        for above in (True, False):
            try:
                one = nearest_drill(size, above, (system,))
            except LookupFailed:
                continue
            if abs(one.diameter - size) <= DRILL:
                near.append((round(abs(one.diameter - size), 6), f"{one.name}{DRILLS[system]}"))
    return tuple(dict.fromkeys(name for _, name in sorted(near)))[:2]


def read_text(found: Read, wanted: ReadWanted, written: tuple[Path, ...]) -> str:
    """What a picture came to, for a terminal."""
    frame, unit = found.frame, found.spec.unit
    tilt = f", about {frame.tilt_deg:.0f} degrees from square" if frame.how == "photo" else ""
    lines = [
        f"frame {frame.sheet.size}: {frame.codes} of 4 codes, {frame.crossings} of {frame.of} crossings, off by "
        f"{frame.rms:.3f} mm (rms)",
        f"read as a {frame.how}{tilt}; a pixel is {frame.pixel:.3f} mm, edges are {frame.softness:.1f} pixels soft",
        "",
    ]
    for hole in found.holes:
        circle, (x, y) = hole.circle, found.places[hole.name]
        lines.append(
            f"  {hole.name}  across {show_length(x, unit)}, up {show_length(y, unit)}, "
            f"{show_length(circle.diameter, unit)} wide; {100 * circle.agreeing:.0f} % of the rays agree, by {hole.by}"
        )
    for hole in found.unnamed:
        x, y = hole.circle.at
        lines.append(
            f"  {hole.name}, without a name: at {x:.1f},{y:.1f} of the frame, {hole.circle.diameter:.1f} mm wide"
        )
    for one in found.refused:
        lines += in_paragraph(f"refused: {one.name} at {one.at[0]:.1f},{one.at[1]:.1f} of the frame: {one.why}")
    if found.outline is not None:
        seen = found.outline.seen
        long, short = (show_length(side * (found.outline.scale or 1.0), unit) for side in seen.over_all)
        where = "the pattern's own frame" if found.outline.scale is not None else "the paper"
        lines.append(
            f"  outline  {long} x {short} over all, {len(seen.corners)} corners, in {where}; "
            f"{100 * seen.agreeing:.0f} % of the rays agree, {seen.softness:.1f} pixels soft"
        )
    lines.append("")
    for note in found.notes:
        lines += in_paragraph(note)
    if found.survey is not None:
        lines += ["", *pattern_lines(found.survey, unit)]
    if found.places and not wanted.write:
        lines += ["", f"nothing is written yet; --write puts {2 * len(found.places)} readings into the spec"]
    drawn = [path for path in written if path.name.endswith(OUTLINE_SUFFIX)]
    if drawn:
        lines += ["", use_of_outline(found.spec, found.mount, drawn[0])]
    return "\n".join([*lines, "", *wrote_lines(written)])


def named_in(spec: Spec, drawn: Path) -> str:
    """The path of a file as a spec would name it, from its own folder; whole where that has none."""
    try:
        return Path(os.path.relpath(drawn, spec.folder)).as_posix()
    except ValueError:  # another drive
        return str(drawn)


def _outline_figures(outline: SeenOutline) -> Figures:
    seen = outline.seen
    return {
        "points_mm": [[round(x, 3), round(y, 3)] for x, y, _ in outline.loop.vertices],
        "in_frame_of": "paper" if outline.scale is None else "pattern",
        "scale": None if outline.scale is None else round(outline.scale, 6),
        "over_all_mm": [round(side * (outline.scale or 1.0), 2) for side in seen.over_all],
        "area_mm2": round(outline.loop.area, 1),
        "within_mm": seen.within,
        "sigma_mm": outline.sigma,
        "scatter_mm": round(seen.sigma, 4),
        "agreeing": round(seen.agreeing, 3),
        "softness_px": round(seen.softness, 2),
    }


def read_figures(found: Read, wanted: ReadWanted, written: tuple[Path, ...]) -> Figures:
    """The same for a program."""
    frame = found.frame
    return {
        "mount": found.mount,
        "frame": {
            "size": frame.sheet.size,
            "shows": frame.sheet.shows,
            "read_as": frame.how,
            "codes": frame.codes,
            "crossings": frame.crossings,
            "of": frame.of,
            "rms_mm": round(frame.rms, 4),
            "softness_px": round(frame.softness, 2),
            "tilt_deg": round(frame.tilt_deg),
            "pixel_mm": round(frame.pixel, 4),
            "mirrored": frame.mirrored,
        },
        "holes": {
            hole.name: {
                "across_mm": round(found.places[hole.name][0], 3),
                "up_mm": round(found.places[hole.name][1], 3),
                "diameter_mm": round(hole.circle.diameter, 3),
                "agreeing": round(hole.circle.agreeing, 3),
                "scatter_mm": round(hole.circle.sigma, 4),
                "by": hole.by,
            }
            for hole in found.holes
        },
        "without_name": [
            {"at_mm": [round(hole.circle.x, 3), round(hole.circle.y, 3)], "diameter_mm": round(hole.circle.diameter, 3)}
            for hole in found.unnamed
        ],
        "refused": [
            {"name": one.name, "at_mm": [round(v, 3) for v in one.at], "why": one.why} for one in found.refused
        ],
        "outline": None if found.outline is None else _outline_figures(found.outline),
        "mirrored": found.mirrored,
        "notes": list(found.notes),
        "state": found.state,
        "survey": None if found.survey is None else pattern_figures(found.survey),
        "written_into_spec": wanted.write,
        "files": [str(path) for path in written],
        "cautions": list(CAUTIONS),
    }
