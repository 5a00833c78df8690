"""The API of duties, from the first kind to a cover taken."""

from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coordinator.jobs.run import run_due
from households.tenancy import inside
from tests.bins.duties.planned import DAY, TODAY, duty, home, kind, site_of
from tests.cast import NOW, Cast
from tests.filled import go_outside

from .test_harvest_api import Caller

pytestmark = pytest.mark.embedded


@pytest.fixture(autouse=True)
def _in_may() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def test_a_rota_goes_its_whole_way(cast: Cast) -> None:
    caretaker, own, other = (Caller(cast, one) for one in (cast.caretaker, cast.resident, cast.neighbour))
    site = f"sites/{site_of(cast).uid}"
    told = {"uid": str(uuid4()), "work": "turning", "rule": "FREQ=DAILY", "usual": 1}
    assert caretaker.post(f"{site}/duty-kinds/", told | {"rule": "FREQ=HOURLY"}).status_code == 422
    made = [caretaker.post(f"{site}/duty-kinds/", told) for _ in range(2)]
    assert made[0].json() == made[1].json()
    assert len(caretaker.get(f"{site}/duty-kinds/").json()) == 1
    days = {"uid": str(uuid4()), "first": "2026-05-05", "last": "2026-05-18"}
    assert caretaker.post(f"{site}/rota/", days | {"last": "2027-05-18"}).status_code == 422
    asked = [caretaker.post(f"{site}/rota/", days) for _ in range(2)]
    assert [one.status_code for one in asked] == [202, 202]
    assert asked[0].json() == asked[1].json()
    draft = f"rota/{asked[0].json()['uid']}/"
    waiting = caretaker.get(draft).json()
    assert (waiting["state"], waiting["is_current"], waiting["plans"]) == ("asked", None, [])
    plan = {"uid": str(uuid4())}
    assert caretaker.post(draft, plan).status_code == 422
    run_due(NOW)
    seen = caretaker.get(draft).json()
    assert (seen["state"], seen["is_current"], seen["obstacle"]) == ("done", True, None)
    (found,) = seen["plans"]
    assert (found["way"], found["proved"], len(found["duties"])) == ("published", True, 14)
    assert sorted(load["minutes"] for load in found["loads"]) == [105, 105]
    put_up = [caretaker.post(draft, plan) for _ in range(2)]
    assert put_up[0].json() == put_up[1].json()
    assert caretaker.post(draft, plan | {"way": "fairest"}).status_code == 422
    assert caretaker.get(draft).json()["is_current"] is False
    after = caretaker.get(f"{site}/rota/").json()
    assert (after["first"], len(after["plans"]), after["drafts"]) == ("2026-05-19", 1, [days["uid"]])
    assert own.get(draft).status_code == own.post(draft, plan).status_code == 404

    mine = own.get("duties/").json()
    assert len(mine) == 7
    assert "names" not in mine[0]
    assert own.get("duties/week/").status_code == 404
    assert {name for row in caretaker.get("duties/week/").json() for name in row["names"]} == {"Imani", "Sorin"}

    later = next(row for row in mine if row["day"] > "2026-05-08")
    asked = {"uid": str(uuid4()), "duty": later["uid"]}
    cover = own.post("covers/", asked).json()
    (request,) = other.get("covers/").json()
    assert (request["uid"], request["is_own"], request["offers"]) == (cover["uid"], False, [])
    theirs = next(row for row in other.get("duties/").json() if row["day"] > "2026-05-08")
    offer = {"answer": "offer", "duty": theirs["uid"]}
    assert other.post(f"covers/{cover['uid']}/answer/", offer).status_code == 200
    (waiting,) = own.get("covers/").json()
    accept = {"answer": "accept", "offer": waiting["offers"][0]["uid"]}
    assert other.post(f"covers/{cover['uid']}/answer/", accept).status_code == 404
    assert own.post(f"covers/{cover['uid']}/answer/", accept).json()["closed_at"] is not None
    assert theirs["uid"] in {row["uid"] for row in own.get("duties/").json()}
    assert own.get("covers/").json() == other.get("covers/").json() == []


def test_a_plan_is_made_again_and_cells_are_fixed(cast: Cast) -> None:
    caretaker, site = Caller(cast, cast.caretaker), f"sites/{site_of(cast).uid}"
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
    go_outside()
    days = {"first": "2026-05-05", "last": "2026-06-01"}

    def draft_of(**more: object) -> str:
        sent = {"uid": str(uuid4())} | days | more
        assert caretaker.post(f"{site}/rota/", sent).status_code == 202
        run_due(NOW)
        return f"rota/{sent['uid']}/"

    assert caretaker.post(draft_of(), {"uid": str(uuid4())}).status_code == 200
    for day in range(4, 9):
        cell = {"kind": str(turning.uid), "day": str(TODAY + day * DAY), "household": str(home(cast.resident).uid)}
        assert caretaker.post(f"{site}/rota/cells/", cell | {"choice": "pin"}).status_code == 204
    again = draft_of(again=True)
    assert [plan["way"] for plan in caretaker.get(again).json()["plans"]] == ["fewest", "halfway", "fairest"]
    chosen = {"uid": str(uuid4())}
    assert caretaker.post(again, chosen | {"way": "x"}).status_code == 422
    done = caretaker.post(again, chosen | {"way": "fairest"}).json()
    assert (done["number"], done["way"]) == (2, "fairest")


def test_who_shares_the_duties_is_said_and_read(cast: Cast) -> None:
    caretaker, address = Caller(cast, cast.caretaker), f"sites/{site_of(cast).uid}/duty-households/"
    assert [one["shares"] for one in caretaker.get(address).json()] == [True, True]
    told = caretaker.post(address, {"households": [str(home(cast.resident).uid)]}).json()
    assert {one["household"] for one in told if one["shares"]} == {str(home(cast.resident).uid)}
    assert caretaker.post(address, {"households": []}).status_code == 422
    assert Caller(cast, cast.resident).get(address).status_code == 404


def test_what_cannot_be_planned_is_told_with_ways_out(cast: Cast) -> None:
    caretaker, site = Caller(cast, cast.caretaker), f"sites/{site_of(cast).uid}"
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), least=3, usual=3)
    go_outside()
    sent = {"uid": str(uuid4()), "first": "2026-05-05", "last": "2026-05-05"}
    caretaker.post(f"{site}/rota/", sent)
    run_due(NOW)
    told = caretaker.get(f"rota/{sent['uid']}/").json()
    assert (told["state"], told["plans"], told["obstacle"]["duties"]) == ("done", [], ["Turning the drums on May 5"])


def test_done_and_taken_are_said_by_households_and_by_the_caretaker(cast: Cast) -> None:
    caretaker, own, other = (Caller(cast, one) for one in (cast.caretaker, cast.resident, cast.neighbour))
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        today, yesterday = duty(here, turning, TODAY, cast.resident), duty(here, turning, TODAY - DAY, cast.resident)
        ahead = duty(here, turning, TODAY + DAY, cast.resident)
    go_outside()
    assert other.post(f"duties/{today.uid}/done/", {}).status_code == 404
    assert own.post(f"duties/{today.uid}/done/", {}).json()["phase"] == "done"
    assert own.post(f"duties/{ahead.uid}/done/", {}).status_code == 422
    assert other.post(f"duties/{yesterday.uid}/take/", {}).json()["phase"] == "done"
    assert caretaker.post(f"duties/{yesterday.uid}/done/", {}).status_code == 200
    assert other.post(f"duties/{ahead.uid}/take/", {}).json()["phase"] == "planned"
    assert own.post("duties/limits/", {"cannot_lift": True, "carry_for_me": False}).json()["cannot_lift"] is True
    assert own.get("duties/limits/").json() == {"cannot_lift": True, "carry_for_me": False}
    assert own.post("duties/limits/", {"cannot_lift": "perhaps"}).status_code == 422


def test_a_stand_in_calls_a_pause_off(cast: Cast) -> None:
    caretaker, address = Caller(cast, cast.caretaker), f"sites/{site_of(cast).uid}/stand-in/"
    assert caretaker.post(address, {"what": "nothing"}).status_code == 422
    assert caretaker.post(address, {"what": "leads", "leads": ["x"]}).status_code == 422
    led = caretaker.post(address, {"what": "leads", "leads": [str(cast.caretaker.uid)]}).json()
    assert led["leads"] == [str(cast.caretaker.uid)]
    days = {"first": "2026-05-11", "last": "2026-05-12"}
    away = {"what": "away", "uid": str(uuid4()), "person": str(cast.caretaker.uid)} | days
    assert caretaker.post(address, away).json()["pause_from"] == "2026-05-11"
    stand_in = {"what": "stand-in", "uid": str(uuid4()), "person": str(cast.neighbour.uid)} | days
    assert caretaker.post(address, stand_in).json()["pause_from"] is None
    gone = caretaker.post(address, {"what": "let-go", "uid": stand_in["uid"]}).json()
    assert (gone["stand_ins"], gone["pause_from"]) == ([], "2026-05-11")
