"""What the night gathers: one drum with its places and batches, as of one instant.

A snapshot is all a rule sees. Readings later than the rule's `now` are ignored, so a missed night replayed
later decides as it would have then. Structural nonsense raises ValueError; a mere contradiction in what
people recorded (a place said to be empty while a batch stands in it) does not: the careful side is taken.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from bins.process.maturity import MaturityTest
from bins.process.mix import Portion
from bins.process.reading import (
    FreshScraps,
    LevelReading,
    SmellReading,
    SqueezeReading,
    SymptomsTold,
    TemperatureReading,
    require_aware,
)
from bins.process.stage import Stage


class PlaceKind(StrEnum):
    """A chamber takes scraps; a curing bin (tub, crate, sack) only takes a batch past filling."""

    CHAMBER = "chamber"
    CURING_BIN = "curing_bin"


class DrumState(StrEnum):
    """In service; paused (winter: no intake); out of service (its contents must go elsewhere)."""

    IN_SERVICE = "in_service"
    PAUSED = "paused"
    OUT_OF_SERVICE = "out_of_service"


@dataclass(frozen=True, slots=True)
class PlaceSnapshot:
    """A chamber or curing bin. `empty` is what a person said; `mark` is the letter on its own hatch."""

    uid: UUID
    mark: str
    empty: bool
    quarantined: bool = False
    kind: PlaceKind = PlaceKind.CHAMBER
    litres: int = 0

    def __post_init__(self) -> None:
        if not self.mark or self.litres < 0:
            raise ValueError(f"a place needs a mark and litres of 0 or more: {self.mark!r}, {self.litres}")


def _level_order(level: LevelReading) -> tuple[datetime, int, bool]:
    return level.at, level.percent, level.turned


@dataclass(frozen=True, slots=True)
class BatchSnapshot:
    """One batch as of tonight; readings may come in any order and are kept sorted by instant.

    `place_litres` is the room of its place. `closed_at` is when filling ended; `composting_since` starts the
    present count of composting days (it moves when fresh scraps send the batch back; default `closed_at`);
    `curing_since` and `ready_since` likewise. `turned_at`: its last turn; `went_in`: what the books know of its
    mix; `remedied_at`: when a person last did what was advised against a trouble, so that what was seen before says
    nothing any more. Two levels at one instant are kept: neither is the later visit.
    """

    uid: UUID
    drum_uid: UUID
    place_uid: UUID
    stage: Stage
    opened_at: datetime
    place_litres: int
    closed_at: datetime | None = None
    composting_since: datetime | None = None
    curing_since: datetime | None = None
    ready_since: datetime | None = None
    levels: tuple[LevelReading, ...] = ()
    temperatures: tuple[TemperatureReading, ...] = ()
    squeezes: tuple[SqueezeReading, ...] = ()
    smells: tuple[SmellReading, ...] = ()
    fresh_scraps: tuple[FreshScraps, ...] = ()
    tests: tuple[MaturityTest, ...] = ()
    symptoms: tuple[SymptomsTold, ...] = ()
    turned_at: datetime | None = None
    remedied_at: datetime | None = None
    went_in: tuple[Portion, ...] = ()

    def __post_init__(self) -> None:
        for name in (
            "opened_at", "closed_at", "composting_since", "curing_since", "ready_since", "turned_at", "remedied_at",
        ):  # fmt: skip
            require_aware(name, getattr(self, name))
        if self.place_litres < 1:
            raise ValueError("a batch stands in a place of at least one litre")
        if self.composting_since is None:
            object.__setattr__(self, "composting_since", self.closed_at)
        if self.stage in (Stage.COMPOSTING, Stage.CURING, Stage.READY) and self.composting_since is None:
            raise ValueError(f"a {self.stage} batch has a closed_at")
        if self.stage is Stage.CURING and self.curing_since is None:
            raise ValueError("a curing batch has a curing_since")
        if self.stage is Stage.READY and self.ready_since is None:
            raise ValueError("a ready batch has a ready_since")
        object.__setattr__(self, "levels", tuple(sorted(self.levels, key=_level_order)))
        for name in ("temperatures", "squeezes", "smells", "fresh_scraps"):
            # repr breaks a tie of instants, so that the order of gathering never decides
            object.__setattr__(self, name, tuple(sorted(getattr(self, name), key=lambda o: (o.at, repr(o)))))
        told = sorted(self.symptoms, key=lambda one: (one.at, bool(one.told), sorted(one.told)))
        object.__setattr__(self, "symptoms", tuple(told))
        object.__setattr__(self, "tests", tuple(sorted(self.tests, key=lambda o: (o.read_at, repr(o)))))


@dataclass(frozen=True, slots=True)
class DrumSnapshot:
    """A drum, its chambers and the curing bins it may use, and its batches. One filling batch at most.

    `turns_apart`: each chamber can be turned by itself.
    """

    uid: UUID
    places: tuple[PlaceSnapshot, ...]
    batches: tuple[BatchSnapshot, ...] = ()
    state: DrumState = DrumState.IN_SERVICE
    turns_apart: bool = False

    def __post_init__(self) -> None:
        if len({place.uid for place in self.places}) != len(self.places):
            raise ValueError("a place appears twice")
        if len({batch.uid for batch in self.batches}) != len(self.batches):
            raise ValueError("a batch appears twice")
        if any(batch.drum_uid != self.uid for batch in self.batches):
            raise ValueError("a batch of another drum")
        if sum(batch.stage is Stage.FILLING for batch in self.batches) > 1:
            raise ValueError("two filling batches in one drum (rule 1)")

    @property
    def filling(self) -> BatchSnapshot | None:
        """The batch that takes scraps, if there is one."""
        return next((batch for batch in self.batches if batch.stage is Stage.FILLING), None)

    def is_free(self, place: PlaceSnapshot) -> bool:
        """True when a person said it is empty, it isn't shut, and no live batch stands in it."""
        taken = {batch.place_uid for batch in self.batches if batch.stage.is_live}
        return place.empty and not place.quarantined and place.uid not in taken

    def in_stage(self, stage: Stage) -> tuple[BatchSnapshot, ...]:
        """Its batches in that stage, by uid."""
        return tuple(sorted((b for b in self.batches if b.stage is stage), key=lambda b: b.uid))
