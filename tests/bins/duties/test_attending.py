"""Somebody looks after the place, or intake pauses with seven days' notice, through the way every full site goes."""

import datetime as dt
from uuid import UUID, uuid4

import pytest

from bins.duties.attending import Span, look, pause_of, unattended
from bins.duties.leads import DaysTold, lead_away, let_go, set_leads, stand_in
from bins.hatch import drum_states
from bins.records import Refused
from coordinator.jobs.run import run_due
from households.ledger import open_ledger
from households.models import Building, IntakePause, Job, Notice, Person, Role
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .planned import DAY, TODAY, site_of

pytestmark = pytest.mark.embedded


def days(person: Person, first: dt.date, last: dt.date, uid: UUID | None = None) -> DaysTold:
    told = {"uid": uid or uuid4(), "person": person.uid, "first": first, "last": last}
    return DaysTold.from_raw(told, TODAY)


def lead(here: Building, cast: Cast, *people: Person) -> None:
    uids = tuple(person.uid for person in people)
    set_leads(building=here, site=site_of(cast), people=uids, person=cast.caretaker, now=NOW)


def at(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(9), tzinfo=dt.UTC)


def night(here: Building, day: dt.date) -> None:
    with open_ledger(here):
        look(here, at(day))


def kinds(here: Building) -> list[str]:
    return [
        kind.partition(":")[0]
        for kind in Notice.objects.filter(building=here).order_by("pk").values_list("kind", flat=True)
    ]


def test_a_day_is_unattended_when_every_lead_is_away_and_nobody_stands_in() -> None:
    first = dt.date(2026, 5, 4)
    one, other = Span(first, first + 3 * DAY), Span(first + 2 * DAY, first + 9 * DAY)
    assert unattended([], [], first, 9) == []
    assert unattended([(one,), ()], [], first, 9) == []
    assert unattended([(one,), (other,)], [], first, 9) == [first + 2 * DAY, first + 3 * DAY]
    assert unattended([(one,), (other,)], [Span(first + 3 * DAY, first + 3 * DAY)], first, 9) == [first + 2 * DAY]


def test_a_pause_is_told_seven_days_before_and_neither_earlier_nor_later(cast: Cast) -> None:
    alone_from = TODAY + 10 * DAY
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker)
        lead_away(
            building=here, site=site_of(cast), told=days(cast.caretaker, alone_from, alone_from + 5 * DAY), now=NOW
        )
        night(here, alone_from - 8 * DAY)
        assert (pause_of(here, site_of(cast)), kinds(here)) == (None, [])
        night(here, alone_from - 7 * DAY)
        night(here, alone_from - 7 * DAY)
        pause = pause_of(here, site_of(cast))
        assert pause is not None
        assert (pause.first_on, kinds(here)) == (alone_from, ["pause", "pause"])  # two residents, each once


def test_told_too_late_the_pause_begins_seven_days_from_then_or_not_at_all(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker)
        lead_away(building=here, site=site_of(cast), told=days(cast.caretaker, TODAY, TODAY + 6 * DAY), now=NOW)
        assert pause_of(here, site_of(cast)) is None
        lead_away(building=here, site=site_of(cast), told=days(cast.caretaker, TODAY, TODAY + 7 * DAY), now=NOW)
        pause = pause_of(here, site_of(cast))
        assert pause is not None
        assert pause.first_on == TODAY + 7 * DAY


def test_the_drums_rest_from_its_first_day_to_the_day_somebody_is_back(cast: Cast) -> None:
    alone_from = TODAY + 7 * DAY
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker)
        lead_away(building=here, site=site_of(cast), told=days(cast.caretaker, alone_from, alone_from + DAY), now=NOW)
        opens = []
        for day in range(4):
            night(here, alone_from + (day - 1) * DAY)
            Notice.objects.filter(building=here).update(sent_at=at(alone_from), body="")
            opens.append(drum_states(here)[0].open is not None)
        assert opens == [True, False, False, True]
        assert IntakePause.objects.within(here).get().ended_on == alone_from + 2 * DAY
        # The residents hear of the fallback and of the end as of any site that is full.
        assert kinds(here) == ["pause", "pause", "full", "full", "open", "open"]


def test_a_stand_in_calls_the_pause_off_and_may_do_what_a_caretaker_may_for_those_days(cast: Cast) -> None:
    alone_from = TODAY + 7 * DAY
    told = days(cast.neighbour, alone_from, alone_from + 2 * DAY)
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker)
        lead_away(
            building=here, site=site_of(cast), told=days(cast.caretaker, alone_from, alone_from + 2 * DAY), now=NOW
        )
        assert kinds(here) == ["pause", "pause"]
        for _twice in range(2):
            stand_in(building=here, site=site_of(cast), told=told, person=cast.caretaker, now=NOW)
        assert (pause_of(here, site_of(cast)), kinds(here)) == (None, [])  # unsent, so taken back
        roles = Role.objects.within(here).filter(person=cast.neighbour, kind="caretaker")
        held = [roles.held_on(alone_from + day * DAY).exists() for day in (-1, 0, 2, 3)]
        assert held == [False, True, True, False]
        let_go(building=here, site=site_of(cast), uid=told.uid, person=cast.caretaker, now=NOW)
        assert not roles.exists()
        assert pause_of(here, site_of(cast)) is not None


def test_a_lead_is_somebody_who_looks_after_the_place_and_there_are_two_at_most(cast: Cast) -> None:
    second, third = (newcomer(cast.building, name, "", "caretaker") for name in ("Noor", "Anselm"))
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker, second)
        lead(here, cast, second, third)
        for people in ((cast.resident,), (cast.caretaker, second, third), (second, second)):
            with pytest.raises(Refused):
                lead(here, cast, *people)


def test_the_duties_night_looks_every_morning_while_somebody_leads(cast: Cast) -> None:
    alone_from = TODAY + 8 * DAY
    with inside(cast.building.uid) as here:
        lead(here, cast, cast.caretaker)
        lead_away(building=here, site=site_of(cast), told=days(cast.caretaker, alone_from, alone_from), now=NOW)
        Job.objects.exclude(name="duties").delete()
        assert pause_of(here, site_of(cast)) is None
    # 03:45 in Berlin
    run_due(dt.datetime(2026, 5, 5, 1, 45, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        assert pause_of(here, site_of(cast)) is not None
        assert set(Job.objects.filter(name="duties").values_list("key", "state")) == {
            ("2026-05-05", "done"), ("2026-05-06", "due"),
        }  # fmt: skip
