"""platekit: one plate that carries an old bolt pattern and a new one, from readings to a file that can be cut.

As a library:

    spec = platekit.found(platekit.load("specs/dough-mixer.yaml"))    # finds what the spec leaves to be found
    layout = platekit.lay_out(spec)
    verdict = platekit.check(layout)
    verdict = platekit.advised(layout, verdict)                       # its advice tried before it is given
    if verdict.clear:
        platekit.export.dxf(layout, "plate.dxf")
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from platekit import export
    from platekit.checks import Finding, Verdict, check
    from platekit.errors import PlatekitError, SpecError
    from platekit.layout import Layout, lay_out
    from platekit.spec import Spec, load, loads
    from platekit.studies.advised import advised
    from platekit.studies.place import found

__version__ = "0.1.0"
__all__ = [
    "Finding",
    "Layout",
    "PlatekitError",
    "Spec",
    "SpecError",
    "Verdict",
    "advised",
    "check",
    "export",
    "found",
    "lay_out",
    "load",
    "loads",
]

_HOMES = {
    "Finding": "platekit.checks",
    "Verdict": "platekit.checks",
    "advised": "platekit.studies.advised",
    "check": "platekit.checks",
    "found": "platekit.studies.place",
    "PlatekitError": "platekit.errors",
    "SpecError": "platekit.errors",
    "Layout": "platekit.layout",
    "lay_out": "platekit.layout",
    "Spec": "platekit.spec",
    "load": "platekit.spec",
    "loads": "platekit.spec",
}


def __getattr__(name: str) -> Any:
    """The public names, imported when first used so that a part of the package does not load the whole."""
    if name == "export":
        return import_module("platekit.export")
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'platekit' has no attribute {name!r}")
