"""What somebody at the drum said is wrong with one batch, or that it is well again."""

from django.db import models

from bins.process.symptom import Symptom
from households.models import LedgerRow


class ToldSymptom(LedgerRow):
    WELL = "well"  # it is well again: what was told before is over

    visit = models.ForeignKey("bins.Visit", on_delete=models.PROTECT, related_name="symptoms")
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="symptoms")
    kind = models.CharField(max_length=12, choices=[(str(kind), str(kind)) for kind in (*Symptom, "well")])

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    kind__in=[
                        "smell", "rotten", "ammonia", "sour", "sweet_damp", "cold", "too_hot", "dry", "wet", "matted",
                        "pieces", "leaking", "animals", "flies", "larvae", "rodents", "hard_to_turn", "not_done",
                        "broken", "well",
                    ]
                ),
                name="told_symptom_kind_known",
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=["batch", "counts_at"], name="told_symptom_by_batch")]
