"""Where the committee decides: whose yes counts, and that each is written down."""

from typing import Any
from uuid import uuid5

import pytest

from bins.care.stepping import Step, say_finished
from bins.committee.questions import committee_questions, refuse_what_is_not_theirs
from bins.committee.ways import Ways, set_ways
from bins.decisions.settle import confirm, decline
from bins.founding.arranging import SiteAnswer, set_answer
from bins.models import Batch, Decision
from bins.records import Refused
from households.models import Building, CommitteeDecision, Person, Role, Site
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

pytestmark = pytest.mark.embedded


def question(here: Building, decides: str, rule: str = "7-fresh-scraps") -> Decision:
    Site.objects.within(here).update(decides=decides)
    decision: Decision = Decision.objects.create(
        building=here, uid=uuid5(here.uid, rule), batch=Batch.objects.within(here).get(), rule=rule, version="days-1",
        from_stage="composting", to_stage="composting", reason="fresh_noted", figures_at=NOW, made_at=NOW,
    )  # fmt: skip
    return decision


@pytest.fixture
def super_(cast: Cast) -> Person:
    """Somebody who is the super and nothing else."""
    return newcomer(cast.building, "Odile", "", "caretaker")


def test_the_super_cannot_say_yes_or_no_where_the_committee_decides(cast: Cast, super_: Person) -> None:
    with inside(cast.building.uid) as here:
        decision = question(here, "committee")
        for answer in (decline, lambda **said: confirm(**said, via="web")):
            with pytest.raises(Refused) as refused:
                answer(building=here, uid=decision.uid, person=super_, now=NOW)
            assert set(refused.value.errors) == {"answer"}
        decision.refresh_from_db()
        assert decision.state == Decision.State.PROPOSED
        assert not CommitteeDecision.objects.within(here).exists()


def test_the_committees_answer_counts_and_is_written_down(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        decision = question(here, "committee")
        assert list(committee_questions(here)) == [decision]
        settled = decline(building=here, uid=decision.uid, person=cast.committee, now=NOW, why="It smells still")
        assert settled.decision.state == Decision.State.DECLINED
        row = CommitteeDecision.objects.within(here).get()
        assert (row.about, row.why, row.figures["answer"]) == ("stage", "It smells still", "no")
        assert [one.person for one in row.attributions.all()] == [cast.committee]
        assert list(committee_questions(here)) == []
        again = decline(building=here, uid=decision.uid, person=cast.committee, now=NOW)
        assert again.decision.state == Decision.State.DECLINED
        assert CommitteeDecision.objects.within(here).count() == 1


def test_where_the_super_decides_the_committee_is_told_so_and_nothing_is_written(cast: Cast, super_: Person) -> None:
    with inside(cast.building.uid) as here:
        decision = question(here, "caretaker")
        assert list(committee_questions(here)) == []
        with pytest.raises(Refused):
            refuse_what_is_not_theirs(here, decision.uid)
        settled = decline(building=here, uid=decision.uid, person=super_, now=NOW)
        assert settled.decision.state == Decision.State.DECLINED
        assert not CommitteeDecision.objects.within(here).exists()


def test_the_tag_is_moved_by_whoever_stands_there(cast: Cast, super_: Person) -> None:
    with inside(cast.building.uid) as here:
        decision = question(here, "committee", rule="2-close")
        assert list(committee_questions(here)) == []
        assert decline(building=here, uid=decision.uid, person=super_, now=NOW).decision.state == "declined"


def test_nor_is_a_lot_called_finished_past_the_committee(cast: Cast, super_: Person) -> None:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(decides="committee")
        batch = Batch.objects.within(here).get()
        batch.stage, batch.closed_at = "curing", NOW
        batch.save(update_fields=["stage", "closed_at"])
        told = Step.from_raw({"uid": uuid5(here.uid, "step"), "batch": batch.uid, "reason": "It looks done"})
        with pytest.raises(Refused):
            say_finished(building=here, told=told, person=super_, via="web", now=NOW)
        assert say_finished(building=here, told=told, person=cast.caretaker, via="web", now=NOW).to_stage == "ready"


def ways(here: Building, **raw: Any) -> Ways:
    site = Site.objects.within(here).get()
    usual = {"uid": uuid5(here.uid, "ways"), "site": site.uid, "opening": "open", "decides": "committee"}
    return Ways.from_raw(usual | {"why": "So we agreed"} | raw)


def test_a_decision_is_written_for_each_that_changes_and_for_nothing_else(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for _ in range(2):
            set_ways(building=here, told=ways(here), by=cast.committee, via="web", now=NOW)
        assert Site.objects.within(here).get().decides == "committee"
        rows = CommitteeDecision.objects.within(here)
        assert [(row.about, row.figures, row.why) for row in rows] == [
            ("decides", {"decides": "committee"}, "So we agreed")
        ]


def test_what_the_committee_keeps_to_itself_the_set_up_cannot_change(cast: Cast, super_: Person) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        told = SiteAnswer.from_raw("decides", {"decides": "committee"})
        set_answer(building=here, site=site, told=told, person=super_, now=NOW)  # handing it over is the super's
        for step, value in (("decides", "caretaker"), ("opening", "slots")):
            back = SiteAnswer.from_raw(step, {step: value})
            with pytest.raises(Refused) as refused:
                set_answer(building=here, site=site, told=back, person=super_, now=NOW)
            assert set(refused.value.errors) == {step}
        assert not CommitteeDecision.objects.within(here).exists()
        opening = SiteAnswer.from_raw("opening", {"opening": "slots"})
        set_answer(building=here, site=site, told=opening, person=cast.committee, now=NOW)
        assert CommitteeDecision.objects.within(here).get().figures == {"opening": "slots"}


def test_a_committee_role_that_has_ended_decides_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        decision = question(here, "committee")
        Role.objects.within(here).filter(person=cast.committee).update(starts_on="2026-01-01", ends_on="2026-05-03")
        with pytest.raises(Refused):
            decline(building=here, uid=decision.uid, person=cast.committee, now=NOW)
