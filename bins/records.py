"""Reading a record that somebody sent: one validator for page, API, import and offline flush."""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from bins.units import G_PER_LB, ML_PER_FL_OZ, ML_PER_GALLON, US

# What no record is about: a date beyond is a slip or an attack, and the calendar ends shortly behind some of them.
FIRST_YEAR, LAST_YEAR = 1900, 2200
# What nobody can see or type and no database, letter or printed page can take: control signs but the blank ones, halves
# of a pair, no characters; and the marks that turn all that follows round, by which a name passes for another.
UNSEEN = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")


def seen(text: str) -> str:
    """A text as somebody reads it: without signs that nobody can see."""
    return UNSEEN.sub("", text)


class Refused(Exception):
    """Nothing was kept: field -> what is wrong with it and what would be right, in the reader's language."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(f"{name}: {text}" for name, text in errors.items()))
        self.errors = dict(errors)


@dataclass
class Reader:
    """Takes values out of a raw mapping, collecting all that is wrong before refusing.

    Values may be text (a form, a sheet) or JSON's own types. Numbers accept comma and point. Absent and
    empty count alike. A form of a building that counts in pounds says so in a field `units` of its own: its
    weights are then pounds and its volumes gallons. Here, and nowhere else, they become grams and millilitres.
    """

    raw: Mapping[str, Any]
    errors: dict[str, str] = field(default_factory=dict)

    def _text(self, name: str) -> str:
        value = self.raw.get(name)
        if value is None or isinstance(value, list | dict):
            return ""
        return seen(str(value)).strip()

    def uid(self, name: str = "uid") -> UUID:
        try:
            return UUID(self._text(name))
        except ValueError:
            self.errors[name] = _("A UUID is needed, made once by whoever writes the record down.")
            return UUID(int=0)

    def instant(self, name: str, otherwise: dt.datetime) -> dt.datetime:
        """An instant with its offset, of the years 1900 to 2200; `otherwise` where none was told."""
        text = self._text(name)
        if not text:
            return otherwise
        try:
            value = parse_datetime(text)
            if value is None or value.tzinfo is None or not FIRST_YEAR <= value.year <= LAST_YEAR:
                raise ValueError
            return value.astimezone(dt.UTC)
        except (ValueError, OverflowError):
            self.errors[name] = _("A date and time with offset is needed, such as 2026-11-25T18:30:00+01:00.")
            return otherwise

    def day(self, name: str) -> dt.date | None:
        """A calendar day of the years 1900 to 2200; None where none was told."""
        text = self._text(name)
        if not text:
            return None
        try:
            day = dt.date.fromisoformat(text)
            if not FIRST_YEAR <= day.year <= LAST_YEAR:
                raise ValueError
            return day
        except ValueError:
            self.errors[name] = _("A day is needed, such as 2026-11-25.")
            return None

    def choice(self, name: str, allowed: Mapping[str, Any] | list[str], otherwise: str = "") -> str:
        text = self._text(name) or otherwise
        if text not in allowed:
            self.errors[name] = _("One of these is needed: %(choices)s.") % {"choices": ", ".join(allowed)}
        return text

    def words(self, name: str, most: int, needed: str) -> str:
        """Text up to `most` characters; `needed` is the question to repeat where it must not be empty."""
        text = " ".join(self._text(name).split())
        if needed and not text:
            self.errors[name] = needed
        elif len(text) > most:
            self.errors[name] = _("At most %(most)s characters fit here.") % {"most": most}
        return text

    def yes(self, name: str) -> bool:
        text = self._text(name).lower()
        if text not in ("true", "yes", "on", "1", "false", "no", "off", "0", ""):
            self.errors[name] = _("Yes or no is needed.")
        return text in ("true", "yes", "on", "1")

    def whole(self, name: str, least: int, most: int, otherwise: int | None = None) -> int | None:
        """A whole number in a closed range; `otherwise` where none was told."""
        text = self._text(name)
        if not text:
            return otherwise
        number = _number(text)
        if number is None or number != int(number) or not least <= number <= most:
            self.errors[name] = _("A whole number from %(least)s to %(most)s is needed.") % {
                "least": least,
                "most": most,
            }
            return otherwise
        return int(number)

    def halves(self, name: str, most: int) -> int:
        """A number of wholes and halves from 0 to `most`, as halves; 0 where none was told."""
        text = self._text(name)
        number = _number(text) if text else 0.0
        if number is None or number * 2 != int(number * 2) or not 0 <= number <= most:
            self.errors[name] = _("A number from 0 to %(most)s is needed; a half is fine.") % {"most": most}
            return 0
        return int(number * 2)

    def thousandths(self, name: str, most: int) -> int | None:
        """A decimal number as thousandths, above 0 up to `most` thousandths."""
        return self._measured(name, 1000, most)

    @property
    def is_us(self) -> bool:
        """Whether whoever sent this counts in pounds and gallons."""
        return self.raw.get("units") == US

    def in_units(self, metric: str, us: str) -> str:
        """Of two sentences the one in the sender's own units."""
        return us if self.is_us else metric

    def grams(self, name: str, most: int) -> int | None:
        """Kilograms or pounds as grams, above 0 up to `most` grams."""
        return self._measured(name, G_PER_LB if self.is_us else 1000, most)

    def millilitres(self, name: str, most: int) -> int | None:
        """Litres or gallons as millilitres, above 0 up to `most` millilitres."""
        return self._measured(name, ML_PER_GALLON if self.is_us else 1000, most)

    def litres(self, name: str, least: int, most: int) -> int | None:
        """Whole litres in a closed range; gallons, with decimals, to the nearest litre."""
        if not self.is_us:
            return self.whole(name, least, most)
        return self._nearest(name, ML_PER_GALLON / 1000, least, most)

    def kilos(self, name: str, least: int, most: int) -> int | None:
        """Whole kilos in a closed range; pounds, with decimals, to the nearest kilo."""
        if not self.is_us:
            return self.whole(name, least, most)
        return self._nearest(name, G_PER_LB / 1000, least, most)

    def cup_ml(self, name: str, least: int, most: int, otherwise: int | None = None) -> int | None:
        """Whole millilitres in a closed range; fluid ounces, with decimals, to the nearest millilitre."""
        if not self.is_us:
            return self.whole(name, least, most, otherwise)
        found = self._nearest(name, ML_PER_FL_OZ, least, most)
        return otherwise if found is None else found

    def _measured(self, name: str, factor: float, most: int) -> int | None:
        text = self._text(name)
        if not text:
            return None
        number = _number(text)
        if number is None or not 0 < round(number * factor) <= most:
            self.errors[name] = _("A number above 0, at most %(most)s, is needed.") % {"most": int(most / factor)}
            return None
        return round(number * factor)

    def _nearest(self, name: str, factor: float, least: int, most: int) -> int | None:
        text = self._text(name)
        if not text:
            return None
        number = _number(text)
        if number is None or not least <= round(number * factor) <= most:
            self.errors[name] = _("A number from %(least)s to %(most)s is needed.") % {
                "least": ceil(least / factor),
                "most": int(most / factor),
            }
            return None
        return round(number * factor)

    def tenths(self, name: str, least: int, most: int) -> int | None:
        """A decimal number as tenths, in a closed range of tenths (-600 to 1000: -60.0 to 100.0)."""
        text = self._text(name)
        if not text:
            return None
        number = _number(text.replace("−", "-"))
        if number is None or not least <= round(number * 10) <= most:
            self.errors[name] = _("A number from %(least)s to %(most)s is needed.") % {
                "least": least // 10,
                "most": most // 10,
            }
            return None
        return round(number * 10)

    def finish(self) -> None:
        if self.errors:
            raise Refused(self.errors)


def _number(text: str) -> float | None:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return None
    return number if abs(number) < 1e9 else None


def as_mapping(data: Any) -> Mapping[str, Any]:
    """The body of a request as a mapping; Refused for a list, a number or nothing. Its amounts are metric."""
    if not isinstance(data, Mapping):
        raise Refused({"body": _("One record, as a JSON object, is needed.")})
    return {name: _metric(value) for name, value in data.items() if name != "units"}


def _metric(value: Any) -> Any:
    """The same value, in which nothing says that it is in pounds."""
    if isinstance(value, Mapping):
        return {name: _metric(inner) for name, inner in value.items() if name != "units"}
    return [_metric(inner) for inner in value] if isinstance(value, list) else value
