"""Somebody looked after a drum: turned it or not, and whether anything was wrong."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class Visit(LedgerRow):
    class Trouble(models.TextChoices):
        NOTHING = "nothing", _("nothing wrong")
        SMELL = "smell", _("bad smell")
        WET = "wet", _("too wet, or leaking")
        ANIMALS = "animals", _("flies or animals")
        WRONG_ITEM = "wrong_item", _("wrong item inside")
        BROKEN = "broken", _("something is broken")

    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="+")
    turned = models.BooleanField()
    trouble = models.CharField(max_length=12, choices=Trouble, default=Trouble.NOTHING)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(trouble__in=["nothing", "smell", "wet", "animals", "wrong_item", "broken"]),
                name="visit_trouble_known",
            ),
        ]
        indexes = [models.Index(fields=["building", "counts_at"], name="visit_by_time")]


class VisitAttribution(Attribution):
    row = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
