"""Who stands behind a row of the books: the second row, which erasure may delete."""

from uuid import uuid5

from households.models import Attribution, LedgerRow, Person


def sign(model: type[Attribution], row: LedgerRow, person: Person | None) -> None:
    """Write whose a row is. `model` is the attribution of that kind of row."""
    model.objects.create(
        **{"row": row},  # each kind of attribution has its own
        building_id=row.building_id,
        uid=uuid5(row.uid, "attribution"),
        household=person.household if person else None,
        person=person,
    )
