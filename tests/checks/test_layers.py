"""Layers on the plate: what goes through them, what they lift and clamp, their files, and the rule on them."""

from __future__ import annotations

import textwrap
from pathlib import Path

import ezdxf
import pypdfium2 as pdfium
import pytest

import platekit
from platekit.analysis.assembly import assembly
from platekit.analysis.parts_list import pieces_of
from platekit.checks import Finding, layers
from platekit.cutting import how_made
from platekit.errors import SpecError
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.publishing import publish
from platekit.export.solid_step import step_bytes
from platekit.geometry import Disc, distance
from platekit.laying.layers import layer_parts
from platekit.placed import Layout, Opening
from platekit.spec import with_value
from platekit.strength.question import question_of
from tests.adversary.runs import without
from tests.checks.plates import changed

RING = textwrap.dedent(
    """\
    platekit: 1
    title: A register wider than its bolt circle
    units: mm
    plate: {material: mild steel, thickness: 12, mounting: upright}
    mounts:
      frame:
        side: far
        looking_at: back
        pattern: {rectangle: {width: 270, height: 250}}
        screws: {size: M12, into: nut, flange: 14, washer: true}
      ring:
        side: near
        pattern: {circle: {count: 6, diameter: 252, start: 30 deg}}
        screws: {size: M8, into: part, washer: true}
        layer: {thickness: 8}
      motor:
        side: near
        on: ring
        pattern: {circle: {count: 4, diameter: 180}}
        pilot: {diameter: 215, depth: 6, opening: layer}
        screws: {size: M12, into: part, depth: 24, thread_in: steel, washer: true}
        mass: {total: 38 kg, centre: [0, 0, 150]}
    cutting: {process: laser, kerf: 0.3}
    """
)
HEADS = changed(
    ("        layer: {thickness: 8}"[4:], "    layer: {thickness: 8, outline: {rectangle: {width: 330, height: 310}}}"),
    ("flange: 14, washer: true}", "flange: 14, washer: true}\n    heads_on: ring"),
    plate=RING,
)


def laid(*swaps: tuple[str, str], plate: str = RING) -> Layout:
    return platekit.lay_out(platekit.loads(changed(*swaps, plate=plate), "stack.yaml"))


def ring_of(layout: Layout) -> Layout:
    return layer_parts(layout)["layer-ring"]


def opening(layout: Layout, name: str) -> Opening:
    return next(one for one in layout.openings if one.name == name)


def found(layout: Layout) -> list[Finding]:
    return list(layers.layers(layout))


def test_a_ring_is_a_plate_of_its_own_with_register_and_threads() -> None:
    layout = laid()
    ring = ring_of(layout)
    assert {one.name for one in ring.openings} == {f"ring.{k}" for k in range(1, 7)} | {"motor.pilot"}
    # an M8 is tapped after 6.8 mm (ISO 2306) in what holds it, and passes 9 mm (ISO 273) in the plate
    assert (opening(ring, "ring.1").thread, opening(ring, "ring.1").size) == ("M8", 6.8)
    assert (opening(layout, "ring.1").thread, opening(layout, "ring.1").size) == (None, 9)
    assert opening(ring, "motor.pilot").size >= 215
    # the plate stays whole behind the register, its screw holes too
    assert "motor.pilot" not in {one.name for one in layout.openings}
    assert {f"motor.{k}" for k in range(1, 5)} <= {one.name for one in layout.openings}
    assert (ring.thickness, ring.material.name) == (8, "mild steel")
    assert ring.spec.revision != layout.spec.revision
    assert not found(layout)
    assert platekit.check(layout).clear


def test_what_stands_on_a_layer_is_lifted_and_its_screws_clamp_it() -> None:
    layout = laid()
    motor, frame = layout.mounts["motor"], layout.mounts["frame"]
    assert (motor.standoff, motor.lift, motor.spacing) == (8, 8, 0)
    assert motor.stack is not None
    # 12 plate, 2.5 washer (ISO 7089), 8 of layer less the register of 6 that the screws go into
    assert motor.stack.grip == pytest.approx(12 + 2.5 + 8 - 6)
    # one whose pilot does not carry the screws clamps all of the layer
    flat = laid(("pilot: {diameter: 215, depth: 6, opening: layer}", "pilot: {diameter: 100, depth: 6}"))
    assert flat.mounts["motor"].stack is not None
    assert flat.mounts["motor"].stack.grip == pytest.approx(12 + 2.5 + 8)
    assert {f"motor.{k}" for k in range(1, 5)} <= {one.name for one in ring_of(flat).openings}
    # frame: 12 plate, 14 flange, two washers of 2.5; its heads on the layer add that
    assert frame.stack is not None
    assert frame.stack.grip == pytest.approx(12 + 14 + 5)
    on_it = platekit.lay_out(platekit.loads(HEADS, "stack.yaml"))
    stack = on_it.mounts["frame"].stack
    assert stack is not None
    assert stack.grip == pytest.approx(12 + 14 + 5 + 8)
    heads = next(body for body in on_it.bodies if body.name == "frame.1.head")
    assert heads.z[0] == pytest.approx(8 + 2.5)
    assert not found(on_it)
    assert not [one for one in platekit.check(on_it).findings if one.level == "stop"]


def test_laid_out_again_it_is_the_same() -> None:
    layout = laid(("on: ring", "on: ring\n    standoff: 2"))
    again = platekit.lay_out(layout.spec)
    assert again.mounts == layout.mounts
    assert layout.mounts["motor"].spacing == pytest.approx(2)
    # what is lifted is the part, not the user's figure: the mark is that of the text
    assert again.spec.revision == layout.spec.revision == platekit.loads(layout.spec.text).revision
    assert layout.spec.model == platekit.loads(layout.spec.text).model


@pytest.mark.parametrize(
    ("swap", "said"),
    [
        (("on: ring", "on: frame"), "which is no layer"),
        (("on: ring", "on: nobody"), "which is no layer"),
        (("flange: 14, washer: true}", "flange: 14, washer: true}\n    on: ring"), "on the near side"),
        (("on: ring", "on: ring\n    heads_on: ring"), "on the near side"),
        (("    on: ring\n", ""), "`opening: layer` of a part on the plate"),
        (("opening: layer", "opening: recess"), "`opening: recess` on a layer"),
        (("layer: {thickness: 8}", "layer: {thickness: 8}\n    standoff: 3"), "`standoff` of a layer"),
        (("layer: {thickness: 8}", "layer: {thickness: 8, material: cheese}"), "no material is called"),
        (
            ("layer: {thickness: 8}", "layer: {thickness: 8, outline: {waist: {radius: 10, narrowest: 900}}}"),
            "narrower than it may be",
        ),
        (("screws: {size: M8, into: part, washer: true}", "screws: {size: M8, into: part, depth: 8}"), "`depth` of a"),
        (("size: M8, into: part, washer: true", "size: M8, into: stud, stands: 20"), "a layer that no screw holds"),
    ],
)
def test_a_layer_that_is_none_is_refused(swap: tuple[str, str], said: str) -> None:
    with pytest.raises(SpecError) as refused:
        laid(swap)
    assert any(said in f"{one.found}; {one.wanted}" for one in refused.value.problems)
    assert all(one.field.startswith("mounts.") for one in refused.value.problems)


def test_a_cutout_of_the_plate_goes_on_through_the_layer_over_it() -> None:
    plate = ("thickness: 12,", "thickness: 12, cutouts: {cable: {circle: {diameter: 20}, at: [0, 20]}},")
    wide = ("layer: {thickness: 8}", "layer: {thickness: 8, cutouts: {window: {circle: {diameter: 30}, at: [0, 60]}}}")
    none = ("opening: layer", "opening: none")
    layout = laid(plate, wide, none)
    ring = ring_of(layout)
    assert opening(ring, "cable").shape == Disc((0, 20), 10)
    assert opening(ring, "window").shape == Disc((0, 60), 15)
    assert "window" not in {one.name for one in layout.openings}


@pytest.mark.parametrize(
    ("has", "has_not", "said"),
    [
        # a register has to end 0.5 mm before the plate
        ("depth: 7.6", "depth: 7.5", "its spigot stands"),
        # ring holes of 6.8 need steel to the outside: 1.5 diameters from their middle
        ("DISC 272", "DISC 273", "from the outline"),
        # between the register's opening and the holes
        ("CIRCLE 226", "CIRCLE 252", "the web between"),
    ],
)
def test_a_layer_is_held_to_the_plates_rules(has: str, has_not: str, said: str) -> None:
    told = [laid(*_swaps(one)) for one in (has, has_not)]
    findings = [one for one in found(told[0]) if said in one.message]
    assert findings
    assert not [one for one in found(told[1]) if said in one.message]
    for finding in findings[:1]:
        for advice in (finding.advice, *finding.others):
            text = told[0].spec.text
            for remedy in advice.remedies:
                text = with_value(text, remedy.field, remedy.value)
            if advice.remedies:
                after = found(platekit.lay_out(platekit.loads(text, "stack.yaml")))
                assert not [one for one in after if one.features == finding.features], advice.text


def _swaps(case: str) -> list[tuple[str, str]]:
    word, figure = case.split()
    if word == "DISC":
        return [("layer: {thickness: 8}", f"layer: {{thickness: 8, outline: {{circle: {{diameter: {figure}}}}}}}")]
    if word == "CIRCLE":
        return [("count: 6, diameter: 252", f"count: 6, diameter: {figure}")]
    return [("depth: 6", f"depth: {figure}")]


def test_a_register_that_cuts_into_its_screw_holes_is_told() -> None:
    # holes of 13.5 mm (ISO 273, M12) on 220 reach from 103 to 117 mm, the register to 107.5
    layout = laid(("count: 4, diameter: 180", "count: 4, diameter: 220"))
    told = [one for one in found(layout) if "run into each other" in one.message]
    assert told
    assert {"ring: motor.1", "ring: motor.pilot"} <= set(told[0].features)


def test_a_part_beside_its_layer_stands_on_nothing() -> None:
    layout = laid(
        ("layer: {thickness: 8}", "layer: {thickness: 8, outline: {circle: {diameter: 290}}}"),
        ("pilot: {diameter: 215, depth: 6, opening: layer}", "pilot: {diameter: 100, depth: 6}"),
        ("count: 4, diameter: 180", "count: 4, diameter: 320"),
    )
    (finding,) = [one for one in found(layout) if "on nothing" in one.message]
    assert finding.level == "stop"
    text = with_value(layout.spec.text, finding.remedies[0].field, finding.remedies[0].value)
    after = platekit.lay_out(platekit.loads(text, "stack.yaml"))
    assert not [one for one in found(after) if "on nothing" in one.message]


def test_it_is_a_body_with_its_holes_and_goes_on_before_what_stands_on_it() -> None:
    layout = laid()
    body = next(one for one in layout.bodies if one.name == "ring.layer")
    assert body.z == (0, 8)
    assert body.carrier == "ring"
    area = sum(piece.silhouette.area for piece in body.solids)
    assert area == pytest.approx(ring_of(layout).net_area, rel=1e-6)
    # its pieces have room for the register, and none is in the way of a screw that goes through
    register = Disc((0, 0), 107.5)
    assert min(distance(piece.silhouette, register).distance for piece in body.solids) > 0
    items = [step.item for step in assembly(layout).steps]
    assert items.index("ring") < items.index("motor")
    # something of another part in it is a clash
    lump = (
        "cutting:",
        "bodies:\n  lump: {carried_by: frame, shape: {circle: {diameter: 3}, at: [56.75, 98.3]}, span: [-30, 0], "
        "relief: auto}\ncutting:",
    )
    # its relief goes through the layer too, though it leaves too thin a web there
    assert not [one for one in platekit.check(laid(lump)).findings if one.rule in ("clash", "blocked")]
    assert [one for one in found(laid(lump)) if "the web between" in one.message]
    stuck = (
        "cutting:",
        "bodies:\n  lump: {carried_by: plate, side: near, shape: {circle: {diameter: 9}, at: [0, 118]}, span: [0, 5]}\n"
        "cutting:",
    )
    told = [one for one in platekit.check(laid(stuck)).findings if one.rule == "clash"]
    assert any("ring.layer" in one.features for one in told)


def test_its_stiffness_is_not_counted_and_its_weight_is() -> None:
    layout = laid()
    question = question_of(layout)
    assert {part.name for part in question.parts} == {"frame", "motor"}
    assert question.thickness == 12
    plate = layout.mass * question.density / layout.material.density
    assert plate == pytest.approx(layout.mass + ring_of(layout).mass)


def test_every_layer_has_its_files_and_its_place_on_the_lists(tmp_path: Path) -> None:
    layout = laid()
    verdict = platekit.check(layout)
    published = publish(layout, verdict, tmp_path)
    names = {path.name for path in published.written}
    wanted = {"stack.layer-ring.cut.dxf", "stack.layer-ring.template.pdf", "stack.layer-ring.step"}
    assert wanted <= names
    drawn = ezdxf.readfile(tmp_path / "stack" / "stack.layer-ring.cut.dxf")
    # the register and the outside are cut, six threads are marked by a cross each
    layers_in = [one.dxf.layer for one in drawn.modelspace()]
    assert layers_in.count("CUT-INSIDE") >= 1
    assert layers_in.count("MARK") == 12
    assert step_bytes(ring_of(layout)).startswith(b"ISO-10303-21")
    (piece,) = [one for one in pieces_of(layout) if one.kind == "layer"]
    assert (piece.part, piece.thickness, piece.get) == ("ring", 8, "cut")
    paper = pdfium.PdfDocument(sheet_bytes(layout, verdict))
    said = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in paper)
    assert "Layers, cut as parts of their own" in said
    assert "revision " + ring_of(layout).spec.revision in said
    # once it is thicker, the old file of the layer goes
    thicker = laid(("layer: {thickness: 8}", "layer: {thickness: 10}"))
    again = publish(thicker, platekit.check(thicker), tmp_path)
    assert "stack.layer-ring.cut.dxf" in {path.name for path in again.written}
    bare = laid(
        ("    on: ring\n", ""), ("opening: layer", "opening: none"), ("    layer: {thickness: 8}\n", ""),
        ("screws: {size: M8, into: part, washer: true}", "screws: {size: M8, into: part, depth: 20, washer: true}"),
    )  # fmt: skip
    gone = publish(bare, platekit.check(bare), tmp_path)
    assert "stack.layer-ring.cut.dxf" in {path.name for path in gone.removed}


def test_the_example_is_clear_to_cut() -> None:
    layout = platekit.lay_out(platekit.load(Path(__file__).parents[2] / "specs" / "bean-drum.yaml"))
    assert platekit.check(layout).clear


def pinned(words: str, *swaps: tuple[str, str]) -> Layout:
    return laid(("layer: {thickness: 8}", f"layer: {{thickness: 8, dowels: {words}}}"), *swaps)


AT = "at: [[-126, 0], [126, 0]]"


def test_dowels_are_reamed_through_both_and_bought_as_long_as_fits() -> None:
    layout = pinned(f"{{size: 8, {AT}}}")
    ring = ring_of(layout)
    # x as the plate's, on a layer of the near side too
    assert not layout.mounts["ring"].pose.mirrored
    for flat in (layout, ring):
        for number, x in ((1, -126), (2, 126)):
            hole = opening(flat, f"ring.dowel {number}")
            assert (hole.shape, hole.role) == (Disc((x, 0), 4), "dowel")
        made = how_made(flat, opening(flat, "ring.dowel 1"))
        # a reamer takes some tenths: drilled 7.7, reamed 8
        assert [(step.work, step.diameter) for step in made.steps] == [("mark", None), ("drill", 7.7), ("ream", 8)]
        assert made.marks == ((-126, 0),)
    # 12 of plate and 8 of layer: DIN 6325 has an 8 x 20
    (pin,) = [one for one in pieces_of(layout) if one.kind == "dowel"]
    assert (pin.count, pin.width, pin.length, pin.get) == (2, 8, 20, "buy")
    bodies = {body.name: body for body in layout.bodies}
    assert bodies["ring.dowel 1.pin"].z == (-12, 8)
    assert not found(layout)
    verdict = platekit.check(layout)
    assert verdict.clear
    paper = pdfium.PdfDocument(sheet_bytes(layout, verdict))
    said = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in paper)
    assert "2 dowel pins 8 × 20 mm: reamed H7 through both" in said
    # card, drawing and table ask for the reamer by its fit
    assert "2 × Ø8 H7, drill and ream" in said
    assert "drill 7.7 mm, ream 8 mm H7" in said
    assert "dowel pin 8 × 20 mm, hardened, m6" in said


@pytest.mark.parametrize(
    ("words", "level", "said", "mended"),
    [
        (f"{{size: 7, {AT}}}", "stop", "no dowel pin is 7 mm thick; the nearest is 6 mm", True),
        # the shortest 10 is 24 long (DIN 6325), and 20 are there
        (f"{{size: 10, {AT}}}", "stop", "stands out of plate and layer, 20 mm together", True),
        (f"{{size: 8, length: 24, {AT}}}", "stop", "dowel pins 24 mm long stand out", True),
        (f"{{size: 8, length: 15.9, {AT}}}", "warn", "hold 7.9 mm in the plate; 8 mm", True),
        ("{size: 8, at: [[126, 0]]}", "warn", "one dowel pin lets it turn", True),
    ],
)
def test_dowels_that_do_not_hold_are_told(words: str, level: str, said: str, mended: bool) -> None:
    layout = pinned(words)
    (finding,) = [one for one in found(layout) if "dowel pin" in one.message]
    assert finding.level == level
    assert said in finding.message
    edits = [one for one in (finding.advice, *finding.others) if one.remedies]
    assert bool(edits) is mended
    for advice in edits:
        text = layout.spec.text
        for remedy in advice.remedies:
            text = with_value(text, remedy.field, remedy.value)
        after = found(platekit.lay_out(platekit.loads(text, "stack.yaml")))
        assert not [one for one in after if "dowel" in one.message], advice.text


def test_a_dowel_wants_its_edge_and_its_web_in_plate_and_layer() -> None:
    edge = pinned(
        "{size: 8, at: [[-155, 0], [126, 0]]}",
        ("thickness: 12,", "thickness: 12, outline: {rectangle: {width: 324, height: 304}},"),
    )
    # 162 less 155 is 7 mm to its middle, and 1.5 diameters are 12
    told = [one for one in platekit.check(edge).findings if one.rule == "edge"]
    assert [(one.found, one.needed) for one in told] == [(pytest.approx(7), pytest.approx(12))]
    web = pinned("{size: 8, at: [[-126, 0], [118, 63]]}")
    assert [one for one in found(web) if "the web between" in one.message]


@pytest.mark.parametrize(
    ("old", "new", "rule", "said"),
    [
        ("    on: ring\n", "    on: ring\n    standoff: 20\n", "clash", "spigot"),
        (
            "    on: ring\n",
            "    on: ring\n    standoff: 20\n    spacers: {from: tube, outside: 20, bore: 14}\n",
            "clash",
            "spigot",
        ),
        ("[[-126, 0], [126, 0]]", "[[-126, 0]]", "layer", "one dowel pin"),
        ("[[-126, 0], [126, 0]]", "[[-113, 0], [113, 0]]", "layer", "the web between ring.dowel"),
        ("      thickness: 8\n", "      thickness: 6.35\n", "grip", "the thread is"),
        (
            "      thickness: 8\n",
            "      thickness: 8\n      outline: {circle: {diameter: 240}}\n",
            "layer",
            "outside of the plate",
        ),
    ],
)
def test_each_advice_on_a_layer_ends_its_finding(old: str, new: str, rule: str, said: str) -> None:
    from platekit.studies.advised import judge

    text = (Path(__file__).parents[2] / "specs" / "bean-drum.yaml").read_text("utf-8")
    assert old in text
    text = text.replace(old, new)

    def about(text: str) -> list[Finding]:
        layout = platekit.lay_out(platekit.loads(text, "drum.yaml"))
        return [one for one in judge(layout).findings if one.rule == rule and said in one.message]

    found = about(text)[0]
    assert found.advice.tried
    assert found.advice.remedies
    for remedy in found.advice.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not about(text)


@pytest.mark.parametrize(("pins", "near"), [("[[-126, 0], [126, 0]]", False), ("[[-126, 0], [-126, 20]]", True)])
def test_dowels_beside_each_other_let_a_layer_turn(pins: str, near: bool) -> None:
    text = (
        (Path(platekit.__file__).parents[1] / "specs" / "bean-drum.yaml")
        .read_text("utf-8")
        .replace("[[-126, 0], [126, 0]]", pins)
    )
    with without("strength"):
        found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [one.level for one in found if one.rule == "layer"] == ["warn"] * near
    for one in found:
        if one.rule == "layer":
            (remedy,) = one.advice.remedies
            again = platekit.check(platekit.lay_out(platekit.loads(with_value(text, remedy.field, remedy.value), "p")))
            assert not [other for other in again.findings if other.rule == "layer"]
