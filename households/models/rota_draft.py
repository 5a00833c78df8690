"""A plan asked for: the days, and what was found for them. Asked, worked out by a job, looked at, put up or not."""

from django.db import models

from .tenant import TenantModel


class RotaDraft(TenantModel):
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="+")
    first_on = models.DateField()
    last_on = models.DateField()
    is_again = models.BooleanField(default=False)  # beside the plan that these days have already
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        "households.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    fingerprint = models.CharField(max_length=64)
    done_at = models.DateTimeField(null=True, blank=True)
    # The mark of all that it rests on: the plan goes up only while that is what it was.
    rests_on = models.CharField(max_length=64, default="", blank=True)
    outcome = models.JSONField(null=True, blank=True)

    digest_leaves_out = ("done_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(last_on__gte=models.F("first_on")), name="rota_draft_has_a_day"),
            models.CheckConstraint(
                condition=models.Q(done_at__isnull=True, outcome__isnull=True, rests_on="")
                | (models.Q(done_at__isnull=False, outcome__isnull=False) & ~models.Q(rests_on="")),
                name="rota_draft_done_has_its_outcome",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first_on} to {self.last_on}"
