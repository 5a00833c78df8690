"""The drum's picture: read in greyscale, by ear, in Arabic, twice on a page."""

import re
from xml.etree import ElementTree

import pytest
from django.utils.translation import override

from coordinator.drawing import PATTERNS, SPLITS, STAGES, Drum, Hatch, draw

SVG = "{http://www.w3.org/2000/svg}"
OPEN_A = Hatch(letter="A", shape="circle", stage="filling", level_percent=60, has_tag=True)
WORKING_B = Hatch(letter="B", shape="square", stage="composting", level_percent=80, has_tag=False)
LANGUAGES = ("en", "es", "fr", "ar")


def hatch_b(stage: str, *, level_percent: int = 50, has_tag: bool = False) -> Hatch:
    return Hatch(letter="B", shape="square", stage=stage, level_percent=level_percent, has_tag=has_tag)


def drum(*hatches: Hatch, split: str = "across", uid: str = "2", name: str = "Drum 2") -> Drum:
    first, second = hatches or (OPEN_A, WORKING_B)
    return Drum(uid=uid, name=name, split=split, hatches=(first, second))


def tree(picture: str) -> ElementTree.Element:
    return ElementTree.fromstring(picture)  # noqa: S314 - our own text


def by_class(picture: str, name: str) -> list[ElementTree.Element]:
    return [element for element in tree(picture).iter() if name in element.get("class", "").split()]


def words_in(picture: str) -> list[str]:
    return [text.text or "" for text in tree(picture).iter(f"{SVG}text")]


def description_of(picture: str) -> str:
    return tree(picture).findtext(f"{SVG}desc") or ""


@pytest.mark.parametrize("split", sorted(SPLITS))
@pytest.mark.parametrize("stage", sorted(STAGES))
def test_every_stage_says_its_word_in_the_picture_and_in_the_description(split: str, stage: str) -> None:
    word = {
        "filling": "open",
        "composting": "working",
        "curing": "resting",
        "ready": "finished",
        "empty": "empty",
        "quarantined": "shut for now",
    }[stage]
    with override("en"):
        picture = draw(drum(Hatch("A", "circle", "empty", 0, False), hatch_b(stage), split=split))
    assert word in " ".join(words_in(picture))
    assert f"Hatch B, the square: {word}" in description_of(picture)


def test_a_hatch_that_takes_nothing_says_do_not_add() -> None:
    with override("en"):
        said = {
            stage: "do not add" in words_in(draw(drum(OPEN_A, hatch_b(stage))))
            for stage in sorted(STAGES - {"filling"})
        }
    assert said == {
        "composting": True,
        "curing": True,
        "empty": False,
        "quarantined": True,
        "ready": False,
    }


def test_each_stage_with_something_in_it_has_a_pattern_of_its_own() -> None:
    assert len(set(PATTERNS.values())) == len(PATTERNS) == 4
    fills = {}
    for stage in PATTERNS:
        (_, fill) = by_class(draw(drum(Hatch("A", "circle", "ready", 50, False), hatch_b(stage))), "drum-fill")
        fills[stage] = fill.get("fill")
    assert fills == {
        "filling": "url(#drum-2-dots)",
        "composting": "url(#drum-2-slants)",
        "curing": "url(#drum-2-strokes)",
        "ready": "#1c1712",
    }


def test_the_patterns_differ_in_shape_and_share_one_ink_so_that_greyscale_loses_nothing() -> None:
    patterns = list(tree(draw(drum())).iter(f"{SVG}pattern"))
    drawn = {
        (pattern.get("patternTransform"), tuple((child.tag, child.get("height")) for child in pattern))
        for pattern in patterns
    }
    assert len(drawn) == len(patterns) == 3
    assert {child.get("fill") for pattern in patterns for child in pattern} == {"#1c1712"}


def test_an_empty_hatch_is_blank_even_when_a_level_was_left_behind() -> None:
    picture = draw(drum(Hatch("A", "circle", "empty", 0, False), hatch_b("empty", level_percent=40)))
    assert by_class(picture, "drum-fill") == []
    assert by_class(picture, "drum-level") == []


def test_a_shut_hatch_carries_a_band_and_no_other_does() -> None:
    assert by_class(draw(drum()), "drum-band") == []
    picture = draw(drum(OPEN_A, hatch_b("quarantined")))
    assert len(by_class(picture, "drum-band")) == 1
    assert by_class(picture, "drum-is-quarantined")[0].find(f".//{SVG}rect[@class='drum-band']") is not None


@pytest.mark.parametrize("split", sorted(SPLITS))
def test_the_fill_stands_as_high_as_the_level(split: str) -> None:
    heights = {}
    for level in (0, 1, 50, 100):
        fills = by_class(draw(drum(OPEN_A, hatch_b("curing", level_percent=level), split=split)), "drum-fill")
        heights[level] = [int(fill.get("height", "")) for fill in fills[1:]]
    inside = {"across": 130, "along": 190}[split]
    assert heights == {0: [], 1: [round(inside / 100)], 50: [inside // 2], 100: [inside]}


def test_the_tag_hangs_on_the_open_hatch_only() -> None:
    picture = draw(drum())
    assert len(by_class(picture, "drum-tag")) == 1
    assert len([e for e in by_class(picture, "drum-is-filling")[0] if e.get("class") == "drum-tag"]) == 1


@pytest.mark.parametrize("stage", sorted(STAGES - {"filling"}))
def test_a_tag_left_on_a_hatch_that_is_not_open_is_not_drawn(stage: str) -> None:
    with override("en"):
        picture = draw(drum(Hatch("A", "circle", "empty", 0, False), hatch_b(stage, has_tag=True)))
    assert by_class(picture, "drum-tag") == []
    assert "tag" not in description_of(picture)


def test_an_open_hatch_whose_tag_has_not_arrived_shows_none() -> None:
    assert by_class(draw(drum(Hatch("A", "circle", "filling", 10, False), WORKING_B)), "drum-tag") == []


def test_the_picture_has_a_title_and_a_full_description_that_it_points_to() -> None:
    with override("en"):
        root = tree(draw(drum()))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("role") == "img"
    assert title is not None
    assert desc is not None
    assert (root.get("aria-labelledby"), root.get("aria-describedby")) == (title.get("id"), desc.get("id"))
    assert title.text == "Drum 2"
    assert desc.text == (
        "One drum in two halves on one axle, each with its own hatch. "
        "Hatch A, the circle: open. About half full. The tag hangs here. "
        "Hatch B, the square: working, do not add. About three quarters full."
    )


@pytest.mark.parametrize(
    ("level", "said"),
    [
        (0, "Nothing in it"),
        (12, "Nothing in it"),
        (13, "About a quarter"),
        (37, "About a quarter"),
        (38, "About half"),
        (62, "About half"),
        (63, "About three quarters"),
        (87, "About three quarters"),
        (88, "Full"),
        (100, "Full"),
    ],
)
def test_a_level_is_said_as_the_nearest_quarter(level: int, said: str) -> None:
    with override("en"):
        picture = draw(drum(OPEN_A, hatch_b("curing", level_percent=level)))
    assert f"resting, do not add. {said}" in description_of(picture)


def test_two_drums_on_one_page_share_no_id_and_point_only_at_their_own() -> None:
    pictures = (draw(drum()), draw(drum(uid="3", split="along")), draw(drum(), prefix="small"))
    ids: list[str] = []
    for picture in pictures:
        own = re.findall(r' id="([^"]+)"', picture)
        assert set(re.findall(r"url\(#([^)]+)\)", picture)) <= set(own)
        ids += own
    assert len(ids) == len(set(ids)) == 3 * 7


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("split", sorted(SPLITS))
def test_no_word_says_left_or_right(language: str, split: str) -> None:
    sides = re.compile(
        r"\b(left|right|izquierd\w+|derech[ao]s?|gauche|droite?)\b|\u064a\u0633\u0627\u0631|\u064a\u0645\u064a\u0646",
        re.IGNORECASE,
    )
    assert sides.search("the left hatch")
    for stage in sorted(STAGES):
        with override(language):
            picture = draw(drum(Hatch("A", "circle", "empty", 0, False), hatch_b(stage), split=split))
        assert not sides.search(" ".join([*words_in(picture), description_of(picture)]))


@pytest.mark.parametrize("language", LANGUAGES)
def test_numbers_in_the_drawing_keep_their_point_in_every_language(language: str) -> None:
    with override(language):
        picture = draw(drum(OPEN_A, hatch_b("quarantined", level_percent=33)))
    root = tree(picture)
    assert root.get("direction") == ("rtl" if language == "ar" else "ltr")
    names = ("x", "y", "width", "height", "r", "cx", "cy", "stroke-width")
    numbers = [element.get(name) for element in root.iter() for name in names if element.get(name)]
    assert numbers
    assert all(re.fullmatch(r"\d+(\.\d+)?", number or "") for number in numbers)


def test_a_name_with_signs_in_it_is_escaped() -> None:
    picture = draw(drum(name='<script>"&'))
    assert "<script" not in picture
    assert tree(picture).findtext(f"{SVG}title") == '<script>"&'


def test_nothing_in_the_picture_needs_an_inline_style_or_a_script() -> None:
    assert not re.search(r"<style|<script|\sstyle=|\son\w+=|href=", draw(drum()))


def test_both_marks_are_drawn_as_the_shapes_that_can_be_felt() -> None:
    marks = by_class(draw(drum()), "drum-mark")
    assert [mark.tag for mark in marks] == [f"{SVG}circle", f"{SVG}path"]


@pytest.mark.parametrize(
    ("wrong", "complaint"),
    [
        (lambda: Hatch("", "circle", "filling", 50, True), "letter"),
        (lambda: Hatch("A", "star", "filling", 50, True), "shape"),
        (lambda: Hatch("A", "circle", "open", 50, True), "stage"),
        (lambda: Hatch("A", "circle", "filling", -1, True), "level"),
        (lambda: Hatch("A", "circle", "filling", 101, True), "level"),
        (lambda: drum(split="askew"), "split"),
        (lambda: drum(uid="2 onload"), "uid"),
        (lambda: drum(OPEN_A, Hatch("A", "square", "empty", 0, False)), "both hatches are marked A"),
        (lambda: drum(OPEN_A, hatch_b("filling", has_tag=True)), "one tag"),
        (lambda: draw(drum(), prefix='x"y'), "prefix"),
    ],
)
def test_a_drum_that_cannot_be_drawn_truly_is_refused(wrong, complaint: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=complaint):
        wrong()
