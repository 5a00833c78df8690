"""Rows that many tests begin with: made once by the services, then put back as they were, ten times as quickly."""

import datetime as dt
import pickle
from collections.abc import Callable, Iterator
from typing import Any, Generic, TypeVar

from django.apps import apps
from django.db import connection, models, transaction

from coordinator.rows import AT_ONCE, in_order
from households.models import Account, Building
from households.tenancy import has_second_wall

ROOMS = {"households", "bins", "account"}  # whose tables are empty before
SETTINGS = ("drums.door", "drums.buildings", "drums.account")
Made = TypeVar("Made")


class Kept(Generic[Made]):
    """What `make` adds to an empty database. Its own rows are taken back at once; each test puts its copy there."""

    def __init__(self, make: Callable[[], Made]) -> None:
        self.make = make
        with transaction.atomic():
            self.made = pickle.dumps(make())
            self.after = _settings()  # the building that the last service was in
            if has_second_wall():
                with connection.cursor() as cursor:
                    cursor.execute("SET LOCAL ROLE NONE")  # as the owner, who sees every building
            self.buildings = ",".join(map(str, Building.objects.values_list("pk", flat=True)))
            self.statements = [told for model in _tables() for told in _insertions(model)]
            transaction.set_rollback(True)

    def put_back(self) -> Made:
        """The rows, keys and all, and objects that are the test's own. Call inside a transaction."""
        if Account.objects.exists() or Building.objects.exists():  # a key may be taken
            return self.make()
        _set("drums.buildings", self.buildings)
        with connection.cursor() as cursor:
            for statement, values in self.statements:
                cursor.execute(statement, values)
        for name, value in self.after.items():
            _set(name, value)
        made: Made = pickle.loads(self.made)  # noqa: S301 (our own)
        return made


def _tables() -> list[type[models.Model]]:
    """Each after those that it points at."""
    return in_order(m for m in apps.get_models(include_auto_created=True) if m._meta.app_label in ROOMS)


def _columns(model: type[models.Model]) -> str:
    return ", ".join(connection.ops.quote_name(field.column) for field in model._meta.local_concrete_fields)


def _rows_of(model: type[models.Model]) -> list[tuple[Any, ...]]:
    """In the order in which they were made, so that a row comes after one of its kind that it points at."""
    table = connection.ops.quote_name(model._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {_columns(model)} FROM {table} ORDER BY {model._meta.pk.column}")
        # SQLite's driver gives a time of day and takes none.
        return [tuple(str(v) if isinstance(v, dt.time) else v for v in row) for row in cursor.fetchall()]


def _insertions(model: type[models.Model]) -> Iterator[tuple[str, list[Any]]]:
    table, rows = connection.ops.quote_name(model._meta.db_table), _rows_of(model)
    for some in (rows[begin : begin + AT_ONCE] for begin in range(0, len(rows), AT_ONCE)):
        places = ", ".join(f"({', '.join('%s' for _ in row)})" for row in some)
        yield f"INSERT INTO {table} ({_columns(model)}) VALUES {places}", [value for row in some for value in row]


def _set(name: str, value: str) -> None:
    if has_second_wall():
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config(%s, %s, true)", [name, value])


def _settings() -> dict[str, str]:
    if not has_second_wall():
        return {}
    with connection.cursor() as cursor:
        cursor.execute("SELECT " + ", ".join("coalesce(current_setting(%s, true), '')" for _ in SETTINGS), SETTINGS)
        return dict(zip(SETTINGS, cursor.fetchone(), strict=True))
