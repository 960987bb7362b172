"""Sets the examples of docstrings as code on the site: in Markdown, `>>>` is a quotation in a quotation in a third.

`.ci/mkdocs.yml` names this file as an extension of what reads the docstrings.
"""

from __future__ import annotations

import re
from typing import Any

import griffe

EXAMPLE = re.compile(r"^>>> .*?(?=\n[ \t]*\n|\Z)", re.MULTILINE | re.DOTALL)
"""An example: from its first prompt to the next empty line."""


def fenced(text: str) -> str:
    """A docstring whose examples stand in fences.

    A note of what prints stays with its example.
    """
    return EXAMPLE.sub(lambda one: f"```python\n{one[0].rstrip()}\n```", text)


BASE: Any = griffe.Extension


class Fenced(BASE):  # type: ignore[misc]  # the docs extra may not be there
    """Fences the examples of all that is shown."""

    def on_instance(self, *, obj: Any, **_: Any) -> None:
        """Called for each module, class, function and attribute that is read."""
        if obj.docstring is not None:
            obj.docstring.value = fenced(obj.docstring.value)
