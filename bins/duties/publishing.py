"""Publishing a plan for a period: looked at first, then put up exactly as it was looked at, or not at all."""

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
    RotaDue,
    RotaPlan,
    Site,
)
from households.rota.branching import Undecided
from households.rota.plan import Infeasible, Plan, Replan, Replans
from households.rota.planning import replan, solve
from households.rota.problem import Cell

from . import nightly, openings
from .phase import begins
from .plan_words import tell_changed
from .planning import DAY, LONGEST_DAYS, Gathered, gather


@dataclass(frozen=True)
class PlanTold:
    """A plan as it was looked at: its period, and the mark of what it rested on. `way`: which of the three."""

    uid: UUID
    first: dt.date
    last: dt.date
    mark: str
    way: str = RotaPlan.Way.PUBLISHED

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], today: dt.date, *, again: bool = False) -> Self:
        """Read and check raw values. Raises Refused with every fault named.

        `again`: a plan of a period that has one; `way` says which. Else it begins today or later, and is
        a quarter of a year at most.
        """
        reader = Reader(raw)
        first, last = read_period(reader, today, again=again)
        ways = [RotaPlan.Way.FEWEST, RotaPlan.Way.HALFWAY, RotaPlan.Way.FAIREST]
        told = cls(
            uid=reader.uid(),
            first=first,
            last=last,
            mark=reader.words("mark", 64, _("Look at the plan first, then put it up.")),
            way=reader.choice("way", [*map(str, ways)]) if again else str(RotaPlan.Way.PUBLISHED),
        )
        reader.finish()
        return told


def read_period(reader: Reader, today: dt.date, *, again: bool = False) -> tuple[dt.date, dt.date]:
    """`first` and `last` of raw values; faults stand in the reader."""
    first, last = reader.day("first"), reader.day("last")
    if first is None or (first < today and not again):
        reader.errors.setdefault("first", _("Which day does it begin? Today or later."))
    if last is None or (first is not None and not first <= last < first + LONGEST_DAYS * DAY):
        reader.errors.setdefault("last", _("Which day does it end? Three months are the most."))
    return first or today, last or today


@dataclass(frozen=True)
class Preview:
    """`outcome` is None where neither a plan was found in time nor a proof that there is none."""

    gathered: Gathered
    outcome: Plan | Infeasible | None

    @property
    def mark(self) -> str:
        """Of what was looked at: the plan, and all that it rests on."""
        return _mark(self.gathered, self.outcome) if isinstance(self.outcome, Plan) else self.gathered.mark


def preview(building: Building, site: Site, first: dt.date, last: dt.date, now: dt.datetime) -> Preview:
    """The plan that would be put up; nothing is written."""
    gathered = gather(building, site, first, last, now)
    try:
        return Preview(gathered, solve(gathered.problem))
    except Undecided:
        return Preview(gathered, None)


@dataclass(frozen=True)
class Ways:
    """`outcome` as in Preview."""

    gathered: Gathered
    outcome: Replans | Infeasible | None

    def mark(self, way: str) -> str:
        """As in Preview, of one of the three."""
        return _mark(self.gathered, getattr(self.outcome, way).plan)


def ways_again(building: Building, plan: RotaPlan, now: dt.datetime) -> Ways:
    """The three plans beside the one in force; nothing is written."""
    gathered = gather(building, plan.site, plan.first_on, plan.last_on, now)
    try:
        return Ways(gathered, replan(gathered.problem))
    except Undecided:
        return Ways(gathered, None)


def plans_ahead(building: Building, site: Site, today: dt.date) -> list[RotaPlan]:
    """The plan in force of each period that isn't over, soonest first. One query."""
    rows = RotaPlan.objects.within(building).filter(site=site, last_on__gte=today).select_related("site")
    newest = {row.first_on: row for row in rows.order_by("number")}
    return [newest[first] for first in sorted(newest)]


def publish(*, building: Building, site: Site, told: PlanTold, person: Person | None, now: dt.datetime) -> RotaPlan:
    """Put up a period's plan: every duty with its people, or nothing. Once a uid.

    Gathered, decided with no lock held, then written under the building's lock where nothing has changed since.
    Raises Refused where what was looked at has changed, where days have a plan already, or where the plan can't
    be made; UidReused.
    """
    print_ = fingerprint(asdict(told))
    if known := _known(building, told.uid, print_):
        return known
    _refuse_overlap(building, site, told)
    gathered = gather(building, site, told.first, told.last, now)
    try:
        outcome = solve(gathered.problem)
    except Undecided:
        raise Refused({"plan": _("No plan was found in time. Nothing was put up.")}) from None
    if not isinstance(outcome, Plan):
        raise Refused({"plan": _("This can't be planned as it stands. Nothing was put up.")})
    _refuse_changed(_mark(gathered, outcome), told.mark)
    return _write(building, gathered, outcome, told, person, print_, now)


def plan_again(*, building: Building, site: Site, told: PlanTold, person: Person | None, now: dt.datetime) -> RotaPlan:
    """Put up one of the three plans beside the one in force. Once a uid; what is done or near stays as it is.

    Raises Refused where what was looked at has changed, where the period has no plan, or where there is none.
    """
    print_ = fingerprint(asdict(told))
    if known := _known(building, told.uid, print_):
        return known
    plans = plans_ahead(building, site, building.local(now).date())
    if (told.first, told.last) not in {(row.first_on, row.last_on) for row in plans}:
        raise Refused({"first": _("These days have no plan yet.")})
    gathered = gather(building, site, told.first, told.last, now)
    try:
        outcome = replan(gathered.problem)
    except Undecided:
        raise Refused({"plan": _("No plan was found in time. Nothing was put up.")}) from None
    if not isinstance(outcome, Replans):
        raise Refused({"plan": _("This can't be planned as it stands. Nothing was put up.")})
    chosen: Replan = getattr(outcome, told.way)
    _refuse_changed(_mark(gathered, chosen.plan), told.mark)
    return _write(building, gathered, chosen.plan, told, person, print_, now, changed=chosen.changed)


def _known(building: Building, uid: UUID, print_: str) -> RotaPlan | None:
    known: RotaPlan | None = RotaPlan.objects.within(building).filter(uid=uid).first()
    if known is not None and known.fingerprint != print_:
        raise UidReused(uid)
    return known


def _refuse_overlap(building: Building, site: Site, told: PlanTold) -> None:
    plans = RotaPlan.objects.within(building).filter(site=site, first_on__lte=told.last, last_on__gte=told.first)
    if plans.exists():
        raise Refused({"first": _("Some of these days have a plan already. Plan them again instead.")})


def _mark(gathered: Gathered, plan: Plan) -> str:
    """The plan is in it too: a search that was stopped by the clock might find another one the next time."""
    return fingerprint({"rests_on": gathered.mark, "cells": sorted(plan.cells)})


def _refuse_changed(now: str, looked_at: str) -> None:
    if now != looked_at:
        raise Refused({"mark": _("Something has changed since you looked. Nothing was put up; look at it again.")})


def _write(
    building: Building, gathered: Gathered, plan: Plan, told: PlanTold, person: Person | None, print_: str,
    now: dt.datetime, changed: tuple[UUID, ...] = (),
) -> RotaPlan:  # fmt: skip
    """The plan's rows, in as many statements for many as for few; Refused where something moved meanwhile."""
    with open_ledger(building):
        if known := _known(building, told.uid, print_):
            return known  # the same form, sent twice at once
        _refuse_changed(gather(building, gathered.site, gathered.first, gathered.last, now).mark, gathered.mark)
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
                for one in plan.levels
            ],
            people_changed=len(changed),
            fingerprint=print_,
        )
        duties = _write_duties(building, gathered, row)
        _write_places(building, gathered, plan.cells, duties, now)
        _write_dues(building, gathered, plan)
        timed = [duty for duty in duties.values() if duty.begins_at is not None]
        wakes = {str(duty.uid): begins(building, duty) - openings.AHEAD for duty in timed}
        Job.plan_all(building, openings.NAME, wakes)
        nightly.promise(building, building.local(now).date() + DAY)
        Audit.note(building, person, "rota-published", now, plan=row.number, way=row.way)
        tell_changed(building, [gathered.households[uid] for uid in changed], now)
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
