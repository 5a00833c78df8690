"""A building: the tenant. Everything else is kept apart by it."""

import datetime as dt
import uuid
from zoneinfo import ZoneInfo

from django.db import models
from django.utils.translation import gettext_lazy as _


class Building(models.Model):
    class Units(models.TextChoices):
        METRIC = "metric", _("kilograms and litres")
        US = "us", _("pounds and gallons")

    class Greenhouse(models.TextChoices):
        OFF = "", _("not shown")
        AR5 = "ar5", _("shown, by the fifth report of the IPCC")
        AR6 = "ar6", _("shown, by the sixth report of the IPCC")

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(
        "households.Organisation", null=True, blank=True, on_delete=models.PROTECT, related_name="buildings"
    )
    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=64)
    language = models.CharField(max_length=8, default="en")
    second_language = models.CharField(max_length=8, blank=True)  # of signs and sheets, beside the first
    units = models.CharField(max_length=8, choices=Units, default=Units.METRIC)
    # Raised by every ledger write under the building's row lock, so that a job can tell whether what it
    # gathered still stands.
    ledger_number = models.PositiveBigIntegerField(default=0)
    # What a neighbour who reports something is promised: the first action within so many hours.
    report_answer_hours = models.PositiveSmallIntegerField(default=24)  # chosen: smell and rats don't wait for a week
    contact_phone = models.CharField(max_length=40, blank=True)
    # ISO 4217; empty: that of the country, until money is written down. Then it stays, since amounts can't be changed.
    currency = models.CharField(max_length=3, blank=True, default="")
    # In the smallest coin: a second person looks at what is above it. Set by the committee; empty: no limit.
    approval_above = models.PositiveBigIntegerField(null=True, blank=True)
    # What composting gives off stands in reports only where the building wants it, and by whose figures.
    greenhouse = models.CharField(max_length=3, blank=True, default="", choices=Greenhouse)
    created_at = models.DateTimeField()
    # How it stood at its last night, for the organisation that looks after it: written by the night, read across
    # buildings. Totals and days, and nothing of anybody.
    need = models.PositiveSmallIntegerField(default=0)  # to sort by; 0: nothing asks for a visit
    is_alive = models.BooleanField(default=False)
    pulse = models.JSONField(default=dict, blank=True)
    pulse_at = models.DateTimeField(null=True, blank=True)

    digest_leaves_out = ("created_at", "need", "is_alive", "pulse", "pulse_at")

    class Meta:
        indexes = [models.Index(fields=["organisation", "-need", "name"], name="building_by_need")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(greenhouse__in=["", "ar5", "ar6"]), name="building_greenhouse_known"
            ),
            models.CheckConstraint(condition=models.Q(units__in=["metric", "us"]), name="building_units_known"),
            models.CheckConstraint(
                condition=models.Q(report_answer_hours__gte=1, report_answer_hours__lte=168),
                name="building_answers_within_a_week",
            ),
            models.CheckConstraint(
                condition=~models.Q(second_language=models.F("language")), name="building_two_languages_differ"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def local(self, instant: dt.datetime) -> dt.datetime:
        """The wall clock of the building at an instant."""
        return instant.astimezone(self.zone)

    def instant(self, day: dt.date, wall: dt.time = dt.time()) -> dt.datetime:
        """The instant of a wall time; in the autumn's doubled hour the first, in spring's gap as RFC 5545 says."""
        return dt.datetime.combine(day, wall, tzinfo=self.zone).astimezone(dt.UTC)
