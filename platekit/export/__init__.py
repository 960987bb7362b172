"""The outputs, one file a format; each writes its file whole or not at all."""

from __future__ import annotations
