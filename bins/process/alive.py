"""Whether a building's drums are alive, and what asks for a visit by whoever looks after hundreds of buildings.

Alive: something was brought in the last three weeks, taken as three opportunities (WRAP 2010, by way of LARAC).
"""

from dataclasses import dataclass
from enum import StrEnum

ALIVE_DAYS = 21  # chosen: the three opportunities, a week each
VISIT_DAYS = 14  # chosen: twice the week in which a resting drum is turned
TASK_DAYS = 7  # chosen: a proposal that nobody answered for a week has been forgotten
VERSION = 1


class Need(StrEnum):
    """Why somebody should go and see, the most pressing first. Stored; never rename one."""

    LATE_REPORT = "late_report"  # a neighbour was promised an answer and has none
    FULL = "full"  # no hatch is open in any drum in use
    NO_VISIT = "no_visit"  # nobody looked after the drums
    OLD_TASK = "old_task"  # a task waits for a person
    SILENT = "silent"  # nobody brings anything


@dataclass(frozen=True, slots=True)
class Signs:
    """What the record says. Days are whole ones; None where it never happened. `days_of_record` from the first lot."""

    days_of_record: int
    drums_in_use: int
    open_hatches: int
    days_since_drop_off: int | None
    days_since_visit: int | None
    late_reports: int
    oldest_task_days: int | None

    def __post_init__(self) -> None:
        if min(self.days_of_record, self.drums_in_use, self.open_hatches, self.late_reports) < 0:
            raise ValueError("counts and days are 0 or more")


def is_alive(signs: Signs) -> bool:
    return signs.days_since_drop_off is not None and signs.days_since_drop_off < ALIVE_DAYS


def needs(signs: Signs) -> tuple[Need, ...]:
    """What asks for a visit, the most pressing first. Drums that rest ask for nothing but an answer."""
    found = [Need.LATE_REPORT] if signs.late_reports else []
    if not signs.drums_in_use:
        return tuple(found)
    if not signs.open_hatches:
        found.append(Need.FULL)
    if _since(signs.days_since_visit, signs) >= VISIT_DAYS:
        found.append(Need.NO_VISIT)
    if signs.oldest_task_days is not None and signs.oldest_task_days >= TASK_DAYS:
        found.append(Need.OLD_TASK)
    if _since(signs.days_since_drop_off, signs) >= ALIVE_DAYS:
        found.append(Need.SILENT)
    return tuple(found)


def rank(found: tuple[Need, ...]) -> int:
    """A number to sort by, 0 for no need: the most pressing need decides, then the next."""
    order = list(Need)
    return sum(1 << (len(order) - 1 - order.index(need)) for need in found)


def _since(days: int | None, signs: Signs) -> int:
    """What never happened did not happen since the record began."""
    return signs.days_of_record if days is None else days
