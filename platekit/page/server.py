"""The page's server: one browser of this machine, and nobody else.

Whoever can make requests to this address could edit files of the user, so a request must prove that it comes from the
page that was opened: it is sent to this machine's own address (exact Host, against names that are made to point here),
from a page of this very address (Origin, where a browser sends one: no other site, and no file, whose origin is
`null`), and with the token that stands in the address's fragment, which browsers tell nobody. Only JSON is read, up to
a size, and at an address of its own the bytes of a picture: as text within JSON they would be a third larger, and every
other act would have to be allowed their size. Only the page's own files and the files of the open spec are given, each
by its plain name.
"""

from __future__ import annotations

import gc
import json
import secrets
import sys
import traceback
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from typing import Any, Final
from urllib.parse import parse_qs, unquote, urlsplit

from platekit.page.acts import done
from platekit.page.asked import BadRequest
from platekit.page.desk import Desk
from platekit.page.picture import taken
from platekit.page.start import JobFolder, begun

HERE: Final = "127.0.0.1"
MOST_BYTES: Final = 2_000_000
"""Longest request (ours): a spec may have 1 MB, and comes with its state."""
MOST_PICTURE: Final = 64_000_000
"""Largest picture that the page takes (ours): a photo of 12 million pixels has 3 to 8 MB, an A3 scan in grey 20."""
DEEPEST: Final = 40
"""Most brackets within brackets in a request (ours): the page needs six."""
PATIENCE: Final = 60.0
"""A connection that says nothing for so long is closed, s (ours)."""
TOKEN: Final = "X-Platekit-Token"
STATIC: Final = {
    "/": ("page.html", "text/html"),
    "/page.css": ("page.css", "text/css"),
    "/page.js": ("page.js", "text/javascript"),
    "/talk.js": ("talk.js", "text/javascript"),
    "/pictures.js": ("pictures.js", "text/javascript"),
    "/steady.js": ("steady.js", "text/javascript"),
    "/numbers.js": ("numbers.js", "text/javascript"),
    "/holes.js": ("holes.js", "text/javascript"),
    "/list.js": ("list.js", "text/javascript"),
    "/sheet.js": ("sheet.js", "text/javascript"),
    "/survey.js": ("survey.js", "text/javascript"),
    "/seen.js": ("seen.js", "text/javascript"),
    "/old_face.js": ("old_face.js", "text/javascript"),
    "/new_job.js": ("new_job.js", "text/javascript"),
}
"""The page's own files; nothing else is given to one without the token."""
KINDS: Final = {
    ".html": "text/html; charset=utf-8",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".json": "application/json",
    ".csv": "text/plain; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
}
"""How a file of the spec is shown; any other is offered for saving."""
OWN_PAGE: Final = (
    "default-src 'none'; script-src 'nonce-{nonce}' 'strict-dynamic'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""What the page may do: its own scripts, its own style, and talk to this address alone."""
PAPER: Final = "sandbox allow-scripts allow-popups; frame-ancestors 'none'"
"""A report or picture that is opened: it cannot speak for the page, whatever it holds."""


class Page(ThreadingHTTPServer):
    """A page on a free port of this machine. `desk` is None until a spec is chosen."""

    daemon_threads = True
    allow_reuse_address = False

    def __init__(self, start: JobFolder, port: int = 0) -> None:
        """Listens at once; raises OSError where the port is taken."""
        super().__init__((HERE, port), _Request)
        self.start = start
        self.token = secrets.token_urlsafe(24)
        self.ticket = secrets.token_urlsafe(24)
        self.desk: Desk | None = start.desk()

    @property
    def origin(self) -> str:
        """The address without what only its page knows."""
        return f"http://{HERE}:{self.server_address[1]}"

    @property
    def address(self) -> str:
        """What to open; the token behind the # is sent to nobody by a browser."""
        return f"{self.origin}/#{self.token}"

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that hangs up in the middle is no news; anything else is a bug, and is told."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            traceback.print_exc()


class _Request(BaseHTTPRequestHandler):
    """One request; anything that is not exactly what the page sends is refused with a plain status."""

    server: Page
    protocol_version = "HTTP/1.1"
    server_version = "platekit"
    sys_version = ""
    timeout = PATIENCE
    # Head and body go out at once: a small packet that waits for the last one's receipt costs 40 ms an answer.
    disable_nagle_algorithm = True
    wbufsize = -1

    def do_GET(self) -> None:
        """The page's own files, and files of the open spec under the ticket."""
        if not self._is_ours(wants_origin=False):
            return
        path = urlsplit(self.path).path
        if path in STATIC:
            name, kind = STATIC[path]
            data = files("platekit.page").joinpath("static", name).read_bytes()
            headers = {}
            if kind == "text/html":
                # A nonce of this answer alone: a script that got into a text of the spec could not know it.
                nonce = secrets.token_urlsafe(16)
                data = data.replace(b"{{nonce}}", nonce.encode())
                headers["Content-Security-Policy"] = OWN_PAGE.format(nonce=nonce)
            self._send(HTTPStatus.OK, data, f"{kind}; charset=utf-8", headers)
            return
        parts = path.split("/")
        # Links to files are opened in a tab of their own, which can send no header: there the address itself proves
        # where it comes from, by a ticket that opens files and nothing else.
        if (
            len(parts) != 4
            or parts[1] != "file"
            or not secrets.compare_digest(parts[2].encode(), self.server.ticket.encode())
        ):
            self._refuse(HTTPStatus.NOT_FOUND)
            return
        desk, name = self.server.desk, unquote(parts[3])
        # Only a plain name of a plain file in the spec's own folder: no way up, no link out of it.
        if desk is None or not name or name.startswith(".") or any(sign in name for sign in "/\\:\0"):
            self._refuse(HTTPStatus.NOT_FOUND)
            return
        file = desk.folder / name
        if file.is_symlink() or not file.is_file():
            self._refuse(HTTPStatus.NOT_FOUND)
            return
        known = KINDS.get(file.suffix.lower())
        headers = {"Content-Security-Policy": PAPER}
        if known is None:
            headers["Content-Disposition"] = "attachment"
        self._send(HTTPStatus.OK, file.read_bytes(), known or "application/octet-stream", headers)

    def do_POST(self) -> None:
        """One act, as JSON; or a picture, as its own bytes."""
        if not self._is_ours(wants_origin=True):
            return
        said = self.headers.get(TOKEN, "")
        # compared in a time that does not tell how much of it was right
        if not secrets.compare_digest(said.encode("latin-1", "replace"), self.server.token.encode()):
            self._refuse(HTTPStatus.FORBIDDEN)
            return
        where = urlsplit(self.path)
        pictured = where.path == "/picture"
        if self.path != "/do" and not pictured:
            self._refuse(HTTPStatus.NOT_FOUND)
            return
        # no form of another site can send either kind
        kind, most = ("application/octet-stream", MOST_PICTURE) if pictured else ("application/json", MOST_BYTES)
        if self.headers.get("Content-Type", "").split(";")[0].strip().lower() != kind:
            self._refuse(HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
            return
        # A length is asked for, and only plain digits are one (int() takes signs, blanks and lines below, too): where
        # two readers of a request see its end in different places, the rest of it is a request of its own.
        length = self.headers.get("Content-Length", "")
        if not (length.isascii() and length.isdigit()) or "Transfer-Encoding" in self.headers:
            self._refuse(HTTPStatus.LENGTH_REQUIRED)
            return
        if len(length) > 9 or int(length) > most:
            self._refuse(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
            return
        page = self.server
        if pictured:
            data, desk = self.rfile.read(int(length)), page.desk
            if len(data) < int(length):
                self._refuse(HTTPStatus.BAD_REQUEST)
                return
            name = parse_qs(where.query).get("name", [""])[0]
            self._answer(lambda: {"closed": True} if desk is None else taken(desk, data, name))
            return
        try:
            asked = json.loads(self.rfile.read(int(length)))
            # an escape can write half a sign, which no file can hold
            json.dumps(asked, ensure_ascii=False).encode()
        except (ValueError, RecursionError):
            self._refuse(HTTPStatus.BAD_REQUEST)
            return
        # Level by level and not by recursion: what is nested too deeply must not bring down the one who counts.
        depth, level = 0, [asked]
        while level and depth <= DEEPEST:
            depth += 1
            level = [
                below
                for one in level
                for below in (one.values() if isinstance(one, dict) else one if isinstance(one, list) else ())
                if isinstance(below, dict | list)
            ]
        if not isinstance(asked, dict) or depth > DEEPEST:
            self._refuse(HTTPStatus.BAD_REQUEST)
            return
        self._answer(lambda: self._told(asked))

    def _told(self, asked: dict[str, Any]) -> dict[str, Any]:
        """What an act comes to."""
        page = self.server
        if asked.get("act") in ("start", "peek", "open", "example", "answer", "forget", "new", "close"):
            before = page.desk
            told, after = begun(page.start, before, asked)
            # Only what opens or closes a job changes the desk: a slow peek at another must not put an old one back.
            if after is not before:
                page.desk = after
                if before is not None:
                    before.close()
            return {**told, "ticket": page.ticket}
        return {"closed": True} if page.desk is None else done(page.desk, asked)

    def _answer(self, act: Callable[[], dict[str, Any]]) -> None:
        """Sends what an act comes to."""
        try:
            told = act()
        except BadRequest:
            self._refuse(HTTPStatus.BAD_REQUEST)
            return
        except Exception:
            # A mistake of ours must not look like the user's, nor leave the page waiting.
            traceback.print_exc()
            self._send(HTTPStatus.INTERNAL_SERVER_ERROR, b'{"bug": true}', "application/json")
            return
        self._send(HTTPStatus.OK, json.dumps(told, allow_nan=False).encode(), "application/json")

    def _is_ours(self, *, wants_origin: bool) -> bool:
        """Whether a request was sent to this very address, by a page of it; refused if not."""
        origins = self.headers.get_all("Origin") or []
        hosts = self.headers.get_all("Host") or []
        ours = hosts == [self.server.origin.removeprefix("http://")]
        right = origins == [self.server.origin] if wants_origin or origins else True
        if not ours or not right:
            self._refuse(HTTPStatus.FORBIDDEN)
            return False
        return True

    def _refuse(self, status: HTTPStatus) -> None:
        # whatever else was sent on this connection is not read
        self.close_connection = True
        self._send(status, f"{status.phrase}\n".encode(), "text/plain")

    def _send(self, status: HTTPStatus, data: bytes, kind: str, headers: dict[str, str] | None = None) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        for name, value in (headers or {}).items():
            self.send_header(name, value)
        if self.close_connection:
            self.send_header("Connection", "close")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)
        self.wfile.flush()

    def log_message(self, *args: Any, **named: Any) -> None:
        """Requests are not told: a terminal full of them hides what matters."""


def serve(page: Page, opened: Callable[[str], None]) -> None:
    """Serves until the process is interrupted; `opened` is told the address once it listens."""
    # All that was loaded stays: a full look for garbage through it takes 50 ms, in the middle of a drag.
    gc.collect()
    gc.freeze()
    opened(page.address)
    try:
        page.serve_forever(poll_interval=0.25)
    finally:
        page.server_close()
