"""Setting up one's own building: six short pages of questions, kept as they are answered; then it stands."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.contrib.auth.decorators import login_required
from django.db import IntegrityError, transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from bins.founding.arranging import STEPS
from bins.founding.block import QUESTIONS, About, Block, Contents, InCharge
from bins.founding.founding import found_block
from bins.records import Refused, seen
from households.models import Account, Building, Person, SetupDraft
from households.tenancy import as_account

from ..questions import FIRST, TITLES, Answers, filled, first_groups, first_values, names
from ..region import Region

NO_ERRORS: dict[str, str] = {}
# Chosen: each building has nights, forecasts and letters of its own, and anybody may sign up.
MOST_FOUNDED_A_DAY = 5


@require_GET
@login_required
def setup(request: HttpRequest) -> HttpResponse:
    """Go on where the account stopped, or begin."""
    draft = _draft(_founder(request))
    return HttpResponseRedirect(reverse("setup-step", args=[_next(draft.answers if draft else {})]))


@require_http_methods(["GET", "POST"])
@login_required
def step(request: HttpRequest, step: str) -> HttpResponse:
    """One of the six questions; after the last one missing the building is founded."""
    account = _founder(request)
    if step not in QUESTIONS:
        raise Http404
    draft = _draft(account)
    if request.method == "POST" and (founded := _founded_before(request, account, draft)):
        return founded
    answers: dict[str, Any] = dict(draft.answers) if draft else {}
    if FIRST.index(_next(answers)) < FIRST.index(step):
        return HttpResponseRedirect(reverse("setup-step", args=[_next(answers)]))
    region = Region.of(request.headers.get("Accept-Language", ""))
    uid = draft.uid if draft else uuid4()
    if request.method != "POST":
        values = answers.get(step) or first_values(step, answers, region, get_language() or "en", _name(account))
        return _page(request, step, answers, region, uid, values, NO_ERRORS)
    asked = names(first_groups(step, answers, region))
    values = {name: seen(request.POST[name]) for name in asked if name in request.POST}
    try:
        _check(step, values, answers, account)
    except Refused as refused:
        return _page(request, step, answers, region, uid, values, refused.errors)
    answers[step] = values
    now = timezone.now()
    draft, _made = SetupDraft.objects.update_or_create(
        account=account,
        defaults={"answers": answers, "changed_at": now},
        create_defaults={"uid": _sent_uid(request) or uid, "answers": answers, "changed_at": now},
    )
    if any(name not in answers for name in FIRST):
        return HttpResponseRedirect(reverse("setup-step", args=[_next(answers)]))
    return _found(draft, account, now)


def _founder(request: HttpRequest) -> Account:
    """Any account but a demo one may found a building; it sees nothing of anybody else's."""
    account = request.user
    assert isinstance(account, Account)
    if account.is_demo:
        raise Http404
    return account


def _draft(account: Account) -> SetupDraft | None:
    return SetupDraft.objects.filter(account=account).first()


def _next(answers: Answers) -> str:
    """The first question without an answer; the last one where all have theirs."""
    return next((name for name in FIRST if name not in answers), FIRST[-1])


def _name(account: Account) -> str:
    """A guess at a name from the address, to be mended."""
    return account.email.partition("@")[0].replace(".", " ").title()[:80]


def _sent_uid(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("uid", ""))
    except ValueError:
        return None


def _founded_before(request: HttpRequest, account: Account, draft: SetupDraft | None) -> HttpResponse | None:
    """A form gone back to after its building stands: nothing is asked twice."""
    uid = _sent_uid(request)
    if uid is None or (draft is not None and draft.uid == uid):
        return None
    with as_account(account):
        stands = Person.objects.filter(account=account, building__uid=uid).exists()
    return HttpResponseRedirect(reverse("arrange", args=[uid])) if stands else None


def _check(step: str, values: dict[str, str], answers: Answers, account: Account) -> None:
    """Refused where an answer can't be right, alone or beside the others."""
    told = QUESTIONS[step].from_raw(values)
    if isinstance(told, Contents):
        zone = About.from_raw(answers["block"]).time_zone
        told.refuse_the_future(Building(time_zone=zone).local(timezone.now()).date())
    if step == FIRST[-1] and _founded_today(account) >= MOST_FOUNDED_A_DAY:
        raise Refused(
            {"fallback": _("Enough blocks were set up with this address today. Your answers wait; come tomorrow.")}
        )
    if isinstance(told, InCharge) and told.second_email == account.email:
        raise Refused({"second_email": _("That is your own address. The second person needs another, or none.")})


def _founded_today(account: Account) -> int:
    """Buildings that the account has founded within a day: its first person, not one whom others added."""
    with as_account(account):
        young = Person.objects.filter(account=account, building__created_at__gt=timezone.now() - dt.timedelta(days=1))
        return sum(uid == uuid5(building, "person 1") for uid, building in young.values_list("uid", "building__uid"))


def _found(draft: SetupDraft, account: Account, now: Any) -> HttpResponse:
    here = HttpResponseRedirect(reverse("arrange", args=[draft.uid]))
    try:
        with transaction.atomic():
            found_block(block=Block.from_answers(draft.uid, draft.answers), email=account.email, now=now)
            draft.delete()
    except IntegrityError:  # sent twice at once: the building of the first time stands
        return here
    return here


def _page(
    request: HttpRequest,
    step: str,
    answers: Answers,
    region: Region,
    uid: UUID,
    values: dict[str, Any],
    errors: dict[str, str],
) -> HttpResponse:
    reached = FIRST.index(_next(answers))
    return render(
        request,
        "pages/setup.html",
        {
            "title": TITLES[step],
            "step": step,
            "uid": uid,
            "groups": filled(first_groups(step, answers, region), values, errors),
            "errors": errors,
            "number": FIRST.index(step) + 1,
            "of": len(FIRST) + len(STEPS),
            "before": len(FIRST),
            "begins": 1,
            "is_last": step == FIRST[-1],
            "address": reverse("setup-step", args=[step]),
            "back": reverse("setup-step", args=[FIRST[FIRST.index(step) - 1]]) if step != FIRST[0] else "",
            "steps": [
                (TITLES[name], url if at <= reached else "", name in answers, name == step)
                for at, name in enumerate(FIRST)
                for url in [reverse("setup-step", args=[name])]
            ],
        },
        status=422 if errors else 200,
    )
