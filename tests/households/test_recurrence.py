"""Days that return, against published expansions, and the weeks in which clocks change."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from households.recurrence import BadRule, cleaned, days, instants

NEW_YORK = ZoneInfo("America/New_York")
BERLIN = ZoneInfo("Europe/Berlin")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
DAY = dt.date.fromisoformat


def expanded(rule: str, starts: str, wall: str, zone: ZoneInfo, until: str) -> list[str]:
    """Instants in UTC, as text."""
    found = instants(
        cleaned(rule), starts_on=DAY(starts), first=DAY(starts), last=DAY(until), zone=zone,
        wall=dt.time.fromisoformat(wall),
    )  # fmt: skip
    return [f"{at:%Y-%m-%dT%H:%MZ}" for at in found]


def test_weekly_for_ten_occurrences_as_rfc_5545_prints_it() -> None:
    # RFC 5545, 3.8.5.3, "Weekly for 10 occurrences": 09:00 in New York, EDT until 25 October 1997, EST after it.
    found = expanded("RRULE:FREQ=WEEKLY;COUNT=10", "1997-09-02", "09:00", NEW_YORK, "1998-12-31")
    summer = ["09-02", "09-09", "09-16", "09-23", "09-30", "10-07", "10-14", "10-21"]
    assert found == [f"1997-{day}T13:00Z" for day in summer] + ["1997-10-28T14:00Z", "1997-11-04T14:00Z"]


def test_tuesday_and_thursday_for_five_weeks_as_rfc_5545_prints_it() -> None:
    # RFC 5545, 3.8.5.3, "Weekly on Tuesday and Thursday for five weeks".
    found = days(
        cleaned("FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH"), starts_on=DAY("1997-09-02"), first=DAY("1997-09-01"),
        last=DAY("1997-12-31"), zone=NEW_YORK,
    )  # fmt: skip
    printed = "09-02 09-04 09-09 09-11 09-16 09-18 09-23 09-25 09-30 10-02"
    assert found == [DAY(f"1997-{day}") for day in printed.split()]


def test_the_hour_that_comes_twice_is_the_first_and_the_one_that_is_missing_has_the_offset_before_it() -> None:
    # RFC 5545, 3.3.5: 2007-11-04 01:30 in New York is EDT; 2007-03-11 02:30 is read with EST.
    assert expanded("FREQ=DAILY;COUNT=1", "2007-11-04", "01:30", NEW_YORK, "2007-11-04") == ["2007-11-04T05:30Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2007-03-11", "02:30", NEW_YORK, "2007-03-11") == ["2007-03-11T07:30Z"]


def test_a_slot_in_berlin_keeps_its_hour_over_the_end_of_march() -> None:
    # The tz database: Berlin is at +1 until 2026-03-29 01:00Z, then at +2.
    assert expanded("FREQ=WEEKLY;BYDAY=TU,SA;COUNT=6", "2026-03-21", "18:00", BERLIN, "2026-12-31") == [
        "2026-03-21T17:00Z", "2026-03-24T17:00Z", "2026-03-28T17:00Z", "2026-03-31T16:00Z", "2026-04-04T16:00Z",
        "2026-04-07T16:00Z",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("zone", "first", "hours"),
    [
        # The tz database: +1 to +2 on 29 March 2026 at 01:00Z, back on 25 October at 01:00Z.
        (BERLIN, "2026-03-27", "17 17 16 16"),
        (BERLIN, "2026-10-23", "16 16 17 17"),
        # -5 to -4 on 8 March 2026 at 07:00Z, back on 1 November at 06:00Z.
        (NEW_YORK, "2026-03-06", "23 23 22 22"),
        (NEW_YORK, "2026-10-30", "22 22 23 23"),
        # Half an hour: +11 to +10:30 on 5 April 2026 at 15:00Z of the 4th, back on 4 October at 15:30Z of the 3rd.
        (LORD_HOWE, "2026-04-03", "7 7 7:30 7:30"),
        (LORD_HOWE, "2026-10-02", "7:30 7:30 7 7"),
    ],
)
def test_four_days_round_each_change_of_clocks_keep_their_wall_time(zone: ZoneInfo, first: str, hours: str) -> None:
    found = instants(
        "FREQ=DAILY", starts_on=DAY(first), first=DAY(first), last=DAY(first) + dt.timedelta(days=3), zone=zone,
        wall=dt.time(18),
    )  # fmt: skip
    assert [f"{at.hour}:{at.minute:02}" if at.minute else str(at.hour) for at in found] == hours.split()
    assert {at.astimezone(zone).time() for at in found} == {dt.time(18)}


def test_an_hour_inside_the_change_itself_in_three_zones() -> None:
    # The missing hour with the offset before it, the doubled one its first: RFC 5545, 3.3.5 on the tz database's data.
    assert expanded("FREQ=DAILY;COUNT=1", "2026-03-29", "02:30", BERLIN, "2026-03-29") == ["2026-03-29T01:30Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2026-10-25", "02:30", BERLIN, "2026-10-25") == ["2026-10-25T00:30Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2026-03-08", "02:30", NEW_YORK, "2026-03-08") == ["2026-03-08T07:30Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2026-11-01", "01:30", NEW_YORK, "2026-11-01") == ["2026-11-01T05:30Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2026-10-04", "02:15", LORD_HOWE, "2026-10-04") == ["2026-10-03T15:45Z"]
    assert expanded("FREQ=DAILY;COUNT=1", "2026-04-05", "01:45", LORD_HOWE, "2026-04-05") == ["2026-04-04T14:45Z"]


def test_until_counts_its_own_day_and_an_instant_is_read_on_the_local_clock() -> None:
    assert len(expanded("FREQ=DAILY;UNTIL=20260323", "2026-03-21", "18:00", BERLIN, "2026-12-31")) == 3
    assert len(expanded("FREQ=DAILY;UNTIL=20260323T170000Z", "2026-03-21", "18:00", BERLIN, "2026-12-31")) == 3
    assert len(expanded("FREQ=DAILY;UNTIL=20260323T165959Z", "2026-03-21", "18:00", BERLIN, "2026-12-31")) == 2


def test_the_second_saturday_and_the_last_day_of_a_month() -> None:
    of = {"starts_on": DAY("2026-05-01"), "first": DAY("2026-05-01"), "last": DAY("2026-06-30"), "zone": BERLIN}
    assert days(cleaned("FREQ=MONTHLY;BYDAY=2SA"), **of) == [DAY("2026-05-09"), DAY("2026-06-13")]  # type: ignore[arg-type]
    assert days(cleaned("FREQ=MONTHLY;BYMONTHDAY=-1"), **of) == [  # type: ignore[arg-type]
        DAY("2026-05-31"), DAY("2026-06-30"),
    ]  # fmt: skip


def test_a_span_gives_both_its_ends_and_nothing_before_the_first_day() -> None:
    of = {"starts_on": DAY("2026-05-04"), "zone": BERLIN}
    assert days("FREQ=DAILY", first=DAY("2026-05-01"), last=DAY("2026-05-05"), **of) == [  # type: ignore[arg-type]
        DAY("2026-05-04"), DAY("2026-05-05"),
    ]  # fmt: skip
    assert days("FREQ=DAILY", first=DAY("2026-05-01"), last=DAY("2026-05-03"), **of) == []  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "", "weekly", "FREQ=HOURLY", "FREQ=WEEKLY;BYHOUR=3", "FREQ=WEEKLY;COUNT=2;UNTIL=20260101",
        "FREQ=WEEKLY;COUNT=0",
        "FREQ=WEEKLY;INTERVAL=0", "FREQ=WEEKLY;BYDAY=XX", "FREQ=WEEKLY;BYDAY=", "FREQ=WEEKLY;FREQ=DAILY",
        "FREQ=WEEKLY;UNTIL=20261301", "FREQ=WEEKLY;UNTIL=soon", "FREQ=WEEKLY;COUNT=-1", "FREQ=DAILY;BYMONTH=13",
        "FREQ=DAILY\nDTSTART:20260101", "FREQ=MONTHLY;BYMONTHDAY=99", "FREQ=DAILY;INTERVAL=7;BYDAY=TU",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "FREQ=MONTHLY;BYDAY=1MO;BYMONTHDAY=20", "FREQ=MONTHLY;BYDAY=6MO",
        "FREQ=MONTHLY;INTERVAL=12;BYMONTH=2", "FREQ=DAILY;BYDAY=2SA",
    ],
)  # fmt: skip
def test_what_is_no_rule_is_refused(text: str) -> None:
    with pytest.raises(BadRule):
        cleaned(text)
