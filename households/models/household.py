"""A household is the people, not the flat: the next tenant is a new one."""

import datetime as dt
from typing import Any, ClassVar, Self

from django.db import models

from .tenant import TenantModel, TenantQuerySet


class HouseholdQuerySet(TenantQuerySet):
    def living_on(self, day: dt.date) -> Self:
        """Households that live here on a day; both ends count."""
        return self.filter(joined_on__lte=day).filter(models.Q(left_on__isnull=True) | models.Q(left_on__gte=day))


class Household(TenantModel):
    label = models.CharField(max_length=60)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    gives_to_garden = models.BooleanField(default=False)  # its share goes to the beds, until it says otherwise
    gives_to_neighbours = models.BooleanField(default=False)  # its share goes to the others, until it says otherwise
    # How often it comes, as it says itself; empty where it has not said.
    visits_in_four_weeks = models.PositiveSmallIntegerField(null=True, blank=True)

    objects: ClassVar[models.Manager[Any]] = HouseholdQuerySet.as_manager()

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
            models.CheckConstraint(
                condition=models.Q(gives_to_garden=False) | models.Q(gives_to_neighbours=False),
                name="household_gives_to_one",
            ),
            models.CheckConstraint(
                condition=models.Q(visits_in_four_weeks__isnull=True)
                | models.Q(visits_in_four_weeks__gte=1, visits_in_four_weeks__lte=28),
                name="household_comes_daily_at_most",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def lives_here_on(self, day: dt.date) -> bool:
        """Both ends count."""
        return self.joined_on <= day and (self.left_on is None or day <= self.left_on)
