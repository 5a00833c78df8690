"""A large file made by a job, such as an export: kept a week for those who may ask for one."""

from django.db import models

from .tenant import TenantModel


class KeptFile(TenantModel):
    name = models.CharField(max_length=80)
    content = models.BinaryField(default=b"")
    made_at = models.DateTimeField()

    # The same history makes the same file, at another time.
    digest_leaves_out = ("content", "made_at")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=~models.Q(name=""), name="kept_file_has_a_name"),
        ]
        indexes = [models.Index(fields=["building", "made_at"], name="kept_file_by_age")]

    def __str__(self) -> str:
        return self.name
