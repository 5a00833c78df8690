"""Who brings when, and how much: arithmetic on the number of the day, no chance in it."""

from dataclasses import dataclass

WEEK = 7
AWAY_EVERY = 13  # weeks: each household is away for one of them
PATTERN = (4, 3, 2, 4, 3)  # quarters of a pail


@dataclass(frozen=True)
class Brought:
    """What one household brings on a day: quarters of a pail or grams, and cups of browns."""

    quarter_pails: int
    grams: int | None
    is_guess: bool
    browns_cups: int


def brings(household: int, day: int) -> Brought | None:
    """What a household (0 to 13) brings on a day, None on most days.

    Three times in two weeks, on weekdays of its own; one week in thirteen it is away. One in five has a kitchen
    scale, one in five guesses.
    """
    week, weekday = divmod(day, WEEK)
    if (week + household) % AWAY_EVERY == 0:
        return None
    first, second = household * 3 % WEEK, (household * 3 + 3) % WEEK
    if weekday != first and not (weekday == second and week % 2):
        return None
    quarters = PATTERN[(week + household) % len(PATTERN)]
    grams = quarters * 900 + (household * 7 + week * 13) % 10 * 20 if household % 5 == 4 else None
    browns = 2 if quarters > 2 else (week + household) % 2
    return Brought(quarters, grams, household % 5 == 2, browns)


def fetches_after(household: int) -> int | None:
    """Days from the first day for fetching until a household comes for its share; None: it never does."""
    return None if household % 6 == 5 else household % 5
