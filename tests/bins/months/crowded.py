"""Three years of a busy building: a thousand real drop-offs, doubled in the database until there are 200,000."""

import datetime as dt
from uuid import uuid4

from django.db import connection

from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Contribution, ContributionAttribution
from households.models import Person
from households.tenancy import inside
from tests.cast import Cast, newcomer

SEED = 800
# 204,800 rows. PostgreSQL looks up each key of each row, which takes minutes: there 6,400.
DOUBLINGS = 8 if connection.vendor == "sqlite" else 3
FIRST = dt.datetime(2023, 1, 2, 16, 0, tzinfo=dt.UTC)
YEARS = (dt.date(2023, 1, 1), dt.date(2024, 1, 1), dt.date(2025, 1, 1))


def seed(cast: Cast) -> None:
    """A few hundred drop-offs of six households in each way of knowing, spread over three years."""
    homes = [newcomer(cast.building, f"Person {n}", f"Flat {20 + n}", "resident") for n in range(6)]
    for number in range(SEED):
        bring(cast, homes[number % 6], FIRST + dt.timedelta(hours=number * 32), number)


def bring(cast: Cast, who: Person, at: dt.datetime, number: int) -> None:
    amount = ({"kilograms": "1.5"}, {"quarter_pails": 4}, {"quarter_pails": 2, "known": "guessed"})[number % 3]
    told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "browns_cups": 1} | amount)
    with inside(cast.building.uid) as here:
        record_drop_off(building=here, told=told, household=who.household, person=who, via="web", now=at)


def double(cast: Cast) -> None:
    """Each drop-off once more, under a number and a uid of its own, and whose it is."""
    fresh = "gen_random_uuid()" if connection.vendor == "postgresql" else "lower(hex(randomblob(16)))"
    table, names = Contribution._meta.db_table, ContributionAttribution._meta.db_table
    columns = [f.column for f in Contribution._meta.concrete_fields if not f.primary_key]
    taken = {"uid": fresh, "ledger_number": f"ledger_number + (SELECT max(ledger_number) FROM {table})"}
    with inside(cast.building.uid) as here, connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({', '.join(columns)}) "
            f"SELECT {', '.join(taken.get(column, column) for column in columns)} FROM {table} WHERE building_id = %s",
            [here.pk],
        )
        cursor.execute(
            f"INSERT INTO {names} (building_id, uid, household_id, person_id, row_id) "
            f"SELECT c.building_id, {fresh}, (SELECT max(household_id) FROM {names}), NULL, c.id FROM {table} c "
            f"LEFT JOIN {names} a ON a.row_id = c.id WHERE a.id IS NULL AND c.building_id = %s",
            [here.pk],
        )
