"""What stood in a chamber before the record began: a batch that nobody is credited for."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict
from uuid import uuid5

from bins.care.visit import LEVELS
from bins.founding.block import FILLING, Chamber
from bins.models import Batch, Drum, Place, Reading, StageChange, StageChangeAttribution, Visit, VisitAttribution
from bins.process.stage import Stage
from bins.signature import sign
from households.ledger import Ledger, Times, fingerprint, times
from households.models import LedgerRow, Person

NOON = dt.time(12)  # chosen: of a day told without its hour


def write_found(
    ledger: Ledger, place: Place, told: Chamber, *, person: Person | None, via: str, now: dt.datetime
) -> Batch:
    """Write down the batch that was found in a chamber. Its days count from the day told, else from now.

    However long ago that is: nobody can have told it earlier.
    """
    building = ledger.building
    assert place.drum is not None  # a chamber has its drum: a check in the database
    since = min(building.instant(told.since, NOON), now) if told.since else now
    stage = Stage.FILLING if told.found == FILLING else Stage.COMPOSTING
    batch: Batch = Batch.objects.create(
        building=building,
        uid=uuid5(place.uid, "found"),
        drum=place.drum,
        place=place,
        started_in=place,
        stage=stage,
        opened_at=since,
        closed_at=None if stage is Stage.FILLING else since,
        from_record=True,
        **place.site.terms,
    )
    row = ledger.add(
        StageChange(
            uid=uuid5(batch.uid, "begun"),
            fingerprint=fingerprint(asdict(told)),
            **asdict(Times(since, now, since, LedgerRow.Doubt.NONE)),
            via=via,
            batch=batch,
            place=place,
            from_stage="",
            to_stage=stage,
            cause=StageChange.Cause.FOUND,
        )
    )
    sign(StageChangeAttribution, row, person)
    return batch


def write_levels(
    ledger: Ledger, drum: Drum, found: Iterable[tuple[Batch, Chamber]], *, person: Person | None, via: str,
    now: dt.datetime,
) -> None:  # fmt: skip
    """The levels that were told of a drum's batches, as one look into it; nothing where none was told."""
    seen = [(batch, told) for batch, told in found if told.level]
    if not seen:
        return
    print_ = fingerprint({"levels": [asdict(told) for _batch, told in seen]})
    when = asdict(times(now, now))
    visit = ledger.add(
        Visit(
            uid=uuid5(drum.uid, "found"), fingerprint=print_, **when, via=via, drum=drum, turned=False,
            trouble=Visit.Trouble.NOTHING,
        )
    )  # fmt: skip
    sign(VisitAttribution, visit, person)
    for batch, told in seen:
        ledger.add(
            Reading(
                uid=uuid5(batch.uid, "found level"), fingerprint=print_, **when, via=via, visit=visit, batch=batch,
                kind=Reading.Kind.LEVEL_PERCENT, value=LEVELS[told.level],
            )
        )  # fmt: skip
