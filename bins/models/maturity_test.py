"""A home test of finished compost: begun in one row, read in another. Raw results only.

Whether a test passed is worked out each time it is asked, so that a later rule can look at an old result.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class MaturityTest(LedgerRow):
    class Kind(models.TextChoices):
        BAG = "bag", _("bag test")
        SEEDS = "seeds", _("seed test")
        FLASK = "flask", _("flask test")

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="tests")
    kind = models.CharField(max_length=8, choices=Kind)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(condition=models.Q(kind__in=["bag", "seeds", "flask"]), name="maturity_test_kind"),
        ]
        indexes = [models.Index(fields=["batch"], name="maturity_test_by_batch")]


class MaturityTestAttribution(Attribution):
    row = models.OneToOneField(MaturityTest, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class MaturityResult(LedgerRow):
    """What was seen when a test was read. A test is read once; whoever doubts it begins another."""

    test = models.OneToOneField(MaturityTest, on_delete=models.PROTECT, related_name="result")
    bad_smell = models.BooleanField(null=True, blank=True)  # bag
    sown = models.PositiveSmallIntegerField(null=True, blank=True)  # seeds
    sprouted = models.PositiveSmallIntegerField(null=True, blank=True)
    # The same seeds in plain potting soil beside it, and how long the roots grew in each.
    soil_sown = models.PositiveSmallIntegerField(null=True, blank=True)
    soil_sprouted = models.PositiveSmallIntegerField(null=True, blank=True)
    root_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    soil_root_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    highest_tenths_c = models.SmallIntegerField(null=True, blank=True)  # flask
    room_tenths_c = models.SmallIntegerField(null=True, blank=True)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    bad_smell__isnull=False, sown__isnull=True, sprouted__isnull=True,
                    highest_tenths_c__isnull=True, room_tenths_c__isnull=True,
                )
                | models.Q(
                    bad_smell__isnull=True, sown__gte=4, sprouted__lte=models.F("sown"),
                    highest_tenths_c__isnull=True, room_tenths_c__isnull=True,
                )
                | models.Q(
                    bad_smell__isnull=True, sown__isnull=True, sprouted__isnull=True,
                    highest_tenths_c__gte=-600, highest_tenths_c__lte=1000,
                    room_tenths_c__gte=-600, room_tenths_c__lte=1000,
                ),
                name="maturity_result_of_one_kind",
            ),
            models.CheckConstraint(
                condition=models.Q(soil_sown__isnull=True, soil_sprouted__isnull=True)
                | models.Q(
                    sown__isnull=False, soil_sown__gte=1, soil_sprouted__gte=1,
                    soil_sprouted__lte=models.F("soil_sown"),
                ),
                name="maturity_result_soil_stands_beside_seeds",
            ),
            models.CheckConstraint(
                condition=models.Q(root_mm__isnull=True, soil_root_mm__isnull=True)
                | models.Q(soil_sown__isnull=False, root_mm__gte=1, soil_root_mm__gte=1),
                name="maturity_result_roots_are_compared",
            ),
        ]  # fmt: skip


class MaturityResultAttribution(Attribution):
    row = models.OneToOneField(MaturityResult, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
