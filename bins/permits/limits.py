"""Limits from an authority: typing them in, and how much of each is used. We know no law: the site says which."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final, Self
from uuid import UUID, uuid5

from django.db.models import F, Sum
from django.utils.translation import gettext as _

from bins.committee.deciding import About, write_decision
from bins.committee.ways import refuse_others
from bins.hatch import drum_states
from bins.mixing.stock import stocks
from bins.models import Batch, Contribution, Place, SiteLimit, SiteLimitAttribution
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Person, Site

What = SiteLimit.What
NEAR_PERCENT: Final = 80  # chosen: time to ask for more, or to take less
MOST: Final = 10_000_000


@dataclass(frozen=True)
class LimitTold:
    uid: UUID
    site_uid: UUID
    what: str
    figure: int | None
    source: str
    dated: dt.date | None
    why: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check: figure 1 to 10,000,000, or empty (no limit any more); source and its day. Raises Refused."""
        reader = Reader(raw)
        what = reader.choice("what", [*What.values])
        told = cls(
            uid=reader.uid(),
            site_uid=reader.uid("site"),
            what=what,
            figure=(reader.kilos if what == What.SCRAPS_YEAR else reader.litres)("figure", 1, MOST),
            source=reader.words("source", 200, _("Who says so, and in which paper?")),
            dated=reader.day("dated"),
            why=reader.words("why", 300, ""),
        )
        if told.dated is None and "dated" not in reader.errors:
            reader.errors["dated"] = _("Of which day is that paper?")
        reader.finish()
        return told


def set_limit(*, building: Building, told: LimitTold, person: Person | None, via: str, now: dt.datetime) -> SiteLimit:
    """Write a limit down, once a uid; it holds from now on. Where the committee decides, it is a decision of theirs.

    Raises Site.DoesNotExist, UidReused, and Refused for a day to come and where the committee decides and `person`
    isn't on it.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(SiteLimit, building, told.uid, print_):
            return known
        site: Site = Site.objects.within(building).get(uid=told.site_uid)
        if told.dated is None or told.dated > building.local(now).date():
            raise Refused({"dated": _("That day is still to come.")})
        refuse_others(building, site, person, now, "what")
        row = ledger.add(
            SiteLimit(
                uid=told.uid, fingerprint=print_, **asdict(times(now, now)), via=via, site=site, what=told.what,
                figure=told.figure, source=told.source, dated=told.dated,
            )
        )  # fmt: skip
        sign(SiteLimitAttribution, row, person)
        if site.decides == Site.Decides.COMMITTEE:
            write_decision(
                ledger, about=About.LIMITS, by=person, via=via, now=now, uid=uuid5(told.uid, "decision"), site=site,
                words=told.source, why=told.why, figures={"limit_on": told.what, "figure": told.figure},
            )  # fmt: skip
    return row


@dataclass(frozen=True)
class LimitState:
    """A limit that holds, and how much of it is used, in its own unit."""

    row: SiteLimit
    figure: int
    used: int

    @property
    def percent(self) -> int:
        """Rounded down: 79.9 is not near yet, 99.9 not reached."""
        return 100 * self.used // self.figure

    @property
    def is_near(self) -> bool:
        return self.percent >= NEAR_PERCENT

    @property
    def is_over(self) -> bool:
        return self.used > self.figure


def limit_states(building: Building, now: dt.datetime) -> tuple[LimitState, ...]:
    """The limits that hold, by site and kind. One query where there is none; else a fixed number more a kind."""
    newest: dict[tuple[int, str], SiteLimit] = {}
    rows = SiteLimit.objects.within(building).select_related("site").order_by("ledger_number")
    for row in rows:
        newest[row.site_id, row.what] = row
    held = [row for row in newest.values() if row.figure is not None]
    used: dict[str, Mapping[int, int]] = {}
    for what in {row.what for row in held}:
        used[what] = _USED[What(what)](building, now)
    found = [LimitState(row, row.figure or 1, used[row.what].get(row.site_id, 0)) for row in held]
    return tuple(sorted(found, key=lambda one: (one.row.site.name, one.row.site_id, What.values.index(one.row.what))))


def _scraps_year(building: Building, now: dt.datetime) -> dict[int, int]:
    """Kilos brought in the calendar year, by site; a kilo that was begun counts."""
    new_year = building.instant(dt.date(building.local(now).year, 1, 1))
    rows = Contribution.objects.within(building).filter(counts_at__gte=new_year, counts_at__lte=now)
    sums = rows.order_by().values(site=F("drum__site")).annotate(grams=Sum("scraps_g"))
    return {one["site"]: -(-one["grams"] // 1000) for one in sums}


def _stored(building: Building, now: dt.datetime) -> dict[int, int]:
    """Litres in hatches by the level last seen; a curing bin with a lot in it counts as full, the careful side."""
    litres: defaultdict[int, int] = defaultdict(int)
    for state in drum_states(building):
        litres[state.drum.site_id] += sum(
            hatch.place.litres * hatch.level_percent // 100 for hatch in state.hatches if hatch.batch
        )
    bins = Place.objects.within(building).filter(
        kind=Place.Kind.CURING_BIN, pk__in=Batch.objects.within(building).live().values("place")
    )
    for place in bins:
        litres[place.site_id] += place.litres
    return litres


def _browns(building: Building, now: dt.datetime) -> dict[int, int]:
    return {state.site.pk: state.litres or 0 for state in stocks(building, now)}


_USED: Final = {What.SCRAPS_YEAR: _scraps_year, What.STORED: _stored, What.BROWNS: _browns}
