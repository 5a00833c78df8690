"""The cash list: what came in, what went out, what was paid back. Only added to; never an account with a bank."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .ledger import Attribution, LedgerRow


class Money(LedgerRow):
    class Way(models.TextChoices):
        IN = "in", _("came in")
        OUT = "out", _("went out")
        BACK = "back", _("was paid back")  # to whoever had paid from their own purse; the cost was an `out` row

    class Purpose(models.TextChoices):
        BROWNS = "browns", _("browns")
        REPAIR = "repair", _("repair")
        EQUIPMENT = "equipment", _("tools and equipment")
        DEPOSIT = "deposit", _("a deposit, such as for a key")
        MESSAGES = "messages", _("messages and print")
        GIFT = "gift", _("a gift")
        FEE = "fee", _("a fee")
        OTHER = "other", _("something else")

    class Purse(models.TextChoices):
        BOX = "box", _("the shared cash box")
        OWN = "own", _("somebody's own purse")

    way = models.CharField(max_length=4, choices=Way)
    coins = models.BigIntegerField()  # in the currency's smallest coin
    purpose = models.CharField(max_length=10, choices=Purpose)
    purse = models.CharField(max_length=3, choices=Purse, default=Purse.BOX)
    words = models.CharField(max_length=120, blank=True)
    # Frozen with the row: the limit of that day, whatever the committee decides later.
    wants_approval = models.BooleanField(default=False)
    settles = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="settled_by")

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    purpose__in=["browns", "repair", "equipment", "deposit", "messages", "gift", "fee", "other"]
                ),
                name="money_purpose_known",
            ),
            models.CheckConstraint(
                condition=models.Q(way="in", purse="box", settles__isnull=True)
                | models.Q(way="out", purse__in=["box", "own"], settles__isnull=True)
                | models.Q(way="back", purse="box", settles__isnull=False),
                name="money_way_has_its_facts",
            ),
            # A deposit belongs to whoever gave it, so nobody's own purse pays one back.
            models.CheckConstraint(
                condition=~models.Q(purpose="deposit") | models.Q(purse="box", way__in=["in", "out"]),
                name="money_deposit_in_the_box",
            ),
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, coins__gt=0) | models.Q(reverses__isnull=False, coins__lt=0),
                name="money_negative_only_to_reverse",
            ),
        ]
        indexes = [models.Index(fields=["building", "counts_at"], name="money_by_time")]


class MoneyAttribution(Attribution):
    """Who wrote a row down, and to whom its amount is owed: two second rows, so that either can be forgotten."""

    class Part(models.TextChoices):
        WROTE = "wrote"
        OWED = "owed"

    row = models.ForeignKey(Money, on_delete=models.PROTECT, related_name="attributions")
    part = models.CharField(max_length=5, choices=Part, default=Part.WROTE)

    class Meta(Attribution.Meta):
        abstract = False
        constraints = [
            *Attribution.Meta.constraints,
            models.UniqueConstraint(fields=["row", "part"], name="money_attribution_part_once"),
            models.CheckConstraint(condition=models.Q(part__in=["wrote", "owed"]), name="money_attribution_part_known"),
        ]


class MoneyApproval(LedgerRow):
    """A second person has looked at a row and finds it right."""

    row = models.OneToOneField(Money, on_delete=models.PROTECT, related_name="approval")

    class Meta(LedgerRow.Meta):
        abstract = False


class MoneyApprovalAttribution(Attribution):
    row = models.OneToOneField(MoneyApproval, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
