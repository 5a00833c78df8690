"""A batch went from one stage to the next, or back."""

from django.db import models

from households.models import Attribution, LedgerRow


class StageChange(LedgerRow):
    class Cause(models.TextChoices):
        RULE = "rule"  # a rule proposed it and a person said yes
        BEGUN = "begun"  # the tag was hung on an empty hatch
        FOUND = "found"  # it stood there before the record began
        OVERRIDE = "override"  # a person said so against the rule, with a reason
        BACK = "back"  # one step back, with a reason
        UNDONE = "undone"  # closed by mistake, open again
        FRESH = "fresh"  # fresh scraps went in: the count of days starts again
        MERGED = "merged"  # joined with another batch; the younger one decides
        HARVESTED = "harvested"
        DISCARDED = "discarded"
        RETIRED = "retired"  # its drum went out of service

    batch = models.ForeignKey("bins.Batch", on_delete=models.PROTECT, related_name="stage_changes")
    place = models.ForeignKey("bins.Place", on_delete=models.PROTECT, related_name="+")
    decision = models.ForeignKey("bins.Decision", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    from_stage = models.CharField(max_length=10, blank=True)  # empty where the batch begins
    to_stage = models.CharField(max_length=10)
    cause = models.CharField(max_length=10, choices=Cause, default=Cause.RULE)
    reason = models.CharField(max_length=300, blank=True)
    # The days of the new stage count from here, where that isn't the instant of the change itself.
    counts_from = models.DateTimeField(null=True, blank=True)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=~models.Q(from_stage=models.F("to_stage"))
                | models.Q(cause__in=["fresh", "merged"], counts_from__isnull=False),
                name="stage_change_changes_something",
            ),
            models.CheckConstraint(
                condition=~models.Q(cause__in=["override", "back"]) | ~models.Q(reason=""),
                name="stage_change_against_the_rule_has_a_reason",
            ),
        ]


class StageChangeAttribution(Attribution):
    row = models.OneToOneField(StageChange, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
