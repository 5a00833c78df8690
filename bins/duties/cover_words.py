"""What the two sides of a cover are told, by day: names only once somebody has accepted."""

import datetime as dt

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import override

from households.models import Building, Cover, Duty, Household, Notice, Person
from households.quiet import due_by_day


def people_to_tell(building: Building, household: Household) -> list[Person]:
    """A household's people with an account, in a fixed order. One query."""
    return list(
        Person.objects.within(building)
        .filter(household=household, account__is_active=True)
        .select_related("account")
        .order_by("pk")
    )


def first_names(building: Building, household: Household) -> str:
    """How a household is called among neighbours who do a duty together: first names, no flat."""
    people = Person.objects.within(building).filter(household=household).order_by("pk").values_list("name", flat=True)
    return ", ".join(name.split()[0] for name in people if name.split()) or _("a neighbour")


def tell_offered(building: Building, cover: Cover, instead: Duty, now: dt.datetime) -> None:
    """Somebody would swap: no name is told yet."""
    for person in people_to_tell(building, cover.household):
        assert person.account is not None
        with override(person.account.language):
            words = {"day": _day(cover.duty), "other": _day(instead)}
            _post(
                building,
                person.account.email,
                "cover-offered",
                _("Somebody would swap with you"),
                _(
                    "Somebody would do your duty on %(day)s if you do theirs on %(other)s. You can say yes on the page "
                    "of your duties."
                )
                % words,
                now,
            )


def tell_taken(building: Building, cover: Cover, household: Household, now: dt.datetime) -> None:
    """Now each side learns the other's first name."""
    for person in people_to_tell(building, cover.household):
        assert person.account is not None
        with override(person.account.language):
            words = {"day": _day(cover.duty), "name": first_names(building, household)}
            _post(
                building,
                person.account.email,
                "cover-taken",
                _("Your duty on %(day)s is taken") % words,
                _("%(name)s does your duty on %(day)s.") % words,
                now,
            )


def _day(duty: Duty) -> str:
    return date_format(duty.day, "DATE_FORMAT")


def _post(building: Building, to: str, kind: str, subject: str, body: str, now: dt.datetime) -> None:
    Notice.post(building=building, kind=kind, to=to, subject=subject, body=body, due_at=due_by_day(building, now))
