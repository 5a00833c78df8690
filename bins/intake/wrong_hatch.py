"""Scraps that went into a hatch that wasn't the open one. They are recorded, and nobody is named."""

import datetime as dt
from collections import defaultdict
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from bins.decisions.gather import place_at
from bins.models import Batch, Contribution, Drum, Movement, Place
from bins.records import Refused
from households.models import Building

SHOWN = dt.timedelta(days=7)  # chosen: on the list for a week; the rules remember longer


def where_it_went(
    building: Building, drum: Drum, place_uid: UUID | None, at: dt.datetime
) -> tuple[Batch | None, Place | None]:
    """The batch that a drop-off belongs to, and the hatch where that wasn't the open one.

    Without a hatch named it is the batch that was filling then, even if it has closed since. Raises Refused for
    a hatch of another drum.
    """
    filling: Batch | None = Batch.objects.within(building).filter(drum=drum).filling_at(at).first()
    if place_uid is None:
        return filling, None
    place: Place | None = Place.objects.within(building).filter(drum=drum, uid=place_uid).first()
    if place is None:
        raise Refused({"place": _("Which hatch was it?")})
    standing = _standing_in(building, place, at)
    if standing is not None and filling is not None and standing.pk == filling.pk:
        return filling, None
    return standing, place


def lately(building: Building, now: dt.datetime) -> list[Contribution]:
    """Wrong hatches of the last days, newest first, with place and drum and without a household. One query."""
    return list(
        Contribution.objects.within(building)
        .filter(place__isnull=False, counts_at__gt=now - SHOWN, reverses__isnull=True, reversed_by__isnull=True)
        .select_related("place", "drum", "batch__place", "batch__drum")
        .order_by("-counts_at", "-pk")
    )


def _standing_in(building: Building, place: Place, at: dt.datetime) -> Batch | None:
    """The batch that stood in a place at an instant."""
    candidates = list(
        Batch.objects.within(building)
        .living_at(at)
        .filter(Q(place=place) | Q(started_in=place) | Q(movements__to_place=place))
        .distinct()
    )
    moves: defaultdict[int, list[Movement]] = defaultdict(list)
    rows = Movement.objects.within(building).filter(batch__in=candidates, reversed_by__isnull=True)
    for movement in rows.order_by("counts_at", "ledger_number"):
        moves[movement.batch_id].append(movement)
    return next((one for one in candidates if place_at(one, moves[one.pk], at) == place.pk), None)
