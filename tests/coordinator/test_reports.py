"""A month, a quarter, a year: the same figures on the page, as PDF and as CSV; read back, in four languages."""

import csv
import datetime as dt
import io
import json

import pypdf
import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import translation

from bins.intake.dropoff import DropOff, record_drop_off
from bins.months.calendar import Period
from bins.months.figures import figures
from coordinator.reports.document import Document, document
from coordinator.reports.pdf import pdf
from coordinator.reports.report import period_of, report_of
from households.models import Building
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import go_outside, live

pytestmark = pytest.mark.embedded
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
LATER = NOW + dt.timedelta(days=60)
POINTS = {"a4": (595.28, 841.89), "letter": (612, 792)}  # ISO 216 and ANSI A, in points of 1/72 inch


def told(cast: Cast, kind: str = "month", number: int = 5, language: str = "en") -> Document:
    with inside(cast.building.uid) as here, translation.override(language):
        return document(report_of(here, period_of(kind, 2026, number), dt.date(2026, 7, 3), with_money=False))


def page(cast: Cast, name: str, *args: object, who: str = "committee") -> str:
    client = Client()
    client.force_login(account_of(cast.people[who]), BACKEND)
    with time_machine.travel(LATER, tick=False):
        answer = client.get(reverse(name, args=[cast.building.uid, *args]))
    go_outside()
    assert answer.status_code == 200, (name, args, answer.status_code)
    return answer.content.decode("utf-8-sig") if "pdf" not in name else ""


def test_page_and_csv_show_the_same_lines(cast: Cast) -> None:
    live(cast)
    document, shown = told(cast), page(cast, "report-page", "month", 2026, 5)
    rows = list(csv.reader(io.StringIO(page(cast, "report-csv", "month", 2026, 5))))
    lines = [line for section in document.sections for line in section.lines]
    assert len(lines) > 15
    assert [(row[1], row[2]) for row in rows[1:]] == [(line.label, line.number) for line in lines]
    for line in lines:
        assert f'<th scope="row">{line.label}</th>' in shown
        assert line.shown in shown


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", ["en", "es", "fr", "ar"])
def test_a_printed_report_is_tagged_and_carries_its_language_fonts_and_figures(
    cast: Cast, language: str, paper: str
) -> None:
    live(cast)
    document = told(cast, language=language)
    read = pypdf.PdfReader(io.BytesIO(pdf(document, paper)))
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]["/K"]
    assert root["/Lang"] == language
    assert "ua" in str(read.xmp_metadata.rdf_root.toxml()).lower() if read.xmp_metadata else False
    assert document.title in str(read.metadata.title)  # type: ignore[union-attr]
    for sheet in read.pages:
        assert (float(sheet.mediabox.width), float(sheet.mediabox.height)) == pytest.approx(POINTS[paper], abs=0.5)
        for font in sheet["/Resources"]["/Font"].values():
            described = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & set(described), "a font that is not embedded"
            assert "NotoSans" in described["/FontName"]
    words = "".join("".join(sheet.extract_text() for sheet in read.pages).split())
    for section in document.sections:
        for line in section.lines:
            for digits in filter(str.isdigit, line.shown.replace(",", " ").replace(".", " ").split()):
                assert digits in words, line


def test_what_people_typed_is_text_and_never_markup(cast: Cast) -> None:
    name = '#read("/etc/passwd") *bold* $x$ \\ <a> @b = c'
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(name=name)
    live(cast)
    read = pypdf.PdfReader(io.BytesIO(pdf(told(cast), "a4")))
    assert "".join(name.split()) in "".join(read.pages[0].extract_text().split())


def test_no_data_is_not_zero(cast: Cast) -> None:
    shown = {line.label: line.shown for section in told(cast, number=4).sections for line in section.lines}
    assert shown == {}
    live(cast)
    shown = {line.label: line.shown for section in told(cast).sections for line in section.lines}
    assert shown["Shares fetched"] == "not known"
    assert shown["Shrunk by"] == "not known"
    assert shown["Hours for each 100 kg"] == "not known"
    assert shown["Compost"] == "not yet"
    assert shown["Visits that found a wrong item"] == "0 of 2 (0 %)"


def test_greenhouse_gas_is_off_until_the_building_wants_it(cast: Cast) -> None:
    live(cast)
    assert "Greenhouse gas" not in [section.title for section in told(cast).sections]
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(greenhouse="ar5")
        scraps_g = figures(here, Period(dt.date(2026, 5, 1))).scraps_g
    (line,) = next(section.lines for section in told(cast).sections if section.title == "Greenhouse gas")
    # 175.60 g for each kilo: IPCC 2006, vol. 5, table 4.1, with AR5's 28 and 265.
    assert line.number == str(round(scraps_g / 1000 * 175.60))


@pytest.mark.parametrize(("households", "tonnes"), [(40, 5.09), (25, 3.18), (13, 1.65)])
def test_a_year_of_bressuires_households(cast: Cast, households: int, tonnes: float) -> None:
    # Bressuire: 10.6 kg a month each; 40, 25 and 13 households bring 5.09, 3.18 and 1.65 t a year.
    people = [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(households)]
    with inside(cast.building.uid) as here:
        for month in range(1, 13):
            for who in people:
                raw = {"uid": f"{month:08}-0000-4000-8000-{who.pk:012}", "drum": cast.drum.uid, "kilograms": "10.6"}
                at = dt.datetime(2026, month, 15, 12, tzinfo=dt.UTC)
                told = DropOff.from_raw(raw)
                record_drop_off(building=here, told=told, household=who.household, person=who, via="web", now=at)
        found = figures(here, Period(dt.date(2026, 1, 1), 12))
        quarters = [figures(here, Period(dt.date(2026, first, 1), 3)).scraps_g for first in (1, 4, 7, 10)]
    assert found.scraps_g == sum(quarters) == households * 12 * 10_600
    assert round(found.scraps_g / 1e6, 2) == tonnes
    assert (found.drop_offs, found.households, found.taking_part) == (12 * households, households, households)


def test_a_line_is_withheld_for_a_quarter_if_one_of_its_months_withholds_it(cast: Cast) -> None:
    """Or the two months that show it would leave the third as the difference."""
    people = [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(6)]
    with inside(cast.building.uid) as here:
        for month, weighing in ((4, people), (5, people), (6, people[:2])):
            for who in people:
                how = {"kilograms": "2"} if who in weighing else {"quarter_pails": 4}
                raw = {"uid": f"{month:08}-0000-4000-8000-{who.pk:012}", "drum": cast.drum.uid} | how
                at = dt.datetime(2026, month, 15, 12, tzinfo=dt.UTC)
                told = DropOff.from_raw(raw)
                record_drop_off(building=here, told=told, household=who.household, person=who, via="web", now=at)
        months = [figures(here, Period(dt.date(2026, month, 1))) for month in (4, 5, 6)]
        quarter = figures(here, Period(dt.date(2026, 4, 1), 3))
    assert [known.is_withheld for known in months[0].by_known] == [False]
    assert [known.is_withheld for known in months[2].by_known] == [True, True]
    assert [known.is_withheld for known in quarter.by_known] == [True, True]
    assert quarter.scraps_g == sum(month.scraps_g for month in months)


def test_a_time_that_is_none_is_not_there(cast: Cast) -> None:
    client = Client()
    client.force_login(account_of(cast.committee), BACKEND)
    for span, year, number in (("week", 2026, 1), ("quarter", 2026, 5), ("year", 2026, 2), ("month", 1999, 1)):
        address = reverse("report-page", args=[cast.building.uid, span, year, number])
        assert client.get(address).status_code == 404, address
    go_outside()


def test_the_queries_of_a_report_do_not_grow(cast: Cast) -> None:
    def asked() -> int:
        with inside(cast.building.uid) as here, CaptureQueriesContext(connection) as queries:
            report_of(here, Period(dt.date(2026, 4, 1), 3), dt.date(2026, 7, 3), with_money=True)
        return len(queries)

    live(cast)
    few = asked()
    for number in range(8):
        who = newcomer(cast.building, f"P{number}", f"Flat {20 + number}", "resident")
        with inside(cast.building.uid) as here:
            raw = {"uid": f"{number:08}-0000-4000-8000-000000000000", "drum": cast.drum.uid, "kilograms": "2"}
            told = DropOff.from_raw(raw)
            record_drop_off(building=here, told=told, household=who.household, person=who, via="web", now=NOW)
    assert asked() == few


def test_the_committee_switches_greenhouse_gas_on_and_off(cast: Cast) -> None:
    live(cast)
    client = Client()
    client.force_login(account_of(cast.committee), BACKEND)
    for choice, is_shown in (("ar6", True), ("", False), ("ar4", False)):
        with time_machine.travel(LATER, tick=False):
            assert (
                client.post(reverse("greenhouse", args=[cast.building.uid]), {"greenhouse": choice}).status_code == 302
            )
        go_outside()
        assert ("Given off, as carbon dioxide" in page(cast, "report-page", "month", 2026, 5)) is is_shown


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("second", ["", "ar", "fr"])
def test_a_sign_is_one_tagged_sheet_with_its_words_in_both_languages(cast: Cast, paper: str, second: str) -> None:
    live(cast)
    client = Client()
    client.force_login(account_of(cast.caretaker), BACKEND)
    address = reverse("sign-pdf", args=[cast.building.uid, cast.drum.uid, paper])
    read = pypdf.PdfReader(io.BytesIO(client.get(address, {"second": second}).content))
    go_outside()
    (sheet,) = read.pages
    assert (float(sheet.mediabox.width), float(sheet.mediabox.height)) == pytest.approx(POINTS[paper], abs=0.5)
    root = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    words = " ".join(sheet.extract_text().split())
    assert "Drum 1: hatch with the tag" in words
    assert "the brown bin by the gate" in words
    assert ("trappe avec" in words) is (second == "fr")
    assert client.get(reverse("sign-pdf", args=[cast.building.uid, cast.drum.uid, "a3"])).status_code == 404
    go_outside()


def test_the_weeks_list_is_tagged_pages_with_a_row_a_day(cast: Cast) -> None:
    live(cast)
    client = Client()
    client.force_login(account_of(cast.caretaker), BACKEND)
    with time_machine.travel(NOW + dt.timedelta(days=2), tick=False):
        answer = client.get(reverse("week-pdf", args=[cast.building.uid, "letter"]))
    go_outside()
    read = pypdf.PdfReader(io.BytesIO(answer.content))
    assert read.trailer["/Root"]["/MarkInfo"]["/Marked"]
    words = " ".join(" ".join(sheet.extract_text() for sheet in read.pages).split())
    assert "The drums in the week from May 4, 2026" in words
    assert "Move the tag on drum 1 from hatch A to hatch B." in words
    assert [day in words for day in ("Mon 4", "Sun 10")] == [True, True]


def test_page_file_and_api_tell_one_number_of_a_month_a_quarter_and_a_year(cast: Cast) -> None:
    live(cast)
    names = {
        "Scraps kept out of the bin": "scraps_g",
        "Drop-offs": "drop_offs",
        "Browns": "browns_ml",
        "Visits": "visits",
        "Turns": "turns",
        "Reports by neighbours": "reports",
        "Households taking part": "taking_part",
        "Days with an open hatch": "open_days",
        "Visits that found a wrong item": "wrong_visits",
    }
    for span, number in (("month", 5), ("quarter", 2), ("year", 1)):
        api = json.loads(page(cast, "api-period", span, 2026, number))
        told = {row[1]: row[2] for row in csv.reader(io.StringIO(page(cast, "report-csv", span, 2026, number)))}
        for label, name in names.items():
            if told[label]:
                assert told[label] == str(api[name]), (span, label)
    assert (api["first_day"], api["last_day"], api["is_running"]) == ("2026-01-01", "2026-12-31", True)
    month = json.loads(page(cast, "api-month", 2026, 5))
    same = json.loads(page(cast, "api-period", "month", 2026, 5))
    assert {name: same[name] for name in month if name in same} == {n: month[n] for n in month if n in same}


def test_what_one_month_withholds_page_file_and_api_withhold_in_month_quarter_and_year(cast: Cast) -> None:
    """Two weigh, one guesses, nine count: whoever takes what is shown from the total finds twelve, never three."""
    people = [newcomer(cast.building, f"P{n}", f"Flat {20 + n}", "resident") for n in range(12)]
    hows = [{"kilograms": "2.345"}] * 2 + [{"quarter_pails": 3, "known": "guessed"}] + [{"quarter_pails": 4}] * 9
    with inside(cast.building.uid) as here:
        for month in (4, 5, 6):
            for who, how in zip(people, hows if month == 5 else [{"quarter_pails": 4}] * 12, strict=True):
                raw = {"uid": f"{month:08}-0000-4000-8000-{who.pk:012}", "drum": cast.drum.uid} | how
                at = dt.datetime(2026, month, 5, 12, tzinfo=dt.UTC)
                record_drop_off(
                    building=here, told=DropOff.from_raw(raw), household=who.household, person=who, via="web", now=at
                )
    go_outside()
    for span, number in (("month", 5), ("quarter", 2), ("year", 1)):
        api = json.loads(page(cast, "api-period", span, 2026, number))
        assert [one["scraps_g"] for one in api["by_known"]] == [None] * 3
        for text in (page(cast, "report-csv", span, 2026, number), page(cast, "report-page", span, 2026, number)):
            assert text.count("withheld") >= 3
            assert "4690" not in text
            assert "4.7 kg" not in text
    rows = json.loads(page(cast, "api-month-rows", 2026, 5, "scraps"))
    assert [(row["day"], row["until"], row["amount"]) for row in rows["results"]] == [
        ("2026-05-05", "2026-05-05", rows["total"])
    ]
    assert "2,345" not in page(cast, "month-rows", 2026, 5, "scraps")
    assert "2345" not in page(cast, "month-rows-csv", 2026, 5, "scraps")
    # The months beside it withhold nothing, so the quarter must not tell what they leave.
    assert json.loads(page(cast, "api-month", 2026, 4))["by_known"] == [
        {"known": "counted", "scraps_g": 12 * 3600, "drop_offs": 12}
    ]


def test_a_correction_stands_below_nothing_in_the_file_of_rows_and_they_add_up(cast: Cast) -> None:
    live(cast)  # one drop-off stands, one was taken back
    shown = page(cast, "month-rows", 2026, 5, "browns")
    rows = list(csv.reader(io.StringIO(page(cast, "month-rows-csv", 2026, 5, "browns"))))[1:]
    total = json.loads(page(cast, "api-month-rows", 2026, 5, "browns"))["total"]
    assert sum(int(row[1]) for row in rows) == total
    assert "All rows as CSV" in shown
    client = Client()
    client.force_login(account_of(cast.committee), BACKEND)
    for since in ("2026-06-01", "x", "2026-04-30"):
        for name in ("month-rows", "api-month-rows"):
            address = reverse(name, args=[cast.building.uid, 2026, 5, "browns"])
            assert client.get(address, {"since": since}).status_code == 404
    go_outside()
