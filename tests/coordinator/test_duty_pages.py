"""The pages of duties: planned by the caretaker, seen by each household, covered among neighbours; and paper."""

import datetime as dt
import html
import re
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.duties.drafting import NAME
from bins.duties.limits import LimitsTold, set_limits
from coordinator.jobs.run import run_due
from households.models import Absence, Cover, Duty, DutyKind, IntakePause, Job, Lead, Person, RotaDraft, RotaPlan
from households.tenancy import inside
from tests.bins.duties.planned import DAY, TODAY, draft, duty, home, kind, site_of, who
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


@pytest.fixture(autouse=True)
def _in_may() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def as_(person: Person) -> Client:
    client = Client()
    client.force_login(account_of(person), "allauth.account.auth_backends.AuthenticationBackend")
    return client


def at(cast: Cast, name: str, *more: object) -> str:
    return reverse(name, args=[cast.building.uid, *more])


def on_site(cast: Cast, name: str, *more: object) -> str:
    return at(cast, name, site_of(cast).uid, *more)


def plain(response: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return " ".join(html.unescape(text).split())


def plan_look(client: Client, cast: Cast, **more: str) -> str:
    """Ask on the page for the plan of the next weeks, or `again` of some that have one; worked out by its job."""
    page = client.get(on_site(cast, "rota"))
    sent = {name: hidden(page, name) for name in ("uid", "first", "last")} | {"uid": str(uuid4())} | more
    asked = client.post(on_site(cast, "rota"), sent)
    assert asked.status_code == 302, plain(asked)
    go_outside()
    run_due(NOW)
    return str(asked.headers["Location"]).removesuffix("?look=on")


def hidden(response: Any, name: str) -> str:
    found = re.search(rf'name="{name}"[^>]* value="([^"]*)"', response.content.decode())
    assert found is not None, name
    return found.group(1)


def test_a_duty_is_set_up_with_weekdays_and_mended_where_it_is_wrong(cast: Cast) -> None:
    client, address = as_(cast.caretaker), on_site(cast, "duty-kinds")
    assert "has no duties yet" in plain(client.get(address))
    told = {"uid": str(uuid4()), "work": "opening", "days": ["TU", "SA"], "least": "2", "usual": "1", "is_on": "yes"}
    wrong = client.post(address, told)
    assert wrong.status_code == 422
    assert "When does the opening begin?" in plain(wrong)
    assert "Not fewer than are needed at least." in plain(wrong)
    assert client.post(address, told | {"usual": "2", "begins_at": "17:30"}).status_code == 302
    with inside(cast.building.uid) as here:
        row = DutyKind.objects.within(here).get()
        assert (row.rule, row.minutes, row.is_heavy) == ("FREQ=WEEKLY;BYDAY=TU,SA", 60, False)
    go_outside()
    assert "Being there at an opening , Tuesday and Saturday , 5:30 p.m." in plain(client.get(address))


def test_who_shares_the_duties_is_chosen_on_their_page(cast: Cast) -> None:
    client, address = as_(cast.caretaker), on_site(cast, "duty-kinds")
    assert "Who shares the duties?" in plain(client.get(address))
    keep = on_site(cast, "duty-sharers")
    nobody = client.post(keep, {})
    assert (nobody.status_code, "Somebody has to share the duties." in plain(nobody)) == (422, True)
    assert client.post(keep, {"households": [str(home(cast.resident).uid)]}).status_code == 302
    boxes = re.findall(r'name="households" value="([^"]+)"( checked)?', client.get(address).content.decode())
    assert [bool(checked) for uid, checked in boxes if uid == str(home(cast.resident).uid)] == [True]
    assert [bool(checked) for uid, checked in boxes if uid == str(home(cast.neighbour).uid)] == [False]


def test_a_plan_is_asked_for_looked_at_put_up_and_printed(cast: Cast) -> None:
    client = as_(cast.caretaker)
    assert "Courtyard has no duties yet." in plain(client.get(on_site(cast, "rota")))
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
    go_outside()
    assert "No duties are planned yet." in plain(client.get(on_site(cast, "rota")))
    look = plan_look(client, cast)
    seen = client.get(look)
    assert "A plan from May 5 to June 1 is ready to put up." in plain(seen)
    assert "No other plan is fairer: that was proved." in plain(seen)
    form = {"uid": hidden(seen, "uid")}
    put_up = client.post(look, form)
    assert put_up.headers["Location"] == on_site(cast, "rota-month", 2026, 5)
    assert client.post(look, form).status_code == 302, "the same form twice"
    assert client.post(look, {"uid": str(uuid4())}).status_code == 422
    month = plain(client.get(put_up.headers["Location"]))
    assert "Duties at Courtyard, May 2026" in month
    assert "Imani" in month
    assert "Sorin" in month
    mine = plain(as_(cast.resident).get(at(cast, "duties")))
    assert "Turning the drums" in mine
    assert "Sorin" not in mine
    assert "Everybody's duties are planned until June 1." in plain(client.get(on_site(cast, "rota")))


def test_no_request_plans_by_itself(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        row = draft(here, site_of(cast), TODAY + DAY, TODAY + 28 * DAY)
    go_outside()
    for name in ("solve", "replan"):
        monkeypatch.setattr(f"bins.duties.drafting.{name}", lambda _problem: pytest.fail("a request waited for a plan"))
    client, look = as_(cast.caretaker), at(cast, "rota-look", row.uid)
    days = {"uid": str(uuid4()), "first": "2026-06-02", "last": "2026-06-10"}
    assert client.post(on_site(cast, "rota"), days).status_code == 302
    assert "is ready to put up." in plain(client.get(look))
    assert client.post(look, {"uid": str(uuid4())}).status_code == 302


def test_the_page_says_how_far_it_is_and_looks_again_by_itself_until_it_is_stopped(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
    go_outside()
    client = as_(cast.caretaker)
    page = client.get(on_site(cast, "rota"))
    asked = client.post(on_site(cast, "rota"), {name: hidden(page, name) for name in ("uid", "first", "last")})
    look = str(asked.headers["Location"])
    waiting = client.get(look)
    assert "The plan is being worked out." in plain(waiting)
    assert "It waits for its turn." in plain(waiting)
    assert '<meta http-equiv="refresh" content="3">' in waiting.content.decode()
    assert "refresh" not in client.get(look.removesuffix("?look=on")).content.decode()
    too_soon = client.post(look, {"uid": str(uuid4())})
    assert (too_soon.status_code, "The plan is still being worked out." in plain(too_soon)) == (422, True)
    with inside(cast.building.uid) as here:
        jobs = Job.objects.filter(building=here, name=NAME)
        jobs.update(state=Job.State.RUNNING, token=uuid4(), lease_until=NOW)
        assert "This takes up to half a minute." in plain(client.get(look))
        jobs.update(state=Job.State.PARKED, token=None, lease_until=None)
    go_outside()
    failed = client.get(look)
    assert "This could not be worked out. Please ask again." in plain(failed)
    assert "refresh" not in failed.content.decode()
    again = {name: hidden(failed, name) for name in ("uid", "first", "last")}
    assert client.post(on_site(cast, "rota"), again).status_code == 302
    assert as_(cast.resident).get(look).status_code == 404


def test_days_that_make_no_sense_are_mended_on_the_page(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
    go_outside()
    sent = {"uid": str(uuid4()), "first": "2026-05-03", "last": "2026-12-31"}
    wrong = as_(cast.caretaker).post(on_site(cast, "rota"), sent)
    assert wrong.status_code == 422
    assert "Which day does it begin? Today or later." in plain(wrong)
    assert "Three months are the most." in plain(wrong)
    assert 'value="2026-12-31"' in wrong.content.decode()


def test_what_cannot_be_planned_names_day_and_people_and_a_way_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        set_limits(building=here, household=home(cast.resident), told=LimitsTold(True, False))
        Absence.objects.create(
            building=here, household=home(cast.neighbour), first_day=TODAY + 2 * DAY, last_day=TODAY + 2 * DAY
        )
    go_outside()
    client = as_(cast.caretaker)
    text = plain(client.get(plan_look(client, cast)))
    assert "These weeks can't be planned as they stand." in text
    assert "Turning the drums on May 6" in text
    assert "What would free it" in text
    assert "Put this plan up" not in text


def test_a_cell_is_fixed_and_let_go_and_the_plan_is_worked_out_again(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
    go_outside()
    client = as_(cast.caretaker)
    look = plan_look(client, cast)
    fix = look + "cell/"
    cell = {"cell": f"{turning.uid}/2026-05-05", "household": str(home(cast.resident).uid), "choice": "forbid"}
    assert client.post(fix, cell).headers["Location"] == look
    seen = client.get(look)
    assert "Something has changed since this plan was worked out." in plain(seen)
    assert "May 5 : Imani , on no account" in plain(seen)
    assert "Put this plan up" not in plain(seen)
    stale = client.post(look, {"uid": str(uuid4())})
    assert (stale.status_code, "Something has changed since this was worked out." in plain(stale)) == (422, True)
    fresh = plain(client.get(plan_look(client, cast, **{name: hidden(seen, name) for name in ("first", "last")})))
    assert "Tue May 5 Turning the drums Sorin" in fresh
    assert client.post(fix, cell | {"choice": "free"}).status_code == 302
    assert "on no account Let go" not in plain(client.get(look))
    assert client.post(fix, cell | {"household": str(uuid4())}).status_code == 422


def test_three_plans_are_offered_after_an_absence_and_one_is_chosen(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
    go_outside()
    client = as_(cast.caretaker)
    client.post(plan_look(client, cast), {"uid": str(uuid4())})
    days = {"first": "2026-05-05", "last": "2026-06-01", "again": "yes"}
    assert "The plan that is up is still the best one." in plain(client.get(plan_look(client, cast, **days)))
    with inside(cast.building.uid) as here:
        Absence.objects.create(
            building=here, household=home(cast.resident), first_day=TODAY + 5 * DAY, last_day=TODAY + 14 * DAY
        )
    go_outside()
    look = plan_look(client, cast, **days)
    page = client.get(look)
    text = plain(page)
    assert "Something has changed. Choose one of three plans." in text
    assert all(words in text for words in ("The fewest changes", "Halfway between both", "The fairest from now on"))
    assert "2 households change." in text
    form = {name: hidden(page, name) for name in ("uid", "way")}
    assert form["way"] == "fewest"
    assert client.post(look, form).status_code == 302
    with inside(cast.building.uid) as here:
        away = Duty.objects.within(here).filter(day__range=(TODAY + 5 * DAY, TODAY + 14 * DAY))
        assert {tuple(who(row)) for row in away} == {("Flat 5",)}
        assert RotaPlan.objects.within(here).count() == 2
        assert RotaDraft.objects.within(here).filter(is_again=True).count() == 2


def test_cover_goes_from_page_to_page_without_a_name_until_the_yes(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident)
    go_outside()
    asker, other, address = as_(cast.resident), as_(cast.neighbour), at(cast, "duties")
    assert asker.post(address, {"uid": str(uuid4()), "duty": str(row.uid)}).status_code == 302
    assert "Until somebody takes it, it is yours." in plain(asker.get(address))
    seen = plain(other.get(address))
    assert "A household asks for cover." in seen
    assert "Imani" not in seen
    with inside(cast.building.uid) as here:
        cover = Cover.objects.within(here).get()
    go_outside()
    assert other.post(at(cast, "cover", cover.uid), {"answer": "withdraw"}).status_code == 404
    assert other.post(at(cast, "cover", cover.uid), {"answer": "take"}).status_code == 302
    late = asker.post(at(cast, "cover", cover.uid), {"answer": "withdraw"})
    assert (late.status_code, "Somebody else was quicker" in plain(late)) == (422, True)
    with inside(cast.building.uid):
        assert who(row) == ["Flat 5"]


def test_the_caretakers_list_has_the_week_by_first_name_openings_short_and_what_waits(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        duty(here, turning, TODAY + DAY, cast.resident)
        duty(here, kind(here, site_of(cast), "opening", least=2), TODAY + 2 * DAY, cast.neighbour)
        waiting = duty(here, turning, TODAY - 2 * DAY, cast.neighbour)
        duty(here, turning, TODAY - 4 * DAY, cast.neighbour)
    go_outside()
    client = as_(cast.caretaker)
    text = plain(client.get(at(cast, "today")))
    assert "Tue 5 Turning the drums: Imani" in text
    assert "The opening on May 6 is short of people." in text
    assert "Turning the drums of May 2: is it done?" in text
    assert "April 30" not in text
    assert client.post(at(cast, "duty-done", waiting.uid), {"from": "today"}).headers["Location"] == at(cast, "today")
    assert "is it done?" not in plain(client.get(at(cast, "today")))


def test_whoever_did_what_was_open_to_all_says_so_and_has_the_minutes(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY - DAY, cast.resident)
    go_outside()
    other = as_(cast.neighbour)
    assert "It waits to be done." in plain(other.get(at(cast, "duties")))
    assert other.post(at(cast, "duty-take", row.uid)).status_code == 302
    late = as_(cast.resident).post(at(cast, "duty-done", row.uid))
    assert late.status_code == 404
    with inside(cast.building.uid):
        assert who(row) == ["Flat 5"]


def test_a_pause_is_on_the_pages_before_it_begins_with_the_way_out(cast: Cast) -> None:
    client, address = as_(cast.caretaker), on_site(cast, "stand-in")
    assert "Nobody leads this place yet." in plain(client.get(address))
    lead = {"what": "leads", "leads": [str(cast.caretaker.uid)]}
    assert client.post(address, lead).status_code == 302
    away = {
        "what": "away", "uid": str(uuid4()), "person": str(cast.caretaker.uid), "first": "2026-05-11",
        "last": "2026-05-20",
    }  # fmt: skip
    assert client.post(address, away | {"last": "2026-05-01"}).status_code == 422
    assert client.post(address, away).status_code == 302
    assert "Nobody looks after the place from May 11, 2026 on." in plain(client.get(address))
    for page in (Client().get(at(cast, "hatch", cast.drum.uid)), as_(cast.resident).get(at(cast, "building"))):
        assert "From May 11, 2026 on nothing goes in" in plain(page)
        assert "the brown bin by the gate" in plain(page)
    assert client.post(address, {"what": "let-go", "uid": away["uid"]}).status_code == 302
    assert "Somebody looks after the place all the time." in plain(client.get(address))
    with inside(cast.building.uid) as here:
        assert IntakePause.objects.within(here).get().ended_on == TODAY
        assert Lead.objects.within(here).count() == 1


def test_the_stand_ins_page_has_keys_gloves_cut_off_whom_to_carry_for_and_two_weeks(cast: Cast) -> None:
    client, address = as_(cast.caretaker), on_site(cast, "stand-in")
    told = {"what": "handover", "keys": "with Ottilie", "gloves": "shed", "cut_off": "valve by the gate"}
    assert client.post(address, told).status_code == 302
    with inside(cast.building.uid) as here:
        set_limits(building=here, household=home(cast.resident), told=LimitsTold(False, True))
        turning = kind(here, site_of(cast))
        duty(here, turning, TODAY + 13 * DAY, cast.neighbour)
        duty(here, turning, TODAY + 14 * DAY, cast.resident)
    go_outside()
    text = plain(client.get(on_site(cast, "stand-in-list")))
    for words in ("with Ottilie", "shed", "valve by the gate", "Please carry the pail down for: Flat 3", "Sorin"):
        assert words in text
    assert "Imani" not in text


def test_limits_are_said_and_taken_back_without_a_reason(cast: Cast) -> None:
    client = as_(cast.resident)
    assert client.post(at(cast, "duty-limits"), {"cannot_lift": "yes"}).status_code == 302
    assert re.search(r'name="cannot_lift" value="yes" checked', client.get(at(cast, "duties")).content.decode())
    assert client.post(at(cast, "duty-limits"), {}).status_code == 302
    assert "checked" not in client.get(at(cast, "duties")).content.decode()


def test_work_is_shown_unnamed_and_only_from_five_households_up(cast: Cast) -> None:
    seen = []
    again = {"first": "2026-05-05", "last": "2026-06-01", "again": "yes"}
    for number in range(4):
        if number:
            newcomer(cast.building, f"Person{number}", f"Flat {20 + number}", "resident")
        with inside(cast.building.uid) as here:
            if not number:
                kind(here, site_of(cast), usual=1)
        go_outside()
        client = as_(cast.caretaker)
        look = plan_look(client, cast, **(again if number else {}))
        client.post(look, {"uid": str(uuid4()), "way": "fewest" if number else "published"})
        text = plain(as_(cast.resident).get(at(cast, "duties")))
        seen.append("without names:" in text)
    # 2, 3, 4 and 5 households.
    assert seen == [False, False, False, True]


@pytest.mark.parametrize("person", ["resident", "caretaker"])
def test_pages_take_as_many_queries_for_many_duties_as_for_few(cast: Cast, person: str) -> None:
    pages = {"resident": [at(cast, "duties")], "caretaker": [
        at(cast, "today"), on_site(cast, "rota"), on_site(cast, "rota-month", 2026, 5),
        on_site(cast, "stand-in-list"), on_site(cast, "duty-kinds"),
    ]}[person]  # fmt: skip

    def queries() -> list[int]:
        counts, looks = [], []
        if person == "caretaker":
            with inside(cast.building.uid) as here:
                looks = [
                    draft(here, site_of(cast), TODAY, TODAY + 27 * DAY, again=True),
                    draft(here, site_of(cast), TODAY + 28 * DAY, TODAY + 34 * DAY),
                ]
            go_outside()
        for page in [*pages, *(at(cast, "rota-look", row.uid) for row in looks)]:
            client = as_(cast.people[person])
            with CaptureQueriesContext(connection) as seen:
                assert client.get(page).status_code == 200
            counts.append(len(seen))
        return counts

    def add(work: str, first: int, last: int, *people: Person) -> None:
        with inside(cast.building.uid) as here:
            of = kind(here, site_of(cast), work)
            for day in range(first, last):
                row = duty(here, of, TODAY + day * DAY, *people)
                if day > 0:
                    for household in {home(one) for one in people}:
                        Cover.objects.create(
                            building=here, duty=row, household=household, asked_at=NOW, fingerprint=str(uuid4())
                        )
        go_outside()

    add("turning", -1, 3, cast.resident)
    add("trays", -1, 3, cast.neighbour)
    few = queries()
    more = [newcomer(cast.building, f"Person{number}", f"Flat {20 + number}", "resident") for number in range(3)]
    add("turning", 3, 9, cast.resident, *more)
    add("trays", 3, 9, cast.neighbour, *more)
    assert queries() == few


def test_an_address_of_another_kind_of_day_or_site_is_not_there(cast: Cast) -> None:
    client = as_(cast.caretaker)
    assert client.get(on_site(cast, "rota-month", 2026, 13)).status_code == 404
    assert client.get(on_site(cast, "rota-month", 0, 1)).status_code == 404
    assert client.get(at(cast, "rota", UUID(int=1))).status_code == 404
    assert client.get(at(cast, "rota-look", UUID(int=1))).status_code == 404
    assert dt.date(2026, 5, 3) < TODAY
