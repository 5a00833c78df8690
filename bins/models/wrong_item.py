"""Something that does not belong into a drum was found in one. It says what, never who brought it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class WrongItem(LedgerRow):
    class Item(models.TextChoices):
        BAGS = "bags", _("bags")
        PLASTIC = "plastic", _("plastic")
        STICKERS = "stickers", _("stickers")
        PAPER = "paper", _("glossy paper")
        MEAT = "meat", _("meat or fish")
        DAIRY = "dairy", _("dairy")
        COOKED = "cooked", _("cooked food, fat or oil")
        PET_LITTER = "pet_litter", _("pet litter")
        METAL = "metal", _("metal")
        OTHER = "other", _("something else")
        GLASS = "glass", _("glass")
        NEEDLE = "needle", _("a needle or blade")
        BATTERY = "battery", _("a battery")
        CHEMICALS = "chemicals", _("chemicals, paint or medicine")
        WARM_ASH = "warm_ash", _("warm ash")

    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")
    batch = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    visit = models.ForeignKey("bins.Visit", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    item = models.CharField(max_length=12, choices=Item)
    millilitres = models.IntegerField(null=True, blank=True)
    grams = models.IntegerField(null=True, blank=True)
    taken_out = models.BooleanField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    item__in=[
                        "bags", "plastic", "stickers", "paper", "meat", "dairy", "cooked", "pet_litter", "metal",
                        "other", "glass", "needle", "battery", "chemicals", "warm_ash",
                    ]
                ),
                name="wrong_item_known",
            ),
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True)
                & (models.Q(millilitres__isnull=True) | models.Q(millilitres__gt=0))
                & (models.Q(grams__isnull=True) | models.Q(grams__gt=0))
                | models.Q(reverses__isnull=False),
                name="wrong_item_has_an_amount_or_none",
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=["drum", "counts_at"], name="wrong_item_by_drum")]


class WrongItemAttribution(Attribution):
    row = models.OneToOneField(WrongItem, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
