"""A household's own share: what it was due, what it gets, where to fetch it; what it gives away or asks for."""

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.harvests.outgoing import Gift, record_gift
from bins.harvests.part_taken import PartTaken, part_taken
from bins.harvests.requests import Asked, ask, askable
from bins.harvests.share_words import sentence
from bins.harvests.sharing import fetched, given_away, of_household
from bins.models import Batch, Outgoing, Share
from bins.models.harvest import TUB
from bins.records import Refused
from households.giving import Wish, choose_gift
from households.ledger import UidReused
from households.models import Household, LedgerRow

from ..doors import Here
from .amounts import exact_volume, volume, weight
from .tubs import tubs, tubs_said


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return choose(request, here) if request.method == "POST" else show(request, here)


def own_household(here: Here) -> Household:
    person = here.actor.person
    if person is None or person.household is None:
        raise Http404
    return person.household


def show(request: HttpRequest, here: Here) -> HttpResponse:
    return _page(request, here, {}, {}, 200)


def choose(request: HttpRequest, here: Here) -> HttpResponse:
    person = here.actor.person
    assert person is not None  # the rule asks for a resident
    household = own_household(here)
    try:
        wish = Wish(request.POST.get("wish", ""))
    except ValueError:
        return _page(request, here, {}, {"wish": ""}, 422)  # the page has three buttons and no other word
    choose_gift(building=here.building, household=household, wish=wish, by=person, now=here.now)
    said = {
        Wish.GARDEN: _("Your next shares go to the beds. Thank you."),
        Wish.NEIGHBOURS: _("Your next shares go to your neighbours. Thank you."),
        Wish.KEEP: _("Your next shares are yours to fetch again."),
    }
    messages.success(request, said[wish])
    return _back(here)


def give(request: HttpRequest, here: Here) -> HttpResponse:
    """Give tubs of the share that waits to the beds, or to neighbours."""
    values = request.POST.dict()
    try:
        record_gift(
            building=here.building,
            household=own_household(here),
            told=Gift.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Share.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _page(
            request, here, {"gift": values}, {f"gift_{name}": said for name, said in refused.errors.items()}, 422
        )
    except UidReused:
        return _page(request, here, {}, {"uid": _sent_before()}, 422)
    messages.success(request, _("Written down as given away. Thank you."))
    return _back(here)


def ask_for(request: HttpRequest, here: Here) -> HttpResponse:
    """Ask for tubs of a lot whose rule goes by requests."""
    values = request.POST.dict()
    try:
        ask(
            building=here.building,
            household=own_household(here),
            told=Asked.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Batch.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _page(
            request, here, {"ask": values}, {f"ask_{name}": said for name, said in refused.errors.items()}, 422
        )
    except UidReused:
        return _page(request, here, {}, {"uid": _sent_before()}, 422)
    messages.success(request, _("Written down. You can change it until the lot is shared out."))
    return _back(here)


def _back(here: Here) -> HttpResponse:
    return HttpResponseRedirect(reverse("share", args=[here.building.uid]))


def _sent_before() -> str:
    return _("This form was already sent with other values. What was sent first was kept as it is.")


def _page(
    request: HttpRequest, here: Here, values: dict[str, dict[str, str]], errors: dict[str, str], status: int
) -> HttpResponse:
    household = own_household(here)
    shares = of_household(here.building, household)
    went, gave = fetched(here.building, shares), given_away(here.building, shares)
    found = [_said(here, share, went.get(share.pk, 0), gave.get(share.pk, 0)) for share in shares]
    asked = values.get("ask", {})
    return render(
        request,
        "pages/share.html",
        {
            "household": household,
            "newest": found[0] if found else None,
            "older": found[1:],
            "part": _did(here, part_taken(here.building, shares[0].split.harvest, household)) if shares else None,
            "wish": Wish.of(household).value,
            "errors": errors,
            "gift": {"uid": str(uuid4())} | values.get("gift", {}),
            "gift_to": [(to, label) for to, label in Outgoing.To.choices if to],
            "lots": [
                {
                    "lot": one.batch,
                    "tubs": one.tubs,
                    "uid": (is_this and asked.get("uid")) or str(uuid4()),
                    "value": asked.get("tubs", "") if is_this else "" if one.tubs is None else one.tubs,
                    "error": errors.get("ask_tubs") or errors.get("ask_batch") or "" if is_this else "",
                }
                for one in askable(here.building, household)
                for is_this in [asked.get("batch") == str(one.batch.uid)]
            ],
        },
        status=status,
    )


def _did(here: Here, part: PartTaken) -> dict[str, Any]:
    """What the household did for the lot, in its own words: only what there was."""
    did = []
    if part.drop_offs:
        drop_offs = ngettext("%(n)s drop-off", "%(n)s drop-offs", part.drop_offs) % {"n": part.drop_offs}
        did.append(f"{drop_offs} ({weight(part.scraps_g, here.building)})")
    if part.care_minutes:
        minutes = ngettext("%(n)s set minute of care work", "%(n)s set minutes of care work", part.care_minutes)
        did.append(minutes % {"n": part.care_minutes})
    if part.browns_ml:
        did.append(_("%(volume)s of browns brought") % {"volume": exact_volume(part.browns_ml, here.building)})
    return {"takes_part": part.takes_part, "did": did}


def _said(here: Here, share: Share, given: int, gift: int) -> dict[str, Any]:
    split = share.split
    return {
        "share": share,
        "split": split,
        "harvest": split.harvest,
        "says": sentence(share),
        "litres": volume(share.tubs * split.harvest.tub_ml, here.building),
        "given": tubs(given) if given else "",
        "gift": tubs(gift) if gift else "",
        "all_fetched": share.tubs > 0 and given >= share.tubs * TUB,
        "fetched_said": tubs_said(given),
        "is_over": here.today > split.pick_up_until,
        "is_open": share.tubs * TUB > given + gift and here.today <= split.pick_up_until,
    }
