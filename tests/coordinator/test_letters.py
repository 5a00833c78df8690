"""Paper shows what people typed as far as our fonts have letters for it, and comes out whatever they typed."""

import io

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coordinator.reports.document import Document, Line, Section
from coordinator.reports.letters import INSTEAD, drawable, letters
from coordinator.reports.pdf import pdf


def document(name: str) -> Document:
    part = Section("What went in", (Line(name, name, name),))
    return Document("May 2026", name, "12 kg in.", name, (), (part,), name, "en", False, ("Figure", name, name))


def test_a_letter_that_no_font_has_gets_another_sign_and_all_others_stay() -> None:
    assert drawable({"a": ["Quince Court ★", ("دار", "Ж ¼ é")], "b": 3, "c": None}) == {
        "a": [f"Quince Court {INSTEAD}", ["دار", "Ж ¼ é"]],
        "b": 3,
        "c": None,
    }


def test_each_language_of_the_house_and_what_stands_on_signs_can_be_drawn() -> None:
    needed = set(
        "abcxyzABCXYZ0123456789áéíóúüñ¿¡àâæçèêëîïôœùûÿ«»’“”…–—·¼½¾°€£$%°²ابتثجحخدذرزسشصضطظعغفقكلمنهويءآأؤإئىةًٌٍَُِّْ،؛؟٠١٢٣٤٥٦٧٨٩"
        + INSTEAD
    )
    assert {sign for sign in needed if ord(sign) not in letters()} == set()


@pytest.mark.parametrize("name", ["楽しい家", "🥕 Court", "שלום", "ไทย", "① → ★", "", '#read("secret") $x$ *b*'])
def test_a_report_of_a_house_with_any_name_comes_out(name: str) -> None:
    text = pypdf.PdfReader(io.BytesIO(pdf(document(name), "a4"))).pages[0].extract_text()
    assert drawable(name)[:6] in text


@settings(max_examples=25, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=12))
def test_whatever_is_typed_paper_comes_out(name: str) -> None:
    assert pdf(document(name), "letter").startswith(b"%PDF")
