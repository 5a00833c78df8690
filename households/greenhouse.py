"""Whether a building's reports show what composting gives off, and by whose figures."""

import datetime as dt

from .models import Audit, Building, Person


def set_greenhouse(*, building: Building, choice: str, person: Person | None, now: dt.datetime) -> None:
    """ValueError for what is none of the choices. Setting it to what it is changes nothing."""
    chosen = Building.Greenhouse(choice)
    if building.greenhouse != chosen:
        building.greenhouse = chosen
        building.save(update_fields=["greenhouse"])
        Audit.note(building, person, "greenhouse-set", now, shown=chosen)
