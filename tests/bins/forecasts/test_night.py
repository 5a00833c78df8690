"""The night's forecast: what it stores, what it goes on from, and that going on is the same as beginning anew."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.forecasts import night, states
from bins.models import Batch, Decision, Drum, Forecast, ForecastState, Place
from bins.process.proposal import Rule
from households.models import Building, Job
from households.tenancy import inside
from tests.bins.forecasts.lived import DAY, FIRST, a_fortnight, look_ahead, pail, pails, visit
from tests.cast import NOW, Cast, found

pytestmark = [pytest.mark.embedded, pytest.mark.django_db, pytest.mark.usefixtures("short_sight")]


def newest(here: Building, batch: Batch) -> ForecastState:
    state: ForecastState = ForecastState.objects.within(here).filter(batch=batch).order_by("-day")[0]
    return state


def values(state: ForecastState) -> tuple[object, ...]:
    return (state.day, bytes(state.blob), state.lived)


def forecast_values(here: Building) -> list[dict[str, object]]:
    return list(Forecast.objects.within(here).order_by("made_on").values())


def test_a_lot_with_two_levels_is_foretold_as_of_the_midnight_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        look_ahead(here, 14)
        row = Forecast.objects.within(here).get()
        assert row.made_on == dt.date(2026, 5, 17)
        assert row.compost_low_ml <= row.compost_mid_ml <= row.compost_high_ml
        assert [len(line) for line in row.bands["level"]] == [12, 12, 12]
        assert row.has_prior
        # The other hatch stands empty: nothing can clash.
        assert row.clash["permille"] == 0


def test_before_two_days_with_a_level_nothing_is_foretold_nor_promised(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        pails(here, cast.drum, range(3))
        night.promise(here, FIRST + 3 * DAY)
        visit(here, cast.drum, 1, "quarter")
        assert look_ahead(here, 3).thoughts == ()
        assert not Job.objects.filter(name=night.NAME).exists()
        visit(here, cast.drum, 2, "quarter")
        night.promise(here, FIRST + 3 * DAY)
        assert Job.objects.get(name=night.NAME).key == "2026-05-07"
        assert len(look_ahead(here, 3).thoughts) == 1


def test_a_night_advances_a_state_to_the_byte_as_living_all_anew_would(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = Batch.objects.within(here).get(drum=cast.drum)
        look_ahead(here, 14)
        pails(here, cast.drum, range(14, 16))
        visit(here, cast.drum, 15, "half", turned="no")
        gathered = night.gather(here, FIRST + 16 * DAY)
        assert [kept.day for kept in gathered.kept.values()] == [dt.date(2026, 5, 17)]  # two days to live, not sixteen
        look_ahead(here, 16)
        advanced, told = values(newest(here, batch)), forecast_values(here)[-1]
        ForecastState.objects.within(here).all().delete()
        Forecast.objects.within(here).filter(made_on=dt.date(2026, 5, 19)).delete()
        assert dict(night.gather(here, FIRST + 16 * DAY).kept) == {}
        look_ahead(here, 16)
        assert values(newest(here, batch)) == advanced
        leaving_out = {"id", "has_prior", "prior_full_low", "prior_full_high", "prior_ready_low", "prior_ready_high"}
        again = forecast_values(here)[-1]
        assert {k: v for k, v in again.items() if k not in leaving_out} == {
            k: v for k, v in told.items() if k not in leaving_out
        }


def test_a_late_row_sends_back_to_the_newest_state_that_is_older_than_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = Batch.objects.within(here).get(drum=cast.drum)
        # 17 May 2026 is a rung of the ladder: a Sunday, whose ordinal is a multiple of seven.
        assert dt.date(2026, 5, 17).toordinal() % states.LADDER_DAYS == 0
        look_ahead(here, 14)
        look_ahead(here, 16)
        days = set(ForecastState.objects.within(here).values_list("day", flat=True))
        assert days == {dt.date(2026, 5, 17), dt.date(2026, 5, 19)}
        pail(here, cast.drum, NOW + 15 * DAY, now=NOW + 17 * DAY)  # of the 19th, told on the 21st
        (kept,) = night.gather(here, FIRST + 18 * DAY).kept.values()
        assert kept.day == dt.date(2026, 5, 17)
        look_ahead(here, 18)
        gone_back = values(newest(here, batch))
        ForecastState.objects.within(here).all().delete()
        look_ahead(here, 18)
        assert values(newest(here, batch)) == gone_back


def test_where_hatches_turn_apart_a_turn_counts_for_its_own_hatch(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Drum.objects.within(here).update(turns=Drum.Turns.APART)
        a_fortnight(here, cast.drum)
        first, other = Place.objects.within(here).filter(drum=cast.drum).order_by("letter")
        for hatch in (first, other):
            visit(here, cast.drum, 13, "half", turned_place=str(hatch.uid))
        (lot,) = night.gather(here, FIRST + 14 * DAY).lots
        of_the_13th = [at for at in lot.history.turns if at.date() == FIRST + 13 * DAY]
        assert len(of_the_13th) == 1


def test_of_a_lot_in_trouble_the_remedy_is_lived_as_well(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = Batch.objects.within(here).get(drum=cast.drum)
        visit(here, cast.drum, 13, "half", trouble="rotten")
        advised = Decision.objects.within(here).proposed().get(batch=batch, rule=str(Rule.TROUBLE))
        assert advised.figures["browns_litres"] > 0
        (thought,) = look_ahead(here, 14).thoughts
        assert thought.foreseen is not None
        assert thought.remedied is not None
        # Dry browns on the first day ahead: drier from then on, whatever else comes of it.
        dry, wet = thought.remedied.moisture_percent.p50, thought.foreseen.moisture_percent.p50
        assert all(one < other for one, other in zip(dry, wet, strict=True))
        row = Forecast.objects.within(here).get()
        assert row.remedied is not None
        assert len(row.remedied) == 3


def test_what_stood_there_before_the_record_is_not_foretold(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        Batch.objects.within(here).update(from_record=True)
        assert look_ahead(here, 14).thoughts == ()


def test_running_the_same_night_twice_changes_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        look_ahead(here, 14)
        first = [{k: v for k, v in row.items() if k != "id"} for row in forecast_values(here)]
        look_ahead(here, 14)
        assert [{k: v for k, v in row.items() if k != "id"} for row in forecast_values(here)] == first


def test_a_night_asks_and_writes_as_much_for_three_drums_as_for_one() -> None:
    counts = []
    for name, drums in (("Medlar Row", 1), ("Quince Lane", 3)):
        block = found(name, "Ada", f"ada@{name.replace(' ', '-').lower()}.invalid", drums=drums)
        with inside(block.building.uid) as here:
            for drum in block.drums:
                a_fortnight(here, drum)
            with CaptureQueriesContext(connection) as asked:
                gathered = night.gather(here, FIRST + 14 * DAY)
            assert len([lot for lot in gathered.lots if lot.is_foretold]) == drums
            decided = night.decide(gathered)
            with CaptureQueriesContext(connection) as written:
                night.apply(here, decided, here.uid)
            assert Forecast.objects.within(here).count() == drums
            counts.append((len(asked), len(written)))
    print("queries of a night's gathering and writing:", counts)
    assert counts[0] == counts[1]
