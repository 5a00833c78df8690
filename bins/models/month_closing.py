"""A month as it was closed. What is corrected later shows as a difference to it."""

from django.db import models

from households.models import TenantModel


class MonthClosing(TenantModel):
    first_day = models.DateField()
    closed_at = models.DateTimeField()
    closed_by = models.ForeignKey(
        "households.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )  # empty where the date did it
    figures = models.JSONField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "first_day"], name="month_closed_once"),
        ]

    def __str__(self) -> str:
        return f"{self.first_day:%Y-%m}"
