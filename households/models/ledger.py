"""The shape of every ledger row: added, never edited. A correction points at the row it reverses."""

from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class LedgerRow(TenantModel):
    """What happened; who did it stands in a second row, which erasure may delete."""

    class Via(models.TextChoices):
        WEB = "web", _("on the page")
        OFFLINE = "offline", _("on a phone without signal")
        SHEET = "sheet", _("on paper")
        PROXY = "proxy", _("on somebody's behalf")
        API = "api", _("by another program")
        IMPORT = "import", _("from a file")

    class Doubt(models.TextChoices):
        NONE = "none"
        FUTURE = "future"
        OLD = "old"

    ledger_number = models.PositiveBigIntegerField()
    happened_at = models.DateTimeField()  # as told
    heard_at = models.DateTimeField()  # as received
    counts_at = models.DateTimeField()  # the instant that decides: as told, or as heard where the told one is in doubt
    doubt = models.CharField(max_length=8, choices=Doubt, default=Doubt.NONE)
    via = models.CharField(max_length=8, choices=Via)
    fingerprint = models.CharField(max_length=64)  # of the validated values: the same uid with others is refused
    reverses = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by")

    digest_leaves_out: ClassVar[tuple[str, ...]] = ("heard_at",)

    class Meta(TenantModel.Meta):
        abstract = True
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "ledger_number"], name="%(app_label)s_%(class)s_number_once"),
        ]

    def __str__(self) -> str:
        return f"{type(self).__name__} {self.uid}"


class Attribution(TenantModel):
    """Whose a ledger row is: the one part of it that erasure deletes. Subclasses add `row`."""

    household = models.ForeignKey(
        "households.Household", null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    person = models.ForeignKey("households.Person", null=True, blank=True, on_delete=models.CASCADE, related_name="+")

    class Meta(TenantModel.Meta):
        abstract = True

    def __str__(self) -> str:
        return f"{type(self).__name__} {self.uid}"
