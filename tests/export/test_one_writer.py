"""One run writes in a folder at a time; a run that died holds nothing, and what it left half written is cleared."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

import platekit
from platekit.errors import OutputError
from platekit.export import one_writer as module
from platekit.export.files import write_whole
from platekit.export.one_writer import LOCK, one_writer

ROOT = Path(platekit.__file__).parents[1]
HOLDING = textwrap.dedent(
    """\
    import sys, time
    from pathlib import Path
    from platekit.export.one_writer import one_writer
    with one_writer(Path(sys.argv[1])):
        print("held", flush=True)
        time.sleep(float(sys.argv[2]))
    """
)


def holder(folder: Path, seconds: float) -> subprocess.Popen[bytes]:
    """Another process that holds the folder, and has it by now."""
    line = [sys.executable, "-c", HOLDING, str(folder), str(seconds)]
    run = subprocess.Popen(line, cwd=ROOT, stdout=subprocess.PIPE)
    assert run.stdout is not None
    assert run.stdout.readline() == b"held\n"
    return run


def test_the_second_waits_for_the_first(tmp_path: Path) -> None:
    run = holder(tmp_path, 0.5)
    write_whole(tmp_path / "plate.svg", b"x")
    assert run.communicate()[0] == b""
    assert run.returncode == 0  # the folder was let go before anything was written
    assert [path.name for path in tmp_path.iterdir()] == ["plate.svg"]


def test_it_says_so_when_the_first_takes_too_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run = holder(tmp_path, 60)
    monkeypatch.setattr(module, "PATIENCE", 0.2)
    with pytest.raises(OutputError, match="another platekit has been writing there") as caught:
        write_whole(tmp_path / "plate.svg", b"x")
    assert str(caught.value).isprintable()
    assert not (tmp_path / "plate.svg").exists()
    run.kill()
    run.communicate()


def test_a_killed_run_holds_nothing_and_its_leavings_are_cleared(tmp_path: Path) -> None:
    run = holder(tmp_path, 60)
    (tmp_path / ".00112233445566aa.part").write_bytes(b"half of a fi")
    (tmp_path / "my own.part").write_bytes(b"mine")
    run.kill()
    run.communicate()
    assert (tmp_path / LOCK).exists()
    write_whole(tmp_path / "plate.svg", b"x")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my own.part", "plate.svg"]


def test_within_itself_it_is_held_once(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path)
    with one_writer(tmp_path), one_writer(tmp_path / "link"):
        write_whole(tmp_path / "link" / "plate.svg", b"x")
        assert (tmp_path / LOCK).exists()
    assert not (tmp_path / LOCK).exists()


def test_a_folder_that_is_not_there_is_no_hindrance(tmp_path: Path) -> None:
    with one_writer(tmp_path / "none"):
        pass
    assert not (tmp_path / "none").exists()
