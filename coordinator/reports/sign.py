"""The sign of a drum as data for paper: its words in one or two languages, our pictures, and the square code."""

from dataclasses import dataclass

import segno
from django.template.loader import render_to_string
from django.utils.translation import get_language_info, override
from django.utils.translation import gettext as _

from bins.models import Drum

from ..items import Told
from .plain import lines_of


@dataclass(frozen=True)
class Thing:
    """One thing that goes in or stays out: its picture, and its name in each language."""

    picture: str
    names: tuple[str, ...]


@dataclass(frozen=True)
class Words:
    """What the sign says in one language."""

    language: str
    is_right_to_left: bool
    title: str
    browns: str
    scan: str
    goes_in: str
    stays_out: str
    words: tuple[str, ...]
    tell: str
    nothing_open: str


@dataclass(frozen=True)
class Sign:
    building: str
    words: tuple[Words, ...]
    picture: str
    picture_alt: str
    code: str
    code_alt: str
    goes_in: tuple[Thing, ...]
    stays_out: tuple[Thing, ...]
    phone: str
    fallback: str
    address: str


def sign_of(drum: Drum, address: str, languages: list[str], groups: list[tuple[str, list[Told]]]) -> Sign:
    """`groups`: the site's list by verdict. The address is what the code leads to."""
    by_verdict, site = dict(groups), drum.site
    with override(languages[0]):
        label, code_alt = (
            _("A pail and cups of browns go into the hatch with the tag."),
            _("Square code to scan with a phone"),
        )
        picture = render_to_string("pages/parts/sign_picture.html", {"cups": site.cups_per_pail, "label": label})
    return Sign(
        building=drum.building.name,
        words=tuple(_words(drum, code) for code in languages),
        picture=picture.strip(),
        picture_alt=label,
        code=segno.make(address, error="m").svg_inline(scale=6, border=2),
        code_alt=code_alt,
        goes_in=tuple(_thing(one, languages) for one in by_verdict.get("yes", [])),
        stays_out=tuple(_thing(one, languages) for one in by_verdict.get("no", [])),
        phone=drum.building.contact_phone,
        fallback=site.fallback,
        address=address,
    )


def _words(drum: Drum, language: str) -> Words:
    with override(language):
        return Words(
            language=language,
            is_right_to_left=get_language_info(language)["bidi"],
            title=_("Drum %(number)s: hatch with the tag") % {"number": drum.number},
            browns=lines_of("pages/parts/browns.html", cups=drum.site.cups_per_pail)[0],
            scan=_("Scan: which hatch is open?"),
            goes_in=_("This goes in"),
            stays_out=_("This stays out"),
            words=lines_of("pages/parts/sign_words.html"),
            tell=_("A smell, an animal, something broken? Scan the code and tell us."),
            nothing_open=_("Nothing open?"),
        )


def _thing(one: Told, languages: list[str]) -> Thing:
    names = []
    for language in languages:
        with override(language):
            names.append(str(one.name))
    return Thing(render_to_string("pages/parts/item_picture.html", {"item": one}).strip(), tuple(names))
