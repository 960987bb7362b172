"""`platekit frame`: the page to lay round a part before its picture is taken."""

from __future__ import annotations

from pathlib import Path

from platekit.choices import LookedAt, PictureFrame
from platekit.drawing.pdf.printer import amount_words, stored_printer
from platekit.export.files import file_in, folder_for, write_whole
from platekit.export.paper.frame import DO, frame_pdf
from platekit.jobs.told import Told, wrote_lines
from platekit.scan.sheet import FrameSheet
from platekit.spec.printers import printer_named


def frame(size: PictureFrame, looking_at: LookedAt | None, printer: str | None, out: Path) -> Told:
    """Writes the frame of that size as PDF into `out`, corrected for a stored printer if one is named.

    Raises `PlatekitError`, `SpecError` for a printer that cannot be used, `OutputError`.
    """
    used = None if printer is None else stored_printer(printer_named(printer, None), "mm")
    sheet = FrameSheet(size, looking_at or "unsaid")
    name = f"frame-{size}.pdf" if looking_at is None else f"frame-{size}-{looking_at}.pdf"
    path = file_in(folder_for(out), name)
    write_whole(path, frame_pdf(sheet, used))
    bars, window = sheet.bars, sheet.window
    corrected = "not corrected: measure its bars, and give them to `platekit read PICTURE --spec SPEC --measured BARS`"
    if used is not None:
        corrected = f"corrected for {used.called}: {amount_words(used)}"

    def text() -> str:
        return "\n".join(
            [
                *wrote_lines((path,)),
                f"window {window.width:g} mm x {window.height:g} mm; bars {bars.width:g} mm across, {bars.height:g} mm "
                "along",
                corrected,
                *(f"{number}. {sentence}" for number, sentence in enumerate(DO, 1)),
            ]
        )

    figures = {
        "files": [str(path)],
        "size": size,
        "looking_at": looking_at,
        "bars_mm": [bars.width, bars.height],
        "window_mm": [window.width, window.height],
        "corrected": used is not None,
    }
    return Told("done", text, lambda: figures, (path,))
