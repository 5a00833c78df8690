"""A household at a split: what counts for it, what it asks for, what is owed to it."""

from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Claimant:
    """One household. Pass every household that carries a credit, also one that took no part in this batch.

    `weight`: what the rule goes by (0 took no part; 1 each under the equal rule; grams, minutes). `request`:
    whole tubs asked for, read by the request rule only. `credit`: millionths of
    a tub owed to it from earlier splits (negative: it is ahead). `to_garden`: what falls to it goes to the
    beds. `to_neighbours`: what falls to it is divided among the others by the same rule. Raises ValueError on a
    negative weight or request, or on both gifts.
    """

    uid: UUID
    weight: int = 1
    credit_millionths: int = 0
    request_tubs: int | None = None
    to_garden: bool = False
    to_neighbours: bool = False

    def __post_init__(self) -> None:
        if self.weight < 0 or (self.request_tubs is not None and self.request_tubs < 0):
            raise ValueError("weight and request are 0 or more")
        if self.to_garden and self.to_neighbours:
            raise ValueError("a share is given to the beds or to the neighbours")

    @property
    def gives(self) -> bool:
        """Whether it takes nothing: its share goes to the beds or to the others."""
        return self.to_garden or self.to_neighbours
