"""Rows that say where a batch, or something out of it, went."""

import datetime as dt
from dataclasses import asdict
from typing import Any
from uuid import UUID

from bins.models import Batch, Movement, MovementAttribution
from bins.signature import sign
from households.ledger import Ledger, fingerprint, times
from households.models import Person


def write_movement(
    ledger: Ledger, batch: Batch, kind: str, *, uid: UUID, person: Person | None, via: str, at: dt.datetime,
    print_: str = "", **where: Any,
) -> Movement:  # fmt: skip
    """Add the row; call it before the batch leaves its place. `where`: further fields of the row."""
    row = ledger.add(
        Movement(
            uid=uid,
            fingerprint=print_ or fingerprint({"batch": batch.uid, "kind": kind}),
            **asdict(times(at, at)),
            via=via,
            batch=batch,
            kind=kind,
            from_place=batch.place,
            **where,
        )
    )
    sign(MovementAttribution, row, person)
    return row
