"""What if: asked once, followed while it is worked out, answered in words and over the API."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from bins.forecasts import seasons, what_if
from bins.forecasts.seasons import PRINTED_KG_A_WEEK, habits
from bins.forecasts.what_if import Levers, ask
from bins.models import WhatIf
from bins.records import Refused
from coordinator.jobs import what_if as job
from coordinator.jobs.claim import Due
from coordinator.jobs.run import run_due
from coordinator.jobs.work import Step
from households.ledger import UidReused
from households.models import Household, Job
from households.tenancy import inside
from tests.bins.forecasts.lived import pail
from tests.cast import NOW, Cast
from tests.coordinator.test_care_pages import as_, at, form_of, uid_in, words
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded

DAY = dt.timedelta(days=1)
TODAY = dt.date(2026, 5, 4)


@pytest.fixture(autouse=True)
def _short_year(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seasons, "SEASON_DAYS", 15)


@pytest.fixture(autouse=True)
def _that_monday() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def raw(cast: Cast, **more: object) -> dict[str, Any]:
    return {
        "uid": str(uuid4()), "site": str(cast.drum.site.uid), "households": 6, "drums": 1, "curing_bins": 0,
        "browns_percent": 100, **more,
    }  # fmt: skip


def asked(cast: Cast, sent: dict[str, Any]) -> WhatIf:
    with inside(cast.building.uid) as here:
        return ask(building=here, told=Levers.from_raw(sent), person=cast.committee, now=NOW)


def test_a_question_on_the_page_is_answered_by_a_job_and_the_page_looks_again_meanwhile(cast: Cast) -> None:
    committee = as_(cast.committee)
    page = committee.get(at(cast, "what-if"))
    assert "We count on 2.2 kg a household and week" in words(page)
    form = form_of(page.content.decode(), at(cast, "what-if"))
    sent = raw(cast, uid=uid_in(form), need_by="2026-06-01")
    answer = committee.post(at(cast, "what-if"), sent).url
    waiting = committee.get(answer)
    assert '<meta http-equiv="refresh" content="5">' in waiting.content.decode()
    assert "It waits for its turn." in words(waiting)
    stopped = committee.get(answer.removesuffix("?look=on"))
    assert "refresh" not in stopped.content.decode(), "a page that moves by itself can be stopped"
    with inside(cast.building.uid) as here:
        WhatIf.objects.within(here).update(done_days=7, all_days=44)
    assert "7 of 44 days are done." in words(committee.get(answer))
    go_outside()
    run_due(NOW)
    done = committee.get(answer)
    assert "refresh" not in done.content.decode()
    said = words(done)
    assert "What came of it" in said
    assert "However soon it begins, compost on June 1, 2026 is not to be counted on." in said
    assert "6 households, 1 drum, 0 curing bins, browns 100 %" in words(committee.get(at(cast, "what-if")))
    assert as_(cast.resident).get(answer).status_code == 404


def test_how_far_it_is_is_told_before_the_answer_is_kept(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    row = asked(cast, raw(cast, need_by="2026-05-20"))
    told: list[tuple[int, int]] = []
    live_all = job.live_all
    monkeypatch.setattr(
        job,
        "live_all",
        lambda plans, tell: live_all(
            plans, lambda done, all_days: (told.append((done, all_days)), tell(done, all_days))
        ),
    )
    with inside(cast.building.uid) as here:
        step = Step(Due(str(here.uid), what_if.NAME, str(row.uid)), here, NOW)
        found = job.WORK.gather(step)
    job.WORK.decide(found)
    # A season of 15 days, then one start and 17 days to the day that compost is wanted by.
    assert told == [(0, 32), (7, 32), (14, 32), (15, 32), (22, 32), (29, 32)]
    with inside(cast.building.uid) as here:
        row = WhatIf.objects.within(here).get()
        assert (row.done_days, row.all_days, row.result) == (29, 32, None)


def test_the_same_question_twice_is_one_and_other_levers_are_refused(cast: Cast) -> None:
    sent = raw(cast)
    assert asked(cast, sent).pk == asked(cast, sent).pk
    with pytest.raises(UidReused):
        asked(cast, sent | {"drums": 2})
    assert Job.objects.filter(name=what_if.NAME).count() == 1


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"households": 0}, "households"), ({"households": 301}, "households"), ({"drums": ""}, "drums"),
        ({"browns_percent": 401}, "browns_percent"), ({"need_by": "soon"}, "need_by"), ({"uid": "x"}, "uid"),
        ({"need_by": TODAY.isoformat()}, "need_by"), ({"need_by": "2027-05-05"}, "need_by"),
        ({"begins_on": "2027-05-05"}, "begins_on"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_by_field(cast: Cast, more: dict[str, Any], fault: str) -> None:
    with pytest.raises(Refused) as refused:
        asked(cast, raw(cast, **more))
    assert list(refused.value.errors) == [fault]


@pytest.mark.parametrize("more", [{"need_by": "2026-05-05"}, {"need_by": "2027-05-04"}, {"begins_on": "2027-05-04"}])
def test_the_last_day_of_a_year_is_within_it(cast: Cast, more: dict[str, Any]) -> None:
    assert asked(cast, raw(cast, **more)).pk


def test_a_fourth_question_waits_for_the_first_three(cast: Cast) -> None:
    for _ in range(3):
        asked(cast, raw(cast))
    with pytest.raises(Refused):
        asked(cast, raw(cast))
    assert as_(cast.committee).post(at(cast, "what-if"), raw(cast)).status_code == 422


def test_a_question_that_nobody_answers_any_more_says_so(cast: Cast) -> None:
    row = asked(cast, raw(cast))
    Job.objects.filter(name=what_if.NAME).update(state=Job.State.PARKED)
    said = words(as_(cast.committee).get(at(cast, "what-if-answer", row.uid)))
    assert "This could not be worked out. Please ask again." in said


def test_a_household_brings_what_the_record_says_once_it_is_long_enough(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        homes = list(Household.objects.within(here))
        assert len(homes) < seasons.LEAST_HOUSEHOLDS
        for day in range(30):
            pail(here, cast.drum, NOW - day * DAY, now=NOW)
        found = habits(here, cast.drum.site, NOW + DAY)
        assert (found.kg_per_week, found.is_own) == (PRINTED_KG_A_WEEK, False), "of few households no mean is told"


def test_the_api_asks_follows_and_reads(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        token = give_token(here, cast.caretaker)
    go_outside()
    base, headers = f"/api/buildings/{cast.building.uid}/what-ifs/", {"Authorization": f"Bearer {token}"}
    client = Client(headers=headers)
    sent = raw(cast, households=12)
    answer = client.post(base, sent, content_type="application/json")
    assert (answer.status_code, answer.json()["state"]) == (202, "asked")
    assert client.post(base, sent | {"drums": 3}, content_type="application/json").status_code == 422
    run_due(NOW)
    one = client.get(f"{base}{sent['uid']}/").json()
    assert (one["state"], one["begins_on"], one["result"]["kg_per_week"]) == ("done", "2026-05-04", 2.2)
    # 26 kg a week with as much browns, in a hatch of 100 L: shut long before a year is over, if not in a fortnight.
    assert 0 <= one["result"]["full_permille"] <= 1000
    assert [row["uid"] for row in client.get(base).json()] == [sent["uid"]]
