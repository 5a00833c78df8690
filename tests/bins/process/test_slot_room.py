"""The room of one occurrence: what the drum still takes, spread until a further chamber is free."""

from dataclasses import replace

import pytest

from bins.process.site import SiteSettings
from bins.process.slot_room import NO_ROOM, Room, days_to_last, pails_left, room_of, takes_scraps
from bins.process.snapshot import DrumSnapshot, DrumState
from bins.process.stage import Stage

from .cast import after, batch, drum, filling, level

SETTINGS = SiteSettings()
NOW = after(14)


def pails(of: DrumSnapshot, settings: SiteSettings = SETTINGS, brought_ml: int = 0) -> int:
    return pails_left(of, settings, pail_ml=8000, browns_ml=2000, brought_ml=brought_ml, now=NOW)


def room(of: DrumSnapshot, n: int, occurrences: int, minutes: int = 60) -> Room:
    return room_of(of, pails=n, occurrences=occurrences, pail_ml=8000, browns_ml=2000, minutes=minutes)


def test_the_worked_example_of_the_module() -> None:
    open_one = filling(level(13, 35), place_litres=500)
    of = drum(open_one, batch(closed_at=after(-51), composting_since=after(-51)))
    # 40 % of 500 L are 200 L settled, 400 L as brought, 40 pails of 8 L with 2 L of browns.
    assert pails(of) == 40
    assert room(of, 40, 8) == Room(households=5, quarter_pails=20)
    # A fifth of the chamber at one time is 100 L: 10 pails, however few the occurrences.
    assert room(of, 40, 2) == Room(10, 40)
    # Twenty minutes have time for four households; their pails may be more.
    assert room(of, 40, 8, minutes=20) == Room(4, 20)


def test_room_has_to_last_until_a_further_chamber_is_free_a_week_at_least_and_four_at_most() -> None:
    of = drum(filling(level(13, 35)), batch())  # works 56 and rests 21 warm days from 1 May on
    assert [days_to_last(of, SETTINGS, after(day)) for day in (13, 48, 49, 50, 54)] == [28, 28, 28, 27, 23]
    rests = drum(filling(level(13, 35)), batch(Stage.CURING))  # 21 days
    assert [days_to_last(rests, SETTINGS, after(day)) for day in (1, 13, 14, 15, 40)] == [20, 8, 7, 7, 7]
    assert days_to_last(drum(filling(level(13, 35)), b_empty=True), SETTINGS, NOW) == 28, "both are there at once"


def test_a_free_chamber_counts_and_a_shut_one_does_not() -> None:
    # A: 200 L from 35 to 75 % are 80 L settled, 16 pails; B from nothing to 75 % is 150 L, 30 more.
    assert pails(drum(filling(level(13, 35)), b_empty=True)) == 46
    assert pails(drum(filling(level(13, 35)), b_empty=True, b_shut=True)) == 16


def test_what_was_brought_since_the_level_was_read_is_taken_off() -> None:
    of = drum(filling(level(13, 35)))
    assert pails(of, brought_ml=10_000) == 15
    assert pails(of, brought_ml=160_000) == 0
    assert pails(of, brought_ml=900_000) == 0


@pytest.mark.parametrize(("percent", "left"), [(74, 0), (75, 0), (76, 0), (72, 1), (0, 30)])
def test_nothing_is_left_at_the_close_mark_and_past_it(percent: int, left: int) -> None:
    # One percent of 200 L is 2 L settled, 4 L as brought: 74 % leaves less than a pail, 72 % one.
    assert pails(drum(filling(level(13, percent)))) == left


def test_in_winter_nothing_is_taken_to_sink() -> None:
    assert pails(drum(filling(level(13, 35))), replace(SETTINGS, winter=True)) == 8


def test_little_room_is_given_one_by_one_and_not_rounded_away() -> None:
    of = drum(filling(level(13, 70)))
    assert pails(of) == 2
    assert room(of, 2, 8) == Room(1, 4)
    assert room(of, 0, 8) == NO_ROOM


def test_a_drum_that_takes_nothing_has_no_room() -> None:
    nothing_open = drum(batch(Stage.COMPOSTING), b_empty=False)
    paused = replace(drum(filling(level(13, 35))), state=DrumState.PAUSED)
    open_one = drum(filling(level(13, 35)))
    shut = replace(open_one, places=tuple(replace(p, quarantined=p.mark == "A") for p in open_one.places))
    for of in (nothing_open, paused, shut):
        assert not takes_scraps(of)
        assert (pails(of), room(of, 9, 1)) == (0, NO_ROOM)
    assert takes_scraps(open_one)


def test_figures_that_make_no_sense_are_refused() -> None:
    of = drum(filling(level(13, 35)))
    with pytest.raises(ValueError, match="at least 1 ml"):
        pails_left(of, SETTINGS, pail_ml=0, browns_ml=0, brought_ml=0, now=NOW)
    with pytest.raises(ValueError, match="nothing or more"):
        Room(-1, 0)
