"""`platekit place`: places of a mount that nothing stops, in words, figures and pictures, and one of them written."""

from __future__ import annotations

import math
from pathlib import Path

from platekit.choices import Merit
from platekit.drawing.cautions import CAUTIONS
from platekit.errors import PlatekitError
from platekit.export.data.rounded import Figures
from platekit.export.files import file_in, folder_in, rewrite, write_whole
from platekit.export.picture.places import PICTURE, choices_svg, merit_words, where_words
from platekit.export.text.terminal import folded
from platekit.jobs.told import Told, Working, silent, wrote_lines
from platekit.placed import Layout
from platekit.spec import load
from platekit.spec.places_to_find import to_be_found
from platekit.studies.place import nothing_found, written_text
from platekit.studies.place import place as places_of
from platekit.studies.place_one import SHOWN, FoundPlace, Search
from platekit.studies.place_space import TENTHS, SearchPose, SearchSpace, changed_slots, slides


def place(
    path: Path,
    out: Path,
    mount: str | None = None,
    by: Merit = "balance",
    count: int = SHOWN,
    write: int | None = None,
    working: Working = silent,
) -> Told:
    """The best places of a mount of the spec at `path`; their picture goes under `out`, place `write` into the spec.

    Raises `SpecError` where there is no place, `PlatekitError` for a mount or a place that is not there, `OutputError`.
    """
    search = find_places(path, mount, by, count, working)
    # no picture of nothing: the error names what is most in the way, which is what has to be changed
    if not search.places:
        raise nothing_found(search)
    # the picture first: a number that no place has is refused after it, and it shows which there are
    written: tuple[Path, ...] = (write_choices(search, out),)
    if write is not None:
        written += (write_place(search, write),)
    return Told("done", lambda: search_text(search, written), lambda: search_figures(search, written), written)


def find_places(
    path: Path, name: str | None, by: Merit = "balance", count: int = SHOWN, working: Working = silent
) -> Search:
    """The best places of a mount of the spec at `path`; of the one or the two to be found if no name is given.

    Raises `PlatekitError` for a name that no mount has, and `SpecError` as `place` does.
    """
    spec = load(path)
    waiting = to_be_found(spec)
    # only a spec that leaves a place open says by itself which mount is meant; with two open both are placed
    if name is None and not waiting:
        raise PlatekitError(f"{path}: name the mount to place with --mount: {', '.join(spec.model.mounts)}")
    chosen = name or waiting[0]
    if chosen not in spec.model.mounts:
        raise PlatekitError(f"{path}: has no mount called {chosen}; use one of {', '.join(spec.model.mounts)}")
    return places_of(spec, chosen, by, count, working)


def write_choices(search: Search, out: Path) -> Path:
    """Writes `out/<spec's name>/NAME.places.svg`, whole or not at all, and gives its path."""
    name = search.space.spec.name
    path = file_in(folder_in(out, name), name + PICTURE)
    write_whole(path, choices_svg(search).encode())
    return path


def write_place(search: Search, number: int) -> Path:
    """Writes place `number` (from 1) into the spec's own file, comments kept, and gives its path.

    Raises `PlatekitError` for a number that no place has, and for a spec that is no file.
    """
    path, count = search.space.spec.path, len(search.places)
    if number > count:
        raise PlatekitError(f"there is no place {number}; {count} {'was' if count == 1 else 'were'} found")
    if path is None:
        raise PlatekitError("the spec is no file; write the place down by hand")
    # by its text, so that comments and order of the user stay, and an edit made meanwhile is not written over
    rewrite(path, search.space.spec.text, written_text(search, number))
    return path


def search_text(search: Search, written: tuple[Path, ...] = ()) -> str:
    """What a search came to, for a terminal."""
    count = "1 place" if len(search.places) == 1 else f"{len(search.places)} places"
    looked = f"{search.tried} positions tried, {search.passed} pass a first look, {search.checked} checked in full"
    lines = [f"{search.told}: {looked}, {count} without a stop"]
    for index, place in enumerate(search.places, start=1):
        lines.append("")
        lines.append(f"{index}  {where_words(search, place)}")
        lines += [f"   {line}" for line in merit_words(search, place)]
        warns = place.verdict.open("warn")
        rules = ", ".join(dict.fromkeys(finding.rule for finding in warns))
        lines.append(f"   {len(warns)} {'warning' if len(warns) == 1 else 'warnings'}{f': {rules}' if rules else ''}")
    if search.why_fewer:
        lines += ["", *folded(search.why_fewer)]
    return "\n".join([*lines, *([""] if written else []), *wrote_lines(written)])


def search_figures(search: Search, written: tuple[Path, ...] = ()) -> Figures:
    """The same for a program."""
    return {
        "mount": search.space.name,
        "mounts": list(search.names) or [search.space.name],
        "poses": search.tried,
        "passed_filter": search.passed,
        "checked": search.checked,
        "places": [place_figures(search, place) for place in search.places],
        "why_fewer": search.why_fewer or None,
        "blockers": [{"what": what, "share": round(share, 4)} for what, share in search.blockers],
        "cautions": list(CAUTIONS),
        "written": [str(path) for path in written],
    }


def place_figures(search: Search, place: FoundPlace) -> Figures:
    """One place for a program."""
    figures = spot_figures(place.layout, search.space, place.spot)
    return {
        **figures,
        "each": {space.name: spot_figures(place.layout, space, spot) for space, spot in search.spots(place)},
        "plate_area_mm2": round(place.merits.area, 3),
        "belt_off_mm": None if place.merits.belt is None else round(place.merits.belt, 4),
        "clearance_mm": round(place.merits.clearance, 4),
        "reach_mm": round(place.merits.reach, 4),
        "warnings": len(place.verdict.open("warn")),
        "revision": place.layout.spec.revision,
    }


def spot_figures(layout: Layout, space: SearchSpace, spot: SearchPose) -> Figures:
    """Where one mount is at a spot, for a program."""
    pose = layout.mounts[space.name].pose
    # What a place beside a shaft that lies along the plate settles besides: slots turned, a pulley in line
    along = changed_slots(space, spot)
    figures: Figures = {} if along is None else {"along_deg": round(math.degrees(along), 4)}
    if slides(space):
        figures["from_end_mm"] = spot.numbers[1] / TENTHS
    return {
        "side": spot.side,
        "at_mm": [round(pose.x, 6) + 0.0, round(pose.y, 6) + 0.0],
        "turn_deg": round(math.degrees(pose.turn), 6) + 0.0,
        "belt_angle_deg": spot.numbers[0] / TENTHS if space.by_belt else None,
        **figures,
    }
