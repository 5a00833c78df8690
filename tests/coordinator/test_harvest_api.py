"""The API of a harvest, from the measurement to the last tub."""

from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from households.models import Person
from households.tenancy import inside
from tests.bins.harvests.harvested import OUT, bring, lot, mature, resident
from tests.cast import Cast
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded


class Caller:
    def __init__(self, cast: Cast, person: Person) -> None:
        with inside(cast.building.uid) as here:
            token = give_token(here, person)
        go_outside()
        self.root = f"/api/buildings/{cast.building.uid}/"
        self.headers = {"Authorization": f"Bearer {token}"}

    def get(self, path: str) -> Any:
        return Client().get(self.root + path, headers=self.headers)

    def post(self, path: str, body: object) -> Any:
        return Client().post(self.root + path, body, content_type="application/json", headers=self.headers)


@time_machine.travel(OUT, tick=False)
def test_a_harvest_goes_its_whole_way(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for name in "ABCDE":
            bring(here, cast.drum, resident(here, name))
        bring(here, cast.drum, cast.resident)
        batch = lot(here, cast.drum)
        mature(here, batch)
    go_outside()
    caretaker, own = Caller(cast, cast.caretaker), Caller(cast, cast.resident)
    body = {"uid": str(uuid4()), "batch": str(batch.uid), "whole_tubs": 30, "part": 0.25, "is_empty": True}
    first, again = (caretaker.post("harvests/", body) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 200, again.json())
    assert first.json()["waiting_millionths"] == 30_250_000
    harvest = first.json()["uid"]
    assert caretaker.post("harvests/", body | {"uid": str(uuid4())}).status_code == 422
    assert caretaker.post("harvests/", body | {"batch": "x"}).status_code == 404

    seen = caretaker.get(f"harvests/{harvest}/split/").json()
    # 30.25 tubs: 20 % is 6.05, so a quarter and six tubs for the beds; four each for six.
    assert (seen["is_final"], seen["given_tubs"], seen["beds_millionths"]) == (False, 24, 6_250_000)
    assert (seen["groups"], seen["withheld_groups"]) == ([{"households": 6, "tubs": 4}], 0)
    share = {"uid": str(uuid4()), "mark": seen["mark"], "pick_up_on": "2026-08-15", "pick_up_where": "by the drums"}
    assert caretaker.post(f"harvests/{harvest}/split/", share | {"mark": "x"}).status_code == 422
    done = [caretaker.post(f"harvests/{harvest}/split/", share) for _ in range(2)]
    assert [response.status_code for response in done] == [201, 200]
    assert done[0].json()["pick_up_until"] == "2026-08-29"

    (mine,) = own.get("shares/").json()
    assert (mine["tubs"], mine["due_millionths"], mine["credit_after_millionths"]) == (4, 4_000_000, 0)
    lines = caretaker.get(f"harvests/{harvest}/hand-out/").json()
    assert {line["household"]: line["tubs"] for line in lines}["Flat 3"] == 4
    fetched = caretaker.post(f"harvests/{harvest}/hand-out/", {"uid": str(uuid4()), "share": mine["uid"], "tubs": 3})
    assert (fetched.status_code, fetched.json()["millionths"]) == (201, 3_000_000)
    lost = caretaker.post(f"harvests/{harvest}/losses/", {"uid": str(uuid4()), "loss": "taken", "tubs": 0.5})
    assert (lost.status_code, lost.json()["kind"]) == (201, "lost")
    assert "witness" not in lost.json()
    back = caretaker.post(f"outgoings/{lost.json()['uid']}/undo/", {})
    assert (back.status_code, back.json()["reverses"]) == (200, lost.json()["uid"])
    (stands,) = caretaker.get("harvests/").json()
    parts = ("given", "reserve", "unclaimed", "lost", "waiting")
    assert [stands[f"{part}_millionths"] for part in parts] == [3_000_000, 6_250_000, 0, 0, 21_000_000]
    assert own.get("shares/").json()[0]["given_millionths"] == 3_000_000


@time_machine.travel(OUT, tick=False)
def test_a_resident_reads_and_chooses_for_the_own_household_alone(cast: Cast) -> None:
    own = Caller(cast, cast.resident)
    assert own.post("shares/wish/", {"wish": "neighbours"}).json() == {"wish": "neighbours"}
    assert own.post("shares/wish/", {"wish": "perhaps"}).status_code == 422
    assert own.get("shares/").json() == []
    assert own.get("harvests/").status_code == 404
    committee = Caller(cast, cast.committee)
    assert committee.get("shares/").status_code == 404
    assert committee.post("harvests/", {}).status_code == 404
