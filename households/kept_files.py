"""Files that a job makes when somebody asks, and deletes after a week."""

import datetime as dt
from uuid import UUID

from django.db.models import QuerySet

from .models import Audit, Building, Job, KeptFile, Person

EXPORT = "export"
KEPT = dt.timedelta(days=7)
MOST_KEPT = 10  # chosen: each holds all figures, and whoever presses the button all day must not fill the disk


def ask_for_export(*, building: Building, uid: UUID, person: Person | None, now: dt.datetime) -> None:
    """Promise an export, under the uid that the asker made. While one is being made, no other is begun."""
    if not waiting_exports(building) and not _asked(building).filter(key=str(uid)).exists():
        Job.plan(building, EXPORT, str(uid), now)
        Audit.note(building, person, "export-asked", now, export=str(uid))


def waiting_exports(building: Building) -> int:
    """How many are promised and not made yet."""
    return _asked(building).exclude(state=Job.State.DONE).exclude(state=Job.State.PARKED).count()


def forget_old(building: Building, now: dt.datetime) -> int:
    """Delete what is over a week old; how many were."""
    deleted, _ = KeptFile.objects.within(building).filter(made_at__lte=now - KEPT).delete()
    return int(deleted)


def _asked(building: Building) -> QuerySet[Job]:
    return Job.objects.filter(building=building, name=EXPORT)
