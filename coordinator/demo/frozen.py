"""The eighteen months frozen as data: the rows as they stood 30 days before the end, and what came since.

One line of JSON a model, compressed. Rows name each other by uid, so that a load gives every row its own key and
two loads are alike. Not frozen are the outbox, jobs that are done, and the closings of months, which hang on the
calendar and are made anew.
"""

import datetime as dt
import gzip
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db import models, transaction

from bins.models import MonthClosing
from bins.months.close import NAME as CLOSE_MONTH
from coordinator import digest, walls
from coordinator.jobs.deliver import NAME as DELIVER
from households.models import Account, Building, Job, Notice
from households.tenancy import found

from .block import TIME_ZONE
from .block import UID as BLOCK

FILE = Path(__file__).resolve().parents[2] / "deploy" / "demo" / "block.jsonl.gz"
NOT_FROZEN = (MonthClosing, Notice)
MACHINERY = (MonthClosing, Notice, Job)  # what two lives of the same days may differ in

ZONE = ZoneInfo(TIME_ZONE)
Row = list[Any]  # what names it, then the values of its fields
Keys = dict[type[models.Model], dict[str, int]]  # model -> what names a row -> the key that it has here
Names = dict[type[models.Model], dict[int, str]]  # and back


@dataclass(frozen=True)
class Table:
    """The rows of one model: its fields in order, the first of them what names a row."""

    model: type[models.Model]
    fields: tuple[str, ...]
    rows: dict[str, Row]


def digest_of(building: Building) -> str:
    """What the people did and the rules made of it, as a hash. Call inside the building."""
    return digest.digest(list(digest.rows_of(building, leaving_out=MACHINERY)))


def take(building: Building) -> list[Table]:
    """All that is frozen, as it stands now, parents first. Call inside the building."""
    accounts = Account.objects.filter(is_demo=True)
    names: Names = {Account: dict(accounts.values_list("pk", "email"))}
    tables = [_table(Building, [building], names)]
    for model in _in_order():
        rows = model._base_manager.filter(building=building).order_by("pk")
        if model is Job:
            rows = rows.filter(state=Job.State.DUE).exclude(name__in=[DELIVER, CLOSE_MONTH])
        tables.append(_table(model, list(rows), names))
    return tables


def write(then: list[Table], end: list[Table], accounts: Iterable[str], ends_as: str) -> None:
    """Write the file: accounts by their address, the digest of the end, and both states."""
    head = {"accounts": sorted(accounts), "digest": ends_as}
    lines = [json.dumps(head)]
    for before, after in zip(then, end, strict=True):
        since = [row for name, row in after.rows.items() if before.rows.get(name) != row]
        line = {
            "model": after.model._meta.label,
            "fields": after.fields,
            "then": list(before.rows.values()),
            "since": since,
            "gone": [name for name in before.rows if name not in after.rows],
        }
        lines.append(json.dumps(line, ensure_ascii=False, separators=(",", ":")))
    FILE.parent.mkdir(exist_ok=True)
    FILE.write_bytes(gzip.compress("\n".join(lines).encode(), mtime=0))


def digest_at_end() -> str:
    head: dict[str, str] = json.loads(_lines()[0])
    return head["digest"]


def load(*, days: int = 0, until_end: bool = True) -> None:
    """Put the frozen rows into a database without people, all dates moved by so many days.

    until_end: as the block stands on its last evening, or else 30 days before.
    """
    head, *lines = _lines()
    accounts = {
        email: Account.objects.create(email=email, password="!", is_demo=True)  # noqa: S106  (one that fits nothing)
        for email in json.loads(head)["accounts"]
    }
    keys: Keys = {Account: {one: key.pk for one, key in accounts.items()}}
    with transaction.atomic():
        for line in lines:
            told = json.loads(line)
            model = apps.get_model(told["model"])
            rows = {row[0]: row for row in told["then"]}
            if until_end:
                rows = {name: row for name, row in rows.items() if name not in set(told["gone"])}
                rows |= {row[0]: row for row in told["since"]}
            _insert(Table(model, tuple(told["fields"]), rows), keys, days)


def _lines() -> list[str]:
    return gzip.decompress(FILE.read_bytes()).decode().splitlines()


def _in_order() -> list[type[models.Model]]:
    """Models with a building, each after those that it points at."""
    waiting = [model for model in walls.tenant_models() if model not in NOT_FROZEN]
    found: list[type[models.Model]] = []
    while waiting:
        ready = [model for model in waiting if not _parents(model) & set(waiting) - {model}]
        found += ready
        waiting = [model for model in waiting if model not in ready]
        assert ready, "models that point at each other in a ring"
    return found


def _parents(model: type[models.Model]) -> set[Any]:
    return {field.related_model for field in model._meta.fields if isinstance(field, models.ForeignKey)}


def _name(row: Any) -> str:
    return f"{row.name} {row.key}" if isinstance(row, Job) else str(row.uid)


def _table(model: type[models.Model], rows: list[Any], names: Names) -> Table:
    fields = [field for field in model._meta.fields if not field.primary_key and field.name not in ("building", "uid")]
    names[model] = {row.pk: _name(row) for row in rows}
    found = {_name(row): [_name(row), *(_told(row, field, names) for field in fields)] for row in rows}
    return Table(model, ("uid", *(field.name for field in fields)), found)


def _told(row: Any, field: Any, names: Names) -> Any:
    value = getattr(row, field.attname)
    if isinstance(field, models.ForeignKey) and value is not None:
        return names[field.related_model][value]
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    return str(value) if isinstance(field, models.UUIDField) and value is not None else value


def _insert(table: Table, keys: Keys, days: int) -> None:
    """Add the rows of a model; one that points at another of its own kind after that one."""
    model, known = table.model, keys.setdefault(table.model, {})
    fields: list[Any] = [model._meta.get_field(name) for name in table.fields[1:]]
    own = [place for place, field in enumerate(fields, start=1) if field.related_model is model]
    waiting = list(table.rows.values())
    while waiting:
        ready = [row for row in waiting if all(row[place] is None or row[place] in known for place in own)]
        assert ready, f"rows of {model._meta.label} that point at each other in a ring"
        added: list[Any] = [model(**_values(model, row, fields, keys, days)) for row in ready]
        if model is Building:
            found(added[0])
        else:
            model._base_manager.bulk_create(added, batch_size=500)
        known.update({row[0]: one.pk for row, one in zip(ready, added, strict=True)})
        done = {row[0] for row in ready}
        waiting = [row for row in waiting if row[0] not in done]


def _values(model: type[models.Model], row: Row, fields: list[Any], keys: Keys, days: int) -> dict[str, Any]:
    values = {field.attname: _read(field, value, keys, days) for field, value in zip(fields, row[1:], strict=True)}
    if model is Job:
        values["key"] = (dt.date.fromisoformat(values["key"]) + dt.timedelta(days=days)).isoformat()
    else:
        values["uid"] = UUID(row[0])
    return values if model is Building else values | {"building_id": keys[Building][str(BLOCK)]}


def _read(field: Any, value: Any, keys: Keys, days: int) -> Any:
    """A value as the model has it. Instants move by the block's own clock: three in the night stays three."""
    if value is None:
        return None
    if isinstance(field, models.ForeignKey):
        return keys[field.related_model][value]
    if isinstance(field, models.DateTimeField):
        wall = dt.datetime.fromisoformat(value).astimezone(ZONE).replace(tzinfo=None) + dt.timedelta(days=days)
        return wall.replace(tzinfo=ZONE).astimezone(dt.UTC) if days else dt.datetime.fromisoformat(value)
    if isinstance(field, models.DateField):
        return dt.date.fromisoformat(value) + dt.timedelta(days=days)
    return UUID(value) if isinstance(field, models.UUIDField) else value
