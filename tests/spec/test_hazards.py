"""Files that would trip or flood a reader: each ends in a sentence, soon."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest

from platekit import lay_out
from platekit.errors import PlatekitError, Problem, SpecError
from platekit.spec import load, loads
from platekit.spec.models import MAX_HOLES
from platekit.spec.source import MAX_BYTES, MAX_DEPTH, MAX_REPEATED, MAX_VALUES

HEAD = "platekit: 1\ntitle: Test\nunits: mm\nplate: {material: mild steel, thickness: 10}\n"
MOUNTS = "mounts: {machine: {side: far, pattern: {points: [[0, 0]], hole: 9}}}\n"


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SpecError) as caught:
        loads(text)
    return caught.value.problems


def only(text: str) -> str:
    found = problems(text)
    assert len(found) == 1, found
    return str(found[0])


# --------------------------------------------------------------------------------------------- what YAML does


@pytest.mark.parametrize("word", ["NO", "no", "Yes", "off", "ON", "y"])
def test_a_word_for_yes_or_no_is_not_guessed(word: str) -> None:
    bolts = f"screws: {{size: M8, into: nut, washer: {word}}}"
    text = HEAD + MOUNTS.replace(", hole: 9}", f"}}, {bolts}")
    assert f'found "{word}", which YAML 1.2 reads as text; write true or false' in only(text)


def test_a_country_code_is_a_name_like_any_other() -> None:
    assert "NO" in loads(HEAD + MOUNTS.replace("machine", "NO")).model.mounts


@pytest.mark.parametrize("word", ["true", "12", "1.5", "null", "~", ".nan"])
def test_a_key_that_is_no_text_is_told(word: str) -> None:
    assert "no text, as a key" in str(problems(HEAD + MOUNTS + f"bodies: {{{word}: 1}}\n")[0])


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (".nan", "found not-a-number; give a length"),
        (".inf", "found an infinite number; a length is at most 100 m"),
        ("-.inf", "found an infinite number; a length is at most 100 m"),
        ("1e999", "found an infinite number; a length is at most 100 m"),
        ("9" * 30, "a length is at most 100 m"),
        ("9" * 4500, "found a number of 4500 characters; write it with at most 40"),
        ("0x1F", 'found "0x1F"'),
        ("0o17", 'found "0o17"'),
        ("12:30:45", 'found "12:30:45"'),
        ("1_000", 'found "1_000"'),
        ("2024-01-31", 'found "2024-01-31"'),
        ("true", "found true; give a length"),
        ("nothing", 'found "nothing"; give a length'),
        ("[10]", "found a list; give a length"),
        ("{a: 1}", "found a group of keys; give a length"),
        ("'10'", 'found "10", a number as text; write 10 without quotes, or with its unit: 10 mm'),
    ],
)
def test_a_thickness_that_is_no_plain_number_is_told(value: str, sentence: str) -> None:
    assert sentence in only(HEAD.replace("thickness: 10", f"thickness: {value}") + MOUNTS)


def test_a_leading_zero_makes_no_octal_number() -> None:
    assert loads(HEAD.replace("thickness: 10", "thickness: 010") + MOUNTS).model.plate.thickness == 10.0


@pytest.mark.parametrize("value", ["", "null", "~", "# later"])
def test_a_key_without_a_value_is_told(value: str) -> None:
    text = HEAD + MOUNTS + f"cutting: {value}\n"
    assert only(text) == "spec:6:1  cutting: found nothing; give it a value, or take it out"


def test_an_empty_place_in_a_list_is_told() -> None:
    found = problems(HEAD + MOUNTS.replace("[[0, 0]]", "[[0, null]]"))
    assert "found an empty place in a list; give a value, or take it out" in str(found[0])
    assert len(found) == 1


def test_a_key_given_twice_is_told_with_both_lines() -> None:
    text = HEAD + MOUNTS + "limits: {web: 5}\ncutting: {process: laser}\nlimits: {web: 8}\n"
    assert only(text) == 'spec:8:1  limits: found "limits" a second time; it stands in line 6 too; keep one'


def test_names_that_differ_in_one_sign_only_are_two_names() -> None:
    text = HEAD + "mounts: {a: &m {side: far, pattern: {points: [[0, 0]], hole: 9}}, A: *m}\n"
    assert list(loads(text).model.mounts) == ["a", "A"]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (HEAD + MOUNTS + "x: !!python/object:os.system y\n", 'found the tag "!!python/object:os.system"; take it out'),
        (HEAD + MOUNTS.replace("9", "!!float 9"), 'found the tag "!!float"; take it out'),
        (HEAD + MOUNTS + "bodies: !odd {}\n", 'found the tag "!odd"; take it out'),
        (HEAD + MOUNTS + "bodies: {<<: {a: 1}}\n", "found a merge key; YAML 1.2 has none; write the values out"),
        (HEAD + MOUNTS + "---\nplatekit: 1\n", "found a second document; keep one spec in a file"),
        ("%YAML 1.1\n---\n" + HEAD + MOUNTS, "found YAML 1.1; take out the %YAML line; a spec is YAML 1.2"),
        (HEAD + MOUNTS + "bodies: *none\n", "found *none; there is no &none above it; write the value itself"),
        (HEAD + MOUNTS + "? [a, b]\n: 1\n", "found a list or group as a key; a key is one word or name"),
        (HEAD + MOUNTS + ": 1\n", "found a colon without a key; write the key in front of it"),
    ],
)  # fmt: skip
def test_what_a_spec_does_not_use_of_yaml_is_told(text: str, sentence: str) -> None:
    assert sentence in str(problems(text)[0])


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (HEAD + "mounts:\n\tmachine: 1\n", "spec:5:1  found a tab in the indentation; indent with blanks"),
        (HEAD + "mounts:\n  \tmachine: 1\n", "spec:5:3  found a tab in the indentation; indent with blanks"),
        (HEAD + "mounts: {a: [1, 2}\n", "a list that is not closed; check the list opened with [ in line 4"),
        (HEAD + "mounts: {a: [1, 2]\n", "a group that is not closed; check the group opened with { in line 4"),
        (HEAD + 'mounts: "machine\n', "a quote that is never closed; close the quote opened in line 4"),
        (HEAD + "mounts:\n  a: 1\n b: 2\n", "a line that does not line up"),
        (HEAD + "mounts: a: b\n", "a colon where no key can stand"),
        (HEAD + "mounts:\n  machine\n  side: far\n", "a colon where no key can stand"),
        (HEAD + "mounts\n", "a line without a colon"),
        (HEAD + "mounts: @home\n", "a sign that cannot begin a value; put the text in quotes"),
        (HEAD + "mounts: `x`\n", "a sign that cannot begin a value; put the text in quotes"),
        (HEAD + 'mounts: "a\\qb"\n', "a backslash that means nothing; use single quotes, or double the backslash"),
        (HEAD + "mounts: - a\n", "a list item where none can stand"),
        (HEAD + "mounts: ]\n", "a bracket, comma or sign where a value belongs"),
        (HEAD + "mounts: !\n", "found"),
        (HEAD + "mounts: %a\n", "a sign that cannot begin a value"),
        (HEAD + "mounts: *\n", "a star that begins a value; put the text in quotes"),
        (HEAD + "mounts: &\n", "an ampersand that begins a value; put the text in quotes"),
        (HEAD + "mounts: |9x\n  a\n", "a text that starts with | or > and is not well formed"),
        (HEAD + "...\nmore\n", "a second document; keep one spec in a file; take out the other"),
        ("%b\nplatekit: 1\n", "text behind the end of the spec; take it out, or line it up with the rest"),
    ],
)  # fmt: skip
def test_text_that_is_no_yaml_is_told_in_the_words_of_a_shop(text: str, sentence: str) -> None:
    told = str(problems(text.replace(HEAD, "platekit: 1\ntitle: Test\nunits: mm\n"))[0])
    assert sentence in told
    assert told.startswith("spec:")


def test_every_tab_is_told_at_once() -> None:
    assert len(problems("a:\n\tb: 1\n\tc: 2\n  # a tab in a comment is\t welcome\n\t\n")) == 2


# --------------------------------------------------------------------------------------------- what is no spec


@pytest.mark.parametrize("text", ["", " \n\n", "# only a remark\n", "---\n", "null\n"])
def test_an_empty_file_is_told(text: str) -> None:
    assert only(text) == "spec  found an empty file; start it with `platekit: 1`, or let `platekit new` write one"


@pytest.mark.parametrize(("text", "found"), [("- a\n- b\n", "a list"), ("hello\n", '"hello"'), ("12\n", "12")])
def test_something_else_than_keys_at_the_top_is_told(text: str, found: str) -> None:
    assert (
        only(text)
        == f"spec:1:1  found {found} instead of a spec; start it with keys, as `platekit: 1` on the first line"
    )


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"\x00\x01\x02PK\x03\x04", "found a file that is no text; name the spec, a text file"),
        ("platekit: 1".encode("utf-16"), "found text in UTF-16; save it as UTF-8"),
        (b"platekit: 1\ntitle: Fr\xe4se\n", ":2:1  found a sign that is not UTF-8 (byte 0xe4); save it as UTF-8"),
        (
            b"platekit: 1\ntitle: a\x07b\n",
            ":2:9  found a control character (U+0007); take it out; a spec is plain text",
        ),
    ],
)
def test_a_file_that_is_no_plain_text_is_told(tmp_path: Path, raw: bytes, sentence: str) -> None:
    file = tmp_path / "lift.yaml"
    file.write_bytes(raw)
    with pytest.raises(SpecError) as caught:
        load(file)
    assert sentence in str(caught.value)
    assert str(file) in str(caught.value)


def test_signs_of_every_language_are_welcome() -> None:
    assert loads(HEAD.replace("Test", "Fräse Ø 12 旋盤 🔧") + MOUNTS).model.title == "Fräse Ø 12 旋盤 🔧"


# --------------------------------------------------------------------------------------------- what floods


def test_aliases_that_multiply_are_stopped() -> None:
    text = HEAD + "a: &a [x, x, x, x, x, x, x, x, x]\n"
    for one, other in zip("bcdefghij", "abcdefghi", strict=True):
        text += f"{one}: &{one} [{', '.join([f'*{other}'] * 9)}]\n"
    assert f"found aliases that repeat more than {MAX_REPEATED} values; write the values out" in only(text)


def test_an_alias_inside_itself_is_told() -> None:
    assert "found *a inside itself; write the value itself" in str(problems(HEAD + "mounts: &a {b: *a}\n")[0])


def test_aliases_cannot_nest_deeper_than_brackets() -> None:
    text = HEAD + "a0: &a0 [1]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}]\n" for n in range(1, 60))
    assert f"more than {MAX_DEPTH} levels" in str(problems(text)[-1])


@pytest.mark.parametrize("text", ["[" * 100_000, "{a: " * 100_000, "- " * 100_000, "? " * 100_000, "[{" * 50_000])
def test_deep_nesting_is_stopped(text: str) -> None:
    assert f"found more than {MAX_DEPTH} levels" in str(problems(text)[-1])


def test_a_million_holes_are_refused_however_they_are_asked_for() -> None:
    circle = MOUNTS.replace("points: [[0, 0]], hole: 9", "circle: {count: 1000000, diameter: 90, hole: 9}")
    assert "found 1000000; use at most 2000" in only(HEAD + circle)
    written = HEAD + MOUNTS.replace("[0, 0]", "[0, 0], " * (MAX_BYTES // 8))
    assert f"a spec is at most {MAX_BYTES / 1e6:.0f} MB" in only(written)


def test_more_values_than_a_plate_can_have_are_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    assert MAX_VALUES >= 3 * MAX_HOLES
    monkeypatch.setattr("platekit.spec.source.MAX_VALUES", 3_000)
    assert "found more than 3000 values; split the work" in only("x: [" + "1," * 3_001 + "]")


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    file = tmp_path / "huge.yaml"
    with file.open("wb") as stream:
        stream.truncate(MAX_BYTES * 100)
    with pytest.raises(PlatekitError, match="found a file of more than 2 MB, the most that a spec may have"):
        load(file)


@pytest.mark.parametrize(
    "text",
    [
        "a" * 200_000 + ": 1",
        HEAD + MOUNTS + "x: " + "9" * 200_000,
        HEAD + MOUNTS + "x: '" + "a" * 200_000,
        "a:" * 100_000,
        "&a " * 50_000,
        "!a " * 50_000,
        "'" * 100_000,
        "%b c\n" * 20_000,
        "---\n" * 20_000,
        "#" * 200_000,
        "a: 1\r" * 20_000,
        "a: |\n" + "  x\n" * 20_000,
        "".join(" " * n + f"k{n}:\n" for n in range(400)),
    ],
)
def test_long_winded_files_end_in_a_sentence(text: str) -> None:
    assert 1 <= len(problems(text)) <= 101
    assert all(len(one.pointed()) < 1500 for one in problems(text))


class Endless(io.RawIOBase):
    """A file that never ends, as some systems have."""

    def read(self, size: int = -1) -> bytes:
        assert size >= 0, "nobody reads such a file to its end"
        return b"\0" * size


def test_an_endless_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "endless.yaml").touch()

    def endless(descriptor: int, mode: str) -> Endless:
        os.close(descriptor)
        return Endless()

    monkeypatch.setattr(os, "fdopen", endless)
    with pytest.raises(PlatekitError, match="found a file of more than 2 MB"):
        load(tmp_path / "endless.yaml")


@pytest.mark.parametrize("sign", ["\u00a0", "\u202e", "\u2028", "\ufeff"])
def test_signs_that_cannot_be_seen_are_not_said_again(sign: str) -> None:
    """A name that begins with one: neither the place nor the advice may repeat it."""
    text = HEAD + MOUNTS.replace("machine: {side", f"a{sign}b: {{size: M8, screws: {{}}, side")
    assert all(str(one).isprintable() for one in problems(text))
    assert all(line.isprintable() for one in problems(text) for line in one.pointed().splitlines())


PIPES = hasattr(os, "mkfifo")
"""Whether this system has pipes with a name."""


@pytest.mark.parametrize("kind", ["yaml", "svg", "machine"] if PIPES else [])
def test_a_pipe_into_which_nobody_writes_is_not_waited_for(kind: str, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / f"pipe.{kind}")
    drawn = "bodies: {b: {carried_by: machine, shape: {drawn: {file: pipe.svg, units: mm}}, span: [0, 9]}}\n"
    more = {"yaml": "", "svg": drawn, "machine": "cutting: {machine: pipe.machine}\n"}
    (tmp_path / "spec.yaml").write_text(HEAD + MOUNTS + more[kind], "utf-8")
    with pytest.raises(PlatekitError):
        lay_out(load(tmp_path / ("pipe.yaml" if kind == "yaml" else "spec.yaml")))


@pytest.mark.parametrize("early", [True, False] if PIPES else [])
def test_a_pipe_into_which_someone_writes_is_read_to_its_end(
    early: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether something is in it when it is opened, or comes only then."""
    path = tmp_path / "pipe.yaml"
    os.mkfifo(path)
    writer = os.open(path, os.O_RDWR)
    if early:
        os.write(writer, HEAD.encode())
    wait = os.set_blocking

    def write_the_rest(descriptor: int, blocking: bool) -> None:
        wait(descriptor, blocking)
        os.write(writer, (MOUNTS if early else HEAD + MOUNTS).encode())
        os.close(writer)

    monkeypatch.setattr(os, "set_blocking", write_the_rest)
    assert load(path).model.title == "Test"


def test_a_name_that_would_move_the_cursor_is_shown_by_its_codes(tmp_path: Path) -> None:
    for name in ("a\x1b[2Jb.yaml", "a\u202eb.yaml"):
        with pytest.raises(PlatekitError) as caught:
            load(tmp_path / name)
        assert str(caught.value).isprintable()
    (tmp_path / "a\u202eb.yaml").write_text("platekit: 2\n", "utf-8")
    with pytest.raises(SpecError) as wrong:
        load(tmp_path / "a\u202eb.yaml")
    assert all("a\\u202eb.yaml:1" in one.pointed() for one in wrong.value.problems[:1])


@pytest.mark.parametrize("sigma", ["1e-300", "1e-7", "1e-9 in"])
def test_a_sigma_that_no_instrument_has_is_refused(sigma: str) -> None:
    pattern = "measured: {holes: {A: 10, B: 10}, readings: [[A, B, over, 90]], sigma: SIGMA}".replace("SIGMA", sigma)
    found = problems(HEAD + MOUNTS.replace("points: [[0, 0]], hole: 9", pattern))
    assert "give a length that can be measured" in " ".join(map(str, found))


def test_a_name_of_any_length_is_refused_as_what_it_is() -> None:
    assert "of 81 characters; use at most 80" in only(HEAD + MOUNTS.replace("machine", "m" * 81))
    assert "a key of more than 1024 characters; give it a shorter name" in only(
        HEAD + MOUNTS.replace("{machine:", "\n  " + "m" * 10_000 + ":").replace("}}}", "}}")
    )


def test_more_reliefs_than_one_plate_takes_are_said_before_the_work() -> None:
    bodies = "".join(
        f"  b{n}: {{carried_by: plate, side: near, shape: {{circle: {{diameter: 4}}}}, span: [0, 9], relief: auto}}\n"
        for n in range(301)
    )
    spec = loads(f"{HEAD}{MOUNTS}bodies:\n{bodies}", "crowd")
    with pytest.raises(SpecError, match="301 bodies with a relief; at most 300 bodies are cut out of one plate"):
        lay_out(spec)
