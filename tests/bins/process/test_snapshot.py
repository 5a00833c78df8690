"""The border of the room: what is taken and what is refused, at the edges."""

from decimal import Decimal
from uuid import UUID

import pytest

from bins.process.material import Material
from bins.process.maturity import BagTest
from bins.process.reading import FreshScraps
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, PlaceSnapshot
from bins.process.stage import Stage
from tests.bins.process.cast import CLOSED, after, batch, drum, filling, heat


def test_settings_take_their_edges_and_refuse_what_lies_beyond() -> None:
    assert SiteSettings(close_mark_percent=100, least_fill_percent=100, longest_fill_days=1, curing_days=1)
    for nonsense in (
        {"least_fill_percent": 0},
        {"least_fill_percent": 76},
        {"close_mark_percent": 101},
        {"longest_fill_days": 0},
        {"composting_days": 0},
        {"curing_days": 0},
        {"foresight_days": 0},
    ):
        with pytest.raises(ValueError, match=r"percent|at least one day"):
            SiteSettings(**nonsense)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="twelve"):
        SiteSettings(air_c_by_month=(Decimal(1),) * 11)
    with pytest.raises(ValueError, match="°C"):
        SiteSettings(warm_above_c=Decimal("NaN"))


def test_a_place_has_a_mark_and_no_negative_litres() -> None:
    assert PlaceSnapshot(uid=UUID(int=1), mark="A", empty=True, litres=0)
    with pytest.raises(ValueError, match="mark"):
        PlaceSnapshot(uid=UUID(int=1), mark="", empty=True)
    with pytest.raises(ValueError, match="mark"):
        PlaceSnapshot(uid=UUID(int=1), mark="A", empty=True, litres=-1)


@pytest.mark.parametrize(
    ("stage", "missing"),
    [
        (Stage.COMPOSTING, "closed_at"),
        (Stage.CURING, "curing_since"),
        (Stage.READY, "ready_since"),
    ],
)
def test_a_stage_knows_since_when(stage: Stage, missing: str) -> None:
    with pytest.raises(ValueError, match=missing):
        batch(stage, **{missing: None})


def test_composting_counts_from_the_closing_unless_it_began_again() -> None:
    assert batch().composting_since == CLOSED
    assert batch(composting_since=after(5)).composting_since == after(5)


def test_a_batch_stands_in_at_least_a_litre_and_in_one_drum() -> None:
    assert batch(place_litres=1)
    with pytest.raises(ValueError, match="litre"):
        batch(place_litres=0)
    with pytest.raises(ValueError, match="another drum"):
        drum(batch(drum_uid=UUID(int=99)))
    with pytest.raises(ValueError, match="twice"):
        drum(batch(), batch())
    place = drum().places[0]
    with pytest.raises(ValueError, match="twice"):
        DrumSnapshot(uid=UUID(int=1), places=(place, place))


def test_impossible_readings_are_refused() -> None:
    assert heat(1, "100")
    assert heat(1, "-60")
    for degrees in ("100.1", "-60.1", "NaN"):
        with pytest.raises(ValueError, match="outside"):
            heat(1, degrees)
    assert FreshScraps(at=after(1), millilitres=1)
    with pytest.raises(ValueError, match="none"):
        FreshScraps(at=after(1), millilitres=0)
    assert not BagTest(started_at=after(1), read_at=after(1), bad_smell=False).passed


@pytest.mark.parametrize("name", ["opened_at", "closed_at", "curing_since"])
def test_naive_instants_are_refused(name: str) -> None:
    with pytest.raises(ValueError, match="time zone"):
        batch(Stage.CURING, **{name: CLOSED.replace(tzinfo=None)})


def test_a_material_takes_its_edges_and_refuses_what_lies_beyond() -> None:
    assert Material("carbon", 1, 0, 0, 0)
    for wrong in (
        {"moisture": 1.0},
        {"moisture": -0.1},
        {"available": 1.1},
        {"nitrogen_dry": -0.1},
        {"carbon_dry": -0.1},
        {"carbon_dry": 1.1},
        {"kg_per_litre": 0.0},
    ):
        values: dict[str, float] = {"carbon_dry": 0.4, "nitrogen_dry": 0.02, "moisture": 0.5} | wrong
        with pytest.raises(ValueError, match="x"):
            Material("x", **values)


def test_the_filling_batch_of_a_drum_is_found() -> None:
    assert drum(batch(), filling()).filling == filling()
    assert drum(batch()).filling is None
    assert drum(batch(), filling()).in_stage(Stage.COMPOSTING) == (batch(),)
    assert isinstance(drum(batch()).batches[0], BatchSnapshot)
