"""Where harvested tubs went; what is not in here yet is waiting.

Always: given + reserve + gifts + unclaimed + lost + waiting = harvested.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class Outgoing(LedgerRow):
    class Kind(models.TextChoices):
        GIVEN = "given", _("fetched")
        RESERVE = "reserve", _("for the beds")
        UNCLAIMED = "unclaimed", _("not fetched, for the beds")
        LOST = "lost", _("gone or spoilt")
        GIFT = "gift", _("given away")

    class To(models.TextChoices):
        """Whom a household gives tubs of its share to."""

        NOBODY = ""
        GARDEN = "garden", _("the beds")
        NEIGHBOURS = "neighbours", _("neighbours")

    class Loss(models.TextChoices):
        NONE = ""
        TAKEN = "taken", _("somebody took it")
        SPOILT = "spoilt", _("it went bad or got wet")
        SPILT = "spilt", _("it was spilt")
        SETTLED = "settled", _("counted again, and there were fewer")

    harvest = models.ForeignKey("bins.Harvest", on_delete=models.PROTECT, related_name="outgoings")
    kind = models.CharField(max_length=10, choices=Kind)
    loss = models.CharField(max_length=8, choices=Loss, blank=True, default=Loss.NONE)
    share = models.ForeignKey("bins.Share", null=True, blank=True, on_delete=models.PROTECT, related_name="outgoings")
    gift_to = models.CharField(max_length=10, choices=To, blank=True, default=To.NOBODY)
    millionths = models.BigIntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(kind__in=["given", "unclaimed"], share__isnull=False, loss="", gift_to="")
                | models.Q(kind="gift", share__isnull=False, loss="", gift_to__in=["garden", "neighbours"])
                | models.Q(kind="reserve", share__isnull=True, loss="", gift_to="")
                | models.Q(
                    kind="lost", share__isnull=True, loss__in=["taken", "spoilt", "spilt", "settled"], gift_to=""
                ),
                name="outgoing_kind_has_its_facts",
            ),
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, millionths__gt=0)
                | models.Q(reverses__isnull=False, millionths__lt=0),
                name="outgoing_negative_only_to_reverse",
            ),
        ]
        indexes = [
            models.Index(fields=["harvest"], name="outgoing_by_harvest"),
            models.Index(fields=["share"], name="outgoing_by_share"),
        ]


class OutgoingAttribution(Attribution):
    """`person` wrote it down; `household` fetched it; `witness` saw a loss, and accuses nobody."""

    row = models.OneToOneField(Outgoing, on_delete=models.PROTECT, related_name="attribution")
    witness = models.CharField(max_length=80, blank=True)

    class Meta(Attribution.Meta):
        abstract = False
