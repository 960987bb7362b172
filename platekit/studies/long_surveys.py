"""Which surveys take a while; apart from the surveys themselves, as every command asks it first."""

from __future__ import annotations

from platekit.spec import Spec

MANY_MEASURED = 40
"""Holes of a measured pattern from which its survey can take longer than a second (measured; ours)."""


def long_surveys(spec: Spec) -> tuple[str, ...]:
    """What is at work, in words, for each measured pattern so large that its survey takes a while."""
    patterns = {name: mount.pattern.measured for name, mount in spec.model.mounts.items()}
    return tuple(
        f"working out where the {len(pattern.holes)} holes of {name} are"
        for name, pattern in patterns.items()
        if pattern is not None and len(pattern.holes) > MANY_MEASURED
    )
