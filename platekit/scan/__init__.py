"""Holes off a picture: a printed frame says where on the part every pixel is, edges say where the holes are.

    frame       a printed page with a window for the part; its marks lie in the plane of the holes' edges
    code        a black disc in a corner of the frame, whose 18 sectors say which frame, which corner, which face
    crossing    two black quarters of a disc that touch in a point: perspective and blur do not move that point
    found       a frame found in a picture: from mm of the frame to pixels, with what lens and carriage did undone
    ray         a line from the middle of a hole outwards, along which its edge is looked for
    proposal    what a picture says and nobody is to trust alone: diameters are proposals, places are readings

Frame coordinates are mm, x right and y up, as the page is read; (0, 0) is the lower left end of its bars. Pixels are
counted from the middle of the upper left one, x right and y down. OpenCV comes with the extra `scan` and is met in this
room alone, inside its functions.
"""

from __future__ import annotations
