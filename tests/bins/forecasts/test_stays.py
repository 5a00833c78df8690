"""A night's forecast reckons with what a drum is made of, and a new wall leaves the days before it alone."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from bins.care.making import BinMake, set_make
from bins.care.moving import Move, move
from bins.forecasts import night, states
from bins.forecasts.seasons import plans_of
from bins.models import Batch, Forecast, ForecastState, Place, WhatIf
from bins.process.model.border import Insulation, Stay, Vents, Vessel
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import batch_in, by, put_in
from tests.bins.care.test_making import make
from tests.bins.forecasts.lived import DAY, FIRST, a_fortnight, look_ahead, pails
from tests.cast import NOW, Cast

pytestmark = [pytest.mark.embedded, pytest.mark.django_db, pytest.mark.usefixtures("short_sight")]

NIGHT = 14  # lives the 17th of May, and foretells from the 18th on


def stays(here: Building, day: int = NIGHT) -> tuple[Stay, ...]:
    (lot,) = night.gather(here, FIRST + day * DAY).lots
    return lot.history.stays


def told(here: Building) -> dict[str, Any]:
    """The newest state and forecast, without keys."""
    state = ForecastState.objects.within(here).order_by("-day")[0]
    row = Forecast.objects.within(here).order_by("-made_on").values()[0]
    return {"day": state.day, "lived": state.lived, "blob": bytes(state.blob), **row, "id": 0, "has_prior": True}


def test_where_nothing_was_told_a_lot_stands_in_one_bare_hatch_as_ever(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = Batch.objects.within(here).get(drum=cast.drum)
        vessel = Vessel(batch.started_in.litres)
        assert (vessel.insulation, vessel.vents) == (Insulation.BARE, Vents.USUAL)
        assert stays(here) == (Stay(batch.opened_at, vessel),)


@pytest.mark.parametrize(
    ("insulation", "vents", "warmer"), [("foam", "usual", True), ("double", "usual", True), ("bare", "many", False)]
)
def test_a_thick_wall_is_foretold_warmer_and_more_air_cooler(
    cast: Cast, insulation: str, vents: str, warmer: bool
) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        (plain,) = night.decide(night.gather(here, FIRST + NIGHT * DAY)).thoughts
        make(cast, here, insulation, vents, "always", NOW + NIGHT * DAY)
        (other,) = night.decide(night.gather(here, FIRST + NIGHT * DAY)).thoughts
        assert plain.foreseen is not None
        assert other.foreseen is not None
        before, after = plain.foreseen.temperature_c.p50, other.foreseen.temperature_c.p50
        print("mean of 12 days:", round(sum(before) / len(before), 1), "->", round(sum(after) / len(after), 1), "C")
        assert (sum(after) > sum(before) + len(before)) == warmer  # by a degree at least
        assert (sum(after) < sum(before)) != warmer


def test_a_new_wall_leaves_the_days_before_it_and_the_state_kept_of_them(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        look_ahead(here, NIGHT)
        last = told(here)
        wrapped = NOW + NIGHT * DAY  # at eight in the evening of the 18th
        make(cast, here, "foam", now=wrapped)
        (kept,) = night.gather(here, FIRST + (NIGHT + 1) * DAY).kept.values()
        assert (kept.day, kept.blob) == (dt.date(2026, 5, 17), last["blob"]), "the night goes on from where it was"
        old, new = stays(here, NIGHT + 1)
        assert (old.vessel.insulation, new.vessel.insulation, new.since) == ("bare", "foam", wrapped)
        # A night that is made up for sees what was there then.
        assert [one.vessel.insulation for one in stays(here)] == ["bare"]
        look_ahead(here, NIGHT)
        assert told(here) == last


def test_going_on_over_a_new_wall_is_to_the_byte_as_living_all_anew(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        look_ahead(here, NIGHT)
        make(cast, here, "foam", now=NOW + NIGHT * DAY)
        pails(here, cast.drum, range(NIGHT, NIGHT + 2))
        look_ahead(here, NIGHT + 2)
        advanced = told(here)
        ForecastState.objects.within(here).all().delete()
        look_ahead(here, NIGHT + 2)
        assert {**told(here), "uid": 0} == {**advanced, "uid": 0}


def test_what_was_so_all_along_is_lived_anew_from_the_beginning(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        look_ahead(here, NIGHT)
        make(cast, here, "foam", since="always", now=NOW + NIGHT * DAY)
        gathered = night.gather(here, FIRST + (NIGHT + 1) * DAY)
        assert dict(gathered.kept) == {}
        assert [one.vessel.insulation for one in gathered.lots[0].history.stays] == ["foam"]
        assert ForecastState.objects.within(here).get().version == states.VERSION, "not because the model changed"


def test_a_lot_in_a_curing_bin_stands_in_what_that_is_made_of(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        a_fortnight(here, cast.drum)
        batch = put_in(here, batch_in(here, cast, "A"), "curing", NOW + 12 * DAY)
        moved = NOW + 13 * DAY
        crate = move(told=Move(uuid4(), batch.uid, None, 200), **by(cast, here, moved)).to_place
        raw = {"uid": uuid4(), "place": crate.uid, "insulation": "double", "vents": "many", "since": "always"}
        set_make(told=BinMake.from_raw(raw), **by(cast, here, moved + DAY))
        make(cast, here, "foam", now=moved + DAY)  # of the drum, which it has left
        first, second = stays(here, NIGHT + 1)
        assert first.vessel.insulation == "bare"
        assert second == Stay(moved, Vessel(200, Insulation.DOUBLE, Vents.MANY))


def test_a_what_if_reckons_with_the_drum_as_it_is_made_now(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = WhatIf(
            site=cast.drum.site,
            households=6,
            drums=1,
            curing_bins=0,
            browns_percent=100,
            begins_on=FIRST,
            need_by=None,
        )
        litres = Place.objects.within(here).filter(drum=cast.drum)[0].litres
        assert [plan.vessel for plan in plans_of(here, row, NOW)] == [Vessel(litres)]
        make(cast, here, "foam", "few")
        assert [plan.vessel for plan in plans_of(here, row, NOW)] == [Vessel(litres, Insulation.FOAM, Vents.FEW)]
