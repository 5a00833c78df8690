"""A holding bucket: bedding below, scraps above, in a kitchen or in the cellar, emptied in bulk into the open hatch."""

from django.db import models

from households.models import Attribution, LedgerRow, Site, TenantModel

from .contribution import Contribution


class Bucket(TenantModel):
    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="buckets")  # that it is emptied into
    # Whose it is; empty for one in the cellar that all who use the drum may fill.
    household = models.ForeignKey(
        "households.Household", null=True, blank=True, on_delete=models.PROTECT, related_name="buckets"
    )
    name = models.CharField(max_length=40)
    millilitres = models.PositiveIntegerField()
    bedding = models.CharField(max_length=12, choices=Site.Browns, default=Site.Browns.PELLETS)
    bedding_ml = models.PositiveIntegerField()  # put in anew after each emptying
    added_on = models.DateField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(millilitres__gte=3000, millilitres__lte=240000), name="bucket_three_to_240_litres"
            ),
            models.CheckConstraint(
                condition=models.Q(bedding_ml__lt=models.F("millilitres")), name="bucket_bedding_leaves_room"
            ),
            models.CheckConstraint(
                condition=models.Q(bedding__in=["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard"]),
                name="bucket_bedding_known",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BucketEmptying(LedgerRow):
    """The bucket went into the drum: all that was in it by then becomes drop-offs into that batch."""

    bucket = models.ForeignKey(Bucket, on_delete=models.PROTECT, related_name="emptyings")
    batch = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    bedding_ml = models.PositiveIntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        indexes = [models.Index(fields=["bucket", "counts_at"], name="bucket_emptying_by_bucket")]


class BucketEmptyingAttribution(Attribution):
    row = models.OneToOneField(BucketEmptying, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class BucketDropOff(LedgerRow):
    """What one household put into a bucket once. It counts for a batch when the bucket is emptied."""

    bucket = models.ForeignKey(Bucket, on_delete=models.PROTECT, related_name="drop_offs")
    quarter_pails = models.IntegerField(null=True, blank=True)  # what was seen
    scraps_g = models.IntegerField()
    scraps_ml = models.IntegerField()
    known = models.CharField(max_length=8, choices=Contribution.Known)
    pail = models.ForeignKey("bins.Pail", on_delete=models.PROTECT, related_name="+")
    pail_ml = models.PositiveIntegerField()
    scraps_g_per_l = models.PositiveIntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, scraps_g__gte=0, scraps_ml__gte=0)
                | models.Q(reverses__isnull=False, scraps_g__lte=0, scraps_ml__lte=0),
                name="bucket_drop_off_negative_only_to_reverse",
            ),
            models.CheckConstraint(
                condition=models.Q(known__in=["weighed", "counted", "guessed"]), name="bucket_drop_off_known_how"
            ),
        ]
        indexes = [models.Index(fields=["bucket", "ledger_number"], name="bucket_drop_off_by_bucket")]


class BucketDropOffAttribution(Attribution):
    row = models.OneToOneField(BucketDropOff, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
