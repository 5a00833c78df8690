"""The stages of a batch, in trade words. Pages use the plain words of the words table."""

from enum import StrEnum


class Stage(StrEnum):
    """Where a batch stands. The values are stored and exported: never rename one."""

    FILLING = "filling"
    COMPOSTING = "composting"
    CURING = "curing"
    READY = "ready"
    HARVESTED = "harvested"
    DISCARDED = "discarded"
    MERGED = "merged"

    @property
    def is_live(self) -> bool:
        """True while the batch still stands in a place (filling to ready)."""
        return self not in (Stage.HARVESTED, Stage.DISCARDED, Stage.MERGED)

    @property
    def one_back(self) -> "Stage | None":
        """The stage one step back (any stage may go back one step with a reason), None at either end.

        A harvested, discarded or merged batch has left its place; nothing puts it back.
        """
        return _ONE_BACK.get(self)


_ONE_BACK = {
    Stage.COMPOSTING: Stage.FILLING,
    Stage.CURING: Stage.COMPOSTING,
    Stage.READY: Stage.CURING,
}
