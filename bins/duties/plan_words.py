"""Whoever has other duties after a plan was made again is told so, by day."""

import datetime as dt
from collections.abc import Sequence
from uuid import uuid4

from django.utils.translation import gettext as _
from django.utils.translation import override

from households.models import Building, Household, Job, Notice, Person
from households.quiet import due_by_day


def tell_changed(building: Building, households: Sequence[Household], now: dt.datetime) -> None:
    """One letter for each person with an account; three statements however many."""
    if not households:
        return
    people = (
        Person.objects.within(building)
        .filter(household__in=households, account__is_active=True)
        .select_related("account")
        .order_by("pk")
    )
    due_at = due_by_day(building, now)
    notices = []
    for person in people:
        assert person.account is not None
        with override(person.account.language):
            notices.append(
                Notice(
                    building=building,
                    uid=uuid4(),
                    kind="duties-changed",
                    to=person.account.email,
                    subject=_("Your duties have changed"),
                    body=_(
                        "The plan was made again, and some of your days are others now. Please look at your duties."
                    ),
                    created_at=due_at,
                )
            )
    Notice.objects.bulk_create(notices)
    wakes: dict[str, dt.datetime] = {str(notice.uid): due_at for notice in notices}
    Job.plan_all(building, "deliver", wakes)
