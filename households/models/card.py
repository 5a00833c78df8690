"""A household's card: the random number that it writes on the sheet at the drum instead of a name."""

from django.db import models

from .tenant import TenantModel


class Card(TenantModel):
    """A number is used once in a building: a cancelled one that turns up later still says whose it was."""

    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="cards")
    number = models.CharField(max_length=5)
    given_on = models.DateField()
    cancelled_on = models.DateField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "number"], name="card_number_once"),
            models.UniqueConstraint(
                fields=["household"], condition=models.Q(cancelled_on__isnull=True), name="card_one_a_household"
            ),
            models.CheckConstraint(
                condition=models.Q(cancelled_on__isnull=True) | models.Q(cancelled_on__gte=models.F("given_on")),
                name="card_cancelled_after_it_is_given",
            ),
        ]

    def __str__(self) -> str:
        return self.number
