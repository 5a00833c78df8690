"""Rows of log sheets against the drums, lots and households of a building."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Protocol
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.visit import LEVELS
from bins.intake.dropoff import DropOff, contribution, whose
from bins.models import Assignment, Batch, Contribution, ContributionAttribution, Drum, Pail, Place, Reading, Visit
from bins.records import Refused
from bins.sheets.drum_numbers import DrumNumbers
from bins.sheets.sheet_rows import ContributionRow, VisitRow, when
from households.ledger import Ledger, fingerprint, times
from households.models import Building, Card, Household, LedgerRow, Person

VIA = LedgerRow.Via.IMPORT


class Here(Protocol):
    """What is known here when the rows come."""

    def known(self, uids: set[UUID]) -> set[UUID]:
        """Which of these rows an earlier file has brought."""

    def fit(self, uid: UUID, row: Any) -> tuple[Any, dict[str, str]]:
        """A row as it would go in, and remarks by field that don't keep it out. Raises Refused by field."""

    def write(self, ledger: Ledger, ready: Sequence[Any], person: Person | None) -> None:
        """Write what fits, in an open book."""


class Lots:
    """Every batch by the drum it began in; one query."""

    def __init__(self, building: Building) -> None:
        self.of: defaultdict[int, list[Batch]] = defaultdict(list)
        for batch in Batch.objects.within(building).select_related("started_in").order_by("opened_at", "pk"):
            self.of[batch.drum_id].append(batch)

    def filling(self, drum: Drum, at: dt.datetime) -> Batch | None:
        """The one that was opened last: one whose closing was undone spans the time of those opened meanwhile."""
        was_open = (b for b in self.of[drum.pk] if b.opened_at <= at and (b.closed_at is None or b.closed_at > at))
        return max(was_open, key=lambda batch: (batch.opened_at, batch.pk), default=None)

    def in_hatch(self, drum: Drum, letter: str, at: dt.datetime) -> Batch | None:
        """The batch that began in a hatch and lived then, the latest first; without a letter the open one."""
        if not letter:
            return self.filling(drum, at)
        lived = [b for b in self.of[drum.pk] if b.opened_at <= at and (b.ended_at is None or b.ended_at > at)]
        return next((b for b in reversed(lived) if b.started_in.letter == letter), None)


@dataclass(frozen=True)
class ReadyDropOff:
    told: DropOff
    at: dt.datetime
    day: dt.date
    drum: Drum
    pail: Pail
    batch: Batch | None
    household: Household


class Contributions:
    """Seven queries however many rows there are."""

    def __init__(self, building: Building, now: dt.datetime) -> None:
        self.building, self.now = building, now
        self.drums, self.lots = DrumNumbers(building), Lots(building)
        pails = Pail.objects.within(building).order_by("-number")
        self.pails = {pail.site_id: pail for pail in pails}  # the first of each site stays
        households = list(Household.objects.within(building).order_by("joined_on", "pk"))
        self.by_label: defaultdict[str, list[Household]] = defaultdict(list)
        for household in households:
            if household.label:
                self.by_label[household.label.casefold()].append(household)
        self.forgotten = [household for household in households if not household.label]
        cards = Card.objects.within(building).select_related("household")
        self.by_card = {card.number: card.household for card in cards if card.household.label}
        drums = {drum.pk: drum for drum in self.drums.all}
        own = Assignment.objects.within(building).values_list("household", "drum")
        self.own = {household: drums[drum] for household, drum in own}

    def known(self, uids: set[UUID]) -> set[UUID]:
        return set(Contribution.objects.within(self.building).filter(uid__in=uids).values_list("uid", flat=True))

    def fit(self, uid: UUID, row: ContributionRow) -> tuple[ReadyDropOff, dict[str, str]]:
        at = when(row, self.building, self.now)
        household = self._household(row)
        drum = self.drums.one(row.drum, near=self.own.get(household.pk))
        if drum is None:
            raise Refused({"drum": _("Which drum was it? The household has none of that number.")})
        told = self._checked(uid, row, drum)
        batch = self.lots.filling(drum, at)
        remarks = {} if batch else {"date": _("No hatch was open on the record that day. It counts, for no lot.")}
        return ReadyDropOff(told, at, row.date, drum, self.pails[drum.site_id], batch, household), remarks

    def write(self, ledger: Ledger, ready: Sequence[ReadyDropOff], person: Person | None) -> None:
        rows = ledger.add_all(
            [
                contribution(
                    one.told, drum=one.drum, pail=one.pail, batch=one.batch, place=None,
                    when=times(one.at, self.now, VIA), via=VIA,
                    print_=fingerprint(asdict(one.told) | {"household": one.household.uid, "via": VIA}),
                )
                for one in ready
            ]
        )  # fmt: skip
        ContributionAttribution.objects.bulk_create(
            ContributionAttribution(**whose(row, one.household, None)) for row, one in zip(rows, ready, strict=True)
        )

    def _household(self, row: ContributionRow) -> Household:
        """Whose it was, by name or card, on that day: the next tenant of a flat is another household.

        A sheet may be older than the household's first day in the record; then it is the one of that name, as
        long as nobody was forgotten since who lived here that day and may have had the name.
        """
        card = self.by_card.get(row.household)
        named = [card] if card is not None else self.by_label.get(row.household.casefold(), [])
        if not named:
            raise Refused({"household": _("No household of that name lives here.")})
        lived = [one for one in named if one.lives_here_on(row.date)]
        if lived:
            return lived[-1]
        is_older = len(named) == 1 and row.date < named[0].joined_on
        if is_older and not any(one.lives_here_on(row.date) for one in self.forgotten):
            return named[0]
        raise Refused({"household": _("The household of that name did not live here on that day.")})

    def _checked(self, uid: UUID, row: ContributionRow, drum: Drum) -> DropOff:
        """The drop-off, by its own check; its faults under the sheet's own columns."""
        raw = {
            "uid": uid, "drum": drum.uid, "kilograms": row.kilograms, "browns_cups": row.cups,
            "quarter_pails": row.quarter_pails,
        }  # fmt: skip
        try:
            return DropOff.from_raw(raw)
        except Refused as refused:
            columns = {"quarter_pails": "pails", "browns_cups": "cups"}
            raise Refused({columns.get(name, name): text for name, text in refused.errors.items()}) from None


@dataclass(frozen=True)
class ReadyVisit:
    uid: UUID
    row: VisitRow
    at: dt.datetime
    drum: Drum
    batch: Batch | None  # the one whose level was read

    @property
    def day(self) -> dt.date:
        return self.row.date


class Visits:
    """Three queries however many rows there are. Who came is not on the sheet, so nobody is credited."""

    def __init__(self, building: Building, now: dt.datetime) -> None:
        self.building, self.now = building, now
        self.drums, self.lots = DrumNumbers(building), Lots(building)
        self.apart = {
            (place.drum_id, place.letter): place
            for place in Place.objects.within(building).filter(drum__turns=Drum.Turns.APART)
        }

    def known(self, uids: set[UUID]) -> set[UUID]:
        return set(Visit.objects.within(self.building).filter(uid__in=uids).values_list("uid", flat=True))

    def fit(self, uid: UUID, row: VisitRow) -> tuple[ReadyVisit, dict[str, str]]:
        at = when(row, self.building, self.now)
        drum = self.drums.one(row.drum)
        if drum is None:
            raise Refused({"drum": _("There is no drum of that number here, or more than one.")})
        batch = self.lots.in_hatch(drum, row.hatch, at) if row.level else None
        missing = _("Nothing was in that hatch on the record that day. The visit counts, the level is not kept.")
        return ReadyVisit(uid, row, at, drum, batch), {"level": missing} if row.level and batch is None else {}

    def write(self, ledger: Ledger, ready: Sequence[ReadyVisit], person: Person | None) -> None:
        prints = [fingerprint(asdict(one.row) | {"via": VIA}) for one in ready]
        moments = [asdict(times(one.at, self.now, VIA)) for one in ready]
        visits = ledger.add_all(
            [
                Visit(
                    uid=one.uid, fingerprint=print_, **moment, via=VIA, drum=one.drum, turned=one.row.turned,
                    # Where hatches turn apart, the one that the row names was turned; none named: all.
                    turned_place=self.apart.get((one.drum.pk, one.row.hatch)) if one.row.turned else None,
                    trouble=one.row.trouble,
                )
                for one, print_, moment in zip(ready, prints, moments, strict=True)
            ]
        )  # fmt: skip
        ledger.add_all(
            [
                Reading(
                    uid=uuid5(one.uid, f"{Reading.Kind.LEVEL_PERCENT} {one.batch.uid}"), fingerprint=print_, **moment,
                    via=VIA, visit=visit, batch=one.batch, kind=Reading.Kind.LEVEL_PERCENT,
                    value=LEVELS[one.row.level],
                )
                for one, visit, print_, moment in zip(ready, visits, prints, moments, strict=True)
                if one.batch is not None
            ]
        )  # fmt: skip
