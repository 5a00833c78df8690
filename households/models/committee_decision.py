"""What the committee decided: about what, on which day, what changed, and why. Only added to."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .ledger import Attribution, LedgerRow


class CommitteeDecision(LedgerRow):
    class About(models.TextChoices):
        SHARING = "sharing", _("how harvests are shared out")
        RESERVE = "reserve", _("how much goes to the beds first")
        OPENING = "opening", _("when scraps may be brought")
        DECIDES = "decides", _("who decides")
        STAGE = "stage", _("what a lot does next")
        LIMITS = "limits", _("a limit set by an authority")
        MONEY_LIMIT = "money_limit", _("above which amount a second person looks at money")
        OTHER = "other", _("something else")

    decided_on = models.DateField()  # the day of the meeting; when it was written down stands in the ledger's times
    about = models.CharField(max_length=12, choices=About)
    site = models.ForeignKey("households.Site", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=300, blank=True)  # what was decided, as the committee puts it
    why = models.CharField(max_length=300, blank=True)
    figures = models.JSONField(default=dict)  # what changed: name -> value from now on; codes, never a sentence

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    about__in=[
                        "sharing", "reserve", "opening", "decides", "stage", "limits", "money_limit", "other",
                    ]
                ),
                name="committee_decision_about_known",
            ),
        ]  # fmt: skip


class CommitteeDecisionAttribution(Attribution):
    """One row for each person who decided: a committee is more than one."""

    row = models.ForeignKey(CommitteeDecision, on_delete=models.PROTECT, related_name="attributions")

    class Meta(Attribution.Meta):
        abstract = False
        db_table = "households_committeedecision_by"  # the walls' names of its keys must fit in 63 letters
        constraints = [
            *Attribution.Meta.constraints,
            models.UniqueConstraint(fields=["row", "person"], name="committee_decision_person_once"),
        ]
