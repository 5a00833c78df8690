"""Which time zones lie in which country, from the tz database's own table."""

from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=1)
def zones_by_country() -> dict[str, tuple[str, ...]]:
    """ISO 3166 country -> its zones, in the table's order (from one end of the country to the other)."""
    table = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8")
    found: dict[str, list[str]] = {}
    for line in table.splitlines():
        if line and not line.startswith("#"):
            country, _place, zone = line.split("\t")[:3]
            found.setdefault(country, []).append(zone)
    return {country: tuple(zones) for country, zones in found.items()}


def country_of(zone: str) -> str:
    """The country of a time zone; empty for one that is nobody's, such as UTC."""
    return next((country for country, zones in zones_by_country().items() if zone in zones), "")
