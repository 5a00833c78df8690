"""What a household can't do: said by itself, without a reason, and taken back as easily."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from bins.records import Reader
from households.ledger import open_ledger
from households.models import Building, DutyLimits, Household, Site


@dataclass(frozen=True)
class LimitsTold:
    cannot_lift: bool
    carry_for_me: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(reader.yes("cannot_lift"), reader.yes("carry_for_me"))
        reader.finish()
        return told


def set_limits(*, building: Building, household: Household, told: LimitsTold) -> None:
    """Keep what the household says now; without any limit nothing is kept. Plans that stand are not changed."""
    with open_ledger(building):
        if not (told.cannot_lift or told.carry_for_me):
            DutyLimits.objects.within(building).filter(household=household, stays_out=False).delete()
            if not DutyLimits.objects.within(building).filter(household=household).exists():
                return
        values = {"cannot_lift": told.cannot_lift, "carry_for_me": told.carry_for_me}
        DutyLimits.objects.update_or_create(building=building, household=household, defaults=values)


def to_carry_for(building: Building, site: Site | None = None) -> list[str]:
    """Households whose pail somebody carries down, by label; of one site or of all. One query."""
    rows = DutyLimits.objects.within(building).filter(carry_for_me=True, household__left_on__isnull=True)
    if site is not None:
        rows = rows.filter(household__assignment__drum__site=site)
    return list(rows.order_by("household__label").values_list("household__label", flat=True))


def limits_of(building: Building, household: Household) -> LimitsTold:
    """What a household has said. One query."""
    row = DutyLimits.objects.within(building).filter(household=household).first()
    return LimitsTold(row.cannot_lift, row.carry_for_me) if row else LimitsTold(False, False)
