"""The block's set times and rota. They go by days of the week, which don't move along with dates: so they are made at
each load, for the load's own day, by the same services as anybody's. They begin after the last lot was taken out: a
duty done while a lot lives gives a claim to it, and what was shared out shall stay as it is."""

import datetime as dt
from collections.abc import Mapping
from uuid import UUID

from django.db import models

from bins.duties.cover import CoverAnswer, CoverAsked, answer
from bins.duties.cover import ask as ask_for_cover
from bins.duties.doing import finish, lapse, take
from bins.duties.drafting import NAME as DRAFT
from bins.duties.drafting import DaysToPlan, WorkedOut, ask, keep, work_out
from bins.duties.kinds import KindTold, set_kind
from bins.duties.leads import DaysTold, HandoverTold, lead_away, set_handover, set_leads, stand_in
from bins.duties.limits import LimitsTold, set_limits
from bins.duties.nightly import NAME as NIGHT
from bins.duties.nightly import promise
from bins.duties.openings import NAME as SHORT_OPENING
from bins.duties.planning import PERIOD_DAYS, gather
from bins.duties.publishing import PutUp, put_up
from bins.duties.sharers import SharersTold, set_sharers
from bins.models import Batch
from bins.slots.absences import Away, note_absence
from coordinator import walls
from households.ledger import open_ledger
from households.models import Building, Duty, Household, Job, RotaDraft, Site

from . import people, times
from .block import at, drums, uid

DAY, WEEK = dt.timedelta(days=1), dt.timedelta(days=7)
PERIOD = PERIOD_DAYS * DAY
WEEKS_GONE = 1  # of the plan that is in force
MOST_BEFORE = 3  # plans that are over
MINUTES = 30  # of every duty: with equal ones a plan takes a moment
KINDS = {
    "turning": {"rule": "FREQ=WEEKLY;BYDAY=MO,TH", "usual": 2, "is_heavy": True},
    "browns": {"rule": "FREQ=WEEKLY;BYDAY=WE", "usual": 1},
    "trays": {"rule": "FREQ=WEEKLY;BYDAY=FR", "usual": 1},
    "opening": {"rule": "FREQ=WEEKLY;BYDAY=SA", "usual": 2, "least": 2, "begins_at": "10:00"},
}
# Numbers of flats.
IMANI, TOMASZ, SORIN, BETTINA, OLU, PETRA, ILSE, MINH = 0, 1, 2, 3, 4, 5, 10, 12
WAITS = ("browns", "trays")  # nobody has done these of the last two days yet
EVENING, MORNING = 19, 10
RANDOM = 4  # the version of a UUID that says nothing


def make(here: Building, today: dt.date) -> None:
    """Plans that are over, one that is in force, one to look at; what was done, swapped, and is asked for."""
    before = {model: _last(model, here) for model in walls.tenant_models()}
    site, homes = drums(here)[0].site, people.homes_taking_part(here)
    evening = at(here, today - DAY, 21)
    firsts = _firsts(here, today)
    _set_up(here, site, homes, firsts[0])
    for first in firsts:
        if first == firsts[-1]:
            _away(here, homes[PETRA], first + 15 * DAY, 5, at(here, first - 5 * DAY, EVENING))
        _plan(here, site, first, at(here, first - 4 * DAY, MORNING), is_put_up=True)
        _swap(here, homes, first, evening)
        _live(here, homes, first, min(first + PERIOD, today), today)
    with open_ledger(here):
        lapse(here, evening)
    times.book_some(here, homes, today, evening)
    _ask(here, homes, today, evening)
    _cannot_come(here, homes, today, evening)
    _wanda_goes_away(here, site, today, evening)
    _plan(here, site, firsts[-1] + PERIOD, evening, is_put_up=False)
    machinery = Job.objects.filter(building=here, name__in=[NIGHT, SHORT_OPENING, DRAFT], wake_at__lte=evening)
    machinery.update(state=Job.State.DONE, done_at=evening)  # what fell due in those weeks
    promise(here, today)
    _name(here, before)


def _firsts(here: Building, today: dt.date) -> list[dt.date]:
    """The first day of each plan, a Monday; the last of them is in force."""
    this_week = today - today.weekday() * DAY
    ended = Batch.objects.within(here).aggregate(last=models.Max("ended_at"))["last"]
    last = here.local(ended).date()
    earliest = last + (7 - last.weekday()) * DAY
    found = [min(max(this_week - WEEKS_GONE * WEEK, earliest), this_week)]
    while len(found) <= MOST_BEFORE and found[0] - PERIOD >= earliest:
        found.insert(0, found[0] - PERIOD)
    return found


def _set_up(here: Building, site: Site, homes: Mapping[int, Household], first: dt.date) -> None:
    """A week before the first plan: duties, who shares them, who leads, what households said; and set times."""
    wanda, now = people.in_charge(here), at(here, first - WEEK, MORNING)
    for work, more in KINDS.items():
        raw = {"uid": uid(f"duty {work}"), "work": work, "minutes": MINUTES, "starts_on": first, "least": 1} | more
        told = KindTold.from_raw(raw, [], first)
        set_kind(building=here, site=site, told=told, person=wanda, now=now)
    sharers = SharersTold(frozenset(home.uid for home in homes.values()))
    set_sharers(building=here, site=site, told=sharers, person=wanda, now=now)
    set_limits(building=here, household=homes[ILSE], told=LimitsTold(cannot_lift=True, carry_for_me=False))
    set_limits(building=here, household=homes[OLU], told=LimitsTold(cannot_lift=False, carry_for_me=True))
    set_leads(building=here, site=site, people=(wanda.uid,), person=wanda, now=now)
    handover = HandoverTold("in the box by the cellar door", "on the hook behind drum 1", "the red valve by the stairs")
    set_handover(building=here, site=site, told=handover, person=wanda, now=now)
    times.set_up(here, site, wanda, first, now)


def _plan(here: Building, site: Site, first: dt.date, now: dt.datetime, *, is_put_up: bool) -> None:
    """Asked for, and worked out at once."""
    wanda = people.in_charge(here)
    told = DaysToPlan(uid(f"draft {first}"), first, first + (PERIOD_DAYS - 1) * DAY, False)
    draft = ask(building=here, site=site, told=told, person=wanda, now=now)
    found = gather(here, site, told.first, told.last, now)
    keep(here, draft.uid, WorkedOut(found.mark, work_out(found.problem, False)), now)
    Job.objects.filter(building=here, name=DRAFT).update(state=Job.State.DONE, done_at=now)
    if is_put_up:
        draft = RotaDraft.objects.within(here).select_related("site").get(pk=draft.pk)
        put_up(building=here, draft=draft, told=PutUp(uid(f"plan {first}"), "published"), person=wanda, now=now)


def _wanda_goes_away(here: Building, site: Site, today: dt.date, now: dt.datetime) -> None:
    """For a week, three weeks from now; Tomasz stands in."""
    first, last = today + 3 * WEEK, today + 4 * WEEK - DAY
    wanda, tomasz = people.in_charge(here), people.taking_part(here)[TOMASZ]
    told = DaysTold(uid("Tomasz stands in"), tomasz.uid, first, last)
    stand_in(building=here, site=site, told=told, person=wanda, now=now)
    lead_away(building=here, site=site, told=DaysTold(uid("Wanda is away"), wanda.uid, first, last), now=now)


def _away(here: Building, home: Household, first: dt.date, days: int, now: dt.datetime) -> None:
    raw = {"uid": uid(f"away {home.uid} {first}"), "first_day": first, "last_day": first + (days - 1) * DAY}
    note_absence(building=here, household=home, told=Away.from_raw(raw), now=now)


def _cannot_come(here: Building, homes: Mapping[int, Household], today: dt.date, now: dt.datetime) -> None:
    """Somebody who has a duty soon is away for nine days, and the plan doesn't know it yet."""
    duties = [(duty, home) for n, home in homes.items() if n > PETRA and (duty := _next(here, home, today + 3 * DAY))]
    duty, home = min(duties, key=lambda one: (one[0].day, one[0].pk))
    _away(here, home, duty.day - DAY, 9, now)


def _swap(here: Building, homes: Mapping[int, Household], first: dt.date, evening: dt.datetime) -> None:
    """Sorin can't do his first duty of each plan, and Minh takes it, unless it is hers as well."""
    duty = _next(here, homes[SORIN], first)
    now = min(at(here, duty.day - 2 * DAY, EVENING), evening) if duty is not None else evening
    if duty is not None and not _are_on(homes[MINH], duty):
        cover = _request(here, homes[SORIN], duty, now)
        answer(building=here, cover_uid=cover, household=homes[MINH], told=CoverAnswer("take"), now=now)


def _live(here: Building, homes: Mapping[int, Household], first: dt.date, end: dt.date, today: dt.date) -> None:
    """What came of the duties of some days: done by whoever was down for it, nearly always."""
    duties = Duty.objects.within(here).filter(day__gte=first, day__lt=end).select_related("kind")
    for duty in duties.prefetch_related("assignments__household").order_by("day", "pk"):
        week, work = (duty.day - first).days // 7, duty.kind.work
        if work in WAITS and duty.day >= today - 2 * DAY:
            continue
        if work == "browns" and week == 1:  # the day after, Minh did it
            take(building=here, duty_uid=duty.uid, household=homes[MINH], now=at(here, duty.day + DAY, EVENING))
        elif not (work == "trays" and week == 2):  # too late to matter by now, and forgotten
            whose = duty.assignments.all()[0].household
            finish(building=here, duty_uid=duty.uid, household=whose, now=at(here, duty.day, EVENING))


def _ask(here: Building, homes: Mapping[int, Household], today: dt.date, now: dt.datetime) -> None:
    """Bettina asks for cover, and somebody would do it in exchange; Imani asks, and nobody has answered yet."""
    for number in (BETTINA, IMANI):
        duty = _next(here, homes[number], today + DAY)
        if duty is None:
            continue
        cover = _request(here, homes[number], duty, now)
        for other in homes if number == BETTINA else ():
            if other in (IMANI, TOMASZ, BETTINA):
                continue
            mine = _next(here, homes[other], today + DAY)
            if mine is not None and not _are_on(homes[other], duty) and not _are_on(homes[number], mine):
                told = CoverAnswer("offer", duty_uid=mine.uid)
                answer(building=here, cover_uid=cover, household=homes[other], told=told, now=now)
                break


def _are_on(home: Household, duty: Duty) -> bool:
    return bool(duty.assignments.filter(household=home).exists())


def _request(here: Building, home: Household, duty: Duty, now: dt.datetime) -> UUID:
    told = CoverAsked(uid(f"cover {duty.uid}"), duty.uid)
    found: UUID = ask_for_cover(building=here, household=home, told=told, now=now).uid
    return found


def _next(here: Building, home: Household, day: dt.date) -> Duty | None:
    """A household's first duty from a day on that isn't done."""
    rows = Duty.objects.within(here).filter(assignments__household=home, day__gte=day, done_at__isnull=True)
    found: Duty | None = rows.order_by("day", "pk").first()
    return found


def _last(model: type[models.Model], here: Building) -> int:
    newest: int | None = model._base_manager.filter(building=here).aggregate(last=models.Max("pk"))["last"]
    return newest or 0


def _name(here: Building, before: Mapping[type[models.Model], int]) -> None:
    """Rows that were given a name at random get one by their order: two loads are alike."""
    for model, last in before.items():
        rows = model._base_manager.filter(building=here, pk__gt=last).order_by("pk")
        if hasattr(model, "uid"):
            for number, (key, name) in enumerate(rows.values_list("pk", "uid")):
                if name.version == RANDOM:
                    rows.filter(pk=key).update(uid=uid(f"{model._meta.label} {number}"))
