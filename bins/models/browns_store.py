"""Where a site's browns lie, what came in, and what was counted. What is used stands in the drop-offs themselves."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.models import Attribution, LedgerRow, Site, TenantModel


class BrownsStore(TenantModel):
    """How a site keeps its browns; one without a row goes by the defaults."""

    class Room(models.TextChoices):
        """By the codes that the stock room knows."""

        CLOSED = "closed", _("in a closed room, such as a cellar")
        AIRED = "aired", _("in a room that is always aired")
        OUTDOORS = "outdoors", _("outdoors, under a roof or a lid")

    site = models.OneToOneField("households.Site", on_delete=models.CASCADE, related_name="browns_store")
    room = models.CharField(max_length=8, choices=Room, default=Room.CLOSED)
    most_litres = models.PositiveIntegerField(null=True, blank=True)  # the site's own limit; empty: the usual one
    delivery_weeks = models.PositiveSmallIntegerField(default=2)
    review_weeks = models.PositiveSmallIntegerField(default=1)
    safety_weeks = models.PositiveSmallIntegerField(default=2)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(room__in=["closed", "aired", "outdoors"]), name="browns_store_room_known"
            ),
            models.CheckConstraint(
                condition=models.Q(delivery_weeks__lte=26, review_weeks__lte=26, safety_weeks__lte=26),
                name="browns_store_weeks_up_to_half_a_year",
            ),
            models.CheckConstraint(
                condition=models.Q(most_litres__isnull=True) | models.Q(most_litres__gte=1),
                name="browns_store_holds_something",
            ),
        ]

    def __str__(self) -> str:
        return f"browns of {self.site_id}"


class BrownsStock(LedgerRow):
    class Act(models.TextChoices):
        DELIVERY = "delivery", _("browns came in")
        COUNT = "count", _("browns were counted")

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="+")
    act = models.CharField(max_length=8, choices=Act)
    kind = models.CharField(max_length=12, choices=Site.Browns)
    millilitres = models.IntegerField()  # of a delivery what came, of a count what is there

    class Meta(LedgerRow.Meta):
        abstract = False
        constraints = [
            *LedgerRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(reverses__isnull=True, act="delivery", millilitres__gt=0)
                | models.Q(reverses__isnull=True, act="count", millilitres__gte=0)
                | models.Q(reverses__isnull=False, act__in=["delivery", "count"], millilitres__lte=0),
                name="browns_stock_act_has_its_amount",
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard"]),
                name="browns_stock_kind_known",
            ),
        ]
        indexes = [models.Index(fields=["site", "counts_at"], name="browns_stock_by_site")]


class BrownsStockAttribution(Attribution):
    """`person` wrote it down; `household` fetched the delivery."""

    row = models.OneToOneField(BrownsStock, on_delete=models.PROTECT, related_name="attribution")

    class Meta(Attribution.Meta):
        abstract = False
