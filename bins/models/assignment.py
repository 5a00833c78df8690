"""Which drum a household uses: one, so that every answer can name it."""

from django.db import models

from households.models import TenantModel


class Assignment(TenantModel):
    household = models.OneToOneField("households.Household", on_delete=models.CASCADE, related_name="assignment")
    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="assignments")
    # The drum it goes back to, while that one is out of service.
    usual_drum = models.ForeignKey(
        "bins.Drum", null=True, blank=True, on_delete=models.PROTECT, related_name="assignments_lent"
    )

    def __str__(self) -> str:
        return f"{self.household_id} at {self.drum_id}"
