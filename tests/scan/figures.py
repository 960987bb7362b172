"""The figures of docs/scan.md, by hand: `python -m tests.scan.figures`; five faces of five holes, or ten, a row."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from platekit.scan.holes import blind_holes, hole_near, why_not
from platekit.scan.located import frame_in
from platekit.scan.opencv import PictureError
from platekit.scan.pictures import Picture
from tests.scan.made import Made, Scene, flatbed, photo, scene

Take = Callable[[np.random.Generator, Scene], Made]
ROWS: dict[str, tuple[Take, int]] = {
    "scan, 300 dots an inch": (lambda rng, of: flatbed(rng, of, dpi=300.0), 5),
    "scan, 200 dots an inch": (lambda rng, of: flatbed(rng, of, dpi=200.0), 5),
    "photo, 12 million pixels, 20 degrees": (lambda rng, of: photo(rng, of, pixels=(3000, 4000)), 5),
    "photo, 3 million pixels, 20 degrees": (photo, 5),
    "28 degrees, blur 1.2, noise 6": (lambda rng, of: photo(rng, of, tilt=28.0, blur=1.2, sd=6.0, jpeg=80), 10),
    "28 degrees, blur 1.5, noise 9": (lambda rng, of: photo(rng, of, tilt=28.0, blur=1.5, sd=9.0, jpeg=80), 10),
    "28 degrees, blur 1.8, noise 12": (lambda rng, of: photo(rng, of, tilt=28.0, blur=1.8, sd=12.0, jpeg=75), 10),
}
"""How each picture is taken, and of how many faces."""


def rms(off: list[float]) -> float:
    return math.sqrt(sum(one**2 for one in off) / len(off)) if off else math.nan


def row(take: Take, count: int) -> str:
    """What a row comes to: places and diameters found blind and by a click 1.8 mm off, mm; what was lost."""
    blind, clicked, wide = [], [], []
    holes = false = refused = 0
    for seed in range(900, 900 + count):
        rng = np.random.default_rng(seed)
        of = scene(rng)
        picture = Picture("made", take(rng, of).grey)
        try:
            frame = frame_in(picture)
        except PictureError:
            refused += 1
            continue
        found = blind_holes(picture, frame)
        holes += len(of.holes)
        for x, y, size in of.holes:
            near = [one for one in found if math.dist(one.at, (x, y)) < 2.0]
            blind += [math.dist(one.at, (x, y)) for one in near]
            circle = hole_near(picture, frame, (x + 1.5, y - 1.0))
            if circle is not None and not why_not(circle) and math.dist(circle.at, (x, y)) < 1.0:
                clicked.append(math.dist(circle.at, (x, y)))
                wide.append(circle.diameter - size)
        false += sum(all(math.dist(one.at, hole[:2]) > 2.0 for hole in of.holes) for one in found)
    size_off = np.mean(wide) if wide else math.nan
    return (
        f"{holes} holes; blind {rms(blind):.4f} mm rms, {holes - len(blind)} lost, {false} false; by click "
        f"{rms(clicked):.4f} mm rms, {holes - len(clicked)} lost; diameter {size_off:+.3f} mm; "
        f"{refused} pictures refused"
    )


if __name__ == "__main__":
    for name, (take, count) in ROWS.items():
        print(f"{name}: {row(take, count)}", flush=True)
