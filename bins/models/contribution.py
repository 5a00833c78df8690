"""What one household brought once."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow, Site


class Contribution(LedgerRow):
    class Known(models.TextChoices):
        WEIGHED = "weighed", _("weighed")
        COUNTED = "counted", _("counted")
        GUESSED = "guessed", _("guessed")

    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="+")
    # Empty where nothing was filling in the drum at that moment: brought all the same, so recorded.
    batch = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    # The hatch it went into, kept only where that wasn't the open one.
    place = models.ForeignKey("bins.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    quarter_pails = models.IntegerField(null=True, blank=True)  # what was seen
    browns_half_cups = models.IntegerField(default=0)  # what was seen
    browns_in_pail = models.BooleanField(default=False)  # then the pail was not all scraps
    scraps_g = models.IntegerField()
    scraps_ml = models.IntegerField()
    browns_ml = models.IntegerField(default=0)
    known = models.CharField(max_length=8, choices=Known)
    pail = models.ForeignKey("bins.Pail", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    # The conversion used, kept with the row: a later calibration or other browns change no old figure.
    browns_kind = models.CharField(max_length=12, choices=Site.Browns)
    pail_ml = models.PositiveIntegerField()
    scraps_g_per_l = models.PositiveIntegerField()
    cup_ml = models.PositiveIntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, scraps_g__gte=0, scraps_ml__gte=0, browns_ml__gte=0)
                | models.Q(reverses__isnull=False, scraps_g__lte=0, scraps_ml__lte=0, browns_ml__lte=0),
                name="contribution_negative_only_to_reverse",
            ),
            models.CheckConstraint(
                condition=models.Q(known__in=["weighed", "counted", "guessed"]), name="contribution_known_how"
            ),
            models.CheckConstraint(
                condition=models.Q(browns_kind__in=["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard"]),
                name="contribution_browns_known",
            ),
        ]
        indexes = [
            models.Index(fields=["building", "counts_at"], name="contribution_by_time"),
            models.Index(fields=["batch"], name="contribution_by_batch"),
        ]

    @property
    def browns_cups(self) -> int | float:
        """Cups of browns, halves included."""
        return self.browns_half_cups // 2 if self.browns_half_cups % 2 == 0 else self.browns_half_cups / 2


class ContributionAttribution(Attribution):
    row = models.OneToOneField(Contribution, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
        indexes = [models.Index(fields=["household"], name="contribution_by_household")]
