"""A household moves out and is forgotten: amounts stay in the books, whose they were does not."""

import datetime as dt
from collections.abc import Collection

from django.apps import apps
from django.db.models import Q

from .models import (
    Absence,
    Account,
    ApiToken,
    Attribution,
    Audit,
    Booking,
    Building,
    Card,
    DutyEntry,
    FeedKey,
    Household,
    Notice,
    Person,
    Reminder,
    Role,
    Wish,
)
from .tenancy import as_account


def end_stay(building: Building, household: Household, last_day: dt.date) -> None:
    """Set the last day of a household and of its residents' roles. Call with the building locked."""
    household.left_on = last_day
    household.save(update_fields=["left_on"])
    roles = Role.objects.within(building).filter(person__household=household, kind=Role.Kind.RESIDENT)
    roles.filter(starts_on__gt=last_day).delete()
    roles.filter(Q(ends_on__isnull=True) | Q(ends_on__gt=last_day)).update(ends_on=last_day)


def revoke_keys(building: Building, household: Household, now: dt.datetime) -> None:
    """End the household's card, and the API keys of those who have no task in the building.

    Call with the building locked, after the last day.
    """
    today = building.local(now).date()
    Card.objects.within(building).filter(household=household, cancelled_on__isnull=True).update(cancelled_on=today)
    people = _without_a_task(building, household, today)
    ApiToken.objects.within(building).filter(person__in=people, revoked_at__isnull=True).update(revoked_at=now)


def forget(
    building: Building, household: Household, *, of_amounts: Collection[type[Attribution]], by: Person | None,
    now: dt.datetime,
) -> None:  # fmt: skip
    """Delete who a household was. Call with the building locked.

    Its people go, but for those with a task here, who stay as people from elsewhere; accounts go that belong to
    nobody any more. Of the second rows nothing of the household remains; `of_amounts` are those whose household
    says whose an amount is, so that they go even where the writer stays. No amount changes.
    """
    gone = _without_a_task(building, household, building.local(now).date())
    for model in apps.get_models():
        if issubclass(model, Attribution):
            _cut(model, building, household, gone, keeps_writer=model not in of_amounts)
    accounts = [person.account for person in gone if person.account is not None]
    _forget_notices(building, [account.email for account in accounts] + [p.phone for p in gone if p.phone])
    for plans in (Booking, Absence, DutyEntry, Wish, Reminder):
        plans.objects.within(building).filter(household=household).delete()
    FeedKey.objects.within(building).filter(person__household=household).delete()
    Person.objects.within(building).filter(pk__in=[person.pk for person in gone]).delete()
    Person.objects.within(building).filter(household=household).update(household=None)
    for account in accounts:
        _forget_account(account)
    household.label = ""
    household.save(update_fields=["label"])
    still_here = by if by is not None and by.pk not in {person.pk for person in gone} else None
    Audit.note(building, still_here, "household-forgotten", now, household=str(household.uid))


def _without_a_task(building: Building, household: Household, today: dt.date) -> list[Person]:
    """The household's people who hold no other role, today or later."""
    tasks = (
        Role.objects.within(building)
        .exclude(kind=Role.Kind.RESIDENT)
        .filter(Q(ends_on__isnull=True) | Q(ends_on__gte=today))
    )
    people = Person.objects.within(building).filter(household=household).select_related("account")
    return list(people.exclude(pk__in=tasks.values("person")).order_by("pk"))


def _cut(
    model: type[Attribution], building: Building, household: Household, gone: list[Person], *, keeps_writer: bool
) -> None:
    """Delete a kind of second row where it names the household or one of its people.

    Rows can't be changed, so what they say of others is written anew: another household's drop-off that one of
    these people wrote down stays that household's; a visit by somebody who stays keeps its visitor.
    """
    pks = {person.pk for person in gone}
    rows = list(model.objects.within(building).filter(Q(household=household) | Q(person__in=pks)))
    anew = []
    for row in rows:
        is_theirs = row.household_id == household.pk
        other_household = None if is_theirs else row.household_id
        writer = None if row.person_id in pks or (is_theirs and not keeps_writer) else row.person_id
        if other_household or writer:
            values = {field.attname: getattr(row, field.attname) for field in model._meta.concrete_fields}
            del values[model._meta.pk.attname]
            anew.append(model(**values | {"household_id": other_household, "person_id": writer}))
    model.objects.within(building).filter(pk__in=[row.pk for row in rows]).delete()
    model.objects.bulk_create(anew)


def _forget_notices(building: Building, addresses: list[str]) -> None:
    Notice.objects.filter(building=building, to__in=addresses).delete()


def _forget_account(account: Account) -> None:
    """Delete an account that nobody is behind any more, in any building or organisation."""
    with as_account(account):
        is_used = Person.objects.filter(account=account).exists()
    if not is_used and not account.is_demo and not account.organisation_roles.exists():
        account.delete()
