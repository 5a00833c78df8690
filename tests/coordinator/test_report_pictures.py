"""The pictures of a report: their figures are those of its lines and tables, on the page and on paper."""

import datetime as dt
import io
import re
import xml.etree.ElementTree as ET
from typing import Any

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Contribution
from bins.months.figures import figures
from bins.units import G_PER_LB
from coordinator.charts.bars import PLOT
from coordinator.demo import frozen
from coordinator.demo.block import UID
from coordinator.reports.document import Document, document
from coordinator.reports.pdf import pdf
from coordinator.reports.pictures import Picture
from coordinator.reports.report import period_of, report_of
from households.models import Building, Person
from households.tenancy import inside
from tests.bins.duties.planned import DAY, TODAY, duty, kind, site_of
from tests.cast import NOW, Cast, newcomer

from .test_reports import page

pytestmark = pytest.mark.embedded
IN_AND_OUT, WORK = "What went in and what came out?", "Who did the work?"
SVG = "{http://www.w3.org/2000/svg}"


def told(cast: Cast, span: str = "year", number: int = 1, language: str = "en") -> Document:
    with inside(cast.building.uid) as here, translation.override(language):
        return document(report_of(here, period_of(span, 2026, number), dt.date(2026, 7, 3), with_money=False))


def picture(of: Document, question: str) -> Picture | None:
    return next((one for one in of.pictures if one.question == question), None)


def bring(cast: Cast, kilograms: dict[int, str]) -> None:
    """By month of 2026, all by the resident."""
    with inside(cast.building.uid) as here:
        for month, weight in kilograms.items():
            raw = {"uid": f"{month:08}-0000-4000-8000-000000000000", "drum": cast.drum.uid, "kilograms": weight}
            record_drop_off(
                building=here,
                told=DropOff.from_raw(raw),
                household=cast.resident.household,
                person=cast.resident,
                via="web",
                now=dt.datetime(2026, month, 15, 12, tzinfo=dt.UTC),
            )


def work(cast: Cast, households: int, month: int = 5) -> None:
    with inside(cast.building.uid) as here:
        of = kind(here, site_of(cast))
        for number, who in enumerate(people(cast, households)):
            duty(here, of, TODAY.replace(month=month) + number * DAY, who, done_at=NOW)


def people(cast: Cast, number: int) -> list[Person]:
    return [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(number)]


def heights(drawing: str, fill: str) -> list[float]:
    found = [node for node in ET.fromstring(drawing).iter(f"{SVG}rect") if fill in node.get("fill", "")]  # noqa: S314
    return [float(node.attrib["height"]) for node in found]


def test_the_bars_of_a_year_are_its_months_and_a_month_without_a_record_is_no_zero(cast: Cast) -> None:
    bring(cast, {4: "30", 5: "60", 6: "15"})
    found = picture(told(cast), IN_AND_OUT)
    assert found
    assert heights(found.drawing, "dots") == [PLOT / 2, PLOT, PLOT / 4]
    assert heights(found.drawing, "solid") == []  # nothing came out, and that is on record: noughts, not gaps
    none, ahead = ("no record", "no record"), ("still to come", "still to come")
    assert [cells for _, *cells in found.rows] == [
        *[list(none)] * 3,
        ["30.0 kg", "0 L"],
        ["60.0 kg", "0 L"],
        ["15.0 kg", "0 L"],
        list(none),
        *[list(ahead)] * 5,
        ["105 kg", "0 L"],
    ]
    assert found.answer == "Scraps in: 105 kg, over 3 months with a record. Compost out: 0 L."
    assert "That is not zero" in found.note
    assert found.drawing.count(">no record<") == 4  # January to March and July, in each panel
    assert found.drawing.count(">still to come<") == 2


def test_a_year_of_twelve_months_has_no_gap_and_one_month_has_eleven(cast: Cast) -> None:
    bring(cast, {6: "2.5"})
    found = picture(told(cast), IN_AND_OUT)
    assert found
    assert found.answer == "Scraps in: 2.5 kg, over 1 month with a record. Compost out: 0 L."
    assert ">2.5<" in found.drawing
    bring(cast, dict.fromkeys((*range(1, 6), *range(7, 13)), "10"))
    found = picture(told(cast), IN_AND_OUT)
    assert found
    assert len(heights(found.drawing, "dots")) == 12
    assert ("no record" in found.drawing, found.note) == (False, "")


def test_a_quarter_has_three_bars_and_a_month_no_picture_by_month(cast: Cast) -> None:
    bring(cast, {4: "30", 5: "60", 6: "15"})
    quarter = picture(told(cast, "quarter", 2), IN_AND_OUT)
    assert quarter
    assert heights(quarter.drawing, "dots") == [PLOT / 2, PLOT, PLOT / 4]
    assert told(cast, "month", 5).pictures == ()
    assert told(cast, "quarter", 1).pictures == ()


def test_where_pounds_are_counted_the_picture_counts_them_too(cast: Cast) -> None:
    bring(cast, {4: "20", 5: "40"})
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(units="us")
    found = picture(told(cast), IN_AND_OUT)
    assert found
    assert {">Scraps in, pounds<", ">Compost out, gallons<"} <= set(re.findall(r">[^<>]+<", found.drawing))
    assert f">{40_000 / G_PER_LB:.0f}<" in found.drawing  # 88
    assert heights(found.drawing, "dots") == [PLOT / 2, PLOT]


@pytest.mark.parametrize(("households", "is_told"), [(0, None), (4, False), (5, True), (14, True)])
def test_work_is_told_of_five_households_and_withheld_of_four(
    cast: Cast, households: int, is_told: bool | None
) -> None:
    bring(cast, {5: "10"})
    work(cast, households)
    for span, number in (("month", 5), ("quarter", 2), ("year", 1)):
        found = picture(told(cast, span, number), WORK)
        assert (found is None) == (is_told is None)
        if found is None:
            continue
        assert bool(found.drawing) == is_told
        if is_told:
            half = -(-households // 2)
            assert found.answer.startswith(f"Half of the work or more was done by {half} of the {households} ")
            assert [row[1] for row in found.rows] == [str(half), str(households - half), str(households)]
        else:
            assert "withheld" in found.answer
            assert not re.search(r"\d", found.answer)
            assert found.rows == ()


def test_the_page_shows_picture_and_table_without_a_style_of_its_own(cast: Cast) -> None:
    bring(cast, {4: "30", 5: "60"})
    work(cast, 5)
    shown = page(cast, "report-page", "year", 2026, 1)
    assert "style=" not in shown
    for question in (IN_AND_OUT, WORK):
        assert f"<h2>{question}</h2>" in shown
        assert f"<caption>{question}</caption>" in shown
    assert '<td class="num" data-label="Scraps in">60.0 kg</td>' in shown
    assert not [who for who in ("P0", "P1", "Flat 20") if who in shown]


def alternatives(node: Any, seen: set[int]) -> list[str]:
    """What stands in for pictures in the tree of a tagged PDF."""
    node = node.get_object()
    if id(node) in seen:
        return []
    seen.add(id(node))
    if isinstance(node, list):
        return [one for inner in node for one in alternatives(inner, seen)]
    if not isinstance(node, dict):
        return []
    own = [str(node["/Alt"])] if "/Alt" in node else []
    return own + (alternatives(node["/K"], seen) if "/K" in node else [])


@pytest.mark.parametrize("language", ["en", "es", "fr", "ar"])
def test_paper_has_the_pictures_with_their_words_and_their_figures_beside_them(cast: Cast, language: str) -> None:
    bring(cast, {4: "30", 5: "61.7"})
    work(cast, 7)
    document = told(cast, language=language)
    read = pypdf.PdfReader(io.BytesIO(pdf(document, "a4")))
    root = read.trailer["/Root"]
    assert alternatives(root["/StructTreeRoot"], set()) == [f"{p.question} {p.answer}" for p in document.pictures]
    text = "".join("".join(sheet.extract_text() for sheet in read.pages).split())
    assert "61.7" in text or "61,7" in text
    assert "\ufffd" not in text
    assert {"/Table", "/TH"} <= set(re.findall(r"/T(?:able|H)", str(roles(root["/StructTreeRoot"], set()))))


def roles(node: Any, seen: set[int]) -> list[str]:
    node = node.get_object()
    if id(node) in seen:
        return []
    seen.add(id(node))
    if isinstance(node, list):
        return [one for inner in node for one in roles(inner, seen)]
    if not isinstance(node, dict):
        return []
    return [str(node.get("/S", "")), *(roles(node["/K"], seen) if "/K" in node else [])]


def test_a_withheld_picture_prints_as_words(cast: Cast) -> None:
    bring(cast, {5: "10"})
    work(cast, 4)
    read = pypdf.PdfReader(io.BytesIO(pdf(told(cast, "month", 5), "letter")))
    text = " ".join(" ".join(sheet.extract_text() for sheet in read.pages).split())
    assert "This is withheld: fewer than five households did duties" in text
    assert alternatives(read.trailer["/Root"]["/StructTreeRoot"], set()) == []


def test_pictures_ask_nothing_more_of_a_year_of_many_than_of_few(cast: Cast) -> None:
    def asked() -> int:
        with inside(cast.building.uid) as here, CaptureQueriesContext(connection) as queries:
            told = document(report_of(here, period_of("year", 2026, 1), dt.date(2026, 7, 3), with_money=True))
        assert told.pictures
        return len(queries)

    bring(cast, {5: "10"})
    few = asked()
    work(cast, 12)
    bring(cast, dict.fromkeys((1, 2, 3, 4, 6), "10"))
    assert asked() == few
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).count() == 6


def test_the_months_of_a_year_are_each_months_own_figures(db: None) -> None:
    frozen.load()
    with inside(UID) as here:
        for year in (2025, 2026):
            whole = figures(here, period_of("year", year, 1))
            months = [figures(here, period_of("month", year, number)) for number in range(1, 13)]
            for one, scraps_g, compost_ml in zip(months, whole.scraps_by_month, whole.compost_by_month, strict=True):
                assert (scraps_g, compost_ml) == ((one.scraps_g, one.compost_ml) if one.has_data else (None, None))
            assert sum(scraps_g or 0 for scraps_g in whole.scraps_by_month) == whole.scraps_g
            assert sum(compost_ml or 0 for compost_ml in whole.compost_by_month) == whole.compost_ml > 0
