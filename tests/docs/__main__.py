"""Writes the references under docs/."""

from . import write

write()
