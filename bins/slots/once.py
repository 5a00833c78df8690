"""A record that is no ledger row arrives once as well."""

from typing import TypeVar
from uuid import UUID

from households.ledger import UidReused
from households.models import Absence, Booking, Building, Closure, Slot

Row = TypeVar("Row", Slot, Booking, Closure, Absence)


def stands(model: type[Row], building: Building, uid: UUID, print_: str) -> Row | None:
    """The row that arrived before under this uid; UidReused where its values were others."""
    row: Row | None = model.objects.within(building).filter(uid=uid).first()
    if row is not None and row.fingerprint != print_:
        raise UidReused(uid)
    return row
