"""Makes quantiles.py, the table of draws. Run once, by whoever changes it (then raise state.VERSION):

python -c "from bins.process.model.make_quantiles import source; print(source(), end='')" > new.py

A rank-one lattice of Korobov: point i has (i a^j mod n + 1/2) / n in column j, so each column holds the n strata of
its range once. `a` is the multiplier whose columns correlate least, pair by pair, also in squares and in halves. No
random number.
"""

from statistics import NormalDist

SCALE = 8192  # quantiles are kept as sixteen-bit integers, so that no library's rounding shows
LINE = 112


def lattice(points: int, columns: int, multiplier: int) -> list[list[int]]:
    """Strata 0 to points - 1, one row a point. `multiplier` is odd, `points` a power of two: each column is a
    permutation.

    Rows are shifted by a half in every second column, so that the first point isn't the lowest corner of all.
    """
    steps = [pow(multiplier, column, points) for column in range(columns)]
    shifts = [points // 2 * (column % 2) + 7 * column for column in range(columns)]
    return [[(row * s + shift) % points for s, shift in zip(steps, shifts, strict=True)] for row in range(points)]


def quantiles(points: int, columns: int, multiplier: int) -> list[list[int]]:
    """The same as standard normal quantiles times SCALE."""
    normal = NormalDist()
    of_stratum = [round(SCALE * normal.inv_cdf((at + 0.5) / points)) for at in range(points)]
    return [[of_stratum[at] for at in row] for row in lattice(points, columns, multiplier)]


def badness(points: int, columns: int, multiplier: int) -> float:
    """The largest correlation of two columns, of their sizes, or of one with another's size."""
    table = quantiles(points, columns, multiplier)
    plain = [[row[c] / SCALE for row in table] for c in range(columns)]
    sizes = [_centred([abs(v) for v in column]) for column in plain]
    plain = [_centred(column) for column in plain]
    worst = 0.0
    for one in range(columns):
        for other in range(one):
            for a, b in ((plain, plain), (sizes, sizes), (plain, sizes), (sizes, plain)):
                worst = max(worst, abs(sum(x * y for x, y in zip(a[one], b[other], strict=True))))
    return worst


def best_multiplier(points: int, columns: int) -> int:
    """The odd multiplier with the least badness; the smallest of equals."""
    return min(range(3, points, 2), key=lambda a: (round(badness(points, columns, a), 9), a))


def hexed(table: list[list[int]]) -> str:
    """Rows one after the other, four hexadecimal digits a number (two's complement)."""
    return "".join(f"{value & 0xFFFF:04x}" for row in table for value in row)


def source(shapes: tuple[tuple[str, int, int, int], ...] = ()) -> str:
    """The text of quantiles.py. `shapes`: name, points, columns, multiplier."""
    title = "Standard normal quantiles times 8192, sixteen bits each, in hex: made by make_quantiles.py, not by hand."
    lines = [f'"""{title}"""', ""]
    for name, points, columns, multiplier in shapes or SHAPES:
        text = hexed(quantiles(points, columns, multiplier))
        lines += [f"{name}_COLUMNS = {columns}  # {points} points, multiplier {multiplier}", f"{name} = ("]
        lines += [f'    "{text[at : at + LINE]}"' for at in range(0, len(text), LINE)] + [")"]
    return "\n".join(lines) + "\n"


def _centred(values: list[float]) -> list[float]:
    mean = sum(values) / len(values)
    length = sum((v - mean) ** 2 for v in values) ** 0.5
    return [(v - mean) / length for v in values]


# 139: largest correlation 0.044 of all 255 multipliers; 27: 0.086 of 31.
SHAPES = (("BEHIND", 512, 12, 139), ("AHEAD", 64, 3, 27))
