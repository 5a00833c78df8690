"""A tumbling composter with two chambers."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import TenantModel


class Drum(TenantModel):
    class Split(models.TextChoices):
        ACROSS = "across", _("across the axle: two drums in one frame")
        ALONG = "along", _("along the axle: one drum with a divider")

    class Turns(models.TextChoices):
        TOGETHER = "together", _("together: the whole drum")
        APART = "apart", _("apart: each half by itself")

    class State(models.TextChoices):
        IN_SERVICE = "in_service", _("in service")
        PAUSED = "paused", _("paused")
        OUT_OF_SERVICE = "out_of_service", _("out of service")

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="drums")
    number = models.PositiveSmallIntegerField()
    split = models.CharField(max_length=8, choices=Split, default=Split.ACROSS)
    turns = models.CharField(max_length=8, choices=Turns, default=Turns.TOGETHER)
    state = models.CharField(max_length=16, choices=State, default=State.IN_SERVICE)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "number"], name="drum_number_once"),
            models.CheckConstraint(condition=models.Q(split__in=["across", "along"]), name="drum_split_known"),
            models.CheckConstraint(condition=models.Q(turns__in=["together", "apart"]), name="drum_turns_known"),
            models.CheckConstraint(  # a divider inside one round can't turn without the other half
                condition=models.Q(turns="together") | models.Q(split="across"), name="drum_along_turns_whole"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["in_service", "paused", "out_of_service"]), name="drum_state_known"
            ),
        ]

    def __str__(self) -> str:
        return _("Drum %(number)s") % {"number": self.number}
