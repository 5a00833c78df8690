"""One drum with hatches A and B, a curing bin K, and short names for readings. Dates are literal."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

from bins.process.proposal import Proposal
from bins.process.reading import (
    FreshScraps,
    LevelReading,
    SmellReading,
    Squeeze,
    SqueezeReading,
    TemperatureReading,
)
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage

DRUM, A, B, BIN, OPEN, OLD = (UUID(int=n) for n in range(1, 7))
CLOSED = datetime(2026, 5, 1, 6, 0, tzinfo=UTC)  # the old batch closed; May to September is warm by the means


def after(days: float, start: datetime = CLOSED) -> datetime:
    return start + timedelta(days=days)


def level(days: float, percent: int, turned: bool = False) -> LevelReading:
    return LevelReading(at=after(days), percent=percent, turned=turned)


def heat(days: float, drum_c: str, air_c: str | None = "18", turned: bool = True) -> TemperatureReading:
    return TemperatureReading(
        at=after(days), drum_c=Decimal(drum_c), air_c=None if air_c is None else Decimal(air_c), turned=turned
    )


def squeeze(days: float, felt: Squeeze = Squeeze.RIGHT) -> SqueezeReading:
    return SqueezeReading(at=after(days), felt=felt)


def smell(days: float, bad: bool) -> SmellReading:
    return SmellReading(at=after(days), bad=bad)


def scraps(days: float, millilitres: int, removed: bool = False) -> FreshScraps:
    return FreshScraps(at=after(days), millilitres=millilitres, removed=removed)


def batch(stage: Stage = Stage.COMPOSTING, /, **more: object) -> BatchSnapshot:
    """The old batch in B: 200 L, level 50 % at its closing, 100 L; curing and ready begin at CLOSED too."""
    known: dict[str, object] = {
        "uid": OLD,
        "drum_uid": DRUM,
        "place_uid": B,
        "stage": stage,
        "opened_at": after(-60),
        "place_litres": 200,
        "closed_at": CLOSED,
        "curing_since": CLOSED if stage in (Stage.CURING, Stage.READY) else None,
        "ready_since": CLOSED if stage is Stage.READY else None,
        "levels": (level(0, 50),),
    }
    return BatchSnapshot(**(known | more))  # type: ignore[arg-type]


def filling(*levels: LevelReading, **more: object) -> BatchSnapshot:
    """The open batch in A."""
    known: dict[str, object] = {
        "uid": OPEN,
        "place_uid": A,
        "opened_at": CLOSED,
        "closed_at": None,
        "levels": levels,
    }
    return batch(Stage.FILLING, **(known | more))


def drum(*batches: BatchSnapshot, b_empty: bool = False, bin_litres: int = 0, b_shut: bool = False) -> DrumSnapshot:
    places = [
        PlaceSnapshot(uid=A, mark="A", empty=False, litres=200),
        PlaceSnapshot(uid=B, mark="B", empty=b_empty, quarantined=b_shut, litres=200),
    ]
    if bin_litres:
        places.append(PlaceSnapshot(uid=BIN, mark="K", empty=True, kind=PlaceKind.CURING_BIN, litres=bin_litres))
    return DrumSnapshot(uid=DRUM, places=tuple(places), batches=batches)


def only(proposals: tuple[Proposal, ...]) -> Proposal:
    (proposal,) = proposals
    return proposal


def figures(proposal: Proposal) -> dict[str, int | Decimal]:
    return {figure.name: figure.value for figure in proposal.figures}
