"""What a command does not need it does not wait for."""

from __future__ import annotations

import pkgutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType

import pytest

import platekit
from platekit import cli

ROOT = Path(platekit.__file__).parents[1]


def test_only_the_command_that_is_named_is_put_together(monkeypatch: pytest.MonkeyPatch) -> None:
    every = list(cli.app.registered_commands)
    whole = cli.app
    for words, left in ((["check", "make"], 1), (["chekc"], len(every)), (["--help"], len(every)), ([], len(every))):
        monkeypatch.setattr(cli, "app", whole)
        cli.only_the_command_named(words)
        assert len(cli.app.registered_commands) == left


@pytest.mark.parametrize("words", [["check", "--help"], ["strength", "--help"]])
def test_the_help_of_a_command_is_the_same_with_and_without_the_others(words: list[str]) -> None:
    alone = "from platekit.__main__ import main\nmain()"
    among = "from platekit.cli import app\napp(prog_name='platekit')"
    asked = "import sys; sys.argv = ['platekit', *{words!r}]\n{how}"
    outs = [
        subprocess.run(
            [sys.executable, "-c", asked.format(words=words, how=how)], cwd=ROOT, capture_output=True, check=True
        ).stdout
        for how in (alone, among)
    ]
    assert outs[0] == outs[1] != b""


def test_making_the_demo_loads_nothing_that_only_others_need(tmp_path: Path) -> None:
    """Arrays with masks, pictures of pixels, kerfs, sheets of copies, surveys, words for slips: the demo has none."""
    seldom = [
        "numpy.ma",
        "PIL._imaging",
        "platekit.cutting.nest",
        "platekit.export.dxf_files.kerf",
        "platekit.export.dxf_files.copies",
        "platekit.spec.printers",
        "platekit.spec.starting",
        "platekit.spec.vocabulary",
        "platekit.studies.moves",
        "platekit.survey.model",
    ]
    code = (
        "import sys\n"
        "from platekit.cli import main\n"
        f"sys.argv = ['platekit', 'make', 'specs/dough-mixer.yaml', '--out', {str(tmp_path)!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"print([m for m in {seldom!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_pictures_can_be_drawn_after_papers() -> None:
    code = (
        "import sys\n"
        "from platekit.drawing.pdf.letters import text_width\n"
        "assert text_width('plate', 8.0) > 0 and 'PIL._imaging' not in sys.modules\n"
        "from PIL import Image\n"
        "import PIL.Image\n"
        "assert Image.new('L', (2, 3)).size == (2, 3) and PIL.Image.Image is Image.Image\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


def test_no_name_that_is_imported_late_is_that_of_a_module() -> None:
    """Else it would be the module for whoever asks after somebody imported that, and the function for all before."""
    for package in ("platekit", "platekit.cutting", "platekit.export", "platekit.spec", "platekit.tables"):
        room = import_module(package)
        late = {name for name in room.__all__ if name not in vars(room) or isinstance(vars(room)[name], ModuleType)}
        modules = {one.name for one in pkgutil.iter_modules(room.__path__)}
        # `platekit.export` is meant as the module that it is
        assert late & modules <= ({"export"} if package == "platekit" else set())
