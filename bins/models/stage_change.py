"""A batch went from one stage to the next, or back."""

from django.db import models

from households.models import Attribution, LedgerRow


class StageChange(LedgerRow):
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="stage_changes")
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")
    decision = models.ForeignKey("bins.Decision", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    from_stage = models.CharField(max_length=10, blank=True)  # empty where the batch begins
    to_stage = models.CharField(max_length=10)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=~models.Q(from_stage=models.F("to_stage")), name="stage_change_changes_something"
            ),
        ]


class StageChangeAttribution(Attribution):
    row = models.OneToOneField(StageChange, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
