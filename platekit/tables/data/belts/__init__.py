"""The tables of belts and pulleys, so that an installed platekit has them too."""
