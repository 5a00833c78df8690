"""One duty on one day, and who does it: a row for each place, so that the last place is a unique key."""

from django.db import models

from .tenant import TenantModel


class Duty(TenantModel):
    kind = models.ForeignKey("households.DutyKind", on_delete=models.PROTECT, related_name="duties")
    plan = models.ForeignKey("households.RotaPlan", on_delete=models.PROTECT, related_name="duties")
    day = models.DateField()
    # As they were when it was planned: a kind that is changed later changes no duty that stands.
    begins_at = models.TimeField(null=True, blank=True)
    least = models.PositiveSmallIntegerField()
    usual = models.PositiveSmallIntegerField()
    minutes = models.PositiveSmallIntegerField()
    is_heavy = models.BooleanField()
    done_at = models.DateTimeField(null=True, blank=True)
    # Too late to matter. Who was to do it is deleted at the same moment: no misses are counted anywhere.
    lapsed_at = models.DateTimeField(null=True, blank=True)
    told_short_at = models.DateTimeField(null=True, blank=True)  # an opening short of people: whoever plans knows

    digest_leaves_out = ("lapsed_at", "told_short_at")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["kind", "day"], name="duty_once_a_day"),
            models.CheckConstraint(
                condition=models.Q(done_at__isnull=True) | models.Q(lapsed_at__isnull=True),
                name="duty_done_or_lapsed_not_both",
            ),
        ]
        indexes = [models.Index(fields=["building", "day"], name="duty_by_day")]

    def __str__(self) -> str:
        return f"{self.kind_id} on {self.day}"


class DutyAssignment(TenantModel):
    duty = models.ForeignKey(Duty, on_delete=models.CASCADE, related_name="assignments")
    number = models.PositiveSmallIntegerField()  # of the place, from 1
    household = models.ForeignKey("households.Household", on_delete=models.PROTECT, related_name="duties")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["duty", "number"], name="duty_place_once"),
            models.UniqueConstraint(fields=["duty", "household"], name="duty_household_once"),
            models.CheckConstraint(condition=models.Q(number__gte=1, number__lte=9), name="duty_place_one_to_nine"),
        ]

    def __str__(self) -> str:
        return f"{self.duty_id} place {self.number}"
