"""Finding the places of mounts.

`place(spec, name)` looks for one mount, or for two at once where the spec leaves a second one to be found, and gives
the best places. `found(spec)` is the step between loading and laying out: the spec with its `at: find` replaced by the
first of those places, or the spec itself if it has none. The same spec gives the same place.
"""

from __future__ import annotations

from platekit.choices import Merit
from platekit.errors import SpecError
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.editing import Value, with_value
from platekit.spec.places_to_find import to_be_found
from platekit.studies.place_both import place_both
from platekit.studies.place_one import SHOWN, Progress, Search, place_one, where_else
from platekit.studies.place_space import edits_of
from platekit.units import show_length


def place(spec: Spec, name: str, by: Merit = "balance", count: int = SHOWN, progress: Progress | None = None) -> Search:
    """The best places of a mount, none with a stop; `by` names the merit that counts.

    A second mount whose place is to be found is placed with it. Raises `SpecError` for a mount whose place is given,
    for one that no pose at all lets be laid out, and for a third to be found. Nothing found: no places.
    """
    others = [other for other in to_be_found(spec) if other != name]
    if len(others) > 1:
        third = f"a third place to be found, beside those of {name} and {others[0]}"
        wanted = f"give one of them a place (at: [x, y]); two are found at once: platekit place SPEC --mount {name}"
        raise SpecError((spec.problem(f"mounts.{others[1]}.at.find", third, wanted),))
    if others:
        return place_both(spec, (name, others[0]), by, count, progress)
    return place_one(spec, name, by, count, progress)


def found(spec: Spec, progress: Progress | None = None) -> Spec:
    """The spec with its `at: find` replaced by the best place; the spec itself if it has none.

    Raises `SpecError`, located at the `find`, when no place without a stop is found, with what blocks most poses.
    """
    waiting = to_be_found(spec)
    if not waiting:
        return spec
    search = place(spec, waiting[0], progress=progress)
    if not search.places:
        raise nothing_found(search)
    return search.places[0].layout.spec


def nothing_found(search: Search) -> SpecError:
    """The error that says that there is no place, and what is in the way."""
    space = search.space
    blocked = "; ".join(f"{what} ({100 * share:.0f} %)" for what, share in search.blockers[:3])
    wanted = where_else(search)
    if search.anywhere:
        wanted = f"no place of {search.told} helps: {'; '.join(search.anywhere[:2])}; mend that first"
    elif blocked:
        wanted = f"in the way: {blocked}; {wanted}"
    if search.names:
        return _no_pair(search, blocked, wanted if search.anywhere else "")
    what = f"no place without a stop on a grid of {_grid(search)}, {search.tried} positions looked at"
    if search.passed > search.checked:
        what += f", of which {search.passed} pass a first look and the best {search.checked} were checked in full"
    field = f"mounts.{space.name}.at"
    is_find = isinstance(space.mount.at, words.FindPlace)
    return SpecError((space.spec.problem(f"{field}.find" if is_find else field, what, wanted),))


def _no_pair(search: Search, blocked: str, anyhow: str) -> SpecError:
    """The error for two mounts of which no pair of places was found."""
    first, second = search.names
    what = f"no pair of places without a stop for {first} and {second}, begun from {search.starts} spots of {first}"
    wanted = f"in the way: {blocked}; " if blocked else ""
    wanted += f"give {first} a place of its own (at: [x, y]), or both larger spaces (box, angles, turn)"
    wanted = anyhow or wanted
    is_find = isinstance(search.space.mount.at, words.FindPlace)
    field = f"mounts.{first}.at"
    return SpecError((search.space.spec.problem(f"{field}.find" if is_find else field, what, wanted),))


def _grid(search: Search) -> str:
    """How near the poses lay to each other, in words."""
    space = search.space
    fine, turned = (f"{figure:.2g}" for figure in search.grid)
    step = show_length(search.grid[0], space.spec.unit)
    if space.beside is not None:  # its turns are those two that leave the shafts parallel
        return "both directions square to the shaft" if space.by_belt else f"{step} along lines of pulleys in line"
    place = f"{fine} degrees round the other shaft" if space.by_belt else step
    return place if space.turns.low == space.turns.high else f"{place} and {turned} degrees of turn"


def written_text(search: Search, number: int) -> str:
    """The spec's own text with place `number` (from 1) in it; comments and layout stay."""
    text = search.space.spec.text
    for field, value in place_edits(search, number):
        text = with_value(text, field, value)
    return text


def place_edits(search: Search, number: int) -> list[tuple[str, Value]]:
    """The fields of the spec that place `number` (from 1) changes, (field, value)."""
    spots = search.spots(search.places[number - 1])
    return [edit for space, spot in spots for edit in edits_of(space, spot)]
