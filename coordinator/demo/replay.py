"""Living through the days of the invented block, as people and nights did."""

from collections.abc import Callable

from coordinator.jobs.run import run_due
from households.models import Account
from households.tenancy import inside

from . import affairs, bringing, care, foresight, harvesting, people, trouble
from .block import LAST_DAY, UID, at, day_of, found, number_of

NIGHT_IS_OVER, CARE, PAILS = 8, 9, 15  # hours by the block's own clock


def is_empty() -> bool:
    """Whether the database has no people yet: the demo never joins anybody's own data."""
    return not Account.objects.exists()


def begin() -> None:
    """The first day: the block is founded and everybody moves in."""
    founded = found()
    with inside(UID) as here:
        people.move_in(here, founded.person, at(here, day_of(0), NIGHT_IS_OVER))
    Account.objects.filter(email__endswith="@demo.invalid").update(is_demo=True)


def live(first: int, after: Callable[[int], None] = lambda number: None) -> None:
    """Live from the day numbered `first` to the last one; `after` is called at the end of each."""
    for number in range(first, number_of(LAST_DAY) + 1):
        _day(number)
        after(number)


def _day(number: int) -> None:
    day = day_of(number)
    with inside(UID) as here:
        morning = at(here, day, NIGHT_IS_OVER)
        foresight.rest(here, number, morning)
    run_due(morning)
    with inside(UID) as here:
        wanda = people.in_charge(here)
        people.come_and_go(here, wanda, number, morning)
        trouble.happen(here, wanda, number, at(here, day, NIGHT_IS_OVER, 30))
        care.look_after(here, wanda, number, at(here, day, CARE))
        harvesting.harvest(here, wanda, number, at(here, day, CARE + 1))
        bringing.weigh(here, wanda, number, at(here, day, CARE + 2))
        affairs.settle(here, wanda, number, at(here, day, CARE + 3))
        bringing.bring(here, number, at(here, day, PAILS))
        harvesting.fetch(here, wanda, number, at(here, day, PAILS + 2, 30))
