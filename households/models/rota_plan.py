"""A plan that was published for a site: its period, and how far each of the rota's aims was met."""

from django.db import models

from .tenant import TenantModel


class RotaPlan(TenantModel):
    class Way(models.TextChoices):
        PUBLISHED = "published"  # a period planned for the first time
        FEWEST = "fewest"  # planned again: so that the fewest people change
        FAIREST = "fairest"
        HALFWAY = "halfway"

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="rota_plans")
    # One after another, so that a plan made on the look of an older one is refused.
    number = models.PositiveIntegerField()
    first_on = models.DateField()
    last_on = models.DateField()
    way = models.CharField(max_length=9, choices=Way)
    published_at = models.DateTimeField()
    levels = models.JSONField(default=list)  # the aims in their order, each with its value and its proof
    people_changed = models.PositiveIntegerField(default=0)
    fingerprint = models.CharField(max_length=64)

    digest_leaves_out = ("published_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "number"], name="rota_plan_number_once"),
            models.CheckConstraint(
                condition=models.Q(way__in=["published", "fewest", "fairest", "halfway"]), name="rota_plan_way_known"
            ),
            models.CheckConstraint(condition=models.Q(last_on__gte=models.F("first_on")), name="rota_plan_has_a_day"),
        ]

    def __str__(self) -> str:
        return f"plan {self.number} of {self.site_id}"


class RotaDue(TenantModel):
    """What was due from a household in one period of a site, by the days it was there: what fairness over periods is
    measured against. What it did is the sum of its duties."""

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="rota_dues")
    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="+")
    first_on = models.DateField()  # of the period
    seconds = models.PositiveIntegerField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "household", "first_on"], name="rota_due_once_a_period"),
        ]

    def __str__(self) -> str:
        return f"{self.household_id} from {self.first_on}: {self.seconds} s"
