"""What composting itself gives off, by the IPCC's default factors. An estimate for a report, never a measurement.

Carbon dioxide from the scraps themselves is not counted: it was in the air before (IPCC 2006, vol. 5, ch. 4).
"""

from dataclasses import dataclass
from enum import StrEnum

# IPCC 2006 Guidelines, vol. 5, table 4.1, composting, per kg of wet matter: default and range (range from memory).
CH4_G_PER_KG = (0.03, 4.0, 8.0)
N2O_G_PER_KG = (0.06, 0.24, 0.6)


class Assessment(StrEnum):
    """Whose warming over 100 years is taken: of methane that is not fossil, and of nitrous oxide."""

    AR5 = "ar5"  # IPCC, Fifth Assessment Report, table 8.A.1: 28 and 265
    AR6 = "ar6"  # IPCC, Sixth Assessment Report, table 7.15: 27.0 and 273


WARMING = {Assessment.AR5: (28.0, 265.0), Assessment.AR6: (27.0, 273.0)}


@dataclass(frozen=True)
class Emission:
    """Grams of CO2 equivalent: as the default factors give it, and with the lowest and highest in print."""

    low_g: float
    co2e_g: float
    high_g: float


def emission(wet_mass_kg: float, assessment: Assessment) -> Emission:
    """Of so much wet matter composted, 0 kg or more. ValueError below."""
    if not wet_mass_kg >= 0:
        raise ValueError(f"no mass: {wet_mass_kg}")
    methane, nitrous = WARMING[assessment]
    low, middle, high = (
        wet_mass_kg * (ch4 * methane + n2o * nitrous) for ch4, n2o in zip(CH4_G_PER_KG, N2O_G_PER_KG, strict=True)
    )
    return Emission(low, middle, high)
