"""A question of the kind "what if": the site as somebody imagines it, and what came of it. Asked, running, done."""

from django.db import models

from households.models import TenantModel


class WhatIf(TenantModel):
    site = models.ForeignKey("households.Site", on_delete=models.CASCADE, related_name="+")
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        "households.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    households = models.PositiveSmallIntegerField()
    drums = models.PositiveSmallIntegerField()
    curing_bins = models.PositiveSmallIntegerField()
    browns_percent = models.PositiveSmallIntegerField()  # of the scraps' loose volume
    begins_on = models.DateField()
    need_by = models.DateField(null=True, blank=True)  # compost is wanted by then
    # How far it is: days lived of all the days there are to live. None to live: it has not begun.
    done_days = models.PositiveIntegerField(default=0)
    all_days = models.PositiveIntegerField(default=0)
    done_at = models.DateTimeField(null=True, blank=True)
    # What it rests on, and the answer: shares in permille, days counted from `begins_on`.
    result = models.JSONField(null=True, blank=True)

    digest_leaves_out = ("done_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(households__gte=1, drums__gte=1), name="what_if_has_a_drum"),
            models.CheckConstraint(
                condition=models.Q(need_by__isnull=True) | models.Q(need_by__gt=models.F("begins_on")),
                name="what_if_needs_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(done_at__isnull=True, result__isnull=True)
                | models.Q(done_at__isnull=False, result__isnull=False),
                name="what_if_done_has_its_answer",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.households} households, {self.drums} drums"
