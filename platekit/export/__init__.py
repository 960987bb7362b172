"""The outputs, one file a format; each writes its file whole or not at all.

    export.dxf(layout, path)        the cut file, if nothing stops the plate
    export.step(layout, path)       the solid, likewise
    export.assembly(layout, path)   all parts as one STEP file, likewise; needs the extra `solid`
    export.template(layout, verdict, path), export.sheet(...), export.svg(...), export.report(...)   for eyes and bench
    export.commissioning(layout, verdict, path), export.going_back(...), export.parts(...)   first day, way back, list
    export.holes(layout, path), export.figures(layout, path)                        for spreadsheets and programs
    export.publish(layout, verdict, out)                                            all of them

Each is imported when it is first asked for, so that a check does not load what only `make` needs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from platekit.export.assembly_step import assembly, assembly_bytes
    from platekit.export.bench.commissioning import commissioning, commissioning_bytes
    from platekit.export.bench.going_back import going_back, going_back_bytes
    from platekit.export.bench.sheet import sheet, sheet_bytes
    from platekit.export.data.hole_list import holes, holes_bytes
    from platekit.export.data.parts_list import parts, parts_bytes
    from platekit.export.data.plate import figures, figures_bytes
    from platekit.export.dxf_files.cut import dxf, dxf_bytes
    from platekit.export.paper.template import template, template_bytes
    from platekit.export.picture.whole import svg, svg_text
    from platekit.export.publishing import publish
    from platekit.export.reports.page import report, report_html
    from platekit.export.solid_step import step, step_bytes

__all__ = [
    "assembly",
    "assembly_bytes",
    "commissioning",
    "commissioning_bytes",
    "dxf",
    "dxf_bytes",
    "figures",
    "figures_bytes",
    "going_back",
    "going_back_bytes",
    "holes",
    "holes_bytes",
    "parts",
    "parts_bytes",
    "publish",
    "report",
    "report_html",
    "sheet",
    "sheet_bytes",
    "step",
    "step_bytes",
    "svg",
    "svg_text",
    "template",
    "template_bytes",
]

_HOMES = {
    "assembly": "assembly_step",
    "commissioning": "bench.commissioning",
    "dxf": "dxf_files.cut",
    "figures": "data.plate",
    "going": "bench.going_back",
    "holes": "data.hole_list",
    "parts": "data.parts_list",
    "publish": "publishing",
    "report": "reports.page",
    "sheet": "bench.sheet",
    "step": "solid_step",
    "svg": "picture.whole",
    "template": "paper.template",
}


def __getattr__(name: str) -> Any:
    """A public function, from the file of its format."""
    if name not in __all__:
        raise AttributeError(f"module 'platekit.export' has no attribute {name!r}")
    home = _HOMES[name.split("_")[0]]
    return getattr(import_module(f"platekit.export.{home}"), name)
