"""The references under docs/ are true: each page is as the program has it, and every key and rule is told."""

from __future__ import annotations

import pytest

from tests import docs


@pytest.mark.parametrize("name", docs.PAGES)
def test_a_page_is_what_the_program_says(name: str) -> None:
    path = docs.DOCS / name
    assert path.exists(), "run python -m tests.docs"
    assert path.read_text("utf-8") == docs.page(name), f"docs/{name} is stale: run python -m tests.docs"


BY_HAND = {
    "api.md",
    "guard.md",
    "index.md",
    "layers.md",
    "lugs.md",
    "outline.md",
    "page.md",
    "page.png",
    "scan.md",
    "tour.md",
    "versions.md",
}
"""The guide to the live page, and the picture of it in the README: taken from a browser, not made from the code; the
tour of the library (tests/test_tour.py), what a spec is promised; the first page and list of functions of the site."""


def test_docs_holds_nothing_that_is_not_made() -> None:
    assert {path.name for path in docs.DOCS.iterdir()} == {*docs.PAGES, *BY_HAND}


def test_the_readme_points_to_every_page() -> None:
    readme = (docs.DOCS.parent / "README.md").read_text("utf-8")
    assert [name for name in docs.PAGES if f"docs/{name}" not in readme] == []


def test_no_page_tells_a_path_of_the_machine_that_made_it() -> None:
    root = str(docs.DOCS.parent)
    assert [path.name for path in docs.DOCS.glob("*.md") if root in path.read_text("utf-8")] == []


def test_examples_of_docstrings_are_code_on_the_site() -> None:
    pytest.importorskip("griffe")
    from tests.docs.fenced import fenced

    said = "Gives the size.\n\nTold so:\n>>> size(\n...     9\n... )\n'9 mm'\n\nAnd mind it.\n"
    code = ">>> size(\n...     9\n... )\n'9 mm'"
    assert fenced(said) == said.replace(code, f"```python\n{code}\n```")
