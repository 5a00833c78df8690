"""The one number of cups: advised by the mix, accepted by a person, at most once a month."""

import datetime as dt

import pytest

from bins.mixing.browns import (
    Advice,
    BrownsTold,
    accept_number,
    advise,
    month_after,
    tell_browns,
    tell_stock,
)
from bins.models import Amendment
from bins.process.amendment import Goal, NotAchievable
from bins.process.browns import SignNumber
from bins.process.materials import BROWNS_BY_CODE
from bins.records import Refused
from households.models import Audit, Site
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def advice_with(cast: Cast, browns: str, cup_ml: int) -> Advice:
    with inside(cast.building.uid) as here:
        tell_browns(
            building=here, site_uid=cast.drum.site.uid, told=BrownsTold(browns, cup_ml, "bring"),
            person=cast.caretaker, now=NOW,
        )  # fmt: skip
        (advice,) = advise(here)
    return advice


def accept(cast: Cast, half_cups: int, now: dt.datetime = NOW) -> Site:
    with inside(cast.building.uid) as here:
        return accept_number(
            building=here, site_uid=cast.drum.site.uid, half_cups=half_cups, person=cast.caretaker, now=now
        )


def test_the_advice_names_number_moisture_and_c_to_n(cast: Cast) -> None:
    advice = advice_with(cast, "pellets", 1000)
    assert isinstance(advice.says, SignNumber)
    # By hand: 8 L at 0.45 kg/L is 3.6 kg with 2.88 L of water in it; three cups of pellets are 1.95 kg at 8 %.
    # (2.88 + 0.156) / 5.55 = 54.7 %; two cups leave 60.9 %, just above the band that works best.
    assert (advice.half_cups, advice.says.preferred, advice.differs) == (6, True, True)
    assert advice.says.moisture == pytest.approx(0.547, abs=0.0005)
    assert advice.says.available_c_to_n <= 30 <= advice.says.c_to_n


def test_browns_that_no_amount_of_helps_are_said_with_those_that_would(cast: Cast) -> None:
    advice = advice_with(cast, "leaves", 1000)
    assert isinstance(advice.says, NotAchievable)
    assert (advice.half_cups, advice.differs, advice.says.ingredient) == (None, False, "pellets")


def test_a_cup_too_small_is_said_with_the_cup_that_would_do(cast: Cast) -> None:
    says = advice_with(cast, "sawdust", 250).says
    assert isinstance(says, NotAchievable)
    assert says.goal is Goal.CUP_TOO_SMALL
    assert says.least_cup_litres is not None
    assert isinstance(advice_with(cast, "sawdust", round(1000 * says.least_cup_litres)).says, SignNumber)


def test_yes_changes_the_number_and_notes_who_and_when(cast: Cast) -> None:
    advice_with(cast, "pellets", 1000)
    site = accept(cast, 6)
    assert (site.half_cups_per_pail, site.cups_per_pail, site.cups_changed_on) == (6, 3, dt.date(2026, 5, 4))
    with inside(cast.building.uid) as here:
        note = Audit.objects.within(here).get(act="cups-changed")
    assert (note.person, note.detail["before"], note.detail["half_cups"]) == (cast.caretaker, 4, 6)


def test_yes_twice_changes_nothing_more(cast: Cast) -> None:
    advice_with(cast, "pellets", 1000)
    accept(cast, 6)
    accept(cast, 6, NOW + dt.timedelta(days=1))
    with inside(cast.building.uid) as here:
        assert Audit.objects.within(here).filter(act="cups-changed").count() == 1


@pytest.mark.parametrize(
    ("at", "may"),
    [
        (dt.datetime(2026, 6, 3, 21, 59, tzinfo=dt.UTC), False),  # one minute before midnight in Berlin
        (dt.datetime(2026, 6, 3, 22, 0, tzinfo=dt.UTC), True),  # 4 June begins there
        (dt.datetime(2026, 6, 5, 8, 0, tzinfo=dt.UTC), True),
    ],
)
def test_the_number_changes_at_most_once_a_month(cast: Cast, at: dt.datetime, may: bool) -> None:
    advice_with(cast, "pellets", 1000)
    accept(cast, 6)
    advised = advice_with(cast, "pellets", 500).half_cups
    assert advised == 10  # five half-litre cups: four are two litres, which leaves 60.9 %
    if may:
        assert accept(cast, 10, at).half_cups_per_pail == 10
    else:
        with pytest.raises(Refused) as refused:
            accept(cast, 10, at)
        assert "June 4, 2026" in refused.value.errors["half_cups"]
        with inside(cast.building.uid) as here:
            assert Site.objects.within(here).get().half_cups_per_pail == 6


def test_another_number_than_the_one_advised_by_now_is_refused(cast: Cast) -> None:
    advice_with(cast, "pellets", 1000)
    with pytest.raises(Refused):
        accept(cast, 12)


@pytest.mark.parametrize(
    ("day", "after"),
    [
        (dt.date(2026, 5, 4), dt.date(2026, 6, 4)),
        (dt.date(2026, 1, 31), dt.date(2026, 2, 28)),
        (dt.date(2028, 1, 31), dt.date(2028, 2, 29)),
        (dt.date(2026, 12, 15), dt.date(2027, 1, 15)),
    ],
)
def test_a_month_ends_on_the_same_day_of_the_next_or_on_its_last(day: dt.date, after: dt.date) -> None:
    assert month_after(day) == after


def test_no_browns_left_is_told_once_and_taken_back(cast: Cast) -> None:
    def tell(is_out: bool, now: dt.datetime) -> Site:
        with inside(cast.building.uid) as here:
            return tell_stock(building=here, site_uid=cast.drum.site.uid, is_out=is_out, person=cast.caretaker, now=now)

    assert tell(True, NOW).browns_out_since == NOW
    assert tell(True, NOW + dt.timedelta(hours=1)).browns_out_since == NOW
    assert tell(False, NOW + dt.timedelta(days=2)).browns_out_since is None


def test_a_sites_browns_are_those_that_the_mix_room_knows() -> None:
    assert set(Site.Browns.values) == set(BROWNS_BY_CODE) == set(Amendment.Material.values) - {"water"}


def test_every_fault_of_what_is_told_is_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        BrownsTold.from_raw({"browns": "gravel", "cup_ml": "49", "without_browns": "maybe"})
    assert set(refused.value.errors) == {"browns", "cup_ml", "without_browns"}
