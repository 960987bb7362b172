"""`platekit compare`: what moved between two states of a spec, and which files are void."""

from __future__ import annotations

from pathlib import Path

from platekit.analysis.compare import Comparison
from platekit.analysis.compare import compare as compared
from platekit.export.files import file_in, folder_in, write_together
from platekit.export.outdated import outdated_files
from platekit.export.picture.overlay import PAGE, PICTURE, overlay_pdf, overlay_svg
from platekit.export.text.difference import difference_figures, difference_text
from platekit.jobs.plates import laid_out
from platekit.jobs.told import Told, Working, silent


def compare(old: Path, new: Path, out: Path, working: Working = silent) -> Told:
    """The differences of two specs; the overlay goes under `out`, where outdated files of both are looked for.

    Raises `SpecError`, `OutputError`.
    """
    # laid out and not judged: what moved is asked of plates with open stops as well
    comparison = compared(laid_out(old, working), laid_out(new, working))
    # before anything is written: the overlay itself carries both marks and is nobody's last word
    void = outdated_files(comparison, out)
    written = write_overlay(comparison, out)
    said = [str(path) for path in written]
    return Told(
        "done",
        lambda: difference_text(comparison, void, said),
        lambda: difference_figures(comparison, void, said),
        written,
    )


def write_overlay(comparison: Comparison, out: Path) -> tuple[Path, ...]:
    """Writes `out/<new spec's name>/NAME.compare.svg` and `.pdf`, each whole or not at all.

    Nothing is written when both are the same plate: there would be nothing to see.
    """
    if comparison.same_plate:
        return ()
    name = comparison.new.spec.name
    folder = file_in(out, name)
    made = (
        (file_in(folder, name + PICTURE), overlay_svg(comparison).encode()),
        (file_in(folder, name + PAGE), overlay_pdf(comparison)),
    )
    # made last, once both pictures are there: a failure leaves no empty folder
    folder_in(out, name)
    write_together(made)
    return tuple(path for path, _ in made)
