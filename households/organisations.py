"""Housing organisations: who acts for one, and which buildings it looks after."""

import datetime as dt

from django.db.models import Q, QuerySet

from .models import Account, Audit, Building, Organisation, OrganisationRole


def held_on(account: Account, day: dt.date) -> "QuerySet[OrganisationRole]":
    """The account's roles on a day, by the organisation's name."""
    ends = Q(ends_on__isnull=True) | Q(ends_on__gte=day)
    roles = OrganisationRole.objects.filter(ends, account=account, starts_on__lte=day)
    return roles.select_related("organisation").order_by("organisation__name", "pk")


def acts_for(account: Account, organisation_id: int | None, day: dt.date) -> bool:
    """Whether somebody acts for an organisation on a day; for none, nobody does."""
    return organisation_id is not None and held_on(account, day).filter(organisation=organisation_id).exists()


def appoint(organisation: Organisation, account: Account, on: dt.date) -> OrganisationRole:
    """Let an account act for an organisation from a day on; who does so already goes on."""
    known = held_on(account, on).filter(organisation=organisation).first()
    if known is not None:
        return known
    return OrganisationRole.objects.create(account=account, organisation=organisation, starts_on=on)


def take_on(building: Building, organisation: Organisation | None, now: dt.datetime) -> None:
    """Put a building into an organisation's care, or take it out. Its own record says so. Call inside it."""
    building.organisation = organisation
    building.save(update_fields=["organisation"])
    what = "organisation-joined" if organisation else "organisation-left"
    Audit.note(building, None, what, now, organisation=str(organisation.uid) if organisation else "")
