"""Every code has words, in every language, and the words never say what a page must not say."""

import re

import pytest
from django.conf import settings
from django.utils import translation

from bins.care.visit import LEVELS
from bins.models import Contribution, Decision
from bins.process.proposal import Reason
from bins.process.stage import Stage
from coordinator import words

FIGURES = dict.fromkeys(
    (
        "level_percent", "close_mark_percent", "days_open", "longest_fill_days", "days_until_mark", "days_until_free",
        "days_short", "days_counted", "days_needed", "share_percent", "delay_days", "days_until_winter",
    ),
    7,
)  # fmt: skip
NEVER = ("compliant", "sterile", "pathogen", "safe to eat", "waste", "winner", "loser", " left ", " right ")


@pytest.mark.parametrize("reason", list(Reason))
@pytest.mark.parametrize("language", [code for code, _ in settings.LANGUAGES])
def test_every_reason_has_a_sentence_with_its_figures(reason: Reason, language: str) -> None:
    with translation.override(language):
        said = words.why(Decision(reason=str(reason), figures=FIGURES))
    assert said
    assert "%(" not in said
    assert not any(word in f" {said.lower()} " for word in NEVER)


def test_every_stage_and_every_way_of_knowing_has_a_plain_word() -> None:
    assert {str(stage) for stage in Stage} <= set(words.STAGES)
    assert set(Contribution.Known.values) == set(words.KNOWN)
    assert set(LEVELS) == set(words.LEVELS)


def test_figures_that_are_sometimes_absent_leave_no_gap() -> None:
    said = words.why(Decision(reason="clash_foreseen", figures={"days_until_mark": 6, "level_percent": 50}))
    assert "6 days" in said
    assert not re.search(r"%|None", said)


@pytest.mark.parametrize(
    ("quarters", "said"),
    [(None, ""), (2, "½ of a pail"), (4, "1 pail"), (6, "1½ pails"), (8, "2 pails"), (-4, "1 pail")],
)
def test_quarter_pails_are_said_in_pails(quarters: int | None, said: str) -> None:
    assert words.pails(quarters) == said


def test_a_whole_and_its_fraction_stay_in_order_in_a_line_from_right_to_left() -> None:
    with translation.override("ar"):
        assert "\u20661½\u2069" in words.pails(6)
