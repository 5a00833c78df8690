"""All rows of a building as plain values that name each other by uid, and back: for the export and the demo's history.

Internal keys stay behind, so rows of one database become rows of another, and two loads are alike.
"""

import datetime as dt
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import models

from households.models import Building, Job
from households.tenancy import found

Row = list[Any]  # what names it, then the values of its fields
Keys = dict[type[models.Model], dict[str, int]]  # model -> what names a row -> the key that it has here
Names = dict[type[models.Model], dict[int, str]]  # and back
AT_ONCE = 500


@dataclass(frozen=True)
class Table:
    """The rows of one model: its fields in order, the first of them what names a row."""

    model: type[models.Model]
    fields: tuple[str, ...]
    rows: dict[str, Row]


def in_order(waiting: Iterable[type[models.Model]]) -> list[type[models.Model]]:
    """Models, each after those that it points at."""
    waiting, found_ = list(waiting), []
    while waiting:
        ready = [model for model in waiting if not _parents(model) & set(waiting) - {model}]
        assert ready, "models that point at each other in a ring"
        found_ += ready
        waiting = [model for model in waiting if model not in ready]
    return found_


def _parents(model: type[models.Model]) -> set[Any]:
    return {field.related_model for field in model._meta.fields if isinstance(field, models.ForeignKey)}


def name(row: Any) -> str:
    """What names a row outside the database."""
    return f"{row.name} {row.key}" if isinstance(row, Job) else str(row.uid)


def table(
    model: type[models.Model], rows: Iterable[Any], names: Names, leaving_out: Collection[str] = ()
) -> Table:  # fmt: skip
    """The rows of a model in the order given; parents must have been taken before. Adds to `names`."""
    rows = list(rows)
    fields = fields_of(model, leaving_out)
    names[model] = {row.pk: name(row) for row in rows}
    taken = {name(row): [name(row), *(_told(row, field, names) for field in fields)] for row in rows}
    return Table(model, ("uid", *(field.name for field in fields)), taken)


def fields_of(model: type[models.Model], leaving_out: Collection[str] = ()) -> list[Any]:
    """The fields that a row is told by, beside its uid."""
    left_out = {"building", "uid", *leaving_out}
    return [field for field in model._meta.fields if not field.primary_key and field.name not in left_out]


def _told(row: Any, field: Any, names: Names) -> Any:
    value = getattr(row, field.attname)
    if isinstance(field, models.ForeignKey) and value is not None:
        return names[field.related_model][value]
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat()
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    return str(value) if isinstance(field, models.UUIDField) and value is not None else value


Values = Callable[[type[models.Model], Row, list[Any], Keys], dict[str, Any]]


def insert(table: Table, keys: Keys, values: Values) -> None:
    """Add the rows of a model; one that points at another of its own kind after that one. Adds to `keys`."""
    model, known = table.model, keys.setdefault(table.model, {})
    fields: list[Any] = [model._meta.get_field(field) for field in table.fields[1:]]
    own = [place for place, field in enumerate(fields, start=1) if field.related_model is model]
    waiting = list(table.rows.values())
    while waiting:
        ready = [row for row in waiting if all(row[place] is None or row[place] in known for place in own)]
        assert ready, f"rows of {model._meta.label} that point at each other in a ring"
        added: list[Any] = [model(**values(model, row, fields, keys)) for row in ready]
        if model is Building:
            found(added[0])
        else:
            model._base_manager.bulk_create(added, batch_size=AT_ONCE)
        known.update({row[0]: one.pk for row, one in zip(ready, added, strict=True)})
        done = {row[0] for row in ready}
        waiting = [row for row in waiting if row[0] not in done]


def read(field: Any, value: Any, keys: Keys) -> Any:
    """A value as the model has it."""
    if value is None:
        return None
    match field:
        case models.ForeignKey():
            return keys[field.related_model][value]
        case models.DateTimeField():
            return dt.datetime.fromisoformat(value)
        case models.DateField():
            return dt.date.fromisoformat(value)
        case models.TimeField():
            return dt.time.fromisoformat(value)
        case models.UUIDField():
            return UUID(value)
    return value
