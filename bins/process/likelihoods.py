"""How usual each sign and each band is under each cause: the weights of the diagnosis, all in one table.

P(sign told | cause) in five words; what a cause isn't named for is HARDLY. Of a reading's bands one must be true, so a
cause has shares that sum to 1. All chosen, from the troubleshooting guides that composting bulletins print (NRAES-54,
Cornell, university extension: which sign speaks for which cause); none is fitted to the table of cases.
"""

from collections.abc import Mapping

from bins.process.causes import Cause
from bins.process.findings import Band
from bins.process.symptom import Symptom

ALMOST_ALWAYS, OFTEN, SOMETIMES, SELDOM, HARDLY = 0.9, 0.6, 0.25, 0.08, 0.02

SIGNS: Mapping[Symptom, Mapping[Cause, float]] = {
    # Anaerobic smells: water in the pores or no turning; whatever else keeps air out, less often.
    Symptom.ROTTEN: {
        Cause.TOO_WET: OFTEN, Cause.NO_AIR: OFTEN, Cause.MATTED: SOMETIMES, Cause.TOO_FEW_BROWNS: SOMETIMES,
        Cause.TOO_FULL: SOMETIMES, Cause.SOUR_START: SELDOM, Cause.BARE_SCRAPS: SELDOM, Cause.TOO_EARLY: SELDOM,
    },
    # Any of the smells, by somebody who only said "bad".
    Symptom.SMELL: {
        Cause.TOO_WET: OFTEN, Cause.NO_AIR: OFTEN, Cause.TOO_FEW_BROWNS: OFTEN, Cause.SOUR_START: OFTEN,
        Cause.MATTED: SOMETIMES, Cause.TOO_FULL: SOMETIMES, Cause.TOO_EARLY: SOMETIMES, Cause.BARE_SCRAPS: SOMETIMES,
    },
    # Nitrogen that finds no carbon; heat and drought drive it out as well.
    Symptom.AMMONIA: {Cause.TOO_FEW_BROWNS: OFTEN, Cause.TOO_HOT: SELDOM, Cause.TOO_DRY: SELDOM},
    # Food scraps ferment first; lasting sourness wants air.
    Symptom.SOUR: {
        Cause.SOUR_START: ALMOST_ALWAYS, Cause.TOO_FEW_BROWNS: SELDOM, Cause.NO_AIR: SELDOM, Cause.TOO_WET: SELDOM,
    },
    # The bulletins' own phrase for a lack of nitrogen.
    Symptom.SWEET_DAMP: {
        Cause.TOO_MANY_BROWNS: OFTEN, Cause.TOO_LITTLE: SOMETIMES, Cause.COLD_WEATHER: SELDOM, Cause.TOO_EARLY: SELDOM,
        Cause.FINISHED: SELDOM, Cause.SOUR_START: SELDOM,
    },
    Symptom.COLD: {
        Cause.COLD_WEATHER: ALMOST_ALWAYS, Cause.TOO_MANY_BROWNS: OFTEN, Cause.TOO_DRY: OFTEN, Cause.TOO_LITTLE: OFTEN,
        Cause.FINISHED: OFTEN, Cause.TOO_WET: SOMETIMES, Cause.NO_AIR: SOMETIMES, Cause.SOUR_START: SOMETIMES,
        Cause.BIG_PIECES: SOMETIMES, Cause.MATTED: SELDOM, Cause.FED_LATE: SELDOM,
    },
    Symptom.TOO_HOT: {Cause.TOO_HOT: ALMOST_ALWAYS},
    Symptom.DRY: {
        Cause.TOO_DRY: ALMOST_ALWAYS, Cause.TOO_MANY_BROWNS: SOMETIMES, Cause.TOO_HOT: SELDOM, Cause.BIG_PIECES: SELDOM,
        Cause.MATTED: SELDOM,
    },
    Symptom.WET: {
        Cause.TOO_WET: ALMOST_ALWAYS, Cause.TOO_FEW_BROWNS: SOMETIMES, Cause.NO_AIR: SELDOM, Cause.SOUR_START: SELDOM,
        Cause.MATTED: SELDOM, Cause.SOLDIER_FLIES: SELDOM,
    },
    # Wet mats too, and a drum that is too full can't break them.
    Symptom.MATTED: {
        Cause.MATTED: ALMOST_ALWAYS, Cause.NO_AIR: SELDOM, Cause.TOO_WET: SELDOM, Cause.TOO_FULL: SELDOM,
    },
    # What is dry or young still has its pieces.
    Symptom.PIECES: {
        Cause.BIG_PIECES: ALMOST_ALWAYS, Cause.TOO_EARLY: SOMETIMES, Cause.TOO_DRY: SOMETIMES, Cause.MATTED: SELDOM,
        Cause.TOO_MANY_BROWNS: SELDOM,
    },
    # More water than the mix holds; else a seal.
    Symptom.LEAKING: {
        Cause.TOO_WET: OFTEN, Cause.WORN: SOMETIMES, Cause.TOO_FEW_BROWNS: SELDOM, Cause.TOO_FULL: SELDOM,
    },
    # Food that lies open; wet drums draw them too, and what lets in a mouse lets in a fly.
    Symptom.FLIES: {
        Cause.BARE_SCRAPS: ALMOST_ALWAYS, Cause.SOLDIER_FLIES: SOMETIMES, Cause.TOO_WET: SOMETIMES,
        Cause.WAY_IN: SOMETIMES, Cause.TOO_FEW_BROWNS: SELDOM, Cause.NO_AIR: SELDOM,
    },
    Symptom.ANIMALS: {
        Cause.BARE_SCRAPS: OFTEN, Cause.SOLDIER_FLIES: SOMETIMES, Cause.WAY_IN: SOMETIMES, Cause.TOO_WET: SELDOM,
    },
    # They come to wet, rich scraps, so those causes have them as guests; but most wet drums have none.
    Symptom.LARVAE: {
        Cause.SOLDIER_FLIES: ALMOST_ALWAYS, Cause.TOO_WET: SELDOM, Cause.TOO_FEW_BROWNS: SELDOM,
        Cause.BARE_SCRAPS: SELDOM,
    },
    Symptom.RODENTS: {Cause.WAY_IN: ALMOST_ALWAYS, Cause.BARE_SCRAPS: SELDOM},
    Symptom.HARD_TO_TURN: {
        Cause.TOO_FULL: OFTEN, Cause.WORN: OFTEN, Cause.TOO_WET: SOMETIMES, Cause.MATTED: SOMETIMES,
    },
    # Whatever slows it down ends here.
    Symptom.NOT_DONE: {
        Cause.TOO_EARLY: OFTEN, Cause.FED_LATE: OFTEN, Cause.TOO_DRY: OFTEN, Cause.TOO_MANY_BROWNS: OFTEN,
        Cause.COLD_WEATHER: OFTEN, Cause.BIG_PIECES: OFTEN, Cause.TOO_LITTLE: OFTEN, Cause.TOO_WET: SOMETIMES,
        Cause.NO_AIR: SOMETIMES, Cause.MATTED: SOMETIMES,
    },
    Symptom.BROKEN: {Cause.WORN: ALMOST_ALWAYS, Cause.WAY_IN: SELDOM},
}  # fmt: skip

# What whoever looks can't miss. Somebody who complained and named none of these has probably not seen it.
HALLMARKS: Mapping[Cause, frozenset[Symptom]] = {
    Cause.MATTED: frozenset({Symptom.MATTED}),
    Cause.BIG_PIECES: frozenset({Symptom.PIECES}),
    Cause.BARE_SCRAPS: frozenset({Symptom.FLIES, Symptom.ANIMALS}),
    Cause.SOLDIER_FLIES: frozenset({Symptom.LARVAE, Symptom.ANIMALS}),
    Cause.WAY_IN: frozenset({Symptom.RODENTS, Symptom.ANIMALS}),
    Cause.SOUR_START: frozenset({Symptom.SOUR, Symptom.SMELL}),
}
UNNAMED = 0.3  # chosen: not 0.1, since a hurried person names one thing only

# The bands of one reading, then the shares of each under a cause that isn't named, then under those that are.
Shares = tuple[float, ...]
READINGS: tuple[tuple[tuple[Band, ...], Shares, Mapping[Cause, Shares]], ...] = (
    (
        (Band.SQUEEZE_DRY, Band.SQUEEZE_RIGHT, Band.SQUEEZE_WET),
        (0.10, 0.70, 0.20),
        {
            Cause.TOO_WET: (0.02, 0.18, 0.80),  # the squeeze says it itself
            Cause.TOO_DRY: (0.90, 0.08, 0.02),
            Cause.NO_AIR: (0.05, 0.65, 0.30),
            Cause.TOO_FEW_BROWNS: (0.05, 0.50, 0.45),  # the same scraps bring water and nitrogen
            Cause.TOO_MANY_BROWNS: (0.30, 0.65, 0.05),
            Cause.BARE_SCRAPS: (0.10, 0.60, 0.30),
            Cause.SOLDIER_FLIES: (0.05, 0.50, 0.45),
            Cause.SOUR_START: (0.05, 0.55, 0.40),
            Cause.MATTED: (0.10, 0.60, 0.30),
            Cause.TOO_HOT: (0.35, 0.60, 0.05),  # heat dries
            Cause.BIG_PIECES: (0.30, 0.65, 0.05),
            Cause.FINISHED: (0.10, 0.85, 0.05),  # dry and cool is not finished
        },
    ),
    (
        (Band.NO_WARMTH, Band.WARM, Band.HOT, Band.OVER_65),
        (0.30, 0.45, 0.24, 0.01),
        {
            Cause.TOO_WET: (0.55, 0.35, 0.09, 0.01),
            Cause.NO_AIR: (0.30, 0.59, 0.10, 0.01),  # it falls gradually
            Cause.TOO_FEW_BROWNS: (0.10, 0.40, 0.49, 0.01),  # nitrogen burns well
            Cause.TOO_MANY_BROWNS: (0.80, 0.18, 0.01, 0.01),
            Cause.TOO_DRY: (0.60, 0.30, 0.08, 0.02),
            Cause.TOO_LITTLE: (0.55, 0.43, 0.01, 0.01),  # warm only in the middle
            Cause.COLD_WEATHER: (0.70, 0.28, 0.01, 0.01),
            Cause.TOO_HOT: (0.01, 0.01, 0.08, 0.90),
            Cause.FINISHED: (0.90, 0.08, 0.01, 0.01),
            Cause.SOUR_START: (0.40, 0.54, 0.05, 0.01),  # stalls at 30 to 40 °C
            Cause.TOO_EARLY: (0.05, 0.35, 0.59, 0.01),
            Cause.BIG_PIECES: (0.70, 0.28, 0.01, 0.01),
        },
    ),
    (
        (Band.AIR_COLD, Band.AIR_MILD),
        (0.25, 0.75),  # three months of the year
        {
            Cause.COLD_WEATHER: (0.95, 0.05),
            Cause.BARE_SCRAPS: (0.05, 0.95),  # flies want it warm
            Cause.SOLDIER_FLIES: (0.02, 0.98),
        },
    ),
    (
        (Band.LEVEL_LOW, Band.LEVEL_MIDDLE, Band.LEVEL_HIGH),
        (0.15, 0.75, 0.10),
        {
            Cause.TOO_LITTLE: (0.90, 0.09, 0.01),
            Cause.TOO_FULL: (0.01, 0.04, 0.95),  # the level says it itself
            Cause.NO_AIR: (0.10, 0.65, 0.25),  # head room is what tumbling needs
            Cause.FINISHED: (0.25, 0.74, 0.01),  # it has shrunk
        },
    ),
    (
        (Band.BROWNS_FEW, Band.BROWNS_RIGHT, Band.BROWNS_MANY),
        (0.30, 0.60, 0.10),
        {
            Cause.TOO_FEW_BROWNS: (0.75, 0.23, 0.02),
            Cause.TOO_MANY_BROWNS: (0.02, 0.26, 0.72),
            Cause.TOO_WET: (0.45, 0.52, 0.03),
            Cause.SOLDIER_FLIES: (0.40, 0.55, 0.05),
            Cause.BARE_SCRAPS: (0.40, 0.55, 0.05),  # few browns cover little
            Cause.SOUR_START: (0.40, 0.55, 0.05),
        },
    ),
    (
        (Band.TURNED_LATELY, Band.TURNED_A_WHILE_AGO, Band.TURNED_LONG_AGO),
        (0.60, 0.25, 0.15),
        {
            Cause.NO_AIR: (0.10, 0.30, 0.60),
            Cause.COLD_WEATHER: (0.40, 0.30, 0.30),  # nobody likes to go down in winter
        },
    ),
    (
        (Band.OPEN_NEWLY, Band.OPEN, Band.CLOSED, Band.CLOSED_LONG, Band.RESTING),
        (0.20, 0.30, 0.25, 0.15, 0.10),
        {
            Cause.SOUR_START: (0.75, 0.20, 0.03, 0.01, 0.01),  # it is a start
            Cause.BARE_SCRAPS: (0.35, 0.50, 0.10, 0.03, 0.02),  # scraps lie open where they are put in
            Cause.SOLDIER_FLIES: (0.25, 0.45, 0.20, 0.07, 0.03),
            Cause.TOO_FULL: (0.10, 0.65, 0.15, 0.05, 0.05),
            Cause.TOO_FEW_BROWNS: (0.25, 0.35, 0.25, 0.10, 0.05),
            Cause.TOO_LITTLE: (0.30, 0.30, 0.20, 0.15, 0.05),
            Cause.TOO_HOT: (0.20, 0.30, 0.45, 0.03, 0.02),  # in its first weeks
            Cause.FINISHED: (0.01, 0.02, 0.07, 0.50, 0.40),
            Cause.TOO_EARLY: (0.01, 0.01, 0.55, 0.08, 0.35),
            Cause.FED_LATE: (0.02, 0.08, 0.15, 0.50, 0.25),
            Cause.BIG_PIECES: (0.02, 0.08, 0.15, 0.40, 0.35),
        },
    ),
)
# Fresh scraps after closing are a record of their own: there, or not told.
FRESH_TOLD, FRESH_TOLD_OF_OTHERS = 0.9, 0.05
