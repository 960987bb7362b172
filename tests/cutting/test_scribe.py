"""Words on the plate: which, on which side of what, and that no stroke comes near an edge, a mark or another word."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

import platekit
from platekit.cutting import operations_of, paths_of, plan
from platekit.cutting.scribe import CLEAR, Scribed, Word, face_words, scribing_of
from platekit.errors import SpecError
from platekit.geometry import Arc, Edge, Line
from platekit.placed import Layout
from tests.strategies import USUAL, Data, as_text, plates

PLATE = """\
platekit: 1
title: Churn, slow motor
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 300, height: 200, corner: 12}}
  cutouts:
    cable: {circle: {diameter: 24}, at: [110, 60]}
    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [-90, -60]}
mounts:
  churn:
    side: far
    looking_at: face
    pattern: {points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9}
    pilot: {diameter: 60, clearance: 1.5}
    bolts: {size: M8, into: part, depth: 40}
cutting: {process: laser, scribe: [names, face, revision, title]}
"""
SPOTS = 24
"""Places along each arc at which distances are measured."""


def laid_out(*swaps: tuple[str, str]) -> Layout:
    text = PLATE
    for old, new in swaps:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return platekit.lay_out(platekit.loads(text, "churn"))


def texts(found: Scribed) -> dict[str, str | None]:
    return {word.text: word.feature for word in found.words}


def test_nothing_is_scribed_unless_asked() -> None:
    found = scribing_of(laid_out((", scribe: [names, face, revision, title]", "")))
    assert found.words == ()
    assert found.left_out == ()


def test_each_kind_of_word_is_scribed_once_and_each_opening_named() -> None:
    layout = laid_out()
    found = scribing_of(layout)
    assert texts(found) == {
        "THIS FACE OUT": None,
        f"REV {layout.spec.revision.upper()}": None,
        "CHURN, SLOW MOTOR": None,
        **{f"CHURN.{k}": f"churn.{k}" for k in (1, 2, 3, 4)},
        "CHURN.PILOT": "churn.pilot",
        "CABLE": "cable",
        "WINDOW": "window",
    }
    assert found.left_out == ()
    assert found.side == "near"


@pytest.mark.parametrize("kind", ["names", "face", "revision", "title"])
def test_only_what_is_asked_for(kind: str) -> None:
    found = scribing_of(laid_out(("[names, face, revision, title]", f"[{kind}]")))
    assert {word.what for word in found.words} == {kind}


@pytest.mark.parametrize(
    ("swaps", "words"),
    [
        ((), "THIS FACE OUT"),
        ((("side: far", "side: near"),), "THIS FACE IN"),
        (
            (
                (
                    "cutting:",
                    "  fan: {side: near, looking_at: back, pattern: {points: [[0, 0]], hole: 5}, at: [9, 0]}\ncutting:",
                ),
            ),
            "THIS FACE OUT",
        ),
        (
            (
                ("side: far", "side: far\n    original: true"),
                (
                    "cutting:",
                    "  fan: {side: near, looking_at: back, pattern: {points: [[0, 0]], hole: 5}, at: [120, 0], "
                    "original: true}\ncutting:",
                ),
            ),
            "NEAR FACE",
        ),
    ],
)
def test_the_face_says_where_it_looks(swaps: tuple[tuple[str, str], ...], words: str) -> None:
    """The machine is on the far side of the plate: the near face looks away from it."""
    layout = laid_out(*swaps)
    assert face_words(layout) == words
    assert words in texts(scribing_of(layout))


def test_letters_are_as_high_as_asked_in_either_unit() -> None:
    for given_height, wanted in (("4", 4.0), ("1/4 in", 6.35), ("10 mm", 10.0)):
        layout = laid_out(("scribe: [names, face, revision, title]", f"scribe: [face], scribe_height: {given_height}"))
        (word,) = scribing_of(layout).words
        ys = [y for edge in word.edges for _, y in (edge.a, edge.b)]
        assert max(ys) - min(ys) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("scribe: [nams]", "use face, revision, names or title"),
        ("scribe: names", r"give a list in brackets"),
        ("scribe: [face], scribe_height: 1", "give a height from 2 mm to 50 mm"),
        ("scribe: [face], scribe_height: 3 in", "give a height from 2 mm to 50 mm"),
        ("scribe: [face], scribe_height: tall", "tall"),
        ("scribe: [face, face, face, face, face]", "use at most 4"),
    ],
)
def test_what_cannot_be_read_is_told_at_its_place(words: str, said: str) -> None:
    with pytest.raises(SpecError, match=said) as caught:
        laid_out(("scribe: [names, face, revision, title]", words))
    assert "cutting.scribe" in str(caught.value)


def test_a_word_reads_from_left_to_right_on_the_face_that_is_marked() -> None:
    """Looking at the near face, the P's bowl is to the right of its stem, and the text rises above its base line."""
    (word,) = scribing_of(
        laid_out(("title: Churn, slow motor", "title: P"), ("[names, face, revision, title]", "[title]"))
    ).words
    stem = next(edge for edge in word.edges if isinstance(edge, Line) and edge.length == pytest.approx(5.0))
    bowl = next(edge for edge in word.edges if isinstance(edge, Arc))
    assert word.turn == 0.0
    assert bowl.center[0] > stem.a[0]
    assert bowl.center[1] > (stem.a[1] + stem.b[1]) / 2


def test_where_only_an_upright_strip_is_left_a_word_stands_upright() -> None:
    layout = laid_out(
        ("rectangle: {width: 300, height: 200, corner: 12}}", "rectangle: {width: 40, height: 200}, at: [0, 0]}"),
        ("    cable: {circle: {diameter: 24}, at: [110, 60]}\n", "    cable: {circle: {diameter: 6}, at: [0, 90]}\n"),
        ("    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [-90, -60]}\n", ""),
        ("points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9", "points: [[0, -90]], hole: 5"),
        ("    pilot: {diameter: 60, clearance: 1.5}\n    bolts: {size: M8, into: part, depth: 40}\n", ""),
        ("[names, face, revision, title]", "[face]"),
    )
    (word,) = scribing_of(layout).words
    assert word.turn == pytest.approx(math.pi / 2)
    assert word.box.height > word.box.width


def test_no_room_is_told_and_nothing_shrinks() -> None:
    layout = laid_out(("[names, face, revision, title]", "[names, face, title], scribe_height: 45"))
    found = scribing_of(layout)
    assert found.height == 45.0
    assert {one.why for one in found.left_out} == {"room"}
    assert "CHURN, SLOW MOTOR" in {one.text for one in found.left_out}
    assert len(found.words) + len(found.left_out) == len(layout.openings) + 2


def test_signs_without_strokes_leave_the_whole_word_out() -> None:
    found = scribing_of(laid_out(("title: Churn, slow motor", "title: Насос 2"), ("cable:", "Zündkabel:")))
    (one,) = found.left_out
    assert (one.text, one.why, one.signs) == ("Насос 2", "signs", "НАСО")
    assert texts(found)["ZUNDKABEL"] == "Zündkabel"


def test_a_drill_press_scribes_nothing() -> None:
    found = scribing_of(laid_out(("process: laser", "process: drill")))
    assert found.words == ()
    assert {one.why for one in found.left_out} == {"table"}


def test_the_face_goes_before_names_where_there_is_not_room_for_both() -> None:
    """A narrow plate: beside its one hole there is room for one word only."""
    swaps = (
        ("rectangle: {width: 300, height: 200, corner: 12}}", "rectangle: {width: 100, height: 14}}"),
        (
            "    cable: {circle: {diameter: 24}, at: [110, 60]}\n",
            "    a name: {circle: {diameter: 6}, at: [-42, 0]}\n",
        ),
        ("    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [-90, -60]}\n", ""),
        ("points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9", "points: [[45, 0]], hole: 4"),
        ("    pilot: {diameter: 60, clearance: 1.5}\n    bolts: {size: M8, into: part, depth: 40}\n", ""),
    )
    found = scribing_of(laid_out(*swaps, ("[names, face, revision, title]", "[names, face]")))
    assert "THIS FACE OUT" in texts(found)
    assert {one.what for one in found.left_out} == {"names"}
    assert "A NAME" in texts(scribing_of(laid_out(*swaps, ("[names, face, revision, title]", "[names]"))))


def test_scribing_takes_its_time() -> None:
    with_words, without = (laid_out(*swaps) for swaps in ((), ((", scribe: [names, face, revision, title]", ""),)))
    made, plain = plan(with_words), plan(without)
    assert made is not None
    assert plain is not None
    strokes = [stroke for word in scribing_of(with_words).words for stroke in word.strokes]
    length = math.fsum(edge.length for stroke in strokes for edge in stroke)
    assert made.scribe_length == pytest.approx(length)
    assert made.scribing_s == pytest.approx(length / 3000 * 60)
    assert plain.scribing_s == 0.0
    assert made.travel_length > plain.travel_length
    assert made.total_s == pytest.approx(plain.total_s + made.scribing_s + made.travelling_s - plain.travelling_s)


def test_paths_have_every_stroke_once() -> None:
    layout = laid_out()
    assert sorted(map(repr, paths_of(layout).words)) == sorted(map(repr, scribing_of(layout).strokes))


def test_the_same_plate_has_the_same_words() -> None:
    assert scribing_of(laid_out()) == scribing_of(laid_out())


def test_the_revision_mark_counts_words_only_where_there_are_any() -> None:
    none = laid_out((", scribe: [names, face, revision, title]", ""))
    tall = laid_out((", scribe: [names, face, revision, title]", ", scribe: [], scribe_height: 9"))
    some = laid_out()
    taller = laid_out(("title]", "title], scribe_height: 9"))
    assert none.spec.revision == tall.spec.revision
    assert len({none.spec.revision, some.spec.revision, taller.spec.revision}) == 3


# ------------------------------------------------------------------------------- measured by shapely


def line(edge: Edge) -> LineString:
    count = SPOTS if isinstance(edge, Arc) else 1
    return LineString([edge.at(k / count) for k in range(count + 1)])


def drawn(word: Word) -> shapely.Geometry:
    return shapely.union_all([line(edge) for edge in word.edges])


def ring(edges: tuple[Edge, ...]) -> Polygon:
    return Polygon([edge.at(k / 200) for edge in edges for k in range(200 if isinstance(edge, Arc) else 1)])


def assert_clear(layout: Layout, found: Scribed) -> None:
    """Every stroke is `CLEAR` of every opening, mark and the outside, and of every other word; shapely's distances."""
    outside = ring(layout.outline.loop().edges)
    openings = {opening.name: ring(opening.shape.loop().edges) for opening in layout.openings}
    marks = shapely.union_all([Point(at) for operations in operations_of(layout) for at in operations.marks])
    strokes = {index: drawn(word) for index, word in enumerate(found.words)}
    for stroke in strokes.values():
        assert outside.contains(stroke)
        assert outside.exterior.distance(stroke) > CLEAR - 0.01
        assert all(stroke.distance(opening) > CLEAR - 0.01 for opening in openings.values())
        assert marks.is_empty or stroke.distance(marks) > CLEAR
    for one, other in combinations(strokes.values(), 2):
        assert one.distance(other) > CLEAR


def assert_beside(layout: Layout, found: Scribed) -> None:
    """Each name is nearer to its own opening, or to the mark in it, than to any other."""
    openings = {opening.name: ring(opening.shape.loop().edges) for opening in layout.openings}
    for word in found.words:
        if word.feature is None:
            continue
        frame = shapely.box(*word.box)
        own = frame.distance(openings[word.feature])
        operations = next(one for one in operations_of(layout) if one.opening == word.feature)
        head = max((step.diameter or 0.0 for step in operations.steps), default=0.0) / 2
        assert own < CLEAR + 2 * found.height + head
        marked = min((frame.distance(Point(at)) for at in operations.marks), default=math.inf)
        others = [frame.distance(other) for name, other in openings.items() if name != word.feature]
        assert min(own, marked) < min(others, default=math.inf)


def test_words_keep_clear_on_a_plain_plate() -> None:
    layout = laid_out()
    assert_clear(layout, scribing_of(layout))
    assert_beside(layout, scribing_of(layout))


def test_what_drops_out_bears_no_word() -> None:
    """Steel inside a ring of slots that shut it in falls out with them."""
    layout = laid_out(
        ("rectangle: {width: 300, height: 200, corner: 12}}", "rectangle: {width: 130, height: 130, corner: 12}}"),
        (
            "    cable: {circle: {diameter: 24}, at: [110, 60]}\n"
            "    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [-90, -60]}\n",
            "".join(
                f"    s{k}: {{slot: {{length: 100, width: 6}}, at: [{x}, {y}], turn: {turn} deg}}\n"
                for k, (x, y, turn) in enumerate([(0, 48, 0), (0, -48, 0), (48, 0, 90), (-48, 0, 90)])
            ),
        ),
        ("points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9", "points: [[59, 59]], hole: 3"),
        ("    pilot: {diameter: 60, clearance: 1.5}\n    bolts: {size: M8, into: part, depth: 40}\n", ""),
        ("[names, face, revision, title]", "[face, title], scribe_height: 3"),
    )
    found = scribing_of(layout)
    assert_clear(layout, found)
    inside = shapely.box(-45, -45, 45, 45)
    assert not any(inside.intersects(drawn(word)) for word in found.words)


def test_a_counterbore_is_kept_clear_of() -> None:
    layout = laid_out(
        (
            "bolts: {size: M8, into: part, depth: 40}",
            "bolts: {size: M8, into: nut, flange: 10, head: socket, counterbore: true}",
        ),
        ("thickness: 6", "thickness: 16"),
    )
    widest = {
        operations.opening: max((s.diameter or 0.0) for s in operations.steps) for operations in operations_of(layout)
    }
    heads = [Point(o.center).buffer(widest[o.name] / 2) for o in layout.openings if o.role == "screw"]
    assert max(widest.values()) == 14.0
    for word in scribing_of(layout).words:
        assert all(drawn(word).distance(head) > CLEAR - 0.01 for head in heads)


@st.composite
def scribed_plates(draw: st.DrawFn) -> Data:
    spec = draw(plates(USUAL))
    kinds = draw(st.lists(st.sampled_from(["face", "revision", "names", "title"]), min_size=1, unique=True))
    spec["cutting"] |= {"scribe": kinds, "scribe_height": draw(st.sampled_from([2, 3, 4.5, 6, 12]))}
    return spec


@settings(
    max_examples=25,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
@given(scribed_plates())
def test_words_keep_clear_on_any_plate(spec: Data) -> None:
    try:
        layout = platekit.lay_out(platekit.loads(as_text(spec), "any"))
    except SpecError:
        assume(False)
    found = scribing_of(layout)
    assert len(found.words) + len(found.left_out) == (
        len(layout.openings) * ("names" in spec["cutting"]["scribe"]) + len(set(spec["cutting"]["scribe"]) - {"names"})
    )
    assert_clear(layout, found)
    assert_beside(layout, found)
