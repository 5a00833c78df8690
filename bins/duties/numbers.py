"""Two numbers of a site's rota: how near a duty is when it stays as it is, and how far apart a household's are."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from bins.records import Reader
from households.ledger import open_ledger
from households.models import Audit, Building, Person, Site


@dataclass(frozen=True)
class DutyNumbers:
    notice_days: int
    days_apart: int  # 0: no rule; 1: not twice a day; 2: not two days running

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(reader.whole("notice_days", 0, 14, 3) or 0, reader.whole("days_apart", 0, 7, 0) or 0)
        reader.finish()
        return told


def set_numbers(*, building: Building, site: Site, told: DutyNumbers, person: Person | None, now: dt.datetime) -> None:
    """Keep them; they count from the next plan on."""
    with open_ledger(building):
        site.duty_notice_days, site.duty_days_apart = told.notice_days, told.days_apart
        site.save(update_fields=["duty_notice_days", "duty_days_apart"])
        Audit.note(building, person, "duty-numbers-set", now, site=str(site.uid))
