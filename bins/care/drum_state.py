"""A drum rests, goes out of service, or comes back. Out of service it asks at once where things go."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.moving import put
from bins.care.stages import go_to
from bins.models import Assignment, Batch, Drum, DrumChange, DrumChangeAttribution, Place, StageChange
from bins.process.stage import Stage
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person

STAYS = "stays"  # a batch that waits inside
NOBODY = "none"  # no other drum: its households take the way out
AGAIN = "again"  # those lent elsewhere use this drum again


@dataclass(frozen=True)
class DrumWord:
    """What became of a drum. For one out of service: each batch in it and each household has an answer."""

    uid: UUID
    drum_uid: UUID
    state: str
    reason: str
    contents: tuple[tuple[UUID, str], ...]  # batch, and a place's uid or STAYS
    households: str  # another drum's uid, NOBODY or AGAIN

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. contents: mappings with `batch` and `to`, a place's uid or "stays"."""
        reader = Reader(raw)
        state = reader.choice("state", [*Drum.State.values])
        told = raw.get("contents") or ()
        if not isinstance(told, list | tuple) or not all(isinstance(one, Mapping) for one in told):
            reader.errors["contents"] = _("A list of lots, each with where it went, is needed.")
            told = ()
        contents = []
        for one in told:
            inner = Reader(one)
            to = str(one.get("to") or "")
            contents.append((inner.uid("batch"), to if to == STAYS else str(inner.uid("to"))))
            reader.errors.update({f"{name}-{one.get('batch', '')}": text for name, text in inner.errors.items()})
        households = str(raw.get("households") or "")
        if state == Drum.State.OUT_OF_SERVICE and not households:
            reader.errors["households"] = _("Which drum do its households use meanwhile?")
        elif households not in ("", NOBODY, AGAIN):
            households = str(reader.uid("households"))
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            state=state,
            reason=reader.words("reason", 300, ""),
            contents=tuple(contents),
            households=households,
        )
        reader.finish()
        return found


def change_drum(*, building: Building, told: DrumWord, person: Person | None, via: str, now: dt.datetime) -> DrumChange:
    """Put a drum into another state, with all that hangs on it, in one transaction. Once a uid.

    Raises Drum.DoesNotExist or Place.DoesNotExist for those of another building, Refused where it is in that
    state already or an answer is missing.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(DrumChange, building, told.uid, print_):
            return known
        drum = Drum.objects.within(building).select_related("site").get(uid=told.drum_uid)
        if drum.state == told.state:
            raise Refused({"state": _("The drum is so already. Nothing was changed.")})
        before, drum.state = drum.state, told.state
        drum.save(update_fields=["state"])
        other = None
        if told.state == Drum.State.OUT_OF_SERVICE:
            _empty(ledger, drum, told, person, via, now)
            other = _lend_households(building, drum, told.households)
        elif told.households == AGAIN:
            Assignment.objects.within(building).filter(usual_drum=drum).update(drum=drum, usual_drum=None)
        row = ledger.add(
            DrumChange(
                uid=told.uid,
                fingerprint=print_,
                **asdict(times(now, now)),
                via=via,
                drum=drum,
                from_state=before,
                to_state=drum.state,
                reason=told.reason,
                households_to=other,
            )
        )
        sign(DrumChangeAttribution, row, person)
        tell_residents(ledger, drum.site, now)
    return row


def batches_inside(building: Building, drum: Drum) -> list[Batch]:
    """Live batches that stand in the drum's own hatches, its own or another's. One query."""
    return list(
        Batch.objects.within(building).live().filter(place__drum=drum).select_related("place", "drum").order_by("place")
    )


def _empty(ledger: Ledger, drum: Drum, told: DrumWord, person: Person | None, via: str, now: dt.datetime) -> None:
    """Close what is open, and put each batch where the answer says."""
    answers = dict(told.contents)
    inside = batches_inside(ledger.building, drum)
    missing = {f"to-{batch.uid}": _("Where does this lot go?") for batch in inside if batch.uid not in answers}
    if missing:
        raise Refused(missing)
    for batch in inside:
        if batch.stage == Stage.FILLING:
            go_to(
                ledger, batch, Stage.COMPOSTING, person=person, via=via, at=now, cause=StageChange.Cause.RETIRED,
                uid=uuid5(told.uid, f"closed {batch.uid}"),
            )  # fmt: skip
        if answers[batch.uid] == STAYS:
            continue
        place = Place.objects.within(ledger.building).get(uid=answers[batch.uid])
        try:
            put(
                ledger, batch, place, uid=uuid5(told.uid, f"moved {batch.uid}"), print_="", person=person, via=via,
                now=now,
            )  # fmt: skip
        except Refused as refused:
            raise Refused({f"to-{batch.uid}": refused.errors["to"]}) from None


def _lend_households(building: Building, drum: Drum, answer: str) -> Drum | None:
    """Give the drum's households another one, and remember which is theirs."""
    if answer in (NOBODY, AGAIN):
        return None
    other: Drum | None = Drum.objects.within(building).filter(uid=answer, state=Drum.State.IN_SERVICE).first()
    if other is None or other.pk == drum.pk:
        raise Refused({"households": _("That drum is not in use. Nothing was changed.")})
    theirs = Assignment.objects.within(building).filter(drum=drum)
    theirs.filter(usual_drum__isnull=True).update(usual_drum=drum)
    theirs.update(drum=other)
    return other
