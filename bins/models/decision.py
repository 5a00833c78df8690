"""What a rule concluded about a batch, with its evidence, and what became of it."""

from typing import Any, ClassVar, Self

from django.db import models

from households.models import TenantModel, TenantQuerySet


class DecisionQuerySet(TenantQuerySet):
    def proposed(self) -> Self:
        return self.filter(state="proposed")


class Decision(TenantModel):
    class State(models.TextChoices):
        PROPOSED = "proposed"
        APPLIED = "applied"
        DECLINED = "declined"
        OVERTAKEN = "overtaken"

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="decisions")
    rule = models.CharField(max_length=40)
    version = models.CharField(max_length=20)
    from_stage = models.CharField(max_length=10)
    to_stage = models.CharField(max_length=10)
    next_place = models.ForeignKey("bins.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    # A code and named figures, never a sentence: a stored sentence would freeze its language.
    reason = models.CharField(max_length=40)
    figures = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State, default=State.PROPOSED)
    made_at = models.DateTimeField()  # when it was first proposed
    figures_at = models.DateTimeField()  # the instant of the facts its figures rest on
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        "households.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects: ClassVar[models.Manager[Any]] = DecisionQuerySet.as_manager()
    digest_leaves_out = ("settled_at",)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["batch", "rule"], condition=models.Q(state="proposed"), name="decision_one_open_a_rule"
            ),
            models.CheckConstraint(
                condition=models.Q(state="proposed", settled_at__isnull=True)
                | (models.Q(state__in=["applied", "declined", "overtaken"]) & models.Q(settled_at__isnull=False)),
                name="decision_settled_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule} {self.state}"
