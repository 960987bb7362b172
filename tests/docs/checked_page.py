"""The page on what the program was checked against: from the heads of the files in tests/published/."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "published"
FIELDS = ("Source", "Compared", "Within")
_FIELD = re.compile(rf"^({'|'.join(FIELDS)}): ", re.MULTILINE)
_COUNT = re.compile(r"^tests/published/(test_\w+)\.py: (\d+)$", re.MULTILINE)

INTRO = """\
# What was checked against what, and how closely

Each section is a file in [tests/published](../tests/published). Its expected figures come from the source, never from
the program; the source stands at the head of the file and beside each check. "From memory" means that no copy was at
hand when the figures were written down: such a check shows that two recollections agree, no more. Cases are counted by
pytest.
"""


class HeadError(ValueError):
    """A file of tests/published does not say where its figures come from."""


def head(path: Path) -> dict[str, str]:
    """Title, Source, Compared and Within of a file; HeadError if one is missing."""
    said = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    title, _, rest = said.partition("\n")
    block = next((part for part in rest.split("\n\n") if part.lstrip().startswith("Source: ")), "").strip()
    parts = _FIELD.split(block)
    fields = dict(zip(parts[1::2], (" ".join(text.split()) for text in parts[2::2]), strict=True))
    missing = [name for name in FIELDS if not fields.get(name)]
    if not title or missing:
        raise HeadError(f"{path.name}: its head has no {' and no '.join(missing or ['title'])}")
    return {"Title": title, **fields}


def cases() -> dict[str, int]:
    """How many cases pytest counts in each file."""
    words = ["--collect-only", "-q", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "tests/published"]
    settings = {**os.environ, "PYTEST_ADDOPTS": ""}
    root = FOLDER.parents[1]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *words], cwd=root, env=settings, capture_output=True, text=True, check=True
    )
    return {name: int(count) for name, count in _COUNT.findall(done.stdout)}


def checked_page() -> str:
    """What is compared with what, within how much, in how many cases."""
    counted = cases()
    paths = sorted(FOLDER.glob("test_*.py"))
    uncounted = [path.name for path in paths if path.stem not in counted]
    if uncounted:
        raise HeadError(f"pytest counts no case in {', '.join(uncounted)}")
    lines = [INTRO]
    for path in paths:
        said = head(path)
        lines += [
            f"## {said['Title'].rstrip('.')}",
            "",
            f"- **Source:** {said['Source']}",
            f"- **Compared:** {said['Compared']}",
            f"- **Within:** {said['Within']}",
            f"- **Cases:** {counted[path.stem]}, in [{path.name}](../tests/published/{path.name})",
            "",
        ]
    lines.append(f"{sum(counted.values())} cases in {len(paths)} files.\n")
    return "\n".join(lines)
