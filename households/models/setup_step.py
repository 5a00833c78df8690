"""A question of the set-up that somebody has answered since the building stands; the answer stands elsewhere."""

from django.db import models

from .tenant import TenantModel


class SetupStep(TenantModel):
    step = models.CharField(max_length=16)
    answered_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "step"], name="setup_step_once"),
        ]

    def __str__(self) -> str:
        return self.step
