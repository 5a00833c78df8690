"""A key to the API: named, hashed, expiring, bound to one building and one person."""

import hashlib
import secrets

from django.db import models

from .tenant import TenantModel


class ApiToken(TenantModel):
    person = models.ForeignKey("households.Person", on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=60)
    # The secret has 256 random bits, so a plain hash is enough: there is nothing to guess.
    secret_hash = models.CharField(max_length=64)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_on = models.DateField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "secret_hash"], name="token_secret_once"),
            models.CheckConstraint(
                condition=models.Q(expires_at__gt=models.F("created_at")), name="token_expires_after_it_is_made"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @staticmethod
    def new_secret() -> str:
        return secrets.token_urlsafe(32)

    @staticmethod
    def hash_of(secret: str) -> str:
        return hashlib.sha256(secret.encode()).hexdigest()
