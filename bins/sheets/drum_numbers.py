"""Drums by the number that stands on them, as people write it on a sheet."""

from collections import defaultdict

from bins.models import Drum
from households.models import Building


class DrumNumbers:
    """Every drum of a building; one query."""

    def __init__(self, building: Building) -> None:
        self.all: list[Drum] = list(Drum.objects.within(building).select_related("site").order_by("number", "pk"))
        self.by_number: defaultdict[int, list[Drum]] = defaultdict(list)
        for drum in self.all:
            self.by_number[drum.number].append(drum)

    def one(self, number: int | None, near: Drum | None = None) -> Drum | None:
        """The drum of a number: where two sites have one, that of the site of `near`. Without a number `near`, or
        the only drum there is. None where it can't be told."""
        if number is None:
            return near or (self.all[0] if len(self.all) == 1 else None)
        found = self.by_number.get(number, [])
        if len(found) > 1 and near is not None:
            found = [drum for drum in found if drum.site_id == near.site_id]
        return found[0] if len(found) == 1 else None
