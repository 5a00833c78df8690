"""Where drums stand."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel
from .terms import SharingTerms


class Site(TenantModel, SharingTerms):
    class Air(models.TextChoices):
        INDOORS = "indoors", _("indoors")
        OUTDOORS = "outdoors", _("outdoors")

    class Browns(models.TextChoices):
        """Kinds of browns, by the codes that the mix room knows."""

        PELLETS = "pellets", _("wood pellets")
        SHAVINGS = "shavings", _("wood shavings")
        SAWDUST = "sawdust", _("sawdust")
        LEAVES = "leaves", _("dry leaves")
        STRAW = "straw", _("straw, cut short")
        CARDBOARD = "cardboard", _("torn cardboard")

    class Opening(models.TextChoices):
        """When scraps may be brought."""

        OPEN = "open", _("at any time, while a hatch is open")
        SLOTS = "slots", _("at set times")

    class Decides(models.TextChoices):
        """Whose yes a lot's next stage waits for."""

        CARETAKER = "caretaker", _("the super")
        COMMITTEE = "committee", _("the committee, on its own page")

    class WithoutBrowns(models.TextChoices):
        """What residents are told while there are no browns."""

        BRING = "bring", _("Bring it, and tell us")
        WAIT = "wait", _("Please wait")

    name = models.CharField(max_length=120)
    air = models.CharField(max_length=8, choices=Air, default=Air.OUTDOORS)
    # Where scraps go when nothing is open. Mandatory: a full site without a way out sends people to the chute.
    fallback = models.CharField(max_length=300)
    # What residents add to each full pail. The number is fit for a sign, so it moves at most once a month.
    browns = models.CharField(max_length=12, choices=Browns, default=Browns.PELLETS)
    cup_ml = models.PositiveIntegerField(default=1000)
    half_cups_per_pail = models.PositiveSmallIntegerField(default=4)
    cups_changed_on = models.DateField(null=True, blank=True)
    without_browns = models.CharField(max_length=5, choices=WithoutBrowns, default=WithoutBrowns.BRING)
    browns_out_since = models.DateTimeField(null=True, blank=True)
    access = models.CharField(max_length=300, blank=True)  # keys, gates, hours, as neighbours would say it
    opening = models.CharField(max_length=5, choices=Opening, default=Opening.OPEN)
    decides = models.CharField(max_length=9, choices=Decides, default=Decides.CARETAKER)
    is_raised = models.BooleanField(default=False)  # on a balcony or a roof, which must bear the weight
    households_expected = models.PositiveSmallIntegerField(null=True, blank=True)
    # Marked at 10 L: lifting from under a drum allows about 9 kg (NIOSH lifting equation, H 40, V 30, D 70, A 30).
    tub_ml = models.PositiveIntegerField(default=10000)
    unclaimed_after_days = models.PositiveSmallIntegerField(default=14)  # chosen: two weekends
    duty_notice_days = models.PositiveSmallIntegerField(default=3)  # chosen: nearer duties stay as they are
    duty_days_apart = models.PositiveSmallIntegerField(default=0)  # 0: no rule; 2: not two days running

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(cup_ml__gte=50, cup_ml__lte=5000), name="site_cup_fits_a_hand"),
            models.CheckConstraint(condition=~models.Q(fallback=""), name="site_fallback_given"),
            *SharingTerms.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(tub_ml__gte=1000, tub_ml__lte=60000), name="site_tub_one_to_sixty_litres"
            ),
            models.CheckConstraint(
                condition=models.Q(unclaimed_after_days__gte=1, unclaimed_after_days__lte=60),
                name="site_unclaimed_after_one_to_sixty_days",
            ),
            models.CheckConstraint(
                condition=models.Q(browns__in=["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard"]),
                name="site_browns_known",
            ),
            models.CheckConstraint(
                condition=models.Q(duty_notice_days__lte=14, duty_days_apart__lte=7), name="site_duty_days_in_range"
            ),
            # Nobody counts past twelve cups.
            models.CheckConstraint(
                condition=models.Q(half_cups_per_pail__lte=24), name="site_cups_per_pail_up_to_twelve"
            ),
            models.CheckConstraint(
                condition=models.Q(without_browns__in=["bring", "wait"]), name="site_without_browns_known"
            ),
            models.CheckConstraint(condition=models.Q(opening__in=["open", "slots"]), name="site_opening_known"),
            models.CheckConstraint(
                condition=models.Q(decides__in=["caretaker", "committee"]), name="site_who_decides_known"
            ),
            models.CheckConstraint(
                condition=models.Q(households_expected__isnull=True) | models.Q(households_expected__gte=1),
                name="site_expects_a_household_at_least",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def cups_per_pail(self) -> int | float:
        """Cups of browns for a full pail: whole, or with a half up to one and a half."""
        whole, half = divmod(self.half_cups_per_pail, 2)
        return whole + 0.5 if half else whole
