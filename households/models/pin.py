"""A cell that the planner has fixed: this household on that duty and day for sure, or on no account."""

from django.db import models

from .tenant import TenantModel


class Pin(TenantModel):
    # By kind and day, not by duty: the planner fixes cells before the duties of a period are written.
    kind = models.ForeignKey("households.DutyKind", on_delete=models.CASCADE, related_name="pins")
    day = models.DateField()
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")
    is_forbidden = models.BooleanField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["kind", "day", "household"], name="pin_once_a_cell"),
        ]

    def __str__(self) -> str:
        return f"{self.kind_id} {self.day} {self.household_id}"
