"""How harvests are shared out: set for a site, and copied onto a batch when it opens.

The rule in force when a batch opens is that batch's rule: nobody changes what people brought their scraps for.
"""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.sharing.rule import Kind, SharingRule


class SharingTerms(models.Model):
    class Sharing(models.TextChoices):
        EQUAL = Kind.EQUAL.value, _("the same for each household that took part")
        CONTRIBUTION = Kind.CONTRIBUTION.value, _("by weight brought, with an upper limit")
        CARE = Kind.CARE.value, _("by care work, in set minutes")
        REQUEST = Kind.REQUEST.value, _("by what each household asks for")

    USUAL = (Sharing.EQUAL, Sharing.CONTRIBUTION)  # shown at once; the others stand behind a fold

    sharing_kind = models.CharField(max_length=12, choices=Sharing, default=Sharing.EQUAL)
    reserve_percent = models.PositiveSmallIntegerField(default=20)  # chosen: the beds first, one tub in five
    # Of an equal share, under the rule by weight; empty: no limit. Chosen: twice, or one big kitchen is the harvest.
    ceiling_percent = models.PositiveSmallIntegerField(null=True, blank=True, default=200)
    least_drop_offs = models.PositiveSmallIntegerField(default=3)  # chosen: once is a try, three times is taking part
    least_tubs = models.PositiveSmallIntegerField(default=0)  # that whoever took part is due, as far as they reach
    most_tubs = models.PositiveSmallIntegerField(null=True, blank=True)  # for one household at once; empty: no limit
    minutes_a_visit = models.PositiveSmallIntegerField(default=10)  # chosen: set, never measured; a duty has its own
    # Under the rule on request: whether more weight brought weighs more, or each household the same.
    requests_by_weight = models.BooleanField(default=False)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=models.Q(sharing_kind__in=["equal", "contribution", "care", "request"]),
                name="%(app_label)s_%(class)s_sharing_kind_known",
            ),
            models.CheckConstraint(
                condition=models.Q(reserve_percent__lte=100), name="%(app_label)s_%(class)s_reserve_at_most_all"
            ),
            models.CheckConstraint(
                condition=models.Q(ceiling_percent__isnull=True) | models.Q(ceiling_percent__gte=100),
                name="%(app_label)s_%(class)s_ceiling_an_equal_share",
            ),
            models.CheckConstraint(
                condition=models.Q(least_drop_offs__gte=1, least_drop_offs__lte=50),
                name="%(app_label)s_%(class)s_drop_offs_one_to_fifty",
            ),
            models.CheckConstraint(
                condition=models.Q(most_tubs__isnull=True)
                | (models.Q(most_tubs__gte=1) & models.Q(most_tubs__gte=models.F("least_tubs"))),
                name="%(app_label)s_%(class)s_most_no_less_than_least",
            ),
            models.CheckConstraint(
                condition=models.Q(minutes_a_visit__gte=1, minutes_a_visit__lte=240),
                name="%(app_label)s_%(class)s_visit_up_to_four_hours",
            ),
        ]

    @property
    def sharing_rule(self) -> SharingRule:
        return SharingRule(
            Kind(self.sharing_kind), self.reserve_percent, self.ceiling_percent, self.least_tubs, self.most_tubs
        )

    @property
    def terms(self) -> dict[str, Any]:
        """The values to copy onto something else that has terms."""
        return {field.name: getattr(self, field.name) for field in SharingTerms._meta.fields}
