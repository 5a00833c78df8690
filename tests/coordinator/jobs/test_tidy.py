"""The nightly tidying, by the runner: what may not be kept longer is gone the morning after."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.models import ImportRun
from bins.people import tidy
from bins.people.moving_out import Leaving, move_out
from bins.sheets.importing import take_file
from coordinator.jobs.run import run_due
from households.models import Job, Person
from households.tenancy import inside
from tests.cast import NOW, Cast
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


def keys(cast: Cast, state: str) -> list[str]:
    with inside(cast.building.uid) as here:
        found = Job.objects.filter(building=here, name=tidy.NAME, state=state).order_by("key")
        result = list(found.values_list("key", flat=True))
    go_outside()
    return result


def test_a_file_and_somebody_who_moved_out_are_gone_once_their_time_is_over(cast_in_the_open: Cast) -> None:
    cast = cast_in_the_open
    with inside(cast.building.uid) as here:
        take_file(building=here, uid=uuid4(), kind="visits", content=b"date,drum\n", person=None, now=NOW)
        told = Leaving.from_raw({"uid": str(uuid4()), "last_day": "2026-05-07", "share": "garden", "sure": "yes"})
        assert cast.resident.household is not None
        move_out(building=here, household=cast.resident.household, told=told, person=None, via="web", now=NOW)
    assert keys(cast, "due") == ["2026-05-06", "2026-05-08"]
    # 03:30 in Berlin is 01:30 UTC.
    run_due(dt.datetime(2026, 5, 6, 1, 30, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        assert not ImportRun.objects.within(here).exists()
        assert Person.objects.within(here).filter(pk=cast.resident.pk).exists()
    assert (keys(cast, "done"), keys(cast, "due")) == (["2026-05-06"], ["2026-05-07", "2026-05-08"])
    run_due(dt.datetime(2026, 5, 7, 1, 30, tzinfo=dt.UTC))
    run_due(dt.datetime(2026, 5, 8, 1, 30, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        assert not Person.objects.within(here).filter(pk=cast.resident.pk).exists()
    assert keys(cast, "due") == [], "nobody is waited for, so no further night is promised"
