"""Where a lot stood, and what that was made of while it stood there."""

import datetime as dt
from collections.abc import Mapping, Sequence

from bins.care.making import Made
from bins.models import Place
from bins.process.model.border import Insulation, Stay, Vents, Vessel


def vessel(place: Place, made: Made | Place, indoors: bool) -> Vessel:
    """A place as the model knows it, made as it was at the time; as it is now by the place itself."""
    return Vessel(place.litres, Insulation(made.insulation), Vents(made.vents), indoors)


def stays_of(
    places: Sequence[tuple[dt.datetime, Place]], makes: Mapping[int, tuple[Made, ...]], end: dt.datetime, indoors: bool
) -> tuple[Stay, ...]:
    """A stay for each place with the instant from which on the lot stood there, and for each new make of it before
    `end`.

    A make that was told on a later day leaves the stays of the days before as they were, and the states that are
    kept of them.
    """
    left_at = [*(at for at, _place in places[1:]), end]
    found = []
    for (at, place), left in zip(places, left_at, strict=True):
        before = [made for made in makes[place.pk] if made.since <= at]
        meanwhile = [made for made in makes[place.pk] if at < made.since < left]
        found += [Stay(max(at, made.since), vessel(place, made, indoors)) for made in (before[-1], *meanwhile)]
    return tuple(found)
