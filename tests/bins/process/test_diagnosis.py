"""The diagnosis against a table of published cases that was committed before it was written."""

import csv
import random
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from bins.process import diagnosis
from bins.process.causes import HOW_USUAL, Cause
from bins.process.diagnosis import diagnose, likelihood
from bins.process.findings import Band, Findings
from bins.process.likelihoods import ALMOST_ALWAYS, HARDLY, OFTEN, READINGS, SELDOM, SIGNS, SOMETIMES
from bins.process.reading import Squeeze
from bins.process.stage import Stage
from bins.process.symptom import Symptom

HERE = Path(__file__).parent
LEAST_CASES, LEAST_RIGHT, LEAST_RIGHT_OF_ANOTHER_HAND = 40, 0.9, 0.8
WORDS = (HARDLY, SELDOM, SOMETIMES, OFTEN, ALMOST_ALWAYS)
NUMBERS = {
    "drum_c": Decimal, "air_c": Decimal, "level_percent": int, "c_to_n_low": float, "c_to_n_high": float,
    "days_open": int, "days_closed": int, "turned_days_ago": int, "fresh_percent": float,
}  # fmt: skip


def cases(table: str = "diagnosis_cases.csv") -> list[tuple[Findings, Cause]]:
    with (HERE / table).open(newline="") as file:
        return [(_findings(row), Cause(row["cause"])) for row in csv.DictReader(file)]


def _findings(row: dict[str, str]) -> Findings:
    return Findings(
        stage=Stage(row["stage"]),
        symptoms=frozenset(Symptom(word) for word in row["symptoms"].split()),
        squeeze=Squeeze(row["squeeze"]) if row["squeeze"] else None,
        **{name: kind(row[name]) if row[name] else None for name, kind in NUMBERS.items()},  # type: ignore[arg-type]
    )


def first_causes(table: str = "diagnosis_cases.csv") -> list[tuple[Cause, Cause]]:
    """(expected, found) of each case."""
    return [(expected, diagnose(findings)[0].cause) for findings, expected in cases(table)]


def confusion(found: list[tuple[Cause, Cause]]) -> str:
    """One line a cause, how many of its cases were right and what the others were taken for."""
    lines = [f"{sum(e is f for e, f in found)} of {len(found)} first causes right", f"{'expected':16} right  taken for"]
    for cause in Cause:
        mine = Counter(first for expected, first in found if expected is cause)
        others = ", ".join(f"{first} {n}" for first, n in sorted(mine.items()) if first is not cause)
        lines.append(f"{cause:16} {mine[cause]:2} of {mine.total():2}  {others}".rstrip())
    return "\n".join(lines)


def test_nine_of_ten_first_causes_of_the_table_are_right() -> None:
    found = first_causes()
    print("\n" + confusion(found))
    assert len(found) >= LEAST_CASES
    assert sum(expected is first for expected, first in found) >= LEAST_RIGHT * len(found)


def test_cases_written_after_the_weights_fare_alike() -> None:
    # Written when the weights stood, and none was touched since; by the same hand, so no stranger's proof.
    found = first_causes("diagnosis_held_out.csv")
    print("\n" + confusion(found))
    assert sum(expected is first for expected, first in found) >= LEAST_RIGHT * len(found)


def test_cases_of_another_hand_fare_a_little_worse() -> None:
    # Each expected cause was written before the first run, by somebody else, who had read the weights. 33 of 40 then;
    # two weights were mended since, for reasons that name no row (DIAGNOSIS.md).
    found = first_causes("diagnosis_other_hand.csv")
    print("\n" + confusion(found))
    assert len(found) >= LEAST_CASES
    assert sum(expected is first for expected, first in found) >= LEAST_RIGHT_OF_ANOTHER_HAND * len(found)


def test_what_was_read_outweighs_what_a_sign_may_mean() -> None:
    hard = Findings(Stage.FILLING, frozenset({Symptom.HARD_TO_TURN}), squeeze=Squeeze.RIGHT, level_percent=45)
    assert diagnose(hard)[0].cause is not Cause.TOO_FULL
    assert diagnose(replace(hard, level_percent=85))[0].cause is Cause.TOO_FULL
    pieces = Findings(Stage.COMPOSTING, frozenset({Symptom.PIECES}), days_open=90, days_closed=50)
    assert diagnose(pieces)[0].cause is not Cause.TOO_DRY
    assert diagnose(replace(pieces, squeeze=Squeeze.DRY))[0].cause is Cause.TOO_DRY


def test_each_row_of_the_table_names_its_source_and_how_it_is_known() -> None:
    for table in ("diagnosis_cases.csv", "diagnosis_held_out.csv", "diagnosis_other_hand.csv"):
        with (HERE / table).open(newline="") as file:
            for row in csv.DictReader(file):
                assert len(row["source"]) > 20
                assert row["known"] in ("R", "C", "M"), "read in the publisher's text, in a copy, or from memory"


def test_the_right_cause_is_among_the_first_three_of_nearly_every_case() -> None:
    in_three = sum(expected in [one.cause for one in diagnose(findings)[:3]] for findings, expected in cases())
    assert in_three >= 0.97 * len(cases())


def test_no_single_weight_carries_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every word a step up or down by chance, every share bent: a table tuned to its cases would fall apart."""
    draws = random.Random(20261126)
    rates = []
    table = cases()
    for _ in range(40):
        signs = {
            sign: {cause: _stepped(value, draws) for cause, value in named.items()} for sign, named in SIGNS.items()
        }
        readings = tuple(
            (bands, usual, {cause: _bent(shares, draws) for cause, shares in named.items()})
            for bands, usual, named in READINGS
        )
        monkeypatch.setattr(diagnosis, "SIGNS", signs)
        monkeypatch.setattr(diagnosis, "READINGS", readings)
        rates.append(sum(diagnose(findings)[0].cause is expected for findings, expected in table) / len(table))
    print(f"\nright with bent weights: mean {sum(rates) / len(rates):.3f}, worst of {len(rates)} {min(rates):.3f}")
    assert sum(rates) / len(rates) >= 0.85
    assert min(rates) >= 0.75


def _stepped(value: float, draws: random.Random) -> float:
    return WORDS[max(0, min(len(WORDS) - 1, WORDS.index(value) + draws.choice((-1, 0, 0, 1))))]


def _bent(shares: tuple[float, ...], draws: random.Random) -> tuple[float, ...]:
    bent = [share ** draws.uniform(0.6, 1.4) for share in shares]
    return tuple(share / sum(bent) for share in bent)


def test_most_causes_are_still_found_with_one_reading_less() -> None:
    """Each case again without each of its readings in turn: visits are hurried."""
    left_out = [
        (replace(findings, **dict.fromkeys(names)), expected)
        for findings, expected in cases()
        for names in (("squeeze",), ("drum_c", "air_c"), ("level_percent",), ("c_to_n_low", "c_to_n_high"),
                      ("turned_days_ago",), ("days_closed",), ("fresh_percent",))
        if any(getattr(findings, name) is not None for name in names)
    ]  # fmt: skip
    told = [(findings, expected) for findings, expected in left_out if findings.has_complaint]
    right = sum(diagnose(findings)[0].cause is expected for findings, expected in told)
    print(f"\nright with one reading less: {right} of {len(told)}")
    assert right >= 0.8 * len(told)


def test_where_nothing_is_said_to_be_wrong_nothing_is_found() -> None:
    well = Findings(Stage.FILLING, squeeze=Squeeze.RIGHT, drum_c=Decimal(45), air_c=Decimal(20), level_percent=50)
    assert diagnose(well) == ()
    assert diagnose(replace(well, drum_c=Decimal(65))) == ()
    assert diagnose(replace(well, drum_c=Decimal("65.1")))[0].cause is Cause.TOO_HOT
    assert diagnose(replace(well, squeeze=Squeeze.DRY))[0].cause is Cause.TOO_DRY


def test_probabilities_sum_to_one_and_every_cause_is_named_once() -> None:
    for findings, _ in cases():
        ranked = diagnose(findings)
        assert sum(one.probability for one in ranked) == pytest.approx(1)
        assert {one.cause for one in ranked} == set(Cause)
        assert [one.probability for one in ranked] == sorted((one.probability for one in ranked), reverse=True)


def test_evidence_is_strongest_first_and_names_what_was_told() -> None:
    findings = Findings(Stage.FILLING, frozenset({Symptom.ROTTEN}), squeeze=Squeeze.WET, turned_days_ago=3)
    first = diagnose(findings)[0]
    assert first.cause is Cause.TOO_WET
    assert [one.clue for one in first.supports] == [Symptom.ROTTEN, Band.SQUEEZE_WET]
    dry = next(one for one in diagnose(findings) if one.cause is Cause.TOO_DRY)
    assert Band.SQUEEZE_WET in [one.clue for one in dry.opposes]


def test_the_worked_case_has_the_weights_that_its_page_prints() -> None:
    findings, expected = cases()[0]
    ranked = diagnose(findings)
    assert (ranked[0].cause, round(ranked[0].probability, 2)) == (expected, 0.95)
    assert next(round(one.probability, 2) for one in ranked if one.cause is Cause.NO_AIR) == 0.01
    assert [(one.clue, round(one.weight, 1)) for one in ranked[0].supports] == [
        (Symptom.ROTTEN, 1.7), (Band.SQUEEZE_WET, 1.4),
    ]  # fmt: skip


def test_one_fact_counts_once() -> None:
    felt = Findings(Stage.FILLING, frozenset({Symptom.WET}), squeeze=Squeeze.WET)
    assert felt.signs == frozenset()
    nearer = Findings(Stage.FILLING, frozenset({Symptom.SMELL, Symptom.AMMONIA, Symptom.ANIMALS, Symptom.FLIES}))
    assert nearer.signs == {Symptom.AMMONIA, Symptom.FLIES}
    measured = Findings(Stage.FILLING, frozenset({Symptom.COLD}), drum_c=Decimal(40), air_c=Decimal(20))
    assert measured.signs == frozenset()


@pytest.mark.parametrize(
    ("name", "value", "band"),
    [
        ("drum_c", Decimal("25.9"), Band.NO_WARMTH),
        ("drum_c", Decimal(26), Band.WARM),
        ("drum_c", Decimal("44.9"), Band.WARM),
        ("drum_c", Decimal(45), Band.HOT),
        ("drum_c", Decimal(65), Band.HOT),
        ("drum_c", Decimal("65.1"), Band.OVER_65),
        ("level_percent", 24, Band.LEVEL_LOW),
        ("level_percent", 25, Band.LEVEL_MIDDLE),
        ("level_percent", 85, Band.LEVEL_HIGH),
        ("turned_days_ago", 6, Band.TURNED_LATELY),
        ("turned_days_ago", 7, Band.TURNED_A_WHILE_AGO),
        ("turned_days_ago", 14, Band.TURNED_LONG_AGO),
        ("days_open", 21, Band.OPEN_NEWLY),
        ("days_open", 22, Band.OPEN),
        ("fresh_percent", 0.1, Band.FRESH),
    ],
)
def test_a_band_begins_at_its_edge(name: str, value: object, band: Band) -> None:
    assert band in replace(Findings(Stage.FILLING, air_c=Decimal(20)), **{name: value}).bands()  # type: ignore[arg-type]


def test_browns_are_judged_by_the_range_of_what_went_in() -> None:
    def of(low: float, high: float) -> tuple[Band, ...]:
        return Findings(Stage.FILLING, c_to_n_low=low, c_to_n_high=high).bands()

    assert Band.BROWNS_FEW in of(13, 19.9)
    assert Band.BROWNS_RIGHT in of(13, 20)
    assert Band.BROWNS_RIGHT in of(40, 90)
    assert Band.BROWNS_MANY in of(40.1, 90)


def test_impossible_findings_are_refused() -> None:
    for wrong in ({"level_percent": 101}, {"days_open": -1}, {"c_to_n_low": 12.0}, {"drum_c": Decimal(101)}):
        with pytest.raises(ValueError, match=r"percent|below|range|outside"):
            Findings(Stage.FILLING, **wrong)  # type: ignore[arg-type]


def test_every_sign_has_its_weights_and_the_shares_of_each_reading_sum_to_one() -> None:
    assert set(SIGNS) == set(Symptom)
    assert set(HOW_USUAL) == set(Cause)
    for bands, usual, named in READINGS:
        for shares in (usual, *named.values()):
            assert len(shares) == len(bands)
            assert sum(shares) == pytest.approx(1)
            assert min(shares) > 0, "nothing is impossible at a drum"
    for clue in (*Symptom, *Band):
        assert all(0 < likelihood(clue, cause) <= 1 for cause in Cause)
