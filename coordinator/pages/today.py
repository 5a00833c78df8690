"""The caretaker's list: what needs a person first, then one visit form a drum."""

from collections import defaultdict
from collections.abc import Iterable, Sized
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.care.due import most_telling_of, work_due
from bins.care.visit import CareVisit, record_visit
from bins.decisions.settle import BACK, TAKE_OUT, Settled, confirm, decline
from bins.hatch import drum_states
from bins.intake.wrong_hatch import lately
from bins.intake.wrong_items import record_wrong_item
from bins.models import Batch, Decision, Drum, ToldSymptom, Visit
from bins.process.asking import Wanted
from bins.process.most_telling import Telling
from bins.process.proposal import Reason, Rule
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..trouble_words import shown
from ..words import MOST_TELLING, TESTS, WANTED, why
from .cases import case_tasks
from .duties_now import duties_now
from .harvest import harvests_now
from .mix_tasks import mix_tasks
from .permits import near_limits
from .visit_form import raw_visit, visit_form
from .wrong_items import of_visit, say


def show(request: HttpRequest, here: Here) -> HttpResponse:
    return _list(request, here, {}, {}, 200)


def add_visit(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        told = CareVisit.from_raw(raw_visit(values, here.building))
        wrong_item = of_visit(values)
        who: dict[str, Any] = {"person": here.actor.person, "via": LedgerRow.Via.WEB, "now": here.now}
        with transaction.atomic():  # the visit and what was found on it, or neither
            recorded = record_visit(building=here.building, told=told, **who)
            if wrong_item is not None:
                record_wrong_item(building=here.building, told=wrong_item, **who)
    except Refused as refused:
        return _list(request, here, values, refused.errors, 422)
    except Drum.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This visit was already sent with other values. The first one was kept as it is.")
        return _list(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("The visit is written down."))
    if wrong_item is not None:
        say(request, wrong_item.is_dangerous)
    ill = ToldSymptom.objects.within(here.building).filter(visit=recorded.row).select_related("batch").first()
    if ill is not None:
        return HttpResponseRedirect(reverse("trouble", args=[here.building.uid, ill.batch.uid]))
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def answer(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """ "Tag moved", yes or no to a proposal; of fresh scraps in a finished batch, which of two ways."""
    given = request.POST.get("answer", "")
    try:
        if given == "no":
            settled = decline(building=here.building, uid=uid, person=here.actor.person, now=here.now)
        else:
            settled = confirm(
                building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now,
                choice=given if given in (TAKE_OUT, BACK) else "",
            )  # fmt: skip
    except Decision.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, " ".join(refused.errors.values()))
        return HttpResponseRedirect(reverse("today", args=[here.building.uid]))
    messages.info(request, told(settled))
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def told(settled: Settled) -> str:
    """What came of an answer, in one sentence."""
    match settled.decision.state:
        case Decision.State.APPLIED if settled.decision.next_place is not None:
            mark = settled.decision.next_place.letter
            return _("Hatch %(mark)s is open now, and the pages say so.") % {"mark": mark}
        case Decision.State.APPLIED:
            return _("Done. The record has it.")
        case Decision.State.DECLINED:
            return _("Left as it is. It is asked again when new measurements say so.")
        case _ if settled.instead is not None:
            return _("Things have changed since. Nothing was done; please look at the new question below.")
        case _:
            return _("Things have changed since, and this is no longer needed. Nothing was done.")


def _list(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    states = drum_states(here.building)
    work = work_due(here.building, here.now)
    decisions = (
        Decision.objects.within(here.building)
        .proposed()
        .select_related("batch__drum__site", "batch__place", "next_place")
        .order_by("made_at", "pk")
    )
    batches: defaultdict[int, list[Batch]] = defaultdict(list)
    live = Batch.objects.within(here.building).live().select_related("place", "drum")
    for batch in live.order_by("opened_at", "pk"):
        batches[batch.drum_id].append(batch)
    drums = [visit_form(state, work[state.drum.uid], batches[state.drum.pk], values, errors) for state in states]
    drums.sort(key=lambda one: (not one["errors"], one["is_quiet"]))  # a form to mend, then what is due
    folds = len(drums) > 1  # a single form is what the page is for
    # What is felt and smelt beats what the books add up: a lot in trouble has its remedy, and no second amount.
    in_trouble = frozenset(one.batch_id for one in decisions if one.rule == Rule.TROUBLE)
    mix = mix_tasks(here, states, without=in_trouble)
    # A lot gets what it lacks while its hatch is still open: once the tag is moved, nobody adds to it.
    lacks = {one.task.batch.pk: one.says for one in mix.corrections}
    todo, cases, duties, harvests = chores(drums), case_tasks(here), duties_now(here), harvests_now(here)
    waiting: list[Sized] = [
        decisions,
        todo,
        cases,
        mix.corrections,
        mix.stores,
        mix.pails,
        harvests["finished"],
        harvests["unshared"],
        duties["to_tell"],
        duties["short"],
        duties["waiting"],
        duties["wanting"][:1],
    ]
    return render(
        request,
        "pages/today.html",
        {
            "tasks": [
                {
                    "decision": decision,
                    "why": why(decision),
                    "moves_tag": decision.rule == Rule.CLOSE and decision.next_place is not None,
                    "shuts_site": decision.rule == Rule.CLOSE and decision.next_place is None,
                    "first": lacks.get(decision.batch_id, "") if decision.rule == Rule.CLOSE else "",
                    "has_two_ways": decision.reason == Reason.FRESH_WHILE_READY,
                    "trouble": shown(decision, here.building),
                }
                for decision in tag_first(decisions)
            ],
            "chores": todo,
            "more": sum(map(len, waiting)) - 1,  # besides the one that the answer names
            "telling": telling(most_telling_of(work.values())),
            "wrong_hatches": lately(here.building, here.now),
            "mix": mix,
            "harvests": harvests,
            "near_limits": near_limits(here),
            "drums": [drum | {"is_folded": folds and drum["is_quiet"]} for drum in drums],
            "cases": cases,
            "duties": duties,
            "errors": errors,
            "next_on": min((one.next_on for one in work.values() if one.next_on), default=None),
            "troubles": Visit.Trouble.choices,
        },
        status=status,
    )


def telling(found: tuple[Batch, Telling] | None) -> dict[str, Any] | None:
    """The one measurement that would decide most this week, in words."""
    if found is None:
        return None
    batch, best = found
    deed, reason = MOST_TELLING[best.what]
    is_test = best.what in (Wanted.FLASK_TEST, Wanted.MATURITY_TEST)
    return {"batch": batch, "deed": deed, "reason": str(reason) % {"days": best.days}, "is_test": is_test}


def tag_first(decisions: Iterable[Decision]) -> list[Decision]:
    """What decides where scraps go comes first: until the tag is moved, the pages send people to the old hatch."""
    return sorted(decisions, key=lambda one: (one.rule != Rule.CLOSE, one.next_place is None))


def chores(drums: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What is due at the drums besides the questions of the rules, the soonest done first."""
    found: list[dict[str, Any]] = []
    for drum in drums:
        state, work = drum["state"], drum["work"]
        if work.to_open:
            found.append({"kind": "open", "state": state, "places": [(place, uuid4()) for place in work.to_open]})
        for turn in work.turning:
            found.append({"kind": "turn", "state": state, "place": turn.place, "ago": turn.days_ago, "uid": uuid4()})
        for running in work.running:
            if running.is_due:
                found.append({"kind": "read", "state": state, "test": running.test, "word": TESTS[running.test.kind]})
        for batch, wanted in work.asked:
            if wanted is Wanted.MATURITY_TEST:
                found.append({"kind": "begin", "state": state, "batch": batch, "why": WANTED[wanted]})
    return found


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add_visit(request, here) if request.method == "POST" else show(request, here)
