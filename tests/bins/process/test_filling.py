"""Rule 2, the choice of the next chamber, and rule 4, each before, at and after its edge."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from bins.process.filling import caretaker_closes, decide_filling
from bins.process.night import decide_night
from bins.process.proposal import Proposal, Reason, Rule
from bins.process.reading import LevelReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage

DRUM, A, B, BIN, BATCH, OLD = (UUID(int=n) for n in range(1, 7))
OPENED = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
NOW = datetime(2026, 4, 1, 2, 0, tzinfo=UTC)
SITE = SiteSettings()


def level(day: int, percent: int, turned: bool = False) -> LevelReading:
    return LevelReading(at=datetime(2026, 3, day, 18, 0, tzinfo=UTC), percent=percent, turned=turned)


def drum(*levels: LevelReading, b_empty: bool = True, b_shut: bool = False, opened: datetime = OPENED) -> DrumSnapshot:
    filling = BatchSnapshot(
        uid=BATCH,
        drum_uid=DRUM,
        place_uid=A,
        stage=Stage.FILLING,
        opened_at=opened,
        place_litres=200,
        levels=levels,
    )
    places = (
        PlaceSnapshot(uid=A, mark="A", empty=False, litres=200),
        PlaceSnapshot(uid=B, mark="B", empty=b_empty, quarantined=b_shut, litres=200),
    )
    return DrumSnapshot(uid=DRUM, places=places, batches=(filling,))


def only(proposals: tuple[Proposal, ...]) -> Proposal:
    (proposal,) = proposals
    return proposal


def test_a_level_at_the_mark_after_a_turn_and_again_closes_into_the_next_chamber() -> None:
    proposal = only(decide_filling(drum(level(20, 75, turned=True), level(23, 75)), SITE, NOW))
    assert (proposal.rule, proposal.reason) == (Rule.CLOSE, Reason.LEVEL_AT_MARK)
    assert (proposal.from_stage, proposal.to_stage) == (Stage.FILLING, Stage.COMPOSTING)
    assert proposal.next_place_uid == B
    assert proposal.version == "days-1"
    assert {f.name: f.value for f in proposal.figures} == {
        "days_open": 30,
        "longest_fill_days": 60,
        "close_mark_percent": 75,
        "level_percent": 75,
    }


@pytest.mark.parametrize(
    ("levels", "closes"),
    [
        ((level(20, 75, True),), False),  # not seen again
        ((level(20, 75, True), level(23, 74)), False),  # it sank
        ((level(20, 74, True), level(23, 75)), False),  # wasn't at the mark after the turn
        ((level(20, 75), level(23, 75)), False),  # no turn
        ((level(20, 75), level(23, 75, True)), False),  # the turned one isn't seen again yet
        ((level(20, 75), level(23, 75, True), level(25, 75)), True),
        ((level(20, 76, True), level(23, 76), level(25, 76)), True),  # stays closed on later nights
        ((level(20, 75, True), level(22, 74), level(25, 75)), False),  # the run was broken
        ((level(20, 100, True), level(23, 100, True)), True),
    ],
)
def test_only_a_turned_reading_at_the_mark_that_is_seen_again_closes(
    levels: tuple[LevelReading, ...], closes: bool
) -> None:
    assert bool(decide_filling(drum(*levels), SITE, NOW)) is closes


def test_two_readings_at_one_instant_are_not_two_visits() -> None:
    assert not decide_filling(drum(level(20, 75, True), level(20, 80)), SITE, NOW)
    assert not decide_filling(drum(level(20, 75), level(20, 80, True)), SITE, NOW)


def test_readings_may_arrive_in_any_order() -> None:
    assert decide_filling(drum(level(23, 75), level(20, 75, True)), SITE, NOW)


def test_a_reading_made_after_the_night_does_not_count_in_a_replay() -> None:
    seen = drum(level(20, 75, True), level(23, 75))
    assert not decide_filling(seen, SITE, datetime(2026, 3, 23, 17, 59, tzinfo=UTC))
    assert decide_filling(seen, SITE, datetime(2026, 3, 23, 18, 0, tzinfo=UTC))


@pytest.mark.parametrize(("b_empty", "b_shut"), [(False, False), (True, True)])
def test_at_the_mark_with_no_empty_chamber_the_drum_is_full(b_empty: bool, b_shut: bool) -> None:
    full = drum(level(20, 80, True), level(23, 80), b_empty=b_empty, b_shut=b_shut)
    proposal = only(decide_filling(full, SITE, NOW))
    assert proposal.reason is Reason.NO_EMPTY_PLACE
    assert proposal.next_place_uid is None


def test_a_chamber_called_empty_in_which_a_batch_stands_is_not_empty() -> None:
    one = drum(level(20, 80, True), level(23, 80))
    old = BatchSnapshot(
        uid=OLD,
        drum_uid=DRUM,
        place_uid=B,
        stage=Stage.COMPOSTING,
        opened_at=OPENED - timedelta(days=60),
        closed_at=OPENED,
        place_litres=200,
    )
    proposal = only(decide_filling(replace(one, batches=(*one.batches, old)), SITE, NOW))
    assert proposal.reason is Reason.NO_EMPTY_PLACE


def test_an_empty_curing_bin_never_opens_for_scraps() -> None:
    one = drum(level(20, 80, True), level(23, 80), b_empty=False)
    bin_ = PlaceSnapshot(uid=BIN, mark="K", empty=True, kind=PlaceKind.CURING_BIN, litres=200)
    proposal = only(decide_filling(replace(one, places=(*one.places, bin_)), SITE, NOW))
    assert proposal.next_place_uid is None


@pytest.mark.parametrize(("hours", "closes"), [(-1, False), (0, True), (1, True)])
def test_the_longest_fill_closes_a_half_full_chamber_at_sixty_days_to_the_hour(hours: int, closes: bool) -> None:
    half = drum(level(20, 50))
    now = OPENED + timedelta(days=60, hours=hours)
    proposals = decide_filling(half, SITE, now)
    assert bool(proposals) is closes
    if closes:
        assert only(proposals).reason is Reason.PAST_LONGEST_FILL


@pytest.mark.parametrize(("percent", "closes"), [(49, False), (50, True), (51, True)])
def test_the_longest_fill_needs_a_chamber_at_least_half_full(percent: int, closes: bool) -> None:
    assert bool(decide_filling(drum(level(20, percent)), SITE, OPENED + timedelta(days=61))) is closes


def test_a_date_alone_never_shuts_a_site() -> None:
    late = OPENED + timedelta(days=400)
    assert not decide_filling(drum(level(20, 60), b_empty=False), SITE, late)
    assert not decide_filling(drum(level(20, 60), b_shut=True), SITE, late)
    assert not decide_filling(drum(), SITE, late)


def test_in_winter_a_date_does_not_close_but_a_level_does() -> None:
    winter = replace(SITE, winter=True)
    late = OPENED + timedelta(days=61)
    assert decide_filling(drum(level(20, 60)), SITE, late)
    assert not decide_filling(drum(level(20, 60)), winter, late)
    assert decide_filling(drum(level(20, 75, True), level(23, 75)), winter, late)


@pytest.mark.parametrize("state", [DrumState.PAUSED, DrumState.OUT_OF_SERVICE])
def test_a_drum_that_takes_nothing_gets_no_closing(state: DrumState) -> None:
    still = replace(drum(level(20, 75, True), level(23, 75)), state=state)
    assert not decide_filling(still, SITE, NOW)


def test_the_caretaker_closes_at_any_level_and_the_next_chamber_is_named() -> None:
    proposal = caretaker_closes(drum(level(20, 10)), SITE, NOW)
    assert proposal is not None
    assert (proposal.reason, proposal.next_place_uid) == (Reason.CARETAKER_CLOSES, B)
    assert caretaker_closes(replace(drum(), batches=()), SITE, NOW) is None


def test_marks_go_round() -> None:
    one = drum(level(20, 75, True), level(23, 75))
    in_b = replace(one.batches[0], place_uid=B)
    places = (replace(one.places[0], empty=True), replace(one.places[1], empty=False))
    proposal = only(decide_filling(replace(one, batches=(in_b,), places=places), SITE, NOW))
    assert proposal.next_place_uid == A


def test_the_night_gives_the_same_answer_in_any_order_of_drums() -> None:
    one = drum(level(20, 75, True), level(23, 75))
    other_uid, other_batch = UUID(int=0), UUID(int=99)
    other = replace(one, uid=other_uid, batches=(replace(one.batches[0], uid=other_batch, drum_uid=other_uid),))
    night = decide_night((one, other), SITE, NOW)
    assert night == decide_night((other, one), SITE, NOW)
    assert [proposal.batch_uid for proposal in night] == [other_batch, BATCH]


def test_nonsense_is_refused_at_the_border() -> None:
    with pytest.raises(ValueError, match="0 to 100"):
        level(20, 101)
    with pytest.raises(ValueError, match="time zone"):
        LevelReading(at=datetime(2026, 3, 1), percent=50)  # noqa: DTZ001
    one = drum()
    with pytest.raises(ValueError, match="two filling"):
        replace(one, batches=(one.batches[0], replace(one.batches[0], uid=OLD)))
    with pytest.raises(ValueError, match="appears twice"):
        decide_night((drum(), drum()), SITE, NOW)
    with pytest.raises(ValueError, match="mark"):
        SiteSettings(close_mark_percent=40)
