"""What a site takes and what stays out: a list with a version and a date, changed by making the next one."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _

from bins.models import AcceptedItem, AcceptedList, AcceptedListAttribution
from bins.records import Reader
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person, Site

# What every site begins with, as practice has it, in the order of the sign. What is cooked, fat or from animals
# smells and calls rats; bags sold as compostable outlive the months that a drum has.
DEFAULT: dict[str, str] = {
    "fruit_vegetables": "yes",
    "coffee": "yes",
    "tea": "yes",
    "eggshells": "yes",
    "flowers": "yes",
    "egg_boxes": "yes",
    "citrus": "ask",
    "big_stones": "ask",
    "sick_plants": "ask",
    "meat": "no",
    "fish": "no",
    "dairy": "no",
    "fats": "no",
    "cooked": "no",
    "bags": "no",
    "plastic": "no",
    "glass_metal": "no",
    "stickers": "no",
    "glossy_paper": "no",
    "pet_litter": "no",
    "ash": "no",
}
# They count with the wet scraps, whatever their colour: they call for browns and are none.
NITROGEN_RICH = frozenset({"fruit_vegetables", "coffee", "tea", "flowers"})
MOST_NOTE = 120


@dataclass(frozen=True)
class Line:
    key: str
    verdict: str
    note: str


@dataclass(frozen=True)
class Edition:
    """A whole list as somebody wants it: one line for each thing there is a picture of, in the order of DEFAULT."""

    uid: UUID
    lines: tuple[Line, ...]

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values `verdict-KEY` (yes, no, ask) and `note-KEY` (up to 120 characters).

        A thing that isn't named keeps the usual verdict; one judged otherwise than usual needs a note, since our
        reason no longer fits. Raises Refused with every fault named.
        """
        reader = Reader(raw)
        uid = reader.uid()
        lines = []
        for key, usual in DEFAULT.items():
            verdict = reader.choice(f"verdict-{key}", [*AcceptedItem.Verdict.values], usual)
            differs = verdict != usual and f"verdict-{key}" not in reader.errors
            why = _("This differs from the usual list. Say why in a few words.") if differs else ""
            lines.append(Line(key, verdict, reader.words(f"note-{key}", MOST_NOTE, why)))
        reader.finish()
        return cls(uid, tuple(lines))


def first_list(ledger: Ledger, site: Site, *, person: Person | None, via: str, now: dt.datetime) -> AcceptedList:
    """The usual list as a new site's first version."""
    usual = Edition(uuid5(site.uid, "accepted 1"), lines_of(None))
    return _write(ledger, site, usual, 1, _print(usual, site), person, via, now)


def change_list(
    *, building: Building, site: Site, told: Edition, person: Person | None, via: str, now: dt.datetime
) -> AcceptedList:
    """Make the next version of a site's list; the one in force where nothing differs. Once a uid."""
    print_ = _print(told, site)
    with open_ledger(building) as ledger:
        if known := already(AcceptedList, building, told.uid, print_):
            return known
        latest = versions(building, site).first()
        if latest is not None and lines_of(latest) == told.lines:
            return latest
        number = latest.version + 1 if latest else 1
        return _write(ledger, site, told, number, print_, person, via, now)


def versions(building: Building, site: Site) -> "QuerySet[AcceptedList]":
    """All versions of a site's list with their lines, the one in force first."""
    items = Prefetch("items", AcceptedItem.objects.within(building))
    return AcceptedList.objects.within(building).filter(site=site).prefetch_related(items).order_by("-version")


def lines_of(version: AcceptedList | None) -> tuple[Line, ...]:
    """The lines of a version in the order of the sign; the usual ones for a site without any version."""
    if version is None:
        return tuple(Line(key, verdict, "") for key, verdict in DEFAULT.items())
    found = {item.key: Line(item.key, item.verdict, item.note) for item in version.items.all()}
    return tuple(found[key] for key in DEFAULT if key in found)


def _print(told: Edition, site: Site) -> str:
    return fingerprint(asdict(told) | {"site": site.uid})


def _write(
    ledger: Ledger, site: Site, told: Edition, number: int, print_: str, person: Person | None, via: str,
    now: dt.datetime,
) -> AcceptedList:  # fmt: skip
    row = ledger.add(
        AcceptedList(uid=told.uid, fingerprint=print_, **asdict(times(now, now)), via=via, site=site, version=number)
    )
    AcceptedItem.objects.bulk_create(
        AcceptedItem(
            building=ledger.building, uid=uuid5(told.uid, line.key), of=row, key=line.key, verdict=line.verdict,
            note=line.note,
        )
        for line in told.lines
    )  # fmt: skip
    sign(AcceptedListAttribution, row, person)
    return row
