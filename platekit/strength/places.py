"""A place in space, which the modules of this room share without needing numpy for it."""

Place3 = tuple[float, float, float]
"""x, y, z in mm; z over the plate's middle plane."""
