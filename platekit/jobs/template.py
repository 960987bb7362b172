"""`platekit template`: the 1:1 paper by itself, corrected for a printer after measuring, that printer stored."""

from __future__ import annotations

import math
from pathlib import Path

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import CAUTIONS, NOT_FOR_CUTTING, TWO_LINES
from platekit.drawing.pdf.printer import (
    Printer,
    as_it_lay,
    printer_of,
    printer_of_spec,
    printer_words,
    readings_of,
    stored_printer,
)
from platekit.export.data.rounded import Figures
from platekit.export.files import file_in, folder_for, folder_in, write_together
from platekit.export.one_writer import one_writer
from platekit.export.paper.template import TEMPLATE_SUFFIX, nominal_bars, template_bytes
from platekit.export.standing import FolderState, left_of, telling, void_cut_files
from platekit.jobs.plates import judged
from platekit.jobs.told import Told, Working, silent, wrote_lines
from platekit.placed import Layout, Side
from platekit.spec.printers import measured_of_text, printer_named, printer_text


class PrintWanted(Struct, frozen=True):
    """What `template` is asked for.

    `measured` are readings as typed, `printer` the name of a printer: with readings it is stored under that name,
    without it is looked up.
    """

    seen_from: Side | None = None
    both_sides: bool = False
    measured: str | None = None
    printer: str | None = None
    corrected: bool = True


class Printed(Struct, frozen=True):
    """What was written, for which printer it is corrected, and what that printer does, in sentences."""

    written: tuple[Path, ...]
    printer: Printer | None
    told: tuple[str, ...]
    standing: FolderState = FolderState()

    def text(self, verdict: Verdict) -> str:
        """What was written and found, for a terminal."""
        lines = [*self.told, *wrote_lines(self.written), *self.standing.lines(), *TWO_LINES]
        return "\n".join(lines if verdict.clear else [*lines, f"{NOT_FOR_CUTTING}: a stop is open, see platekit check"])

    def figures(self, verdict: Verdict) -> Figures:
        """The same for a program."""
        printer: Figures | None = None
        if self.printer is not None:
            lean = math.degrees(self.printer.portrait.lean)
            printer = {
                "name": self.printer.name or None,
                "portrait_scale_across": round(self.printer.portrait.across, 6),
                "portrait_scale_along": round(self.printer.portrait.along, 6),
                "portrait_lean_deg": round(lean, 4),
                "top_less_bottom_mm": round(self.printer.wider_on_top, 3),
                "right_less_left_mm": round(self.printer.longer_right, 3),
                "misfit_mm": round(self.printer.misfit, 3),
                "left_mm": round(self.printer.left, 3),
            }
        return {
            "verdict": verdict.word,
            "files": [str(path) for path in self.written],
            "printer": printer,
            "cautions": list(CAUTIONS),
            **self.standing.figures(),
        }


def template(path: Path, out: Path, wanted: PrintWanted, working: Working = silent) -> Told:
    """Writes the paper of the spec at `path` under `out`; raises `SpecError` and what `print_template` raises."""
    layout, verdict = judged(path, out, working)
    printed = print_template(layout, verdict, out, wanted)
    return Told(verdict.word, lambda: printed.text(verdict), lambda: printed.figures(verdict), printed.written)


def print_template(layout: Layout, verdict: Verdict, out: Path, wanted: PrintWanted) -> Printed:
    """Writes `out/<spec's name>/NAME.template.pdf` and, if asked, the printer's file beside the spec.

    Cut files that are void under the verdict go first. Raises `PaperError` for readings that cannot be used,
    `OutputError`, `SpecError`; nothing is written then.
    """
    file_in(out, layout.spec.name)  # a name that no file can have is refused before anything is drawn
    # The void cut files go before anything can fail: whoever typed readings that cannot be used has still changed the
    # plate, and `telling` says in that error which files went.
    before = left_of(layout, verdict, out)
    with telling(before):
        printer, stored = _printer(layout, verdict, wanted)
        data = template_bytes(
            layout,
            verdict,
            wanted.seen_from,
            both_sides=wanted.both_sides,
            printer=printer,
            corrected=wanted.corrected,
        )
        folder = folder_in(out, layout.spec.name)
        path = file_in(folder, layout.spec.name + TEMPLATE_SUFFIX)
        files = [(path, data)]
        if stored is not None:
            folder_for(stored[0].parent)
            # The printer's file first: if only one of the two gets written, a paper corrected for a printer of which
            # the file says something else would mislead every later sheet.
            files.insert(0, (stored[0], stored[1].encode()))
        with one_writer(folder):
            write_together(files, void_cut_files(layout, verdict, folder))
    written = [file for file, _ in reversed(files)]
    # looked at again: what was void before the paper was written is gone by now, and what is left beside it is told
    # once
    after = left_of(layout, verdict, out)
    words = (
        ()
        if printer is None
        else printer_words(printer, nominal_bars(layout, verdict, wanted.seen_from), layout.spec.unit)
    )
    words += _lasting_words(layout, printer, wanted)
    standing = FolderState(before.removed + after.removed, after.outdated)
    return Printed(tuple(written), printer if wanted.corrected else None, words, standing)


def _lasting_words(layout: Layout, printer: Printer | None, wanted: PrintWanted) -> tuple[str, ...]:
    """What to write into the spec, so that every later sheet is corrected as well; nothing if it says so already."""
    # a printer without a name is measured for one sheet only, and nothing could be written down to find it again
    if printer is None or not wanted.corrected or not printer.name or layout.paper.printer == printer.name:
        return ()
    if wanted.measured is None:
        begin = f"Only these sheets are corrected for {printer.name}"
    else:
        begin = f"{printer.name} is stored, and only these sheets are corrected so far"
    paper = layout.paper
    other = paper.measured is not None or paper.printer is not None
    begin += f"; `platekit make` {'corrects for another printer' if other else 'writes plain paper over it'}"
    if not paper.said:
        return (f"{begin}, unless you add to the spec:", f"    paper: {{printer: {printer.name}}}")
    instead = " in place of `measured`" if paper.measured is not None else ""
    return (f"{begin}, unless you put under `paper:` of the spec{instead}:", f"    printer: {printer.name}")


def _printer(layout: Layout, verdict: Verdict, wanted: PrintWanted) -> tuple[Printer | None, tuple[Path, str] | None]:
    """The printer that is asked for, and the path and text of its file if it is to be stored."""
    unit, name = layout.spec.unit, wanted.printer
    path = None if name is None else printer_named(name, layout.spec.path)
    if wanted.measured is None:
        return (printer_of_spec(layout) if path is None else stored_printer(path, unit)), None
    measured = measured_of_text(wanted.measured, unit)
    readings, nominal = readings_of(measured), nominal_bars(layout, verdict, wanted.seen_from)
    printer = printer_of(readings, nominal, unit, name or "")
    if path is None:
        return printer, None
    # stored with the lengths as the sheet lay when it was measured, so that the file can be read without the layout
    lay = as_it_lay(readings, nominal)
    return printer, (path, printer_text(measured, (lay.across, lay.along), unit))
