"""The rest of the set-up, once the building stands: each answer has a default in force, and can be changed."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Self
from uuid import uuid5

from bins.committee.ways import KEPT, set_kept
from bins.mixing.browns import BrownsTold, advise, tell_browns
from bins.models import Batch, Contribution
from bins.records import Reader
from households.cards import MOST_HOUSEHOLDS
from households.ledger import open_ledger
from households.models import Audit, Building, Person, SetupStep, Site

# In the order in which they are asked, after the six before the first pail.
STEPS: Final = ("accepted", "browns", "permissions", "access", "opening", "decides", "sharing", "households")


def site_of(building: Building) -> Site:
    """The place that the set-up speaks of: the building's first."""
    site: Site = Site.objects.within(building).order_by("pk")[0]
    return site


def answered(building: Building) -> frozenset[str]:
    """The steps that somebody has answered. One query."""
    return frozenset(SetupStep.objects.within(building).values_list("step", flat=True))


def mark_answered(*, building: Building, step: str, now: dt.datetime) -> None:
    """Remember that a step was answered; once."""
    SetupStep.objects.get_or_create(
        building=building, step=step, defaults={"uid": uuid5(building.uid, f"step {step}"), "answered_at": now}
    )


def _access(reader: Reader) -> Any:
    return reader.words("access", 300, "")


def _opening(reader: Reader) -> Any:
    return reader.choice("opening", [*Site.Opening.values], Site.Opening.OPEN)


def _decides(reader: Reader) -> Any:
    return reader.choice("decides", [*Site.Decides.values], Site.Decides.CARETAKER)


def _households(reader: Reader) -> Any:
    return reader.whole("households", 1, MOST_HOUSEHOLDS)


# Step -> the field of the site that it sets, and how it is read.
_PLAIN: Final[dict[str, tuple[str, Callable[[Reader], Any]]]] = {
    "access": ("access", _access),
    "opening": ("opening", _opening),
    "decides": ("decides", _decides),
    "households": ("households_expected", _households),
}


@dataclass(frozen=True)
class SiteAnswer:
    """One plain answer: a field of the site and its value."""

    field: str
    value: Any

    @classmethod
    def from_raw(cls, step: str, raw: Mapping[str, Any]) -> Self:
        """access: up to 300 characters; opening; decides; households: 1 to 500, or nothing. Refused, KeyError."""
        field, read = _PLAIN[step]
        reader = Reader(raw)
        value = read(reader)
        reader.finish()
        return cls(field, value)


def set_answer(*, building: Building, site: Site, told: SiteAnswer, person: Person | None, now: dt.datetime) -> None:
    """Keep one plain answer. Saying it twice changes nothing. Refused for what the committee keeps to itself."""
    with open_ledger(building) as ledger:
        if getattr(site, told.field) == told.value:
            return
        if told.field in KEPT:
            set_kept(ledger, site, told.field, told.value, by=person, now=now)
            return
        setattr(site, told.field, told.value)
        site.save(update_fields=[told.field])
        Audit.note(building, person, "site-arranged", now, site=str(site.uid), **{told.field: told.value})


def arrange_browns(
    *, building: Building, site: Site, told: BrownsTold, person: Person | None, now: dt.datetime
) -> Site:
    """Keep the kind of browns and, before anybody brought a pail by it, put the advised number in force at once.

    Later the number waits for a yes on the page of browns, once a month: it stands on printed signs.
    """
    with open_ledger(building):
        changed = tell_browns(building=building, site_uid=site.uid, told=told, person=person, now=now)
        is_first = not SetupStep.objects.within(building).filter(step="browns").exists()
        if not is_first and Contribution.objects.within(building).filter(drum__site=site).exists():
            return changed
        advice = next(one for one in advise(building) if one.site.pk == site.pk)
        if advice.half_cups is not None and advice.differs:
            changed.half_cups_per_pail = advice.half_cups
            changed.save(update_fields=["half_cups_per_pail"])
    return changed


def pass_terms_on(*, building: Building, site: Site) -> None:
    """Give the site's rule of sharing to open batches that nobody has brought anything into.

    The rule in force when a batch opens is its own; these opened an hour before anybody was asked for the rule.
    """
    with open_ledger(building):
        fresh = Batch.objects.within(building).filter(drum__site=site, stage="filling")
        brought = Contribution.objects.within(building).filter(batch__isnull=False).values("batch")
        fresh.exclude(pk__in=brought).update(**site.terms)
