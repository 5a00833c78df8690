"""Scales and ticks, and the pictures: real text, a title and a description, mirrored in Arabic."""

import datetime as dt
import xml.etree.ElementTree as ET

import pytest
from django.utils.translation import override

from coordinator.charts.band import Asked, Course, Seen, course, funnel
from coordinator.charts.bars import PLOT, Bar, Panel, Part, panels, parts
from coordinator.charts.scale import WIDTH, Scale, across, day_ticks, number_ticks
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
    [
        (0, 3, [0, 1, 2, 3]),
        (0, 1e12, [0, 5 * 10**11, 10**12]),
        (0, 70, [0, 20, 40, 60]),
        (-5, 12, [-5, 0, 5, 10]),
        (0, 100, [0, 50, 100]),
    ],
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


def boxes(svg: str, of: str) -> list[dict[str, float]]:
    """Place and size of the rectangles of a class, in the order in which they are drawn."""
    found = [node for node in parsed(svg).iter(f"{SVG}rect") if of in (node.get("class") or "").split()]
    return [{name: float(node.attrib[name]) for name in ("x", "y", "width", "height")} for node in found]


def bars(*values: float) -> list[Bar | str]:
    return [Bar(value, f"{value:g}") for value in values]


MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


@pytest.mark.parametrize("factor", [0.01, 1, 37.5, 1e7])
def test_a_bar_is_as_high_as_its_value_on_one_scale_from_nothing_up(factor: float) -> None:
    values = [factor * value for value in (1000, 750, 500, 250, 10)]
    svg = panels("x", "t", "a", MONTHS[:5], [Panel("In", bars(*values))])
    drawn = boxes(svg, "chart-bar")
    assert [bar["height"] for bar in drawn] == pytest.approx([PLOT * v / values[0] for v in values], abs=0.051)
    assert {round(bar["y"] + bar["height"], 1) for bar in drawn} == {drawn[0]["y"] + PLOT}
    assert max(bar["width"] for bar in drawn) - min(bar["width"] for bar in drawn) < 0.11  # places are in tenths


def test_what_is_less_than_the_least_axis_stays_small() -> None:
    (bar,) = boxes(panels("x", "t", "a", ["Jan"], [Panel("In", bars(1))]), "chart-bar")
    assert bar["height"] == PLOT / 4  # of an axis up to 4


def test_nothing_is_a_number_without_a_bar_and_no_record_a_word_without_a_number() -> None:
    shown: list[Bar | str] = [*bars(5, 0, -2), "no record", "no record", Bar(3, "3"), "no record"]
    svg = panels("x", "t", "a", MONTHS[:7], [Panel("In", shown)])
    assert len(boxes(svg, "chart-bar")) == 2
    gaps = boxes(svg, "chart-gap")
    assert len(gaps) == 2  # side by side they share the word
    assert gaps[0]["width"] > 2 * gaps[1]["width"]
    assert texts(svg).count("no record") == 2
    assert {"0", "-2"} <= set(texts(svg))
    empty = panels("x", "t", "a", MONTHS[:2], [Panel("In", ["no record", "no record"])])
    assert (boxes(empty, "chart-bar"), texts(empty).count("no record")) == ([], 1)


def test_two_panels_have_each_its_scale_its_pattern_and_one_axis_of_months() -> None:
    svg = panels("x", "t", "a", MONTHS, [Panel("In", bars(*[400.0] * 12)), Panel("Out", bars(*[7.0] * 12))])
    drawn = boxes(svg, "chart-bar")
    assert len(drawn) == 24
    assert {bar["height"] for bar in drawn} == {PLOT}
    assert [bar["x"] for bar in drawn[:12]] == [bar["x"] for bar in drawn[12:]]
    assert [text for text in texts(svg) if text in MONTHS] == MONTHS
    assert (svg.count("url(#x-dots)"), svg.count("url(#x-solid)")) == (12, 12)
    for wrong in ([], MONTHS[:3]):
        with pytest.raises(ValueError, match="each month"):
            panels("x", "t", "a", wrong, [Panel("In", bars(1, 2))])


@pytest.mark.parametrize("months", [1, 3, 12])
@pytest.mark.parametrize("most", [0.0, 9.9, 999.0, 12_345.0, 9_999_999.0])
@pytest.mark.parametrize("language", ["en", "es", "fr", "ar"])
def test_nothing_is_drawn_outside_and_no_number_over_its_neighbour(months: int, most: float, language: str) -> None:
    with override(language):
        svg = panels("x", "t", "a", ["septiembre"] * months, [Panel("In", bars(*[most] * months))])
    for box in boxes(svg, "chart-bar"):
        assert 0 <= box["x"] <= box["x"] + box["width"] <= WIDTH
    written = [node for node in parsed(svg).iter(f"{SVG}text") if node.get("x")]
    middles = [
        (float(node.attrib["x"]), "".join(node.itertext()), node.attrib["y"])
        for node in written
        if node.get("text-anchor") == "middle"
    ]
    for x, words, y in middles:
        others = [abs(x - at) for at, _, line in middles if line == y and at != x]
        assert not others or min(others) >= len(words) * 6 or words == "0"
    (axis,) = {node.attrib["x"] for node in written if node.get("text-anchor") != "middle" and node.get("translate")}
    room = WIDTH - float(axis) if language == "ar" else float(axis)
    ticks = ["".join(n.itertext()) for n in written if n.get("translate") and n.get("text-anchor") != "middle"]
    assert room >= max(map(len, ticks)) * 6


def test_in_arabic_the_months_run_from_the_other_side() -> None:
    shown = [Panel("In", [*bars(5, 3), "none"])]
    one = panels("x", "t", "a", MONTHS[:3], shown)
    with override("ar"):
        other = panels("x", "t", "a", MONTHS[:3], shown)
    assert parsed(other).get("direction") == "rtl"
    for of in ("chart-bar", "chart-gap"):
        for here, there in zip(boxes(one, of), boxes(other, of), strict=True):
            assert there["x"] == pytest.approx(WIDTH - here["x"] - here["width"], abs=0.11)
            assert there["height"] == here["height"]


@pytest.mark.parametrize(("first", "rest"), [(5, 9), (2, 3), (1, 0), (0, 4), (150, 150)])
def test_a_bar_in_parts_is_split_as_the_households_are(first: int, rest: int) -> None:
    svg = parts("x", "t", "a", Part(first, "these"), Part(rest, "those"), "even")
    long = WIDTH - 12
    marked, plain = boxes(svg, "chart-line")
    assert marked["width"] == pytest.approx(long * first / (first + rest), abs=0.11)
    assert plain["width"] == pytest.approx(long * rest / (first + rest), abs=0.11)
    cuts = first + rest - 1 - (0 < first < first + rest)
    assert svg.count("chart-cut") == (0 if first + rest > 69 else cuts)
    assert {"these", "those", "even"} <= set(texts(svg))
    assert " dy=" not in svg  # or an Arabic word falls apart on paper
    with override("ar"):
        (mirrored, _) = boxes(parts("x", "t", "a", Part(first, "a"), Part(rest, "b"), "c"), "chart-line")
    assert mirrored["x"] == pytest.approx(WIDTH - marked["x"] - marked["width"], abs=0.11)


def test_a_bar_in_parts_has_parts_and_a_prefix() -> None:
    with pytest.raises(ValueError, match="parts"):
        parts("x", "t", "a", Part(0, ""), Part(0, ""), "")
    with pytest.raises(ValueError, match="prefix"):
        parts('"><script>', "t", "a", Part(1, ""), Part(0, ""), "")
