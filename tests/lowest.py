"""The lowest versions that pyproject.toml allows, as constraints for pip: `python -m tests.lowest`."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1] / "pyproject.toml"


def lowest() -> list[str]:
    """Each dependency of the plain install at the lowest version that is allowed."""
    wanted = tomllib.loads(PROJECT.read_text("utf-8"))["project"]["dependencies"]
    return [re.sub(r">=", "==", one) for one in wanted]


if __name__ == "__main__":
    print(*lowest(), sep="\n")
