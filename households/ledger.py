"""Writing in the books: one lock, the building's row, and a number that every write raises."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar
from uuid import UUID

from django.db import transaction

from .models import Building, LedgerRow

LATEST_TOLD_TOO_OLD = dt.timedelta(days=60)  # chosen: past that, the date on a slip is more likely a slip of the pen


class UidReused(Exception):
    """The uid stands in the books with other values. What stood there before stays."""

    def __init__(self, uid: UUID) -> None:
        super().__init__(str(uid))
        self.uid = uid


Row = TypeVar("Row", bound=LedgerRow)


@dataclass
class Ledger:
    """An open book: the building is locked until the block ends."""

    building: Building

    def add(self, row: Row) -> Row:
        """Add one row under the next number."""
        self.building.ledger_number += 1
        row.building = self.building
        row.ledger_number = self.building.ledger_number
        row.save(force_insert=True)
        return row

    def add_all(self, rows: list[Row]) -> list[Row]:
        """Add many rows of one kind under the next numbers; as few statements as the database allows."""
        for number, row in enumerate(rows, start=self.building.ledger_number + 1):
            row.building, row.ledger_number = self.building, number
        self.building.ledger_number += len(rows)
        return type(rows[0])._base_manager.bulk_create(rows) if rows else []


@contextmanager
def open_ledger(building: Building) -> Iterator[Ledger]:
    """Lock the building and open its books for one transaction.

    The building row is the one lock of the house: every write that adds to the books or settles a decision
    takes it first, so two of them never wait for each other in a ring.
    """
    with transaction.atomic():
        locked = Building.objects.select_for_update(no_key=True).get(pk=building.pk)
        before = locked.ledger_number
        yield Ledger(locked)
        if locked.ledger_number != before:
            locked.save(update_fields=["ledger_number"])


def fingerprint(values: Mapping[str, Any]) -> str:
    """A hash of validated values, to tell a repeated record from another one under the same uid."""
    text = json.dumps(values, sort_keys=True, default=str, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def already(model: type[Row], building: Building, uid: UUID, print_: str) -> Row | None:
    """The row that arrived before under this uid; UidReused where its values were others."""
    row: Row | None = model.objects.within(building).filter(uid=uid).first()
    if row is not None and row.fingerprint != print_:
        raise UidReused(uid)
    return row


@dataclass(frozen=True)
class Times:
    happened_at: dt.datetime
    heard_at: dt.datetime
    counts_at: dt.datetime
    doubt: str


def times(happened_at: dt.datetime, heard_at: dt.datetime, via: str = "") -> Times:
    """When a row counts: as told, unless told of the future or of over 60 days back.

    A building's own log sheets are as old as they are: for `via` import no age is in doubt.
    """
    if happened_at > heard_at:
        return Times(happened_at, heard_at, heard_at, LedgerRow.Doubt.FUTURE)
    if heard_at - happened_at > LATEST_TOLD_TOO_OLD and via != LedgerRow.Via.IMPORT:
        return Times(happened_at, heard_at, heard_at, LedgerRow.Doubt.OLD)
    return Times(happened_at, heard_at, happened_at, LedgerRow.Doubt.NONE)
