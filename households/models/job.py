"""A job is a row. Redis may lose everything; this table is what was promised."""

import datetime as dt
from collections.abc import Mapping

from django.db import models

from .building import Building

EVERYWHERE = "all"


class Job(models.Model):
    class State(models.TextChoices):
        DUE = "due"
        RUNNING = "running"
        DONE = "done"
        PARKED = "parked"

    building = models.ForeignKey(Building, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    scope = models.CharField(max_length=36)  # the building's uid, or "all"
    name = models.CharField(max_length=40)
    key = models.CharField(max_length=40)  # a local date, an instant or a uid
    state = models.CharField(max_length=8, choices=State, default=State.DUE)
    wake_at = models.DateTimeField()  # not to be claimed before; a failed try moves it on
    token = models.UUIDField(null=True, blank=True)  # who holds it: checked again before anything is written
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.TextField(default="", blank=True)
    done_at = models.DateTimeField(null=True, blank=True)

    digest_leaves_out = ("wake_at", "token", "lease_until", "attempts", "last_error", "done_at")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["scope", "name", "key"], name="job_once"),
            models.CheckConstraint(
                condition=models.Q(building__isnull=True, scope=EVERYWHERE)
                | (models.Q(building__isnull=False) & ~models.Q(scope=EVERYWHERE)),
                name="job_scope_is_its_building",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["due", "running", "done", "parked"]), name="job_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state="running", token__isnull=False, lease_until__isnull=False)
                | (~models.Q(state="running") & models.Q(token__isnull=True, lease_until__isnull=True)),
                name="job_held_while_running",
            ),
            models.CheckConstraint(
                condition=models.Q(state="done", done_at__isnull=False)
                | (~models.Q(state="done") & models.Q(done_at__isnull=True)),
                name="job_done_has_its_time",
            ),
        ]
        indexes = [models.Index(fields=["state", "wake_at"], name="job_next")]

    def __str__(self) -> str:
        return f"{self.name} {self.key} of {self.scope}"

    @staticmethod
    def plan(building: Building | None, name: str, key: str, wake_at: dt.datetime) -> None:
        """Promise a job once; promising it again changes nothing."""
        Job.plan_all(building, name, {key: wake_at})

    @staticmethod
    def plan_all(building: Building | None, name: str, wakes: Mapping[str, dt.datetime]) -> None:
        """Promise many jobs of one name by their keys, each once. One statement."""
        Job.objects.bulk_create(
            [
                Job(
                    building=building,
                    scope=str(building.uid) if building else EVERYWHERE,
                    name=name,
                    key=key,
                    wake_at=wake_at,
                )
                for key, wake_at in wakes.items()
            ],
            ignore_conflicts=True,
        )
