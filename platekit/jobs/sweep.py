"""`platekit sweep`: a family of plates judged, as a list and a picture to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Final

from platekit.export.files import file_in, folder_in, write_together
from platekit.export.picture.sweep import PICTURE, sweep_svg
from platekit.export.text.sweep import sweep_csv, sweep_figures, sweep_text
from platekit.jobs.told import Told, Working, silent
from platekit.spec import load
from platekit.studies.sweep import over_of
from platekit.studies.sweep import sweep as swept_over

LIST: Final = ".sweep.csv"
"""Ending of the list's name."""


def sweep(
    path: Path,
    out: Path,
    over: Sequence[str],
    workers: int | None = None,
    working: Working = silent,
    executor: Executor | None = None,
) -> Told:
    """Every combination of the values of `over` (`FIELD=VALUES`) in the spec at `path`; list and picture under `out`.

    `executor` is of the user's own engine, as in `studies.sweep`. Raises `SpecError`, `PlatekitError` for a sweep
    over nothing or too much, `OutputError`.
    """
    swept = swept_over(load(path), [over_of(one) for one in over], workers=workers, executor=executor, working=working)
    name = swept.spec.name
    made = ((name + LIST, sweep_csv(swept)), (name + PICTURE, sweep_svg(swept).encode()))
    # both are made before either is written: no list without its picture
    folder = folder_in(out, name)
    files = tuple(file_in(folder, file) for file, _ in made)
    write_together([(file, data) for file, (_, data) in zip(files, made, strict=True)])
    return Told("done", lambda: sweep_text(swept, files), lambda: sweep_figures(swept, files), files)
