"""`python -m platekit` is the command `platekit`."""

from __future__ import annotations

from platekit.cli import main

main()
