"""A household asks that somebody takes one duty on one day. No name is told until somebody accepts."""

from django.db import models

from .tenant import TenantModel


class Cover(TenantModel):
    duty = models.ForeignKey("households.Duty", on_delete=models.CASCADE, related_name="covers")
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")  # who asks
    asked_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)  # taken, or no longer needed
    fingerprint = models.CharField(max_length=64)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["duty", "household"], condition=models.Q(closed_at__isnull=True), name="cover_asked_once"
            ),
        ]

    def __str__(self) -> str:
        return f"cover for {self.duty_id}"


class CoverOffer(TenantModel):
    """ "I take yours if you take mine": waits for the yes of who asked."""

    cover = models.ForeignKey(Cover, on_delete=models.CASCADE, related_name="offers")
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")
    duty = models.ForeignKey("households.Duty", on_delete=models.CASCADE, related_name="+")  # given in exchange
    offered_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["cover", "household"], name="cover_offered_once_a_household"),
        ]

    def __str__(self) -> str:
        return f"offer for {self.cover_id}"


class CoverTaking(TenantModel):
    """Somebody took it. One a request: of two who press at the same moment, the key refuses one."""

    cover = models.OneToOneField(Cover, on_delete=models.CASCADE, related_name="taking")
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")
    offer = models.OneToOneField(CoverOffer, null=True, blank=True, on_delete=models.CASCADE, related_name="taking")
    taken_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"taking of {self.cover_id}"
