"""What is written: the same bytes for the same spec, whole or not at all, in the folder asked for and nowhere else."""

from __future__ import annotations

import errno
import os
import random
import re
import shutil
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

import platekit
from platekit.cli import Exit
from platekit.errors import OutputError
from platekit.export.one_writer import LOCK
from platekit.export.publishing import FilesWanted, Published, every_cut_suffix, publish

ROOT = Path(platekit.__file__).parent.parent
SPECS = ROOT / "specs"
STAMP = "NOT FOR CUTTING"
FORMS = ("--dxf", "r2000", "--dxf", "r12", "--dxf", "plain")

PLATE = """\
platekit: 1
title: Shelf bracket
units: mm
plate: {material: mild steel, thickness: 5, outline: {rectangle: {width: WIDTH, height: 60, corner: 5}}}
mounts:
  post: {side: far, pattern: {rectangle: {width: 40, height: 20, hole: 6.6}}}
cutting: {process: laser}
"""
NARROW = PLATE.replace("WIDTH", "80")
WIDE = PLATE.replace("WIDTH", "90")
STOPPED = PLATE.replace("WIDTH", "44")


def published(text: str, out: Path, name: str = "bracket") -> Published:
    layout = platekit.lay_out(platekit.loads(text, name))
    return publish(layout, platekit.check(layout), out, FilesWanted(solid=False, kerf=True))


def contents(folder: Path) -> dict[str, bytes]:
    """Every file under a folder with its bytes, hidden ones too."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def papers(files: dict[str, bytes]) -> dict[str, bytes]:
    """Those from which nothing can be cut."""
    return {name: data for name, data in files.items() if not name.endswith((".dxf", ".step"))}


def stale_cut_files(now: dict[str, bytes], old: dict[str, bytes], new: dict[str, bytes]) -> list[str]:
    """Cut files of the old state where a paper, or another cut file, is of the new one."""
    fresh = any(data == new.get(name) != old.get(name) for name, data in now.items())
    return [name for name in now.keys() - papers(now).keys() if fresh and now[name] == old.get(name) != new.get(name)]


def command(*words: str | Path, cwd: Path, **environment: str) -> subprocess.Popen[bytes]:
    """`platekit` started as a program of its own."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    line = [sys.executable, "-m", "platekit", *map(str, words)]
    return subprocess.Popen(line, cwd=cwd, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def ended(run: subprocess.Popen[bytes]) -> tuple[int, str, str]:
    """Exit code, what was printed, and what was said on the side."""
    out, err = run.communicate()
    return run.returncode, out.decode("utf-8", "replace"), err.decode("utf-8", "replace")


# --------------------------------------------------------------------------------------------- same bytes

EVERYTHING = textwrap.dedent(
    """\
    import sys
    from pathlib import Path
    import platekit
    from platekit.export.publishing import FilesWanted, publish
    for spec in sys.argv[2:]:
        layout = platekit.lay_out(platekit.load(spec))
        wanted = FilesWanted(("r2000", "r12", "plain"), reference=True, solid="sorter" in spec, kerf=True)
        publish(layout, platekit.check(layout), Path(sys.argv[1]), wanted)
    """
)


def test_the_same_spec_gives_the_same_bytes_on_any_day_in_any_place(tmp_path: Path) -> None:
    surroundings = (
        {"PYTHONHASHSEED": "1", "TZ": "Pacific/Auckland", "LC_ALL": "C", "SOURCE_DATE_EPOCH": "0"},
        {"PYTHONHASHSEED": "4242", "TZ": "America/Caracas", "LC_ALL": "C.UTF-8", "COLUMNS": "40"},
    )
    specs = sorted(path for path in SPECS.glob("*.yaml"))
    runs = []
    for number, around in enumerate(surroundings):
        env = {**os.environ, "PYTHONPATH": str(ROOT), **around}
        here = tmp_path / str(number)
        here.mkdir()
        line = [sys.executable, "-c", EVERYTHING, str(here), *map(str, specs)]
        runs.append(subprocess.Popen(line, cwd=here, env=env, stderr=subprocess.PIPE))
        time.sleep(1.1)  # so that a file that holds the second of its making is found out
    for run in runs:
        assert run.wait() == 0, run.communicate()[1]
        run.communicate()
    first, second = (contents(tmp_path / str(number)) for number in range(2))
    assert first.keys() == second.keys()
    assert len(first) > 8 * len(specs) - 8
    assert not [name for name, data in first.items() if data != second[name]]


# --------------------------------------------------------------------------------------------- whole or not at all


@pytest.fixture
def states(tmp_path: Path) -> tuple[dict[str, bytes], dict[str, bytes], Path]:
    """What two states of a plate look like, and a folder that holds the first of them."""
    for name, text in (("old", NARROW), ("new", WIDE), ("out", NARROW)):
        published(text, tmp_path / name)
    return contents(tmp_path / "old"), contents(tmp_path / "new"), tmp_path / "out"


class Failing:
    """Takes the place of a call; it works until the `allowed` calls are used up, then fails."""

    def __init__(self, call: Callable[..., Any], allowed: int, error: OSError) -> None:
        self.call, self.allowed, self.error = call, allowed, error
        self.failed = False

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        if self.allowed == 0:
            self.failed = True
            raise self.error
        self.allowed -= 1
        return self.call(*args, **kwargs)


class HalfWritten:
    """A file that takes half of what is written, then says that the disk is full."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def __enter__(self) -> HalfWritten:
        return self

    def __exit__(self, *_: object) -> None:
        self._stream.close()

    def write(self, data: bytes) -> int:
        self._stream.write(data[: len(data) // 2])
        self._stream.flush()
        raise OSError(errno.ENOSPC, "No space left on device")


CALLS: dict[str, tuple[object, str]] = {
    "open": (os, "open"),
    "force to the disk": (os, "fsync"),
    "put in place": (os, "replace"),
}


@pytest.mark.parametrize("call", CALLS)
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EIO])
def test_a_failure_at_any_call_leaves_old_files_or_new_ones(
    call: str,
    number: int,
    states: tuple[dict[str, bytes], dict[str, bytes], Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    old, new, out = states
    home, name = CALLS[call]
    failures = 0
    for allowed in range(100):
        failing = Failing(getattr(home, name), allowed, OSError(number, os.strerror(number)))
        with monkeypatch.context() as patched:
            patched.setattr(home, name, failing)
            try:
                published(WIDE, out)
                said = ""
            except OutputError as error:
                said = str(error)
        assert bool(said) == failing.failed
        assert said.isprintable()
        now = contents(out)
        assert now.keys() <= old.keys(), "something was left behind"
        assert papers(now).keys() == papers(old).keys(), "a paper is missing"
        assert not [file for file, data in now.items() if data not in (old[file], new[file])]
        assert not stale_cut_files(now, old, new)
        if not failing.failed:
            break
        failures += 1
    assert failures >= len(old)
    assert contents(out) == new


@pytest.mark.parametrize("file", range(8))
def test_a_disk_that_fills_up_within_a_file_leaves_the_old_one(
    file: int, states: tuple[dict[str, bytes], dict[str, bytes], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    old, _, out = states
    opened = os.fdopen
    count = 0

    def fdopen(*args: Any, **kwargs: Any) -> Any:
        nonlocal count
        stream = opened(*args, **kwargs)
        count += 1
        return HalfWritten(stream) if count == file + 1 else stream

    monkeypatch.setattr(os, "fdopen", fdopen)
    with pytest.raises(OutputError, match="the disk is full; make room and run it again"):
        published(WIDE, out)
    now = contents(out)
    assert now == papers(old), f"file {file}: all papers are as they were, and no cut file lies beside another state"


COPYING = textwrap.dedent(
    """\
    import sys
    from pathlib import Path
    from platekit.export.files import write_whole
    sides = [{p.name: p.read_bytes() for p in Path(side).iterdir()} for side in sys.argv[1:3]]
    print("going", flush=True)
    while True:
        for side in sides:
            for name, data in side.items():
                write_whole(Path(sys.argv[3], name), data)
    """
)


@pytest.mark.parametrize("number", range(6))
def test_a_run_that_is_killed_leaves_old_files_or_new_ones(
    number: int, states: tuple[dict[str, bytes], dict[str, bytes], Path], tmp_path: Path
) -> None:
    old, new, out = states
    folders = [tmp_path / side / "bracket" for side in ("old", "new", "out")]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.Popen([sys.executable, "-c", COPYING, *map(str, folders)], env=env, stdout=subprocess.PIPE)
    assert run.stdout is not None
    assert run.stdout.readline() == b"going\n"
    time.sleep(random.Random(number).uniform(0.0, 0.05))
    run.kill()
    run.communicate()
    now = {name: data for name, data in contents(out).items() if not name.endswith((".part", LOCK))}
    assert now.keys() == old.keys()
    assert not [name for name, data in now.items() if data not in (old[name], new[name])]


@pytest.mark.parametrize("after", [0.4, 0.9, 1.4])
def test_a_command_that_is_killed_leaves_whole_files(after: float, tmp_path: Path) -> None:
    spec = tmp_path / "bracket.yaml"
    spec.write_text(WIDE, "utf-8")
    published(NARROW, tmp_path / "out")
    published(WIDE, tmp_path / "new")
    old, new = contents(tmp_path / "out"), contents(tmp_path / "new")
    run = command("make", spec, "--no-solid", "--kerf", "--out", tmp_path / "out", cwd=tmp_path)
    time.sleep(after)
    run.kill()
    run.communicate()
    now = {name: data for name, data in contents(tmp_path / "out").items() if not name.endswith((".part", LOCK))}
    assert papers(now).keys() >= papers(old).keys()
    assert not [name for name, data in now.items() if data not in (old.get(name), new[name])]
    assert not stale_cut_files(now, old, new)


def test_a_later_run_makes_good_what_a_killed_one_left(tmp_path: Path) -> None:
    published(NARROW, tmp_path)
    (tmp_path / "bracket" / ".0123456789abcdef.part").write_bytes(b"half of a fi")
    published(WIDE, tmp_path)
    published(WIDE, tmp_path / "fresh")
    assert contents(tmp_path / "bracket") == contents(tmp_path / "fresh" / "bracket")


def test_two_runs_at_once_leave_the_files_of_one(tmp_path: Path) -> None:
    spec = tmp_path / "bracket.yaml"
    spec.write_text(WIDE, "utf-8")
    runs = [
        command("make", spec, "--no-solid", "--kerf", "--out", tmp_path / "out", cwd=tmp_path, PYTHONHASHSEED=str(k))
        for k in range(3)
    ]
    assert [ended(run)[0] for run in runs] == [Exit.CLEAR] * 3
    published(WIDE, tmp_path / "alone")
    assert contents(tmp_path / "out") == contents(tmp_path / "alone")


# --------------------------------------------------------------------------------------------- where it is written


def test_nothing_is_written_outside_the_folder_asked_for(tmp_path: Path) -> None:
    for name in ("here", "elsewhere", "out"):
        (tmp_path / name).mkdir()
    shutil.copytree(SPECS, tmp_path / "elsewhere" / "specs")
    before = contents(tmp_path)
    spec = tmp_path / "elsewhere" / "specs" / "dough-mixer.yaml"
    words = ("make", spec, "--no-solid", "--kerf", *FORMS, "--out", tmp_path / "out")
    code, said, _ = ended(command(*words, cwd=tmp_path / "here", TMPDIR=str(tmp_path / "here")))
    assert code == Exit.CLEAR, said
    after = contents(tmp_path)
    assert {name: data for name, data in after.items() if not name.startswith("out")} == before
    assert {Path(name).parts[:2] for name in after.keys() - before.keys()} == {("out", "dough-mixer")}


def test_other_files_in_the_folder_stay(tmp_path: Path) -> None:
    folder = tmp_path / "bracket"
    folder.mkdir()
    mine = {"notes.txt": b"mine", "bracket.nc": b"mine too", "old.cut.dxf": b"another's", ".hidden": b"h"}
    for name, data in mine.items():
        (folder / name).write_bytes(data)
    published(WIDE, tmp_path)
    published(STOPPED, tmp_path)
    assert {name: data for name, data in contents(folder).items() if name in mine} == mine


def test_a_link_that_leads_out_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "out" / "bracket").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    with pytest.raises(OutputError, match="a link leads out of the folder asked for"):
        published(WIDE, tmp_path / "out")
    assert not contents(tmp_path / "elsewhere")


def test_a_folder_asked_for_by_a_link_is_fine(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "disk", target_is_directory=True)
    published(WIDE, tmp_path / "out")
    assert "bracket/bracket.cut.dxf" in contents(tmp_path / "disk")


def test_a_file_that_is_a_link_is_replaced_and_what_it_led_to_stays(tmp_path: Path) -> None:
    (tmp_path / "out" / "bracket").mkdir(parents=True)
    (tmp_path / "mine.svg").write_bytes(b"mine")
    (tmp_path / "out" / "bracket" / "bracket.svg").symlink_to(tmp_path / "mine.svg")
    published(WIDE, tmp_path / "out")
    assert (tmp_path / "mine.svg").read_bytes() == b"mine"
    assert not (tmp_path / "out" / "bracket" / "bracket.svg").is_symlink()


@pytest.mark.parametrize("taken", ["out", "out/bracket", "out/bracket/bracket.svg/"])
def test_what_is_in_the_way_is_said_and_stays(taken: str, tmp_path: Path) -> None:
    path = tmp_path / taken
    path.parent.mkdir(parents=True, exist_ok=True)
    if taken.endswith("/"):
        path.mkdir()
    else:
        path.write_bytes(b"mine")
    with pytest.raises(OutputError, match="was not written: "):
        published(WIDE, tmp_path / "out")
    assert path.is_dir() if taken.endswith("/") else path.read_bytes() == b"mine"
    assert not list(tmp_path.rglob("*.part"))


@pytest.fixture
def unwritable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder that takes no file: by its rights, or for someone whom no rights hold back, by a call that fails."""
    folder = tmp_path / "locked"
    (folder / "bracket").mkdir(parents=True)
    (folder / "bracket").chmod(0o555)
    if os.access(folder / "bracket", os.W_OK):
        failing = Failing(os.open, 0, PermissionError(errno.EACCES, "Permission denied"))
        monkeypatch.setattr(os, "open", failing)
    yield folder
    (folder / "bracket").chmod(0o755)


def test_a_folder_that_may_not_be_written_is_said_so(unwritable: Path) -> None:
    with pytest.raises(OutputError, match="not allowed there"):
        published(WIDE, unwritable)
    assert not contents(unwritable)


@pytest.fixture
def small_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A disk with room for some of the files: a real one where it may be made, else a limit that is counted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    tool = shutil.which("mount")
    made = (
        tool is not None
        and not subprocess.run(
            [tool, "-t", "tmpfs", "-o", "size=96k", "tmpfs", str(disk)], capture_output=True, check=False
        ).returncode
    )
    if not made:
        monkeypatch.setattr(os, "fsync", Failing(os.fsync, 2, OSError(errno.ENOSPC, "No space left on device")))
    yield disk
    if made:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_is_said_and_what_was_there_stays(small_disk: Path) -> None:
    (small_disk / "bracket").mkdir()
    (small_disk / "bracket" / "bracket.svg").write_bytes(b"of an older state")
    with pytest.raises(OutputError, match="the disk is full; make room and run it again"):
        published(WIDE, small_disk)
    left = contents(small_disk)
    assert not [name for name in left if name.endswith(".part")]
    assert "bracket/bracket.cut.dxf" not in left


# --------------------------------------------------------------------------------------------- names


@pytest.mark.parametrize("stem", ["a b", "Mühle – Ø 130", "плита", "板", "a.b", "-x", "#1", "100%"])
def test_ordinary_names_of_specs_are_taken(stem: str, tmp_path: Path) -> None:
    spec = tmp_path / f"{stem}.yaml"
    spec.write_text(WIDE.replace("Shelf bracket", '"Träger – Ø 6,6 ½″ 板"'), "utf-8")
    layout = platekit.lay_out(platekit.load(spec))
    made = publish(layout, platekit.check(layout), tmp_path / "out", FilesWanted(solid=False))
    assert made.folder.name == stem
    assert all(path.name.startswith(f"{stem}.") for path in made.written)


@pytest.mark.parametrize("stem", ["x" * 230, "aux", "a:b", "what?", "a\u202eb", "trailing ", "..."])
def test_names_that_some_system_refuses_are_said(stem: str, tmp_path: Path) -> None:
    spec = tmp_path / f"{stem}.yaml"
    spec.write_text(WIDE, "utf-8")
    code, said, err = ended(command("make", spec, "--no-solid", "--out", tmp_path / "out", cwd=tmp_path))
    assert code == Exit.UNUSABLE, said
    assert "cannot be a file name" in err
    assert "rename the spec" in err
    assert not (tmp_path / "out").exists()


# --------------------------------------------------------------------------------------------- not for cutting


def pdf_text(path: Path) -> list[str]:
    """The text of each page."""
    document = pypdfium2.PdfDocument(path)
    try:
        pages = []
        for page in document:
            text = page.get_textpage()
            pages.append(text.get_text_range())
            text.close()
            page.close()
        return pages
    finally:
        document.close()


def test_a_plate_with_a_stop_open_gets_no_cut_file_and_a_stamp_on_the_rest(tmp_path: Path) -> None:
    spec = tmp_path / "bracket.yaml"
    spec.write_text(STOPPED, "utf-8")
    code, said, _ = ended(command("make", spec, "--kerf", *FORMS, cwd=tmp_path))
    assert code == Exit.STOP
    assert STAMP in said
    folder = tmp_path / "output" / "bracket"
    written = {path.name: path for path in folder.iterdir()}
    assert not [name for name in written if name.endswith((".dxf", ".step"))]
    assert {"bracket.svg", "bracket.template.pdf", "bracket.sheet.pdf", "bracket.report.html"} <= written.keys()
    for name, path in written.items():
        if path.suffix == ".pdf":
            assert all(STAMP in " ".join(page.split()) for page in pdf_text(path)), name
        elif path.suffix == ".json":
            assert re.search(r'"verdict": *"stop"', path.read_text("utf-8"))
        else:
            assert STAMP in path.read_text("utf-8"), name


def test_outdated_cut_files_go_when_a_stop_opens(tmp_path: Path) -> None:
    """Every file that could be cut: all forms, both units, with kerf, the parts of the guard, the solid."""
    spec = tmp_path / "mixer.yaml"
    text = (SPECS / "dough-mixer.yaml").read_text("utf-8")
    spec.write_text(text, "utf-8")
    folder = tmp_path / "output" / "mixer"
    layout = platekit.lay_out(platekit.load(spec))
    clear = platekit.check(layout)
    for unit in ("mm", "in"):
        publish(
            layout, clear, tmp_path / "output", FilesWanted(("r2000", "r12", "plain"), unit, solid=False, kerf=True)
        )
        (folder / "mixer.step").write_bytes(b"a solid")
        for suffix in every_cut_suffix():
            (folder / f"mixer{suffix}").touch()
    assert text.count("diameter: 130") == 1
    spec.write_text(text.replace("diameter: 130", "diameter: 119"), "utf-8")
    code, said, _ = ended(command("make", spec, cwd=tmp_path))
    assert code == Exit.STOP, said
    assert not [path.name for path in folder.iterdir() if path.suffix in (".dxf", ".step")]
    assert "took away mixer.cut.dxf" in said


def test_a_stop_opens_and_the_cut_file_cannot_be_removed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then nothing else is touched: a clear drawing must not lie beside papers that say it is not."""
    published(NARROW, tmp_path)
    before = contents(tmp_path)
    monkeypatch.setattr(Path, "unlink", Failing(Path.unlink, 0, PermissionError(errno.EACCES, "Permission denied")))
    with pytest.raises(OutputError, match="out of date and could not be removed; take it away by hand"):
        published(STOPPED, tmp_path)
    monkeypatch.undo()
    assert contents(tmp_path) == before
