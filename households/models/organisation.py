"""A housing organisation and who acts for it. Its roles hang on the account, since it spans buildings."""

import uuid

from django.db import models


class Organisation(models.Model):
    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)

    def __str__(self) -> str:
        return self.name


class OrganisationRole(models.Model):
    account = models.ForeignKey("households.Account", on_delete=models.CASCADE, related_name="organisation_roles")
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="roles")
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["account", "organisation", "starts_on"], name="organisation_role_once"),
            models.CheckConstraint(
                condition=models.Q(ends_on__isnull=True) | models.Q(ends_on__gte=models.F("starts_on")),
                name="organisation_role_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.account_id} for {self.organisation_id}"
