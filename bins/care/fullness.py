"""Telling residents once when a site has nothing open any more, and once when it has again."""

import datetime as dt
from uuid import uuid5

from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.models import Batch, Drum, SiteRules
from bins.process.stage import Stage
from bins.slots.moving import settle_slots
from households.ledger import Ledger
from households.models import Building, Notice, Person, Reminder, Role, Site
from households.quiet import due_by_day


def is_full(building: Building, site: Site) -> bool:
    """Whether no hatch of the site takes scraps."""
    return not (
        Batch.objects.within(building)
        .filter(drum__site=site, drum__state=Drum.State.IN_SERVICE, stage=Stage.FILLING, place__is_quarantined=False)
        .exists()
    )


def tell_residents(ledger: Ledger, site: Site, now: dt.datetime) -> None:
    """Write to the site's residents if it became full or opened again since they were told last.

    Call at the end of whatever may have changed that, inside its transaction. News that turned round before it
    was sent (a hatch shut and opened again by night) is taken back, and nobody is told anything. Whoever is booked
    in the next days hears it with what becomes of that time, and not a second time.
    """
    building = ledger.building
    settle_slots(building, now)
    rules, _made = SiteRules.objects.get_or_create(building=building, site=site)
    full = is_full(building, site)
    if full == rules.is_told_full:
        return
    rules.is_told_full = full
    rules.save(update_fields=["is_told_full"])
    kinds = {True: f"full:{site.uid.hex}", False: f"open:{site.uid.hex}"}
    taken_back, _each = Notice.objects.filter(building=building, kind=kinds[not full], sent_at__isnull=True).delete()
    if taken_back:
        return
    due_at = due_by_day(building, now)
    told = _told_with_their_slot(building, now)
    for person in residents(building, site, now):
        if person.household_id in told and person.channel != Person.Channel.NONE:
            continue
        assert person.account is not None
        with override(person.account.language):
            subject, body = _words(site, full)
        # What caused this raised the number of the books: a job that runs again writes the same letters, not more.
        uid = uuid5(site.uid, f"{kinds[full]} {building.ledger_number} {person.uid}")
        Notice.post(
            building=building,
            kind=kinds[full],
            to=person.account.email,
            subject=subject,
            body=body,
            due_at=due_at,
            uid=uid,
        )


def residents(building: Building, site: Site, now: dt.datetime) -> list[Person]:
    """Who lives here today, uses a drum of the site and has an account; with the account, in a fixed order."""
    today = building.local(now).date()
    held = Role.objects.within(building).filter(kind=Role.Kind.RESIDENT).held_on(today)
    return list(
        Person.objects.within(building)
        .filter(
            pk__in=held.values("person"),
            account__is_active=True,
            household__assignment__drum__site=site,
        )
        .select_related("account")
        .order_by("pk")
    )


def _told_with_their_slot(building: Building, now: dt.datetime) -> set[int]:
    """Households that are about to hear of their own slot that it is off, or on again."""
    news = Reminder.objects.within(building).filter(
        kind__in=[Reminder.Kind.OFF, Reminder.Kind.AGAIN], sent_at__isnull=True, begins_at__gt=now
    )
    return set(news.values_list("household", flat=True))


def _words(site: Site, full: bool) -> tuple[str, str]:
    if full:
        return (
            _("%(site)s: nothing is open now") % {"site": site.name},
            _(
                "The compost inside needs time, so no hatch takes scraps now. Please bring them here until then:\n\n"
                "%(fallback)s\n\nWe write to you when a hatch is open again."
            )
            % {"fallback": site.fallback},
        )
    return (
        _("%(site)s: a hatch is open again") % {"site": site.name},
        _("You can bring scraps to the drums again. Put them into the hatch with the tag."),
    )
