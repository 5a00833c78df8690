"""Moisture and C:N of a mix, and the bands it should lie in.

    moisture = sum(q M) / sum(q)        C:N = sum(q (1-M) C) / sum(q (1-M) N)

q wet mass, M moisture of the wet mass, C and N of the dry matter. The mean of the ingredients' ratios by wet
mass is not the ratio of the mix (a textbook problem of environmental engineering: 123.8 where 20 is right).

The C:N of a mix with wood is a range: from the carbon that takes part within weeks to all of it. A mix is in
a band when that range meets the band: then it neither lacks carbon outright nor drowns in what can be eaten.
Judging by all carbon alone would call every mix with wood starved (a bucket with pelleted bedding: 54); by the
available alone would ask for more wood than a drum holds.
"""

from dataclasses import dataclass

from bins.process.material import Material

AT_END = 1e-9  # chosen: 0.6 reached by a sum of floats is 0.6


@dataclass(frozen=True, slots=True)
class Band:
    """A closed range, both ends good. ValueError unless low <= high."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError(f"a band from {self.low} to {self.high} is empty")

    def holds(self, value: float) -> bool:
        """True at and between the ends."""
        return self.meets(value, value)

    def meets(self, low: float, high: float) -> bool:
        """True when the range low to high and the band have a value in common."""
        return low <= self.high + AT_END and self.low - AT_END <= high


# Cooperband 2002; On-Farm Composting Handbook via Saskatchewan Agriculture
MOISTURE_GOOD, MOISTURE_BEST = Band(0.40, 0.65), Band(0.50, 0.60)
C_TO_N_GOOD, C_TO_N_BEST = Band(20, 40), Band(25, 30)


@dataclass(frozen=True, slots=True)
class Portion:
    """So much of a material, in kilos as it lies (wet). ValueError below 0."""

    material: Material
    wet_kg: float

    def __post_init__(self) -> None:
        if self.wet_kg < 0:
            raise ValueError("a portion weighs 0 kg or more")

    @classmethod
    def of_litres(cls, material: Material, litres: float) -> "Portion":
        """So many loose litres; ValueError when nobody knows what a litre of it weighs."""
        if material.kg_per_litre is None:
            raise ValueError(f"no weight per litre is known for {material.code}")
        return cls(material, litres * material.kg_per_litre)

    @property
    def dry_kg(self) -> float:
        """Its dry matter."""
        return self.wet_kg * (1 - self.material.moisture)


def moisture(portions: tuple[Portion, ...], water_kg: float = 0.0) -> float:
    """Water per kilo of wet mix (0 to 1), with `water_kg` poured on. ValueError for a mix of nothing."""
    wet = sum(p.wet_kg for p in portions) + water_kg
    if wet <= 0:
        raise ValueError("a mix of nothing has no moisture")
    return (sum(p.wet_kg * p.material.moisture for p in portions) + water_kg) / wet


def c_to_n(portions: tuple[Portion, ...]) -> float:
    """All carbon over all nitrogen. ValueError when the mix holds no nitrogen."""
    return sum(p.dry_kg * p.material.carbon_dry for p in portions) / _nitrogen_kg(portions)


def available_c_to_n(portions: tuple[Portion, ...]) -> float:
    """The carbon that takes part within weeks over all nitrogen; never above `c_to_n`."""
    carbon = sum(p.dry_kg * p.material.carbon_dry * p.material.available for p in portions)
    return carbon / _nitrogen_kg(portions)


def quality(portions: tuple[Portion, ...], water_kg: float = 0.0) -> int:
    """2: moisture and C:N both in the preferred bands; 1: both in the acceptable ones; 0: not."""
    wet, low, high = moisture(portions, water_kg), available_c_to_n(portions), c_to_n(portions)
    if MOISTURE_BEST.holds(wet) and C_TO_N_BEST.meets(low, high):
        return 2
    return int(MOISTURE_GOOD.holds(wet) and C_TO_N_GOOD.meets(low, high))


def _nitrogen_kg(portions: tuple[Portion, ...]) -> float:
    nitrogen = sum(p.dry_kg * p.material.nitrogen_dry for p in portions)
    if nitrogen <= 0:
        raise ValueError("a mix without nitrogen has no C:N")
    return nitrogen
