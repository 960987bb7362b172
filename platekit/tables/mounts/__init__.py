"""Standard mounts: one file a family, one line of registration each."""

from __future__ import annotations

from collections.abc import Mapping

from platekit.errors import LookupFailed
from platekit.tables.mounts import housing, iec_flange, iec_foot, nema_face, nema_foot, own_mounts, pump, stepper
from platekit.tables.mounts.family import Family
from platekit.tables.naming import key, listed, nearest
from platekit.tables.rows import kept
from platekit.tables.values import StandardMount

FAMILIES: tuple[Family, ...] = (
    nema_face.FAMILY,
    nema_foot.FAMILY,
    iec_flange.FAMILY,
    iec_foot.FAMILY,
    stepper.FAMILY,
    pump.INCH_SERIES,
    pump.METRIC_SERIES,
    housing.FAMILY,
    own_mounts.FAMILY,
)


def mount(name: str) -> StandardMount:
    """The standard mount that a designation names, whatever its spaces and dashes.

    Raises LookupFailed with the three nearest designations for an unknown name, and with every meaning for a
    name that stands for more than one (`NEMA 42` is a foot-mounted frame and a stepping motor's face).

    >>> mount("iec90-b5").bolt_circle
    165.0
    """
    # The entries that a name stands for: those called just so, else those that have it as another name.
    # `claims` tells by the look of a name which families may know it, so that only their files are opened. A name
    # that one family calls its own goes before all that have it as another name.
    wanted = key(name)
    proper: list[tuple[Family, str]] = []
    others: list[tuple[Family, str]] = []
    for place, family in enumerate(FAMILIES):
        if family.claims.fullmatch(wanted):
            own, also = _index(place)
            folded = family.fold(wanted)
            proper += [(family, own[folded])] if folded in own else []
            others += [(family, other) for other in also.get(folded, ())]
    found = list(dict.fromkeys(proper or others))
    if not found:
        close = nearest(name, names())
        raise LookupFailed(
            f"no standard mount is called {name!r}", close, wanted=f"the nearest are {listed(close, 'and')}"
        )
    if len(found) > 1:
        choices = tuple(designation for _, designation in found)
        said = listed(f"{designation} ({family.name})" for family, designation in found)
        raise LookupFailed(f"{name!r} can mean more than one standard mount", choices, wanted=f"say {said}")
    return _built(*found[0])


def names() -> tuple[str, ...]:
    """Every designation, family by family, in the order of size."""
    return tuple(designation for family in FAMILIES for designation in family.entries())


@kept()
def every_mount() -> tuple[StandardMount, ...]:
    """Every standard mount, in the order of `names`: what looks for one by its figures asks for all of them."""
    return tuple(map(mount, names()))


def mounts_on_circle(diameter: float, within: float) -> tuple[StandardMount, ...]:
    """The standard mounts with that bolt circle, to so many mm, in the order of `names`: only these are built.

    >>> [one.designation for one in mounts_on_circle(165, 0.1)][:2]
    ['FF165', 'FT165']
    """
    return tuple(
        _built(family, designation)
        for family in FAMILIES
        for designation, circle in _circles(family).items()
        if abs(circle - diameter) <= within
    )


@kept()
def _circles(family: Family) -> Mapping[str, float]:
    found = family.circles()
    return {designation: found[designation] for designation in family.entries() if designation in found}


def families() -> tuple[Family, ...]:
    """The families of mounts."""
    return FAMILIES


@kept()
def _index(place: int) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """The compared names of a family: proper ones, and other names with all that they stand for."""
    own: dict[str, str] = {}
    others: dict[str, tuple[str, ...]] = {}
    for designation, aliases in FAMILIES[place].entries().items():
        own[key(designation)] = designation
        for alias in dict.fromkeys(key(alias) for alias in aliases):
            others[alias] = (*others.get(alias, ()), designation)
    return own, others


@kept()
def _built(family: Family, designation: str) -> StandardMount:
    return family.build(designation)
