"""Where a batch can be: a chamber of a drum, or a curing bin beside it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from bins.process.model.border import Insulation, Vents
from households.models import TenantModel


class Place(TenantModel):
    class Kind(models.TextChoices):
        CHAMBER = "chamber", _("hatch")
        CURING_BIN = "curing_bin", _("curing bin")

    class Shape(models.TextChoices):
        CIRCLE = "circle", _("circle")
        SQUARE = "square", _("square")

    class Wall(models.TextChoices):
        BARE = Insulation.BARE.value, _("plain plastic or steel")
        DOUBLE = Insulation.DOUBLE.value, _("a double wall, or wrapped in a blanket")
        FOAM = Insulation.FOAM.value, _("foam, two fingers thick or more")

    class Airing(models.TextChoices):
        FEW = Vents.FEW.value, _("a few holes")
        USUAL = Vents.USUAL.value, _("the usual grilles")
        MANY = Vents.MANY.value, _("mesh all along")

    kind = models.CharField(max_length=12, choices=Kind)
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="places")
    drum = models.ForeignKey("bins.Drum", null=True, blank=True, on_delete=models.PROTECT, related_name="places")
    # The mark on the hatch itself, read or felt. It never says left or right: a tumbler turns.
    letter = models.CharField(max_length=1)
    shape = models.CharField(max_length=8, choices=Shape, blank=True)
    litres = models.PositiveIntegerField()
    # What the forecast reckons its warmth and its air by; how it was made before stands in the audit.
    insulation = models.CharField(max_length=6, choices=Wall, default=Wall.BARE)
    vents = models.CharField(max_length=5, choices=Airing, default=Airing.USUAL)
    is_quarantined = models.BooleanField(default=False)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["drum", "letter"], condition=models.Q(drum__isnull=False), name="place_letter_once_a_drum"
            ),
            models.CheckConstraint(
                condition=models.Q(kind="chamber", drum__isnull=False, letter__in=["A", "B"]) & ~models.Q(shape="")
                | models.Q(kind="curing_bin", drum__isnull=True, shape=""),
                name="place_chamber_has_drum_and_mark",
            ),
            models.CheckConstraint(
                condition=models.Q(litres__gte=10, litres__lte=5000), name="place_litres_ten_to_five_thousand"
            ),
            models.CheckConstraint(
                condition=models.Q(insulation__in=["bare", "double", "foam"]), name="place_insulation_known"
            ),
            models.CheckConstraint(condition=models.Q(vents__in=["few", "usual", "many"]), name="place_vents_known"),
        ]

    def __str__(self) -> str:
        return self.letter
