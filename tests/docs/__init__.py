"""The references under docs/, made from the code so that they stay true: `python -m tests.docs` writes them.

Each page is a function that gives its text; `PAGES` says which file it goes to. `tests/test_docs.py` says which file is
stale.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from .checked_page import checked_page
from .rules_page import rules_page
from .spec_page import spec_page
from .tables_page import tables_page

DOCS = Path(__file__).parents[2] / "docs"
WRITTEN_BY = "<!-- made by `python -m tests.docs`; change what it is made from, not this file -->\n"

PAGES: dict[str, Callable[[], str]] = {
    "spec.md": spec_page,
    "rules.md": rules_page,
    "tables.md": tables_page,
    "checked-against.md": checked_page,
}


def page(name: str) -> str:
    """The text that a page should have."""
    return WRITTEN_BY + PAGES[name]()


def stale() -> Iterator[str]:
    """The pages that are not as the program has them."""
    for name in PAGES:
        path = DOCS / name
        if not path.exists() or path.read_text("utf-8") != page(name):
            yield f"docs/{name}"


def write() -> None:
    """Write every page."""
    DOCS.mkdir(exist_ok=True)
    for name in PAGES:
        (DOCS / name).write_text(page(name), "utf-8", newline="\n")
