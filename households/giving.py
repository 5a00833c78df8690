"""A household's choice to leave its share to the beds or to its neighbours, until it says otherwise."""

import datetime as dt
from enum import StrEnum

from .ledger import open_ledger
from .models import Audit, Building, Household, Person


class Wish(StrEnum):
    """Where a household's next shares go."""

    KEEP = "keep"
    GARDEN = "garden"  # left over for the beds
    NEIGHBOURS = "neighbours"  # divided among the other households by the lot's rule

    @classmethod
    def of(cls, household: Household) -> "Wish":
        if household.gives_to_garden:
            return cls.GARDEN
        return cls.NEIGHBOURS if household.gives_to_neighbours else cls.KEEP


def choose_gift(*, building: Building, household: Household, wish: str, by: Person, now: dt.datetime) -> Household:
    """Set where a household's next shares go; a split that is final stays. Saying it twice changes nothing.

    ValueError for a wish that is none.
    """
    to = Wish(wish)
    with open_ledger(building):  # a split under way sees the choice before or after, never between
        found: Household = Household.objects.within(building).get(pk=household.pk)
        if Wish.of(found) is not to:
            found.gives_to_garden, found.gives_to_neighbours = to is Wish.GARDEN, to is Wish.NEIGHBOURS
            found.save(update_fields=["gives_to_garden", "gives_to_neighbours"])
            Audit.note(building, by, "share-given", now, household=str(found.uid), to=to.value)
    return found
