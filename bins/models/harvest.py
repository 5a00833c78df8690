"""What came out of a batch, measured in one tub struck level: at once, or in parts on one or several days."""

from django.db import models

from households.models import Attribution, LedgerRow

TUB = 1_000_000  # millionths of a tub


class Measurement(models.Model):
    """What was seen, and with what: tubs struck level, and weights where somebody had a scale."""

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="%(class)ss")
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")  # what it was taken out of
    whole_tubs = models.IntegerField()  # what was seen
    part_millionths = models.IntegerField()  # what was seen: tenths or quarters of the last tub
    tub_ml = models.PositiveIntegerField()
    weighed_g = models.IntegerField(null=True, blank=True)  # net, of all tubs; from one full tub where that was weighed
    # The conversion used, kept with the row: the tub empty, full of water, full of compost.
    tub_empty_g = models.PositiveIntegerField(null=True, blank=True)
    tub_water_g = models.PositiveIntegerField(null=True, blank=True)
    tub_full_g = models.PositiveIntegerField(null=True, blank=True)
    overs_ml = models.IntegerField(default=0)  # bits left in the sieve
    # Where they went: the batch that was filling in the drum; empty where none was.
    overs_batch = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    reverses__isnull=True,
                    whole_tubs__gte=0,
                    part_millionths__gte=0,
                    part_millionths__lt=TUB,
                    overs_ml__gte=0,
                )
                | models.Q(
                    reverses__isnull=False,
                    whole_tubs__lte=0,
                    part_millionths__lte=0,
                    part_millionths__gt=-TUB,
                    overs_ml__lte=0,
                ),
                name="%(class)s_negative_only_to_reverse",
            ),
            models.CheckConstraint(
                condition=models.Q(tub_ml__gte=1000, tub_ml__lte=60000), name="%(class)s_tub_one_to_sixty_litres"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.whole_tubs} tubs and {self.part_millionths} millionths"

    @property
    def millionths(self) -> int:
        """Of its own tub."""
        return self.whole_tubs * TUB + self.part_millionths

    @property
    def millilitres(self) -> int:
        return round(self.millionths * self.tub_ml / TUB)

    @property
    def by_one_tub(self) -> bool:
        """Whether the weight was worked out from one full tub, and not weighed tub by tub."""
        if self.weighed_g is None or self.tub_full_g is None or self.tub_empty_g is None:
            return False
        return self.weighed_g == round((self.tub_full_g - self.tub_empty_g) * self.millionths / TUB)


class Harvest(Measurement, LedgerRow):
    """The measurement with which a lot was taken out: from then on its place is empty."""

    # 1 for the first measurement; one measured again reverses it and takes the next number.
    measurement = models.PositiveSmallIntegerField(default=1)
    was_ready = models.BooleanField()  # by the rules, on the day; taken out all the same where not

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            *Measurement.Meta.constraints,
            models.UniqueConstraint(
                fields=["batch", "measurement"],
                condition=models.Q(reverses__isnull=True),
                name="harvest_measurement_once",
            ),
        ]


class HarvestAttribution(Attribution):
    row = models.OneToOneField(Harvest, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class HarvestPart(Measurement, LedgerRow):
    """Part of a lot measured by itself: while more is inside still, or found after it was taken out.

    It counts with the lot's harvest: until there is one nothing has come out of the lot yet.
    """

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [*LedgerRow.Meta.constraints, *Measurement.Meta.constraints]
        indexes = [models.Index(fields=["batch"], name="harvest_part_by_batch")]


class HarvestPartAttribution(Attribution):
    row = models.OneToOneField(HarvestPart, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class Overs(LedgerRow):
    """Bits left in the sieve, put into the batch that was filling: an addition to it, never new scraps."""

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="overs")
    out_of = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="+")
    millilitres = models.IntegerField()

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, millilitres__gt=0)
                | models.Q(reverses__isnull=False, millilitres__lt=0),
                name="overs_negative_only_to_reverse",
            ),
        ]
        indexes = [models.Index(fields=["batch"], name="overs_by_batch")]


class OversAttribution(Attribution):
    row = models.OneToOneField(Overs, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
