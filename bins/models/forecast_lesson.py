"""What a lot, lived up to its harvest, has taught of the model's parameters: the site's next lots begin from it."""

from django.db import models

from households.models import TenantModel


class ForecastLesson(TenantModel):
    batch = models.OneToOneField("bins.Batch", on_delete=models.CASCADE, related_name="forecast_lesson")
    day = models.DateField()  # of the harvest
    version = models.PositiveSmallIntegerField()  # of the model: another one's parameters mean other things
    # In spreads of the general prior: where each parameter came to lie, and what it began from.
    shift = models.JSONField()
    width = models.JSONField()
    began = models.JSONField()

    def __str__(self) -> str:
        return f"lesson of {self.day}"
