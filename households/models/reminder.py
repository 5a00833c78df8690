"""Something a household is to be told once: a row that is due. What is said is worded when it is sent."""

from django.db import models

from .tenant import TenantModel


class Reminder(TenantModel):
    class Kind(models.TextChoices):
        SLOT = "slot"  # tomorrow is your slot
        OFF = "off"  # nothing is open at that time
        AGAIN = "again"  # it is open again
        MOVED = "moved"  # another hour, or another drum
        GONE = "gone"  # closed days, winter, or the slot has ended
        DUTY = "duty"  # tomorrow is your duty

    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="reminders")
    kind = models.CharField(max_length=5, choices=Kind)
    about = models.UUIDField()  # a booking's uid, or a duty's place's
    version = models.PositiveSmallIntegerField(default=0)  # of what it is about: a second change is told again
    begins_at = models.DateTimeField()  # after that there is nothing to tell any more
    due_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    figures = models.JSONField(default=dict)

    digest_leaves_out = ("due_at", "sent_at")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "household", "kind", "about", "version"], name="reminder_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["slot", "off", "again", "moved", "gone", "duty"]),
                name="reminder_kind_known",
            ),
        ]
        indexes = [models.Index(fields=["building", "sent_at", "due_at"], name="reminder_due")]

    def __str__(self) -> str:
        return f"{self.kind} {self.about}"
