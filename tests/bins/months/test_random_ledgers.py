"""A thousand random ledgers with corrections: each figure is what a plain tally of the same rows comes to.

The tally never reads the product: it is told what happened, in dictionaries.
"""

import datetime as dt
import random
from collections import Counter
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction

from bins.models import Contribution, ContributionAttribution, Visit, VisitAttribution
from bins.months.calendar import Period
from bins.months.figures import Figures, figures
from bins.months.rows import rows
from households.models import Building, Household, Person
from households.tenancy import inside
from tests.cast import Cast, newcomer

pytestmark = pytest.mark.embedded
LEDGERS, ROWS = 1000, 12
FIRST = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
PERIODS = (Period(dt.date(2026, 1, 1)), Period(dt.date(2026, 1, 1), 3))
BERLIN = ZoneInfo("Europe/Berlin")
KNOWN = ("weighed", "counted", "guessed")


def a_ledger(chance: random.Random, homes: int) -> list[dict[str, Any]]:
    """Drop-offs and visits up to mid-March, each now and then taken back; a row is a plain dictionary."""
    told: list[dict[str, Any]] = []
    for number in range(ROWS):
        at = FIRST + dt.timedelta(minutes=chance.randrange(74 * 24 * 60))
        if chance.random() < 0.1:  # at a month's edge by the building's clock
            at = dt.datetime(2026, 2, 1, tzinfo=BERLIN) - dt.timedelta(seconds=chance.randrange(2))
        row = {"number": number, "at": at, "home": chance.randrange(homes), "reverses": None}
        if chance.random() < 0.75:
            row |= {
                "grams": chance.randrange(1, 9000),
                "browns": chance.randrange(0, 3000),
                "known": chance.choice(KNOWN),
            }
        else:
            row |= {
                "turned": chance.random() < 0.7,
                "trouble": chance.choice(["nothing", "nothing", "smell", "wrong_item"]),
            }
        told.append(row)
    for row in [row for row in told if chance.random() < 0.25]:
        told.append({**row, "number": len(told), "reverses": row["number"]})
    return told


def tally(told: list[dict[str, Any]], period: Period) -> dict[str, Any]:
    """The figures by plain sums over what stands: neither a reversal nor what it takes back."""
    gone = {row["reverses"] for row in told} - {None}
    days = (period.first_day, period.after)
    stands = [row for row in told if row["reverses"] is None and row["number"] not in gone]
    stands = [row for row in stands if days[0] <= row["at"].astimezone(BERLIN).date() < days[1]]
    brought = [row for row in stands if "grams" in row]
    looked = [row for row in stands if "turned" in row]
    end = dt.datetime.combine(period.after, dt.time(), BERLIN).astimezone(dt.UTC)  # three weeks of hours
    grams: Counter[str] = Counter()
    for row in brought:
        grams[row["known"]] += row["grams"]
    return {
        "scraps_g": sum(grams.values()),
        "by_known": {known: grams[known] for known in KNOWN if any(row["known"] == known for row in brought)},
        "browns_ml": sum(row["browns"] for row in brought),
        "drop_offs": len(brought),
        "households": len({row["home"] for row in brought}),
        "taking_part": len({row["home"] for row in brought if row["at"] >= end - dt.timedelta(days=21)}),
        "visits": len(looked),
        "turns": sum(row["turned"] for row in looked),
        "troubles": sum(row["trouble"] != "nothing" for row in looked),
        "wrong_visits": sum(row["trouble"] == "wrong_item" for row in looked),
        "carers": len({row["home"] for row in looked}),
        "scraps_by_month": tuple(
            sum(grams) if (grams := [row["grams"] for row in brought if month_of(row) == first_day]) else None
            for first_day in period.firsts
        ),
    }


def month_of(row: dict[str, Any]) -> dt.date:
    day: dt.date = row["at"].astimezone(BERLIN).date()
    return day.replace(day=1)


def found(told: Figures) -> dict[str, Any]:
    names = (
        "scraps_g", "browns_ml", "drop_offs", "households", "taking_part", "visits", "turns", "troubles",
        "wrong_visits", "carers", "scraps_by_month",
    )  # fmt: skip
    return {name: getattr(told, name) for name in names} | {
        "by_known": {known.known: known.scraps_g for known in told.by_known}
    }


def write(here: Building, cast: Cast, people: list[Person], told: list[dict[str, Any]]) -> None:
    """The rows as the books hold them: a reversal with the amounts of what it takes back, below zero."""
    plain = {"building": here, "via": "web", "heard_at": FIRST, "drum": cast.drum}
    keys: dict[int, int] = {}
    whose: tuple[list[ContributionAttribution], list[VisitAttribution]] = ([], [])
    for is_back in (False, True):
        brought, looked = [], []
        for row in (row for row in told if (row["reverses"] is not None) == is_back):
            common = plain | {
                "uid": UUID(int=row["number"] + 1), "ledger_number": 1000 + row["number"], "happened_at": row["at"],
                "counts_at": row["at"], "reverses_id": keys.get(row["reverses"]),
            }  # fmt: skip
            sign = -1 if is_back else 1
            if "grams" in row:
                brought.append(
                    Contribution(
                        **common, scraps_g=sign * row["grams"], scraps_ml=sign * row["grams"] * 2, pail_ml=8000,
                        browns_ml=sign * row["browns"], known=row["known"], scraps_g_per_l=450, cup_ml=1000,
                        browns_kind="pellets",
                    )
                )  # fmt: skip
            else:
                looked.append(Visit(**common, turned=row["turned"], trouble=row["trouble"]))
        for made in (Contribution.objects.bulk_create(brought), Visit.objects.bulk_create(looked)):
            keys |= {one.ledger_number - 1000: one.pk for one in made}
    for row in told:
        who = people[row["home"]]
        of = {"building": here, "row_id": keys[row["number"]], "person": who, "household": who.household}
        if "grams" in row:
            whose[0].append(ContributionAttribution(**of))
        else:
            whose[1].append(VisitAttribution(**of))
    ContributionAttribution.objects.bulk_create(whose[0])
    VisitAttribution.objects.bulk_create(whose[1])


def test_a_thousand_random_ledgers_come_to_what_a_plain_tally_comes_to(cast: Cast) -> None:
    people = [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(6)]
    corrected = 0
    for seed in range(LEDGERS):
        told = a_ledger(random.Random(seed), len(people))
        corrected += any(row["reverses"] is not None for row in told)
        with inside(cast.building.uid) as here, transaction.atomic():
            write(here, cast, people, told)
            for period in PERIODS:
                assert found(figures(here, period)) == tally(told, period), (seed, period)
            behind = rows(here, PERIODS[0].first_day, "scraps")
            assert sum(row.amount for row in behind) == tally(told, PERIODS[0])["scraps_g"], seed
            transaction.set_rollback(True)
    print(f"{LEDGERS} ledgers, {corrected} with corrections: figures of a month and of a quarter are the tally's")
    assert corrected > LEDGERS * 0.9
    assert Household.objects.within(cast.building).count() >= len(people)
