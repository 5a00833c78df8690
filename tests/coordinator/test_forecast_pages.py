"""When it will be ready and whether there will be room: the pages, the line for residents, the API, the job."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bins.forecasts import night
from bins.models import Batch, Forecast, ForecastHit, Place
from bins.process.ranges import Record
from coordinator.forecast_words import between, clash_line, gap_line, score_line
from coordinator.jobs.run import run_due
from households.models import Building, Job
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, put_in
from tests.bins.forecasts.lived import a_fortnight, pails, visit
from tests.cast import NOW, Cast, found
from tests.coordinator.test_care_pages import as_, at, words
from tests.filled import give_token, go_outside

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]

TODAY = dt.date(2026, 6, 3)
LATER = NOW + 30 * DAY  # 3 June 2026
BAND = [[20] * 12, [25] * 12, [30] * 12]


def foretold(here: Building, batch: Batch, made_on: dt.date, **values: Any) -> Forecast:
    row: Forecast = Forecast.objects.create(
        building=here, batch=batch, made_on=made_on, horizon_days=180,
        **{
            "full_low": None, "compost_low_ml": 30_000, "compost_mid_ml": 36_000, "compost_high_ml": 44_000,
            "ready_low": dt.date(2026, 8, 3), "ready_mid": dt.date(2026, 8, 14), "ready_high": dt.date(2026, 8, 24),
        } | values,
    )  # fmt: skip
    return row


def clash(permille: int, short: list[int] | None = None) -> dict[str, Any]:
    return {"permille": permille, "full": [5, 9, 14], "empty": [30, 40, 60], "short": short}


@pytest.fixture
def open_lot(cast: Cast) -> Any:
    """The open lot with last night's forecast: full in a week, ready in August."""
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        made_on = TODAY - DAY
        foretold(here, batch, made_on - 7 * DAY, ready_low=dt.date(2026, 7, 20), ready_high=dt.date(2026, 9, 30))
        foretold(
            here, batch, made_on, full_low=dt.date(2026, 6, 7), full_mid=dt.date(2026, 6, 11),
            full_high=dt.date(2026, 6, 16), clash=clash(640, [16, 31, 46]), bands={"level": BAND, "temperature": BAND},
        )  # fmt: skip
    go_outside()
    with time_machine.travel(LATER, tick=False):
        yield batch


def test_the_page_opens_with_whether_there_will_be_room_and_marks_the_clash(cast: Cast, open_lot: Batch) -> None:
    page = as_(cast.committee).get(at(cast, "forecast"))
    said = words(page)
    assert "Drum 1 will probably be full before another hatch is empty." in said
    assert "6 times out of 10, the open hatch is full before another one is empty." in said
    assert "Then nothing is open for about 4 weeks." in said
    assert "The open hatch of drum 1 is full probably between June 7 and June 16." in said
    assert said.index("Do one of these before June 7:") < said.index("Hatch A"), "what to do comes before the drawing"
    assert "probably between June 7 and June 16" in said
    assert "30 L to 44 L" in said
    content = page.content.decode()
    assert content.count("<svg") == 1
    assert "nothing open</text>" in content
    assert "<desc" in content
    assert "No lot has come to its end here since forecasts are made" in said


def test_a_lot_page_has_the_band_that_narrows_with_a_table_behind_it(cast: Cast, open_lot: Batch) -> None:
    page = as_(cast.caretaker).get(at(cast, "forecast-lot", open_lot.uid))
    said = words(page)
    assert "ready probably between August 3 and August 24." in said
    assert "July 20" in said, "what was thought a week before stands in the table"
    assert page.content.decode().count('<svg class="chart"') == 3
    assert "style=" not in page.content.decode()


def test_a_building_that_counts_in_gallons_reads_fahrenheit(cast: Cast, open_lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(units=Building.Units.US)
    go_outside()
    said = words(as_(cast.caretaker).get(at(cast, "forecast-lot", open_lot.uid)))
    assert "In a week: 68 °F to 86 °F." in said  # 20 and 30 °C
    assert "In a week: 20 % to 30 %." in said
    assert "8 gal to 12 gal" in said


def test_residents_get_one_line_and_no_page(cast: Cast, open_lot: Batch) -> None:
    line = "The next compost of this drum: probably between August 3 and August 24."
    resident = as_(cast.resident)
    assert line in words(resident.get(at(cast, "hatch", cast.drum.uid)))
    assert line in words(resident.get(at(cast, "building")))
    assert line not in words(Client().get(at(cast, "hatch", cast.drum.uid)))
    assert resident.get(at(cast, "forecast")).status_code == 404
    assert resident.get(at(cast, "forecast-lot", open_lot.uid)).status_code == 404


def test_a_lot_without_a_forecast_says_why(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
    go_outside()
    caretaker, address = as_(cast.caretaker), at(cast, "forecast-lot", batch.uid)
    with time_machine.travel(NOW + 8 * DAY, tick=False):
        assert "Nobody wrote down what went into it" in words(caretaker.get(address))
        with inside(cast.building.uid) as here:
            pails(here, cast.drum, range(3))
            visit(here, cast.drum, 1, "quarter")
        assert "It takes two looks at how full it is, on two different days." in words(caretaker.get(address))
        with inside(cast.building.uid) as here:
            visit(here, cast.drum, 2, "quarter")
        assert "The first forecast is made tonight." in words(caretaker.get(address))
        with inside(cast.building.uid) as here:
            for stage in ("composting", "curing", "ready"):
                put_in(here, batch, stage, NOW + 3 * DAY)
        assert "It is finished." in words(caretaker.get(address))
    assert "Nobody can tell yet if there will be room." in words(caretaker.get(at(cast, "forecast")))


def test_a_lot_in_trouble_is_shown_with_and_without_what_is_advised(cast: Cast, open_lot: Batch) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "trouble", open_lot.uid)
    with inside(cast.building.uid) as here:
        Forecast.objects.within(here).filter(made_on=TODAY - DAY).update(remedied=[55, 60, 70])
        visit(here, cast.drum, 29, "half", trouble="rotten")
    go_outside()
    said = words(caretaker.get(address))
    assert "If you do this probably between July 27 and August 11" in said
    assert "If nothing is done probably between August 3 and August 24" in said


def test_an_old_forecast_says_of_when_it_is_and_the_line_for_residents_falls_silent(
    cast: Cast, open_lot: Batch
) -> None:
    with time_machine.travel(LATER + 3 * DAY, tick=False):
        assert "This is of June 2, 2026; no newer forecast was made." in words(
            as_(cast.caretaker).get(at(cast, "forecast"))
        )
        assert "The next compost" not in words(as_(cast.resident).get(at(cast, "building")))


def test_how_often_ranges_held_stands_beside_them(cast: Cast, open_lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        place = Place.objects.within(here).get(drum=cast.drum, letter="B")
        for number, happened in enumerate((20, 20, 43)):
            old = Batch.objects.create(
                building=here, drum=cast.drum, started_in=place, stage="harvested", opened_at=NOW - 200 * DAY,
                closed_at=NOW - 100 * DAY, ended_at=NOW - 10 * DAY,
            )  # fmt: skip
            made = TODAY - (40 + number) * DAY
            ForecastHit.objects.create(
                building=here, batch=old, what="ready", ahead_days=14, made_on=made, happened_on=made + happened * DAY,
                low=made + 10 * DAY, high=made + 30 * DAY, prior_low=made, prior_high=made + 100 * DAY,
            )  # fmt: skip
    go_outside()
    said = words(as_(cast.committee).get(at(cast, "forecast")))
    assert "14 days before a lot was ready, the range was right in 2 of 3 cases." in said
    # Scores 20, 20 and 20 + 10 x 13 = 150: mean 63; the prior's are 100 wide and held.
    assert "So far measuring helped: 63 points with it, 100 without." in said


def test_the_pages_ask_as_much_for_three_drums_as_for_one() -> None:
    counts = []
    for name, drums in (("Medlar Row", 1), ("Quince Lane", 3)):
        block = found(name, "Ada", f"ada@{name.replace(' ', '-').lower()}.invalid", drums=drums)
        with inside(block.building.uid) as here:
            for batch in Batch.objects.within(here):
                foretold(here, batch, TODAY - DAY, clash=clash(100))
        go_outside()
        client = as_(block.person)
        with time_machine.travel(LATER, tick=False), CaptureQueriesContext(connection) as asked:
            assert client.get(f"/b/{block.building.uid}/forecast/").status_code == 200
        counts.append(len(asked))
    print("queries of the page:", counts)
    assert counts[0] == counts[1]


def test_the_api_tells_forecasts_to_those_in_charge_and_a_range_to_everybody(cast: Cast, open_lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        tokens = [give_token(here, person) for person in (cast.caretaker, cast.resident)]
    go_outside()
    base, client = f"/api/buildings/{cast.building.uid}", Client()

    def get(name: str, token: str) -> Any:
        return client.get(f"{base}/{name}/", headers={"Authorization": f"Bearer {token}"})

    (told,) = get("forecasts", tokens[0]).json()["forecasts"]
    assert (told["batch"], told["made_on"], told["reason"]) == (str(open_lot.uid), "2026-06-02", None)
    assert told["full"] == {"low": "2026-06-07", "mid": "2026-06-11", "high": "2026-06-16"}
    assert told["clash"]["permille"] == 640
    assert get("forecasts", tokens[1]).status_code == 404
    assert get("ready-ranges", tokens[1]).json() == [
        {"drum": str(cast.drum.uid), "batch": str(open_lot.uid), "low": "2026-08-03", "high": "2026-08-24"}
    ]


def test_the_night_promises_the_forecast_and_the_job_makes_it(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(night, "HORIZON_DAYS", 12)
    with inside(cast.building.uid) as here:
        Job.objects.filter(building=here, name="night").delete()
        a_fortnight(here, cast.drum)
        Job.plan(here, "night", "2026-05-18", here.instant(dt.date(2026, 5, 18), dt.time(3)))
    go_outside()
    run_due(dt.datetime(2026, 5, 18, 1, 30, tzinfo=dt.UTC))  # 03:30 in Berlin: the night is over, the forecast waits
    with inside(cast.building.uid) as here:
        assert not Forecast.objects.within(here).exists()
        job = Job.objects.get(building=here, name="forecast")
        assert (job.key, job.wake_at, job.state) == ("2026-05-18", dt.datetime(2026, 5, 18, 2, tzinfo=dt.UTC), "due")
    go_outside()
    run_due(dt.datetime(2026, 5, 18, 2, 0, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        assert Forecast.objects.within(here).get().made_on == dt.date(2026, 5, 17)
        assert Job.objects.get(building=here, name="forecast").state == "done"


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (dt.date(2026, 6, 10), dt.date(2026, 6, 24), "probably between June 10 and June 24"),
        (dt.date(2026, 5, 1), dt.date(2026, 6, 24), "probably between June 3 and June 24"),
        (dt.date(2026, 5, 1), dt.date(2026, 5, 20), "about June 3"),
        (dt.date(2026, 6, 10), None, "not before June 10, and perhaps much later"),
        (None, None, "not within six months"),
        (dt.date(2026, 6, 10), dt.date(2027, 6, 24), "probably between June 10 and June 24, 2027"),
    ],
)
def test_a_range_of_days_reads_as_people_say_it(low: dt.date | None, high: dt.date | None, said: str) -> None:
    assert between(low, high, TODAY) == said


def test_a_range_without_an_end_tells_its_middle() -> None:
    low, mid = dt.date(2026, 8, 4), dt.date(2026, 11, 28)
    assert between(low, None, TODAY, mid) == "about November 28, perhaps much later; not before August 4"


@pytest.mark.parametrize(
    ("permille", "said"),
    [
        (199, "There will probably be room all along."),
        (200, "2 times out of 10, the open hatch is full before another one is empty."),
    ],
)
def test_a_small_chance_is_no_alarm(permille: int, said: str) -> None:
    assert clash_line(clash(permille)) == said


@pytest.mark.parametrize(("days", "said"), [(1, "1 day."), (20, "20 days."), (21, "3 weeks."), (124, "18 weeks.")])
def test_a_long_gap_is_told_in_weeks(days: int, said: str) -> None:
    assert gap_line(days) == f"Then nothing is open for about {said}"


@pytest.mark.parametrize(("rival", "said"), [(61, "helped"), (60, "did not help"), (59, "did not help")])
def test_measuring_is_said_to_help_only_where_it_did(rival: int, said: str) -> None:
    line = score_line(Record(tried=5, held=4, score_days=60.0, rival_score_days=float(rival)))
    assert line == f"So far measuring {said}: 60 points with it, {rival} without."


def test_where_there_is_room_nothing_has_to_be_done(cast: Cast, open_lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        Forecast.objects.within(here).update(clash=clash(100))
    go_outside()
    said = words(as_(cast.committee).get(at(cast, "forecast")))
    assert "There will probably be room all along." in said
    assert "Do one of these" not in said


def test_what_is_full_already_wants_something_done_now(cast: Cast, open_lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        Forecast.objects.within(here).filter(full_low__isnull=False).update(full_low=TODAY)
    go_outside()
    assert "Do one of these now:" in words(as_(cast.committee).get(at(cast, "forecast")))


def test_a_lot_of_elsewhere_does_not_exist_here(cast: Cast, open_lot: Batch) -> None:
    assert as_(cast.elsewhere_person).get(at(cast, "forecast-lot", open_lot.uid)).status_code == 404
    assert as_(cast.caretaker).get(at(cast, "forecast-lot", uuid4())).status_code == 404
