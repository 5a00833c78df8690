"""One measured or judged value of a batch, taken during a visit."""

from django.db import models

from households.models import LedgerRow


class Reading(LedgerRow):
    class Kind(models.TextChoices):
        LEVEL_PERCENT = "level_percent"

    visit = models.ForeignKey("bins.Visit", on_delete=models.PROTECT, related_name="readings")
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=20, choices=Kind)
    value = models.IntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(kind="level_percent", value__gte=0, value__lte=100), name="reading_value_in_range"
            ),
        ]
        indexes = [models.Index(fields=["batch", "counts_at"], name="reading_by_batch")]
