"""Who belongs to a building: newcomers, their household, their roles, and whether they can sign in."""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import override

from .cards import give_card
from .ledger import UidReused
from .models import Account, Audit, Building, Household, Notice, Person, Role
from .quiet import due_by_day

WELCOME = "welcome"
MOST_WELCOMES_A_DAY = 50  # chosen: a large block told within two days


@dataclass(frozen=True)
class Newcomer:
    """Somebody who joins. Without an e-mail address they log on paper or through others."""

    name: str
    household: str  # label; empty for somebody who lives elsewhere
    email: str
    roles: tuple[str, ...]
    language: str


def admit_newcomer(
    *, building: Building, newcomer: Newcomer, by: Person | None, now: dt.datetime, uid: UUID | None = None
) -> Person:
    """Add a person with roles from today. A household of that label that lives here is joined, else begun.

    The same uid again gives the person who stands there; UidReused where it is somebody else. An e-mail
    address that is known already is used as it is: one account may be a person in several buildings. Whoever
    was added by somebody else and can sign in is written to, by day.
    """
    today = building.local(now).date()
    with transaction.atomic():
        Building.objects.select_for_update(no_key=True).get(pk=building.pk)
        known: Person | None = Person.objects.within(building).filter(uid=uid).first() if uid else None
        if known is not None:
            if known.name != newcomer.name:
                raise UidReused(known.uid)
            return known
        household = None
        if newcomer.household:
            household, is_new = Household.objects.get_or_create(
                building=building, label=newcomer.household, left_on=None, defaults={"joined_on": today}
            )
            if is_new:
                give_card(building, household, today)
        account = _account(newcomer) if newcomer.email else None
        person: Person | None = Person.objects.within(building).filter(account=account).first() if account else None
        if person is None:
            person = Person.objects.create(
                building=building,
                uid=uid or uuid4(),
                name=newcomer.name,
                household=household,
                account=account,
                language=newcomer.language,
            )
            if account and by:
                _write_to(building, account, by, now)
        for kind in newcomer.roles:
            Role.objects.get_or_create(building=building, person=person, kind=kind, starts_on=today)
        Audit.note(building, by, "person-added", now, whom=str(person.uid), roles=list(newcomer.roles))
    return person


def _account(newcomer: Newcomer) -> Account:
    account = Account.objects.filter(email__iexact=newcomer.email).first()
    return account or Account.objects.create_user(newcomer.email, language=newcomer.language)


def _write_to(building: Building, account: Account, by: Person, now: dt.datetime) -> None:
    """The letter to somebody who was added; past fifty in a day they wait for the next, or any name typed could be
    mailed to half the world by signing up."""
    sent = Notice.objects.filter(building=building, kind=WELCOME, created_at__gt=now - dt.timedelta(days=1)).count()
    waits = dt.timedelta(days=sent // MOST_WELCOMES_A_DAY)
    with override(account.language):
        subject = _("%(building)s: you can use the compost drums' pages") % {"building": building.name}
        body = _(
            "%(name)s added you to the people of the compost drums at %(building)s.\n\nSign in with this e-mail "
            "address; no password is needed.\n%(address)s\n\nIf you don't know what this is about, nothing happens "
            "unless you sign in."
        ) % {"name": by.name, "building": building.name, "address": settings.PUBLIC_URL}
    Notice.post(
        building=building, kind=WELCOME, to=account.email, subject=subject, body=body,
        due_at=due_by_day(building, now + waits),
    )  # fmt: skip
