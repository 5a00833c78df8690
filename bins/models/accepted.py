"""What a site takes and what stays out: versions with their dates, none ever rewritten."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow, TenantModel


class AcceptedList(LedgerRow):
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="accepted_lists")
    version = models.PositiveSmallIntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.UniqueConstraint(fields=["site", "version"], name="accepted_list_version_once"),
            models.CheckConstraint(condition=models.Q(version__gte=1), name="accepted_list_begins_at_one"),
        ]


class AcceptedListAttribution(Attribution):
    row = models.OneToOneField(AcceptedList, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class AcceptedItem(TenantModel):
    class Verdict(models.TextChoices):
        YES = "yes", _("goes in")
        NO = "no", _("stays out")
        ASK = "ask", _("ask first")

    of = models.ForeignKey(AcceptedList, on_delete=models.PROTECT, related_name="items")
    key = models.CharField(max_length=24)
    verdict = models.CharField(max_length=3, choices=Verdict)
    note = models.CharField(max_length=120, blank=True)  # the site's own words beside ours

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["of", "key"], name="accepted_item_once_a_list"),
            models.CheckConstraint(
                condition=models.Q(verdict__in=["yes", "no", "ask"]), name="accepted_item_verdict_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.verdict}"
