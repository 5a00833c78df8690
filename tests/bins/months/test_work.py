"""How work is spread: counted from the set minutes of each household, withheld below five, and nobody pointed at."""

import datetime as dt

import pytest

from bins.months.figures import month
from bins.months.work import Work, spread_of_work
from households.tenancy import inside
from tests.bins.duties.planned import DAY, TODAY, duty, kind, site_of
from tests.cast import NOW, Cast, newcomer


@pytest.mark.parametrize(
    ("minutes", "found"),
    [
        ([], None),
        ([0, 0], None),
        ([60], Work(1, None)),
        ([60] * 4, Work(4, None)),  # four: withheld
        ([60] * 5, Work(5, 3)),  # five: told
        ([60] * 4 + [0] * 3, Work(4, None)),  # who did nothing hides nobody
        ([90, 30, 30, 30, 30, 30], Work(6, 2)),  # 120 of 240 is half
        ([89, 30, 30, 30, 30, 30], Work(6, 3)),  # 119 of 239 is less
        ([300, 10, 10, 10, 10], Work(5, 2)),  # one did it alone, and is not pointed at
        ([15] * 300, Work(300, 150)),
    ],
)
def test_how_few_did_half_is_told_of_five_households_and_not_of_four(minutes: list[int], found: Work | None) -> None:
    assert spread_of_work(minutes) == found
    assert spread_of_work(minutes[::-1]) == found


@pytest.mark.embedded
def test_minutes_are_those_of_duties_done_in_the_period_by_whoever_stands_on_them(cast: Cast) -> None:
    people = [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(5)]
    with inside(cast.building.uid) as here:
        of = kind(here, site_of(cast), usual=2)
        for number, who in enumerate(people):
            duty(here, of, TODAY + number * DAY, who, people[0], minutes=20, done_at=NOW) if number else duty(
                here, of, TODAY, who, minutes=20, done_at=NOW
            )
        duty(here, of, TODAY + 7 * DAY, people[1], minutes=400)  # not done
        duty(here, of, dt.date(2026, 6, 1), people[1], minutes=400, done_at=NOW)  # another month
        told = month(here, dt.date(2026, 5, 1))
    assert told.minutes_of_each == (20, 20, 20, 20, 100)
    assert (told.duty_minutes, told.work) == (180, Work(5, 2))
