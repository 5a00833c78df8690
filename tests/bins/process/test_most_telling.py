"""The one measurement that would decide most, by the days at stake."""

from decimal import Decimal
from uuid import UUID

import pytest

from bins.process.asking import Wanted
from bins.process.maturity import FlaskTest, SeedTest
from bins.process.most_telling import Telling, most_telling, the_one
from bins.process.reading import LevelReading, Squeeze
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot
from bins.process.stage import Stage
from tests.bins.process.cast import OLD, after, batch, drum, filling, heat, level, smell, squeeze

SITE = SiteSettings()


def told(day: float, one: BatchSnapshot, running: frozenset[UUID] = frozenset()) -> tuple[Wanted, int] | None:
    found = most_telling(drum(one), SITE, after(day), running)
    return (found.what, found.days) if found else None


def flask(day: float) -> FlaskTest:
    return FlaskTest(after(day), Decimal(35), Decimal(20))


def test_a_full_count_that_waits_for_a_squeeze_waits_longer_every_day() -> None:
    assert told(56, batch(tests=(flask(50),))) == (Wanted.SQUEEZE, 7)
    assert told(60, batch(tests=(flask(50),))) == (Wanted.SQUEEZE, 11)
    assert told(60, batch(tests=(flask(50),), squeezes=(squeeze(55),))) is None
    assert told(60, batch(tests=(flask(50),), squeezes=(squeeze(55, Squeeze.DRY),))) == (Wanted.SQUEEZE, 11)


def test_a_bad_smell_is_asked_about_where_only_that_holds_it_up() -> None:
    smelt = batch(tests=(flask(50),), squeezes=(squeeze(55),), smells=(smell(30, True),))
    assert told(60, smelt) == (Wanted.SMELL, 11)


def test_a_cool_drum_is_read_again_since_it_might_rest_at_once() -> None:
    cool = batch(temperatures=(heat(19, "22"),), squeezes=(squeeze(19),))
    assert told(20, cool) == (Wanted.TEMPERATURE_AFTER_TURN, 36)
    assert told(20, batch(temperatures=(heat(19, "22"),))) == (Wanted.SQUEEZE, 36)
    assert told(20, batch(temperatures=(heat(19, "24"),), squeezes=(squeeze(19),))) is None


@pytest.mark.parametrize(("day", "asked"), [(27, None), (28, (Wanted.FLASK_TEST, 9)), (50, (Wanted.FLASK_TEST, 5))])
def test_the_flask_is_asked_for_from_half_way_on(day: float, asked: tuple[Wanted, int] | None) -> None:
    assert told(day, batch(squeezes=(squeeze(49),))) == asked


def test_a_flask_on_its_way_or_of_late_is_not_asked_for_again() -> None:
    assert told(30, batch(), frozenset({OLD})) is None
    assert told(30, batch(tests=(flask(20),))) is None
    assert told(42, batch(tests=(flask(20.9),))) is not None


def test_a_rested_lot_without_a_passed_test_wants_one() -> None:
    assert told(21, batch(Stage.CURING)) == (Wanted.MATURITY_TEST, 7)
    assert told(25, batch(Stage.CURING)) == (Wanted.MATURITY_TEST, 11)
    assert told(25, batch(Stage.CURING), frozenset({OLD})) is None
    assert told(25, batch(Stage.CURING, tests=(SeedTest(after(5), 4, 4),))) is None
    assert told(10, batch(Stage.CURING)) == (Wanted.FLASK_TEST, 2)


@pytest.mark.parametrize(
    ("levels", "asked"),
    [((), (Wanted.LEVEL, 14)), ((level(20, 25),), (Wanted.LEVEL, 14)), ((level(12, 25), level(20, 30)), None)],
)
def test_the_level_is_asked_for_while_a_clash_could_not_be_foreseen(
    levels: tuple[LevelReading, ...], asked: tuple[Wanted, int] | None
) -> None:
    busy = batch(tests=(flask(20),))
    found = most_telling(drum(filling(*levels), busy), SITE, after(21))
    assert ((found.what, found.days) if found else None) == asked


def test_with_an_empty_hatch_beside_it_no_level_is_asked_for() -> None:
    assert most_telling(drum(filling(), b_empty=True), SITE, after(21)) is None


def test_of_several_the_one_with_most_days_at_stake_and_the_table_breaks_ties() -> None:
    one, other = UUID(int=1), UUID(int=2)
    assert the_one([Telling(one, Wanted.LEVEL, 7), Telling(other, Wanted.SQUEEZE, 7)]) == Telling(
        other, Wanted.SQUEEZE, 7
    )
    assert the_one([Telling(one, Wanted.SQUEEZE, 7), Telling(other, Wanted.LEVEL, 8)]) == Telling(
        other, Wanted.LEVEL, 8
    )
    assert the_one([Telling(other, Wanted.SQUEEZE, 7), Telling(one, Wanted.SQUEEZE, 7)]) == Telling(
        one, Wanted.SQUEEZE, 7
    )
    assert the_one([]) is None
