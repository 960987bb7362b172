"""Sizes of couplings that a spec leaves to the table of those that are sold."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from platekit.errors import SpecError
from platekit.laying.located import located
from platekit.spec import Spec
from platekit.spec.coupling_words import CouplingWords
from platekit.tables.couplings import stock_coupling


def with_couplings(spec: Spec) -> Spec:
    """The spec with what each coupling that names a `stock` size does not say itself (mm, rad, Nm, rpm).

    Raises `SpecError` for a size that no table has, and for a gap as long as the coupling.
    """
    if not any(words.stock for words in spec.model.couplings.values()):
        return spec
    couplings = {name: _filled(spec, words, f"couplings.{name}") for name, words in spec.model.couplings.items()}
    return replace(spec, model=spec.model.model_copy(update={"couplings": couplings}))


def _filled(spec: Spec, words: CouplingWords, field: str) -> CouplingWords:
    if words.stock is None:
        return words
    name = words.stock
    found = located(spec, f"{field}.stock", lambda: stock_coupling(name))
    listed: dict[str, Any] = {
        "diameter": found.diameter,
        "length": found.length,
        "gap": found.gap,
        "largest_bore": found.bore,
        "torque": found.torque,
        "max_speed": found.speed_rpm,
        "offset": found.offset,
        "angle": found.angle,
    }
    update = {key: value for key, value in listed.items() if getattr(words, key) is None and value is not None}
    filled = words.model_copy(update=update)
    assert filled.gap is not None
    assert filled.length is not None
    if filled.gap[1] >= filled.length:
        wanted = "`length` is over both hubs, `gap` between the shaft ends"
        raise SpecError((spec.problem(field, "a gap as long as the coupling", wanted),))
    return filled
