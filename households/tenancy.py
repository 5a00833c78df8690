"""Going into a building: the only way in, on either database.

On PostgreSQL row-level security is the second wall: without the settings made here every tenant table is
empty. The settings last for one transaction, so a pooled connection cannot carry one building's view to
the next request. On SQLite there is no second wall and no transaction is held for a read.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import UUID

from django.db import connection, transaction

from .models import Account, Building

# Models that have no building, each with its reason; a test compares this list with the models.
WITHOUT_BUILDING = {
    "households.Account": "signs in, before any building is known",
    "households.Organisation": "spans buildings",
    "households.OrganisationRole": "spans buildings",
    "households.SetupDraft": "answers of one account, before the building stands",
    "account.EmailAddress": "what sign-in needs",
    "account.EmailConfirmation": "what sign-in needs",
    "sessions.Session": "the framework's own",
    "contenttypes.ContentType": "the framework's own",
    "auth.Permission": "the framework's own",
    "auth.Group": "the framework's own",
}
# Models whose building may be absent, and what such a row is.
SOMETIMES_WITHOUT = {
    "households.Job": "jobs of scope all",
    "households.Notice": "notices of sign-in",
}


def has_second_wall() -> bool:
    return connection.vendor == "postgresql"


def _set(name: str, value: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, true)", [name, value])


@contextmanager
def inside(uid: UUID) -> Iterator[Building]:
    """Open one building's rows until the block ends.

    Raises Building.DoesNotExist for an unknown uid. Do not nest two buildings: on PostgreSQL the inner
    one's view would outlive its block.
    """
    if not has_second_wall():
        yield Building.objects.get(uid=uid)
        return
    with transaction.atomic():
        _set("drums.door", str(uid))
        building = Building.objects.get(uid=uid)
        _set("drums.buildings", str(building.pk))
        yield building


@contextmanager
def as_account(account: Account) -> Iterator[None]:
    """Open an account's own person rows and the names of their buildings, for choosing where to go."""
    if not has_second_wall():
        yield
        return
    with transaction.atomic():
        _set("drums.account", str(account.pk))
        yield
        _set("drums.account", "")  # the transaction may go on, inside a building


def found(building: Building) -> Building:
    """Write a new building and go into it. Call inside a transaction."""
    if has_second_wall():
        _set("drums.door", str(building.uid))
    building.save(force_insert=True)
    if has_second_wall():
        _set("drums.buildings", str(building.pk))
    return building
