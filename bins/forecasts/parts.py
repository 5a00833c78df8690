"""What goes into a lot, as parts that the physical model can feed."""

from bins.process.materials import BROWNS_BY_CODE, KITCHEN_SCRAPS
from bins.process.model.border import Part


def scraps_part(grams: float, millilitres: float) -> Part:
    return Part(KITCHEN_SCRAPS.code, max(grams, 0) / 1000, max(millilitres, 0) / 1000)


def browns_part(kind: str, millilitres: float) -> Part:
    litres = max(millilitres, 0) / 1000
    return Part(kind, litres * (BROWNS_BY_CODE[kind].kg_per_litre or 1), litres)
