"""A drop-off was written down wrongly: the old row is reversed and the right one stands beside it, in one step."""

import datetime as dt
from dataclasses import asdict, replace

from django.utils.translation import gettext as _

from bins.intake.dropoff import DropOff, Recorded, add_drop_off, reverse
from bins.models import Contribution, ContributionAttribution
from bins.records import Refused
from households.ledger import Times, already, fingerprint, open_ledger, times
from households.models import Building, Person

# Chosen: two weeks after it was written down people still know. What is older the month's page has summed up.
WITHIN = dt.timedelta(days=14)


def may_correct(row: Contribution, now: dt.datetime) -> bool:
    """Whether a drop-off is young enough, by the time it was written down."""
    return now - row.heard_at <= WITHIN


def corrected_by(building: Building, reversal: Contribution) -> Contribution | None:
    """The true row that a correction wrote beside a reversal; None where the drop-off was only taken back.

    Both are written in one step: the next number of the books, heard at the same instant. One query.
    """
    right: Contribution | None = (
        Contribution.objects.within(building)
        .filter(ledger_number=reversal.ledger_number + 1, heard_at=reversal.heard_at, reverses__isnull=True)
        .first()
    )
    return right


def correct_drop_off(
    *, building: Building, row: Contribution, told: DropOff, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Take a drop-off back and write it down as it was, under a uid of its own; once a uid.

    Without a time told it happened when the first row says, and without a pail told it was that row's pail. It
    stays the same household's. Raises UidReused, Drum.DoesNotExist, and Refused for a drop-off that was taken
    back already or is too old.
    """
    print_ = fingerprint(asdict(told) | {"corrects": row.uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Contribution, building, told.uid, print_):
            return Recorded(known, is_new=False)
        if row.reverses_id is not None or Contribution.objects.within(building).filter(reverses=row).exists():
            raise Refused({"row": _("This drop-off was taken back already. Nothing was changed.")})
        if not may_correct(row, now):
            raise Refused({"row": _("This drop-off is more than 14 days old. Tell the person in charge.")})
        if told.happened_at is None:
            when = Times(row.happened_at, now, row.counts_at, row.doubt)
        else:
            when = times(told.happened_at, now)
        if told.pail_uid is None and row.pail is not None and row.drum.uid == told.drum_uid:
            told = replace(told, pail_uid=row.pail.uid)
        if told.place_uid is None and row.place is not None and row.drum.uid == told.drum_uid:
            told = replace(told, place_uid=row.place.uid)
        theirs = ContributionAttribution.objects.within(building).filter(row=row).select_related("household").first()
        household = theirs.household if theirs else None
        reverse(ledger, row, person=person, via=via, now=now)
        right = add_drop_off(ledger, told, household=household, person=person, via=via, when=when, print_=print_)
    return Recorded(right, is_new=True)
