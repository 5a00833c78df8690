"""What somebody measured of a lot: tubs struck level, all in one tub, and weights where a scale was there."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.models.harvest import TUB
from bins.process.density import KG_PER_LITRE_OF_WATER
from bins.records import Reader

# A person tells tenths or quarters of the last tub: nearer than that nobody strikes it.
PARTS = {
    "0": 0, "0.1": 100_000, "0.2": 200_000, "0.25": 250_000, "0.3": 300_000, "0.4": 400_000, "0.5": 500_000,
    "0.6": 600_000, "0.7": 700_000, "0.75": 750_000, "0.8": 800_000, "0.9": 900_000,
}  # fmt: skip
MOST_TUBS = 1000
MOST_GRAMS = 5_000_000
MOST_TUB_ML = 60_000
LEAST_TUB_ML = 1_000
MOST_TUB_G = 100_000
MOST_OVERS_ML = 2_000_000


@dataclass(frozen=True)
class TubWeights:
    """One tub on a scale, in grams: empty, full of water, full of compost; None for what nobody weighed."""

    empty_g: int | None = None
    water_g: int | None = None
    full_g: int | None = None

    @property
    def holds_ml(self) -> int | None:
        """What the tub holds, by the water in it: a kilo of water is a litre. None where that wasn't weighed."""
        if self.empty_g is None or self.water_g is None:
            return None
        return round((self.water_g - self.empty_g) / KG_PER_LITRE_OF_WATER)

    def net_g(self, millionths: int) -> int | None:
        """What so many millionths of a tub weigh, by the full one; None where none was weighed."""
        if self.empty_g is None or self.full_g is None:
            return None
        return round((self.full_g - self.empty_g) * millionths / TUB)


@dataclass(frozen=True)
class Measured:
    """One measurement as it was told: whole tubs and a part of the last, all in one tub struck level."""

    uid: UUID
    corrects: UUID | None  # the measurement that this one takes the place of
    happened_at: dt.datetime | None
    whole_tubs: int
    part_millionths: int
    tub_ml: int | None
    weighed_g: int | None
    overs_ml: int
    tub: TubWeights = TubWeights()
    more: bool = False  # more of the lot is inside still, or this was found after it was taken out

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        whole_tubs: 0 to 1000; part: tenths or quarters; tub_litres: 1 to 60. Weights in kilograms, all optional:
        kilograms (net, up to 5000), gross_kilograms (with the tub each time; needs tub_empty_kg), tub_empty_kg,
        tub_water_kg (full of water: says what the tub holds), tub_full_kg (one tub full of compost).
        overs_litres: up to 2000. is_empty: yes, said by a person who looked; or more: yes. all_measured: yes,
        where everything stands in parts already and nothing is left to count.
        """
        reader = Reader(dict(raw) | {"part": str(raw.get("part") or "0").replace(",", ".")})
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        whole_tubs = reader.whole("whole_tubs", 0, MOST_TUBS) or 0
        part = PARTS.get(reader.choice("part", PARTS, "0"), 0)
        more, is_empty = reader.yes("more"), reader.yes("is_empty")
        is_counted = bool(whole_tubs or part) or (reader.yes("all_measured") and not more)
        if not is_counted and not reader.errors:
            reader.errors["whole_tubs"] = _("How many tubs came out? Count whole tubs, struck level.")
        tub = _tub(reader)
        tub_ml = tub.holds_ml or _tub_ml(reader)
        if more == is_empty and "is_empty" not in reader.errors:
            reader.errors["is_empty"] = _(
                "Is it empty now, or is more inside? Say one of the two: its hatch opens again once it is empty."
            )
        told = cls(
            uid=reader.uid(),
            corrects=reader.uid("corrects") if raw.get("corrects") else None,
            happened_at=None if happened_at == nothing else happened_at,
            whole_tubs=whole_tubs,
            part_millionths=part,
            tub_ml=tub_ml,
            weighed_g=_weighed(reader, tub, whole_tubs * TUB + part),
            overs_ml=_overs(reader),
            tub=tub,
            more=more,
        )
        reader.finish()
        return told


def _tub_ml(reader: Reader) -> int | None:
    tub_ml = reader.millilitres("tub_litres", MOST_TUB_ML)
    if tub_ml is not None and tub_ml < LEAST_TUB_ML:
        reader.errors["tub_litres"] = tub_range(reader)
    return tub_ml


def tub_range(reader: Reader) -> str:
    """What to say of a tub that can't be."""
    return reader.in_units(_("A tub holds 1 to 60 litres."), _("A tub holds from a third of a gallon to 15 gallons."))


def _tub(reader: Reader) -> TubWeights:
    names = ("tub_empty_kg", "tub_water_kg", "tub_full_kg")
    tub = TubWeights(*(reader.grams(name, MOST_TUB_G) for name in names))
    for name, full in (("tub_water_kg", tub.water_g), ("tub_full_kg", tub.full_g)):
        if full is not None and tub.empty_g is None and "tub_empty_kg" not in reader.errors:
            reader.errors["tub_empty_kg"] = _("How much does the tub weigh empty?")
        elif full is not None and tub.empty_g is not None and full <= tub.empty_g:
            reader.errors[name] = _("The full tub must weigh more than the empty one.")
    holds_ml = tub.holds_ml
    if holds_ml is not None and not LEAST_TUB_ML <= holds_ml <= MOST_TUB_ML and "tub_water_kg" not in reader.errors:
        reader.errors["tub_water_kg"] = tub_range(reader)
    return tub


def _weighed(reader: Reader, tub: TubWeights, millionths: int) -> int | None:
    """Net grams of all tubs: as told, or gross less the tub each time it was filled, or by one full tub."""
    net, gross = reader.grams("kilograms", MOST_GRAMS), reader.grams("gross_kilograms", MOST_GRAMS)
    if net is not None or gross is None:
        return net if net is not None else tub.net_g(millionths)
    if tub.empty_g is None:
        reader.errors.setdefault("tub_empty_kg", _("How much does the tub weigh empty?"))
        return None
    net = gross - tub.empty_g * -(-millionths // TUB)  # the last tub was weighed too, if only a part was in it
    if net <= 0:
        reader.errors["gross_kilograms"] = _("All tubs together must weigh more than the tubs alone.")
    return net


def _overs(reader: Reader) -> int:
    """Millilitres left in the sieve: nothing told and a plain zero count alike."""
    if reader.raw.get("overs_litres") in (0, "0"):
        return 0
    return reader.millilitres("overs_litres", MOST_OVERS_ML) or 0
