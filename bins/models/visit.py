"""Somebody looked after a drum: turned it or not, and whether anything was wrong."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class Visit(LedgerRow):
    class Trouble(models.TextChoices):
        NOTHING = "nothing", _("nothing wrong")
        SMELL = "smell", _("bad smell")
        ROTTEN = "rotten", _("smells rotten, like old eggs or cabbage")
        AMMONIA = "ammonia", _("smells sharp, like strong cleaner")
        SOUR = "sour", _("smells sour, like vinegar")
        WET = "wet", _("too wet, or leaking")
        LEAKING = "leaking", _("dark liquid runs out")
        DRY = "dry", _("dry or dusty")
        SWEET_DAMP = "sweet_damp", _("damp and sweet, and looks as it went in")
        COLD = "cold", _("cold")
        TOO_HOT = "too_hot", _("too hot to hold a hand in")
        MATTED = "matted", _("mats, lumps or balls")
        PIECES = "pieces", _("big pieces that do not rot")
        NOT_DONE = "not_done", _("not finished after months")
        ANIMALS = "animals", _("flies or animals")
        FLIES = "flies", _("flies")
        LARVAE = "larvae", _("fat grey-brown larvae")
        RODENTS = "rodents", _("a rat or a mouse, or droppings")
        HARD_TO_TURN = "hard_to_turn", _("hard to turn")
        WRONG_ITEM = "wrong_item", _("wrong item inside")
        BROKEN = "broken", _("something is broken")

    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="+")
    turned = models.BooleanField()
    # Only this hatch was turned; none where the whole drum was, or nothing.
    turned_place = models.ForeignKey("bins.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    trouble = models.CharField(max_length=12, choices=Trouble, default=Trouble.NOTHING)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    trouble__in=[
                        "nothing", "smell", "rotten", "ammonia", "sour", "wet", "leaking", "dry", "sweet_damp", "cold",
                        "too_hot", "matted", "pieces", "not_done", "animals", "flies", "larvae", "rodents",
                        "hard_to_turn", "wrong_item", "broken",
                    ]
                ),
                name="visit_trouble_known",
            ),
            models.CheckConstraint(
                condition=models.Q(turned=True) | models.Q(turned_place__isnull=True), name="visit_turned_place_turned"
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=["building", "counts_at"], name="visit_by_time")]

    def turned_in(self, place_key: int) -> bool:
        """Whether what stood in that place was turned."""
        return self.turned and self.turned_place_id in (None, place_key)


class VisitAttribution(Attribution):
    row = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
