"""The unit of a share: a tub struck level, counted in whole millionths so that nothing is lost to rounding."""

MILLIONTHS = 1_000_000  # millionths in one tub; a millionth of 40 L is 0.04 ml, below any measure


def whole_tubs(millionths: int) -> int:
    """The whole tubs in an amount of 0 or more."""
    return millionths // MILLIONTHS
