"""One measured or judged value of a batch, taken during a visit."""

from django.db import models

from households.models import LedgerRow


class Reading(LedgerRow):
    class Kind(models.TextChoices):
        LEVEL_PERCENT = "level_percent"
        DRUM_TENTHS_C = "drum_tenths_c"  # tenths of a degree Celsius, in the batch
        AIR_TENTHS_C = "air_tenths_c"  # tenths of a degree Celsius, of the air beside it at the same visit
        SQUEEZE = "squeeze"  # 0 dry, 1 right, 2 wet
        SMELL_BAD = "smell_bad"  # 0 no, 1 yes

    visit = models.ForeignKey("bins.Visit", on_delete=models.PROTECT, related_name="readings")
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=20, choices=Kind)
    value = models.IntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(kind="level_percent", value__gte=0, value__lte=100)
                | models.Q(kind__in=["drum_tenths_c", "air_tenths_c"], value__gte=-600, value__lte=1000)
                | models.Q(kind="squeeze", value__gte=0, value__lte=2)
                | models.Q(kind="smell_bad", value__gte=0, value__lte=1),
                name="reading_value_in_range",
            ),
        ]
        indexes = [models.Index(fields=["batch", "counts_at"], name="reading_by_batch")]
