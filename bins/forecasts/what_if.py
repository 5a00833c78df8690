"""Asking "what if": the levers as a record, the question kept as a row, and a job promised that answers it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.models import WhatIf
from bins.records import Reader, Refused
from households.ledger import UidReused, open_ledger
from households.models import Building, Job, Person, Site

NAME = "what-if"
MOST_WAITING = 3  # chosen: each takes up to a minute of a worker
MOST_KEPT = 20  # chosen: what fits a table that people compare
YEAR = dt.timedelta(days=365)


@dataclass(frozen=True)
class Levers:
    """The site as it is imagined."""

    uid: UUID
    site_uid: UUID
    households: int
    drums: int
    curing_bins: int
    browns_percent: int
    begins_on: dt.date | None
    need_by: dt.date | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: households 1 to 300, drums 1 to 12, curing bins 0 to 12, browns 0 to 400 % of
        the scraps by volume; need_by within a year after begins_on (today, where none is told)."""
        reader = Reader(raw)
        numbers = {
            name: reader.whole(name, least, most)
            for name, least, most in (
                ("households", 1, 300), ("drums", 1, 12), ("curing_bins", 0, 12), ("browns_percent", 0, 400),
            )
        }  # fmt: skip
        for name, number in numbers.items():
            if number is None and name not in reader.errors:
                reader.errors[name] = _("A number is needed here.")
        begins_on, need_by = reader.day("begins_on"), reader.day("need_by")
        told = cls(
            uid=reader.uid(), site_uid=reader.uid("site"), begins_on=begins_on, need_by=need_by,
            **{name: number or 0 for name, number in numbers.items()},
        )  # fmt: skip
        reader.finish()
        return told


def ask(*, building: Building, told: Levers, person: Person | None, now: dt.datetime) -> WhatIf:
    """Keep the question and promise its answer; the same uid with the same levers gives the row that stands there.

    Raises Site.DoesNotExist for a site of another building, UidReused for a uid with other levers, Refused for days
    that don't fit, and while others are being answered.
    """
    today = building.local(now).date()
    values = {name: value for name, value in asdict(told).items() if name not in ("uid", "site_uid")}
    with open_ledger(building):
        known: WhatIf | None = WhatIf.objects.within(building).filter(uid=told.uid).select_related("site").first()
        if known is not None:
            asked = values | {"begins_on": told.begins_on or building.local(known.asked_at).date()}
            if known.site.uid != told.site_uid or any(getattr(known, name) != asked[name] for name in asked):
                raise UidReused(told.uid)
            return known
        site = Site.objects.within(building).get(uid=told.site_uid)
        values["begins_on"] = begins_on = told.begins_on or today
        if abs(begins_on - today) > YEAR:
            raise Refused({"begins_on": _("A day within a year from today is needed.")})
        if told.need_by is not None and not begins_on < told.need_by <= begins_on + YEAR:
            raise Refused({"need_by": _("A day within a year after the beginning is needed.")})
        if waiting(building) >= MOST_WAITING:
            raise Refused({"uid": _("Others are still being worked out. Please ask again in a minute.")})
        row: WhatIf = WhatIf.objects.create(
            building=building, uid=told.uid, site=site, asked_at=now, asked_by=person, **values
        )
        Job.plan(building, NAME, str(row.uid), now)
        old = WhatIf.objects.within(building).order_by("-asked_at", "-pk").values_list("pk", flat=True)[MOST_KEPT:]
        WhatIf.objects.within(building).filter(pk__in=list(old)).delete()
    return row


def waiting(building: Building) -> int:
    """How many are promised and not answered yet. One query."""
    jobs = Job.objects.filter(building=building, name=NAME)
    return jobs.exclude(state__in=[Job.State.DONE, Job.State.PARKED]).count()


def has_failed(building: Building, row: WhatIf) -> bool:
    """Whether nobody will answer it any more. One query."""
    return Job.objects.filter(building=building, name=NAME, key=str(row.uid), state=Job.State.PARKED).exists()
