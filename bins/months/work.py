"""How the work was spread over the households that did some: counted, never named, never put in an order."""

from collections.abc import Collection
from dataclasses import dataclass

from .withheld import FEWEST

LEAST = 2  # chosen: one household that did half on its own is not pointed at


@dataclass(frozen=True)
class Work:
    """`helped`: households with a duty done. `did_half`: how few of them did half of the minutes or more together.

    None where fewer than five helped: among so few anybody could tell whose part it is.
    """

    helped: int
    did_half: int | None


def spread_of_work(minutes: Collection[int]) -> Work | None:
    """Of the minutes of each household. None where nobody did any.

    90 30 30 30 30 30  ->  2 of 6: one did 90 of 240, two 120
    60 60 60 60 60     ->  3 of 5
    300 10 10 10 10    ->  2 of 5, although one did more than half
    60 60 60 60        ->  withheld
    """
    done = sorted((one for one in minutes if one > 0), reverse=True)
    if not done:
        return None
    if len(done) < FEWEST:
        return Work(len(done), None)
    enough = next(number for number in range(LEAST, len(done) + 1) if 2 * sum(done[:number]) >= sum(done))
    return Work(len(done), enough)
