"""One coupling in words: what it joins, how its shafts lie to each other, and what it carries, line by line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.export.text.belt import bore_and_key
from platekit.placed import Layout, PlacedCoupling
from platekit.units import show_length, show_torque


def coupling_rows(layout: Layout, one: PlacedCoupling) -> Iterator[tuple[str, str]]:
    """What there is to say about one coupling, each with its name."""
    unit = layout.spec.unit
    size = f"{show_length(one.diameter, unit)} over all, {show_length(one.length, unit)} over its hubs"
    yield "joins", f"{one.driving.said} and {one.driven.said}, end to end, at the same speed; {size}"
    if one.stock is not None:
        name, source = one.stock
        yield (
            "size",
            f"{name}: {source.name} ({source.kind}); makers differ, hold the one that is bought against these figures",
        )
    bores = [f"on {shaft.said}{bore_and_key(layout, shaft.mount)}" for shaft in one.shafts]
    bores = [words for words in bores if ", bore" in words]
    if bores:
        yield "bores", "; ".join(bores)
    low, high = one.gap
    wanted = show_length(low, unit) if low == high else f"{show_length(low, unit)} to {show_length(high, unit)}"
    ends = (
        f"{show_length(one.apart, unit)} apart" if one.apart >= 0 else f"overlapping by {show_length(-one.apart, unit)}"
    )
    yield "shaft ends", f"{ends}; its maker wants {wanted}"
    bears = " and ".join(
        [
            "an offset that is not given" if one.offset is None else show_length(one.offset, unit),
            "an angle that is not given" if one.angle is None else f"{math.degrees(one.angle):.2f} degrees",
        ]
    )
    yield (
        "out of line",
        f"{show_length(math.hypot(*one.beside), unit)} and {math.degrees(one.askew):.2f} degrees as drawn; it bears "
        f"{bears}. To be set on the machine, with shims under feet and by the play of holes",
    )
    if one.torque_nm is not None:
        rated = "" if one.rated_nm is None else f"; it is rated for {show_torque(one.rated_nm, unit, '.3g')}"
        factor = "" if one.service_factor is None else f" times a service factor of {one.service_factor:g}"
        yield "torque", f"{show_torque(one.torque_nm, unit, '.3g')} of the motor{factor}{rated}"
    if one.speed_rpm is not None:
        top = "" if one.max_rpm is None else f"; it may turn at {one.max_rpm:.0f} rpm"
        yield "speed", f"up to {one.speed_rpm:.0f} rpm on both sides{top}"
    yield "guard", "none is told of: it turns bare" if one.guarded is None else f"{one.guarded}; told, not checked"
