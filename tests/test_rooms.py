"""The rooms of the house: imports go one way only, and the heavy libraries stay behind their doors."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import platekit

PACKAGE = Path(platekit.__file__).parent
ROOMS = (
    "errors",
    "choices",
    "collector",
    "once",
    "units",
    "tables",
    "spec",
    "geometry",
    "survey",
    "scan",
    "drive",
    "layout",
    "cutting",
    "analysis",
    "strength",
    "checks",
    "studies",
    "drawing",
    "export",
    "jobs",
    "page",
    "cli",
)
ROOM_OF_MODULE = {"placed": "layout", "laying": "layout", "__main__": "cli"}
DOORS = {
    "shapely": {"geometry/polygons.py"},
    "pydantic": {"spec"},
    "pydantic_core": {"spec"},
    "ruamel": {"spec"},
    "ezdxf": {"export", "spec/drawing_dxf.py"},  # reads a user's own outline; never met unless a spec names a DXF file
    "reportlab": {"drawing", "export"},  # its tables of letter widths measure the text of pictures, too
    "cadquery": {"geometry/kernel.py"},  # makers' models; never met by a spec without one
    "OCP": {"geometry/kernel.py"},
    "jinja2": {"export"},
    "cv2": {"scan/opencv.py"},  # pictures, the extra `scan`
    "PIL": {"scan"},  # comes with reportlab; reads the head of a picture before anything is decoded
    "scipy": {"strength"},
    "typer": {"cli.py"},
}

PAST_THE_LAYOUT = ("cutting", "analysis", "strength", "checks", "studies", "drawing", "export", "jobs", "cli")
"""Rooms that go by what a layout holds, as values; none of them looks behind it, into the words of the spec."""
INTO_THE_WORDS = {
    "checks/advice.py": "an edit of the spec starts from what stands there (`words_at`)",
    "studies/governing.py": "lays out again with one number of the spec changed",
    "studies/advised.py": "tries the edits of the spec that a finding offers",
    "jobs/place.py": "names the mounts of a spec that cannot be laid out yet",
    "studies/place_both.py": "puts one mount of a spec at a place while the other is looked for",
    "jobs/read.py": "finds the holes of a measured pattern that cannot be laid out yet",
    "studies/place_filter.py": "follows which mounts are placed from which, before they are laid out",
    "studies/place_space.py": "makes the spec with a mount in another place",
    "studies/place_lying.py": "how a mount lies beside its shaft, before its place is known",
    "studies/long_surveys.py": "asked before anything is laid out",
    "studies/surveyed.py": "tells of a spec's surveys, also where no layout can be made",
}
"""The files that may, and why."""

TESTS = Path(__file__).parent
TESTS_OF_SEVERAL = {
    "checks/test_lying.py": "rules of many files on drives whose shafts lie along the plate",
    "checks/test_rules.py": "every rule on a plate has its case here",
    "export/dxf_files/test_marks.py": "one mark in each of the files that are cut",
    "export/test_heads_shown.py": "recessed heads in every output",
    "export/test_overlaps.py": "words of every output",
    "export/test_told_alike.py": "one form of words in every output",
    "geometry/test_doors.py": "what the whole room imports",
    "geometry/test_far_away.py": "every measure of the room, far from the origin",
    "jobs/test_units.py": "units in the outputs of every command",
    "jobs/test_wording.py": "words in the outputs of several commands",
    "laying/test_any_lying.py": "drives drawn at random, through all of the room",
    "laying/test_bases.py": "slide rails, hinges and jacking screws together",
    "laying/test_swings_and_reliefs.py": "swings, reliefs, and what geometry refuses of both",
    "spec/test_hazards.py": "files against every reader of the room",
    "spec/test_mutations.py": "specs spoiled at random, against every reader of the room",
    "spec/test_problems.py": "sentences of every reader of the room",
    "survey/test_stories.py": "blame, plan and solution of the same nets",
    "tables/test_search_text_figures.py": "search, text and figures of one row",
}
"""Tests in the folder of a room that are of several modules of it, and of what."""
NO_ROOM = {
    "adversary": "spoiled input, against the commands",
    "benchmarks": "times, measured by hand",
    "browser": "the page in a browser",
    "docs": "makes the pages of docs",
    "machines": "same bytes on every processor",
    "published": "results against published ones",
}
"""Folders of tests that belong to no room, and what they are."""


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def room(module: str) -> str | None:
    parts = module.split(".")
    if parts[0] != "platekit" or len(parts) < 2:
        return None
    name = ROOM_OF_MODULE.get(parts[1], parts[1])
    return name if name in ROOMS else None


def imports(path: Path) -> Iterator[str]:
    """Every module that a file names in an import, wherever in the file it stands."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_from_its_own_room_and_earlier_ones(path: Path) -> None:
    own = room(".".join(("platekit", *path.relative_to(PACKAGE).with_suffix("").parts)))
    if own is None:
        return
    for name in imports(path):
        other = room(name)
        if other is not None:
            assert ROOMS.index(other) <= ROOMS.index(own), f"{own} must not import {name}"


def name_of(path: Path) -> str:
    """The name by which a file of the package is imported."""
    return ".".join(("platekit", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


def test_no_modules_import_each_other_in_a_ring() -> None:
    """Not even from inside a function: such a ring is one subject in two files, or two in one."""
    known = {name_of(path) for path in modules()}
    asked = {
        name_of(path): {name if name in known else name.rpartition(".")[0] for name in imports(path)} & known
        for path in modules()
        if path.name != "__init__.py"
    }
    TopologicalSorter(asked).prepare()  # raises CycleError, which names the ring


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_each_library_is_met_only_behind_its_door(path: Path) -> None:
    here = path.relative_to(PACKAGE).as_posix()
    for name in imports(path):
        doors = DOORS.get(name.split(".")[0])
        if doors is not None:
            rooms = {"/".join(here.split("/")[:depth]) for depth in (1, 2, 3)}
            assert doors & rooms, f"{here} must not import {name}"


def test_only_named_files_look_behind_a_layout_into_the_words_of_the_spec() -> None:
    """Whoever reads the model of a spec knows the language: a change of the language would reach into every room."""
    reading = {
        path.relative_to(PACKAGE).as_posix()
        for path in modules()
        if room(name_of(path)) in PAST_THE_LAYOUT
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr == "model"
    }
    assert reading == INTO_THE_WORDS.keys()


def test_every_module_of_the_package_belongs_to_a_room() -> None:
    for path in modules():
        if path.parent == PACKAGE and path.name == "__init__.py":
            continue
        name = ".".join(("platekit", *path.relative_to(PACKAGE).with_suffix("").parts))
        assert room(name) is not None, f"{name} belongs to no room"


def test_every_room_has_its_folder_of_tests() -> None:
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    folders = {path.relative_to(TESTS).parts[0] for path in TESTS.glob("*/**/*.py")}
    assert folders - NO_ROOM.keys() == rooms
    for name in rooms:
        assert list((TESTS / name).rglob("test_*.py")), f"{name} has no tests"


def test_a_test_in_the_folder_of_a_room_is_named_for_a_module_of_it() -> None:
    """`test_x.py` is of module or room `x` at the same place; `test_x_more.py` says what of `x` it is about."""
    strange = set()
    for path in TESTS.glob("*/**/test_*.py"):
        here = path.relative_to(TESTS)
        if here.parts[0] not in NO_ROOM:
            words = here.stem.removeprefix("test_").split("_")
            beginnings = [PACKAGE / here.parent / "_".join(words[:count]) for count in range(1, len(words) + 1)]
            if not any(one.with_suffix(".py").exists() or (one / "__init__.py").exists() for one in beginnings):
                strange.add(here.as_posix())
    assert strange == TESTS_OF_SEVERAL.keys()


def test_a_check_loads_none_of_the_slow_libraries() -> None:
    code = (
        "import sys, platekit\n"
        "layout = platekit.lay_out(platekit.load('specs/dough-mixer.yaml'))\n"
        "platekit.check(layout)\n"
        "heavy = ('cadquery', 'scipy', 'ezdxf', 'fontTools', 'reportlab', 'jinja2', 'rich')\n"
        "print([m for m in heavy if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_checking_the_demo_loads_neither_shapely_nor_numpy() -> None:
    """Both take longer to import than a plate to be judged; whoever needs them imports them where they are needed."""
    code = (
        "import sys, platekit\n"
        "from platekit.studies.advised import judge\n"
        "judge(platekit.lay_out(platekit.load('specs/dough-mixer.yaml')))\n"
        "print([m for m in ('shapely', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_help_loads_neither_shapely_nor_numpy() -> None:
    code = (
        "import sys\n"
        "sys.argv = ['platekit', '--help']\n"
        "from platekit.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print([m for m in ('shapely', 'numpy', 'pydantic', 'ruamel.yaml') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]"
