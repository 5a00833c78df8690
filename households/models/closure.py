"""Days on which a site is closed: works, holidays. Both ends count."""

from django.db import models

from .tenant import TenantModel


class Closure(TenantModel):
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="closures")
    first_day = models.DateField()
    last_day = models.DateField()
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
