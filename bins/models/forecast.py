"""What the physical model expects of a lot, as of the end of a day. No ledger row: it can be made anew any time.

Dates and amounts are the 10, 50 and 90 % points of a range; an empty date lies beyond the horizon.
"""

from django.db import models

from households.models import TenantModel


class Forecast(TenantModel):
    batch = models.ForeignKey("bins.Batch", on_delete=models.CASCADE, related_name="forecasts")
    made_on = models.DateField()  # the last day that it knows of
    horizon_days = models.PositiveSmallIntegerField()
    full_low = models.DateField(null=True, blank=True)  # full: empty throughout once it has closed
    full_mid = models.DateField(null=True, blank=True)
    full_high = models.DateField(null=True, blank=True)
    curing_low = models.DateField(null=True, blank=True)
    curing_mid = models.DateField(null=True, blank=True)
    curing_high = models.DateField(null=True, blank=True)
    ready_low = models.DateField(null=True, blank=True)
    ready_mid = models.DateField(null=True, blank=True)
    ready_high = models.DateField(null=True, blank=True)
    compost_low_ml = models.PositiveIntegerField()
    compost_mid_ml = models.PositiveIntegerField()
    compost_high_ml = models.PositiveIntegerField()
    # The same with all readings forgotten, asked for once a week: what the ranges are scored against.
    has_prior = models.BooleanField(default=False)
    prior_full_low = models.DateField(null=True, blank=True)
    prior_full_high = models.DateField(null=True, blank=True)
    prior_ready_low = models.DateField(null=True, blank=True)
    prior_ready_high = models.DateField(null=True, blank=True)
    # Of an open lot: permille, and days after `made_on` of being full, of the next empty place, and short by.
    clash = models.JSONField(null=True, blank=True)
    # Of a lot in trouble: days after `made_on` of being ready if what is advised against it is done.
    remedied = models.JSONField(null=True, blank=True)
    # Daily bands from the day after on, as whole numbers; only the newest row of a lot keeps them.
    bands = models.JSONField(default=dict, blank=True)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["batch", "made_on"], name="forecast_one_a_night"),
            models.CheckConstraint(
                condition=models.Q(
                    compost_low_ml__lte=models.F("compost_mid_ml"), compost_mid_ml__lte=models.F("compost_high_ml")
                ),
                name="forecast_compost_in_order",
            ),
            models.CheckConstraint(
                condition=models.Q(horizon_days__gte=1, horizon_days__lte=730), name="forecast_horizon_known"
            ),
        ]

    def __str__(self) -> str:
        return f"forecast of {self.made_on}"


class ForecastHit(TenantModel):
    """What became of a range: it was given so many days ahead, and then it happened."""

    class What(models.TextChoices):
        FULL = "full"
        READY = "ready"

    batch = models.ForeignKey("bins.Batch", on_delete=models.CASCADE, related_name="forecast_hits")
    what = models.CharField(max_length=5, choices=What)
    ahead_days = models.PositiveSmallIntegerField()
    made_on = models.DateField()
    happened_on = models.DateField()
    low = models.DateField()  # beyond the horizon: the day after it
    high = models.DateField()
    prior_low = models.DateField()
    prior_high = models.DateField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["batch", "what", "ahead_days"], name="forecast_hit_once"),
            models.CheckConstraint(condition=models.Q(what__in=["full", "ready"]), name="forecast_hit_of_what"),
            models.CheckConstraint(
                condition=models.Q(low__lte=models.F("high"), prior_low__lte=models.F("prior_high")),
                name="forecast_hit_ranges_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.ahead_days} days ahead"
