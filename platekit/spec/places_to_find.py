"""Which mounts of a spec have a place that is found, not given; light, for every command to ask."""

from __future__ import annotations

from platekit.spec import Spec
from platekit.spec.models import FindPlace
from platekit.spec.source import node_at


def to_be_found(spec: Spec) -> tuple[str, ...]:
    """The mounts whose place is still to be found, in the order of the spec."""
    return tuple(name for name, mount in spec.model.mounts.items() if isinstance(mount.at, FindPlace))


def places_found(spec: Spec) -> tuple[str, ...]:
    """The mounts whose place was found: the text of the spec says `find`, and it has a place all the same."""
    return tuple(
        name
        for name, mount in spec.model.mounts.items()
        if not isinstance(mount.at, FindPlace) and node_at(spec.top, ("mounts", name, "at", "find")) is not None
    )
