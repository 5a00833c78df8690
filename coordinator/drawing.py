"""The drum as a picture: typed values in, one inline SVG out.

The same drawing serves the page, the list, the sign and the report. Class names carry the look on a
screen (``look.css``), presentation attributes carry it on paper, where no style sheet is read. A tumbler
turns, so no word says on which side a hatch is: it is known by its letter and its shape. For the same
reason the picture is not mirrored for Arabic; only its words are.
"""

import re
from dataclasses import dataclass
from typing import Final

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language_bidi, gettext, pgettext

SHAPES: Final = frozenset({"circle", "square"})
STAGES: Final = frozenset({"filling", "composting", "curing", "ready", "empty", "quarantined"})
SPLITS: Final = frozenset({"across", "along"})

# Which pattern fills a stage. An empty hatch stays blank; a shut one shows its level and carries a band.
PATTERNS: Final = {"filling": "dots", "composting": "slants", "curing": "strokes", "ready": "solid"}

_ID: Final = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Hatch:
    """One half of a drum: its mark, what is going on in it, how full it is (0 to 100 of its height)."""

    letter: str
    shape: str
    stage: str
    level_percent: int
    has_tag: bool

    def __post_init__(self) -> None:
        if not 1 <= len(self.letter) <= 2:
            raise ValueError(f"a hatch is marked with one letter, or two at most, not {self.letter!r}")
        if self.shape not in SHAPES:
            raise ValueError(f"unknown shape {self.shape!r}")
        if self.stage not in STAGES:
            raise ValueError(f"unknown stage {self.stage!r}")
        if not 0 <= self.level_percent <= 100:
            raise ValueError(f"a level is between 0 and 100 percent, not {self.level_percent}")

    @property
    def shows_tag(self) -> bool:
        """The tag is drawn on an open hatch only, wherever it was left: it means "put it here"."""
        return self.has_tag and self.stage == "filling"


@dataclass(frozen=True)
class Drum:
    """A drum as it is split: ``across`` its axle (two fronts) or ``along`` it (one round with a divider)."""

    uid: str
    name: str
    split: str
    hatches: tuple[Hatch, Hatch]

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.uid):
            raise ValueError(f"a uid is letters, digits, _ and - only, not {self.uid!r}")
        if self.split not in SPLITS:
            raise ValueError(f"unknown split {self.split!r}")
        first, second = self.hatches
        if first.letter == second.letter:
            raise ValueError(f"both hatches are marked {first.letter}")
        if first.shows_tag and second.shows_tag:
            raise ValueError("a drum has one tag, and both hatches show it")


@dataclass(frozen=True)
class Line:
    """One line of words, with the height of its baseline."""

    text: str
    y: int


@dataclass(frozen=True)
class Half:
    """Where everything of one hatch stands, in units of the drawing."""

    hatch: Hatch
    outline: str
    x: int
    plate_y: int
    pattern: str
    fill_y: int
    fill_height: int
    band: tuple[Line, ...]
    band_y: int
    band_height: int
    words: tuple[Line, ...]
    hint: tuple[Line, ...]
    words_x: int


@dataclass(frozen=True)
class Layout:
    """The sizes of one way to split a drum; all in units of the drawing, which is 320 wide."""

    centre_y: int
    radius: int
    floor_y: int
    xs: tuple[int, int]
    words_xs: tuple[int, int]
    outlines: tuple[str, str]
    band_letters: int


def _round(x: int, y: int, radius: int) -> str:
    """A full circle as a path."""
    arc = f"A{radius} {radius} 0 0 1 {x}"
    return f"M{x} {y - radius}{arc} {y + radius}{arc} {y - radius}Z"


def _half_round(x: int, y: int, radius: int, sweep: int) -> str:
    """Half a circle with its flat edge on the divider."""
    return f"M{x} {y - radius}A{radius} {radius} 0 0 {sweep} {x} {y + radius}Z"


LAYOUTS: Final = {
    "across": Layout(
        centre_y=80,
        radius=65,
        floor_y=164,
        xs=(82, 238),
        words_xs=(82, 238),
        outlines=(_round(82, 80, 65), _round(238, 80, 65)),
        band_letters=13,
    ),
    "along": Layout(
        centre_y=108,
        radius=95,
        floor_y=218,
        xs=(114, 206),
        words_xs=(78, 242),
        outlines=(_half_round(158, 108, 95, 0), _half_round(162, 108, 95, 1)),
        band_letters=9,
    ),
}

_PLATE_ABOVE_CENTRE: Final = 23
_BAND_BELOW_CENTRE: Final = 8
_WORDS_LETTERS: Final = 16  # what fits under one hatch when the drawing is shown 280 px wide


def _stage_word(stage: str) -> str:
    """The short word that stands in the drawing."""
    return {
        "filling": pgettext("hatch", "open"),
        "composting": pgettext("hatch", "working"),
        "curing": pgettext("hatch", "resting"),
        "ready": pgettext("hatch", "finished"),
        "empty": pgettext("hatch", "empty"),
        "quarantined": pgettext("hatch", "shut for now"),
    }[stage]


def _stage_phrase(stage: str) -> str:
    """The whole phrase, as pages say it."""
    return {
        "filling": pgettext("hatch", "open"),
        "composting": pgettext("hatch", "working, do not add"),
        "curing": pgettext("hatch", "resting, do not add"),
        "ready": pgettext("hatch", "finished"),
        "empty": pgettext("hatch", "empty"),
        "quarantined": pgettext("hatch", "shut for now, do not add"),
    }[stage]


def _level_sentence(level_percent: int) -> str:
    """The level as people say it: the nearest quarter."""
    return (
        gettext("Nothing in it, or nearly nothing."),
        gettext("About a quarter full."),
        gettext("About half full."),
        gettext("About three quarters full."),
        gettext("Full, or nearly full."),
    )[(level_percent + 12) // 25]


def _hatch_sentences(hatch: Hatch) -> str:
    mark = (
        pgettext("mark of a hatch", "the circle")
        if hatch.shape == "circle"
        else pgettext("mark of a hatch", "the square")
    )
    sentences = [
        gettext("Hatch %(letter)s, %(mark)s: %(stage)s.")
        % {"letter": hatch.letter, "mark": mark, "stage": _stage_phrase(hatch.stage)}
    ]
    if hatch.stage != "empty":
        sentences.append(_level_sentence(hatch.level_percent))
    if hatch.shows_tag:
        sentences.append(gettext("The tag hangs here."))
    return " ".join(sentences)


def _wrapped(text: str, letters: int) -> list[str]:
    """One line, or two of about the same length when one would not fit."""
    words = text.split()
    if len(text) <= letters or len(words) < 2:
        return [text]
    breaks = [[" ".join(words[:cut]), " ".join(words[cut:])] for cut in range(1, len(words))]
    return min(breaks, key=lambda lines: max(len(line) for line in lines))


def _stacked(texts: list[str], first_y: int, step: int) -> tuple[Line, ...]:
    return tuple(Line(text=text, y=first_y + step * at) for at, text in enumerate(texts))


def _half(hatch: Hatch, layout: Layout, at: int) -> Half:
    fill_height = round(2 * layout.radius * hatch.level_percent / 100)
    is_shut = hatch.stage == "quarantined"
    band = _wrapped(_stage_word(hatch.stage), layout.band_letters) if is_shut else []
    band_y = layout.centre_y + _BAND_BELOW_CENTRE
    words_y = layout.floor_y + 25
    do_not_add = _wrapped(pgettext("hatch", "do not add"), _WORDS_LETTERS)
    words = do_not_add if is_shut else _wrapped(_stage_word(hatch.stage), _WORDS_LETTERS)
    hint = do_not_add if hatch.stage in {"composting", "curing"} else []
    return Half(
        hatch=hatch,
        outline=layout.outlines[at],
        x=layout.xs[at],
        plate_y=layout.centre_y - _PLATE_ABOVE_CENTRE,
        pattern=PATTERNS.get(hatch.stage, ""),
        fill_y=layout.centre_y + layout.radius - fill_height,
        fill_height=fill_height,
        band=_stacked(band, band_y + 19, 17),
        band_y=band_y,
        band_height=11 + 17 * len(band),
        words=_stacked(words, words_y, 19),
        hint=_stacked(hint, words_y + 19 * len(words), 17),
        words_x=layout.words_xs[at],
    )


def draw(drum: Drum, *, prefix: str = "") -> SafeString:
    """The drum as inline SVG.

    Ids inside start with ``prefix``, or with the drum's uid when none is given: give one when the same drum
    is drawn twice on a page. Raises ValueError for a prefix that could not be part of an id.
    """
    if prefix and not _ID.fullmatch(prefix):
        raise ValueError(f"a prefix is letters, digits, _ and - only, not {prefix!r}")
    layout = LAYOUTS[drum.split]
    halves = tuple(_half(hatch, layout, at) for at, hatch in enumerate(drum.hatches))
    split = (
        gettext("One drum in two halves on one axle, each with its own hatch.")
        if drum.split == "across"
        else gettext("One drum with a wall inside: two halves, each with its own hatch.")
    )
    svg = render_to_string(
        "drawing/drum.svg",
        {
            "prefix": prefix or f"drum-{drum.uid}",
            "drum": drum,
            "split": drum.split,
            "floor_y": layout.floor_y,
            "height": max(line.y for half in halves for line in half.words + half.hint) + 8,
            "halves": halves,
            "direction": "rtl" if get_language_bidi() else "ltr",
            "description": " ".join([split, *(_hatch_sentences(hatch) for hatch in drum.hatches)]),
        },
    )
    return mark_safe(svg)  # noqa: S308 - rendered by a template that escapes every value
