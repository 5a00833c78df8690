"""The rules' questions that wait for the committee: all but those that whoever stands at the drum answers.

The tag is moved, and a trouble mended, by whoever is there.
"""

import datetime as dt
from uuid import UUID, uuid5

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from bins.committee.deciding import About, write_decision
from bins.committee.ways import refuse_others
from bins.models import Decision
from bins.process.proposal import Rule
from bins.records import Refused
from households.ledger import Ledger
from households.models import Building, Person, Site

AT_THE_DRUM = (Rule.CLOSE, Rule.TROUBLE)


def is_committees(decision: Decision) -> bool:
    """Whether a question is the committee's. Needs the batch's drum and site."""
    return decision.rule not in AT_THE_DRUM and decision.batch.drum.site.decides == Site.Decides.COMMITTEE


def committee_questions(building: Building) -> "QuerySet[Decision]":
    """Open questions that wait for the committee, oldest first."""
    found: QuerySet[Decision] = (
        Decision.objects.within(building)
        .proposed()
        .exclude(rule__in=AT_THE_DRUM)
        .filter(batch__drum__site__decides=Site.Decides.COMMITTEE)
        .select_related("batch__drum__site", "batch__place", "next_place")
        .order_by("made_at", "pk")
    )
    return found


def refuse_another(building: Building, decision: Decision, person: Person | None, now: dt.datetime) -> None:
    """Refused where a question waits for the committee and `person` isn't on it today."""
    if is_committees(decision):
        refuse_others(building, decision.batch.drum.site, person, now, "answer")


def refuse_what_is_not_theirs(building: Building, uid: UUID) -> None:
    """Refused for a question that doesn't wait for the committee; Decision.DoesNotExist for none of this building."""
    decision = Decision.objects.within(building).select_related("batch__drum__site").get(uid=uid)
    if not is_committees(decision):
        raise Refused({"answer": _("The super decides this here. Nothing was changed.")})


def note_answer(
    ledger: Ledger, decision: Decision, answer: str, *, person: Person | None, via: str, now: dt.datetime, why: str
) -> None:
    """Write the committee's answer down as a decision; nothing where the question isn't theirs."""
    if is_committees(decision):
        batch = decision.batch
        write_decision(
            ledger, about=About.STAGE, by=person, via=via, now=now, uid=uuid5(decision.uid, f"answered {answer}"),
            site=batch.drum.site, why=why[:300],
            figures={
                "drum": batch.drum.number, "batch": str(batch.uid), "rule": decision.rule,
                "to_stage": decision.to_stage, "answer": answer,
            },
        )  # fmt: skip
