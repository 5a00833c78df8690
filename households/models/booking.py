"""A promise of room: one household at one occurrence of a slot, at a numbered place.

The place is a key, so that of all who want the last one the database lets one in.
"""

from django.db import models

from .tenant import TenantModel

STANDS = models.Q(state__in=["kept", "off"])


class Booking(TenantModel):
    class State(models.TextChoices):
        KEPT = "kept"
        OFF = "off"  # nothing is open: it waits, and keeps its place
        CANCELLED = "cancelled"

    class Cause(models.TextChoices):
        """Why it was cancelled."""

        NONE = ""
        HOUSEHOLD = "household"
        CLOSURE = "closure"
        WINTER = "winter"
        SLOT = "slot"

    slot = models.ForeignKey("households.Slot", on_delete=models.PROTECT, related_name="bookings")
    household = models.ForeignKey("households.Household", on_delete=models.PROTECT, related_name="bookings")
    occurs_on = models.DateField()  # the local day: with the slot, the occurrence's name, whatever its hour becomes
    begins_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    # The number of the household's drum. Each drum has room of its own, and the ground floor knows no drums.
    lane = models.PositiveSmallIntegerField()
    place = models.PositiveSmallIntegerField()  # from 1
    quarter_pails = models.PositiveSmallIntegerField(default=4)
    by_proxy = models.BooleanField(default=False)  # whoever looks after the place booked it for a household
    state = models.CharField(max_length=9, choices=State, default=State.KEPT)
    cause = models.CharField(max_length=9, choices=Cause, default=Cause.NONE, blank=True)
    sequence = models.PositiveSmallIntegerField(default=0)  # raised by each change, for calendars
    changed_at = models.DateTimeField()
    fingerprint = models.CharField(max_length=64)

    digest_leaves_out = ("changed_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["slot", "occurs_on", "lane", "place"], condition=STANDS, name="booking_place_once"
            ),
            models.UniqueConstraint(
                fields=["slot", "occurs_on", "household"], condition=STANDS, name="booking_household_once"
            ),
            models.CheckConstraint(condition=models.Q(place__gte=1), name="booking_places_from_one"),
            models.CheckConstraint(condition=models.Q(ends_at__gt=models.F("begins_at")), name="booking_takes_time"),
            models.CheckConstraint(
                condition=models.Q(quarter_pails__gte=1, quarter_pails__lte=40), name="booking_up_to_ten_pails"
            ),
            models.CheckConstraint(
                condition=models.Q(state="cancelled", cause__in=["household", "closure", "winter", "slot"])
                | models.Q(state__in=["kept", "off"], cause=""),
                name="booking_cancelled_has_its_cause",
            ),
        ]
        indexes = [models.Index(fields=["building", "begins_at"], name="booking_by_time")]

    def __str__(self) -> str:
        return f"{self.slot_id} on {self.occurs_on}, place {self.place}"
