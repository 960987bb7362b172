"""Materials by the names that a shop calls them, and sheet gauges, which differ from metal to metal."""

from __future__ import annotations

from msgspec.structs import replace

from platekit.errors import LookupFailed
from platekit.tables.naming import key, listed, nearest
from platekit.tables.rows import Row, built_in, kept, read
from platekit.tables.values import Material, Source

_MATERIALS = "material.csv"
_GAUGES = "sheet_gauge.csv"
_THICK = "yield_by_thickness.csv"
_METALS = {"galvanized": "galvanised", "aluminum": "aluminium"}


@kept(256)
def material(name: str) -> Material:
    """The material of a name or one of its other names: `mild steel`, `1.4301`, `6082`, `aluminum`.

    Density in kg/m3, modulus and yield strength in N/mm2; the source is its row's.
    Raises LookupFailed with the nearest names for one that the table does not hold.
    """
    # Compared as people write it: 6082-T6 and 6082 T6 are one name.
    wanted = key(name)
    for row in read(_MATERIALS):
        if wanted in (key(row.text("name")), *map(key, row.words("aliases"))):
            return Material(
                name=row.text("name"),
                density=row.number("density_kg_m3"),
                modulus=row.number("modulus_n_mm2"),
                yield_strength=row.number("yield_n_mm2"),
                poisson=row.number("poisson"),
                aliases=row.words("aliases"),
                source=row.source,
                family=row.text("family"),
            )
    close = nearest(name, material_names())
    raise LookupFailed(f"no material is called {name!r}", close, wanted=f"the nearest are {listed(close, 'and')}")


@kept(256)
def as_thick(found: Material, thickness: float) -> Material:
    """The same material with the yield strength (N/mm2) of plate so thick (mm), where its standard prints it.

    What a shop has in a table of its own, or the spec gives, stays as it is.

    >>> as_thick(material("mild steel"), 20).yield_strength, as_thick(material("mild steel"), 16).yield_strength
    (225.0, 235.0)
    """
    served = [row for row in read(_THICK) if row.text("name") == found.name and row.need("over") < thickness]
    ours = next((row.source for row in built_in(_MATERIALS) if row.text("name") == found.name), None)
    if not served or found.source != ours:
        return found
    thick = served[-1]
    said = f"{found.source.name}; over {thick.text('over_mm')} mm thick: {thick.source.name}"
    return replace(found, yield_strength=thick.number("yield_n_mm2"), source=replace(found.source, name=said))


def material_names() -> tuple[str, ...]:
    """The names of all materials and their other names."""
    return tuple(name for row in read(_MATERIALS) for name in (row.text("name"), *row.words("aliases")))


def materials() -> tuple[str, ...]:
    """The names of all materials."""
    return tuple(row.text("name") for row in read(_MATERIALS))


def gauge(number: int, metal: str) -> float:
    """Thickness in mm of a sheet gauge: `metal` is steel, galvanised, stainless or aluminium.

    The same number is a different thickness in each metal, so the metal must be said. Raises LookupFailed for
    an unknown metal and for a number that its table does not hold.

    >>> round(gauge(16, "steel"), 3), round(gauge(16, "aluminium"), 3)
    (1.519, 1.29)
    """
    return _gauge_row(number, metal).need("thickness")


def gauge_source(number: int, metal: str) -> Source:
    """Where the thickness of a gauge number comes from."""
    return _gauge_row(number, metal).source


def _gauge_row(number: int, metal: str) -> Row:
    rows = read(_GAUGES)
    metals = tuple(dict.fromkeys(row.text("metal") for row in rows))
    said = metal.strip().lower()
    wanted = _METALS.get(said, said)
    if wanted not in metals:
        raise LookupFailed(f"no gauge numbers for {metal!r}", metals, wanted=f"say {listed(metals)}")
    # A gauge number alone tells no thickness: 16 is 1.52 mm of steel and 1.29 mm of aluminium.
    numbers = [row for row in rows if row.text("metal") == wanted]
    for row in numbers:
        if row.count("number") == number:
            return row
    first, last = numbers[0].text("number"), numbers[-1].text("number")
    raise LookupFailed(f"no {wanted} gauge {number}", wanted=f"the table goes from {first} to {last}")
