"""A neighbour's report: one case, a reference, a promise; and what it may never do."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.care.quarantine import Reopening, reopen
from bins.cases.case_steps import Step, take_step
from bins.cases.cases import (
    LETTERS,
    PleasePhone,
    Promise,
    Received,
    Report,
    find,
    forget_words,
    open_cases,
    promise,
    receive,
    steps,
)
from bins.hatch import drum_states
from bins.models import Case, CaseNote, CaseReport, Place, PlaceChange, Visit
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, Job, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

HOUR = dt.timedelta(hours=1)
SECOND = dt.timedelta(seconds=1)


def report(cast: Cast, now: dt.datetime = NOW, *, language: str = "en", **raw: object) -> Received:
    told = Report.from_raw({"uid": str(uuid4()), "kind": "smell", "drum": str(cast.drum.uid)} | raw)
    with inside(cast.building.uid) as here:
        return receive(building=here, told=told, language=language, now=now)


def step(cast: Cast, case: Case, what: str, words: str = "", *, now: dt.datetime = NOW, **raw: object) -> CaseNote:
    told = Step.from_raw({"uid": str(uuid4()), "what": what, "words": words} | raw)
    with inside(cast.building.uid) as here:
        return take_step(building=here, case_uid=case.uid, told=told, person=cast.caretaker, via="web", now=now)


def test_a_report_opens_a_case_with_a_reference_and_the_promised_time(cast: Cast) -> None:
    case = report(cast, words="Like bad eggs").case
    assert len(case.reference) == 6
    assert set(case.reference) <= set(LETTERS)
    assert not set(LETTERS) & set("0OQ1IL2Z5S8BUAEIO"), "look-alikes and vowels"
    assert (case.answer_by, case.look_by) == (NOW + 24 * HOUR, NOW + 24 * HOUR)
    with inside(cast.building.uid) as here:
        assert [one.reference for one in open_cases(here)] == [case.reference]


@pytest.mark.parametrize("typed", ["{0}", " {0} ", "{1}-{2}"])
def test_a_reference_is_found_as_people_type_it(cast: Cast, typed: str) -> None:
    reference = report(cast).case.reference
    with inside(cast.building.uid) as here:
        found = find(here, typed.format(reference.lower(), reference[:3], reference[3:]))
        assert found is not None
        assert find(here, "AAAAAA") is None


def test_the_promise_of_the_building_counts_from_the_next_report_on(cast: Cast) -> None:
    first = report(cast).case
    with inside(cast.building.uid) as here:
        promise(building=here, told=Promise.from_raw({"hours": "2", "phone": "030 1"}), person=cast.caretaker, now=NOW)
    second = report(cast, kind="leak").case
    with inside(cast.building.uid) as here:
        assert Building.objects.get(pk=here.pk).contact_phone == "030 1"
        assert Case.objects.within(here).get(pk=first.pk).answer_by == NOW + 24 * HOUR
    assert second.answer_by == NOW + 2 * HOUR


@pytest.mark.parametrize(
    ("raw", "fields"),
    [
        ({"kind": "ghost"}, {"kind"}),
        ({"kind": "other", "words": " "}, {"words"}),
        ({"words": "x" * 501}, {"words"}),
        ({"email": "nobody"}, {"email"}),
        ({"uid": "1", "drum": "2", "kind": ""}, {"uid", "drum", "kind"}),
    ],
)
def test_every_fault_of_a_report_is_named(raw: dict[str, str], fields: set[str]) -> None:
    with pytest.raises(Refused) as refused:
        Report.from_raw({"uid": str(uuid4()), "kind": "smell"} | raw)
    assert set(refused.value.errors) == fields


def test_the_same_report_sent_twice_is_one_and_other_values_are_refused(cast: Cast) -> None:
    uid = str(uuid4())
    first, again = report(cast, uid=uid), report(cast, NOW + HOUR, uid=uid)
    assert (first.is_new, again.is_new, again.case.pk) == (True, False, first.case.pk)
    with pytest.raises(UidReused):
        report(cast, uid=uid, kind="leak")
    with inside(cast.building.uid) as here:
        assert CaseReport.objects.within(here).count() == 1


@pytest.mark.parametrize(
    ("later", "joins"), [(24 * HOUR - SECOND, True), (24 * HOUR, True), (24 * HOUR + SECOND, False)]
)
def test_the_same_at_the_same_drum_joins_the_open_case_for_24_hours(
    cast: Cast, later: dt.timedelta, joins: bool
) -> None:
    first, second = report(cast), report(cast, NOW + later)
    assert (second.joined, second.case.pk == first.case.pk) == (joins, joins)


def test_another_kind_another_place_or_a_closed_case_is_not_joined(cast: Cast) -> None:
    first = report(cast).case
    assert not report(cast, kind="leak").joined
    assert not report(cast, drum="").joined
    assert report(cast, drum="").joined  # no place named twice: the same unknown place
    assert not report(cast, kind="other", drum="", words="A noise").joined
    assert not report(cast, kind="other", drum="", words="A light").joined  # nothing says that it is the same
    step(cast, first, "closed", "Turned it, the smell is gone")
    assert not report(cast, NOW + HOUR).joined


def test_ten_reports_a_day_are_taken_and_then_please_phone(cast: Cast) -> None:
    for number in range(10):
        report(cast, NOW + number * SECOND)
    with pytest.raises(PleasePhone):
        report(cast, NOW + HOUR)
    # The day is the building's: Berlin, midnight is 22:00 UTC.
    with pytest.raises(PleasePhone):
        report(cast, dt.datetime(2026, 5, 4, 21, 59, 59, tzinfo=dt.UTC))
    assert report(cast, dt.datetime(2026, 5, 4, 22, 0, tzinfo=dt.UTC)).is_new


def test_a_report_that_is_sent_again_is_answered_even_when_the_day_is_full(cast: Cast) -> None:
    uid = str(uuid4())
    report(cast, uid=uid)
    for number in range(9):
        report(cast, NOW + number * SECOND)
    assert not report(cast, NOW + HOUR, uid=uid).is_new


def test_a_report_never_stops_intake_and_neither_does_looking(cast: Cast) -> None:
    for kind in Case.Kind.values:
        case = report(cast, kind=kind, words="x").case
        step(cast, case, "looked")
        step(cast, case, "done", "Cleaned the floor")
    with inside(cast.building.uid) as here:
        (state,) = drum_states(here)
        assert state.open is not None


def test_what_is_confirmed_at_the_drum_shuts_it_with_a_visit_and_its_way_out(cast: Cast) -> None:
    case = report(cast, kind="animal").case
    note = step(cast, case, "confirmed", "A rat ran out below hatch A")
    with inside(cast.building.uid) as here:
        (state,) = drum_states(here)
        assert (state.open, state.drum.site.fallback) == (None, "the brown bin by the gate")
        assert [hatch.stage for hatch in state.hatches] == ["quarantined", "quarantined"]
        assert [row.reason for row in PlaceChange.objects.within(here)] == ["A rat ran out below hatch A"] * 2
        visit = Visit.objects.within(here).get(pk=note.visit_id)
        assert (visit.trouble, visit.turned) == ("animals", False)


def test_reopening_takes_a_visit_and_a_name_for_each_hatch(cast: Cast) -> None:
    step(cast, report(cast, kind="animal").case, "confirmed", "A rat")
    with inside(cast.building.uid) as here:
        for place in Place.objects.within(here).filter(kind="chamber"):
            raw = {"uid": str(uuid4()), "place": str(place.uid), "looked": "yes"}
            with pytest.raises(Refused):
                reopen(building=here, told=Reopening.from_raw(raw), person=None, via="web", now=NOW + HOUR)
            row = reopen(building=here, told=Reopening.from_raw(raw), person=cast.caretaker, via="web", now=NOW + HOUR)
            assert row.visit is not None
        assert drum_states(here)[0].open is not None


def test_confirming_needs_a_drum_a_name_and_words(cast: Cast) -> None:
    case = report(cast, drum="").case
    with pytest.raises(Refused) as refused:
        step(cast, case, "confirmed", "It smells")
    assert set(refused.value.errors) == {"drum"}
    with pytest.raises(Refused) as refused:
        step(cast, case, "confirmed")
    assert set(refused.value.errors) == {"words"}
    step(cast, case, "confirmed", "It smells", drum=str(cast.drum.uid))
    with inside(cast.building.uid) as here:
        assert Case.objects.within(here).get(pk=case.pk).drum_id == cast.drum.pk
        told = Step.from_raw({"uid": str(uuid4()), "what": "confirmed", "words": "x"})
        with pytest.raises(Refused):
            take_step(building=here, case_uid=case.uid, told=told, person=None, via="web", now=NOW)


def test_a_step_arrives_once_and_a_closed_case_takes_no_more(cast: Cast) -> None:
    case, uid = report(cast).case, str(uuid4())
    first = step(cast, case, "closed", "Gone", uid=uid)
    assert step(cast, case, "closed", "Gone", uid=uid, now=NOW + HOUR).pk == first.pk
    with pytest.raises(UidReused):
        step(cast, case, "closed", "Gone for good", uid=uid)
    with pytest.raises(Refused):
        step(cast, case, "looked")
    with inside(cast.building.uid) as here:
        assert [note.what for note in steps(here, case)] == ["closed"]
        assert Case.objects.within(here).get(pk=case.pk).first_action_at == NOW


def test_an_answer_goes_once_to_each_address_in_its_language_by_day_and_then_the_address_is_gone(cast: Cast) -> None:
    case = report(cast, email="A@x.invalid").case
    report(cast, email="b@x.invalid", language="fr")
    report(cast, email="a@x.invalid")
    night = dt.datetime(2026, 5, 4, 20, 0, tzinfo=dt.UTC)  # 22:00 in Berlin
    step(cast, case, "closed", "Turned it", now=night)
    with inside(cast.building.uid) as here:
        notices = Notice.objects.filter(building=here, kind="case")
        assert sorted(notices.values_list("to", flat=True)) == ["a@x.invalid", "b@x.invalid"]
        assert all("Turned it" in notice.body and case.reference in notice.subject for notice in notices)
        deliveries = Job.objects.filter(building=here, name="deliver", key__in=[str(n.uid) for n in notices])
        # 07:00 in Berlin is 05:00 UTC.
        assert {job.wake_at for job in deliveries} == {dt.datetime(2026, 5, 5, 5, 0, tzinfo=dt.UTC)}
        assert set(CaseReport.objects.within(here).values_list("email", flat=True)) == {""}


def test_past_five_letters_in_a_day_to_one_address_the_next_waits_a_day(cast: Cast) -> None:
    case = report(cast, email="a@x.invalid").case
    for number in range(6):
        step(cast, case, "done", f"Turned it {number}")
    other = report(cast, kind="leak", email="b@x.invalid").case
    step(cast, other, "done", "Wiped it")
    with inside(cast.building.uid) as here:
        letters = Notice.objects.filter(building=here, kind="case").order_by("pk")
        days = [(letter.to[0], (letter.created_at - NOW).days) for letter in letters]
    assert days == [*[("a", 0)] * 5, ("a", 1), ("b", 0)]


def test_to_whom_an_answer_went_is_known_as_long_as_what_it_answered(cast: Cast) -> None:
    case = report(cast, email="a@x.invalid").case
    step(cast, case, "closed", "Turned it")
    with inside(cast.building.uid) as here:
        Notice.objects.filter(building=here).update(sent_at=NOW, body="")
        forget_words(here, NOW + dt.timedelta(days=30) - SECOND)
        assert Notice.objects.filter(building=here, to="a@x.invalid").exists()
        forget_words(here, NOW + dt.timedelta(days=30))
        assert not Notice.objects.filter(building=here, to="a@x.invalid").exists()


@pytest.mark.parametrize(("days", "kept"), [(dt.timedelta(days=30) - SECOND, True), (dt.timedelta(days=30), False)])
def test_a_neighbours_words_go_a_month_after_the_case_is_closed(cast: Cast, days: dt.timedelta, kept: bool) -> None:
    case = report(cast, words="Like bad eggs").case
    step(cast, case, "closed", "Turned it")
    with inside(cast.building.uid) as here:
        forget_words(here, NOW + days)
        assert CaseReport.objects.within(here).get().words == ("Like bad eggs" if kept else "")
        assert steps(here, case)[0].words == "Turned it"


def test_the_list_of_open_cases_takes_two_queries_however_many_there_are(
    cast: Cast, django_assert_num_queries: object
) -> None:
    kinds = list(Case.Kind.values)
    for size in (1, 6):
        for kind in kinds[:size]:
            report(cast, kind=kind, words="x")
        with inside(cast.building.uid) as here, django_assert_num_queries(2):  # type: ignore[operator]
            assert [len(case.reports.all()) > 0 for case in open_cases(here)] == [True] * size
