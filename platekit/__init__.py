"""platekit: one plate that carries an old bolt pattern and a new one, from readings to a file that can be cut."""

from __future__ import annotations

__version__ = "0.1.0"
