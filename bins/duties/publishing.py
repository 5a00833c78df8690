"""Putting up a plan for a period exactly as it was worked out and looked at, or not at all."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import UidReused, fingerprint, open_ledger
from households.models import (
    Audit,
    Building,
    Cover,
    Duty,
    DutyAssignment,
    Household,
    Job,
    Person,
    RotaDraft,
    RotaDue,
    RotaPlan,
)
from households.rota.plan import Plan, Replan, Replans
from households.rota.problem import Cell

from . import nightly, openings
from .outcomes import of_raw
from .phase import begins
from .plan_words import tell_changed
from .planning import DAY, Gathered, gather


@dataclass(frozen=True)
class PutUp:
    """The yes to a plan that was looked at. `way`: which of the three, where it was planned again."""

    uid: UUID
    way: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(reader.uid(), reader.choice("way", [*RotaPlan.Way.values], str(RotaPlan.Way.PUBLISHED)))
        reader.finish()
        return told


@dataclass(frozen=True)
class Chosen:
    """The plan that goes up, and whose days are others in it than in the one before."""

    plan: Plan
    changed: tuple[UUID, ...] = ()


def put_up(*, building: Building, draft: RotaDraft, told: PutUp, person: Person | None, now: dt.datetime) -> RotaPlan:
    """Put up a plan exactly as it was worked out: every duty with its people, or nothing. Once a uid.

    What is done or near stays as it is where it was planned again. Raises UidReused, and Refused where anything
    that the plan rests on has changed since it was worked out, or where it could not be made.
    """
    print_ = fingerprint(asdict(told) | {"draft": draft.uid})
    with open_ledger(building):
        known: RotaPlan | None = RotaPlan.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            if known.fingerprint != print_:
                raise UidReused(told.uid)
            return known
        chosen = _chosen(draft, told.way)
        gathered = gather(building, draft.site, draft.first_on, draft.last_on, now)
        if gathered.mark != draft.rests_on:
            changed = _("Something has changed since this was worked out. Nothing was put up; work it out again.")
            raise Refused({"plan": changed})
        return _write(building, gathered, chosen, told, person, print_, now)


def _chosen(draft: RotaDraft, way: str) -> Chosen:
    if draft.outcome is None:
        raise Refused({"plan": _("The plan is still being worked out. Nothing was put up.")})
    match of_raw(draft.outcome):
        case Plan() as plan if way == RotaPlan.Way.PUBLISHED:
            return Chosen(plan)
        case Replans() as ways if way != RotaPlan.Way.PUBLISHED:
            one: Replan = getattr(ways, way)
            return Chosen(one.plan, one.changed)
        case Plan() | Replans():
            raise Refused({"way": _("Which of the plans?")})
    raise Refused({"plan": _("This can't be planned as it stands. Nothing was put up.")})


def _write(
    building: Building, gathered: Gathered, chosen: Chosen, told: PutUp, person: Person | None, print_: str,
    now: dt.datetime,
) -> RotaPlan:  # fmt: skip
    """The plan's rows, in as many statements for many as for few."""
    row: RotaPlan = RotaPlan.objects.create(
        building=building,
        uid=told.uid,
        site=gathered.site,
        number=gathered.plan_number + 1,
        first_on=gathered.first,
        last_on=gathered.last,
        way=told.way,
        published_at=now,
        levels=[
            {"goal": one.goal.value, "value": one.value, "bound": one.bound, "method": one.method.value}
            for one in chosen.plan.levels
        ],
        people_changed=len(chosen.changed),
        fingerprint=print_,
    )
    duties = _write_duties(building, gathered, row)
    _write_places(building, gathered, chosen.plan.cells, duties, now)
    _write_dues(building, gathered, chosen.plan)
    timed = [duty for duty in duties.values() if duty.begins_at is not None]
    wakes = {str(duty.uid): begins(building, duty) - openings.AHEAD for duty in timed}
    Job.plan_all(building, openings.NAME, wakes)
    nightly.promise(building, building.local(now).date() + DAY)
    Audit.note(building, person, "rota-published", now, plan=row.number, way=row.way)
    tell_changed(building, [gathered.households[uid] for uid in chosen.changed], now)
    return row


def _write_duties(building: Building, gathered: Gathered, plan: RotaPlan) -> dict[UUID, Duty]:
    """New duties are added, those that nobody asks for any more go, with their places and requests."""
    Duty.objects.within(building).filter(
        kind__site=gathered.site, day__gte=gathered.first, day__lte=gathered.last, lapsed_at__isnull=True
    ).exclude(uid__in=[*gathered.occurrences]).delete()
    found = {uid: one.row for uid, one in gathered.occurrences.items() if one.row is not None}
    new = [
        Duty(
            building=building,
            uid=uid,
            kind=one.kind,
            plan=plan,
            day=one.day,
            begins_at=one.kind.begins_at,
            least=one.kind.least,
            usual=one.kind.usual,
            minutes=one.kind.minutes,
            is_heavy=one.kind.is_heavy,
        )
        for uid, one in gathered.occurrences.items()
        if one.row is None
    ]
    Duty.objects.bulk_create(new)
    return found | {duty.uid: duty for duty in new}


def _write_places(
    building: Building, gathered: Gathered, cells: Iterable[Cell], duties: Mapping[UUID, Duty], now: dt.datetime
) -> None:
    """Who stays keeps the place and its number; who comes takes a free one."""
    wanted: defaultdict[UUID, list[Household]] = defaultdict(list)
    for cell in sorted(cells):
        if cell.household not in gathered.households:
            continue  # gone since, on a duty that stays as it is
        wanted[cell.task].append(gathered.households[cell.household])
    gone: list[DutyAssignment] = []
    new: list[DutyAssignment] = []
    for uid, duty in duties.items():
        before = list(duty.assignments.all()) if gathered.occurrences[uid].row is not None else []
        homes = {home.pk: home for home in wanted[uid]}
        frozen = uid in gathered.problem.existing.frozen
        stays = [place for place in before if frozen or place.household_id in homes]
        gone += [place for place in before if place not in stays]
        if frozen:
            continue
        free = (n for n in range(1, duty.usual + 1) if n not in {place.number for place in stays})
        kept = {place.household_id for place in stays}
        new += [
            DutyAssignment(
                building=building, uid=uuid5(uid, f"{number} {home.uid}"), duty=duty, number=number, household=home
            )
            for home, number in zip([home for pk, home in homes.items() if pk not in kept], free, strict=False)
        ]
    if gone:
        DutyAssignment.objects.within(building).filter(pk__in=[place.pk for place in gone]).delete()
        dropped = {(place.duty_id, place.household_id) for place in gone}
        asked = Cover.objects.within(building).filter(
            closed_at__isnull=True, duty__in={duty for duty, _home in dropped}
        )
        ended = [cover.pk for cover in asked if (cover.duty_id, cover.household_id) in dropped]
        Cover.objects.within(building).filter(pk__in=ended).update(closed_at=now)
    DutyAssignment.objects.bulk_create(new)


def _write_dues(building: Building, gathered: Gathered, plan: Plan) -> None:
    dues = RotaDue.objects.within(building).filter(site=gathered.site, first_on=gathered.first)
    dues.delete()
    RotaDue.objects.bulk_create(
        RotaDue(
            building=building,
            uid=uuid5(gathered.site.uid, f"due {load.household} {gathered.first}"),
            site=gathered.site,
            household=gathered.households[load.household],
            first_on=gathered.first,
            seconds=load.due_seconds,
        )
        for load in plan.loads
    )
