"""Where drums stand."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class Site(TenantModel):
    class Air(models.TextChoices):
        INDOORS = "indoors", _("indoors")
        OUTDOORS = "outdoors", _("outdoors")

    name = models.CharField(max_length=120)
    air = models.CharField(max_length=8, choices=Air, default=Air.OUTDOORS)
    # Where scraps go when nothing is open. Mandatory: a full site without a way out sends people to the chute.
    fallback = models.CharField(max_length=300)
    pail_ml = models.PositiveIntegerField(default=8000)
    scraps_g_per_l = models.PositiveIntegerField(default=450)  # M7: 0.45 kg/L, bucket method after Cooperband 2002
    cup_ml = models.PositiveIntegerField(default=1000)
    cups_per_pail = models.PositiveSmallIntegerField(default=2)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(pail_ml__gte=500, pail_ml__lte=40000), name="site_pail_half_to_forty_litres"
            ),
            models.CheckConstraint(
                condition=models.Q(scraps_g_per_l__gte=200, scraps_g_per_l__lte=1000),
                name="site_scraps_density_as_in_print",
            ),
            models.CheckConstraint(condition=models.Q(cup_ml__gte=50, cup_ml__lte=5000), name="site_cup_fits_a_hand"),
            models.CheckConstraint(condition=~models.Q(fallback=""), name="site_fallback_given"),
        ]

    def __str__(self) -> str:
        return self.name
