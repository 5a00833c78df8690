"""The shape of a job's work: gather, decide, apply."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from households.models import Building

from .claim import Due


@dataclass(frozen=True)
class Step:
    """What each step is told: which job, its building (None for scope all), and the clock of this run."""

    due: Due
    building: Building | None
    now: dt.datetime

    @property
    def home(self) -> Building:
        assert self.building is not None, f"{self.due.name} is a job of a building"
        return self.building

    @property
    def name_space(self) -> UUID:
        """Rows made by a job take their uid from here, so that a rerun makes the same ones."""
        return uuid5(self.home.uid, f"{self.due.name} {self.due.key}")


@dataclass(frozen=True)
class Work:
    """gather(step) reads; decide(gathered) thinks or sends, with no transaction open; apply(step, decided)
    writes in one transaction with the building locked.

    reads_ledger: gather again when the building's ledger number moved meanwhile.
    moved(step, decided): the same for what the books don't hold; asked with the building locked.
    follow(step): promises the next one of a chain, in the transaction that ends this one, done or parked.
    """

    gather: Callable[[Step], Any]
    decide: Callable[[Any], Any]
    apply: Callable[[Step, Any], None]
    reads_ledger: bool = False
    moved: Callable[[Step, Any], bool] | None = None
    follow: Callable[[Step], None] | None = None
