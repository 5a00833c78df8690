"""What an operator asks: which jobs are not done, run as of then, try again, and are two histories equal."""

from collections.abc import Iterator
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from bins.models import Place
from coordinator.jobs import run
from households.models import Job, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast
from tests.filled import go_outside

from .scenes import FIRST_NIGHT, fill_to_the_mark

pytestmark = pytest.mark.embedded


@pytest.fixture
def as_owner(cast: Cast) -> Iterator[None]:
    """As DATABASE_ROLE=owner does on PostgreSQL."""
    go_outside()
    if connection.vendor == "sqlite":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE")
    yield
    with connection.cursor() as cursor:
        cursor.execute("SET ROLE app")


def told(*words: str) -> tuple[list[str], str]:
    out, err = StringIO(), StringIO()
    call_command(*words, stdout=out, stderr=err)
    return out.getvalue().splitlines(), err.getvalue()


@pytest.mark.usefixtures("as_owner")
def test_jobs_lists_what_is_not_done_with_the_first_line_of_its_error(cast: Cast) -> None:
    Job.plan(None, "unheard-of", "1", NOW)
    run.run_due(NOW)
    lines, errors = told("jobs")
    assert errors == ""
    error = "LookupError: no job is called unheard-of"
    assert lines[0] == f"due     2026-05-04T16:00:30Z  1 tried  all  unheard-of 1  {error}"
    assert sorted(line for line in lines if "night" in line) == sorted(
        f"due     2026-05-05T01:00:00Z  0 tried  {uid}  night 2026-05-05"
        for uid in (cast.building.uid, cast.elsewhere.uid)
    )


def test_the_app_role_is_told_that_it_does_not_see_all(cast: Cast) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("no second wall here")
    go_outside()
    Job.plan(None, "unheard-of", "1", NOW)
    lines, errors = told("jobs")
    assert len(lines) == 1
    assert "behind the wall" in errors
    lines, errors = told("digest")
    assert (lines, "DATABASE_ROLE=owner" in errors) == ([], True)


@pytest.mark.usefixtures("as_owner")
def test_as_of_runs_what_is_due_at_that_instant(cast: Cast) -> None:
    assert told("jobs", "--as-of", "2026-05-05T02:59:59+02:00") == (["0 ran"], "")
    assert told("jobs", "--as-of", "2026-05-05T03:00:00+02:00") == (["2 ran"], "")
    for nonsense in ("2026-05-05T03:00:00", "noon", "2026-13-01T00:00:00Z"):
        with pytest.raises(CommandError, match="offset"):
            told("jobs", "--as-of", nonsense)


@pytest.mark.usefixtures("as_owner")
def test_retry_makes_parked_jobs_due_with_all_their_attempts(cast: Cast) -> None:
    Job.plan(None, "unheard-of", "1", NOW)
    Job.objects.filter(name="unheard-of").update(state="parked", attempts=5)
    assert told("jobs", "--retry") == (["1 due again"], "")
    assert [*Job.objects.filter(name="unheard-of").values_list("state", "attempts")] == [("due", 0)]


def test_the_digest_leaves_out_internal_keys_and_times_heard_and_sees_all_else(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    go_outside()
    one = ("digest", "--building", str(cast.building.uid))
    before, rows = told(*one), told(*one, "--rows")[0]
    assert len(before[0]) == 1
    assert before[0][0].endswith(f"{cast.building.uid}  {len(rows) - 1} rows")
    assert not [row for row in rows if '"id"' in row or "building_id" in row or "heard_at" in row or "lease" in row]
    assert [row for row in rows if f'"drum": "{cast.drum.uid}"' in row]
    with inside(cast.building.uid) as here:
        Job.objects.filter(building=here).update(attempts=3, last_error="OSError", wake_at=FIRST_NIGHT)
        Notice.post(building=here, kind="welcome", to="x@y.invalid", subject="s", body="", due_at=NOW)
        Notice.objects.filter(building=here).update(created_at=FIRST_NIGHT)
        with_notice = told(*one)
        Notice.objects.filter(building=here).update(sent_at=NOW)
        assert told(*one) == with_notice != before
        Job.objects.filter(building=here, name="deliver").delete()
        Notice.objects.filter(building=here).delete()
        assert told(*one) == before
        Place.objects.within(here).filter(letter="B").update(litres=101)
        assert told(*one) != before
    with pytest.raises(CommandError, match="no building"):
        told("digest", "--building", "00000000-0000-4000-8000-000000000000")


@pytest.mark.usefixtures("as_owner")
def test_the_owner_gets_a_digest_of_every_building(cast: Cast) -> None:
    lines, errors = told("digest")
    assert errors == ""
    assert sorted(line.split()[1] for line in lines) == sorted([str(cast.building.uid), str(cast.elsewhere.uid)])
    assert lines[0].split()[0] != lines[1].split()[0]
