"""Looking round the invented block. The page exists only while the database carries the demo mark."""

from dataclasses import dataclass
from typing import Any

from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from households.models import Account, Person, Role
from households.tenancy import as_account, inside


@dataclass(frozen=True)
class Guise:
    """One invented person whom a guest can be."""

    email: str
    name: str
    household: str
    building: str
    roles: tuple[Any, ...]


@require_http_methods(["GET", "POST"])
def demo(request: HttpRequest) -> HttpResponse:
    accounts = Account.objects.filter(is_demo=True, is_active=True).order_by("pk")
    if request.method == "POST":
        account = accounts.filter(email=request.POST.get("email", "").replace("\0", "")).first()
        if account is None:
            raise Http404
        login(request, account, backend="allauth.account.auth_backends.AuthenticationBackend")
        return HttpResponseRedirect(reverse("home"))
    guises = [guise for account in accounts for guise in _guises(account)]
    if not guises:
        raise Http404
    return render(request, "pages/demo.html", {"guises": guises})


def _guises(account: Account) -> list[Guise]:
    """Who the account is in each of its buildings, read through that building's own door."""
    with as_account(account):
        uids = list(Person.objects.filter(account=account).values_list("building__uid", flat=True))
    found = []
    for uid in uids:
        with inside(uid) as building:
            person = Person.objects.within(building).select_related("household").get(account=account)
            held = Role.objects.within(building).filter(person=person).held_on(building.local(timezone.now()).date())
            roles = tuple(role.get_kind_display() for role in held.order_by("kind"))
            household = person.household.label if person.household else ""
            found.append(Guise(account.email, person.name, household, building.name, roles))
    return found
