"""A duty that a site has: what it is, on which days, how many people, how long, and whether one must lift."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class DutyKind(TenantModel):
    class Work(models.TextChoices):
        TURNING = "turning", _("turning the drums")
        TRAYS = "trays", _("emptying the trays")
        BROWNS = "browns", _("filling up the browns")
        OPENING = "opening", _("being there at an opening")

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="duty_kinds")
    work = models.CharField(max_length=8, choices=Work)
    # RFC 5545, without DTSTART: the first day and the local wall time are the two fields below.
    rule = models.CharField(max_length=200)
    starts_on = models.DateField()
    begins_at = models.TimeField(null=True, blank=True)  # local wall time; none: at any time of the day
    least = models.PositiveSmallIntegerField(default=1)
    usual = models.PositiveSmallIntegerField(default=2)
    minutes = models.PositiveSmallIntegerField()  # set, never measured: what one person's turn counts for
    is_heavy = models.BooleanField()
    is_on = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(work__in=["turning", "trays", "browns", "opening"]), name="duty_kind_work_known"
            ),
            models.CheckConstraint(
                condition=models.Q(least__gte=1, least__lte=9), name="duty_kind_one_person_at_least"
            ),
            models.CheckConstraint(
                condition=models.Q(usual__gte=models.F("least"), usual__lte=9), name="duty_kind_usual_not_below_least"
            ),
            models.CheckConstraint(
                condition=models.Q(minutes__gte=1, minutes__lte=480), name="duty_kind_up_to_eight_hours"
            ),
            models.CheckConstraint(
                condition=~models.Q(work="opening") | models.Q(begins_at__isnull=False),
                name="duty_kind_opening_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.work} {self.rule}"


class DutyLimits(TenantModel):
    """What a household can't do: said by itself, without a reason. No row: no limits. `stays_out` is not its word, but
    of whoever plans."""

    household = models.OneToOneField("households.Household", on_delete=models.CASCADE, related_name="duty_limits")
    cannot_lift = models.BooleanField(default=False)
    carry_for_me = models.BooleanField(default=False)  # somebody takes its pail down
    stays_out = models.BooleanField(default=False)  # shares no duties, and nothing is due from it

    def __str__(self) -> str:
        return f"limits of {self.household_id}"
