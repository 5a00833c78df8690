"""When will it be ready? Will we run out of room? For whoever looks after the drums, and the committee."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from bins.care.due import most_telling_of, work_due
from bins.forecasts.hits import records
from bins.forecasts.shown import (
    DrumOutlook,
    NoForecast,
    Outlook,
    drum_outlooks,
    is_late,
    nights_of,
    outlooks,
    readings_of,
)
from bins.models import Batch, Drum, Forecast, Reading
from bins.process.stage import Stage
from households.models import Building

from ..charts.band import Asked, Course, Seen, course, funnel
from ..charts.scale import upright
from ..charts.timeline import Probably, Row, timeline
from ..doors import Here
from ..forecast_words import (
    LIKELY,
    POSSIBLE,
    WHY_NONE,
    between,
    clash_line,
    day,
    full_line,
    ready_line,
    record_line,
    score_line,
)
from ..words import STAGES
from .amounts import volume
from .today import telling

AHEAD = dt.timedelta(days=90)  # chosen: what a time line shows


def room(request: HttpRequest, here: Here) -> HttpResponse:
    """Both hatches of each drum on one time line, and what is known of every lot."""
    lots = outlooks(here.building)
    found = drum_outlooks(here.building, lots)
    in_service = [one for one in found if one.drum.state == Drum.State.IN_SERVICE]
    worst = max(
        (one for one in in_service if _permille(one) is not None), key=lambda one: _permille(one) or 0, default=None
    )
    return render(
        request,
        "pages/forecast_room.html",
        {
            "answer": _answer(worst),
            **_ways_out([one for one in in_service if (_permille(one) or 0) >= POSSIBLE], here),
            "drums": [_drum(one, here) for one in found],
            "bins": [_lot(one, here) for one in lots if one.batch.place and one.batch.place.drum_id is None],
            "telling": telling(most_telling_of(work_due(here.building, here.now).values())),
            "records": _records(here.building),
        },
    )


def lot(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """One lot: when it will be ready, how that got surer, and how warm and full it will be."""
    batch = Batch.objects.within(here.building).live().filter(uid=uid).first()
    if batch is None:
        raise Http404
    (one,) = outlooks(here.building, batch)
    work = work_due(here.building, here.now).get(one.batch.drum.uid)
    best = most_telling_of([work]) if work else None
    context: dict[str, Any] = {
        "batch": one.batch,
        "lot": _lot(one, here),
        "telling": telling(best) if best and best[0].pk == batch.pk else None,
        "may_make": here.may("see", "drum-care"),
        "records": _records(here.building),
    }
    if one.forecast is not None:
        context |= _charts(one, one.forecast, here)
    return render(request, "pages/forecast_lot.html", context)


def _answer(worst: DrumOutlook | None) -> str:
    permille = _permille(worst) if worst else None
    if worst is None or permille is None:
        return _("Nobody can tell yet if there will be room.")
    number = {"number": worst.drum.number}
    if permille >= LIKELY:
        return _("Drum %(number)s will probably be full before another hatch is empty.") % number
    if permille >= POSSIBLE:
        return _("Drum %(number)s may be full before another hatch is empty.") % number
    return _("There will probably be room all along.")


def _ways_out(short: list[DrumOutlook], here: Here) -> dict[str, Any]:
    """When the drums that may run out of room are full, and until when there is time to do something about it."""
    rows = [(one.drum, one.open.forecast) for one in short if one.open and one.open.forecast]
    soonest = min((row.full_low for _drum, row in rows if row.full_low is not None), default=None)
    return {
        "short": [{"drum": drum, "full": full_line(row, here.today)} for drum, row in rows],
        "act_by": day(soonest, here.today) if soonest is not None and soonest > here.today else "",
    }


def _permille(one: DrumOutlook) -> int | None:
    clash = one.open.forecast.clash if one.open and one.open.forecast else None
    return None if clash is None else int(clash["permille"])


def _drum(one: DrumOutlook, here: Here) -> dict[str, Any]:
    foretold = one.open.forecast if one.open else None
    clash = foretold.clash if foretold else None
    lots = [_lot(found, here) for found in one.lots.values()]
    is_in_service = one.drum.state == Drum.State.IN_SERVICE
    caption = clash_line(clash) if is_in_service else _("It is out of use, so nobody can bring anything to it now.")
    return {
        "drum": one.drum,
        "caption": caption,
        "chart": _timeline(one, clash if is_in_service else None, caption, here.today),
        "lots": lots,
    }


def _timeline(one: DrumOutlook, clash: dict[str, Any] | None, caption: str, today: dt.date) -> SafeString:
    last = today + AHEAD
    rows = []
    for place in one.chambers:
        found = one.lots.get(place.pk)
        name = _("Hatch %(letter)s") % {"letter": place.letter}
        stage = found.batch.stage if found else "empty"
        rows.append(Row(name, stage, _until(found, today, last), str(STAGES[stage])))
    mark = None
    if clash is not None and clash["permille"] >= POSSIBLE and one.open and one.open.forecast:
        made_on = one.open.forecast.made_on
        full, empty = (_date(made_on, clash[name][1], last) for name in ("full", "empty"))
        if full < empty:
            mark = (max(full, today), empty, _("nothing open"))
    title = _("Will we run out of room? Drum %(number)s") % {"number": one.drum.number}
    return timeline(f"room-{one.drum.uid}", title, caption, today, last, rows, mark)


def _date(made_on: dt.date, days: int | None, last: dt.date) -> dt.date:
    return last if days is None else min(last, made_on + dt.timedelta(days=days))


def _until(one: Outlook | None, today: dt.date, last: dt.date) -> Probably | None:
    """Until when what stands there is as it is: an open lot until it is full, another until it is ready."""
    if one is None or one.forecast is None:
        return None
    row = one.forecast
    dates = (row.full_low, row.full_mid, row.full_high)
    if one.batch.stage != Stage.FILLING:
        dates = (row.ready_low, row.ready_mid, row.ready_high)
    low, mid, high = (last if date is None else min(max(date, today), last) for date in dates)
    return Probably(low, mid, high)


def _lot(one: Outlook, here: Here) -> dict[str, Any]:
    row, today = one.forecast, here.today
    if row is None:
        return {
            "batch": one.batch,
            "stage": STAGES[one.batch.stage],
            "why_none": WHY_NONE[one.why_none or NoForecast.TONIGHT],
        }
    return {
        "batch": one.batch,
        "stage": STAGES[one.batch.stage],
        "ready": ready_line(row, today),
        "full": full_line(row, today) if one.batch.stage == Stage.FILLING else "",
        "curing": between(row.curing_low, row.curing_high, today, row.curing_mid)
        if one.batch.stage == Stage.COMPOSTING
        else "",
        "compost": (volume(row.compost_low_ml, here.building), volume(row.compost_high_ml, here.building)),
        "made_on": row.made_on if is_late(row, today) else None,
    }


def _records(building: Building) -> list[dict[str, Any]]:
    return [
        {
            "line": record_line(what, ahead, found),
            "score": score_line(found) if found.says_something else _("That is too few to say how good they are."),
        }
        for (what, ahead), found in records(building).items()
    ]


def _charts(one: Outlook, newest: Forecast, here: Here) -> dict[str, Any]:
    nights = nights_of(here.building, one.batch)
    read = readings_of(here.building, one.batch)
    answer = ready_line(newest, here.today)
    prefix = str(one.batch.uid)
    beyond = {row.pk: row.made_on + dt.timedelta(days=row.horizon_days) for row in nights}
    asked = [
        Asked(row.made_on, row.ready_low or beyond[row.pk], row.ready_mid, row.ready_high or beyond[row.pk])
        for row in nights
    ]
    return {
        "ready_chart": funnel(f"ready-{prefix}", _("When will it be ready?"), answer, asked),
        "has_no_end": any(row.ready_high is None for row in nights),
        "nights": [
            {"on": row.made_on, "low": _said(row.ready_low, here), "mid": _said(row.ready_mid, here),
             "high": _said(row.ready_high, here)}
            for row in reversed(nights)
        ],
        "courses": [
            found
            for name, kind, title, unit in (
                ("temperature", Reading.Kind.DRUM_TENTHS_C, _("How warm will it be?"), "°C"),
                ("level", Reading.Kind.LEVEL_PERCENT, _("How full will it be?"), "%"),
            )
            for found in [_course(f"{name}-{prefix}", title, unit, kind, newest.bands.get(name), newest, read, here)]
            if found is not None
        ],
    }  # fmt: skip


def _said(date: dt.date | None, here: Here) -> str:
    return _("later") if date is None else day(date, here.today)


def _course(
    prefix: str, title: str, unit: str, kind: str, band: list[list[int]] | None, newest: Forecast,
    read: list[Reading], here: Here,
) -> dict[str, Any] | None:  # fmt: skip
    """A measured value and its band ahead, in the building's own units; the table has one row a week."""
    if not band:
        return None
    is_us = kind == Reading.Kind.DRUM_TENTHS_C and here.building.units == Building.Units.US
    scale = 10 if kind == Reading.Kind.DRUM_TENTHS_C else 1

    def shown(value: float) -> float:
        return round(value * 9 / 5 + 32) if is_us else value

    low, mid, high = ([shown(value) for value in line] for line in band)
    seen = [Seen(here.building.local(r.counts_at).date(), shown(r.value / scale)) for r in read if r.kind == kind]
    unit = "°F" if is_us else unit
    soon = {"low": upright(f"{low[:7][-1]:g} {unit}"), "high": upright(f"{high[:7][-1]:g} {unit}")}
    answer = _("In a week: %(low)s to %(high)s.") % soon
    told = Course(newest.made_on, low, mid, high, seen, unit)
    weekly = range(6, len(low), 7)
    return {
        "title": title,
        "answer": answer,
        "chart": course(prefix, title, answer, told),
        "rows": [
            (newest.made_on + dt.timedelta(days=at + 1), f"{low[at]:g} {unit}", f"{mid[at]:g} {unit}",
             f"{high[at]:g} {unit}")
            for at in weekly
        ],
    }  # fmt: skip
