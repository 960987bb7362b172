"""Limits and usual values of belt drives, each with its unit, reason and source.

The checks on `belt-speed`, `wrap`, `small-pulley`, `overhung-load`, `take-up`, `align`, `speed-limit`,
`slow-cooling` and `torque-short` take their bounds from here; what differs from section to section is
in `platekit.tables.belts`.
"""

from __future__ import annotations

from math import radians
from typing import Final

LEAST_BELT_SPEED_M_S: Final = 5.0
"""A slower V-belt carries its power only with a pull that is hard on shafts, in m/s. Common practice."""

LEAST_WRAP: Final = radians(120)
"""Wrap on the small pulley below which a V or ribbed belt needs much more tension, in radians.

Common practice.
"""

LEAST_TEETH_IN_MESH: Final = 6
"""Teeth that must hold the belt for its full rating; each one less costs a fifth. Published: ISO 5295."""

SMALL_PULLEY_ROOM: Final = 0.005
"""A pulley this share under the listed smallest one still counts as it, for rounded inch sizes.

Common practice.
"""

ASK_THE_MAKER_ABOVE_HZ: Final = 90.0
"""Frequency above which a motor without a marked top speed is not run unasked, in Hz. Common practice."""

SLOW_COOLING_HZ: Final = 15.0
"""Frequency below which the fan on the shaft cools too little for full torque, in Hz.

Common practice (12 to 15).
"""

CONSTANT_POWER_TO: Final = 1.5
"""Constant power lasts up to this multiple of the base frequency, then torque falls with 1/f^2.

Common practice.
"""

TORQUE_MARGIN: Final = 1.0
"""Torque there must be for each newton metre wanted.

The service factor comes on top in the belt. Definition.
"""

SERVICE_FACTOR: Final = 1.2
"""Design power over motor power for a machine that runs smoothly in one shift.

Published: Shigley, Mechanical Engineering Design, table 17-15 (1.0 to 1.2 for uniform load, up to 1.8
for heavy shock).
"""

SAG_PER_SPAN: Final = 1 / 64
"""Deflection at mid span for checking the tension, as a share of the span.

Common practice (RMA), 1/64 in an inch.
"""

NEW_BELT_EXTRA: Final = 1.4
"""A new belt is set this much tighter and settles within hours. Common practice (1.3 to 1.5)."""

LARGEST_RATIO: Final = 10.0
"""Speed ratio beyond which no single belt is used.

Common practice (V-belts 7 to 8, ribbed and toothed up to 10).
"""

SPEED_TOLERANCE: Final = 0.02
"""How far a wanted speed may be missed before it counts as not reached, as a share.

Common practice: belts creep 1 to 2 %.
"""
