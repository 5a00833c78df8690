"""Browns or water added to a batch: what a care visit did about a correction, in the litres really added."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.models import Amendment, AmendmentAttribution, Batch
from bins.records import Reader
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person, Site

MOST_ADDED_ML = 200_000


@dataclass(frozen=True)
class Added:
    """Litres of browns or water that were really added to a batch."""

    uid: UUID
    batch_uid: UUID
    happened_at: dt.datetime | None
    browns_ml: int
    browns: str
    water_ml: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `browns_litres` with their kind, `water_litres`, up to 200. Raises Refused."""
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        browns_ml = reader.millilitres("browns_litres", MOST_ADDED_ML) if _is_some(raw, "browns_litres") else 0
        water_ml = reader.millilitres("water_litres", MOST_ADDED_ML) if _is_some(raw, "water_litres") else 0
        if not browns_ml and not water_ml and not reader.errors:
            reader.errors["browns_litres"] = reader.in_units(
                _("How many litres did you add?"), _("How many gallons did you add?")
            )
        told = cls(
            uid=reader.uid(),
            batch_uid=reader.uid("batch"),
            happened_at=None if happened_at == nothing else happened_at,
            browns_ml=browns_ml or 0,
            browns=reader.choice("browns", [*Site.Browns.values]) if browns_ml else "",
            water_ml=water_ml or 0,
        )
        reader.finish()
        return told


def _is_some(raw: Mapping[str, Any], name: str) -> bool:
    """Whether a number other than nought was told: a form sends 0 for what wasn't needed."""
    return str(raw.get(name) or "").strip() not in ("", "0")


@dataclass(frozen=True)
class Recorded:
    rows: tuple[Amendment, ...]
    is_new: bool


def amend(*, building: Building, told: Added, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Add what was put into a batch to the books: a row for the browns, a row for the water. Once a uid.

    Batch.DoesNotExist for a batch of another building; UidReused for a uid with other values.
    """
    print_ = _print(told, via)
    with open_ledger(building) as ledger:
        if already(Amendment, building, told.uid, print_):
            rows = Amendment.objects.within(building).filter(uid__in=[uid for uid, _, _ in _wanted(told)])
            return Recorded(tuple(rows.select_related("batch").order_by("ledger_number")), is_new=False)
        batch = Batch.objects.within(building).get(uid=told.batch_uid)
        return Recorded(add_amounts(ledger, told, batch, person=person, via=via, now=now), is_new=True)


def add_amounts(
    ledger: Ledger, told: Added, batch: Batch, *, person: Person | None, via: str, now: dt.datetime
) -> tuple[Amendment, ...]:
    """The same in a book that is open, for whoever does more than that in it."""
    found = []
    for uid, material, millilitres in _wanted(told):
        row = ledger.add(
            Amendment(
                uid=uid,
                fingerprint=_print(told, via),
                **asdict(times(told.happened_at or now, now)),
                via=via,
                batch=batch,
                material=material,
                millilitres=millilitres,
            )
        )
        sign(AmendmentAttribution, row, person)
        found.append(row)
    return tuple(found)


def _print(told: Added, via: str) -> str:
    return fingerprint(asdict(told) | {"via": via})


def _wanted(told: Added) -> list[tuple[UUID, str, int]]:
    """A row for each thing that was added: its uid, material and millilitres."""
    parts = [(told.browns, told.browns_ml), (str(Amendment.Material.WATER), told.water_ml)]
    return [(uuid5(told.uid, str(n)) if n else told.uid, *part) for n, part in enumerate(p for p in parts if p[1])]
