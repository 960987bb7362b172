"""Files appear whole or not at all, in the folder that was asked for, and errors are one sentence."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import OutputError
from platekit.export import files


def names(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def test_holds_exactly_what_was_given(tmp_path: Path) -> None:
    data = bytes(range(256)) * 3 + b"\r\n\n\r"
    files.write_whole(tmp_path / "plate.bin", data)
    assert (tmp_path / "plate.bin").read_bytes() == data
    assert names(tmp_path) == ["plate.bin"]


def test_replaces_what_was_there(tmp_path: Path) -> None:
    files.write_whole(tmp_path / "plate.svg", b"an older and much longer text")
    files.write_whole(tmp_path / "plate.svg", b"new")
    assert (tmp_path / "plate.svg").read_bytes() == b"new"


def test_others_may_read_it_as_usual(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        files.write_whole(tmp_path / "plate.svg", b"x")
    finally:
        os.umask(before)
    expected = 0o666 if os.name == "nt" else 0o644
    assert (tmp_path / "plate.svg").stat().st_mode & 0o777 == expected


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "the disk is read-only"),
        (errno.EACCES, "not allowed"),
        (errno.EIO, "the disk reports a fault"),
    ],
)
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str, step: str
) -> None:
    files.write_whole(tmp_path / "plate.svg", b"old")

    def fails(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, step, fails)
    with pytest.raises(OutputError, match=words) as caught:
        files.write_whole(tmp_path / "plate.svg", b"new")
    assert "\n" not in str(caught.value)
    assert "plate.svg was not written" in str(caught.value)
    assert (tmp_path / "plate.svg").read_bytes() == b"old"
    assert names(tmp_path) == ["plate.svg"]


def test_stopped_by_hand_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        files.write_whole(tmp_path / "plate.svg", b"new")
    assert names(tmp_path) == []


def test_killed_while_writing_leaves_the_old_file(tmp_path: Path) -> None:
    """A process that dies between writing and putting in place has not touched the file."""
    target = tmp_path / "plate.svg"
    files.write_whole(target, b"old")
    script = textwrap.dedent(
        f"""
        import os
        from platekit.export import files
        os.replace = lambda *_: os._exit(9)
        files.write_whole({str(target)!r}, b"new" * 100_000)
        """
    )
    root = Path(files.__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", script], cwd=root, check=False, timeout=60)
    assert done.returncode == 9
    assert target.read_bytes() == b"old"


def test_the_words_for_each_trouble(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "full").write_bytes(b"")
    (tmp_path / "file").write_bytes(b"")
    for path, words in [
        (tmp_path / "missing" / "plate.svg", "folder does not exist"),
        (tmp_path / "file" / "plate.svg", "is a file, not a folder"),
        (tmp_path / "folder", "a folder of that name is in the way"),
        (tmp_path / ("x" * 300), "name is too long"),
        (tmp_path / "a\0b", "character that no file name may have"),
    ]:
        with pytest.raises(OutputError, match=words) as caught:
            files.write_whole(path, b"x")
        assert "\n" not in str(caught.value)
        assert "\0" not in str(caught.value)
    assert names(tmp_path) == ["file", "folder"]


def test_a_link_is_replaced_not_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.write_bytes(b"keep me")
    link = tmp_path / "plate.svg"
    (link.hardlink_to if os.name == "nt" else link.symlink_to)(outside)
    files.write_whole(link, b"new")
    assert outside.read_bytes() == b"keep me"
    assert link.read_bytes() == b"new"
    assert not link.is_symlink()


def test_makes_the_folder_with_its_parents(tmp_path: Path) -> None:
    folder = files.folder_for(tmp_path / "a" / "b")
    assert folder.is_dir()
    assert files.folder_for(folder) == folder
    (tmp_path / "file").write_bytes(b"")
    for bad in (tmp_path / "file", tmp_path / "file" / "sub", tmp_path / ("y" * 300), tmp_path / "a\0"):
        with pytest.raises(OutputError, match="was not written"):
            files.folder_for(bad)


@pytest.mark.parametrize(
    "name",
    [
        "",
        ".",
        "..",
        "../plate.svg",
        "a/b",
        "a\\b",
        "C:plate",
        "a\nb",
        "a\0b",
        "nul",
        "COM1.svg",
        "plate.",
        "plate ",
        "x" * 201,
        "é" * 101,
        'a"b',
        "a*b",
    ],
)
def test_names_that_lead_elsewhere_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match="cannot be a file name") as caught:
        files.file_in(tmp_path, name)
    assert "\n" not in str(caught.value)


@given(st.text(max_size=40))
def test_a_name_that_is_taken_stays_in_the_folder(name: str) -> None:
    folder = Path("some") / "folder"
    try:
        path = files.file_in(folder, name)
    except OutputError:
        return
    assert path.parent == folder
    assert path.name == name


@pytest.mark.parametrize("name", ["mixer.cut.dxf", "pompe à huile.svg", "plate 2 (new).json", ".hidden"])
def test_ordinary_names_are_taken(tmp_path: Path, name: str) -> None:
    files.write_whole(files.file_in(tmp_path, name), b"x")
    assert names(tmp_path) == [name]


def test_an_outdated_file_is_taken_away(tmp_path: Path) -> None:
    files.write_whole(tmp_path / "plate.cut.dxf", b"old")
    assert files.remove(tmp_path / "plate.cut.dxf") is True
    assert files.remove(tmp_path / "plate.cut.dxf") is False
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputError, match="take it away by hand"):
        files.remove(tmp_path / "folder")


# --------------------------------------------------------------------------------------------- the user's own files


def test_a_change_of_the_users_file_keeps_its_rights(tmp_path: Path) -> None:
    for mode in (0o600, 0o640, 0o664):
        path = tmp_path / f"{mode}.yaml"
        path.write_bytes(b"old\r\n")
        path.chmod(mode)
        files.rewrite(path, "old\r\n", "new\r\n")
        assert path.read_bytes() == b"new\r\n"
        assert os.name == "nt" or path.stat().st_mode & 0o777 == mode


def test_a_change_goes_through_a_link_and_the_link_stays(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "mill.yaml").write_text("old", "utf-8")
    link = tmp_path / "mill.yaml"
    link.symlink_to(Path("jobs") / "mill.yaml")
    files.rewrite(link, "old", "new")
    assert link.is_symlink()
    assert (tmp_path / "jobs" / "mill.yaml").read_text("utf-8") == "new"
    assert names(tmp_path / "jobs") == ["mill.yaml"]


def test_an_edit_made_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "mill.yaml"
    path.write_text("an edit made meanwhile", "utf-8")
    with pytest.raises(OutputError, match="was changed while platekit was at work, and is left as it is; run it again"):
        files.rewrite(path, "as it was read", "as it should be")
    assert path.read_text("utf-8") == "an edit made meanwhile"
    path.unlink()
    with pytest.raises(OutputError, match="was not written"):
        files.rewrite(path, "as it was read", "as it should be")
    assert names(tmp_path) == []


def test_the_mark_of_an_editor_stays_at_the_files_beginning(tmp_path: Path) -> None:
    path = tmp_path / "mill.yaml"
    path.write_bytes(b"\xef\xbb\xbfold")
    files.rewrite(path, "old", "new")
    assert path.read_bytes() == b"\xef\xbb\xbfnew"
