"""Where the physical model stands with a lot at the end of a day, so that the next night lives one day and not all."""

from django.db import models

from households.models import TenantModel


class ForecastState(TenantModel):
    """Kept only to save work: whatever is missing is lived anew from the books."""

    batch = models.ForeignKey("bins.Batch", on_delete=models.CASCADE, related_name="forecast_states")
    day = models.DateField()
    version = models.PositiveSmallIntegerField()  # of the model: a state of another one is of no use
    lived = models.CharField(max_length=64)  # hash of the history that it has lived: told otherwise, it is of no use
    blob = models.BinaryField()

    digest_leaves_out = ("blob",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["batch", "day"], name="forecast_state_one_a_day"),
        ]

    def __str__(self) -> str:
        return f"state of {self.day}"
