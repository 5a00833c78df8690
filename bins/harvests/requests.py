"""What a household asks for of a lot whose rule goes by requests: whole tubs, until it is shared out."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import Q
from django.utils.translation import gettext as _

from bins.models import Batch, ShareRequest, ShareRequestAttribution, Split
from bins.models.batch import LIVE
from bins.records import Reader, Refused
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Household, Person
from households.sharing.rule import Kind

MOST_TUBS = 100


@dataclass(frozen=True)
class Asked:
    """So many tubs of a lot, please; 0 for none."""

    uid: UUID
    batch_uid: UUID
    tubs: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named. tubs: 0 to 100."""
        reader = Reader(raw)
        tubs = reader.whole("tubs", 0, MOST_TUBS)
        if tubs is None and "tubs" not in reader.errors:
            reader.errors["tubs"] = _("How many tubs would you like? 0 is fine.")
        told = cls(reader.uid(), reader.uid("batch"), tubs or 0)
        reader.finish()
        return told


@dataclass(frozen=True)
class Recorded:
    row: ShareRequest
    is_new: bool


@dataclass(frozen=True)
class Askable:
    """A lot that a household may ask for, and what it asked for last."""

    batch: Batch
    tubs: int | None


def askable(building: Building, household: Household) -> tuple[Askable, ...]:
    """The lots by request that aren't shared out yet, oldest first; two queries however many there are."""
    lots = list(_open_lots(building).select_related("drum__site", "place").order_by("opened_at", "pk"))
    if not lots:
        return ()
    mine = ShareRequest.objects.within(building).filter(attribution__household=household, batch__in=lots)
    newest = dict(mine.order_by("ledger_number").values_list("batch", "tubs"))
    return tuple(Askable(lot, newest.get(lot.pk)) for lot in lots)


def ask(
    *, building: Building, household: Household, told: Asked, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down what a household asks for; its newest word counts. Once a uid.

    Raises Batch.DoesNotExist for a lot of another building, UidReused, and Refused where the lot's rule doesn't go
    by requests or it is shared out.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(ShareRequest, building, told.uid, print_):
            return Recorded(known, is_new=False)
        batch = Batch.objects.within(building).get(uid=told.batch_uid)
        if not _open_lots(building).filter(pk=batch.pk).exists():
            raise Refused({"batch": _("Nothing can be asked for of this lot: it is shared out, or by another rule.")})
        row = ledger.add(
            ShareRequest(
                uid=told.uid, fingerprint=print_, **asdict(times(now, now)), via=via, batch=batch, tubs=told.tubs
            )
        )
        ShareRequestAttribution.objects.create(
            building=building, uid=uuid5(row.uid, "attribution"), row=row, household=household, person=person
        )
    return Recorded(row, is_new=True)


def _open_lots(building: Building) -> Any:
    shared = Split.objects.within(building).values("harvest__batch")
    lots = Batch.objects.within(building).filter(sharing_kind=Kind.REQUEST.value)
    return lots.filter(Q(stage__in=LIVE) | (Q(stage="harvested") & ~Q(pk__in=shared)))
