"""Drop-offs on somebody's behalf: for the household named, on the day told, all lines or none."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest

from bins.intake.proxy import OnBehalf, record_on_behalf, with_households
from bins.models import Contribution
from bins.records import Refused
from households.ledger import UidReused
from households.models import Card, Household
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def line(whose: Household | None, **raw: Any) -> dict[str, Any]:
    assert whose is not None
    return {"uid": str(uuid4()), "household": str(whose.uid), "day": "2026-05-04", "quarter_pails": 4} | raw


def record(cast: Cast, *lines: dict[str, Any], via: str = "proxy", now: dt.datetime = NOW) -> list[Contribution]:
    with inside(cast.building.uid) as here:
        told = OnBehalf.from_raw(via, with_households(here, lines))
        return [one.row for one in record_on_behalf(building=here, told=told, person=cast.caretaker, now=now)]


@pytest.mark.parametrize("via", ["proxy", "sheet"])
def test_lines_count_for_their_households_and_say_how_they_came(cast: Cast, via: str) -> None:
    with inside(cast.building.uid) as here:
        Household.objects.within(here).update(joined_on=dt.date(2026, 5, 1))
    rows = record(
        cast,
        line(cast.resident.household, day="2026-05-03"),
        line(cast.neighbour.household, kilograms="2,5", browns_cups="1.5"),
        via=via,
    )
    with inside(cast.building.uid):
        assert [row.attribution.household for row in rows] == [cast.resident.household, cast.neighbour.household]
        assert {row.attribution.person for row in rows} == {cast.caretaker}
    # A past day counts at its noon, 10:00 UTC in Berlin's summer; today's noon is over as well.
    assert [row.counts_at.isoformat() for row in rows] == ["2026-05-03T10:00:00+00:00", "2026-05-04T10:00:00+00:00"]
    assert [(row.via, row.scraps_g, row.doubt) for row in rows] == [(via, 3600, "none"), (via, 2500, "none")]


def test_a_slip_of_today_entered_before_noon_is_not_of_the_future_and_may_be_sent_again_later(cast: Cast) -> None:
    morning = dt.datetime(2026, 5, 5, 6, 0, tzinfo=dt.UTC)
    told = line(cast.resident.household, day="2026-05-05")
    (first,) = record(cast, told, now=morning)
    (again,) = record(cast, told, now=morning + dt.timedelta(hours=30))
    assert (first.doubt, first.counts_at, again.pk) == ("none", morning, first.pk)


@pytest.mark.parametrize(
    ("raw", "faults"),
    [
        ({"day": "2026-05-05"}, {"day-2"}),
        ({"day": "2026-05-03"}, set()),
        ({"household": str(uuid4())}, {"household-2"}),
        ({"drum": str(uuid4())}, {"drum-2"}),
        ({"quarter_pails": "41", "browns_cups": "x"}, {"quarter_pails-2", "browns_cups-2"}),
        ({"day": "", "household": "", "quarter_pails": ""}, {"day-2", "household-2", "quarter_pails-2"}),
        ({"uid": "same"}, {"lines"}),
    ],
)
def test_one_bad_line_keeps_all_out_and_is_named_by_its_number(
    cast: Cast, raw: dict[str, str], faults: set[str]
) -> None:
    with inside(cast.building.uid) as here:
        Household.objects.within(here).update(joined_on=dt.date(2026, 5, 3))
    good = line(cast.resident.household)
    if raw.get("uid") == "same":
        raw = {"uid": good["uid"]}
    if faults:
        with pytest.raises(Refused) as refused:
            record(cast, good, line(cast.resident.household, **raw))
        assert set(refused.value.errors) == faults
    else:
        record(cast, good, line(cast.resident.household, **raw))
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).count() == (0 if faults else 2)


@pytest.mark.parametrize("lines", [0, 11])
def test_from_one_to_ten_lines_are_taken(cast: Cast, lines: int) -> None:
    with pytest.raises(Refused) as refused:
        record(cast, *[line(cast.resident.household) for _line in range(lines)])
    assert set(refused.value.errors) == {"lines"}
    assert len(record(cast, *[line(cast.resident.household) for _line in range(10)])) == 10


def test_a_household_that_has_left_keeps_its_days_and_gets_no_more(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Household.objects.within(here).filter(pk=cast.resident.household_id).update(
            joined_on=dt.date(2026, 4, 1), left_on=dt.date(2026, 5, 2)
        )
    assert record(cast, line(cast.resident.household, day="2026-05-02"))
    with pytest.raises(Refused):
        record(cast, line(cast.resident.household, day="2026-05-03"))


def test_a_line_arrives_once_and_another_under_its_uid_is_refused(cast: Cast) -> None:
    told = line(cast.resident.household)
    first, again = record(cast, told), record(cast, told, line(cast.neighbour.household))
    assert first[0].pk == again[0].pk
    with pytest.raises(UidReused):
        record(cast, told | {"quarter_pails": 8})


def test_the_number_of_a_card_stands_for_its_household_until_it_is_cancelled(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        card = Card.objects.within(here).get(household=cast.resident.household, cancelled_on__isnull=True)
    spaced = f"{card.number[:2]} {card.number[2:]}"
    (row,) = record(cast, line(cast.resident.household, household="", card=spaced), via="sheet")
    with inside(cast.building.uid) as here:
        assert row.attribution.household == cast.resident.household
        Card.objects.within(here).filter(pk=card.pk).update(cancelled_on=dt.date(2026, 5, 4))
    with pytest.raises(Refused) as refused:
        record(cast, line(cast.resident.household, household="", card=card.number))
    assert set(refused.value.errors) == {"card-1"}
