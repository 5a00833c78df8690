"""An export that somebody asked for: read at one moment, packed with no transaction open, kept for a week."""

from dataclasses import dataclass
from uuid import UUID

from bins.people import tidy
from households.kept_files import EXPORT, KEPT, MOST_KEPT
from households.models import KeptFile

from ..packing import shown
from ..packing.package import Resource
from .work import Step, Work

NAME = EXPORT


@dataclass(frozen=True)
class Found:
    building: UUID
    title: str
    resources: list[Resource]


def _gather(step: Step) -> Found:
    return Found(step.home.uid, step.home.name, shown.resources(step.home))


def _pack(found: Found) -> bytes:
    return shown.pack(found.building, found.title, found.resources)


def _apply(step: Step, packed: bytes) -> None:
    KeptFile.objects.create(
        building=step.home, uid=step.due.key, name=f"figures-{step.home.local(step.now):%Y-%m-%d}.zip", content=packed,
        made_at=step.now,
    )  # fmt: skip
    files = KeptFile.objects.within(step.home)
    newest = files.order_by("-made_at", "-pk").values_list("pk", flat=True)[:MOST_KEPT]
    files.exclude(pk__in=list(newest)).delete()
    tidy.promise_after(step.home, KEPT, step.now)


WORK = Work(_gather, _pack, _apply)
