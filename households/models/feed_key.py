"""The secret in the address of a person's calendar. Whoever has the address can read it, so it can be ended."""

from django.db import models

from .tenant import TenantModel


class FeedKey(TenantModel):
    person = models.OneToOneField("households.Person", on_delete=models.CASCADE, related_name="feed_key")
    # 256 random bits, kept as a plain hash: there is nothing to guess.
    secret_hash = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    digest_leaves_out = ("secret_hash", "made_at")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "secret_hash"], name="feed_key_secret_once"),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.person_id}"
