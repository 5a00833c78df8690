"""A hash over all rows of a building, to tell whether two histories came to the same.

Internal keys and the times of the machinery are left out: a run that was killed and taken up again differs in
those alone. Rows without a building (the canary, sign-in mail) belong to no history and are left out too.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Collection, Iterator
from typing import Any

from django.db import models

from households.models import Building

from .walls import tenant_models


def rows_of(building: Building, leaving_out: Collection[type[models.Model]] = ()) -> Iterator[str]:
    """Each row as one line of JSON, models and rows in a fixed order. Call inside the building."""
    yield _line(building)
    for model in tenant_models():
        if model in leaving_out:
            continue
        parents = [field.name for field in model._meta.fields if isinstance(field, models.ForeignKey)]
        rows = model._base_manager.filter(building=building).select_related(*parents)
        yield from (_line(row) for row in sorted(rows, key=_natural))


def digest(lines: list[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def _natural(row: models.Model) -> str:
    """What names a row outside the database: its uid, or else (a job) scope, name and key."""
    return str(getattr(row, "uid", row))


def _line(row: models.Model) -> str:
    left_out = getattr(row, "digest_leaves_out", ())
    values: dict[str, Any] = {
        field.name: _value(row, field)
        for field in row._meta.fields
        if not field.primary_key and field.name not in left_out
    }
    return json.dumps([row._meta.label, values], sort_keys=True, ensure_ascii=False, default=str)


def _value(row: models.Model, field: "models.Field[Any, Any]") -> Any:
    value = getattr(row, field.name)
    if isinstance(value, models.Model):
        return getattr(value, "uid", None) or value.natural_key()  # type: ignore[attr-defined]  # an account
    return value.astimezone(dt.UTC).isoformat() if isinstance(value, dt.datetime) else value
