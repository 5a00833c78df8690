"""Values as cells of a CSV file and back, without loss.

No column of text is ever null, so an empty cell is an empty text there and nothing elsewhere. A text that a program
would take for a formula gets an apostrophe before it, and so does one that begins with an apostrophe: the first
apostrophe of a text is never part of it.
"""

import base64
import json
from typing import Any

from django.db import models

from ..csv_out import safe_cell

MARK = "'"


def type_of(field: Any) -> dict[str, Any]:
    """The Frictionless type of a model's field."""
    match field:
        case models.ForeignKey():
            is_account = field.related_model._meta.label == "households.Account"
            return {"type": "string", "format": "email" if is_account else "uuid"}
        case models.UUIDField():
            return {"type": "string", "format": "uuid"}
        case models.BooleanField():
            return {"type": "boolean"}
        case models.IntegerField():
            return {"type": "integer"}
        case models.DateTimeField():
            return {"type": "datetime", "format": "any"}
        case models.DateField():
            return {"type": "date"}
        case models.TimeField():
            return {"type": "time", "format": "any"}
        case models.JSONField():
            return {"type": "any"}
        case models.BinaryField():
            return {"type": "string", "format": "binary"}
        case models.CharField() | models.TextField():
            return {"type": "string"}
    raise NotImplementedError(f"{field}: say here what such a field is in a package")


def is_text(field: Any) -> bool:
    return isinstance(field, models.CharField | models.TextField)


def cell(field: Any, value: Any) -> str:
    """A value, as `rows.table` tells it, as a cell."""
    if is_text(field):
        return text_cell(value)
    if value is None:
        return ""
    match field:
        case models.JSONField():
            return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        case models.BooleanField():
            return "true" if value else "false"
        case models.BinaryField():
            return base64.b64encode(bytes(value)).decode()
    return str(value)


def value_of(field: Any, text: str) -> Any:
    """A cell as the value that `rows.read` takes. ValueError for what can't be one."""
    if is_text(field):
        return text.removeprefix(MARK)
    if text == "":
        return None
    match field:
        case models.JSONField():
            return json.loads(text)
        case models.BooleanField():
            return {"true": True, "false": False}[text]
        case models.BinaryField():
            return base64.b64decode(text, validate=True)
        case models.IntegerField():
            return int(text)
    return text


def text_cell(text: str) -> str:
    """A text without what a program would run; `value_of` gives it back."""
    return MARK + text if text.startswith(MARK) else safe_cell(text)
