"""What can't be so is refused at the door."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from bins.process.degradability import SPLITS, Split
from bins.process.materials import MATERIALS
from bins.process.model.border import (
    Addition,
    AirReading,
    Climate,
    Future,
    HarvestReading,
    History,
    Inflow,
    Part,
    Plan,
    Site,
    Stay,
    Vessel,
)
from bins.process.model.results import Range

AT = datetime(2026, 4, 1, 23, tzinfo=UTC)
NAIVE = datetime(2026, 4, 1)  # noqa: DTZ001 (that is the fault)


def test_every_material_has_a_split_of_its_own() -> None:
    assert {material.code for material in MATERIALS} == set(SPLITS)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Vessel(4.9),
        lambda: Vessel(5001),
        lambda: Part("gravel", 1.0),
        lambda: Part("leaves", -0.1),
        lambda: Part("leaves", 1.0, moisture=1.0),
        lambda: Addition(NAIVE),
        lambda: Addition(AT, water_kg=-1),
        lambda: HarvestReading(AT, 0),
        lambda: AirReading(AT, 61),
        lambda: Climate((1.0,) * 11),
        lambda: Site((0.0,) * 3),
        lambda: Site(width=(0.0,) * 12),
        lambda: History(AT, (), Climate()),
        lambda: History(AT, (Stay(AT, Vessel(100)),), Climate(), closed_at=AT - timedelta(days=1)),
        lambda: Inflow(spread=2.1),
        lambda: Future(horizon_days=0),
        lambda: Future(turn_every_days=0),
        lambda: Plan(AT.date(), 0, 6, 1, Vessel(100), Climate()),
        lambda: Plan(AT.date(), 10, 6, 1, Vessel(100), Climate(), browns="gravel"),
        lambda: Split(0.5, 0.5, 0.1, 0.0, 0.0),
        lambda: Range(2, 1, 3),
    ],
)
def test_nonsense_raises(make: object) -> None:
    with pytest.raises(ValueError, match=r"."):
        make()  # type: ignore[operator]


def test_a_day_is_the_building_s_own_whatever_zone_an_instant_comes_in() -> None:
    history = History(AT, (Stay(AT, Vessel(100)),), Climate(), offset=timedelta(hours=2))
    assert history.day_of(AT).isoformat() == "2026-04-02"
    tokyo = AT.astimezone(timezone(timedelta(hours=9)))
    assert history.day_of(tokyo) == history.day_of(AT)
