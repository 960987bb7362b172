"""What this room lets in: shapely in one module only and late, scipy never."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import platekit.geometry

ROOM = Path(platekit.geometry.__file__).parent


def test_importing_the_room_is_light() -> None:
    script = "import sys, platekit.geometry; print(*[m for m in ('scipy', 'shapely', 'numpy') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOM.parents[1]
    )
    assert done.stdout.split() == []


def test_shapely_has_one_door() -> None:
    users = [path.name for path in sorted(ROOM.glob("*.py")) if "shapely" in imported(path)]
    assert users == ["polygons.py"]


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add((node.module or "").split(".")[0])
    return names


def test_everything_public_is_named() -> None:
    assert platekit.geometry.__all__ == sorted(
        platekit.geometry.__all__, key=lambda name: (not name.isupper(), not name[0].isupper(), name)
    )
    assert all(hasattr(platekit.geometry, name) for name in platekit.geometry.__all__)
