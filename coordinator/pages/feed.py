"""The calendar at a person's secret address. Whoever has the address reads it: no session, but the same walls."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import override

from bins.slots.booking import KEPT_AFTER
from bins.slots.contact import reader_of
from bins.slots.duty_entries import entries_of
from households.models import Booking

from ..access import Actor, As
from ..doors import Here
from ..feed import calendar


def show(request: HttpRequest, here: Here, secret: str) -> HttpResponse:
    """The file; 404 for a secret that opens nothing, or whose person is no resident any more."""
    person = reader_of(here.building, secret)
    household = person.household if person else None
    if person is None or household is None or As.RESIDENT not in Actor.of(person, here.today).capacities:
        raise Http404
    first = here.today - KEPT_AFTER
    bookings = (
        Booking.objects.within(here.building)
        .filter(household=household, begins_at__gte=here.now - KEPT_AFTER)
        .select_related("slot__site")
        .order_by("begins_at", "pk")
    )
    with override(person.account.language if person.account else person.language):
        content = calendar(here.building, bookings, entries_of(here.building, household, first, here.now))
    return HttpResponse(
        content,
        content_type="text/calendar; charset=utf-8",
        headers={"Cache-Control": "private, no-store", "X-Robots-Tag": "noindex, nofollow"},
    )
