"""A time at which scraps are brought to a site: local wall time and a rule of recurrence."""

from django.db import models

from .tenant import TenantModel


class Slot(TenantModel):
    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="slots")
    name = models.CharField(max_length=60, blank=True)
    # RFC 5545, without DTSTART: the first day and the local wall time are the two fields below.
    rule = models.CharField(max_length=200)
    starts_on = models.DateField()
    begins_at = models.TimeField()
    minutes = models.PositiveSmallIntegerField()
    # The caretaker's own figures for each drum; empty: what the open chamber can take decides.
    households = models.PositiveSmallIntegerField(null=True, blank=True)
    quarter_pails = models.PositiveSmallIntegerField(null=True, blank=True)
    rests_in_winter = models.BooleanField(default=False)
    last_day = models.DateField(null=True, blank=True)
    fingerprint = models.CharField(max_length=64)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(minutes__gte=5, minutes__lte=720), name="slot_five_minutes_to_twelve_hours"
            ),
            models.CheckConstraint(
                condition=models.Q(households__isnull=True) | models.Q(households__gte=1, households__lte=200),
                name="slot_room_for_one_to_two_hundred",
            ),
            models.CheckConstraint(
                condition=models.Q(quarter_pails__isnull=True) | models.Q(quarter_pails__gte=4, quarter_pails__lte=800),
                name="slot_room_for_a_pail_to_two_hundred",
            ),
            models.CheckConstraint(condition=~models.Q(rule=""), name="slot_has_a_rule"),
        ]

    def __str__(self) -> str:
        return f"{self.begins_at:%H:%M} {self.rule}"
