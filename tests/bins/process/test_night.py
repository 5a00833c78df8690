"""The whole night: all rules, in a stated order, the same on every replay."""

from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bins.process.night import decide_night
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.reading import LevelReading
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from tests.bins.process.cast import OLD, after, batch, drum, filling, level, scraps, smell, squeeze

SITE = SiteSettings(winter_in_days=20)


def test_one_drum_may_hear_several_rules_in_their_order() -> None:
    rising = filling(level(45, 40), level(52, 55), level(59, 70))
    old = batch(squeezes=(squeeze(59),), fresh_scraps=(scraps(3, 100),))
    night = decide_night((drum(rising, old),), SITE, after(60))
    assert [(p.rule, p.reason) for p in night] == [
        (Rule.CLASH, Reason.CLASH_FORESEEN),
        (Rule.CURE, Reason.DAYS_COMPOSTED),
        (Rule.FRESH, Reason.FRESH_NOTED),
        (Rule.WINTER, Reason.WINTER_NEEDS_EMPTY_CHAMBER),
    ]


def test_there_is_at_most_one_proposal_a_batch_and_rule_and_stages_move_one_step() -> None:
    old = batch(squeezes=(squeeze(59),), fresh_scraps=(scraps(3, 100),))
    night = decide_night((drum(filling(level(58, 80, True), level(59, 80)), old),), SITE, after(60))
    assert len({(p.batch_uid, p.rule) for p in night}) == len(night)
    order = list(Stage)
    assert all(abs(order.index(p.to_stage) - order.index(p.from_stage)) <= 1 for p in night)


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 100), st.booleans()), max_size=8, unique_by=lambda t: t[0]),
    st.permutations(range(8)),
    st.integers(0, 40),
)
def test_order_of_readings_and_readings_yet_to_come_change_nothing(
    seen: list[tuple[int, int, bool]], order: list[int], today: int
) -> None:
    levels = [LevelReading(at=after(day), percent=percent, turned=turned) for day, percent, turned in seen]
    shuffled = [levels[i] for i in order if i < len(levels)]
    known = [one for one in levels if one.at <= after(today)]
    nights = [decide_night((drum(filling(*some), batch()),), SITE, after(today)) for some in (levels, shuffled, known)]
    assert nights[0] == nights[1] == nights[2]


def test_a_naive_night_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        decide_night((), SITE, after(1).replace(tzinfo=None))


def test_the_same_outcome_with_other_figures_only_refreshes() -> None:
    first = Proposal(
        rule=Rule.CURE,
        batch_uid=OLD,
        from_stage=Stage.COMPOSTING,
        to_stage=Stage.CURING,
        reason=Reason.DAYS_COMPOSTED,
        figures=(Figure("days_counted", 56),),
    )
    assert first.same_outcome(replace(first, figures=(Figure("days_counted", 57),)))
    assert not first.same_outcome(replace(first, reason=Reason.COOLED_DOWN))
    assert not first.same_outcome(replace(first, batch_uid=UUID(int=77)))
    with pytest.raises(ValueError, match="twice"):
        replace(first, figures=(Figure("a", 1), Figure("a", 2)))
    with pytest.raises(ValueError, match="figure"):
        Figure("not a name", 1)


def test_a_stage_goes_one_step_back_and_the_ends_do_not() -> None:
    assert {stage: stage.one_back for stage in Stage if stage.one_back} == {
        Stage.COMPOSTING: Stage.FILLING,
        Stage.CURING: Stage.COMPOSTING,
        Stage.READY: Stage.CURING,
    }
    assert [stage for stage in Stage if stage.is_live] == [
        Stage.FILLING,
        Stage.COMPOSTING,
        Stage.CURING,
        Stage.READY,
    ]


def test_what_was_seen_at_the_very_instant_of_the_night_counts() -> None:
    now = after(60)
    at_once = batch(squeezes=(squeeze(60),))
    assert [p.rule for p in decide_night((drum(at_once),), SiteSettings(), now)] == [Rule.CURE]
    smelling = replace(at_once, smells=(smell(60, True),))
    assert [p.rule for p in decide_night((drum(smelling),), SiteSettings(), now)] == [Rule.TROUBLE]
    just_now = batch(fresh_scraps=(scraps(60, 100),))
    assert [p.rule for p in decide_night((drum(just_now),), SiteSettings(), now)] == [Rule.FRESH]


def test_scraps_of_the_closing_instant_belong_to_the_filling() -> None:
    assert not decide_night((drum(batch(fresh_scraps=(scraps(0, 100),))),), SiteSettings(), after(10))
