"""A photo beside a record: made anew by us, small, and without the place it was taken at."""

from django.db import models

from .tenant import TenantModel

MOST_BYTES = 200_000
MOST_OF_ONE = 3


class Photo(TenantModel):
    of = models.UUIDField()  # the uid of the record that it belongs to
    number = models.PositiveSmallIntegerField()  # numbered, so that a fourth cannot be
    jpeg = models.BinaryField()
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()

    digest_leaves_out = ("jpeg", "made_at")  # its hash stands for it

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["building", "of", "number"], name="photo_number_once"),
            models.CheckConstraint(
                condition=models.Q(number__gte=1, number__lte=MOST_OF_ONE), name="photo_three_of_one_record"
            ),
            models.CheckConstraint(condition=models.Q(size_bytes__lte=MOST_BYTES), name="photo_small_enough"),
            models.CheckConstraint(
                condition=models.Q(width__lte=1600, height__lte=1600), name="photo_at_most_1600_pixels"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.of} {self.number}"
