"""The numbers of the chamber rules as a site has set them; a site without a row goes by the defaults."""

from django.db import models

from households.models import TenantModel


class SiteRules(TenantModel):
    site = models.OneToOneField("households.Site", on_delete=models.CASCADE, related_name="rules")
    close_mark_percent = models.PositiveSmallIntegerField(default=75)
    longest_fill_days = models.PositiveSmallIntegerField(default=60)
    composting_days = models.PositiveSmallIntegerField(default=56)
    curing_days = models.PositiveSmallIntegerField(default=21)
    turn_open_days = models.PositiveSmallIntegerField(default=3)
    turn_resting_days = models.PositiveSmallIntegerField(default=7)
    # Days that return each year, as MM-DD; both empty where the mean of the air outdoors decides.
    winter_first = models.CharField(max_length=5, blank=True)
    spring_first = models.CharField(max_length=5, blank=True)
    # The usual air beside the drums: twelve monthly means in tenths of a degree Celsius, January first; twelve alike
    # indoors. None: a temperate yard's, or a heated cellar's.
    air_tenths_c = models.JSONField(null=True, blank=True)
    # What the residents were told last, so that they are told once when it changes.
    is_told_full = models.BooleanField(default=False)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(close_mark_percent__gte=50, close_mark_percent__lte=100),
                name="site_rules_close_mark_half_to_full",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    longest_fill_days__gte=1, composting_days__gte=1, curing_days__gte=1,
                    turn_open_days__gte=1, turn_resting_days__gte=1,
                ),
                name="site_rules_at_least_a_day",
            ),
            models.CheckConstraint(
                condition=models.Q(winter_first="", spring_first="")
                | (~models.Q(winter_first="") & ~models.Q(spring_first="")),
                name="site_rules_winter_begins_and_ends",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"rules of {self.site_id}"
