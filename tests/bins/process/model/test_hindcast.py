"""512 members and what people read: weights that don't collapse, and nights that add up to one long run."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest

from bins.process.model.border import MEMBERS_BEHIND, PARAMETERS, AirReading, Climate, Site
from bins.process.model.draws import behind
from bins.process.model.hindcast import LEAST_EFFECTIVE, hindcast, opened, weights
from bins.process.model.maturity import potential_respiration
from bins.process.model.parameters import Draws
from bins.process.reading import LevelReading, TemperatureReading

from .told import HISTORY, READLESS, after, flask, on, without


def test_without_readings_all_members_count_alike() -> None:
    (found,) = hindcast([READLESS], on(10))
    assert (found.effective, found.temper, found.log_evidence) == (MEMBERS_BEHIND, 1.0, 0.0)
    assert found.shift == pytest.approx([0.0] * PARAMETERS, abs=0.01)
    assert found.width == pytest.approx([1.0] * PARAMETERS, abs=0.01)


def test_many_readings_are_tempered_until_32_members_count() -> None:
    many = tuple(flask(40 + at, 25) for at in range(12))
    (found,) = hindcast([without(tests=many)], on(52))
    assert found.effective >= LEAST_EFFECTIVE - 0.001
    assert 0 < found.temper < 1


def test_weights_sum_to_one_and_keep_their_order() -> None:
    evidence = -(np.arange(MEMBERS_BEHIND, dtype=np.float64) ** 2)
    share, power = weights(evidence)
    assert share.sum() == pytest.approx(1)
    assert (np.diff(share) <= 0).all()
    assert 1 / (share**2).sum() == pytest.approx(LEAST_EFFECTIVE, rel=1e-6)
    assert power < 1


def test_night_after_night_is_the_same_as_in_one_go() -> None:
    (whole,) = hindcast([HISTORY], on(35))
    (kept,) = hindcast([HISTORY], on(18))
    for day in range(19, 36):
        (kept,) = hindcast([HISTORY], on(day), [kept.kept])
    assert kept == whole


def test_a_late_row_is_put_right_from_the_state_before_it() -> None:
    late = replace(HISTORY, levels=(*HISTORY.levels, LevelReading(after(22), 60)))
    (before,) = hindcast([HISTORY], on(21))
    (again,) = hindcast([late], on(35), [before.kept])
    assert (again,) == hindcast([late], on(35))
    assert (again,) != hindcast([HISTORY], on(35))


def test_what_is_written_for_later_changes_nothing_of_today() -> None:
    later = replace(
        HISTORY,
        levels=(*HISTORY.levels, LevelReading(after(40), 10)),
        climate=Climate(readings=(AirReading(after(36), 35.0),)),
        temperatures=(*HISTORY.temperatures, TemperatureReading(after(37), Decimal(60), Decimal(30))),
    )
    assert hindcast([later], on(35)) == hindcast([HISTORY], on(35))


def test_batches_together_are_what_they_are_alone_whatever_their_days() -> None:
    other = replace(HISTORY, additions=HISTORY.additions[10:30], opened_at=after(10))
    ends = (on(35), on(25), on(30))
    histories = (HISTORY, other, without(levels=()))
    together = hindcast(histories, ends)
    assert together == tuple(hindcast([h], end)[0] for h, end in zip(histories, ends, strict=True))


def test_a_flask_reading_teaches_about_what_is_left() -> None:
    found = []
    for rise in (4, 15, 35):
        (one,) = hindcast([without(tests=(flask(80, rise),))], on(81))
        state, evidence = opened(one.kept)
        found.append(float(weights(evidence)[0] @ potential_respiration(state, Draws.of(behind()))))
    assert found[0] < found[1] < found[2]
    assert found[2] - found[0] > 4


def test_a_site_s_prior_moves_the_members() -> None:
    site = Site(shift=(0.0, 1.0) + (0.0,) * (PARAMETERS - 2), width=(0.5,) * PARAMETERS, batches=3)
    (found,) = hindcast([replace(READLESS, site=site)], on(5))
    assert found.shift[1] == pytest.approx(1.0, abs=0.01)
    assert found.width[1] == pytest.approx(0.5, abs=0.01)


def test_a_state_of_another_make_or_of_tomorrow_is_refused() -> None:
    (found,) = hindcast([HISTORY], on(5))
    with pytest.raises(ValueError, match="version"):
        hindcast([HISTORY], on(6), [replace(found.kept, version=found.kept.version + 1)])
    with pytest.raises(ValueError, match="says nothing"):
        hindcast([HISTORY], on(5) - timedelta(days=1), [found.kept])


def test_a_kept_state_is_small() -> None:
    (found,) = hindcast([HISTORY], on(3))
    assert len(found.kept.blob) == 4 * 11 * MEMBERS_BEHIND  # 22.5 kB
