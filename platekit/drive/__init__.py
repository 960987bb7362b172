"""Belts, pulleys, speeds and torque: from the wanted speed to the place of the motor shaft.

`work_out` takes a `DriveRequest` and gives a `DriveResult`; `centre_distance` and its like are cheap
enough for every check.
"""

from __future__ import annotations

from platekit.drive.open_belt import belt_length, centre_distance, span_length, wrap_angle
from platekit.drive.request import Belt, DriveRequest, DriveTarget, Motor, Pulley, Range
from platekit.drive.result import DriveResult, Forces, Reach, Rims, WorkingPoint
from platekit.drive.take_up import SlotTravel, Travel, along_slot, travel
from platekit.drive.working import work_out

__all__ = [
    "Belt",
    "DriveRequest",
    "DriveResult",
    "DriveTarget",
    "Forces",
    "Motor",
    "Pulley",
    "Range",
    "Reach",
    "Rims",
    "SlotTravel",
    "Travel",
    "WorkingPoint",
    "along_slot",
    "belt_length",
    "centre_distance",
    "span_length",
    "travel",
    "work_out",
    "wrap_angle",
]
