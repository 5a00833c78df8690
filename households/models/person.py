"""Somebody in a building, with or without an account, and what they are there."""

import datetime as dt
from typing import Any, ClassVar, Self

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel, TenantQuerySet


class Person(TenantModel):
    class Channel(models.TextChoices):
        """How somebody is reminded."""

        MAIL = "mail", _("by e-mail")
        SMS = "sms", _("by text message")
        NONE = "none", _("not at all")

    name = models.CharField(max_length=80)
    household = models.ForeignKey(
        "households.Household", null=True, blank=True, on_delete=models.PROTECT, related_name="people"
    )
    account = models.ForeignKey(
        "households.Account", null=True, blank=True, on_delete=models.SET_NULL, related_name="people"
    )
    language = models.CharField(max_length=8, default="en")
    channel = models.CharField(max_length=4, choices=Channel, default=Channel.MAIL)
    phone = models.CharField(max_length=16, blank=True)  # for text messages; seen by nobody else

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "account"], name="person_account_once"),
            models.CheckConstraint(
                condition=models.Q(channel__in=["mail", "sms", "none"]), name="person_channel_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(channel="sms") | ~models.Q(phone=""), name="person_texted_has_a_phone"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class RoleQuerySet(TenantQuerySet):
    def held_on(self, day: dt.date) -> Self:
        """Roles in force on a day; both ends count."""
        return self.filter(starts_on__lte=day).filter(models.Q(ends_on__isnull=True) | models.Q(ends_on__gte=day))


class Role(TenantModel):
    class Kind(models.TextChoices):
        CARETAKER = "caretaker", _("super")
        COMMITTEE = "committee", _("committee")
        CHECKER = "checker", _("checker")
        RESIDENT = "resident", _("resident")

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="roles")
    kind = models.CharField(max_length=12, choices=Kind)
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)

    objects: ClassVar[models.Manager[Any]] = RoleQuerySet.as_manager()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["person", "kind", "starts_on"], name="role_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["caretaker", "committee", "checker", "resident"]), name="role_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(ends_on__isnull=True) | models.Q(ends_on__gte=models.F("starts_on")),
                name="role_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.person_id}"
