"""Belts and pulleys that can be bought: sections, stock lengths, trade sizes, grooves, allowances.

A *length* of a belt always says where it is measured: `pitch` (along the cords; ISO calls it datum
length for V-belts), `effective` (at the pulley's effective diameter), `outside` or `inside` (round the
belt's top or bottom). A *diameter* of a pulley likewise: `pitch`, `effective`, `outside`. Everything is
in mm; only the file asked for is read, once. Every value carries its `Source`.
"""

from __future__ import annotations

from platekit.tables.belts.lengths import (
    BeltSize,
    LengthTolerance,
    belt_size,
    length_tolerance,
    nearest_stock,
    pitch_length,
    stated_length,
    stock,
    trade_size,
)
from platekit.tables.belts.pulleys import (
    DiameterKind,
    Groove,
    MotorPulley,
    RimLimit,
    SmallestPulley,
    StockPulley,
    groove,
    pitch_diameter,
    rim_limit,
    smallest_motor_pulley,
    smallest_printings,
    smallest_pulley,
    stated_diameter,
    stock_pulleys,
)
from platekit.tables.belts.ratings import (
    FamilyFigures,
    Grip,
    SpeedLimit,
    ToothedRating,
    UsualPull,
    VRating,
    belt_speed_limit,
    family_figures,
    grip,
    toothed_rating,
    usual_pull,
    v_length_factor,
    v_rating,
)
from platekit.tables.belts.sections import Family, LengthKind, Mass, Section, mass, section, section_names
from platekit.tables.belts.travel import Allowance, allowance

__all__ = [
    "Allowance",
    "BeltSize",
    "DiameterKind",
    "Family",
    "FamilyFigures",
    "Grip",
    "Groove",
    "LengthKind",
    "LengthTolerance",
    "Mass",
    "MotorPulley",
    "RimLimit",
    "Section",
    "SmallestPulley",
    "SpeedLimit",
    "StockPulley",
    "ToothedRating",
    "UsualPull",
    "VRating",
    "allowance",
    "belt_size",
    "belt_speed_limit",
    "family_figures",
    "grip",
    "groove",
    "length_tolerance",
    "mass",
    "nearest_stock",
    "pitch_diameter",
    "pitch_length",
    "rim_limit",
    "section",
    "section_names",
    "smallest_motor_pulley",
    "smallest_printings",
    "smallest_pulley",
    "stated_diameter",
    "stated_length",
    "stock",
    "stock_pulleys",
    "toothed_rating",
    "trade_size",
    "usual_pull",
    "v_length_factor",
    "v_rating",
]
