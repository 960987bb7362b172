"""What does not work out, put at its place in the spec."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from platekit.errors import DriveError, LookupFailed, SpecError
from platekit.spec import Spec

T = TypeVar("T")


def located(spec: Spec, field: str, work: Callable[[], T]) -> T:
    """What `work` gives; a drive or name that does not exist becomes a problem at `field`."""
    try:
        return work()
    except (DriveError, LookupFailed) as error:
        found, wanted = (
            (f"that {error.why}", error.wanted) if error.wanted else ("a drive that does not work out", error.why)
        )
        raise SpecError((spec.problem(field, found, wanted),)) from error
