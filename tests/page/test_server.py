"""Who may ask the page's server: its own page, and nobody else, whatever it sends."""

from __future__ import annotations

import http.client
import json
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import platekit
from platekit.page.acts import ACTS
from platekit.page.server import MOST_BYTES, TOKEN, Page
from platekit.page.start import JobFolder

SPECS = Path(__file__).parents[2] / "specs"


class Visitor:
    """A client that may leave out or change whatever a page would send."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.port = page.server_address[1]

    def send(
        self, method: str = "POST", path: str = "/do", body: bytes = b"{}", changed: dict[str, str | None] | None = None
    ) -> tuple[int, bytes]:
        headers: dict[str, str | None] = {
            "Host": f"127.0.0.1:{self.port}",
            "Origin": self.page.origin,
            "Content-Type": "application/json",
            "Content-Length": str(len(body)),
            TOKEN: self.page.token,
        }
        headers |= changed or {}
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            link.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in headers.items():
                if value is not None:
                    link.putheader(name, value)
            link.endheaders(body if method == "POST" else None)
            answer = link.getresponse()
            return answer.status, answer.read()
        finally:
            link.close()

    def ask(self, act: str, **about: Any) -> Any:
        status, body = self.send(body=json.dumps({"act": act, **about}).encode())
        assert status == 200, (status, body)
        return json.loads(body)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    shutil.copy(SPECS / "press-pump.yaml", folder)
    (folder / "secret.txt").write_text("not for the page", "utf-8")
    made = folder / "output" / "press-pump"
    made.mkdir(parents=True)
    (made / "press-pump.report.html").write_text("<script>1</script>", "utf-8")
    (made / "link.txt").symlink_to(folder / "secret.txt")
    return folder


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[Page]:
    page = Page(JobFolder(folder, folder / "output", folder / "press-pump.yaml"))
    running = threading.Thread(target=page.serve_forever, kwargs={"poll_interval": 0.05})
    running.start()
    yield page
    page.shutdown()
    running.join()
    page.server_close()


@pytest.fixture(scope="module")
def visitor(page: Page) -> Visitor:
    return Visitor(page)


def test_it_listens_on_this_machine_alone(page: Page) -> None:
    assert page.server_address[0] == "127.0.0.1"
    assert page.token not in page.origin
    assert len(page.token) >= 32


def test_the_page_itself_may_run_its_own_scripts_only(visitor: Visitor) -> None:
    link = http.client.HTTPConnection("127.0.0.1", visitor.port, timeout=20)
    found = []
    for _ in range(2):
        link.request("GET", "/")
        answer = link.getresponse()
        text, policy = answer.read().decode(), answer.headers["Content-Security-Policy"]
        nonce = policy.partition("'nonce-")[2].partition("'")[0]
        assert f'nonce="{nonce}"' in text
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert visitor.page.token not in text
        found.append(nonce)
    link.close()
    assert found[0] != found[1]


@pytest.mark.parametrize(
    "changed",
    [
        {"Host": "localhost:80"}, {"Host": "evil.example"}, {"Host": None}, {"Host": "127.0.0.1"},
        {"Origin": "null"}, {"Origin": "http://evil.example"}, {"Origin": None}, {"Origin": "http://127.0.0.1"},
        {"X-Platekit-Token": ""}, {"X-Platekit-Token": None}, {"X-Platekit-Token": "a" * 32},
        {"X-Platekit-Token": "\xfc" * 16},
    ],
)  # fmt: skip
def test_a_request_of_anybody_else_is_refused(visitor: Visitor, changed: dict[str, str | None]) -> None:
    assert visitor.send(body=b'{"act": "look"}', changed=changed)[0] == 403


@pytest.mark.parametrize(
    ("status", "body", "changed"),
    [
        (415, b"{}", {"Content-Type": "text/plain"}),
        (415, b"{}", {"Content-Type": None}),
        (411, b"", {"Content-Length": None}),
        (411, b"{}", {"Content-Length": "-2"}),
        (413, b"{}", {"Content-Length": str(MOST_BYTES + 1)}),
        (413, b"{}", {"Content-Length": "9" * 40}),
        (400, b"[]", {}),
        (400, b"{", {}),
        (400, b"[" * 5000 + b"]" * 5000, {}),
        (400, b'{"act": "look", "more": ' + b'{"a":' * 60 + b"1" + b"}" * 61, {}),
        (400, b'{"act": "format the disk"}', {}),
        (400, b'{"act": ["look"]}', {}),
        (400, b"\xff\xfe", {}),
        (400, b'{"act": "save", "text": "half a sign: \\ud800"}', {}),
    ],
)
def test_what_no_page_of_ours_would_send_is_refused(
    visitor: Visitor, status: int, body: bytes, changed: dict[str, str | None]
) -> None:
    assert visitor.send(body=body, changed=changed)[0] == status


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PATCH"])
def test_other_methods_are_not_known(visitor: Visitor, method: str) -> None:
    assert visitor.send(method=method, path="/do")[0] == 501


@pytest.mark.parametrize(
    "name",
    ["../press-pump.yaml", "..%2Fpress-pump.yaml", "%2e%2e/secret.txt", "link.txt", "", ".", "..", "..%5Csecret.txt",
     "press-pump.report.html%00.txt", "nothing.pdf", "/etc/passwd", "C:secret.txt"],
)  # fmt: skip
def test_no_file_beyond_the_folder_of_the_spec_is_given(visitor: Visitor, name: str) -> None:
    status, body = visitor.send("GET", f"/file/{visitor.page.ticket}/{name}")
    assert status == 404
    assert b"not for the page" not in body


def test_a_file_of_the_spec_is_given_in_a_box_of_its_own(visitor: Visitor) -> None:
    path = "/file/{}/press-pump.report.html"
    assert visitor.send("GET", path.format("wrong"))[0] == 404
    link = http.client.HTTPConnection("127.0.0.1", visitor.port, timeout=20)
    link.request("GET", path.format(visitor.page.ticket))
    answer = link.getresponse()
    assert answer.read() == b"<script>1</script>"
    assert answer.headers["Content-Security-Policy"].startswith("sandbox")
    link.close()


def test_a_job_by_hand(visitor: Visitor, folder: Path) -> None:
    whole = visitor.ask("look", state="")
    assert whole["verdict"]["word"] in ("clear", "stop")
    assert visitor.ask("look", state=whole["state"]) == {"same": True}
    done = visitor.ask("edit", state=whole["state"], edits=[["plate.thickness", "12,5", "words"]])
    assert "thickness: 12.5" in (folder / "press-pump.yaml").read_text("utf-8")
    stale = visitor.ask("edit", state=whole["state"], edits=[["plate.thickness", "16", "words"]])
    assert "changed meanwhile" in stale["refused"]
    assert stale["state"] == done["state"]
    wrong = visitor.ask("edit", state=done["state"], edits=[["plate.thickness", "thick", "words"]])
    assert wrong["problems"][0]["field"] == "plate.thickness"
    back = visitor.ask("undo", state=done["state"])
    assert back["text"] == whole["text"]


def test_a_name_that_leads_out_of_the_folder_starts_nothing(visitor: Visitor, folder: Path) -> None:
    before = sorted(folder.parent.iterdir())
    for name in ("../other", "a/b", "/x", "..", ".hidden", "a\0b", 3, None, "C:x"):
        for act in ("open", "new", "peek"):
            assert "refused" in visitor.ask(act, name=name, answers={})
    assert sorted(folder.parent.iterdir()) == before


@pytest.mark.parametrize(
    "boxes",
    [
        {"a": 1},
        {"a": {"b": 1}},
        {"a": ["1", "words"], "a.b": ["1", "words"]},
        {"": ["1", "words"], "a": ["1", "words"]},
    ],
)
def test_boxes_that_are_none_are_refused(visitor: Visitor, boxes: dict[str, Any]) -> None:
    before = visitor.ask("look", state="")
    assert "refused" in visitor.ask("add", state=before["state"], field="bodies.cup", boxes=boxes)
    assert visitor.ask("look", state=before["state"]) == {"same": True}


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.floats(allow_nan=False) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
NAMES = st.sampled_from(
    ["state", "edits", "field", "boxes", "text", "typed", "rule", "reason", "places", "mount", "handle", "to"]
)
LASTING = {"paper", "moved", "make", "print", "places", "drives", "advise", "try advice", "frame"}
"""Acts that work for a second and more, or write files: they have tests of their own."""


def test_every_act_is_asked_for_by_the_page() -> None:
    """An act that no script names is one that was registered and then forgotten on the page."""
    scripts = (Path(platekit.__file__).parent / "page" / "static").glob("*.js")
    said = "".join(script.read_text("utf-8") for script in scripts)
    assert not [act for act in ACTS if f'"{act}"' not in said]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(sorted(ACTS.keys() - LASTING)), st.dictionaries(NAMES, JSON, max_size=4), st.booleans())
def test_whatever_is_asked_the_answer_is_a_sentence_and_the_spec_stays_one(
    visitor: Visitor, folder: Path, act: str, about: dict[str, Any], right: bool
) -> None:
    path = folder / "press-pump.yaml"
    if right:
        about["state"] = visitor.page.desk.now().state  # type: ignore[union-attr]
    before = path.read_bytes()
    status, _ = visitor.send(body=json.dumps({"act": act, **about}).encode())
    assert status in (200, 400)
    if act == "save":
        path.write_bytes(before)  # a text is saved as it was typed, whatever it is
    assert visitor.ask("look", state="")["readable"]
