"""The shapes of limits and of the period log in the API.

`source` is named in `get_fields`: a serializer's fields keep an attribute of that name for themselves.
"""

from typing import Any

from rest_framework import serializers as s

WHAT = ["scraps_year", "stored", "browns"]


class LimitIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    site = s.UUIDField()
    what = s.ChoiceField(WHAT, help_text="Kilos a calendar year; litres in drums and bins; litres of browns.")
    figure = s.IntegerField(required=False, help_text="No limit any more, if absent.")
    dated = s.DateField()
    why = s.CharField(max_length=300, required=False)

    def get_fields(self) -> dict[str, Any]:
        return super().get_fields() | {"source": s.CharField(max_length=200)}


class LimitOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    what = s.ChoiceField(WHAT)
    figure = s.IntegerField()
    used = s.IntegerField()
    percent = s.IntegerField()
    is_near = s.BooleanField(help_text="80 % or more.")
    dated = s.DateField()

    def get_fields(self) -> dict[str, Any]:
        return super().get_fields() | {"source": s.CharField()}


class LogLineOut(s.Serializer):  # type: ignore[type-arg]
    at = s.DateTimeField()
    drum = s.IntegerField(allow_null=True)
    hatch = s.CharField()
    kind = s.ChoiceField(["visit", "reading", "wrong_item", "report", "answered", "shut", "opened"])
    detail = s.DictField()
    is_correction = s.BooleanField(help_text="Taken back later.")


class PeriodLogOut(s.Serializer):  # type: ignore[type-arg]
    first = s.DateField()
    last = s.DateField()
    is_cut = s.BooleanField()
    lines = LogLineOut(many=True)
