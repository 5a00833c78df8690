"""How harvests are shared out: set for a site, and copied onto a batch when it opens.

The rule in force when a batch opens is that batch's rule: nobody changes what people brought their scraps for.
"""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from households.sharing.rule import Kind, SharingRule


class SharingTerms(models.Model):
    class Sharing(models.TextChoices):
        # By care work and on request join when duties have minutes and requests are recorded.
        EQUAL = Kind.EQUAL.value, _("the same for each household that took part")
        CONTRIBUTION = Kind.CONTRIBUTION.value, _("by weight brought, with an upper limit")

    sharing_kind = models.CharField(max_length=12, choices=Sharing, default=Sharing.EQUAL)
    reserve_percent = models.PositiveSmallIntegerField(default=20)  # chosen: the beds first, one tub in five
    # Of an equal share, under the rule by weight; empty: no limit. Chosen: twice, or one big kitchen is the harvest.
    ceiling_percent = models.PositiveSmallIntegerField(null=True, blank=True, default=200)
    least_drop_offs = models.PositiveSmallIntegerField(default=3)  # chosen: once is a try, three times is taking part

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=models.Q(sharing_kind__in=["equal", "contribution"]),
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
        ]

    @property
    def sharing_rule(self) -> SharingRule:
        return SharingRule(Kind(self.sharing_kind), self.reserve_percent, self.ceiling_percent)

    @property
    def terms(self) -> dict[str, Any]:
        """The values to copy onto something else that has terms."""
        return {field.name: getattr(self, field.name) for field in SharingTerms._meta.fields}
