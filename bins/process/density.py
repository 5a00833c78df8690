"""Weights, volumes and moisture by the means a yard has: a bucket, a scale, an oven; and pounds into kilos."""

from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from bins.process.mix import Portion, available_c_to_n, c_to_n, moisture

KG_PER_LITRE_OF_WATER = 1.0  # within 0.3 % from 4 to 25 °C
KG_PER_POUND = 0.45359237  # exact by definition (international yard and pound agreement 1959)
LITRES_PER_US_GALLON = 3.785411784  # exact: 231 cubic inches
CUBIC_METRES_PER_CUBIC_YARD = 0.764554857984  # exact: (0.9144 m)^3
LEAST_WEIGHED_PAILS = 10  # common practice, no source: ten weighed pails calibrate a size
T_OF_TEN = 2.262  # Student's t, 9 degrees of freedom, 95 % two-sided (from memory); more pails: on the safe side


@dataclass(frozen=True, slots=True)
class BucketTest:
    """A bucket weighed empty, full of water, full of the mix, in kilos. ValueError unless each is heavier."""

    empty_kg: float
    full_of_water_kg: float
    full_of_mix_kg: float

    def __post_init__(self) -> None:
        if not 0 <= self.empty_kg < min(self.full_of_water_kg, self.full_of_mix_kg):
            raise ValueError("a full bucket weighs more than an empty one")

    @property
    def litres(self) -> float:
        """What the bucket holds."""
        return (self.full_of_water_kg - self.empty_kg) / KG_PER_LITRE_OF_WATER

    @property
    def kg_per_litre(self) -> float:
        """Bulk density of the mix."""
        return density_kg_per_litre(self.empty_kg, self.full_of_mix_kg, self.litres)


@dataclass(frozen=True, slots=True)
class PailWeight:
    """What a full pail of one size weighs: the mean in grams and the 95 % range of that mean."""

    mean_grams: int
    low_grams: int
    high_grams: int


@dataclass(frozen=True, slots=True)
class HoldingBucket:
    """What a holding bucket makes of scraps over bedding, when it is emptied. Fractions of wet or dry mass."""

    moisture: float
    c_to_n: float
    available_c_to_n: float
    bedding_share_of_dry: float


def density_kg_per_litre(empty_kg: float, full_kg: float, litres: float) -> float:
    """Bulk density from a container of known litres (above 0), weighed empty and full. ValueError otherwise."""
    if litres <= 0 or full_kg <= empty_kg:
        raise ValueError("a container holds something and weighs more when full")
    return (full_kg - empty_kg) / litres


def moisture_by_drying(wet: float, dry: float) -> float:
    """Moisture (0 to 1) of a sample from its weight before and after the oven, in any one unit."""
    if not 0 < dry <= wet:
        raise ValueError("drying leaves something, and not more than before")
    return (wet - dry) / wet


def kg_per_cubic_metre(pounds_per_cubic_yard: float) -> float:
    """US bulk density in metric."""
    return pounds_per_cubic_yard * KG_PER_POUND / CUBIC_METRES_PER_CUBIC_YARD


def kg_per_litre(pounds_per_us_gallon: float) -> float:
    """US bulk density by the gallon in metric."""
    return pounds_per_us_gallon * KG_PER_POUND / LITRES_PER_US_GALLON


def calibrate_pail(grams: tuple[int, ...]) -> PailWeight:
    """Mean of at least ten full pails of one size, net grams above 0 each; ValueError otherwise."""
    if len(grams) < LEAST_WEIGHED_PAILS or min(grams) < 1:
        raise ValueError(f"a pail size takes {LEAST_WEIGHED_PAILS} weighed pails, none of them empty")
    mean, half = fmean(grams), T_OF_TEN * stdev(grams) / sqrt(len(grams))
    return PailWeight(round(mean), max(0, round(mean - half)), round(mean + half))


def holding_bucket(bedding: Portion, scraps: Portion) -> HoldingBucket:
    """The mix of a holding bucket. Ten kilos of wood in it hardly feed anything: read the available C:N."""
    both = (bedding, scraps)
    dry = bedding.dry_kg + scraps.dry_kg
    return HoldingBucket(moisture(both), c_to_n(both), available_c_to_n(both), bedding.dry_kg / dry)
