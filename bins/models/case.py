"""What a neighbour reported, and what was done about it. Never who reported it, never who acted."""

import datetime as dt
from typing import Any, ClassVar, Self

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow, TenantModel, TenantQuerySet

LOOK_WITHIN = dt.timedelta(hours=24)  # a report makes a task to look within a day


class CaseQuerySet(TenantQuerySet):
    def open(self) -> Self:
        return self.filter(closed_at__isnull=True)


class Case(TenantModel):
    class Kind(models.TextChoices):
        SMELL = "smell", _("a bad smell")
        ANIMAL = "animal", _("a rat or another animal")
        LEAK = "leak", _("a leak")
        FULL = "full", _("the drum is full")
        BROKEN = "broken", _("something is broken")
        OTHER = "other", _("something else")

    reference = models.CharField(max_length=6)
    kind = models.CharField(max_length=8, choices=Kind)
    drum = models.ForeignKey("bins.Drum", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    answer_by = models.DateTimeField()  # as promised when it came in
    first_action_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    objects: ClassVar[models.Manager[Any]] = CaseQuerySet.as_manager()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "reference"], name="case_reference_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["smell", "animal", "leak", "full", "broken", "other"]),
                name="case_kind_known",
            ),
            models.CheckConstraint(condition=~models.Q(reference=""), name="case_has_a_reference"),
            models.CheckConstraint(
                condition=models.Q(answer_by__gt=models.F("received_at")), name="case_promises_an_answer_later"
            ),
            models.CheckConstraint(
                condition=models.Q(first_action_at__isnull=True)
                | models.Q(first_action_at__gte=models.F("received_at")),
                name="case_acted_on_after_it_came",
            ),
            models.CheckConstraint(
                condition=models.Q(closed_at__isnull=True)
                | models.Q(first_action_at__isnull=False, closed_at__gte=models.F("first_action_at")),
                name="case_closed_after_an_action",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def look_by(self) -> dt.datetime:
        return self.received_at + LOOK_WITHIN


class CaseReport(TenantModel):
    """One report as it came. Its words and its address are for the case alone, so a closed case has no address."""

    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="reports")
    heard_at = models.DateTimeField()
    words = models.CharField(max_length=500, blank=True)
    email = models.CharField(max_length=254, blank=True)
    language = models.CharField(max_length=8, default="en")
    fingerprint = models.CharField(max_length=64)

    digest_leaves_out = ("heard_at",)

    class Meta(TenantModel.Meta):
        indexes = [models.Index(fields=["building", "heard_at"], name="case_report_by_time")]

    def __str__(self) -> str:
        return f"report {self.uid}"


class CaseNote(LedgerRow):
    """A step taken about a case, in words that the neighbour may read."""

    class What(models.TextChoices):
        LOOKED = "looked", _("looked at it")
        DONE = "done", _("did something")
        CONFIRMED = "confirmed", _("saw it at the drum, and shut the drum for now")
        CLOSED = "closed", _("closed it")

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="notes")
    what = models.CharField(max_length=9, choices=What)
    words = models.CharField(max_length=300, blank=True)
    visit = models.ForeignKey("bins.Visit", null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(what__in=["looked", "done", "confirmed", "closed"]), name="case_note_step_known"
            ),
            models.CheckConstraint(
                condition=models.Q(what="looked") | ~models.Q(words=""), name="case_note_says_what_was_done"
            ),
            models.CheckConstraint(
                condition=models.Q(what="confirmed", visit__isnull=False)
                | (~models.Q(what="confirmed") & models.Q(visit__isnull=True)),
                name="case_note_confirmed_at_the_drum",
            ),
            models.UniqueConstraint(fields=["case"], condition=models.Q(what="closed"), name="case_closed_once"),
        ]


class CaseNoteAttribution(Attribution):
    row = models.OneToOneField(CaseNote, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
