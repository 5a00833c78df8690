"""A hatch was shut or opened again; a drum went into another state. Why, and who said so."""

from django.db import models

from households.models import Attribution, LedgerRow


class PlaceChange(LedgerRow):
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="changes")
    is_shut = models.BooleanField()
    reason = models.CharField(max_length=300, blank=True)
    # Whoever opens it again has looked inside: no visit, no opening.
    visit = models.ForeignKey("bins.Visit", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(is_shut=True) & ~models.Q(reason="") | models.Q(is_shut=False, visit__isnull=False),
                name="place_change_shut_has_a_reason_opened_a_visit",
            ),
        ]


class PlaceChangeAttribution(Attribution):
    row = models.OneToOneField(PlaceChange, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class DrumChange(LedgerRow):
    drum = models.ForeignKey("bins.Drum", on_delete=models.PROTECT, related_name="changes")
    from_state = models.CharField(max_length=16)
    to_state = models.CharField(max_length=16)
    reason = models.CharField(max_length=300, blank=True)
    # Which drum its households use meanwhile; empty where there is none and they take the way out.
    households_to = models.ForeignKey("bins.Drum", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=~models.Q(from_state=models.F("to_state")), name="drum_change_changes_something"
            ),
            models.CheckConstraint(
                condition=~models.Q(households_to=models.F("drum")), name="drum_change_sends_to_another_drum"
            ),
        ]


class DrumChangeAttribution(Attribution):
    row = models.OneToOneField(DrumChange, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
