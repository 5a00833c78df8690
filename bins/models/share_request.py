"""How many tubs of a lot a household asks for, where the lot's rule goes by requests. The newest row counts."""

from django.db import models

from households.models import Attribution, LedgerRow


class ShareRequest(LedgerRow):
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="requests")
    tubs = models.PositiveSmallIntegerField()  # 0: none this time

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(condition=models.Q(tubs__lte=100), name="share_request_up_to_a_hundred_tubs"),
        ]
        indexes = [models.Index(fields=["batch"], name="share_request_by_batch")]


class ShareRequestAttribution(Attribution):
    row = models.OneToOneField(ShareRequest, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
        indexes = [models.Index(fields=["household"], name="share_request_by_household")]
