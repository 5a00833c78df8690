"""A household's choice to leave its share to the beds, until it says otherwise."""

import datetime as dt

from .ledger import open_ledger
from .models import Audit, Building, Household, Person


def choose_garden(*, building: Building, household: Household, gives: bool, by: Person, now: dt.datetime) -> Household:
    """Set where a household's next shares go; a split that is final stays. Saying it twice changes nothing."""
    with open_ledger(building):  # a split under way sees the choice before or after, never between
        found: Household = Household.objects.within(building).get(pk=household.pk)
        if found.gives_to_garden != gives:
            found.gives_to_garden = gives
            found.save(update_fields=["gives_to_garden"])
            Audit.note(building, by, "share-to-garden", now, household=str(found.uid), gives=gives)
    return found
