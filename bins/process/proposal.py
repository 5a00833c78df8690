"""A decision as data: what, why, the figures it rests on. Never a sentence: that would freeze a language."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from uuid import UUID

from bins.process.causes import Cause
from bins.process.reading import require_aware
from bins.process.stage import Stage

VERSION = "days-1"  # 56 days composting, 21 curing, readings; raise it when a rule changes


class Rule(StrEnum):
    """Which chamber rule speaks. One open proposal per batch and rule."""

    CLOSE = "2-close"  # rule 2, and rule 4 when no place is empty
    CLASH = "4-clash"  # rule 4's foresight
    CURE = "5-cure"
    READY = "6-ready"
    FRESH = "7-fresh-scraps"
    WINTER = "10-winter"
    TROUBLE = "trouble"  # what is wrong with it; the reason is a Cause


class Reason(StrEnum):
    """Why; `coordinator.words` has a sentence for each in every language. Stored: never rename one."""

    LEVEL_AT_MARK = "level_at_mark"  # read after a turn and again at a later visit
    PAST_LONGEST_FILL = "past_longest_fill"  # and half full, and another chamber empty
    CARETAKER_CLOSES = "caretaker_closes"
    NO_EMPTY_PLACE = "no_empty_place"  # at the mark, nowhere to go on: the drum is full
    CLASH_FORESEEN = "clash_foreseen"
    CLASH_CURING_BIN_FREE = "clash_curing_bin_free"  # same, and a batch past composting could move to a bin
    COOLED_DOWN = "cooled_down"
    DAYS_COMPOSTED = "days_composted"
    CURED_AND_TESTED = "cured_and_tested"
    FRESH_NOTED = "fresh_noted"
    FRESH_TOO_MUCH = "fresh_too_much"
    FRESH_WHILE_CURING = "fresh_while_curing"
    FRESH_WHILE_READY = "fresh_while_ready"  # the caretaker decides: take it out, or back
    WINTER_NEEDS_EMPTY_CHAMBER = "winter_needs_empty_chamber"


@dataclass(frozen=True, slots=True)
class Figure:
    """One named number behind a decision. The unit is in the name (`level_percent`, `days_open`)."""

    name: str
    value: int | Decimal

    def __post_init__(self) -> None:
        if not self.name.isidentifier() or isinstance(self.value, bool):
            raise ValueError(f"a figure is an identifier and a number, not {self.name!r}: {self.value!r}")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change of stage proposed for one batch, or (to_stage equal to from_stage) a thing to be decided.

    `next_place_uid` is the chamber that opens instead, None if none does. `counts_from`: the count of
    composting days starts anew at that instant (rule 7). Raises ValueError on figures named twice, or on a
    reason that belongs to no rule.
    """

    rule: Rule
    batch_uid: UUID
    from_stage: Stage
    to_stage: Stage
    reason: Reason | Cause
    next_place_uid: UUID | None = None
    counts_from: datetime | None = None
    figures: tuple[Figure, ...] = ()
    version: str = VERSION

    def __post_init__(self) -> None:
        require_aware("counts_from", self.counts_from)
        if len({figure.name for figure in self.figures}) != len(self.figures):
            raise ValueError("a figure is named twice")
        if not self.version:
            raise ValueError("a proposal names the version of its rules")

    @property
    def changes_stage(self) -> bool:
        """False for a note, a warning or a question to the caretaker."""
        return self.from_stage is not self.to_stage

    def same_outcome(self, other: "Proposal") -> bool:
        """True when both say the same for the same batch, whatever the figures: then only figures refresh."""
        mine = (self.rule, self.batch_uid, self.from_stage, self.to_stage, self.reason, self.next_place_uid)
        theirs = (other.rule, other.batch_uid, other.from_stage, other.to_stage, other.reason, other.next_place_uid)
        return mine == theirs
