"""Writing down what the committee decided: who, when, about what, what changed, and why."""

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, CommitteeDecision, CommitteeDecisionAttribution, Person, Role, Site

About = CommitteeDecision.About
EARLIEST = dt.timedelta(days=3660)  # chosen: ten years; older minutes are history, not a rule in force


@dataclass(frozen=True)
class Decided:
    """A decision as it was told. `people` are those who decided; empty: whoever writes it down."""

    uid: UUID
    about: str
    site_uid: UUID | None
    decided_on: dt.date | None
    words: str
    why: str
    people: tuple[UUID, ...]

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `words` and `why` up to 300 characters; `people` a list of uids. Refused."""
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            about=reader.choice("about", [*About.values], About.OTHER),
            site_uid=reader.uid("site") if raw.get("site") else None,
            decided_on=reader.day("decided_on"),
            words=reader.words("words", 300, _("What was decided?")),
            why=reader.words("why", 300, _("What is the reason?")),
            people=_people(reader),
        )
        reader.finish()
        return told


def _people(reader: Reader) -> tuple[UUID, ...]:
    told = reader.raw.get("people") or []
    try:
        return tuple(UUID(str(one)) for one in (told if isinstance(told, list) else [told]))
    except ValueError:
        reader.errors["people"] = _("Who decided? Choose people of the committee.")
        return ()


@dataclass(frozen=True)
class Recorded:
    row: CommitteeDecision
    is_new: bool


def is_on_committee(building: Building, person: Person | None, day: dt.date) -> bool:
    """Whether a person holds a committee role on a day. One query."""
    roles = Role.objects.within(building).filter(person=person, kind=Role.Kind.COMMITTEE)
    return person is not None and roles.held_on(day).exists()


def committee_people(building: Building, day: dt.date) -> tuple[Person, ...]:
    """The people of the committee on a day, by name. One query."""
    roles = Role.objects.within(building).filter(kind=Role.Kind.COMMITTEE).held_on(day).select_related("person")
    found = {role.person_id: role.person for role in roles}
    return tuple(sorted(found.values(), key=lambda person: (person.name, person.pk)))


def record_decision(*, building: Building, told: Decided, by: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Write a decision down, once a uid. Nothing else changes by it.

    Raises Refused for a day to come or long ago, for people who aren't on the committee, and where the writer
    isn't; Site.DoesNotExist for a site of another building; UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(CommitteeDecision, building, told.uid, print_):
            return Recorded(known, is_new=False)
        row = write_decision(
            ledger, about=told.about, by=by, via=via, now=now, uid=told.uid, print_=print_,
            site=Site.objects.within(building).get(uid=told.site_uid) if told.site_uid else None,
            decided_on=told.decided_on, words=told.words, why=told.why, people=told.people,
        )  # fmt: skip
    return Recorded(row, is_new=True)


def write_decision(
    ledger: Ledger, *, about: str, by: Person | None, via: str, now: dt.datetime, uid: UUID, print_: str = "",
    site: Site | None = None, decided_on: dt.date | None = None, words: str = "", why: str = "",
    people: Collection[UUID] = (), figures: Mapping[str, Any] | None = None,
) -> CommitteeDecision:  # fmt: skip
    """Write a decision into open books: for a service that changes what was decided in the same transaction.

    `figures`: what changed, name -> value from now on (numbers, codes, None). `people`: uids of those who
    decided; `by` where none are told. `decided_on`: today where none is told. `print_`: the fingerprint of the
    record that brought it, where the decision has that record's uid. Raises Refused as record_decision does.
    """
    building, today = ledger.building, ledger.building.local(now).date()
    day = decided_on or today
    errors = {}
    if not today - EARLIEST <= day <= today:
        errors["decided_on"] = _("The day of a decision is today or before, at most ten years ago.")
    if not is_on_committee(building, by, today):
        errors["by"] = _("The committee decides this. Nothing was changed: ask somebody who is on it.")
    # Of then and of today: the roles of a young building begin after many of its decisions.
    deciders = {person.uid: person for on in {day, today} for person in committee_people(building, on)}
    if not set(people) <= set(deciders):
        errors["people"] = _("Who decided? Choose people of the committee.")
    if errors:
        raise Refused(errors)
    assert by is not None  # on the committee
    values = {"about": about, "figures": dict(figures or {}), "words": words, "why": why, "decided_on": day}
    row = ledger.add(
        CommitteeDecision(
            uid=uid, fingerprint=print_ or fingerprint(values), **asdict(times(now, now)), via=via, site=site, **values
        )
    )
    for person in [deciders[one] for one in people] or [by]:
        CommitteeDecisionAttribution.objects.create(
            building=building, uid=uuid5(row.uid, f"decided {person.uid}"), row=row, household=person.household,
            person=person,
        )  # fmt: skip
    return row
