"""A size of pail that households carry, and the full ones weighed to know what a litre of scraps weighs."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow, TenantModel


class Pail(TenantModel):
    class Measured(models.TextChoices):
        TOLD = "told", _("as its maker says")
        CUPS = "cups", _("by counting cups")
        WATER = "water", _("by weighing water")

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="pails")
    # The first is the one that the sign speaks of. Numbered, so that a fourth cannot be.
    number = models.PositiveSmallIntegerField(default=1)
    name = models.CharField(max_length=40)
    millilitres = models.PositiveIntegerField(default=8000)
    measured = models.CharField(max_length=5, choices=Measured, default=Measured.TOLD)
    measured_on = models.DateField()
    scraps_g_per_l = models.PositiveIntegerField(default=450)  # 0.45 kg/L, bucket method after Cooperband 2002
    calibrated_on = models.DateField(null=True, blank=True)  # when ten weighed ones last settled the figure above

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "number"], name="pail_number_once"),
            models.CheckConstraint(condition=models.Q(number__gte=1, number__lte=3), name="pail_three_sizes_at_most"),
            models.CheckConstraint(
                condition=models.Q(millilitres__gte=500, millilitres__lte=40000), name="pail_half_to_forty_litres"
            ),
            # Kitchen scraps in print span 0.24 to 0.9 kg/L.
            models.CheckConstraint(
                condition=models.Q(scraps_g_per_l__gte=200, scraps_g_per_l__lte=1000),
                name="pail_scraps_density_as_in_print",
            ),
            models.CheckConstraint(
                condition=models.Q(measured__in=["told", "cups", "water"]), name="pail_measured_how"
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="pail_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class PailWeighing(LedgerRow):
    """One full pail on a scale. Gross and tare as read where both were; net is what counts."""

    pail = models.ForeignKey(Pail, on_delete=models.PROTECT, related_name="weighings")
    gross_g = models.IntegerField(null=True, blank=True)
    tare_g = models.IntegerField(null=True, blank=True)
    net_g = models.IntegerField()
    pail_ml = models.PositiveIntegerField()  # as it was measured then, kept with the row

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(gross_g__isnull=True, tare_g__isnull=True)
                | models.Q(gross_g=models.F("net_g") + models.F("tare_g")),
                name="pail_weighing_adds_up",
            ),
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, net_g__gt=0) | models.Q(reverses__isnull=False, net_g__lt=0),
                name="pail_weighing_negative_only_to_reverse",
            ),
        ]
        indexes = [models.Index(fields=["pail", "counts_at"], name="pail_weighing_by_pail")]

    @property
    def g_per_l(self) -> float:
        return self.net_g * 1000 / self.pail_ml


class PailWeighingAttribution(Attribution):
    row = models.OneToOneField(PailWeighing, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
