"""What a household would like: for one slot, or for one kind of duty. No row: can."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class Wish(TenantModel):
    class Answer(models.TextChoices):
        PREFER = "prefer", _("we like it")
        CAN = "can", _("we can")
        CANNOT = "cannot", _("we cannot")

    household = models.ForeignKey("households.Household", on_delete=models.CASCADE, related_name="wishes")
    slot = models.ForeignKey("households.Slot", null=True, blank=True, on_delete=models.CASCADE, related_name="wishes")
    duty_kind = models.ForeignKey(
        "households.DutyKind", null=True, blank=True, on_delete=models.CASCADE, related_name="wishes"
    )
    answer = models.CharField(max_length=6, choices=Answer)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["household", "slot"], condition=models.Q(slot__isnull=False), name="wish_once_a_slot"
            ),
            models.UniqueConstraint(
                fields=["household", "duty_kind"],
                condition=models.Q(duty_kind__isnull=False),
                name="wish_once_a_kind_of_duty",
            ),
            models.CheckConstraint(
                condition=models.Q(slot__isnull=False, duty_kind__isnull=True)
                | models.Q(slot__isnull=True, duty_kind__isnull=False),
                name="wish_of_a_slot_or_of_a_duty",
            ),
            models.CheckConstraint(
                condition=models.Q(answer__in=["prefer", "can", "cannot"]), name="wish_answer_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.household_id}: {self.answer}"
