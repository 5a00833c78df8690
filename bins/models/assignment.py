"""Which drum a household uses: one, so that every answer can name it."""

from django.db import models

from households.models import TenantModel


class Assignment(TenantModel):
    household = models.OneToOneField("households.Household", on_delete=models.CASCADE, related_name="assignment")
    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="assignments")

    def __str__(self) -> str:
        return f"{self.household_id} at {self.drum_id}"
