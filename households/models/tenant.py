"""What every row of a building has: its building, and a uid that is its only name outside."""

import uuid
from typing import Any, ClassVar, Self

from django.db import models

from .building import Building


class TenantQuerySet(models.QuerySet[Any]):
    def within(self, building: Building) -> Self:
        """The application's own wall. Every read passes here; the database's wall stands behind it."""
        return self.filter(building=building)


class TenantModel(models.Model):
    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="+")
    uid = models.UUIDField(default=uuid.uuid4, editable=False)

    objects: ClassVar[models.Manager[Any]] = TenantQuerySet.as_manager()

    # Fields that two equal histories may differ in: internal times and counters of the machinery.
    digest_leaves_out: ClassVar[tuple[str, ...]] = ()

    class Meta:
        abstract = True
        constraints = [models.UniqueConstraint(fields=["building", "uid"], name="%(app_label)s_%(class)s_uid_once")]
