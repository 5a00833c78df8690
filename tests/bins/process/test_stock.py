"""The store of browns: the published reorder point, days of cover, what may lie where."""

import pytest

from bins.process.stock import (
    Caution,
    Room,
    Weeks,
    cautions,
    days_of_cover,
    largest_store_litres,
    reorder_point_litres,
    weekly_litres,
)


def test_the_reorder_point_in_print() -> None:
    # Z5, worked out: 12 households, 4.9 L a week each, 1:1; 2 weeks' delivery, 1 week's review, 2 weeks' safety
    weekly = weekly_litres(12, 4.9, 1.0)
    assert round(weekly, 1) == 58.8
    assert Weeks().together == 5
    assert reorder_point_litres(weekly, Weeks(delivery=2, review=1, safety=2)) == 294


@pytest.mark.parametrize(
    ("litres", "weekly", "days"),
    [(294, 58.8, 35), (58.8, 58.8, 7), (58.7, 58.8, 6), (8.4, 58.8, 1), (8.3, 58.8, 0), (0, 58.8, 0), (-5, 58.8, 0),
     (100, 0, None)],
)  # fmt: skip
def test_days_of_cover_are_whole_and_never_below_nothing(litres: float, weekly: float, days: int | None) -> None:
    assert days_of_cover(litres, weekly) == days


@pytest.mark.parametrize(
    ("kind", "room", "own", "litres"),
    [
        ("pellets", Room.CLOSED, None, 300),
        ("pellets", Room.AIRED, None, 1000),
        ("shavings", Room.CLOSED, None, 500),
        ("pellets", Room.CLOSED, 120, 120),  # what the insurer says wins
    ],
)
def test_how_much_may_lie_in_one_place(kind: str, room: Room, own: int | None, litres: int) -> None:
    assert largest_store_litres(kind, room, own) == litres


def test_pellets_under_a_roof_of_their_own_warn_of_the_gas_and_all_browns_of_the_way_out() -> None:
    assert cautions("pellets", Room.CLOSED)[0] is Caution.CARBON_MONOXIDE
    assert Caution.CARBON_MONOXIDE in cautions("pellets", Room.AIRED)
    assert Caution.CARBON_MONOXIDE not in cautions("pellets", Room.OUTDOORS)
    assert Caution.CARBON_MONOXIDE not in cautions("leaves", Room.CLOSED)
    for room in Room:
        assert Caution.ESCAPE_ROUTE in cautions("leaves", room)


@pytest.mark.parametrize("weeks", [(-1, 1, 2), (2, 27, 2), (2, 1, -1)])
def test_spans_are_up_to_half_a_year(weeks: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="26"):
        Weeks(*weeks)


def test_nobody_uses_less_than_nothing() -> None:
    with pytest.raises(ValueError, match="nothing"):
        weekly_litres(-1, 4.9, 1)
    with pytest.raises(ValueError, match="nothing"):
        reorder_point_litres(-1, Weeks())
