"""The first step of most jobs: from the path of a spec to its layout and verdict."""

from __future__ import annotations

import os
from pathlib import Path

from platekit.checks.finding import Verdict
from platekit.errors import PlatekitError
from platekit.export.standing import without_cut_files
from platekit.jobs.told import Working, silent
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load
from platekit.spec.places_to_find import to_be_found
from platekit.studies.advised import judge
from platekit.studies.long_surveys import long_surveys


def laid_out(path: Path, working: Working = silent) -> Layout:
    """The layout of the spec at `path`, with the place that it leaves to be found; raises `SpecError`."""
    spec = load(path)
    for words in long_surveys(spec):
        working(words)
    # the search lays out and judges hundreds of times: it is imported only where a place is left open
    if to_be_found(spec):
        from platekit.studies.place import found

        spec = found(spec, working)
    return lay_out(spec)


def judged(path: Path, out: Path, working: Working = silent) -> tuple[Layout, Verdict]:
    """Layout and verdict of the spec at `path`; where it cannot be used, the cut files of its name under `out` go.

    Raises `SpecError`, which then also says which files went.
    """
    try:
        layout = laid_out(path, working)
    except PlatekitError as error:
        # A cut file from when the spec was sound would still be taken to the table, so it goes. A path that is no
        # file is most likely a slip of the typist: nothing is taken away for that.
        if os.path.isfile(path):
            try:
                removed = without_cut_files(out, path.stem)
                error.also += tuple(f"took away {gone}: its spec cannot be used as it is now" for gone in removed)
            except PlatekitError as second:
                error.also += (str(second),)
        raise
    return layout, judge(layout)
