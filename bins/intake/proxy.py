"""Drop-offs written down on somebody's behalf, from a word, a slip or a sheet: several at once, all or none."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.intake.dropoff import DropOff, Recorded, add_drop_off
from bins.models import Assignment, Contribution, Drum
from bins.records import Reader, Refused, seen
from households.cards import household_of_card
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Household, LedgerRow, Person

MOST_LINES = 10
NOON = dt.time(12, 0)  # chosen: a slip tells the day; by noon the hatch of that day was open
VIAS = [LedgerRow.Via.PROXY.value, LedgerRow.Via.SHEET.value]
FIELDS = ("household", "card", "day", "drum", "quarter_pails", "kilograms", "browns_cups")


@dataclass(frozen=True)
class Line:
    """One drop-off of one household on a day. Without a drum it is the household's own."""

    household_uid: UUID
    day: dt.date
    drum_uid: UUID | None
    what: DropOff  # its drum is filled in once the household is known

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        day = reader.day("day")
        if day is None and "day" not in reader.errors:
            reader.errors["day"] = _("Which day was it?")
        household_uid = whose(reader, _("Whose was it? Choose the household."))
        drum_uid = reader.uid("drum") if raw.get("drum") else None
        try:
            # Its time is the day's; a drum must stand there, so any uid does until the household is known.
            what = DropOff.from_raw({**raw, "drum": str(drum_uid or UUID(int=0)), "happened_at": None})
        except Refused as refused:
            raise Refused(reader.errors | refused.errors) from None
        reader.finish()
        return cls(household_uid, day or dt.date.min, drum_uid, what)


@dataclass(frozen=True)
class OnBehalf:
    via: str
    lines: tuple[Line, ...]

    @classmethod
    def from_raw(cls, via: Any, lines: Sequence[Mapping[str, Any]]) -> Self:
        """Read and check up to ten lines; each fault is named with its line's number, as `day-3`."""
        reader = Reader({"via": via})
        found, errors = [], reader.errors
        chosen = reader.choice("via", VIAS, LedgerRow.Via.PROXY)
        if not 1 <= len(lines) <= MOST_LINES:
            errors["lines"] = _("From one to ten lines are needed.")
        for number, raw in enumerate(lines[:MOST_LINES], start=1):
            try:
                found.append(Line.from_raw(raw))
            except Refused as refused:
                errors |= {f"{name}-{number}": text for name, text in refused.errors.items()}
        if len({line.what.uid for line in found}) != len(found):
            errors["lines"] = _("Each line needs a uid of its own.")
        reader.finish()
        return cls(chosen, tuple(found))


def whose(reader: Reader, question: str) -> UUID:
    """The household that was chosen, or that has the card; a fault names the card or asks `question`."""
    uid = reader.uid("household")
    if "household" in reader.errors:
        del reader.errors["household"]
        if reader.raw.get("card"):
            reader.errors["card"] = _("No household has this card now. Look at the number again.")
        else:
            reader.errors["household"] = question
    return uid


def with_households(building: Building, lines: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Lines as told, with the household filled in where only the number of its card was. An unknown number
    stays without one, and is refused as such."""
    found = []
    for line in lines:
        card = "" if line.get("household") else seen(str(line.get("card") or "")).strip()
        whose = household_of_card(building, card) if card else None
        found.append({**line, "household": str(whose.uid) if whose else line.get("household")})
    return found


def record_on_behalf(
    *, building: Building, told: OnBehalf, person: Person | None, now: dt.datetime
) -> tuple[Recorded, ...]:
    """Add the drop-offs to the books, all or none; lines that stand there already give what stands there.

    Raises UidReused, and Refused naming the lines whose household did not live here that day, whose day has not
    come, or that name a drum of another building.
    """
    asked = [line.household_uid for line in told.lines]
    households = {one.uid: one for one in Household.objects.within(building).filter(uid__in=asked)}
    errors: dict[str, str] = {}
    recorded = []
    with open_ledger(building) as ledger:
        drums = {drum.uid for drum in Drum.objects.within(building)}
        own = dict(
            Assignment.objects.within(building)
            .filter(household__uid__in=asked)
            .values_list("household__uid", "drum__uid")
        )
        for number, line in enumerate(told.lines, start=1):
            household = households.get(line.household_uid)
            print_ = fingerprint(asdict(line) | {"via": told.via})
            if known := already(Contribution, building, line.what.uid, print_):
                recorded.append(Recorded(known, is_new=False))
                continue
            drum_uid = line.drum_uid or own.get(line.household_uid)
            faults = _faults(building, line, household, drum_uid if drum_uid in drums else None, now)
            if faults or drum_uid is None:
                errors |= {f"{name}-{number}": text for name, text in faults.items()}
                continue
            what = replace(line.what, drum_uid=drum_uid)
            when = times(min(building.instant(line.day, NOON), now), now)
            try:
                row = add_drop_off(
                    ledger, what, household=household, person=person, via=told.via, when=when, print_=print_
                )
            except Refused as refused:
                errors |= {f"{name}-{number}": text for name, text in refused.errors.items()}
                continue
            recorded.append(Recorded(row, is_new=True))
        if errors:
            raise Refused(errors)  # out of the transaction: nothing of it stays
    return tuple(recorded)


def _faults(
    building: Building, line: Line, household: Household | None, drum_uid: UUID | None, now: dt.datetime
) -> dict[str, str]:
    """What is wrong with a line, as far as the building knows."""
    found = {}
    if household is None:
        found["household"] = _("Whose was it? Choose the household.")
    elif not household.lives_here_on(line.day):
        found["household"] = _("This household did not live here on that day.")
    if line.day > building.local(now).date():
        found["day"] = _("That day has not come yet.")
    if drum_uid is None and household is not None:
        found["drum"] = _("Which drum was it?")
    return found
