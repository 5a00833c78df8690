"""What became of ranges, and what a lot that was taken out leaves behind."""

import datetime as dt
from typing import Any

import pytest

from bins.forecasts.hits import record_of
from bins.models import Batch, Forecast, ForecastHit, ForecastLesson, ForecastState
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import DAY, back, batch_in, fresh, put_in
from tests.bins.forecasts.lived import FIRST, a_fortnight, look_ahead, pails, visit
from tests.bins.harvests.harvested import take_out
from tests.cast import NOW, Cast

pytestmark = [pytest.mark.embedded, pytest.mark.usefixtures("short_sight")]

CLOSED = FIRST + 30 * DAY  # 3 June 2026


def said(here: Building, batch: Batch, days_before: int, low: int, high: int | None, **values: Any) -> Forecast:
    """A range for the day on which it is full, in days after its closing."""
    row: Forecast = Forecast.objects.create(
        building=here, batch=batch, made_on=CLOSED - days_before * DAY, horizon_days=180, has_prior=True,
        full_low=CLOSED + low * DAY, full_high=None if high is None else CLOSED + high * DAY,
        prior_full_low=CLOSED - 20 * DAY, prior_full_high=CLOSED + 20 * DAY, compost_low_ml=1, compost_mid_ml=2,
        compost_high_ml=3, **values,
    )  # fmt: skip
    return row


@pytest.mark.parametrize(("days_before", "counts"), [(13, False), (14, True), (20, True), (21, False)])
def test_a_range_counts_that_was_made_in_the_week_14_days_before(cast: Cast, days_before: int, counts: bool) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        said(here, batch, days_before, -3, 3)
        put_in(here, batch, "composting", NOW + 30 * DAY)
        look_ahead(here, 31)
        assert ForecastHit.objects.within(here).exists() == counts


def test_both_ends_count_and_what_lies_beyond_the_horizon_is_the_day_after_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        row = said(here, batch, 15, 0, None)
        put_in(here, batch, "composting", NOW + 30 * DAY)
        look_ahead(here, 31)
        hit = ForecastHit.objects.within(here).get()
        assert (hit.what, hit.ahead_days, hit.happened_on, hit.low) == ("full", 14, CLOSED, CLOSED)
        assert hit.high == row.made_on + 181 * DAY
        found = record_of(here, "full", 14)
        assert found is not None
        assert (found.tried, found.held, found.rival_score_days) == (1, 1, 40)


def test_a_step_back_takes_the_day_back_and_the_next_closing_is_another(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        said(here, batch, 16, -3, 3)
        put_in(here, batch, "composting", NOW + 30 * DAY)
        look_ahead(here, 31)
        back(cast, here, batch, NOW + 31 * DAY)
        look_ahead(here, 32)
        assert not ForecastHit.objects.within(here).exists()
        put_in(here, fresh(batch), "composting", NOW + 32 * DAY)
        look_ahead(here, 33)
        hit = ForecastHit.objects.within(here).get()
        assert hit.happened_on == CLOSED + 2 * DAY


def test_a_lot_that_is_taken_out_teaches_the_next_one_and_its_states_go(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = batch_in(here, cast, "A")
        look_ahead(here, 14)
        assert ForecastState.objects.within(here).filter(batch=batch).exists()
        for stage in ("composting", "curing", "ready"):
            put_in(here, batch, stage, NOW + 14 * DAY)
        take_out(here, fresh(batch), 3, now=NOW + 15 * DAY)
        assert look_ahead(here, 16).thoughts[0].foreseen is None
        lesson = ForecastLesson.objects.within(here).get()
        assert (lesson.batch_id, lesson.day, lesson.began["batches"]) == (batch.pk, dt.date(2026, 5, 19), 0)
        assert not ForecastState.objects.within(here).exists()
        assert look_ahead(here, 17).thoughts == ()
        put_next = batch.place
        assert put_next is not None
        Batch.objects.create(
            building=here, drum=cast.drum, place=put_next, started_in=put_next, stage="filling",
            opened_at=NOW + 17 * DAY,
        )  # fmt: skip
        pails(here, cast.drum, range(18, 20))
        visit(here, cast.drum, 18, "quarter")
        visit(here, cast.drum, 19, "quarter")
        (thought,) = look_ahead(here, 20).thoughts
        assert thought.past.site.batches == 1


def test_two_hatches_are_held_against_each_other(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        first = batch_in(here, cast, "A")
        put_in(here, first, "composting", NOW + 14 * DAY)
        second = Batch.objects.create(
            building=here, drum=cast.drum, place=cast.drum.places.get(letter="B"),
            started_in=cast.drum.places.get(letter="B"), stage="filling", opened_at=NOW + 14 * DAY,
        )  # fmt: skip
        pails(here, cast.drum, range(15, 18), quarter_pails=12)
        visit(here, cast.drum, 15, "half")
        visit(here, cast.drum, 17, "three_quarters")
        look_ahead(here, 18)
        rows = {row.batch_id: row for row in Forecast.objects.within(here).filter(made_on=FIRST + 17 * DAY)}
        assert rows[first.pk].clash is None
        assert rows[first.pk].full_mid is None
        assert rows[second.pk].clash["permille"] > 900, "half a pail a day is left to come, and A works for months"
