"""Who did what to whom, where that matters beyond the ledger: roles, tokens, names opened, settings."""

import datetime as dt
from typing import Any

from django.db import models

from .building import Building
from .person import Person
from .tenant import TenantModel


class Audit(TenantModel):
    at = models.DateTimeField()
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    act = models.CharField(max_length=40)
    detail = models.JSONField(default=dict)

    digest_leaves_out = ("at",)

    class Meta(TenantModel.Meta):
        indexes = [models.Index(fields=["building", "at"], name="audit_by_time")]

    def __str__(self) -> str:
        return f"{self.act} {self.at:%Y-%m-%d}"

    @classmethod
    def note(cls, building: Building, person: Person | None, act: str, at: dt.datetime, **detail: Any) -> None:
        cls.objects.create(building=building, person=person, act=act, at=at, detail=detail)
