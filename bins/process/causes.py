"""What can be wrong with a batch, and how usual each is before anybody has looked.

No survey of shared drums counts their troubles, so all of it is chosen: a word for how usual, and why.
"""

from enum import StrEnum

USUAL, NOW_AND_THEN, RARE = 3.0, 1.0, 0.3  # chosen: three times as usual, a third as usual


class Cause(StrEnum):
    """Why it goes wrong. Stored as the reason of a decision: never rename one."""

    TOO_WET = "too_wet"
    NO_AIR = "no_air"
    TOO_FEW_BROWNS = "too_few_browns"
    TOO_MANY_BROWNS = "too_many_browns"
    TOO_DRY = "too_dry"
    TOO_LITTLE = "too_little"
    COLD_WEATHER = "cold_weather"
    MATTED = "matted"
    BIG_PIECES = "big_pieces"
    TOO_HOT = "too_hot"
    BARE_SCRAPS = "bare_scraps"
    SOLDIER_FLIES = "soldier_flies"
    WAY_IN = "way_in"
    TOO_FULL = "too_full"
    WORN = "worn"
    SOUR_START = "sour_start"
    FED_LATE = "fed_late"
    TOO_EARLY = "too_early"
    FINISHED = "finished"


HOW_USUAL: dict[Cause, float] = {
    Cause.TOO_WET: USUAL,  # kitchen scraps are four fifths water, and browns are what is missing
    Cause.NO_AIR: NOW_AND_THEN,
    Cause.TOO_FEW_BROWNS: NOW_AND_THEN,
    Cause.TOO_MANY_BROWNS: NOW_AND_THEN,
    Cause.TOO_DRY: NOW_AND_THEN,  # a drum has a lid, and wood soaks up
    Cause.TOO_LITTLE: NOW_AND_THEN,
    Cause.COLD_WEATHER: NOW_AND_THEN,
    Cause.MATTED: NOW_AND_THEN,
    Cause.BIG_PIECES: NOW_AND_THEN,
    Cause.TOO_HOT: RARE,  # a few hundred litres seldom keep so much heat
    Cause.BARE_SCRAPS: NOW_AND_THEN,
    Cause.SOLDIER_FLIES: NOW_AND_THEN,
    Cause.WAY_IN: NOW_AND_THEN,
    Cause.TOO_FULL: NOW_AND_THEN,
    Cause.WORN: RARE,  # bearings and latches last for years
    Cause.SOUR_START: NOW_AND_THEN,
    Cause.FED_LATE: NOW_AND_THEN,
    Cause.TOO_EARLY: NOW_AND_THEN,
    Cause.FINISHED: NOW_AND_THEN,
}
