"""The page's process killed at any moment of an edit: the file is the old one or the new one."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

SPECS = Path(__file__).parents[2] / "specs"
EDITING = """
import sys
from pathlib import Path
from platekit.page.desk import Desk, with_edits
desk = Desk(Path(sys.argv[1]), Path(sys.argv[2]))
print("ready", flush=True)
while True:
    for size in (12, 10):
        desk.change(desk.now().state, lambda text: with_edits(text, [("plate.thickness", size)]))
        print(size, flush=True)
"""


@pytest.mark.parametrize("after", [0.0, 0.13])
def test_the_file_is_the_old_or_the_new_one(tmp_path: Path, after: float) -> None:
    path = tmp_path / "dough-mixer.yaml"
    shutil.copy(SPECS / path.name, path)
    # a long text takes longer to write, and so is more likely to be caught half written
    with path.open("a", encoding="utf-8") as file:
        file.write("# bench notes\n" * 30_000)
    old = path.read_text("utf-8")
    running = subprocess.Popen([sys.executable, "-c", EDITING, path, tmp_path / "output"], stdout=subprocess.PIPE)
    assert running.stdout is not None
    assert running.stdout.readline() == b"ready\n"
    running.stdout.readline()
    time.sleep(after)
    running.kill()
    running.communicate()
    assert path.read_text("utf-8") in (old, old.replace("thickness: 10", "thickness: 12"))
