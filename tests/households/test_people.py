"""Whoever is added and can sign in is written to, once and by day."""

import datetime as dt

import pytest

from bins.people.joining import Joining, join
from households.models import Job, Notice, Person
from households.tenancy import inside
from tests.cast import Cast

pytestmark = pytest.mark.embedded
LATE = dt.datetime(2026, 4, 20, 20, 30, tzinfo=dt.UTC)  # 22:30 in Berlin


def add(cast: Cast, uid: str, name: str, email: str) -> Person:
    raw = {"uid": uid, "name": name, "household": "Flat 9", "email": email, "language": "fr"}
    with inside(cast.building.uid) as here:
        return join(building=here, told=Joining.from_raw(raw, ["resident"]), by=cast.caretaker, now=LATE)


def test_a_newcomer_with_an_address_is_told_who_added_them_in_their_language_and_by_day(cast: Cast) -> None:
    uid = "8c7ad4a2-15b5-4a55-9a4b-6a44e3f0a111"
    for _ in range(2):  # the same uid again tells nobody twice
        add(cast, uid, "Ines", "ines@plum-lane.invalid")
    with inside(cast.building.uid) as here:
        notice = Notice.objects.get(building=here, kind="welcome", to="ines@plum-lane.invalid")
        assert cast.caretaker.name in notice.body
        assert here.name in notice.subject
        assert Job.objects.get(key=str(notice.uid)).wake_at == dt.datetime(2026, 4, 21, 5, 0, tzinfo=dt.UTC)


def test_somebody_without_an_address_and_the_founder_get_none(cast: Cast) -> None:
    add(cast, "8c7ad4a2-15b5-4a55-9a4b-6a44e3f0a112", "Otto", "")
    with inside(cast.building.uid) as here:
        assert not Notice.objects.filter(building=here, kind="welcome").exists()


def test_past_so_many_letters_in_a_day_the_next_newcomer_is_told_a_day_later(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("households.people.MOST_WELCOMES_A_DAY", 2)
    for number in range(1, 6):
        add(cast, f"8c7ad4a2-15b5-4a55-9a4b-6a44e3f0a20{number}", f"P{number}", f"p{number}@plum-lane.invalid")
    with inside(cast.building.uid) as here:
        letters = Notice.objects.filter(building=here, kind="welcome").order_by("to")
        assert [letter.created_at.day for letter in letters] == [21, 21, 22, 22, 23]
