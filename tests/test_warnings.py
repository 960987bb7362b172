"""Which warnings end a run of the tests: our own, not what a library says of itself or of its next release."""

from __future__ import annotations

import tomllib
import warnings
from pathlib import Path

import pytest
from _pytest.config import parse_warning_filter

ROOT = Path(__file__).parents[1]
LINES = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]["ini_options"]["filterwarnings"]


@pytest.mark.parametrize(
    ("module", "kind", "error"),
    [
        ("platekit.strength.answer", RuntimeWarning, True),
        ("tests.checks.plates", UserWarning, True),
        ("numpy.linalg", RuntimeWarning, False),
        ("reportlab.pdfgen", UserWarning, False),
        ("reportlab.pdfgen", DeprecationWarning, False),
        # said in our name, of what a library will drop
        ("platekit.geometry.polygons", DeprecationWarning, False),
        ("platekit.geometry.polygons", FutureWarning, False),
    ],
)
def test_only_our_own_warnings_are_errors(module: str, kind: type[Warning], error: bool) -> None:
    with warnings.catch_warnings(record=not error):
        warnings.resetwarnings()
        for line in LINES:
            warnings.filterwarnings(*parse_warning_filter(line, escape=False))
        if error:
            with pytest.raises(kind):
                warnings.warn_explicit("odd", kind, "file.py", 1, module=module)
        else:
            warnings.warn_explicit("odd", kind, "file.py", 1, module=module)
