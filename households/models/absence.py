"""A household is away. No reason is asked; it is a plain "cannot", and goes 30 days after it ends."""

from django.db import models

from .tenant import TenantModel


class Absence(TenantModel):
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    fingerprint = models.CharField(max_length=64)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="absence_ends_after_it_begins"
            ),
        ]
        indexes = [models.Index(fields=["building", "last_day"], name="absence_by_last_day")]

    def __str__(self) -> str:
        return f"{self.household_id} from {self.first_day} to {self.last_day}"
