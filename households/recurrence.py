"""Days that return: RFC 5545 rules, expanded on the building's own clock and only then turned into instants.

In local time first, or a slot at six would come at five after October. An hour that a spring's change skips is
counted with the offset before it, an hour that comes twice is the first one (RFC 5545, 3.3.5).
"""

import datetime as dt
import re
from zoneinfo import ZoneInfo

from dateutil.rrule import rrule, rrulestr

# No hours and minutes in a rule: the wall time stands beside it, and one day has one occurrence. No BYSETPOS: "2SA"
# says the second Saturday.
ALLOWED = {"FREQ", "INTERVAL", "COUNT", "UNTIL", "BYDAY", "BYMONTHDAY", "BYMONTH", "WKST"}
NUMBER = r"0*[1-9]\d{0,3}"
DAY = r"(?:MO|TU|WE|TH|FR|SA|SU)"
# No 29th to 31st, which not every month has: "-1" says the last day.
SHAPES = {
    "FREQ": r"DAILY|WEEKLY|MONTHLY|YEARLY",
    "INTERVAL": NUMBER,
    "COUNT": NUMBER,
    "UNTIL": r"\d{8}(T\d{6}Z?)?",
    "BYDAY": rf"([+-]?[1-4])?{DAY}(,([+-]?[1-4])?{DAY})*",
    "BYMONTHDAY": r"-?([1-9]|1\d|2[0-8])(,-?([1-9]|1\d|2[0-8]))*",
    "BYMONTH": r"([1-9]|1[0-2])(,([1-9]|1[0-2]))*",
    "WKST": DAY,
}
LONGEST = 200


class BadRule(ValueError):
    """The text is no rule of RFC 5545, or one that this house does not take."""


def cleaned(text: str) -> str:
    """The rule in one spelling. BadRule unless it is a daily, weekly, monthly or yearly RRULE without hours, of parts
    that can't exclude each other."""
    rule = text.strip().upper().removeprefix("RRULE:").rstrip(";")
    parts = [part.partition("=") for part in rule.split(";")]
    values = {name: value for name, _sign, value in parts}
    if len(rule) > LONGEST or len(values) != len(parts) or "FREQ" not in values or not set(values) <= ALLOWED:
        raise BadRule(text)
    if not all(re.fullmatch(SHAPES[name], value) for name, value in values.items()) or _may_never_come(values):
        raise BadRule(text)
    try:
        _rule(rule, dt.datetime.combine(dt.date(2000, 1, 1), dt.time()), ZoneInfo("UTC"))
    except ValueError:
        raise BadRule(text) from None
    return rule


def _may_never_come(values: dict[str, str]) -> bool:
    """Whether parts may exclude each other: a rule without any day would be searched for until the year 9999."""
    is_numbered = re.search(r"\d", values.get("BYDAY", "")) is not None
    skips = int(values.get("INTERVAL", "1")) > 1
    match values["FREQ"]:
        case "DAILY":
            never = is_numbered or (skips and bool({"BYDAY", "BYMONTHDAY", "BYMONTH"} & set(values)))
        case "WEEKLY":
            never = is_numbered or "BYMONTHDAY" in values
        case "MONTHLY":
            never = (skips and "BYMONTH" in values) or (is_numbered and "BYMONTHDAY" in values)
        case _:
            never = is_numbered and "BYMONTHDAY" in values
    return never or {"COUNT", "UNTIL"} <= set(values)


def days(
    rule: str, *, starts_on: dt.date, first: dt.date, last: dt.date, zone: ZoneInfo, wall: dt.time = dt.time()
) -> list[dt.date]:
    """The local days of a cleaned rule from `first` to `last`, both counted; none before `starts_on`.

    UNTIL with a Z is an instant and is compared on the clock of `zone`; without, it is the local day itself.
    """
    begin = dt.datetime.combine(starts_on, wall)
    found = _rule(rule, begin, zone).between(
        dt.datetime.combine(first, dt.time.min), dt.datetime.combine(last, dt.time.max), inc=True
    )
    return [at.date() for at in found]


def instants(
    rule: str, *, starts_on: dt.date, first: dt.date, last: dt.date, zone: ZoneInfo, wall: dt.time
) -> list[dt.datetime]:
    """The same as instants in UTC."""
    found = days(rule, starts_on=starts_on, first=first, last=last, zone=zone, wall=wall)
    return [dt.datetime.combine(day, wall, tzinfo=zone).astimezone(dt.UTC) for day in found]


def _rule(rule: str, begin: dt.datetime, zone: ZoneInfo) -> rrule:
    kept = []
    for part in rule.split(";"):
        name, _sign, value = part.partition("=")
        if name == "UNTIL":
            value = _local_until(value, zone)
        kept.append(f"{name}={value}")
    found = rrulestr(";".join(kept), dtstart=begin)
    if not isinstance(found, rrule):
        raise BadRule(rule)
    return found


def _local_until(value: str, zone: ZoneInfo) -> str:
    day, _sign, time = value.removesuffix("Z").partition("T")
    until = dt.datetime.combine(dt.date.fromisoformat(day), dt.time.fromisoformat(time or "235959"))
    if value.endswith("Z"):
        until = until.replace(tzinfo=dt.UTC).astimezone(zone)
    return f"{until:%Y%m%dT%H%M%S}"
