"""What is wrong with a batch, from its snapshot: what counts, for how long, and what is proposed."""

from dataclasses import replace
from decimal import Decimal

import pytest

from bins.process.causes import Cause
from bins.process.materials import KITCHEN_SCRAPS, PELLETS
from bins.process.mix import Portion
from bins.process.proposal import Rule
from bins.process.reading import Squeeze, SymptomsTold
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from bins.process.symptom import Symptom
from bins.process.trouble import VERSION, decide_trouble, findings_of, suspects_of, symptoms_now
from tests.bins.process.cast import OLD, after, batch, drum, figures, filling, heat, level, only, scraps, smell, squeeze

SITE = SiteSettings(browns="pellets")


def told(day: float, *symptoms: Symptom) -> SymptomsTold:
    return SymptomsTold(after(day), frozenset(symptoms))


def test_a_told_symptom_makes_one_proposal_that_changes_no_stage() -> None:
    rotten = filling(level(19, 60), squeezes=(squeeze(20, Squeeze.WET),), symptoms=(told(20, Symptom.ROTTEN),))
    proposal = only(decide_trouble(drum(rotten, batch()), SITE, after(21)))
    assert (proposal.rule, proposal.reason, proposal.version) == (Rule.TROUBLE, Cause.TOO_WET, VERSION)
    assert not proposal.changes_stage
    assert figures(proposal)["browns_litres"] == 22  # 120 L at 0.6 kg/L and 70 %, with pellets
    assert figures(proposal)["probability_percent"] > 60


def test_without_a_complaint_nothing_is_proposed() -> None:
    assert not decide_trouble(drum(filling(level(19, 60), squeezes=(squeeze(20),)), batch()), SITE, after(21))
    assert not suspects_of(batch(Stage.READY, symptoms=(told(20, Symptom.ROTTEN),)), SITE, after(21)), "it is finished"


@pytest.mark.parametrize(("day", "counts"), [(20, True), (34, True), (34.01, False), (19.99, False)])
def test_a_symptom_counts_for_a_fortnight(day: float, counts: bool) -> None:
    one = batch(symptoms=(told(20, Symptom.COLD),))
    assert bool(symptoms_now(one, after(day))) is counts


def test_well_again_clears_what_was_seen_before_and_not_what_comes_after() -> None:
    dry = (squeeze(18, Squeeze.DRY),)
    one = batch(symptoms=(told(18, Symptom.DRY), told(20)), squeezes=dry)
    assert not suspects_of(one, SITE, after(21))
    again = replace(one, symptoms=(*one.symptoms, told(21, Symptom.MATTED)))
    assert symptoms_now(again, after(22)) == {Symptom.MATTED}
    assert findings_of(again, SITE, after(22)).squeeze is None, "the squeeze is from before it was well"


def test_a_remedy_makes_old_readings_say_nothing() -> None:
    wet = batch(squeezes=(squeeze(18, Squeeze.WET),), symptoms=(told(18, Symptom.ROTTEN),))
    assert suspects_of(wet, SITE, after(20))
    done = replace(wet, remedied_at=after(19))
    assert not suspects_of(done, SITE, after(20))
    assert suspects_of(replace(done, remedied_at=after(25)), SITE, after(20)), "of a night that is made up for"


def test_symptoms_of_several_visits_add_up() -> None:
    one = batch(symptoms=(told(15, Symptom.ROTTEN), told(18, Symptom.LEAKING)))
    assert symptoms_now(one, after(20)) == {Symptom.ROTTEN, Symptom.LEAKING}


def test_a_bad_smell_that_was_asked_about_counts_until_it_is_gone() -> None:
    assert symptoms_now(batch(smells=(smell(18, True),)), after(20)) == {Symptom.SMELL}
    assert symptoms_now(batch(smells=(smell(18, True), smell(19, False))), after(20)) == frozenset()


def test_only_late_readings_count() -> None:
    one = batch(
        temperatures=(heat(10, "50"),), squeezes=(squeeze(10),), levels=(level(0, 50),), turned_at=after(12),
        opened_at=after(-60),
    )  # fmt: skip
    now = findings_of(one, SITE, after(17))
    assert (now.drum_c, now.squeeze, now.level_percent, now.turned_days_ago) == (Decimal(50), Squeeze.RIGHT, 50, 5)
    assert (now.days_open, now.days_closed, now.fresh_percent) == (77, 17, 0)
    later = findings_of(one, SITE, after(29))
    assert (later.drum_c, later.squeeze, later.level_percent) == (None, None, None)


def test_what_went_in_gives_the_range_of_carbon() -> None:
    went_in = (Portion(KITCHEN_SCRAPS, 20), Portion.of_litres(PELLETS, 4))
    found = findings_of(filling(went_in=went_in), SITE, after(5))
    assert found.c_to_n_low is not None
    assert found.c_to_n_high is not None
    assert found.c_to_n_low < 17 < found.c_to_n_high
    assert findings_of(filling(), SITE, after(5)).c_to_n_low is None


def test_fresh_scraps_after_closing_are_told_by_the_books() -> None:
    found = findings_of(batch(fresh_scraps=(scraps(10, 4000),)), SITE, after(20))
    assert found.fresh_percent == 4
    assert findings_of(filling(), SITE, after(20)).fresh_percent is None
    late = batch(fresh_scraps=(scraps(80, 4000),), symptoms=(told(89, Symptom.NOT_DONE),), squeezes=(squeeze(89),))
    assert suspects_of(late, SITE, after(90))[0].cause is Cause.FED_LATE


def test_the_days_to_wait_are_those_of_the_rule() -> None:
    early = batch(temperatures=(heat(19, "50"),), symptoms=(told(19, Symptom.NOT_DONE),), squeezes=(squeeze(19),))
    proposal = only(decide_trouble(drum(early), SITE, after(20)))
    assert proposal.reason is Cause.TOO_EARLY
    assert figures(proposal)["wait_days"] == 36


def test_each_troubled_batch_has_its_own_proposal_by_uid() -> None:
    both = (filling(symptoms=(told(19, Symptom.FLIES),)), batch(symptoms=(told(19, Symptom.DRY),)))
    found = decide_trouble(drum(*both), SITE, after(20))
    assert [proposal.reason for proposal in found] == [Cause.BARE_SCRAPS, Cause.TOO_DRY]
    assert found == decide_trouble(drum(*reversed(both)), SITE, after(20))
    assert found[1].batch_uid == OLD


def test_a_site_names_browns_that_can_be_measured_out() -> None:
    with pytest.raises(ValueError, match="sand"):
        SiteSettings(browns="sand")
