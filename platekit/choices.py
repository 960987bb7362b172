"""The words that a spec and a command both offer.

They have a home of their own because a command lists them in its help, and has to start before anything else is loaded.
"""

from __future__ import annotations

from typing import Literal

Unit = Literal["mm", "in"]
"""Units of length."""
Side = Literal["near", "far"]
"""The two sides of the plate."""
Process = Literal["plasma", "laser", "waterjet", "oxy-fuel", "router", "drill"]
"""The ways of cutting a plate."""
OldPattern = Literal["circle", "rectangle", "points", "measured"]
"""How the holes of the old machine lie in a new spec."""
MarkKind = Literal["cross", "point", "circle"]
"""How the centre of a hole that is not cut is marked."""
Form = Literal["r2000", "r12", "plain"]
"""The forms of the cut file, for cutting software of different ages."""
DrivenMachine = Literal[
    "stirrer",
    "small fan",
    "exhauster",
    "centrifugal pump",
    "rotary compressor",
    "light conveyor",
    "heavy conveyor",
    "large fan",
    "generator",
    "line shaft",
    "laundry machine",
    "press",
    "printing machine",
    "displacement pump",
    "sieve",
    "clay mixer",
    "bucket elevator",
    "piston compressor",
    "mill",
    "woodworking machine",
    "textile machine",
    "crusher",
    "crane",
]
"""The machines whose service factor is printed."""
Merit = Literal["balance", "area", "belt", "clearance", "reach"]
"""What the places that are found are ranked by."""
PictureFrame = Literal["a4", "letter", "a3"]
"""The sizes of the frame that is laid round a part for its picture."""
PictureKind = Literal["photo", "scan"]
"""How a picture of a part was taken."""
HoleSearch = Literal["pattern", "clicks", "blind"]
"""How holes are looked for in a picture: where the pattern has them, only where it is said, or all over."""
LookedAt = Literal["face", "back"]
"""Which way a part was looked at."""
