"""Where in the file of the spec a finding has to do with: the field and the line of what it is about."""

from __future__ import annotations

from msgspec.structs import replace

from platekit.checks.finding import Finding
from platekit.placed import Layout


def in_the_file(layout: Layout, finding: Finding) -> Finding:
    """The finding with its field in the spec, and the line at which that stands; without both where nothing tells."""
    field = finding.field or next((found for name in finding.features if (found := _field_of(layout, name))), "")
    if not field:
        return finding
    return replace(finding, field=field, line=layout.spec.problem(field, "", "").line)


def _field_of(layout: Layout, name: str) -> str:
    """Where the spec speaks of a feature by its name; empty for one that it brings along."""
    if name in layout.mounts:
        return layout.mounts[name].field
    for things in (layout.bodies, layout.openings, layout.belts):
        found = next((thing.field for thing in things if thing.name == name), None)
        if found is not None:
            return found
    return ""
