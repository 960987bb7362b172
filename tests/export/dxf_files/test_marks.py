"""Marks of holes that are not cut: a cross, a point or a small circle, each proved in every file that has them."""

from __future__ import annotations

import io

import ezdxf
import pytest
from ezdxf.document import Drawing

from platekit.checks import check
from platekit.choices import MarkKind
from platekit.cutting.nest import nest
from platekit.export.dxf_files.copies import copies_dxf_bytes, copies_kerf_bytes
from platekit.export.dxf_files.cut import FORMS, dxf_bytes
from platekit.export.dxf_files.kerf import cuttable_paths, kerf_bytes, shift_of
from platekit.export.dxf_files.kerf_proof import kerf_faults
from platekit.export.dxf_files.proof import faults
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Marked
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 160, height: 90, corner: 8}}}
mounts: {frame: {side: far, looking_at: face, pattern: {points: [[-50, -20], [50, -20], [40, 22]], hole: 9}}}
cutting: {process: plasma, kerf: 1.5, sheet: [800, 400], copies: 2, scribe: [revision], mark: KIND}
"""
KINDS = {"cross": "LINE", "point": "POINT", "circle": "CIRCLE"}


def plate(kind: str) -> Layout:
    return lay_out(loads(SPEC.replace("KIND", kind), "marked"))


def opened(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("ascii"), newline=None))


def again(document: Drawing) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("ascii")


@pytest.mark.parametrize("kind", KINDS)
def test_every_file_has_the_marks_in_their_kind_and_passes_its_proof(kind: MarkKind) -> None:
    layout = plate(kind)
    copies = nest(layout)
    assert copies is not None
    each = 2 if kind == "cross" else 1
    bare = dxf_bytes(lay_out(loads(SPEC.replace("KIND", kind).replace("[revision]", "[]"), "marked")))
    marks = [entity for entity in opened(bare).modelspace() if entity.dxf.layer == "MARK"]
    assert [mark.dxftype() for mark in marks] == [KINDS[kind]] * 3 * each
    for form in FORMS:
        dxf_bytes(layout, form, "in")
        copies_dxf_bytes(layout, copies, form)
    kerf_bytes(layout)
    copies_kerf_bytes(layout, copies)
    assert not [finding for finding in check(layout).findings if finding.rule == "cut-file"]


@pytest.mark.parametrize("kind", ["point", "circle"])
def test_a_mark_gone_astray_is_found(kind: MarkKind) -> None:
    layout = plate(kind)
    shift = shift_of(cuttable_paths(layout))

    def wrong_with(data: bytes, kerf: bool) -> list[str]:
        return kerf_faults(data, layout, "mm", shift) if kerf else faults(data, layout, "r2000", "mm")

    for kerf, data in ((False, dxf_bytes(layout)), (True, kerf_bytes(layout))):
        for spoil in ("move", "drop", "more"):
            document = opened(data)
            space = document.modelspace()
            mark = next(entity for entity in space if entity.dxftype() == KINDS[kind])
            if spoil == "move":
                mark.translate(0.01, 0, 0)
            elif spoil == "drop":
                space.delete_entity(mark)
            else:
                space.add_point((50, 50), dxfattribs={"layer": mark.dxf.layer})
            assert wrong_with(again(document), kerf), (kind, spoil)
        assert not wrong_with(data, kerf)


def test_crosses_are_what_is_marked_when_nothing_is_said() -> None:
    said, left = plate("cross"), lay_out(loads(SPEC.replace(", mark: KIND", ""), "marked"))
    assert dxf_bytes(said) == dxf_bytes(left)
    assert said.spec.revision == left.spec.revision != plate("point").spec.revision
