"""Rule 7: fresh scraps past filling."""

from dataclasses import replace
from decimal import Decimal

import pytest

from bins.process.fresh import decide_fresh
from bins.process.proposal import Reason
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from tests.bins.process.cast import after, batch, drum, figures, filling, only, scraps

SITE = SiteSettings()
NOW = after(30)


@pytest.mark.parametrize(
    ("millilitres", "reason"),
    [(1999, Reason.FRESH_NOTED), (2000, Reason.FRESH_TOO_MUCH), (2001, Reason.FRESH_TOO_MUCH)],
)
def test_two_percent_of_a_composting_batch_is_the_edge(millilitres: int, reason: Reason) -> None:
    proposal = only(decide_fresh(drum(batch(fresh_scraps=(scraps(10, millilitres),))), SITE, NOW))
    assert proposal.reason is reason
    assert not proposal.changes_stage
    assert proposal.counts_from == (after(10) if reason is Reason.FRESH_TOO_MUCH else None)


def test_small_amounts_add_up() -> None:
    daily = tuple(scraps(day, 400) for day in range(1, 6))
    proposal = only(decide_fresh(drum(batch(fresh_scraps=daily)), SITE, NOW))
    assert proposal.reason is Reason.FRESH_TOO_MUCH
    assert proposal.counts_from == after(5)
    assert figures(proposal) == {
        "fresh_millilitres": 2000,
        "batch_millilitres": 100_000,
        "drop_offs": 5,
        "share_percent": Decimal("2.0"),
    }


def test_a_note_says_by_how_many_days_the_date_moves() -> None:
    proposal = only(decide_fresh(drum(batch(fresh_scraps=(scraps(10, 500),))), SITE, NOW))
    assert figures(proposal)["delay_days"] == 4  # 14 x 0.5 / 2 = 3.5


def test_any_scraps_send_a_curing_batch_back_to_composting() -> None:
    proposal = only(decide_fresh(drum(batch(Stage.CURING, fresh_scraps=(scraps(10, 1),))), SITE, NOW))
    assert (proposal.reason, proposal.to_stage) == (Reason.FRESH_WHILE_CURING, Stage.COMPOSTING)
    assert proposal.counts_from == after(10)


def test_scraps_in_a_ready_batch_are_for_the_caretaker_to_decide() -> None:
    proposal = only(decide_fresh(drum(batch(Stage.READY, fresh_scraps=(scraps(10, 1),))), SITE, NOW))
    assert (proposal.reason, proposal.changes_stage) == (Reason.FRESH_WHILE_READY, False)


def test_scraps_taken_out_again_or_of_an_earlier_stage_do_not_count() -> None:
    assert not decide_fresh(drum(batch(fresh_scraps=(scraps(10, 5000, removed=True),))), SITE, NOW)
    assert not decide_fresh(drum(batch(Stage.CURING, fresh_scraps=(scraps(-1, 900),))), SITE, NOW)
    assert not decide_fresh(drum(batch(fresh_scraps=(scraps(31, 900),))), SITE, NOW)
    assert not decide_fresh(drum(filling(fresh_scraps=(scraps(10, 900),))), SITE, NOW)


def test_once_the_count_began_again_the_same_scraps_say_nothing_more() -> None:
    before = batch(fresh_scraps=(scraps(10, 5000),))
    counts_from = only(decide_fresh(drum(before), SITE, NOW)).counts_from
    assert not decide_fresh(drum(replace(before, composting_since=counts_from)), SITE, NOW)


def test_a_batch_nobody_read_is_taken_to_be_at_the_close_mark() -> None:
    unread = batch(levels=(), fresh_scraps=(scraps(10, 2999),))
    assert only(decide_fresh(drum(unread), SITE, NOW)).reason is Reason.FRESH_NOTED
    unread = batch(levels=(), fresh_scraps=(scraps(10, 3000),))
    assert only(decide_fresh(drum(unread), SITE, NOW)).reason is Reason.FRESH_TOO_MUCH
