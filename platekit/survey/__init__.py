"""Caliper readings to hole positions, with what each is worth: see `net` for the words, `solve` for the story."""
