"""A share in one sentence, for the page and for the message that tells of it."""

import datetime as dt
from collections.abc import Iterable

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, override

from bins.models import Share, Split
from bins.models.harvest import TUB
from households.models import Building, Household, Notice, Person
from households.quiet import due_by_day

KIND = "share"
TENTH = TUB // 10


def tubs(millionths: int) -> str:
    """An amount in tubs with one decimal, in the reader's way of writing numbers: 4400000 -> "4.4"."""
    return str(number_format(_tenths(millionths) / 10, 1))


def sentence(share: Share) -> str:
    """What a household was due, gets, and is owed or ahead after it."""
    if share.to_garden:
        return _("Your share goes to the beds, as you chose.")
    if share.to_neighbours:
        return _("Your share goes to your neighbours, as you chose.")
    due = _tenths(share.owed_millionths)
    carried = due - share.tubs * 10  # from the rounded figure, so that the sentence adds up
    figures = {
        "due": number_format(due / 10, 1),
        "tubs": number_format(share.tubs, 0),
        "carried": number_format(abs(carried) / 10, 1),
    }
    if due <= 0:
        return _("Nothing falls to you this time: you are %(carried)s tubs ahead from before.") % figures
    if share.tubs == 0:
        return _("You were due %(due)s tubs. That is less than you can fetch, so it is carried to the next time.") % (
            figures
        )
    if carried > 0:
        return _("You were due %(due)s tubs, get %(tubs)s, %(carried)s is carried.") % figures
    if carried < 0:
        return _("You were due %(due)s tubs and get %(tubs)s. The %(carried)s more comes off next time.") % figures
    return ngettext(
        "You were due %(tubs)s tub and get it.", "You were due %(tubs)s tubs and get them.", share.tubs
    ) % figures  # fmt: skip


def tell(building: Building, split: Split, shares: Iterable[tuple[Household, Share]], now: dt.datetime) -> None:
    """One message to each person with an account whose household has a part in the split, by day."""
    by_household = {household.pk: share for household, share in shares if not (share.to_garden or share.to_neighbours)}
    people = (
        Person.objects.within(building)
        .filter(household__in=by_household, account__is_active=True)
        .select_related("account")
        .order_by("pk")
    )
    due_at = due_by_day(building, now)
    for person in people:
        assert person.account is not None
        assert person.household_id is not None
        share = by_household[person.household_id]
        with override(person.account.language):
            Notice.post(
                building=building,
                kind=KIND,
                to=person.account.email,
                subject=_("Your share of the compost"),
                body="\n\n".join([sentence(share), *([_fetch(split)] if share.tubs else [])]),
                due_at=due_at,
            )


def _fetch(split: Split) -> str:
    return _(
        "Fetch it from %(first)s to %(last)s, here: %(where)s\n\nWhat nobody has fetched by then goes to the beds."
    ) % {
        "first": date_format(split.pick_up_on),
        "last": date_format(split.pick_up_until),
        "where": split.pick_up_where,
    }


def _tenths(millionths: int) -> int:
    """To the nearest tenth of a tub, a half upwards."""
    return (2 * millionths + TENTH) // (2 * TENTH)
