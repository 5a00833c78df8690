"""The rota and the set times of the invented block: made for the day of the load, whatever day of the week that is."""

import datetime as dt
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.db.models import Max
from django.test import Client
from django.urls import reverse

from bins.duties.drafting import State, state_of
from bins.duties.planning import gather
from bins.duties.wanting import wanting
from bins.models import Batch
from coordinator.demo.block import UID
from coordinator.jobs.run import run_due
from households.models import (
    Booking,
    Closure,
    Cover,
    CoverTaking,
    Duty,
    DutyAssignment,
    FeedKey,
    IntakePause,
    Notice,
    RotaDraft,
    RotaPlan,
    Slot,
)
from households.tenancy import inside

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]

WEDNESDAY = dt.datetime(2027, 1, 13, 9, 30, tzinfo=dt.UTC)
SUNDAY = dt.datetime(2027, 1, 17, 9, 30, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)


@pytest.mark.parametrize("now", [WEDNESDAY, SUNDAY])
def test_one_plan_is_over_one_is_in_force_and_one_is_ready_to_look_at(now: dt.datetime) -> None:
    with time_machine.travel(now, tick=False):
        call_command("demo", stdout=StringIO())
        with inside(UID) as here:
            today = here.local(now).date()
            before, present = RotaPlan.objects.within(here).order_by("first_on")
            assert before.last_on < today <= present.last_on
            assert {plan.first_on.weekday() for plan in (before, present)} == {0}
            weekdays = {(work, day.weekday()) for work, day in Duty.objects.values_list("kind__work", "day")}
            assert weekdays == {("turning", 0), ("turning", 3), ("browns", 2), ("trays", 4), ("opening", 5)}
            # A duty done while a lot lives gives a claim to it: what was shared out before stays as it was.
            assert Batch.objects.within(here).aggregate(last=Max("ended_at"))["last"].date() < before.first_on
            assert DutyAssignment.objects.within(here).values("household").distinct().count() == 14
            over = Duty.objects.within(here).filter(day__lt=today)
            assert over.filter(done_at__isnull=False).count() >= over.count() - 4
            assert over.filter(lapsed_at__isnull=False).exists()
            assert CoverTaking.objects.within(here).count() == 2
            assert Cover.objects.within(here).filter(closed_at__isnull=True, duty__day__gt=today).count() == 2
            assert wanting(here, now), "somebody is away whom the plan counted on"
            draft = RotaDraft.objects.within(here).select_related("site").get(first_on__gt=present.last_on)
            assert state_of(here, draft) is State.DONE
            assert gather(here, draft.site, draft.first_on, draft.last_on, now).mark == draft.rests_on
            assert not Notice.objects.filter(building=here).exists()
            assert not IntakePause.objects.within(here).exists()


def test_times_are_set_some_are_booked_and_the_holidays_return() -> None:
    with time_machine.travel(WEDNESDAY, tick=False):
        call_command("demo", stdout=StringIO())
    with inside(UID) as here:
        assert Slot.objects.within(here).count() == 2
        ahead = Booking.objects.within(here).filter(begins_at__gt=WEDNESDAY, state="kept")
        assert ahead.count() >= 5
        assert ahead.filter(quarter_pails=8, household__people__name="Imani").exists()
        assert ahead.filter(by_proxy=True).count() == 1
        assert Closure.objects.within(here).get().is_yearly


def test_the_four_guises_find_life_on_their_pages_and_in_the_calendar() -> None:
    with time_machine.travel(WEDNESDAY, tick=False):
        call_command("demo", stdout=StringIO())
        run_due(WEDNESDAY)
        with inside(UID) as here:
            site = Slot.objects.within(here).select_related("site")[0].site.uid
        client = Client()
        client.post("/demo/", {"email": "imani@demo.invalid"})
        pages = {name: client.get(reverse(name, args=[UID])).content.decode() for name in ("duties", "mine", "week")}
        assert "Your next duty" in pages["duties"]
        assert "You asked for cover" in pages["duties"]
        assert "Could you help out?" in pages["duties"]
        assert "Your next time is" in pages["mine"]
        assert "you come" in pages["week"]
        client.post(reverse("feed-new", args=[UID]))
        assert FeedKey.objects.count() == 1
        client.post("/demo/", {"email": "wanda@demo.invalid"})
        for name in ("duty-kinds", "rota", "stand-in", "stand-in-list", "slot-setup"):
            assert client.get(reverse(name, args=[UID, site])).status_code == 200, name
        today = client.get(reverse("today", args=[UID])).content.decode()
        assert "Please carry the pail down for:" in today
        assert "Turning the drums" in today
        assert "Everybody's duties are planned until" in client.get(reverse("rota", args=[UID, site])).content.decode()
