"""A harvest shared out, once and for all, and what each household was due and got."""

from django.db import models
from django.db.models import F

from households.models import Attribution, LedgerRow

from .harvest import TUB


class Split(LedgerRow):
    class Tie(models.TextChoices):
        NONE = ""
        LARGER_THEN_UID = "larger-then-uid"  # the last tub: to the larger entitlement, then to the smaller uid

    # Once a harvest: of two people who share it out at the same moment one does.
    harvest = models.OneToOneField("bins.Harvest", on_delete=models.PROTECT, related_name="split")
    divided_millionths = models.BigIntegerField()  # what was measured, less what was lost before
    reserve_millionths = models.BigIntegerField()  # the beds' own part
    left_over_tubs = models.PositiveIntegerField()  # go to the beds too
    given_up_tubs = models.PositiveIntegerField()  # of these: shares that households leave to the beds
    tie = models.CharField(max_length=20, choices=Tie, blank=True, default=Tie.NONE)
    tied = models.PositiveSmallIntegerField(default=0)  # households alike at the last tub
    served = models.PositiveSmallIntegerField(default=0)  # of these, how many got one
    pick_up_on = models.DateField()
    pick_up_until = models.DateField()  # the last day; then what waits goes to the beds
    pick_up_where = models.CharField(max_length=120)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(divided_millionths__gte=F("reserve_millionths") + F("left_over_tubs") * TUB)
                & models.Q(reserve_millionths__gte=0, left_over_tubs__gte=F("given_up_tubs")),
                name="split_gives_no_more_than_there_is",
            ),
            models.CheckConstraint(
                condition=models.Q(tie="", tied=0, served=0)
                | models.Q(tie="larger-then-uid", served__gte=1, tied__gt=F("served")),
                name="split_tie_has_its_figures",
            ),
            models.CheckConstraint(
                condition=models.Q(pick_up_until__gte=F("pick_up_on")), name="split_collection_ends_after_it_begins"
            ),
        ]
        indexes = [models.Index(fields=["building", "pick_up_until"], name="split_by_last_day")]

    @property
    def given_tubs(self) -> int:
        """Tubs that go to households."""
        beds = self.reserve_millionths + self.left_over_tubs * TUB
        return (self.divided_millionths - beds) // TUB


class SplitAttribution(Attribution):
    row = models.OneToOneField(Split, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False


class Share(LedgerRow):
    split = models.ForeignKey(Split, on_delete=models.PROTECT, related_name="shares")
    due_millionths = models.BigIntegerField()
    credit_before_millionths = models.BigIntegerField()
    tubs = models.PositiveIntegerField()
    credit_after_millionths = models.BigIntegerField()
    to_garden = models.BooleanField(default=False)
    to_neighbours = models.BooleanField(default=False)

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(
                    due_millionths__gte=0,
                    credit_after_millionths=F("credit_before_millionths") + F("due_millionths") - F("tubs") * TUB,
                ),
                name="share_credit_follows",
            ),
            models.CheckConstraint(
                condition=models.Q(to_garden=False, to_neighbours=False)
                | (models.Q(tubs=0, due_millionths=0) & (models.Q(to_garden=False) | models.Q(to_neighbours=False))),
                name="share_given_away_is_nothing",
            ),
        ]
        indexes = [models.Index(fields=["split"], name="share_by_split")]

    @property
    def owed_millionths(self) -> int:
        """What it was due with what stood over from before."""
        return self.due_millionths + self.credit_before_millionths


class ShareAttribution(Attribution):
    row = models.OneToOneField(Share, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
        indexes = [models.Index(fields=["household"], name="share_by_household")]
