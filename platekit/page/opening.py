"""`platekit open`: the page for a spec, or for the folder that it is opened in."""

from __future__ import annotations

import webbrowser
from collections.abc import Callable
from pathlib import Path

from platekit.errors import OutputError, PlatekitError
from platekit.page.server import Page, serve
from platekit.page.start import JobFolder


def open_page(spec: Path | None, out: Path, port: int, browser: bool, say: Callable[[str], None]) -> None:
    """Serves the page until it is interrupted; opens it in a browser if that is wanted.

    A folder in the place of a spec shows the specs in it. Raises `PlatekitError` for a path that is not there,
    `OutputError` for a port that is taken.
    """
    here = Path() if spec is None else spec
    if here.is_dir():
        start = JobFolder(here, out)
    elif here.is_file():
        start = JobFolder(here.parent, out, here)
    else:
        raise PlatekitError(
            f"{here}: found no such file; check the name, or leave it out and start a new job on the page"
        )
    try:
        page = Page(start, port)
    except OSError as error:
        raise OutputError(
            f"port {port} cannot be used ({error.strerror}); leave --port out, any free one will do"
        ) from None

    def opened(address: str) -> None:
        say(
            f"The page is at {address}\nIt is for this machine only. Ctrl-C ends it; everything is in the spec by then."
        )
        if browser:
            webbrowser.open(address)

    serve(page, opened)
