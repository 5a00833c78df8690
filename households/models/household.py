"""A household is the people, not the flat: the next tenant is a new one."""

from django.db import models

from .tenant import TenantModel


class Household(TenantModel):
    label = models.CharField(max_length=60)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    gives_to_garden = models.BooleanField(default=False)  # its share goes to the beds, until it says otherwise

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["building", "label"], condition=models.Q(left_on__isnull=True), name="household_label_once"
            ),
            models.CheckConstraint(
                condition=models.Q(left_on__isnull=True) | models.Q(left_on__gte=models.F("joined_on")),
                name="household_leaves_after_it_joins",
            ),
        ]

    def __str__(self) -> str:
        return self.label
