"""Scales and ticks, and the two pictures: real text, a title and a description, mirrored in Arabic."""

import datetime as dt
import xml.etree.ElementTree as ET

import pytest
from django.utils.translation import override

from coordinator.charts.band import Asked, Course, Seen, course, funnel
from coordinator.charts.scale import Scale, across, day_ticks, number_ticks
from coordinator.charts.timeline import Probably, Row, timeline

D = dt.date(2026, 6, 1)
DAY = dt.timedelta(days=1)
SVG = "{http://www.w3.org/2000/svg}"


def test_a_scale_puts_ends_on_ends_and_keeps_what_lies_outside_on_the_edge() -> None:
    scale = Scale(0, 10, 100, 300)
    assert [scale.at(value) for value in (-5, 0, 5, 10, 99)] == [100, 100, 200, 300, 300]
    with pytest.raises(ValueError, match="upwards"):
        Scale(3, 3, 0, 1)


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [(0, 3, [0, 1, 2, 3]), (0, 70, [0, 20, 40, 60]), (-5, 12, [-5, 0, 5, 10]), (0, 100, [0, 50, 100])],
)
def test_numbers_on_an_axis_are_round_and_few(low: int, high: int, found: list[int]) -> None:
    assert number_ticks(low, high) == found


def test_days_on_an_axis_are_days_weeks_or_the_firsts_of_months() -> None:
    assert day_ticks(D, D + 3 * DAY) == [D, D + DAY, D + 2 * DAY, D + 3 * DAY]
    assert day_ticks(D, D + 20 * DAY) == [D, D + 7 * DAY, D + 14 * DAY]
    assert day_ticks(D + DAY, D + 100 * DAY) == [dt.date(2026, 7, 1), dt.date(2026, 8, 1), dt.date(2026, 9, 1)]
    assert len(day_ticks(D, D + 400 * DAY)) <= 4
    assert len(day_ticks(D, D + 1600 * DAY)) <= 4


def test_time_runs_with_the_reading_direction() -> None:
    assert across(0, 1, 50, 350).at(0) == 50
    with override("ar"):
        assert across(0, 1, 50, 350).at(0) == 310


def parsed(svg: str) -> ET.Element:
    found = ET.fromstring(svg)  # noqa: S314 - our own text
    assert found.find(f"{SVG}title") is not None
    assert found.find(f"{SVG}desc") is not None
    assert "style=" not in svg
    return found


def texts(svg: str) -> list[str]:
    return ["".join(node.itertext()) for node in parsed(svg).iter(f"{SVG}text")]


def test_a_funnel_of_one_night_is_a_bar_and_of_several_a_band() -> None:
    asked = [Asked(D + at * DAY, D + (40 + at) * DAY, D + 50 * DAY, D + (70 - at) * DAY) for at in range(8)]
    for nights in (asked[:1], asked):
        svg = funnel("x", "When <will> it be ready?", "soon", nights)
        assert "&lt;will&gt;" in svg
        assert "1 Jun" in texts(svg)
    assert "8 Jun" in texts(funnel("x", "t", "a", asked))
    with pytest.raises(ValueError, match="one night"):
        funnel("x", "t", "a", [])
    with pytest.raises(ValueError, match="prefix"):
        funnel('"><script>', "t", "a", asked)


def test_a_course_has_its_readings_as_rings_and_the_unit_beside_the_numbers() -> None:
    svg = course("x", "t", "a", Course(D, [20, 21], [30, 31], [40, 41], [Seen(D - 3 * DAY, 35)], "°C"))
    assert len(list(parsed(svg).iter(f"{SVG}circle"))) == 1
    assert "20 °C" in texts(svg)
    with override("ar"):
        svg = course("x", "t", "a", Course(D, [20], [30], [40], [], "°C"))
        assert parsed(svg).get("direction") == "rtl"


def test_a_time_line_has_a_row_a_place_and_marks_the_clash() -> None:
    rows = [
        Row("Hatch A", "filling", Probably(D + 5 * DAY, D + 9 * DAY, D + 14 * DAY), "open"),
        Row("Hatch B", "empty", None, "empty"),
    ]
    calm = texts(timeline("x", "t", "a", D, D + 90 * DAY, rows))
    assert {"Hatch A", "open", "Hatch B", "empty"} <= set(calm)
    alarmed = timeline("x", "t", "a", D, D + 90 * DAY, rows, (D + 9 * DAY, D + 30 * DAY, "nothing open"))
    assert "nothing open" in texts(alarmed)
    assert alarmed.count('class="chart-clash"') == 1
