"""The rows behind a figure: day, amount, how known, how it came. No household, and in no order within a day."""

import datetime as dt
import hashlib
from dataclasses import dataclass
from uuid import UUID

from bins.harvests.balance import parts_of_lots
from bins.models import Contribution, Harvest, HarvestPart, Visit
from households.models import Building

from .calendar import span
from .figures import hidden_kinds


@dataclass(frozen=True)
class Row:
    """One ledger row as others may see it; a correction takes back what it corrects (a negative amount)."""

    day: dt.date
    amount: int
    known: str
    via: str
    is_correction: bool


FIGURES = {"scraps": "g", "browns": "ml", "visits": "", "compost": "ml"}
WITHHELD = "withheld"  # in the place of `known`, where the month withholds that line: its rows would make the line
MOST = 2000  # a month of fifty households has some hundreds


def rows(building: Building, first_day: dt.date, figure: str) -> list[Row]:
    """At most 2,000 rows of a figure, by day. KeyError for a figure that has none.

    Within a day the order is that of a hash: who came before whom is nobody's business.
    """
    unit_known = FIGURES[figure]
    within = span(building, first_day)
    found: list[tuple[dt.date, str, Row]] = []
    match figure:
        case "scraps" | "browns":
            hidden = hidden_kinds(building, first_day) if figure == "scraps" else frozenset()
            for row in Contribution.objects.within(building).filter(within)[:MOST]:
                amount = row.scraps_g if figure == "scraps" else row.browns_ml
                if amount:
                    known = row.known if figure == "scraps" else Contribution.Known.COUNTED
                    found.append(_row(building, row, amount, WITHHELD if known in hidden else str(known)))
        case "visits":
            for visit in Visit.objects.within(building).filter(within)[:MOST]:
                found.append(_row(building, visit, 1 if visit.reverses_id is None else -1, unit_known))
        case _:
            counted = Contribution.Known.COUNTED.value
            harvests = list(Harvest.objects.within(building).filter(within).select_related("reversed_by")[:MOST])
            stand = {one.batch_id for one in harvests if one.reverses_id is None and not hasattr(one, "reversed_by")}
            # Parts count with the harvest of their lot, in its month, and keep the day on which they were measured.
            parts = parts_of_lots(building, stand, taken_back=True)
            for measured in (*harvests, *(part for lot in stand for part in parts[lot])):
                found.append(_row(building, measured, measured.millilitres, counted))
    return [row for _, _, row in sorted(found, key=lambda one: one[:2])]


def _row(
    building: Building, row: Contribution | Visit | Harvest | HarvestPart, amount: int, known: str
) -> tuple[dt.date, str, Row]:
    day = building.local(row.counts_at).date()
    return day, _shuffled(row.uid), Row(day, amount, known, row.via, row.reverses_id is not None)


def _shuffled(uid: UUID) -> str:
    return hashlib.sha256(uid.bytes).hexdigest()
