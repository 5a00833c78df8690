"""A batch, or something out of it, went from one place to another, or away for good."""

from django.db import models

from households.models import Attribution, LedgerRow


class Movement(LedgerRow):
    class Kind(models.TextChoices):
        MOVED = "moved"  # to another place
        MERGED = "merged"  # into another batch
        DISCARDED = "discarded"  # thrown out, all of it
        TAKEN_OUT = "taken_out"  # only the fresh scraps that went into it past filling

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=12, choices=Kind)
    from_place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")
    to_place = models.ForeignKey("bins.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    into = models.ForeignKey("bins.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    millilitres = models.PositiveIntegerField(null=True, blank=True)  # of what went away
    destination = models.CharField(max_length=200, blank=True)
    reason = models.CharField(max_length=300, blank=True)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(kind="moved", to_place__isnull=False, into__isnull=True)
                & ~models.Q(to_place=models.F("from_place"))
                | models.Q(kind="merged", to_place__isnull=True, into__isnull=False) & ~models.Q(into=models.F("batch"))
                | models.Q(kind="discarded", to_place__isnull=True, into__isnull=True, millilitres__isnull=False)
                & ~models.Q(destination="")
                & ~models.Q(reason="")
                | models.Q(kind="taken_out", to_place__isnull=True, into__isnull=True),
                name="movement_says_where_to",
            ),
        ]
        indexes = [models.Index(fields=["batch"], name="movement_by_batch")]


class MovementAttribution(Attribution):
    row = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
