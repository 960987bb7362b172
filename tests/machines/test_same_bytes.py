"""Every file has the same bytes on every processor, with every number of threads, in every locale."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.machines import kinds

ROOT = Path(__file__).parents[2]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def told(environment: dict[str, str]) -> str:
    return ", ".join(f"{name}={environment[name]}" for name in sorted(kinds.VARIABLES) if name in environment)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    """All files, by the kind of machine that wrote them."""
    found: dict[str, dict[str, bytes]] = {}
    turkish = kinds.with_turkish(tmp_path_factory.mktemp("locales"))
    for k, environment in enumerate(kinds.environments()):
        commas = environment["LC_ALL"] == kinds.TURKISH
        if commas:
            environment |= turkish
        folder = tmp_path_factory.mktemp(f"machine{k}")
        command = [sys.executable, "-m", "tests.machines.everything", str(folder)]
        done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, encoding="utf-8", check=False)
        assert done.returncode == 0, f"{told(environment)}: {done.stderr}"
        # that the locale was met where it could be made, and not C under its name
        assert json.loads(done.stdout.splitlines()[-1]) == "," or not (commas and turkish)
        found[told(environment)] = contents(folder)
    return found


def test_every_file_has_the_same_bytes(written: dict[str, dict[str, bytes]]) -> None:
    (first, files), *others = written.items()
    assert len(files) > 100
    assert sum(name.endswith(".cut.dxf") for name in files) >= 6
    differing = [
        f"{name}: {other}\n  is not as with {first}"
        for other, own in others
        for name in sorted(files.keys() | own.keys())
        if files.get(name) != own.get(name)
    ]
    assert not differing, "\n".join(differing)


def test_every_value_of_every_setting_is_met() -> None:
    met = {(name, value) for one in kinds.environments() for name, value in one.items() if name in kinds.VARIABLES}
    assert {("OPENBLAS_NUM_THREADS", "1"), ("OPENBLAS_NUM_THREADS", "2")} <= met
    assert {("LC_ALL", "C"), ("LC_ALL", "tr_TR.UTF-8")} <= met
    assert {("OPENBLAS_CORETYPE", name) for name in kinds.kernels() if name != "Nehalem"} <= met
    assert len({value for name, value in met if name == "PYTHONHASHSEED"}) >= 3
