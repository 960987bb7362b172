"""What a page asks for, read with suspicion: whatever no page of ours would send is refused as it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from msgspec import Struct

from platekit.errors import PlatekitError
from platekit.geometry import Point
from platekit.page.boxes import value_of
from platekit.page.desk import Edit

FARTHEST: Final = 1e6
"""Nothing is dragged beyond this, mm in a picture (ours: a kilometre)."""


class BadRequest(PlatekitError):
    """Something that no page of ours would ask."""


class Asked(Struct, frozen=True):
    """One request: the plain data of its JSON. Each method raises `BadRequest` where that is not what it gives."""

    said: Mapping[str, Any]

    @property
    def state(self) -> str:
        """The mark of the text that the page had seen; see `Desk`."""
        return self.text("state")

    def text(self, key: str) -> str:
        """The text under a key."""
        found = self.said.get(key)
        if not isinstance(found, str):
            raise BadRequest(f"found no {key}")
        return found

    def flag(self, key: str) -> bool:
        """Whether a key is given and says yes; one left out says no."""
        return bool(self.said.get(key))

    @property
    def typed(self) -> list[Edit]:
        """Edits as boxes send them, [[field, what was typed, kind of box], ...]; raises as `value_of` does too."""
        edits = self.said.get("edits")
        if not isinstance(edits, list) or not all(
            isinstance(one, list) and len(one) == 3 and all(isinstance(part, str) for part in one) for one in edits
        ):
            raise BadRequest("found no edits")
        if not all(field for field, _, _ in edits):
            raise BadRequest("found an edit of nothing")
        return [(field, value_of(typed, kind)) for field, typed, kind in edits]

    @property
    def values(self) -> list[Edit]:
        """Edits as an advice tells them: [[field, value], ...]."""
        edits = self.said.get("edits")
        # no field at all would be the whole spec
        if not isinstance(edits, list) or not all(
            isinstance(one, list) and len(one) == 2 and isinstance(one[0], str) and one[0] for one in edits
        ):
            raise BadRequest("found no edits")
        return [(field, value) for field, value in edits]

    @property
    def point(self) -> Point:
        """Where a handle is dragged to, mm in its picture."""
        to = self.said.get("to")
        # JSON's yes and no are numbers to Python, and its reader takes NaN and Infinity, which end up in no picture:
        # the comparison leaves all of these out.
        if (
            not isinstance(to, list)
            or len(to) != 2
            or not all(isinstance(one, int | float) and not isinstance(one, bool) and abs(one) < FARTHEST for one in to)
        ):
            raise BadRequest("found no point to drag to")
        return (float(to[0]), float(to[1]))
