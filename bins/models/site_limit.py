"""A limit that a site has been given by its authority, as the site typed it in. Only added to: the newest holds."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow


class SiteLimit(LedgerRow):
    class What(models.TextChoices):
        SCRAPS_YEAR = "scraps_year", _("kitchen scraps in a calendar year")
        STORED = "stored", _("what lies in drums and curing bins")
        BROWNS = "browns", _("browns in the store")

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="+")
    what = models.CharField(max_length=12, choices=What)
    # Kilos of scraps in a year, else litres; empty: no limit any more.
    figure = models.PositiveIntegerField(null=True, blank=True)
    source = models.CharField(max_length=200)  # who says so, and in which paper
    dated = models.DateField()  # of that paper

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(what__in=["scraps_year", "stored", "browns"]), name="site_limit_what_known"
            ),
            models.CheckConstraint(
                condition=models.Q(figure__isnull=True) | models.Q(figure__gte=1), name="site_limit_allows_something"
            ),
            models.CheckConstraint(condition=~models.Q(source=""), name="site_limit_has_a_source"),
        ]


class SiteLimitAttribution(Attribution):
    row = models.OneToOneField(SiteLimit, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
