"""Browns or water added to a batch to bring it into its bands: not what a household brought."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class Amendment(LedgerRow):
    class Material(models.TextChoices):
        PELLETS = "pellets", _("wood pellets")
        SHAVINGS = "shavings", _("wood shavings")
        SAWDUST = "sawdust", _("sawdust")
        LEAVES = "leaves", _("dry leaves")
        STRAW = "straw", _("straw, cut short")
        CARDBOARD = "cardboard", _("torn cardboard")
        WATER = "water", _("water")

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="amendments")
    material = models.CharField(max_length=12, choices=Material)
    millilitres = models.IntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, millilitres__gt=0)
                | models.Q(reverses__isnull=False, millilitres__lt=0),
                name="amendment_negative_only_to_reverse",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    material__in=["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard", "water"]
                ),
                name="amendment_material_known",
            ),
        ]
        indexes = [models.Index(fields=["batch"], name="amendment_by_batch")]


class AmendmentAttribution(Attribution):
    row = models.OneToOneField(Amendment, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
