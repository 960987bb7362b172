"""What does not work out, put at its place in the spec."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from platekit.errors import DriveError, LookupFailed, SpecError
from platekit.spec import Spec
from platekit.units import said_in

T = TypeVar("T")


def located(spec: Spec, field: str, work: Callable[[], T]) -> T:
    """What `work` gives; a drive or name that does not exist becomes a problem at `field`."""
    try:
        return work()
    except (DriveError, LookupFailed) as error:
        # tables and drive know no unit: what they say in mm is put into that of the spec
        why, wanted_by = said_in(error.why, spec.unit), said_in(error.wanted, spec.unit)
        found, wanted = (f"that {why}", wanted_by) if wanted_by else ("a drive that does not work out", why)
        raise SpecError((spec.problem(field, found, wanted),)) from error
