"""The letters that our fonts can draw: a tagged PDF with any other is refused as a whole, and houses have any name."""

import struct
from functools import cache
from pathlib import Path
from typing import Any, Final

FONTS: Final = Path(__file__).parent / "fonts"
INSTEAD: Final = "\ufffd"  # the sign for a letter that cannot be shown
FORBIDDEN: Final = frozenset({0, 0xFEFF, 0xFFFE})


def drawable(value: Any) -> Any:
    """Data of a document with that sign for each letter that cannot be drawn."""
    if isinstance(value, str):
        known = letters()
        return "".join(one if one in " \t\n" or ord(one) in known else INSTEAD for one in value)
    if isinstance(value, dict):
        return {name: drawable(inner) for name, inner in value.items()}
    return [drawable(inner) for inner in value] if isinstance(value, list | tuple) else value


@cache
def letters() -> frozenset[int]:
    """Code points that one of our fonts has a picture for, and a tagged PDF may hold (PDF/UA-1, 7.21.7)."""
    found = frozenset(point for font in sorted(FONTS.glob("*.ttf")) for point in points(font.read_bytes()))
    return found - FORBIDDEN


def points(font: bytes) -> set[int]:
    """Code points of a TrueType font, by its `cmap` table in format 4, which ours all have (OpenType 1.9).

    ValueError for a font whose table has another format.
    """
    (count,) = struct.unpack_from(">H", font, 4)
    tables = {tag: place for tag, _sum, place, _size in struct.iter_unpack(">4sIII", font[12 : 12 + 16 * count])}
    cmap = tables[b"cmap"]
    (offset,) = struct.unpack_from(">I", font, cmap + 8)
    at = cmap + offset
    (form,) = struct.unpack_from(">H", font, at)
    if form != 4:
        raise ValueError(f"a table of letters in format {form}")
    (size,) = struct.unpack_from(">H", font, at + 6)  # of each of the four lists, in bytes
    ends, starts, steps, offsets = (
        struct.unpack_from(f">{size // 2}H", font, place)
        for place in (at + 14, at + 16 + size, at + 16 + 2 * size, at + 16 + 3 * size)
    )
    found = set()
    for number, (first, last, step, offset) in enumerate(zip(starts, ends, steps, offsets, strict=True)):
        for point in range(first, min(last, 0xFFFE) + 1):
            glyph = (point + step) & 0xFFFF
            if offset:
                (glyph,) = struct.unpack_from(">H", font, at + 16 + 3 * size + 2 * (number + point - first) + offset)
            if glyph:
                found.add(point)
    return found
