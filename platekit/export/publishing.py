"""All files of one plate: everything is worked out and proved first, then put in place.

Cut files of another state go as soon as the verdict is known; the old ones of this state go before the first paper is
put in place, and the new ones come last: a run that is killed, or finds the disk full, leaves no cut file beside papers
that say something else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache, partial
from pathlib import Path

from msgspec import Struct

from platekit.checks import Verdict
from platekit.collector import without_collecting
from platekit.export.bench.commissioning import COMMISSIONING_SUFFIX, commissioning_bytes
from platekit.export.bench.going_back import BACK_SUFFIX, going_back_bytes
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.data.hole_list import holes_bytes
from platekit.export.data.parts_list import PARTS_SUFFIX, parts_bytes
from platekit.export.data.plate import figures_bytes
from platekit.export.dxf_files.cut import FORMS, Form, Unit, dxf_bytes, dxf_suffix
from platekit.export.files import file_in, folder_in, write_together
from platekit.export.one_writer import one_writer
from platekit.export.paper.template import paper_fits, template_bytes
from platekit.export.picture.copies import COPIES_SUFFIX, copies_svg, wanted_copies
from platekit.export.picture.drawing import drawings
from platekit.export.picture.drive_chart import CHART_SUFFIX, chart_text, working_belt
from platekit.export.picture.whole import svg_text
from platekit.export.reports.page import report_html
from platekit.export.solid_step import step_bytes
from platekit.export.standing import SURVEY_SUFFIX, cut_files, left_of, telling
from platekit.laying.flat_parts import flat_parts
from platekit.laying.guard_parts import GUARD_PARTS
from platekit.laying.layers import layer_parts
from platekit.placed import Layout, Side

UNITS: tuple[Unit, ...] = ("mm", "in")
STEP_SUFFIX = ".step"
ASSEMBLY_SUFFIX = ".assembly.step"
SELDOM = (SURVEY_SUFFIX, CHART_SUFFIX, COPIES_SUFFIX)
"""Endings of the papers that not every plate has: those of a state that had one go."""


class FilesWanted(Struct, frozen=True):
    """What `make` is asked for beyond the plate itself."""

    forms: tuple[Form, ...] = ("r2000",)
    unit: Unit = "mm"
    reference: bool = False
    solid: bool = True
    seen_from: Side | None = None
    kerf: bool = False
    assembly: bool = False


class Published(Struct, frozen=True):
    """What was written, in the order of writing, and which outdated files were taken away."""

    folder: Path
    written: tuple[Path, ...]
    removed: tuple[Path, ...]


Progress = Callable[[str], None]


def publish(
    layout: Layout, verdict: Verdict, out: Path, wanted: FilesWanted | None = None, progress: Progress | None = None
) -> Published:
    """Writes `out/<spec's name>/` with every file; without the cut files while a stop is open.

    `progress` is called with the name of each file before it is made. Raises `OutputError`; the papers are then as they
    were, as far as each could be, and no cut file is left that shows another state of the plate.
    """
    # The order is what makes a killed run harmless. First what is void under this verdict goes, before anything slow:
    # then all is worked out and proved in memory, papers before cut files, as a proof that fails must leave no new
    # paper beside an old cut. Only then is the folder touched, by `write_together`: old cut files out, papers in, cut
    # files last.
    wanted = wanted or FilesWanted()
    name = layout.spec.name
    folder = file_in(out, name)
    # whatever fails after this says which cut files are gone already (`telling`)
    gone = left_of(layout, verdict, Path(out))
    with telling(gone):
        paper_fits(layout, verdict, wanted.seen_from)
        papers = _made(_papers(layout, verdict, wanted), folder, name, progress)
        cut = _made(_cut_files(layout, wanted), folder, name, progress) if verdict.clear else []
        made = (*papers, *cut)
        kept = dict(made)
        with one_writer(folder_in(out, name)):
            # a cut file that is the same to the byte stays in place: nobody's nesting loses its file for nothing
            old = [path for path in cut_files(folder, name) if path not in kept or not _holds(path, kept[path])]
            # a survey or chart of a state that had one would be taken for one of this state
            missing = [path for path in (file_in(folder, name + suffix) for suffix in SELDOM) if path not in kept]
            old += [path for path in missing if path.is_file()]
            write_together(made, old)
    removed = sorted(path for path in {*gone.removed, *old} if path not in kept)
    return Published(folder, tuple(kept), tuple(removed))


def _holds(path: Path, data: bytes) -> bool:
    try:
        return path.stat().st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False


def every_cut_suffix() -> tuple[str, ...]:
    """The endings of all files from which a plate can be cut."""
    from platekit.export.dxf_files.copies import copies_dxf_suffix, copies_kerf_suffix
    from platekit.export.dxf_files.kerf import kerf_suffix

    both = [(form, unit) for form in FORMS for unit in UNITS]
    dxf = dict.fromkeys(ending(form, unit) for ending in (dxf_suffix, copies_dxf_suffix) for form, unit in both)
    kerf = (ending(unit) for ending in (kerf_suffix, copies_kerf_suffix) for unit in UNITS)
    parts = (f".{part}{ending()}" for part in GUARD_PARTS for ending in (dxf_suffix, copies_dxf_suffix))
    return (*dxf, *kerf, *parts, STEP_SUFFIX, ASSEMBLY_SUFFIX)


_Maker = tuple[str, Callable[[], bytes]]


def _papers(layout: Layout, verdict: Verdict, wanted: FilesWanted) -> Iterable[_Maker]:
    drawn = cache(without_collecting()(lambda: drawings(layout, verdict)))  # picture and report show the same drawing
    yield ".svg", lambda: svg_text(layout, verdict, drawn()).encode()
    yield ".template.pdf", lambda: template_bytes(layout, verdict, wanted.seen_from)
    yield ".sheet.pdf", lambda: sheet_bytes(layout, verdict)
    yield COMMISSIONING_SUFFIX, lambda: commissioning_bytes(layout, verdict)
    yield BACK_SUFFIX, lambda: going_back_bytes(layout, verdict)
    yield ".holes.csv", lambda: holes_bytes(layout, verdict)
    yield PARTS_SUFFIX, lambda: parts_bytes(layout, verdict)
    yield ".json", lambda: figures_bytes(layout, verdict)
    yield ".report.html", lambda: report_html(layout, verdict, drawn()).encode()
    if layout.measured:
        from platekit.export.picture.survey import survey_bytes  # only here: all of `survey/` comes with it

        yield SURVEY_SUFFIX, lambda: survey_bytes(layout)
    if working_belt(layout) is not None:
        yield CHART_SUFFIX, lambda: chart_text(layout).encode()
    copies = wanted_copies(layout)
    if copies is not None:
        yield COPIES_SUFFIX, lambda: copies_svg(layout, copies).encode()
    for part, flat in flat_parts(layout).items():
        yield f".{part}.template.pdf", partial(template_bytes, flat, verdict, wanted.seen_from)


def _cut_files(layout: Layout, wanted: FilesWanted) -> Iterable[_Maker]:
    yield from _flat_files(layout, wanted)
    cut = {part: flat for part, flat in flat_parts(layout).items() if flat.flat is None or flat.flat.cut}
    for part, flat in cut.items():
        yield from ((f".{part}{suffix}", maker) for suffix, maker in _flat_files(flat, wanted))
    if wanted.solid:
        yield STEP_SUFFIX, partial(step_bytes, layout)
        yield from ((f".{part}{STEP_SUFFIX}", partial(step_bytes, flat)) for part, flat in layer_parts(layout).items())
    if wanted.assembly:
        from platekit.export.assembly_step import assembly_bytes

        yield ASSEMBLY_SUFFIX, partial(assembly_bytes, layout)


def _flat_files(layout: Layout, wanted: FilesWanted) -> Iterable[_Maker]:
    """The cut files of the plate, or of a part that is cut beside it."""
    for form in dict.fromkeys(wanted.forms):
        make_dxf = partial(dxf_bytes, layout, form, wanted.unit, wanted.reference)
        yield dxf_suffix(form, wanted.unit), make_dxf
    if wanted.kerf:
        from platekit.export.dxf_files.kerf import kerf_bytes, kerf_suffix

        yield kerf_suffix(wanted.unit), partial(kerf_bytes, layout, wanted.unit)
    copies = wanted_copies(layout)
    if copies is not None:  # the spec wants several on one sheet
        from platekit.export.dxf_files import copies as on_sheet  # only here: few do

        for form in dict.fromkeys(wanted.forms):
            make_copies = partial(on_sheet.copies_dxf_bytes, layout, copies, form, wanted.unit, wanted.reference)
            yield on_sheet.copies_dxf_suffix(form, wanted.unit), make_copies
        if wanted.kerf:
            yield (
                on_sheet.copies_kerf_suffix(wanted.unit),
                partial(on_sheet.copies_kerf_bytes, layout, copies, wanted.unit),
            )


def _made(makers: Iterable[_Maker], folder: Path, name: str, progress: Progress | None) -> list[tuple[Path, bytes]]:
    files = []
    for suffix, maker in makers:
        path = file_in(folder, name + suffix)
        if progress is not None:
            progress(path.name)
        files.append((path, maker()))
    return files
