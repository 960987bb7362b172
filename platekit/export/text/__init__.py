"""Words and columns for a terminal."""
