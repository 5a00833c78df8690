"""Three years and 200,000 rows: as many queries as for one row, and the least SQL comes to the same figures."""

import datetime as dt
import runpy
import time
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.models import Contribution
from bins.months.calendar import Period, after
from bins.months.figures import figures, month
from coordinator.demo import frozen
from coordinator.demo.block import UID
from households.tenancy import inside
from tests.cast import Cast

from .crowded import DOUBLINGS, SEED, YEARS, double, seed


@pytest.mark.embedded
def test_three_years_and_200_000_rows_take_as_many_queries_as_a_few_hundred(cast: Cast) -> None:
    periods = [Period(YEARS[0]), Period(YEARS[1], 3), Period(YEARS[2], 12)]

    def asked() -> list[int]:
        counts = []
        with inside(cast.building.uid) as here:
            for period in periods:
                with CaptureQueriesContext(connection) as queries:
                    assert figures(here, period).has_data
                counts.append(len(queries))
        return counts

    seed(cast)
    few = asked()
    with inside(cast.building.uid) as here:
        before = figures(here, periods[2])
    for _ in range(DOUBLINGS):
        double(cast)
    began = time.perf_counter()
    many = asked()
    took = time.perf_counter() - began
    with inside(cast.building.uid) as here:
        rows = Contribution.objects.within(here).count()
        now = figures(here, periods[2])
    print(f"queries for a month, a quarter, a year: {few}, with {rows} rows {many}; all three in {took:.2f} s")
    assert (few, rows) == (many, SEED * 2**DOUBLINGS)
    assert now.scraps_g == before.scraps_g * 2**DOUBLINGS
    assert now.drop_offs == before.drop_offs * 2**DOUBLINGS


def test_the_least_sql_that_the_bench_measures_against_yields_the_same_figures(db: None) -> None:
    bare = runpy.run_path(str(Path(__file__).parents[3] / "deploy" / "bare_month.py"))
    frozen.load()
    told = 0
    with inside(UID) as here, connection.cursor() as cursor:
        first_day = here.local(here.created_at).date().replace(day=1)
        last = here.local(Contribution.objects.within(here).latest("counts_at").counts_at).date()
        while first_day <= last:
            days: tuple[dt.date, dt.date] = (first_day, after(first_day))
            raw = bare["bare_month"](cursor, here.pk, days, tuple(map(here.instant, days)))
            ours = month(here, first_day)
            assert bare["summed"](raw) == bare["as_bare"](ours), first_day
            told += len(ours.yields)
            first_day = after(first_day)
    assert told  # a month without a harvest would compare less
