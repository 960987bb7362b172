"""The outputs, one file a format; each writes its file whole or not at all.

export.dxf(layout, path)        the cut file, if nothing stops the plate
export.step(layout, path)       the solid, likewise
export.template(layout, verdict, path), export.sheet(...), export.svg(...), export.report(...)      for eyes and bench
export.holes(layout, path), export.figures(layout, path)                        for spreadsheets and programs
export.publish(layout, verdict, out)                                            all of them
"""

from __future__ import annotations

from platekit.export.dxf import dxf, dxf_bytes
from platekit.export.figures import figures, figures_bytes
from platekit.export.holes import holes, holes_bytes
from platekit.export.publish import publish
from platekit.export.report import report, report_html
from platekit.export.sheet import sheet, sheet_bytes
from platekit.export.step import step, step_bytes
from platekit.export.svg import svg, svg_text
from platekit.export.template import template, template_bytes

__all__ = [
    "dxf",
    "dxf_bytes",
    "figures",
    "figures_bytes",
    "holes",
    "holes_bytes",
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
