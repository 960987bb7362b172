"""Entities of a drawing, as what they are."""

from __future__ import annotations

from collections.abc import Iterable

from ezdxf.entities import DXFEntity, LWPolyline


def polylines(entities: Iterable[DXFEntity]) -> list[LWPolyline]:
    """The polylines among them."""
    return [entity for entity in entities if isinstance(entity, LWPolyline)]
