"""A household moves out: its last day, and whether it comes back for its share. No name is in here."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class Departure(TenantModel):
    class Share(models.TextChoices):
        PICK_UP = "pick_up", _("We come and fetch it")
        GARDEN = "garden", _("It goes to the beds")

    household = models.OneToOneField("households.Household", on_delete=models.PROTECT, related_name="departure")
    last_day = models.DateField()
    share = models.CharField(max_length=7, choices=Share)
    made_at = models.DateTimeField()
    forgotten_at = models.DateTimeField(null=True, blank=True)  # when names and ties were deleted
    fingerprint = models.CharField(max_length=64)

    digest_leaves_out = ("made_at", "forgotten_at")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(share__in=["pick_up", "garden"]), name="departure_share_known"),
        ]

    def __str__(self) -> str:
        return f"{self.household_id} until {self.last_day}"
