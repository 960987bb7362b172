"""Writes oat-roller-motor.step, the invented motor of oat-roller.yaml: `python specs/models/motor_model.py FILE`.

Needs the extra `solid`. Sizes in mm; the mounting face lies at z = 0, the shaft points to +z.
"""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq

HOLES = [(42.5 * math.cos(k * math.pi / 2), 42.5 * math.sin(k * math.pi / 2)) for k in range(4)]
"""Four tapped holes on a circle of 85, as the model's own axes have them: a quarter turn off those of the standard."""


def motor() -> cq.Workplane:
    """Flange with pilot and shaft, a round frame, a terminal box to one side, and a fan cover that is wider behind."""
    import cadquery as cq

    made = (
        cq.Workplane("XY").circle(52.5).extrude(-12).cut(cq.Workplane("XY").pushPoints(HOLES).circle(2.5).extrude(-12))
    )
    made = made.union(cq.Workplane("XY").circle(35).extrude(2.5))
    made = made.union(cq.Workplane("XY").circle(7).extrude(30))
    made = made.union(cq.Workplane("XY").workplane(offset=-12).circle(60).extrude(-150))
    made = made.union(cq.Workplane("XY").workplane(offset=-162).circle(60).workplane(offset=-40).circle(66).loft())
    return made.union(cq.Workplane("XY").box(70, 50, 80).translate((0, 72, -75)))


def write(path: Path) -> None:
    """The model as a STEP file without date and without curves that no reader needs, some 50 kB."""
    import cadquery as cq
    from OCP.Interface import Interface_Static

    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    cq.exporters.export(motor(), str(path))
    text = path.read_text("ascii")
    head = (
        "HEADER;\nFILE_DESCRIPTION(('an invented motor'),'2;1');\n"
        f"FILE_NAME('{path.name}','2000-01-01T00:00:00',(''),(''),'','','');\n"
    )
    text = re.sub(r"HEADER;.*?(?=FILE_SCHEMA)", head, text, flags=re.DOTALL)
    # the writer's own name for what it was given no name for
    text = re.sub(r"PRODUCT\('[^']*',\s*'[^']*'", "PRODUCT('oat roller motor','oat roller motor'", text)
    path.write_text(text, "ascii", newline="\n")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
