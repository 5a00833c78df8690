"""The month: sums as the books hold them, what is known and how well, closing and later corrections."""

import datetime as dt
from uuid import uuid4, uuid5

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Contribution, MonthClosing
from bins.months.close import NotOver, close_month, closing_of, restated
from bins.months.figures import month
from bins.months.rows import rows, rows_page
from bins.months.spread import IN_PRINT, spread_of
from bins.months.withheld import withheld
from coordinator.jobs.run import run_due
from households.models import Person
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

pytestmark = pytest.mark.embedded
MAY, JUNE = dt.date(2026, 5, 1), dt.date(2026, 6, 1)


def bring(cast: Cast, who: Person, at: dt.datetime = NOW, **raw: object) -> Contribution:
    told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4} | raw)
    with inside(cast.building.uid) as here:
        return record_drop_off(building=here, told=told, household=who.household, person=who, via="web", now=at).row


def test_the_last_instant_of_a_month_counts_by_the_buildings_own_clock(cast: Cast) -> None:
    # Berlin is two hours ahead of UTC in May: midnight of 1 June there is 22:00 on 31 May.
    bring(cast, cast.resident, dt.datetime(2026, 5, 31, 21, 59, 59, tzinfo=dt.UTC))
    bring(cast, cast.resident, dt.datetime(2026, 5, 31, 22, 0, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        assert (month(here, MAY).drop_offs, month(here, JUNE).drop_offs) == (1, 1)


def test_a_month_without_a_record_is_not_a_month_of_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert not month(here, dt.date(2026, 4, 1)).has_data


def test_what_is_weighed_is_certain_and_what_is_counted_has_the_range_in_print(cast: Cast) -> None:
    for number in range(5):  # five households on each side: no line is withheld
        who = newcomer(cast.building, f"Person {number}", f"Flat {20 + number}", "resident")
        bring(cast, who, kilograms="2")
        bring(cast, who)
    with inside(cast.building.uid) as here:
        figures = month(here, MAY)
    # Five times 2 kg weighed; one pail of 8 L is 3.6 kg at 0.45 kg/L, 1.92 at 0.24 and 7.2 at 0.9 kg/L,
    # which is what kitchen scraps span in print.
    assert (figures.scraps_g, figures.low_g, figures.high_g) == (5 * 5600, 5 * (2000 + 1920), 5 * (2000 + 7200))


def test_neither_the_range_nor_the_rows_give_a_withheld_line_away(cast: Cast) -> None:
    bring(cast, cast.resident, kilograms="2")
    bring(cast, cast.neighbour)
    with inside(cast.building.uid) as here:
        figures = month(here, MAY)
        told = {row.known for row in rows(here, MAY, "scraps")}
    assert [known.is_withheld for known in figures.by_known] == [True, True]
    # The range hangs on the total alone: 0.24/0.45 and 0.9/0.45 of it. With 2 kg of it certain, anybody who knows
    # the span in print could work out what was weighed.
    assert (figures.scraps_g, figures.low_g, figures.high_g) == (5600, round(5600 * 0.24 / 0.45), 11200)
    assert told == {"withheld"}


def test_rows_say_how_they_are_known_where_five_households_stand_behind_each_line(cast: Cast) -> None:
    for number in range(5):
        who = newcomer(cast.building, f"Person {number}", f"Flat {20 + number}", "resident")
        bring(cast, who, kilograms="2")
        bring(cast, who)
    with inside(cast.building.uid) as here:
        assert {row.known for row in rows(here, MAY, "scraps")} == {"weighed", "counted"}


def test_ten_weighed_pails_narrow_the_range_and_nine_do_not() -> None:
    weighed = [0.9, 0.95, 0.97, 1.0, 1.0, 1.01, 1.02, 1.05, 1.1, 1.2]
    assert (spread_of(weighed[:9]).low, spread_of(weighed[:9]).high) == IN_PRINT
    narrowed = spread_of(weighed)
    assert (narrowed.low, narrowed.high, narrowed.weighed) == (0.95, 1.1, 10)


@pytest.mark.parametrize(
    ("households", "hidden"),
    [
        ({"weighed": 5, "counted": 9}, set()),
        ({"weighed": 4, "counted": 9, "guessed": 6}, {"weighed", "guessed"}),
        ({"weighed": 4, "counted": 9}, {"weighed", "counted"}),
        ({"weighed": 0, "counted": 9}, set()),
        ({"counted": 3}, {"counted"}),
        ({"weighed": 2, "counted": 3, "guessed": 9}, {"weighed", "counted"}),
        # Three households together: what they brought would be the total less what was guessed.
        ({"weighed": 1, "counted": 2, "guessed": 9}, {"weighed", "counted", "guessed"}),
    ],
)
def test_a_line_of_fewer_than_five_households_is_withheld_with_one_more(
    households: dict[str, int], hidden: set[str]
) -> None:
    behind = {name: {f"{name} {number}" for number in range(many)} for name, many in households.items()}
    assert withheld(behind) == hidden


def test_households_that_stand_behind_two_withheld_lines_are_counted_once() -> None:
    few, many = set("abcd"), set("efghijk")
    assert withheld({"weighed": few, "counted": few, "guessed": many}) == {"weighed", "counted", "guessed"}
    assert withheld({"weighed": few, "counted": {*few, "z"}, "guessed": many}) == {"weighed", "counted"}


def test_taking_part_is_one_drop_off_in_three_weeks(cast: Cast) -> None:
    # WRAP 2010, by way of LARAC: a household takes part with at least one drop-off in three opportunities;
    # an opportunity is taken as a week. May ends at 22:00 UTC on the 31st.
    end = dt.datetime(2026, 5, 31, 22, 0, tzinfo=dt.UTC)
    bring(cast, cast.resident, end - dt.timedelta(days=21))
    bring(cast, cast.neighbour, end - dt.timedelta(days=21, seconds=1))
    with inside(cast.building.uid) as here:
        figures = month(here, MAY)
    assert (figures.households, figures.taking_part, figures.living_here) == (2, 1, 2)


def test_the_rows_behind_a_figure_make_its_sum_and_name_nobody(cast: Cast) -> None:
    taken_back = bring(cast, cast.resident, browns_cups=2)
    bring(cast, cast.neighbour, kilograms="1.5", browns_cups=1)
    with inside(cast.building.uid) as here:
        undo_drop_off(building=here, row=taken_back, person=cast.resident, via="web", now=NOW)
        figures = month(here, MAY)
        assert sum(row.amount for row in rows(here, MAY, "scraps")) == figures.scraps_g == 1500
        assert sum(row.amount for row in rows(here, MAY, "browns")) == figures.browns_ml == 1000
        assert {field for row in rows(here, MAY, "scraps") for field in vars(row)} == {
            "day", "until", "amount", "known", "via", "is_correction",
        }  # fmt: skip


def test_a_month_is_closed_once_and_not_before_it_is_over(cast: Cast) -> None:
    bring(cast, cast.resident)
    over = dt.datetime(2026, 5, 31, 22, 0, tzinfo=dt.UTC)
    with inside(cast.building.uid) as here:
        with pytest.raises(NotOver):
            close_month(building=here, first_day=MAY, person=cast.committee, now=over - dt.timedelta(seconds=1))
        first = close_month(building=here, first_day=MAY, person=cast.committee, now=over)
        again = close_month(building=here, first_day=MAY, person=None, now=over + dt.timedelta(days=1))
        assert first.pk == again.pk
        assert MonthClosing.objects.within(here).count() == 1


def test_a_late_slip_shows_as_a_difference_to_the_closed_month(cast: Cast) -> None:
    bring(cast, cast.resident)
    with inside(cast.building.uid) as here:
        closing = close_month(building=here, first_day=MAY, person=None, now=dt.datetime(2026, 6, 10, tzinfo=dt.UTC))
        assert restated(closing, month(here, MAY)) == ()
    told = "2026-05-20T18:00:00+02:00"
    bring(cast, cast.neighbour, dt.datetime(2026, 6, 12, tzinfo=dt.UTC), kilograms="1", happened_at=told)
    with inside(cast.building.uid) as here:
        found = {one.name: (one.closed, one.now) for one in restated(closing, month(here, MAY))}
    assert found == {"scraps_g": (3600, 4600), "drop_offs": (1, 2), "households": (1, 2)}


def test_a_month_closes_by_itself_on_the_tenth_and_promises_the_next(cast: Cast) -> None:
    bring(cast, cast.resident)
    tenth = dt.datetime(2026, 6, 10, 2, 0, tzinfo=dt.UTC)  # four in the morning in Berlin
    run_due(tenth - dt.timedelta(seconds=1), limit=500)
    with inside(cast.building.uid) as here:
        assert closing_of(here, MAY) is None
    run_due(tenth, limit=500)
    with inside(cast.building.uid) as here:
        closing = closing_of(here, MAY)
    assert closing is not None
    assert closing.figures["scraps_g"] == 3600
    run_due(dt.datetime(2026, 7, 10, 2, 0, tzinfo=dt.UTC), limit=500)
    with inside(cast.building.uid) as here:
        assert closing_of(here, JUNE) is not None


def test_the_count_of_queries_does_not_grow_with_the_month(cast: Cast) -> None:
    def count() -> int:
        with (
            inside(cast.building.uid) as here,
            CaptureQueriesContext(
                connection,
            ) as asked,
        ):
            month(here, MAY)
        return len(asked)

    bring(cast, cast.resident)
    few = count()
    for number in range(12):
        who = newcomer(cast.building, f"Person {number}", f"Flat {20 + number}", "resident")
        bring(cast, who, NOW + dt.timedelta(days=number), kilograms=str(1 + number / 10))
    assert count() == few


def several(cast: Cast, many: int, prefix: str = "Person") -> list[Person]:
    return [newcomer(cast.building, f"{prefix} {n}", f"{prefix} flat {n}", "resident") for n in range(many)]


def test_withheld_rows_are_put_together_since_their_amounts_would_tell_which_were_weighed(cast: Cast) -> None:
    bring(cast, cast.resident, kilograms="1.234")
    for who in several(cast, 6):
        bring(cast, who)
    with inside(cast.building.uid) as here:
        (row,) = rows(here, MAY, "scraps")
        assert (row.day, row.until, row.known, row.via) == (NOW.date(), NOW.date(), "withheld", "withheld")
        assert row.amount == 1234 + 6 * 3600 == month(here, MAY).scraps_g


def test_a_pool_of_withheld_rows_ends_with_the_day_that_brings_the_fifth_household(cast: Cast) -> None:
    people = several(cast, 6)
    bring(cast, people[0], kilograms="1.234")  # one that weighs: all lines of this month are withheld
    days = [[0, 1, 2], [3], [4], [0, 1, 2, 3, 4], [5]]
    for number, who in enumerate(days):
        for one in who:
            bring(cast, people[one], NOW + number * dt.timedelta(days=1))
    with inside(cast.building.uid) as here:
        found = rows(here, MAY, "scraps")
        # The 4th to the 6th five households, the 7th five by itself; the sixth of the 8th goes with the last.
        assert [(row.day.day, row.until and row.until.day, row.amount) for row in found] == [
            (4, 6, 1234 + 5 * 3600),
            (7, 8, 6 * 3600),
        ]


def test_how_a_row_came_is_left_out_where_few_households_send_theirs_so(cast: Cast) -> None:
    """A household that alone writes on paper would else be read off the rows, day by day."""
    people = several(cast, 12)
    for number, who in enumerate(people):
        told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4})
        via = "sheet" if number == 0 else "api" if number < 6 else "web"
        with inside(cast.building.uid) as here:
            record_drop_off(building=here, told=told, household=who.household, person=who, via=via, now=NOW)
    with inside(cast.building.uid) as here:
        # One on paper, five by a program, six on the page: paper and the next smallest are left out.
        assert sorted(row.via for row in rows(here, MAY, "scraps")) == ["web"] * 6 + ["withheld"] * 6
        assert {row.known for row in rows(here, MAY, "scraps")} == {"counted"}


def test_the_rows_of_two_figures_are_in_no_common_order(cast: Cast) -> None:
    for number, who in enumerate(several(cast, 8), start=1):
        uid = str(uuid5(cast.building.uid, f"brought {number}"))
        bring(cast, who, uid=uid, quarter_pails=number, browns_cups=number)
    with inside(cast.building.uid) as here:
        scraps = [round(row.amount / 900) for row in rows(here, MAY, "scraps")]
        browns = [row.amount // 1000 for row in rows(here, MAY, "browns")]
    assert sorted(scraps) == sorted(browns) == list(range(1, 9))
    assert scraps != browns


@pytest.mark.parametrize("figure", ["scraps", "browns"])
def test_rows_come_whole_days_at_a_time_and_all_pages_make_the_sum(cast: Cast, figure: str) -> None:
    people = several(cast, 6)
    for day in range(10):
        for who in people:
            bring(cast, who, NOW + day * dt.timedelta(days=1), browns_cups=2)
    with inside(cast.building.uid) as here:
        pages, since = [], None
        while True:
            with CaptureQueriesContext(connection) as queries:
                page = rows_page(here, MAY, figure, since, most=13)
            assert len(queries) <= 6
            pages.append(page)
            if page.next_day is None:
                break
            since = page.next_day
        # Six a day: the third day brings the thirteenth.
        assert [len(page.rows) for page in pages] == [18, 18, 18, 6]
        assert [page.next_day and page.next_day.day for page in pages] == [7, 10, 13, None]
        assert [row for page in pages for row in page.rows] == rows(here, MAY, figure)
        total = getattr(month(here, MAY), {"scraps": "scraps_g", "browns": "browns_ml"}[figure])
        assert {page.total for page in pages} == {total} == {sum(row.amount for page in pages for row in page.rows)}


def test_a_page_begins_at_the_days_midnight_by_the_buildings_own_clock(cast: Cast) -> None:
    people = several(cast, 5)
    for who in people:
        bring(cast, who, dt.datetime(2026, 5, 9, 21, 59, tzinfo=dt.UTC))  # the 9th, a minute to midnight
        bring(cast, who, dt.datetime(2026, 5, 9, 22, 0, tzinfo=dt.UTC))  # the 10th
    with inside(cast.building.uid) as here:
        first = rows_page(here, MAY, "scraps", most=1)
        assert {row.day for row in first.rows} == {dt.date(2026, 5, 9)}
        assert first.next_day == dt.date(2026, 5, 10)
        assert len(rows_page(here, MAY, "scraps", dt.date(2026, 5, 10), most=1).rows) == 5
