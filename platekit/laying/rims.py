"""Rims of stock pulleys: the width that a spec leaves to the table of grooves."""

from __future__ import annotations

from typing import TypeVar

from msgspec.structs import replace

from platekit import drive
from platekit.errors import SpecError
from platekit.laying.located import located
from platekit.laying.runs import pulley_of
from platekit.spec import Spec
from platekit.spec.drive_words import BeltWords, PulleyWords, SeatWords, Stage
from platekit.tables import belts

S = TypeVar("S", bound=Stage)


def with_rims(spec: Spec) -> Spec:
    """The spec with each rim's width that is `auto` taken from the table of grooves; its text stays the user's.

    Raises `SpecError` for a belt whose rims no table lists, and for an idler, which is no stock pulley.
    """
    words = spec.model.drive
    if words is None:
        return spec
    whole = _stage(spec, words, "drive")
    if whole.second is not None:
        whole = whole.model_copy(update={"second": _stage(spec, whole.second, "drive.second")})
    return replace(spec, model=spec.model.model_copy(update={"drive": whole}))


def _stage(spec: Spec, stage: S, field: str) -> S:
    update: dict[str, PulleyWords] = {}
    for end, pulley in (("driver", stage.driver), ("driven", stage.driven)):
        if isinstance(pulley.span, SeatWords) and pulley.span.width == "auto":
            width = _width(spec, stage.belt, pulley, f"{field}.{end}")
            update[end] = pulley.model_copy(update={"span": pulley.span.model_copy(update={"width": width})})
    for index, idler in enumerate(stage.idlers):
        # Stock rims are made for grooves, and an idler may be flat.
        if isinstance(idler.span, SeatWords) and idler.span.width == "auto":
            at = f"{field}.idlers.{index}.span.width"
            raise SpecError((spec.problem(at, "auto", "measure the idler's rim: no table of stock pulleys lists one"),))
    return stage.model_copy(update=update) if update else stage


def _width(spec: Spec, belt: BeltWords, pulley: PulleyWords, field: str) -> float:
    at = f"{field}.span.width"
    section, ribs = belt.section, belt.ribs or 0
    if belt.size is not None:
        size = belt.size
        made = located(spec, at, lambda: drive.Belt.of_trade_size(size, belt.count))
        section, ribs = made.section, belt.ribs or made.ribs
    assert section is not None
    pitch = located(spec, field, lambda: pulley_of(pulley).pitch(section))
    if belts.section(section).family == "ribbed" and not ribs:
        raise SpecError((spec.problem(at, "auto", "say how many ribs the belt has (belt: ribs)"),))
    return located(spec, at, lambda: belts.stock_rim(section, pitch, ribs or belt.count))[0]
