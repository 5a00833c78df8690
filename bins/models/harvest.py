"""What came out of a batch, measured on the day in one tub struck level."""

from django.db import models

from households.models import Attribution, LedgerRow

TUB = 1_000_000  # millionths of a tub


class Harvest(LedgerRow):
    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="harvests")
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")  # what it was taken out of
    # 1 for the first measurement; one measured again reverses it and takes the next number.
    measurement = models.PositiveSmallIntegerField(default=1)
    was_ready = models.BooleanField()  # by the rules, on the day; taken out all the same where not
    whole_tubs = models.IntegerField()  # what was seen
    part_millionths = models.IntegerField()  # what was seen: tenths or quarters of the last tub
    tub_ml = models.PositiveIntegerField()
    weighed_g = models.IntegerField(null=True, blank=True)
    overs_ml = models.IntegerField(default=0)  # bits left in the sieve
    # Where they went: the batch that was filling in the drum; empty where none was.
    overs_batch = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.UniqueConstraint(
                fields=["batch", "measurement"],
                condition=models.Q(reverses__isnull=True),
                name="harvest_measurement_once",
            ),
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
                name="harvest_negative_only_to_reverse",
            ),
            models.CheckConstraint(
                condition=models.Q(tub_ml__gte=1000, tub_ml__lte=60000), name="harvest_tub_one_to_sixty_litres"
            ),
        ]

    @property
    def millionths(self) -> int:
        return self.whole_tubs * TUB + self.part_millionths

    @property
    def millilitres(self) -> int:
        return round(self.millionths * self.tub_ml / TUB)


class HarvestAttribution(Attribution):
    row = models.OneToOneField(Harvest, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
