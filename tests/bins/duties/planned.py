"""Short hands for tests of duties: a site's kinds, and duties that are planned, inside the cast's building."""

import datetime as dt
from uuid import uuid4, uuid5

from bins.duties.drafting import NAME, DaysToPlan, WorkedOut, ask, keep, work_out
from bins.duties.kinds import KindTold, set_kind
from bins.duties.planning import gather, occurrence_uid
from households.models import (
    Building,
    Duty,
    DutyAssignment,
    DutyKind,
    Household,
    Job,
    Person,
    RotaDraft,
    RotaPlan,
    Site,
)
from tests.cast import BASE, NOW, Cast

DAY = dt.timedelta(days=1)
TODAY = dt.date(2026, 5, 4)  # a Monday; NOW is six in the evening


def kind(here: Building, site: Site, work: str = "turning", **raw: object) -> DutyKind:
    """A duty of a site, every day from 1 May on unless told otherwise."""
    told = {
        "uid": uuid5(BASE, f"{site.uid} {work} {raw}"),
        "work": work,
        "rule": "FREQ=DAILY",
        "starts_on": "2026-05-01",
    }
    if work == "opening":
        told["begins_at"] = "17:00"
    return set_kind(building=here, site=site, told=KindTold.from_raw(told | raw, [], TODAY), person=None, now=NOW)


def duty(here: Building, of: DutyKind, day: dt.date, *people: Person, **values: object) -> Duty:
    """A duty on a day with these people's households on its places, as a plan would have written it."""
    plan, _made = RotaPlan.objects.get_or_create(
        building=here, site=of.site, number=1,
        defaults={
            "uid": uuid5(of.site.uid, "plan"), "first_on": TODAY, "last_on": TODAY + 27 * DAY, "way": "published",
            "published_at": NOW,
        },
    )  # fmt: skip
    given = {"least": of.least, "usual": of.usual, "minutes": of.minutes, "is_heavy": of.is_heavy} | values
    row: Duty = Duty.objects.create(
        building=here, uid=occurrence_uid(of, day), kind=of, plan=plan, day=day, begins_at=of.begins_at, **given
    )
    for number, person in enumerate(people, start=1):
        place(here, row, number, home(person))
    return row


def place(here: Building, row: Duty, number: int, household: Household) -> DutyAssignment:
    made: DutyAssignment = DutyAssignment.objects.create(
        building=here, uid=uuid5(row.uid, f"place {number}"), duty=row, number=number, household=household
    )
    return made


def home(person: Person) -> Household:
    assert person.household is not None
    return person.household


def who(row: Duty) -> list[str]:
    """The labels of the households on a duty, by place."""
    return list(row.assignments.order_by("number").values_list("household__label", flat=True))


def site_of(cast: Cast) -> Site:
    return cast.drum.site


def draft(
    here: Building, site: Site, first: dt.date, last: dt.date, now: dt.datetime = NOW, *, again: bool = False
) -> RotaDraft:
    """A plan of these days, asked for and worked out as its job does it."""
    row = ask(building=here, site=site, told=DaysToPlan(uuid4(), first, last, again), person=None, now=now)
    found = gather(here, site, first, last, now)
    keep(here, row.uid, WorkedOut(found.mark, work_out(found.problem, again)), now)
    Job.objects.filter(building=here, name=NAME).update(state=Job.State.DONE, done_at=now)
    row.refresh_from_db()
    return row
