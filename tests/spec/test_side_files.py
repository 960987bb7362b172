"""Files that a spec names lie in its own folder, unless it says otherwise; of other people's files nothing is shown."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

import platekit
from platekit.errors import PlatekitError

SPEC = """\
platekit: 1
title: Cider press
units: mm
plate: {material: mild steel, thickness: 6}
mounts: {post: {side: far, pattern: {rectangle: {width: 40, height: 20, hole: 6.6}}}}
"""
MACHINE = "platekit_machine: 1\nname: Shed\nprocess: laser\nunits: mm\ncuts: [{thickness: 6, kerf: 0.3}]\n"
SVG = 'xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"'
SQUARE = f'<svg {SVG}><path d="M0 0H9V9H0Z"/></svg>'
SECRET = "root:hunter2:0\nname: [unclosed\n"


@pytest.fixture
def shop() -> Iterator[Path]:
    """A folder with the folder of the job, and files beside and within it; its path is short, as names of files are."""
    with TemporaryDirectory(prefix="pk") as folder:
        yield _furnished(Path(folder))


def _furnished(tmp_path: Path) -> Path:
    job = tmp_path / "job"
    (job / "machines").mkdir(parents=True)
    for folder in (tmp_path, job, job / "machines"):
        (folder / "shed.yaml").write_text(MACHINE, "utf-8")
    for folder in (tmp_path, job):
        (folder / "lug.svg").write_text(SQUARE, "utf-8")
        (folder / "secret").write_text(SECRET, "utf-8")
    (job / "linked.yaml").symlink_to(tmp_path / "shed.yaml")
    return job


def load(shop: Path, more: str) -> platekit.Spec:
    (shop / "press.yaml").write_text(SPEC + more, "utf-8")
    return platekit.load(shop / "press.yaml")


def drawn(file: str) -> str:
    shape = f"{{drawn: {{file: '{file}', units: mm}}}}"
    return f"bodies: {{lug: {{carried_by: post, shape: {shape}, span: [0, 5]}}}}\n"


@pytest.mark.parametrize("machine", ["shed", "shed.yaml", "machines/shed.yaml", "./machines/../shed.yaml"])
def test_a_machine_within_the_folder_is_read(shop: Path, machine: str) -> None:
    spec = load(shop, f"cutting: {{machine: {machine}}}\n")
    assert spec.machine is not None
    assert load(shop, drawn("lug.svg")).drawings()


@pytest.mark.parametrize("name", ["../shed.yaml", "ABSOLUTE", "linked.yaml", "../secret"])
def test_what_lies_elsewhere_is_refused_at_its_place_unless_the_spec_says_so(shop: Path, name: str) -> None:
    name = name.replace("ABSOLUTE", str(shop.parent / "shed.yaml"))
    with pytest.raises(platekit.SpecError, match="outside the folder of the spec") as caught:
        load(shop, f"cutting: {{machine: '{name}'}}\n")
    assert [(one.field, one.line) for one in caught.value.problems] == [("cutting.machine", 6)]
    if "secret" not in name:
        assert load(shop, f"cutting: {{machine: '{name}'}}\nside_files: anywhere\n").machine is not None


def test_a_drawing_elsewhere_is_refused_too(shop: Path) -> None:
    with pytest.raises(platekit.SpecError, match="outside the folder of the spec") as caught:
        load(shop, drawn("../lug.svg"))
    assert caught.value.problems[0].field == "bodies.lug.shape.drawn.file"
    assert load(shop, drawn("../lug.svg") + "side_files: anywhere\n").drawings()


def test_the_same_plate_has_the_same_mark_wherever_its_files_may_lie(shop: Path) -> None:
    assert load(shop, "").revision == load(shop, "side_files: anywhere\n").revision


@pytest.mark.parametrize("machine", ["secret", "../secret"])
def test_of_a_file_that_is_not_ours_nothing_is_shown(shop: Path, machine: str) -> None:
    with pytest.raises(PlatekitError) as caught:
        load(shop, f"cutting: {{machine: {machine}}}\nside_files: anywhere\n")
    told = [str(caught.value), *(one.pointed() for one in getattr(caught.value, "problems", ()))]
    assert not [line for line in told if "hunter2" in line or "unclosed" in line]
    assert "secret" in told[0]
