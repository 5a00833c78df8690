"""A batch is thrown out: why, how much, where to; and those who brought to it are told once."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.care.fullness import tell_residents
from bins.care.lineage import family
from bins.care.movements import write_movement
from bins.care.stages import go_to
from bins.models import Batch, ContributionAttribution, Movement, StageChange
from bins.process.stage import Stage
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger
from households.models import Building, Notice, Person
from households.quiet import due_by_day


@dataclass(frozen=True)
class Discard:
    uid: UUID
    batch_uid: UUID
    reason: str
    litres: int
    destination: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values; litres: 0 to 5000."""
        reader = Reader(raw)
        litres = reader.litres("litres", 0, 5000)
        if litres is None and "litres" not in reader.errors:
            reader.errors["litres"] = reader.in_units(
                _("About how many litres was it?"), _("About how many gallons was it?")
            )
        told = cls(
            uid=reader.uid(),
            batch_uid=reader.uid("batch"),
            reason=reader.words("reason", 300, _("What is the reason?")),
            litres=litres or 0,
            destination=reader.words("destination", 200, _("Where did it go?")),
        )
        reader.finish()
        return told


def discard(*, building: Building, told: Discard, person: Person | None, via: str, now: dt.datetime) -> Movement:
    """Write down that a batch was thrown out, and tell its contributors who can be reached. Once a uid.

    Raises Batch.DoesNotExist for a batch of another building, Refused for one that is gone already.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Movement, building, told.uid, print_):
            return known
        batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=told.batch_uid)
        if batch.place is None:
            raise Refused({"batch": _("This lot is no longer anywhere. Nothing was changed.")})
        row = write_movement(
            ledger, batch, Movement.Kind.DISCARDED, uid=told.uid, print_=print_, person=person, via=via, at=now,
            millilitres=told.litres * 1000, destination=told.destination, reason=told.reason,
        )  # fmt: skip
        go_to(
            ledger, batch, Stage.DISCARDED, person=person, via=via, at=now, cause=StageChange.Cause.DISCARDED,
            reason=told.reason, uid=uuid5(told.uid, "discarded"),
        )  # fmt: skip
        _tell_contributors(ledger, batch, told.reason, now)
        tell_residents(ledger, batch.drum.site, now)
    return row


def _tell_contributors(ledger: Ledger, batch: Batch, reason: str, now: dt.datetime) -> None:
    """One message each to those with an account whose household brought something that stands."""
    building = ledger.building
    households = ContributionAttribution.objects.within(building).filter(
        row__batch__in=family(building, batch), row__reverses__isnull=True, row__reversed_by__isnull=True
    )
    people = (
        Person.objects.within(building)
        .filter(household__in=households.values("household"), account__is_active=True)
        .select_related("account")
        .order_by("pk")
    )
    due_at = due_by_day(building, now)
    for person in people:
        assert person.account is not None
        with override(person.account.language):
            subject = _("A lot you brought scraps to was thrown out")
            body = _(
                "The lot that began on %(day)s in drum %(number)s was thrown out. The reason given: %(reason)s\n\n"
                "What you brought still counts in the figures of your house. No share comes from this lot."
            ) % {
                "day": building.local(batch.opened_at).date().isoformat(),
                "number": batch.drum.number,
                "reason": reason,
            }
        Notice.post(
            building=building,
            kind="thrown-out",
            to=person.account.email,
            subject=subject,
            body=body,
            due_at=due_at,
        )
