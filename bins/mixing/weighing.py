"""Ten weighed pails, each half-year, say what a litre of a building's scraps weighs.

The figure that counts is the median of the last half-year's weighed pails, per litre, so that one pail full of
melon or of onion skins moves nothing.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from statistics import median
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.mixing.pails import MOST_G
from bins.models import Pail, PailWeighing, PailWeighingAttribution
from bins.process.density import LEAST_WEIGHED_PAILS, PailWeight, calibrate_pail
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Audit, Building, Person, Site

LEAST_G_PER_L, MOST_G_PER_L = 200, 1000  # in print 240 to 900
HALF_YEAR = dt.timedelta(days=182)
SETTLING_IN = dt.timedelta(days=28)  # chosen: a new pail is first weighed once everybody is used to it


@dataclass(frozen=True)
class Weighing:
    """One full pail on a scale: gross and tare, or net where the scale was set to nought."""

    uid: UUID
    pail_uid: UUID
    happened_at: dt.datetime | None
    net_g: int
    gross_g: int | None
    tare_g: int | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `net_kg`, or `full_kg` with `empty_kg`; up to 60. Raises Refused."""
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        net, gross, tare = (reader.grams(name, MOST_G) for name in ("net_kg", "full_kg", "empty_kg"))
        uid, pail_uid = reader.uid(), reader.uid("pail")
        if net is None and gross is None:
            reader.errors.setdefault("full_kg", _("How much does the full pail weigh?"))
        elif net is None and tare is None:
            reader.errors.setdefault("empty_kg", _("How much does it weigh empty?"))
        elif net is None and gross is not None and tare is not None and gross <= tare:
            reader.errors["full_kg"] = _("The full pail must weigh more than the empty one.")
        reader.finish()
        if net is None:
            assert gross is not None and tare is not None  # noqa: PT018  (both were asked for above)
            net = gross - tare
        else:
            gross = tare = None
        return cls(uid, pail_uid, None if happened_at == nothing else happened_at, net, gross, tare)


@dataclass(frozen=True)
class Recorded:
    row: PailWeighing
    is_new: bool


def weigh_pail(*, building: Building, told: Weighing, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Add one weighed pail to the books, once a uid. Refused for a pail of elsewhere or a weight not of scraps."""
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(PailWeighing, building, told.uid, print_):
            return Recorded(known, is_new=False)
        pail = Pail.objects.within(building).filter(uid=told.pail_uid).first()
        if pail is None:
            raise Refused({"pail": _("There is no such pail here.")})
        g_per_l = told.net_g * 1000 / pail.millilitres
        if not LEAST_G_PER_L <= g_per_l <= MOST_G_PER_L:
            raise Refused(
                {
                    "full_kg": _(
                        "%(litres)s litres of scraps weigh from %(least)s to %(most)s kg. "
                        "Was it full, and are both weights right?"
                    )
                    % {
                        "litres": f"{pail.millilitres / 1000:g}",
                        "least": f"{pail.millilitres * LEAST_G_PER_L / 1e6:.1f}",
                        "most": f"{pail.millilitres * MOST_G_PER_L / 1e6:.1f}",
                    }
                }
            )
        row = ledger.add(
            PailWeighing(
                uid=told.uid,
                fingerprint=print_,
                **asdict(times(told.happened_at or now, now)),
                via=via,
                pail=pail,
                net_g=told.net_g,
                gross_g=told.gross_g,
                tare_g=told.tare_g,
                pail_ml=pail.millilitres,
            )
        )
        sign(PailWeighingAttribution, row, person)
    return Recorded(row, is_new=True)


@dataclass(frozen=True)
class PailState:
    """A pail with what the last half-year's weighings say of it."""

    pail: Pail
    weighed: int
    proposed_g_per_l: int | None  # the median, once there are ten
    full: PailWeight | None  # what a full one weighs, with its range, once there are ten
    is_due: bool  # ten are wanted: the last time is half a year ago, or it was never done

    @property
    def wants_somebody(self) -> bool:
        """Whether it stands on the list: to be weighed, or to be answered."""
        return self.is_due or self.proposed_g_per_l is not None

    @property
    def lacking(self) -> int:
        return max(0, LEAST_WEIGHED_PAILS - self.weighed)


def pail_states(building: Building, now: dt.datetime, site: Site | None = None) -> tuple[PailState, ...]:
    """Every pail of the building or one site, by site and number; two queries however many there are.

    Weighings count that are at most half a year old and younger than the last calibration: each half-year's
    ten are new ones.
    """
    today = building.local(now).date()
    pails = Pail.objects.within(building).select_related("site").order_by("site__name", "number")
    if site is not None:
        pails = pails.filter(site=site)
    rows: defaultdict[int, list[PailWeighing]] = defaultdict(list)
    weighings = PailWeighing.objects.within(building).filter(
        counts_at__gt=now - HALF_YEAR, counts_at__lte=now, reverses__isnull=True, reversed_by__isnull=True
    )
    for row in weighings.order_by("counts_at", "pk"):
        rows[row.pail_id].append(row)
    return tuple(_state(building, pail, rows[pail.pk], today) for pail in pails)


def _state(building: Building, pail: Pail, rows: list[PailWeighing], today: dt.date) -> PailState:
    since = pail.calibrated_on
    fresh = [row for row in rows if since is None or building.local(row.counts_at).date() > since]
    enough = len(fresh) >= LEAST_WEIGHED_PAILS
    due_on = since + HALF_YEAR if since else pail.measured_on + SETTLING_IN
    return PailState(
        pail=pail,
        weighed=len(fresh),
        proposed_g_per_l=round(median(row.g_per_l for row in fresh)) if enough else None,
        full=calibrate_pail(tuple(round(row.g_per_l * pail.millilitres / 1000) for row in fresh)) if enough else None,
        is_due=today >= due_on,
    )


def accept_weight(*, building: Building, uid: UUID, g_per_l: int, person: Person | None, now: dt.datetime) -> Pail:
    """The caretaker's yes to what ten weighed pails propose. Saying yes twice changes nothing.

    Refused with fewer than ten, or where a pail weighed meanwhile has moved the figure that was said yes to.
    Pail.DoesNotExist for a pail of another building.
    """
    with open_ledger(building):
        pail = Pail.objects.within(building).select_related("site").get(uid=uid)
        today = building.local(now).date()
        if pail.calibrated_on == today and pail.scraps_g_per_l == g_per_l:
            return pail  # type: ignore[no-any-return]
        state = next(state for state in pail_states(building, now, pail.site) if state.pail.pk == pail.pk)
        if state.proposed_g_per_l is None:
            raise Refused({"g_per_l": _("Ten weighed pails are needed. Nothing was changed.")})
        if state.proposed_g_per_l != g_per_l:
            raise Refused(
                {"g_per_l": _("Another pail was weighed since. Nothing was changed; look at the new figure.")}
            )
        before = pail.scraps_g_per_l
        pail.scraps_g_per_l, pail.calibrated_on = g_per_l, today
        pail.save(update_fields=["scraps_g_per_l", "calibrated_on"])
        Audit.note(building, person, "pail-calibrated", now, pail=str(uid), before=before, g_per_l=g_per_l)
    return pail  # type: ignore[no-any-return]
