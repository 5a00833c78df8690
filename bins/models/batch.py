"""Everything that started in one chamber together. It may move; its rows stay its own."""

import datetime as dt
from typing import Any, ClassVar, Self

from django.db import models

from bins.process.stage import Stage
from households.models import SharingTerms, TenantModel, TenantQuerySet

LIVE = ["filling", "composting", "curing", "ready"]
ENDED = ["harvested", "discarded", "merged"]


class BatchQuerySet(TenantQuerySet):
    def live(self) -> Self:
        return self.filter(stage__in=LIVE)

    def filling_at(self, instant: dt.datetime) -> Self:
        """Batches that were taking scraps at an instant, whatever became of them since.

        One whose closing was undone long after spans the time of those opened meanwhile: the one opened last comes
        first, since it was the one with the tag.
        """
        opened = self.filter(opened_at__lte=instant).order_by("-opened_at", "-pk")
        return opened.filter(models.Q(closed_at__isnull=True) | models.Q(closed_at__gt=instant))

    def living_at(self, instant: dt.datetime) -> Self:
        """Batches that stood in a place at an instant, whatever became of them since."""
        return self.filter(opened_at__lte=instant).filter(
            models.Q(ended_at__isnull=True) | models.Q(ended_at__gt=instant)
        )


class Batch(TenantModel, SharingTerms):
    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="batches")
    place = models.ForeignKey("bins.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="batches")
    started_in = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")
    stage = models.CharField(max_length=10, choices=[(stage.value, stage.value) for stage in Stage])
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    # It stood there before anybody wrote down who brought what: it is in no one's share.
    from_record = models.BooleanField(default=False)
    # The batch that it became part of: those who brought to either share what comes out.
    merged_into = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="merged_from")

    objects: ClassVar[models.Manager[Any]] = BatchQuerySet.as_manager()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            *SharingTerms.Meta.constraints,
            models.UniqueConstraint(
                fields=["drum"], condition=models.Q(stage="filling"), name="batch_one_filling_a_drum"
            ),
            models.UniqueConstraint(
                fields=["place"], condition=models.Q(place__isnull=False), name="batch_one_a_place"
            ),
            models.CheckConstraint(
                condition=models.Q(stage__in=LIVE, place__isnull=False, ended_at__isnull=True)
                | models.Q(stage__in=ENDED, place__isnull=True, ended_at__isnull=False),
                name="batch_has_a_place_while_it_lives",
            ),
            models.CheckConstraint(
                condition=models.Q(stage="merged", merged_into__isnull=False)
                | (~models.Q(stage="merged") & models.Q(merged_into__isnull=True)),
                name="batch_merged_names_the_other",
            ),
            models.CheckConstraint(
                condition=models.Q(stage="filling", closed_at__isnull=True)
                | (~models.Q(stage="filling") & models.Q(closed_at__isnull=False)),
                name="batch_closed_once_not_filling",
            ),
            models.CheckConstraint(
                condition=models.Q(closed_at__isnull=True) | models.Q(closed_at__gte=models.F("opened_at")),
                name="batch_closes_after_it_opens",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.opened_at:%Y-%m-%d}"
