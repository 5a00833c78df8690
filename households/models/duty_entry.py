"""What the calendars of a household were told of a duty last, so that a change raises its number and one that was
given away stays in them as cancelled."""

from django.db import models

from .tenant import TenantModel


class DutyEntry(TenantModel):
    duty = models.ForeignKey("households.Duty", on_delete=models.CASCADE, related_name="entries")
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")
    begins_at = models.TimeField(null=True, blank=True)
    minutes = models.PositiveSmallIntegerField()
    is_cancelled = models.BooleanField(default=False)
    sequence = models.PositiveSmallIntegerField(default=0)
    changed_at = models.DateTimeField()

    digest_leaves_out = ("changed_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["duty", "household"], name="duty_entry_once"),
        ]

    def __str__(self) -> str:
        return f"{self.duty_id} in the calendars of {self.household_id}"
