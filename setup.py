"""Builds the package with the examples that the page offers; all else is told by pyproject.toml."""

from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py


class WithExamples(build_py):
    """Puts copies of the specs, and of the drawings that they go by, beside the page."""

    def run(self):
        """Builds as usual; a build in place (an editable install) reads the specs where they lie."""
        super().run()
        if self.editable_mode:
            return
        folder = Path(self.build_lib, "platekit", "page", "examples")
        folder.mkdir(parents=True, exist_ok=True)
        specs = sorted(Path("specs").glob("*.yaml"))
        told = "\n".join(path.read_text("utf-8") for path in specs)
        drawn = [path for path in sorted(Path("specs").iterdir()) if path.is_file() and f"file: {path.name}" in told]
        for path in [*specs, *drawn]:
            (folder / path.name).write_bytes(path.read_bytes())


setup(cmdclass={"build_py": WithExamples})
