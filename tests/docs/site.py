"""What the site of the docs has beyond the pages that lie there: a gallery, and no request to another host.

`.ci/mkdocs.yml` names this file as its hooks. `python -m tests.docs.site FOLDER` looks through a site that was built.
"""

from __future__ import annotations

import re
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import platekit
from platekit.export.picture.whole import svg_text

ROOT = Path(platekit.__file__).parents[1]
FETCHED = {"script": "src", "img": "src", "iframe": "src", "source": "src", "link": "href", "object": "data"}
"""What a browser fetches by itself, and which attribute says from where."""


def gallery() -> tuple[str, dict[str, str]]:
    """The page of all examples, and their pictures by name."""
    parts, pictures = ["# The examples\n\nWhat `platekit make` draws of each spec under `specs/`.\n"], {}
    for path in sorted((ROOT / "specs").glob("*.yaml")):
        spec = platekit.found(platekit.load(path))
        layout = platekit.lay_out(spec)
        verdict = platekit.check(layout)
        pictures[f"{path.stem}.svg"] = svg_text(layout, verdict)
        state = "clear to cut" if verdict.clear else f"{len(verdict.open('stop'))} stops, so nothing is cut"
        parts.append(f"## {spec.title}\n\n`specs/{path.name}`: {state}.\n\n![{spec.title}](gallery/{path.stem}.svg)\n")
    return "\n".join(parts), pictures


STYLE = """\
/* a wide table is moved to and fro by itself: else all of the page would be, on a phone */
div[role=main] table { display: block; overflow-x: auto; }
/* the pictures are drawn on white */
div[role=main] img { background: #fff; }
"""


def on_files(files: Any, config: Any) -> Any:
    """Adds the gallery, made from the specs as they are, and the site's own style."""
    from mkdocs.structure.files import File

    files.append(File.generated(config, "site.css", content=STYLE))
    page, pictures = gallery()
    files.append(File.generated(config, "gallery.md", content=page))
    for name, text in pictures.items():
        files.append(File.generated(config, f"gallery/{name}", content=text))
    return files


def on_page_markdown(markdown: str, **_: Any) -> str:
    """Names files of the repository, which the site has not, instead of pointing at them."""
    return re.sub(r"\[([^\]]+)\]\(\.\./([^)#]+)\)", lambda link: f"{link[1]} (`{link[2]}`)", markdown)


class _Asking(HTMLParser):
    """Collects what of a page comes from another host."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Notes what is fetched without anybody asking for it."""
        address = dict(attrs).get(FETCHED.get(tag, "")) or ""
        if re.match(r"(?:[a-z]+:)?//", address) and dict(attrs).get("rel") != "canonical":
            self.found.append(f"<{tag}> {address}")


def asks(site: Path) -> list[str]:
    """Every request to another host that a page or a style of the site would make."""
    found: list[str] = []
    for path in sorted(site.rglob("*.html")):
        page = _Asking()
        page.feed(path.read_text("utf-8"))
        found += [f"{path.relative_to(site)}: {one}" for one in page.found]
    for path in sorted(site.rglob("*.css")):
        text = path.read_text("utf-8")
        away = re.findall(r"(?:url\(|@import)\s*['\"]?((?:https?:)?//[^'\")]+)", text)
        found += [f"{path.relative_to(site)}: {one}" for one in away]
    return found


if __name__ == "__main__":
    away = asks(Path(sys.argv[1]))
    print(*away, sep="\n")
    sys.exit(1 if away else 0)
