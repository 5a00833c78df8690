"""A file of log sheets between the dry run and the yes. Its content is kept a day at most."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import TenantModel


class ImportRun(TenantModel):
    class Kind(models.TextChoices):
        HOUSEHOLDS = "households", _("households")
        CONTRIBUTIONS = "contributions", _("drop-offs")
        VISITS = "visits", _("visits")

    class State(models.TextChoices):
        WAITING = "waiting"
        DONE = "done"

    kind = models.CharField(max_length=13, choices=Kind)
    sha256 = models.CharField(max_length=64)
    text = models.TextField(blank=True)
    state = models.CharField(max_length=7, choices=State, default=State.WAITING)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("households.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    added = models.PositiveIntegerField(default=0)
    known_before = models.PositiveIntegerField(default=0)
    # Line, field, reason of each row that stayed out: without what stood in it.
    refused = models.JSONField(default=list, blank=True)

    digest_leaves_out = ("made_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(kind__in=["households", "contributions", "visits"]), name="import_run_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state="waiting", added=0, known_before=0) | models.Q(state="done", text=""),
                name="import_run_emptied_once_done",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.made_at:%Y-%m-%d}"
