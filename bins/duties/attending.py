"""Whether somebody looks after each site. Where nobody does, intake pauses, told seven days before."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import uuid5

from django.db.models import Prefetch
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.care.drum_state import DrumWord, change_drum
from bins.care.fullness import residents
from bins.models import Drum, DrumChange
from households.models import Building, IntakePause, Lead, LeadAway, LedgerRow, Notice, Site, StandIn
from households.quiet import due_by_day

DAY = dt.timedelta(days=1)
NOTICE_DAYS = 7
LOOK_AHEAD_DAYS = 60  # chosen: summer holidays are known two months before


@dataclass(frozen=True)
class Span:
    """Days from a first to a last; both count."""

    first: dt.date
    last: dt.date

    def holds(self, day: dt.date) -> bool:
        return self.first <= day <= self.last


def unattended(
    leads: Iterable[tuple[Span, ...]], stand_ins: Iterable[Span], first: dt.date, days: int
) -> list[dt.date]:
    """Days on which every lead is away and nobody stands in. `leads`: each one's days away. Without leads: none."""
    away, standing = list(leads), list(stand_ins)
    found = []
    for day in (first + n * DAY for n in range(days)):
        is_left = bool(away) and all(any(span.holds(day) for span in spans) for spans in away)
        if is_left and not any(span.holds(day) for span in standing):
            found.append(day)
    return found


def days_alone(building: Building, today: dt.date) -> dict[int, list[dt.date]]:
    """Site key -> its days of the next two months on which nobody is there. Three queries."""
    away = Prefetch("away", LeadAway.objects.within(building).filter(last_on__gte=today))
    leads: dict[int, list[tuple[Span, ...]]] = {}
    for lead in Lead.objects.within(building).prefetch_related(away).order_by("pk"):
        spans = tuple(Span(row.first_on, row.last_on) for row in lead.away.all())
        leads.setdefault(lead.site_id, []).append(spans)
    standing: dict[int, list[Span]] = {}
    for row in StandIn.objects.within(building).filter(last_on__gte=today):
        standing.setdefault(row.site_id, []).append(Span(row.first_on, row.last_on))
    return {site: unattended(each, standing.get(site, ()), today, LOOK_AHEAD_DAYS) for site, each in leads.items()}


def look(building: Building, now: dt.datetime) -> None:
    """Tell of a pause seven days before, begin it, end it, or call it off. Call with the building locked.

    With less than seven days to go the pause begins seven days from now, if nobody is there even then.
    """
    today = building.local(now).date()
    alone = days_alone(building, today)
    pauses = {row.site_id: row for row in IntakePause.objects.within(building).filter(ended_on__isnull=True)}
    for site in Site.objects.within(building).filter(pk__in={*alone, *pauses}).order_by("pk"):
        days = alone.get(site.pk, [])
        pause = pauses.get(site.pk)
        if pause is None:
            if today + NOTICE_DAYS * DAY in days:
                _announce(building, site, today, now)
        elif pause.began_on is not None:
            if today not in days:
                _end(building, site, pause, today, now)
        elif pause.first_on not in days:
            _call_off(building, site, pause, today, now)
        elif pause.first_on <= today:
            _begin(building, site, pause, today, now)


def pause_of(building: Building, site: Site) -> IntakePause | None:
    """The pause that is told of or in force. One query."""
    found: IntakePause | None = IntakePause.objects.within(building).filter(site=site, ended_on__isnull=True).first()
    return found


def _announce(building: Building, site: Site, today: dt.date, now: dt.datetime) -> None:
    first_on = today + NOTICE_DAYS * DAY
    number = IntakePause.objects.within(building).filter(site=site).count() + 1
    pause = IntakePause.objects.create(
        building=building,
        uid=uuid5(site.uid, f"pause {number}"),
        site=site,
        told_on=today,
        first_on=first_on,
    )
    _tell(building, site, pause, now, goes_on=False)


def _call_off(building: Building, site: Site, pause: IntakePause, today: dt.date, now: dt.datetime) -> None:
    pause.ended_on = today
    pause.save(update_fields=["ended_on"])
    taken_back, _each = Notice.objects.filter(building=building, kind=_kind(site, False), sent_at__isnull=True).delete()
    if not taken_back:
        _tell(building, site, pause, now, goes_on=True)


def _begin(building: Building, site: Site, pause: IntakePause, today: dt.date, now: dt.datetime) -> None:
    """Every drum in service rests. Residents are told and the way out is shown, as with any site that is full."""
    pause.began_on = today
    pause.save(update_fields=["began_on"])
    for drum in Drum.objects.within(building).filter(site=site, state=Drum.State.IN_SERVICE).order_by("pk"):
        _change(building, pause, drum, Drum.State.PAUSED, now)


def _end(building: Building, site: Site, pause: IntakePause, today: dt.date, now: dt.datetime) -> None:
    """The drums that rested for this go on; one that a person has put into another state since stays so."""
    pause.ended_on = today
    pause.save(update_fields=["ended_on"])
    for drum in Drum.objects.within(building).filter(site=site, state=Drum.State.PAUSED).order_by("pk"):
        last = DrumChange.objects.within(building).filter(drum=drum).order_by("ledger_number").last()
        if last is not None and last.uid == uuid5(pause.uid, f"{Drum.State.PAUSED} {drum.uid}"):
            _change(building, pause, drum, Drum.State.IN_SERVICE, now)


def _change(building: Building, pause: IntakePause, drum: Drum, state: str, now: dt.datetime) -> None:
    told = DrumWord(uuid5(pause.uid, f"{state} {drum.uid}"), drum.uid, state, "", (), "")
    change_drum(building=building, told=told, person=None, via=LedgerRow.Via.WEB, now=now)


def _kind(site: Site, goes_on: bool) -> str:
    return f"{'goes-on' if goes_on else 'pause'}:{site.uid.hex}"


def _tell(building: Building, site: Site, pause: IntakePause, now: dt.datetime, *, goes_on: bool) -> None:
    for person in residents(building, site, now):
        assert person.account is not None
        with override(person.account.language):
            words = {"site": site.name, "day": date_format(pause.first_on, "DATE_FORMAT"), "fallback": site.fallback}
            if goes_on:
                subject = _("%(site)s: there is no pause") % words
                body = _("Somebody looks after the drums after all. Bring your scraps as usual.")
            else:
                subject = _("%(site)s: no scraps from %(day)s on") % words
                body = (
                    _(
                        "From %(day)s on nobody can look after the drums. Please bring your scraps here from then "
                        "on:\n\n%(fallback)s\n\nWe write to you when it goes on. Could you stand in? Tell whoever "
                        "looks after the place."
                    )
                    % words
                )
        Notice.post(
            building=building,
            uid=uuid5(pause.uid, f"{'goes on' if goes_on else 'pause'} {person.uid}"),
            kind=_kind(site, goes_on),
            to=person.account.email,
            subject=subject,
            body=body,
            due_at=due_by_day(building, now),
        )
