"""The report: one page that says it all, verdict first; it needs no network and no other file.

The page itself is `report.html`, a jinja2 template; this module works out the figures and words that stand in it.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from platekit.checks.finding import Verdict
from platekit.collector import without_collecting
from platekit.cutting import operations_of
from platekit.cutting.estimate import plan
from platekit.drawing.bending import NOTE, flange_rows
from platekit.drawing.cautions import CAUTIONS, CLEAR_TO_CUT, NOT_FOR_CUTTING, STRENGTH_LIMITS
from platekit.drawing.svg.parts import COLOURS
from platekit.drawing.svg.shown import parts, side_of
from platekit.export.bench.words import TORQUE_NOTE
from platekit.export.files import write_whole
from platekit.export.picture.drive_chart import chart_text, working_belt
from platekit.export.picture.from_side import side_text
from platekit.export.picture.strength import strength_picture
from platekit.export.picture.whole import Drawn, drawing_text, plate_facts, summary
from platekit.export.reports.drive_sources import drive_sources
from platekit.export.reports.fit_sources import fit_sources
from platekit.export.reports.guard import guard_rows
from platekit.export.reports.layers import LAYERS_NOTE, layer_rows
from platekit.export.reports.lugs import LUGS_NOTE, lug_rows
from platekit.export.reports.page_rows import (
    BeltTold,
    finding_rows,
    hole_rows,
    odds_rows,
    part_rows,
    screw_row,
    slider,
)
from platekit.export.reports.rows import (
    back_words,
    by_kind,
    circle_words,
    cutting_sources,
    limit_rows,
    order_of,
    plan_rows,
    source_rows,
    step_rows,
    tight_rows,
)
from platekit.export.reports.strength_sources import strength_sources
from platekit.export.text.belt import belt_rows
from platekit.export.text.coupling import coupling_rows
from platekit.placed import Layout
from platekit.units import said_in

if TYPE_CHECKING:
    from jinja2 import Template
    from jinja2.bccache import Bucket, BytecodeCache

LAYERS: Final[tuple[tuple[str, str], ...]] = (
    ("scribed", "scribed words"),
    ("near", "near side"),
    ("far", "far side"),
    ("screws", "screws"),
    ("travel", "travel"),
    ("dimensions", "dimensions"),
    ("names", "names"),
    ("findings", "findings"),
)
"""Layers of the drawing that the page can switch, with the words on their switches."""


def report(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """The report as a file at `path`, whole or not at all; raises `OutputError` if it cannot be written."""
    write_whole(path, report_html(layout, verdict).encode())


@without_collecting()
def report_html(layout: Layout, verdict: Verdict, drawn: Drawn | None = None) -> str:
    """The report as the text of one HTML page, the same for the same spec; `drawn` is as for `svg_text`."""
    from markupsafe import Markup

    unit = layout.spec.unit
    made = operations_of(layout)
    order, cutting = order_of(layout), plan(layout)
    sources = (
        *limit_rows(layout),
        *cutting_sources(layout, cutting),
        *fit_sources(layout),
        *source_rows(layout),
        *strength_sources(layout),
        *drive_sources(layout),
    )
    sources = tuple(replace(row, value=said_in(row.value, unit)) for row in sources)
    rows = tuple(finding_rows(verdict))
    # Only the switches that would do something: one that changes nothing is taken for broken
    present = {"dimensions", "names", *(side_of(layout, body) for body in parts(layout))}
    if layout.cutting.scribe:
        present.add("scribed")
    if any(body.hardware for body in layout.bodies):
        present.add("screws")
    if any(mount.travel is not None for mount in layout.mounts.values()):
        present.add("travel")
    if rows:
        present.add("findings")
    # Whatever comes from the spec is escaped by the template; only what our own tree writer made goes in as it is
    # (`Markup`).
    page: str = _template().render(
        title=layout.title,
        name=layout.spec.name,
        revision=layout.spec.revision,
        unit=unit,
        clear=verdict.clear,
        word=CLEAR_TO_CUT if verdict.clear else NOT_FOR_CUTTING,
        stamp=NOT_FOR_CUTTING,
        summary=summary(verdict),
        reasons=[row for row in rows if row.level == "stop" and row.accepted is None],
        facts=plate_facts(layout).split("  ·  "),
        picture=Markup(drawing_text(layout, verdict, drawn)),  # written by our own tree writer, all escaped
        side=Markup(side_text(layout)),  # likewise our own writer's
        holds=Markup(strength_picture(layout)),
        holds_limits=STRENGTH_LIMITS,
        layers=tuple((key, words) for key, words in LAYERS if key in present),
        sliders=tuple(slider(layout, mount) for mount in layout.mounts.values() if mount.travel is not None),
        open_findings=[row for row in rows if row.accepted is None],
        accepted=[row for row in rows if row.accepted is not None],
        holes=hole_rows(layout, made),
        screws=tuple(screw_row(layout, stack) for stack in layout.stacks),
        parts=tuple(part_rows(layout)),
        belts=(
            *(BeltTold(belt.name, tuple(belt_rows(layout, belt)), belt.result.notes) for belt in layout.belts),
            *(BeltTold(one.body, tuple(coupling_rows(layout, one)), ()) for one in layout.couplings),
        ),
        chart=Markup(chart_text(layout)) if working_belt(layout) is not None else "",  # likewise our own writer's
        odds=tuple(odds_rows(layout)),
        survey=Markup(_survey(layout)),  # likewise
        cutting=tuple(plan_rows(layout, cutting)),
        steps=tuple(step_rows(layout, order)),
        circle=tuple(circle_words(order)),
        back=tuple(back_words(layout)),
        guards=tuple((guard.name, tuple(guard_rows(guard, layout))) for guard in layout.guards),
        bend=flange_rows(layout),
        bend_note=NOTE,
        stack=tuple(layer_rows(layout)),
        stack_note=LAYERS_NOTE,
        lugs=tuple(lug_rows(layout)),
        lugs_note=LUGS_NOTE,
        tight=tuple(tight_rows(layout)),
        sources=sources,
        source_kinds=by_kind(sources),
        tones=tuple(COLOURS),
        torque_note=TORQUE_NOTE,
        cautions=CAUTIONS,
    )
    return page


def _survey(layout: Layout) -> str:
    if not layout.measured:
        return ""
    from platekit.export.picture.survey import survey_bytes  # only here: all of `survey/` comes with it

    return survey_bytes(layout).decode()


@cache
def _template() -> Template:
    # StrictUndefined: a name that the template has and we do not give is a bug to be seen, not an empty spot on paper
    from jinja2 import DictLoader, Environment, StrictUndefined

    text = resources.files("platekit.export.reports").joinpath("report.html").read_text("utf-8")
    page = Environment(
        loader=DictLoader({"report.html": text}),
        bytecode_cache=_compiled(),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return page.get_template("report.html")


def _compiled() -> BytecodeCache | None:
    """Where the compiled template is kept: beside the compiled modules, as Python keeps those, if it may be."""
    import jinja2

    class Kept(jinja2.FileSystemBytecodeCache):
        """It is kept where that works, and made anew where it does not."""

        def dump_bytecode(self, bucket: Bucket) -> None:
            with suppress(OSError):
                super().dump_bytecode(bucket)

    folder = Path(__file__).parent / "__pycache__"
    if sys.dont_write_bytecode or not folder.is_dir():
        return None
    return Kept(str(folder), f"report-{jinja2.__version__}-%s.{sys.implementation.cache_tag}")
