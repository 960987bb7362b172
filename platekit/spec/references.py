"""What names in a spec refer to: other mounts and bodies, and the tables.

This looks at the plain data, so that it has its say even when some values cannot be read; whatever is not of
the expected kind is left to the models.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final

from platekit.errors import LookupFailed
from platekit.spec.models import Pattern
from platekit.spec.source import Complaint, Path
from platekit.tables.rows import kept
from platekit.units import shown

PLATE: Final = "plate"
"""The carrier's name that stands for the plate itself."""
SIZED: Final = set(Pattern.options()) - {"measured"}
"""Patterns whose holes need a size at once; measured ones are surveyed without, and the layout asks for it."""
PLACED_BY_THE_DRIVE: Final = ("drive", "second", "guard", "coupling")
"""What the names of pulleys, belts, guard and couplings begin with."""
LISTED: Final = 8
"""Most names that a message lists (ours); more are not read."""
LONGEST_CHAIN: Final = 100
"""Most mounts measured one from the other (ours): each adds its own error to the place."""
SEARCHED: Final = 300
"""Most names among which the nearest is looked for (ours); searching more would take seconds."""


def complaints(data: dict[str, Any]) -> Iterator[Complaint]:
    """Every reference of a spec that leads nowhere, in no particular order."""
    from platekit import tables

    # Before the models, on whatever is there: a shop that has one name wrong and one figure wrong hears of both. So
    # nothing here may trip over a value of the wrong kind; the models say what is wrong with it.
    mounts, bodies = _group(data, "mounts"), _group(data, "bodies")
    cutouts = _group(_group(data, "plate"), "cutouts")

    def twice(path: Path, found: str, wanted: str) -> Complaint:
        return Complaint(path, found, wanted, at_key=True)

    if PLATE in mounts:
        yield twice(("mounts", PLATE), "a mount called `plate`", "give it another name; that one is the plate itself")
    for called in bodies:
        if called in mounts:
            yield twice(("bodies", called), f"{shown(called)}, which is a mount too", "give the body a name of its own")
    for called in cutouts:
        if called in mounts or called in bodies:
            found = f"{shown(called)}, which is a mount or body too"
            yield twice(("plate", "cutouts", called), found, "give the cutout a name of its own")
    yield from _places(mounts)
    for name, body in bodies.items():
        if isinstance(body, dict):
            # What a body is carried by, what it is meant to touch, and the standard part that it is.
            from platekit import tables

            carrier, standard, others = body.get("carried_by"), body.get("standard"), body.get("touches")
            if isinstance(carrier, str) and carrier != PLATE and carrier not in mounts:
                path: Path = ("bodies", name, "carried_by")
                yield Complaint(
                    path,
                    f"{shown(carrier)}, which is no mount (nothing of that name is under `mounts`)",
                    _one_of(carrier, [*mounts, PLATE]),
                )
            if isinstance(standard, str):
                yield from _looked_up(("bodies", name, "standard"), standard, tables.mount)
            for index, other in enumerate(others if isinstance(others, list) else []):
                path = ("bodies", name, "touches", index)
                if other == name:
                    yield Complaint(path, "the body itself", "take it out")
                # `motor.shaft`: bodies that a standard or the drive brings are known by their first name only here.
                elif isinstance(other, str) and not ({other.split(".")[0]} & {*bodies, *mounts, *PLACED_BY_THE_DRIVE}):
                    wanted = _one_of(other, [one for one in bodies if one != name])
                    yield Complaint(path, f"{shown(other)}, which is no body", wanted)
    for called in _group(_group(data, "plate"), "tabs"):
        if called in mounts or called in bodies or called in cutouts:
            found = f"{shown(called)}, which is a mount, body or cutout too"
            yield twice(("plate", "tabs", called), found, "give the tab a name of its own")
    material = _group(data, "plate").get("material")
    if isinstance(material, str):
        yield from _looked_up(("plate", "material"), material, tables.material)
    joined = [one for one in _group(data, "couplings").values() if isinstance(one, dict)]
    coupled = {str(_group(one, key).get("on")) for one in joined for key in ("from", "to")}
    yield from _drive(_group(data, "drive"), mounts, "drive" in data, coupled)
    for name, coupling in _group(data, "couplings").items():
        for key in ("from", "to"):
            mount = _group(coupling, key).get("on") if isinstance(coupling, dict) else None
            if isinstance(mount, str) and mount not in mounts:
                yield Complaint(
                    ("couplings", name, key, "on"),
                    f"{shown(mount)}, which is no mount (nothing of that name is under `mounts`)",
                    _one_of(mount, [*mounts]),
                )
    for name, mount in mounts.items():
        if isinstance(mount, dict):
            yield from _pattern(name, mount)


def _group(data: dict[str, Any], key: str) -> dict[str, Any]:
    value = data.get(key)
    return value if isinstance(value, dict) else {}


def _places(mounts: dict[str, Any]) -> Iterator[Complaint]:
    # What each mount is measured from, and where it says so: under `at`, or below a place that is found or by a belt.
    origin: dict[str, str | None] = {}
    said: dict[str, Path] = {}
    for name, mount in mounts.items():
        place = mount.get("at") if isinstance(mount, dict) else None
        path: Path = ("mounts", name, "at")
        for key in ("find", "belt"):
            if isinstance(place, dict) and isinstance(place.get(key), dict):
                place, path = place[key], (*path, key)
        other = place.get("from") if isinstance(place, dict) else None
        origin[name], said[name] = other if isinstance(other, str) else None, (*path, "from")
    for name, other in origin.items():
        path = said[name]
        if other == name:
            yield Complaint(path, "the mount itself", "measure from another mount, or give [x, y]")
        elif other is not None and other not in mounts:
            others = [one for one in mounts if one != name]
            yield Complaint(
                path,
                f"{shown(other)}, which is no mount (nothing of that name is under `mounts`)",
                _one_of(other, others),
            )
    # Exactly so many steps lead to a mount with a place of its own: that is the first of the chain which is too long,
    # and those behind it are spared the same sentence. A circle never gets there.
    for name in origin:
        here: str | None = name
        for _ in range(LONGEST_CHAIN):
            here = origin.get(here) if here is not None else None
        if here is not None and origin.get(here) is None:
            found = f"a mount measured over {LONGEST_CHAIN} others"
            yield Complaint(said[name], found, "measure it from a nearer one, or give [x, y]")
    for circle in _circles(origin):
        shown_circle = " from ".join([*circle[:LISTED], circle[0]])
        yield Complaint(said[circle[0]], f"places in a circle ({shown_circle})", "give one of them as [x, y]")


def _circles(origin: dict[str, str | None]) -> Iterator[list[str]]:
    """Every circle of mounts measured from one another, each once; a mount measured from itself is none."""
    # Each mount is measured from one other at most: following them leads out, to a walk already taken, or back into
    # this walk, and then what follows from there on is the circle.
    done: set[str] = set()
    for start in origin:
        walk: dict[str, None] = {}
        here: str | None = start
        while here is not None and here in origin and here not in done and here not in walk:
            walk[here] = None
            here = origin[here]
        if here in walk and origin[here] != here:
            names = list(walk)
            yield names[names.index(here) :]
        done.update(walk)


def _drive(drive: dict[str, Any], mounts: dict[str, Any], given: bool, coupled: set[str]) -> Iterator[Complaint]:
    """Pulleys on mounts that exist, belts that the tables know, and places by a belt that there is."""
    from platekit import tables
    from platekit.tables import belts

    stages: list[tuple[Path, dict[str, Any]]] = [(("drive",), drive)]
    if isinstance(drive.get("second"), dict):
        stages.append((("drive", "second"), drive["second"]))
    for path, stage in stages:
        belt = stage.get("belt")
        if isinstance(belt, str):
            yield from _looked_up((*path, "belt"), belt, belts.trade_size)
        elif isinstance(belt, dict):
            if isinstance(belt.get("size"), str):
                yield from _looked_up((*path, "belt", "size"), belt["size"], belts.trade_size)
            if isinstance(belt.get("section"), str):
                yield from _looked_up((*path, "belt", "section"), belt["section"], belts.section)
        for key, pulley in _pulleys(stage):
            mount = pulley.get("on")
            # Idlers may sit on the plate itself, pulleys only on what has a shaft.
            allowed = [*mounts, PLATE] if key[0] == "idlers" else [*mounts]
            if isinstance(pulley.get("screw"), str):
                yield from _looked_up((*path, *key, "screw"), pulley["screw"], tables.screw)
            if isinstance(mount, str) and mount not in allowed:
                yield Complaint(
                    (*path, *key, "on"),
                    f"{shown(mount)}, which is no mount (nothing of that name is under `mounts`)",
                    _one_of(mount, allowed),
                )
    # A belt gives a place only to a mount that one of its pulleys or idlers is on; a stage that is not whole yet is
    # told about otherwise, and blames nobody here.
    whole = [stage for _, stage in stages if all(isinstance(stage.get(end), dict) for end in ("driver", "driven"))]
    ends = [[pulley.get("on") for _, pulley in _pulleys(stage)] for stage in whole]
    for name, mount in mounts.items():
        for kind in ("slots", "rails"):
            path = ("mounts", name, "take_up", kind, "jack")
            jack = _group(_group(_group(mount, "take_up"), kind), "jack") if isinstance(mount, dict) else {}
            sizes: list[tuple[tuple[str, ...], Any]] = [((*path, "size"), jack.get("size"))]
            for made in ("bolted", "bent"):
                screws = _group(_group(_group(jack, "lug"), made), "screws")
                sizes.append(((*path, "lug", made, "screws", "size"), screws.get("size")))
            for at, size in sizes:
                if isinstance(size, str):
                    yield from _looked_up(at, size, tables.screw)
        for where, word in _by_belt(mount):
            if name in coupled and not any(name in pair for pair in ends):
                # its shaft is in line with another one: there is nothing to tighten, whatever else the drive has
                wanted = "take it out: a coupling has nothing to tighten, and its part stays where it was set in line"
                wanted = wanted if where[0] == "take_up" else "give [x, y]: its shaft is in line with the other one"
                yield Complaint(("mounts", name, *where), word, wanted)
            elif not given:
                yield Complaint(("mounts", name, *where), word, "describe the belt under `drive`, or give the figure")
            elif ends and not any(name in pair for pair in ends):
                yield Complaint(("mounts", name, *where), word, f"put a pulley of the drive on {name}")


def _pulleys(stage: dict[str, Any]) -> Iterator[tuple[Path, dict[str, Any]]]:
    for end in ("driver", "driven"):
        if isinstance(stage.get(end), dict):
            yield (end,), stage[end]
    idlers = stage.get("idlers")
    for index, idler in enumerate(idlers if isinstance(idlers, list) else []):
        if isinstance(idler, dict):
            yield ("idlers", index), idler


MOVED = (("rails", ("along", "install", "tension")), ("hinge", ("install", "tension")))
"""Keys of the other take-ups that may be left to the belt."""


def _by_belt(mount: object) -> Iterator[tuple[Path, str]]:
    """Where a mount leaves a figure to the belt."""
    if not isinstance(mount, dict):
        return
    place = mount.get("at")
    if isinstance(place, dict) and "belt" in place:
        yield ("at", "belt"), "a place by the belt"
    if isinstance(place, dict) and "belt" in _group(place, "find"):
        yield ("at", "find", "belt"), "a place by the belt"
    for kind, keys in (("slots", ("along", "install", "tension")), ("swing", ("install", "tension")), *MOVED):
        take_up = _group(_group(mount, "take_up"), kind)
        for key in keys:
            if take_up.get(key) in ("belt", "auto"):
                yield ("take_up", kind, key), shown(take_up[key])


def _one_of(word: str, words: list[str]) -> str:
    from platekit.spec.vocabulary import listed, nearest  # only here: a sound spec needs none of its words

    # The nearest name first; where none is like it, all there are, as long as that can be read.
    like = nearest(word, tuple(words[:SEARCHED]))
    if like:
        return f"use {shown(like[0])}"
    if not words:
        return "there is none to name; take it out"
    return f"use {listed(tuple(shown(one) for one in words[:LISTED]))}"


def _pattern(name: str, mount: dict[str, Any]) -> Iterator[Complaint]:
    """What a mount's pattern and screws say together: every hole needs a size from somewhere."""
    from platekit import tables

    pattern, screws = mount.get("pattern"), mount.get("screws")
    if not isinstance(pattern, dict):
        return
    here: Path = ("mounts", name)
    standard = pattern.get("standard")
    if isinstance(standard, str):
        yield from _looked_up((*here, "pattern", "standard"), standard, tables.mount)
    # A hole's size may stand in the pattern or inside its kind: in either it will do.
    holders = [pattern, *(_group(pattern, kind) for kind in ("circle", "rectangle", "measured"))]
    # Every hole needs a size from somewhere: its own, its screw's, or the standard's.
    if isinstance(screws, dict):
        size = screws.get("size")
        if isinstance(size, str):
            yield from _looked_up((*here, "screws", "size"), size, tables.screw)
        elif "size" not in screws and "measured" not in pattern and not _brings_screws(standard):
            yield Complaint((*here, "screws"), "screws without a size", "add `size`, as M8 or 3/8-16", at_key=True)
    elif "screws" not in mount and pattern.keys() & SIZED and not any("hole" in group for group in holders):
        wanted = "add `screws` with a size, or `hole` in the pattern"
        yield Complaint(here, "holes without a size", wanted, at_key=True)


def _brings_screws(standard: object) -> bool:
    """Whether a standard part has threads of its own; said of one in no table too, to blame only its name."""
    from platekit import tables

    if not isinstance(standard, str):
        return standard is not None
    try:
        return tables.mount(standard).screw is not None
    except LookupFailed:
        return True


def _looked_up(path: Path, name: str, look_up: Callable[[str], object]) -> Iterator[Complaint]:
    advice = _advice(name, look_up)
    if advice is not None:
        yield Complaint(path, f"{shown(name)}, which is in no table", advice)


# Kept, since a page checks the same spec at every keystroke, and the likeness of all names takes its time.
@kept(256)
def _advice(name: str, look_up: Callable[[str], object]) -> str | None:
    """What to write instead of a name that the tables do not hold; None if they do."""
    try:
        look_up(name)
    except LookupFailed as error:
        if error.nearest:
            return f"the nearest in the tables: {', '.join(error.nearest[:4])}"
        return "see `platekit tables` for what there is"
    return None
