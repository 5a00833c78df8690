"""The eighteen months frozen as data: the rows as they stood 30 days before the end, and what came since.

One line of JSON a model, compressed. Rows name each other by uid, so that a load gives every row its own key and
two loads are alike. Not frozen are the outbox, jobs that are done, and the closings of months, which hang on the
calendar and are made anew.
"""

import datetime as dt
import gzip
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db import models, transaction

from bins.models import ForecastState, MonthClosing
from bins.months.close import NAME as CLOSE_MONTH
from coordinator import digest, rows, walls
from coordinator.jobs.deliver import NAME as DELIVER
from households.models import Account, Building, Job, Notice

from .block import TIME_ZONE
from .block import UID as BLOCK

FILE = Path(__file__).resolve().parents[2] / "deploy" / "demo" / "block.jsonl.gz"
NOT_FROZEN = (MonthClosing, Notice, ForecastState)
MACHINERY = (MonthClosing, Notice, Job, ForecastState)  # what two lives of the same days may differ in

ZONE = ZoneInfo(TIME_ZONE)


def digest_of(building: Building) -> str:
    """What the people did and the rules made of it, as a hash. Call inside the building."""
    return digest.digest(list(digest.rows_of(building, leaving_out=MACHINERY)))


def take(building: Building) -> list[rows.Table]:
    """All that is frozen, as it stands now, parents first. Call inside the building."""
    accounts = Account.objects.filter(is_demo=True)
    names: rows.Names = {Account: dict(accounts.values_list("pk", "email"))}
    tables = [rows.table(Building, [building], names)]
    for model in rows.in_order(model for model in walls.tenant_models() if model not in NOT_FROZEN):
        found = model._base_manager.filter(building=building).order_by("pk")
        if model is Job:
            found = found.filter(state=Job.State.DUE).exclude(name__in=[DELIVER, CLOSE_MONTH])
        tables.append(rows.table(model, found, names))
    return tables


def write(then: list[rows.Table], end: list[rows.Table], accounts: Iterable[str], ends_as: str) -> None:
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
    keys: rows.Keys = {Account: {one: key.pk for one, key in accounts.items()}}
    with transaction.atomic():
        for line in lines:
            told = json.loads(line)
            model = apps.get_model(told["model"])
            then = {row[0]: row for row in told["then"]}
            if until_end:
                then = {name: row for name, row in then.items() if name not in set(told["gone"])}
                then |= {row[0]: row for row in told["since"]}
            rows.insert(rows.Table(model, tuple(told["fields"]), then), keys, _values(days))


def _lines() -> list[str]:
    return gzip.decompress(FILE.read_bytes()).decode().splitlines()


def _values(days: int) -> rows.Values:
    """Rows as they were told, all dates moved by so many days."""

    def values(model: type[models.Model], row: rows.Row, fields: list[Any], keys: rows.Keys) -> dict[str, Any]:
        found = {field.attname: _read(field, value, keys, days) for field, value in zip(fields, row[1:], strict=True)}
        if model is Job:
            found["key"] = (dt.date.fromisoformat(found["key"]) + dt.timedelta(days=days)).isoformat()
        else:
            found["uid"] = UUID(row[0])
        return found if model is Building else found | {"building_id": keys[Building][str(BLOCK)]}

    return values


def _read(field: Any, value: Any, keys: rows.Keys, days: int) -> Any:
    """A value as the model has it. Instants move by the block's own clock: three in the night stays three."""
    found = rows.read(field, value, keys)
    if isinstance(found, dt.datetime):
        wall = found.astimezone(ZONE).replace(tzinfo=None) + dt.timedelta(days=days)
        return wall.replace(tzinfo=ZONE).astimezone(dt.UTC) if days else found
    return found + dt.timedelta(days=days) if isinstance(found, dt.date) else found
