"""A hatch shuts at the caretaker's word, or an empty one gets the tag."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.stages import begin
from bins.decisions.gather import gather_drums, settings_of
from bins.decisions.settle import apply_now
from bins.models import Batch, Decision, Drum, Place, StageChange
from bins.process.filling import caretaker_closes
from bins.process.stage import Stage
from bins.records import Reader, Refused
from households.ledger import already, fingerprint, open_ledger
from households.models import Building, Person


@dataclass(frozen=True)
class Closing:
    """ "This one is full enough": the caretaker's word, whatever the level."""

    uid: UUID
    batch_uid: UUID

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(uid=reader.uid(), batch_uid=reader.uid("batch"))
        reader.finish()
        return told


@dataclass(frozen=True)
class Opening:
    """ "The tag hangs on this hatch now.\""""

    uid: UUID
    place_uid: UUID

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(uid=reader.uid(), place_uid=reader.uid("place"))
        reader.finish()
        return told


def close_now(*, building: Building, told: Closing, person: Person | None, via: str, now: dt.datetime) -> Decision:
    """Close the open batch and open the next free chamber of its drum, if there is one. Once a uid.

    Raises Batch.DoesNotExist for a batch of another building, Refused where it isn't open.
    """
    with open_ledger(building) as ledger:
        known: Decision | None = Decision.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            return known
        batch = Batch.objects.within(building).select_related("drum__site").get(uid=told.batch_uid)
        ((site, drums),) = gather_drums(building, now, only=batch.drum)
        proposal = caretaker_closes(drums[0], settings_of(site, building.local(now).date()), now)
        if proposal is None or proposal.batch_uid != batch.uid:
            raise Refused({"batch": _("This lot is not open, so it cannot be closed. Nothing was changed.")})
        decision = apply_now(ledger, proposal, uid=told.uid, person=person, via=via, now=now)
        tell_residents(ledger, site, now)
    return decision


def open_hatch(*, building: Building, told: Opening, person: Person | None, via: str, now: dt.datetime) -> StageChange:
    """Hang the tag on an empty hatch of a drum where nothing is open. Once a uid.

    Raises Place.DoesNotExist for a hatch of another building, Refused where it can't be opened.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(StageChange, building, told.uid, print_):
            return known
        place = Place.objects.within(building).select_related("drum__site").get(uid=told.place_uid)
        drum = place.drum
        if drum is None:
            raise Refused({"place": _("Only a hatch of a drum can be opened. Nothing was changed.")})
        if drum.state != Drum.State.IN_SERVICE:
            raise Refused({"place": _("This drum is not in use. Take it into use first. Nothing was changed.")})
        if place.is_quarantined:
            raise Refused({"place": _("This hatch is shut for now. Look inside and open it first.")})
        live = Batch.objects.within(building).live()
        if live.filter(place=place).exists():
            raise Refused({"place": _("There is a lot in this hatch. Nothing was changed.")})
        if live.filter(drum=drum, stage=Stage.FILLING).exists():
            raise Refused({"place": _("Another hatch of this drum is open. Close that one first.")})
        change = begin(ledger, place, person=person, via=via, at=now, uid=told.uid, print_=print_)
        tell_residents(ledger, drum.site, now)
    return change
