"""Days on which a site is closed: works, holidays. Both ends count."""

import datetime as dt

from django.db import models

from .tenant import TenantModel


class Closure(TenantModel):
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="closures")
    first_day = models.DateField()
    last_day = models.DateField()
    is_yearly = models.BooleanField(default=False)  # they return each year, from these on
    words = models.CharField(max_length=200)  # what everybody reads
    fingerprint = models.CharField(max_length=64)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="closure_ends_after_it_begins"
            ),
            models.CheckConstraint(condition=~models.Q(words=""), name="closure_has_words"),
        ]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"

    def covers(self, day: dt.date) -> bool:
        """Whether the site is closed on a day. What returns each year goes by month and day, over New Year as well;
        a 29 February only in years that have one."""
        if not self.is_yearly or day < self.first_day:
            return self.first_day <= day <= self.last_day
        first, last, on = ((one.month, one.day) for one in (self.first_day, self.last_day, day))
        return first <= on <= last if first <= last else on >= first or on <= last
