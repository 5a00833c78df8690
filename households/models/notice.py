"""The outbox: a message that is due, written in the transaction that caused it, delivered by a job."""

import datetime as dt
import uuid

from django.db import models

from .building import Building
from .job import Job


class Notice(models.Model):
    class Channel(models.TextChoices):
        MAIL = "mail"
        SMS = "sms"

    building = models.ForeignKey(Building, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    channel = models.CharField(max_length=4, choices=Channel, default=Channel.MAIL)
    kind = models.CharField(max_length=40)
    to = models.CharField(max_length=254)
    subject = models.CharField(max_length=200)
    body = models.TextField(blank=True)  # emptied once sent: a sign-in code must not lie about
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    digest_leaves_out = ("created_at", "sent_at")

    class Meta:
        constraints = [
            # Only sign-in has no building: the address is not yet known to belong anywhere.
            models.CheckConstraint(
                condition=models.Q(building__isnull=True, kind="sign-in")
                | (models.Q(building__isnull=False) & ~models.Q(kind="sign-in")),
                name="notice_without_building_is_sign_in",
            ),
            models.CheckConstraint(condition=models.Q(channel__in=["mail", "sms"]), name="notice_channel_known"),
            models.CheckConstraint(
                condition=models.Q(sent_at__isnull=True) | models.Q(body=""), name="notice_emptied_once_sent"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.uid}"

    @classmethod
    def post(
        cls, *, building: Building | None, kind: str, to: str, subject: str, body: str, due_at: dt.datetime,
        channel: str = Channel.MAIL, uid: uuid.UUID | None = None,
    ) -> "Notice":  # fmt: skip
        """Write a message and the job that delivers it. Call inside the transaction that causes it.

        A job gives the `uid`, out of its own name space.
        """
        notice = cls.objects.create(
            building=building, uid=uid or uuid.uuid4(), channel=channel, kind=kind, to=to, subject=subject, body=body,
            created_at=due_at,
        )  # fmt: skip
        Job.plan(building, "deliver", str(notice.uid), due_at)
        return notice
