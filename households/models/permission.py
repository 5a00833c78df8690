"""Whose yes the drums of a site need, and whether it was given."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .tenant import TenantModel


class Permission(TenantModel):
    class Of(models.TextChoices):
        OWNER = "owner", _("the owner of the house")
        INSURER = "insurer", _("the insurer of the house")
        # On a balcony or a roof: a full drum weighs as much as four people.
        ENGINEER = "engineer", _("the owner or an engineer, for the weight")

    site = models.ForeignKey("households.Site", on_delete=models.CASCADE, related_name="permissions")
    of = models.CharField(max_length=8, choices=Of)
    given_on = models.DateField(null=True, blank=True)  # empty: not yet
    given_by = models.CharField(max_length=120, blank=True)  # a name, or where the letter is kept

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "of"], name="permission_once"),
            models.CheckConstraint(
                condition=models.Q(of__in=["owner", "insurer", "engineer"]), name="permission_of_known"
            ),
            models.CheckConstraint(
                condition=models.Q(given_on__isnull=False) | models.Q(given_by=""), name="permission_given_has_its_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.of} {self.given_on or 'not yet'}"
