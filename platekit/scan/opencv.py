"""The only door to OpenCV, which comes with the extra `scan`; and what is said where it is missing or a picture bad."""

from __future__ import annotations

import importlib
import importlib.util
from typing import Any, Final

from platekit.errors import PlatekitError

GET_IT: Final = "pip install 'platekit[scan]'"
"""The command that brings it."""


class ScanMissing(PlatekitError):
    """OpenCV is not installed; the sentence says how to get it."""

    def __init__(self, what: str = "reading a picture") -> None:
        super().__init__(f"{what} needs opencv, which is not installed; get it by {GET_IT}")


class PictureError(PlatekitError):
    """A picture that cannot be used: `file`, what was `found`, and what would do (`wanted`)."""

    def __init__(self, file: str, found: str, wanted: str) -> None:
        super().__init__(f"{file}: found {found}; {wanted}")
        self.file = file
        self.found = found
        self.wanted = wanted


def opencv() -> Any:
    """The library; `ScanMissing` where it is not installed."""
    try:
        cv2: Any = importlib.import_module("cv2")
    except ImportError:
        raise ScanMissing from None
    return cv2


def missing() -> str:
    """What is to be said where the library is not installed; "" where it is. It is not loaded to find out."""
    return "" if importlib.util.find_spec("cv2") is not None else str(ScanMissing())
