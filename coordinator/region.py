"""What a browser's languages say of where its reader lives: a clock and units to begin a form with."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from django.utils.translation.trans_real import parse_accept_lang_header

from households.models import Building
from households.zone_table import zones_by_country

NEAR_NOBODY: Final = "UTC"
# The zone table of the tz database lists a country's zones from one end to the other; most people of these live by:
MOST_LIVE_BY: Final = {
    "AU": "Australia/Sydney",
    "BR": "America/Sao_Paulo",
    "CA": "America/Toronto",
    "CD": "Africa/Kinshasa",
    "ID": "Asia/Jakarta",
    "KZ": "Asia/Almaty",
    "MX": "America/Mexico_City",
    "RU": "Europe/Moscow",
}
POUNDS: Final = frozenset({"US", "LR"})


@dataclass(frozen=True)
class Region:
    """Zones of the country that the browser names, the likeliest first; empty where it names none."""

    zones: tuple[str, ...]
    units: str

    @property
    def zone(self) -> str:
        return self.zones[0] if self.zones else NEAR_NOBODY

    @classmethod
    def of(cls, accept_language: str) -> "Region":
        """From a header such as `fr-CA,fr;q=0.9`: its first language with a country."""
        for language, _quality in parse_accept_lang_header(accept_language.lower()):
            country = language.rpartition("-")[2].upper()
            if zones := _zones().get(country, ()) if "-" in language else ():
                return cls(zones, str(Building.Units.US if country in POUNDS else Building.Units.METRIC))
        return cls((), str(Building.Units.METRIC))


@lru_cache(maxsize=1)
def _zones() -> dict[str, tuple[str, ...]]:
    """Country -> its zones, the likeliest first."""
    found = zones_by_country()
    first = {country: MOST_LIVE_BY.get(country, zones[0]) for country, zones in found.items()}
    return {
        country: (first[country], *(zone for zone in zones if zone != first[country]))
        for country, zones in found.items()
    }
