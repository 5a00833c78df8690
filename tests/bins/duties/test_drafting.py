"""A plan is asked for, kept as a row, and worked out by whoever runs its job."""

from random import Random
from typing import Any
from uuid import UUID, uuid4

import pytest

from bins.duties.drafting import MOST_KEPT, NAME, DaysToPlan, State, ask, state_of
from bins.duties.outcomes import Outcome, as_raw, of_raw
from bins.duties.publishing import PutUp, put_up
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, Job, RotaDraft, Site
from households.rota.planning import replan, solve
from households.tenancy import inside
from tests.cast import NOW, Cast
from tests.households.rota.instances import draw

from .planned import DAY, TODAY, draft, kind, site_of

pytestmark = pytest.mark.embedded

FIRST, LAST = TODAY + DAY, TODAY + 28 * DAY


def asked(here: Building, site: Site, **raw: Any) -> RotaDraft:
    told = DaysToPlan.from_raw({"uid": uuid4(), "first": FIRST, "last": LAST} | raw, TODAY)
    return ask(building=here, site=site, told=told, person=None, now=NOW)


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"first": TODAY - DAY}, "first"),
        ({"first": ""}, "first"),
        ({"last": FIRST - DAY}, "last"),
        ({"last": FIRST + 93 * DAY}, "last"),
        ({"last": "soon"}, "last"),
        ({"uid": "x"}, "uid"),
    ],
)
def test_days_that_make_no_sense_are_refused_by_field(cast: Cast, raw: dict[str, Any], field: str) -> None:
    with inside(cast.building.uid) as here:
        with pytest.raises(Refused) as refused:
            asked(here, site_of(cast), **raw)
        assert [*refused.value.errors] == [field]


@pytest.mark.parametrize("raw", [{"first": TODAY}, {"last": FIRST}, {"last": FIRST + 92 * DAY}])
def test_the_first_and_the_last_day_that_may_be_told_are_taken(cast: Cast, raw: dict[str, Any]) -> None:
    with inside(cast.building.uid) as here:
        assert asked(here, site_of(cast), **raw).pk


def test_the_same_days_under_one_uid_are_asked_once_and_others_are_refused(cast: Cast) -> None:
    uid = uuid4()
    with inside(cast.building.uid) as here:
        rows = [asked(here, site_of(cast), uid=uid) for _ in range(2)]
        assert rows[0].pk == rows[1].pk
        assert Job.objects.filter(building=here, name=NAME, key=str(uid)).count() == 1
        with pytest.raises(UidReused):
            asked(here, site_of(cast), uid=uid, last=LAST - DAY)


def test_days_with_a_plan_are_planned_again_and_days_without_are_not(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        with pytest.raises(Refused) as refused:
            asked(here, site_of(cast), again=True)
        assert [*refused.value.errors] == ["first"]
        row = draft(here, site_of(cast), FIRST, LAST)
        put_up(building=here, draft=row, told=PutUp(uuid4(), "published"), person=None, now=NOW)
        for first, last in ((FIRST - DAY, FIRST), (LAST, LAST + DAY), (FIRST + DAY, FIRST + DAY)):
            with pytest.raises(Refused) as refused:
                asked(here, site_of(cast), first=first, last=last)
            assert [*refused.value.errors] == ["first"]
        with pytest.raises(Refused):
            asked(here, site_of(cast), last=LAST - DAY, again=True)
        assert asked(here, site_of(cast), again=True).is_again


def test_a_fourth_plan_waits_for_the_first_three_and_only_the_newest_are_kept(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for _ in range(3):
            asked(here, site_of(cast))
        with pytest.raises(Refused):
            asked(here, site_of(cast))
        for _ in range(MOST_KEPT):
            Job.objects.filter(name=NAME).update(state=Job.State.DONE, done_at=NOW)
            last = asked(here, site_of(cast))
        kept = RotaDraft.objects.within(here)
        assert (kept.count(), kept.filter(pk=last.pk).exists()) == (MOST_KEPT, True)


def test_how_far_it_is_stands_in_its_job_until_it_is_done(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = asked(here, site_of(cast))
        seen = [state_of(here, row)]
        for values in (
            {"state": Job.State.RUNNING, "token": uuid4(), "lease_until": NOW},
            {"state": Job.State.PARKED, "token": None, "lease_until": None},
        ):
            Job.objects.filter(name=NAME).update(**values)
            seen.append(state_of(here, row))
        Job.objects.filter(name=NAME).delete()
        assert [*seen, state_of(here, row)] == [State.ASKED, State.RUNNING, State.FAILED, State.FAILED]
        assert state_of(here, draft(here, site_of(cast), FIRST, LAST)) is State.DONE


def test_what_was_found_is_read_again_as_it_was() -> None:
    """Plans, three of them, and reasons why there is none, from twenty problems that were drawn; and no answer."""
    problems = [draw(Random(seed)) for seed in range(10)]
    outcomes: list[Outcome] = [None, *map(solve, problems), *map(replan, problems)]
    kinds = {type(one).__name__ for one in outcomes}
    assert kinds == {"NoneType", "Plan", "Replans", "Infeasible"}
    assert [of_raw(as_raw(one)) for one in outcomes] == outcomes
    with pytest.raises(KeyError):
        of_raw({"kind": str(UUID(int=0))})
