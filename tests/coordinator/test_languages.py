"""Four languages from the first page: no gap in a catalogue, no word on a page that bypasses them."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from django.conf import settings
from django.test import Client, override_settings
from django.urls import reverse

from tests.cast import Cast, account_of
from tests.pages import pages_of

CHECKOUT = Path(__file__).resolve().parents[2]
PLACEHOLDER = re.compile(r"%\(\w+\)[sd]")
CARRIER = "eo"  # a language that the product doesn't have, to carry the pseudo-language


@pytest.fixture(scope="session")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    """Every message of code and templates as they are now."""
    copy = tmp_path_factory.mktemp("messages")
    for room in ("coordinator", "households", "bins"):
        shutil.copytree(CHECKOUT / room, copy / room, ignore=shutil.ignore_patterns("__pycache__", "locale"))
    shutil.copy(CHECKOUT / "manage.py", copy)
    (copy / "coordinator" / "locale").mkdir()
    environment = os.environ | {"DATA_DIR": str(copy / "data"), "SECRET_KEY": "x" * 50}
    subprocess.run(
        [sys.executable, "manage.py", "makemessages", "--locale", CARRIER, "--no-location", "--no-wrap"],
        cwd=copy,
        env=environment,
        check=True,
        capture_output=True,
    )
    return _read(copy / "coordinator" / "locale" / CARRIER / "LC_MESSAGES" / "django.po")


def _read(file: Path) -> Catalog:
    with file.open("rb") as text:
        return read_po(text, locale=file.parts[-3])


def gaps(wanted: Catalog, catalogue: Catalog) -> list[str]:
    """What a catalogue lacks, or translates with other placeholders than the original has."""
    found = []
    for message in wanted:
        if not message.id:
            continue
        theirs = catalogue.get(message.id, message.context)
        texts = [] if theirs is None else [theirs.string] if isinstance(theirs.string, str) else list(theirs.string)
        if theirs is None or theirs.fuzzy or not texts or not all(texts):
            found.append(f"lacks {message.id!r}")
            continue
        originals = [message.id] if isinstance(message.id, str) else list(message.id)
        allowed = {p for text in originals for p in PLACEHOLDER.findall(text)}
        if any(not set(PLACEHOLDER.findall(text)) <= allowed for text in texts):
            found.append(f"other placeholders in {message.id!r}")
        if isinstance(message.id, str) and set(PLACEHOLDER.findall(texts[0])) != allowed:
            found.append(f"a placeholder is lost in {message.id!r}")
    return found


@pytest.mark.embedded
@pytest.mark.parametrize("language", ["es", "fr", "ar"])
def test_a_catalogue_has_every_message_with_its_placeholders(language: str, collected: Catalog) -> None:
    assert len(collected) > 100
    catalogue = _read(settings.LOCALE_PATHS[0] / language / "LC_MESSAGES" / "django.po")
    assert gaps(collected, catalogue) == []


def test_a_gap_and_a_lost_placeholder_are_seen() -> None:
    wanted, catalogue = Catalog(), Catalog()
    wanted.add("One")
    wanted.add("%(n)s pails")
    catalogue.add("%(n)s pails", "seaux")
    assert gaps(wanted, catalogue) == ["lacks 'One'", "a placeholder is lost in '%(n)s pails'"]


class Loose(HTMLParser):
    """Collects words of a page that no catalogue knows: text outside the pseudo-language's brackets."""

    SILENT = frozenset({"script", "style", "option", "title"})  # a title ends with the name of the house
    VOID = frozenset(
        {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
    )
    WORDS = frozenset({"alt", "title", "aria-label", "placeholder"})

    def __init__(self) -> None:
        super().__init__()
        self.data: list[bool] = []
        self.loose: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if not (self.data and self.data[-1]):
            for name in self.WORDS & named.keys():
                self._check(named[name] or "")
        if tag not in self.VOID:
            is_data = tag in self.SILENT or tag == "bdi" or named.get("translate") == "no"
            self.data.append(is_data or bool(self.data and self.data[-1]))

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID and self.data:
            self.data.pop()

    def handle_data(self, data: str) -> None:
        if not (self.data and self.data[-1]):
            self._check(data)

    def _check(self, text: str) -> None:
        rest = re.sub(r"⟦[^⟦⟧]*(?:⟦[^⟦⟧]*⟧[^⟦⟧]*)*⟧", "", text)
        if re.search(r"[A-Za-z]{2,}", rest):
            self.loose.append(text.strip())


@pytest.fixture
def pseudo(collected: Catalog, tmp_path: Path) -> Iterator[None]:
    """Every message in brackets, through the real catalogue machinery."""
    wrapped = Catalog(locale=CARRIER)
    for message in collected:
        if message.id:
            text = message.id
            wrapped.add(
                text, tuple(f"⟦{t}⟧" for t in text) if isinstance(text, tuple) else f"⟦{text}⟧", context=message.context
            )
    folder = tmp_path / CARRIER / "LC_MESSAGES"
    folder.mkdir(parents=True)
    compiled = BytesIO()
    write_mo(compiled, wrapped)
    (folder / "django.mo").write_bytes(compiled.getvalue())
    with override_settings(LOCALE_PATHS=[tmp_path], LANGUAGES=[*settings.LANGUAGES, (CARRIER, "pseudo")]):
        yield


def test_no_word_on_any_page_bypasses_the_catalogues(cast: Cast, pseudo: None) -> None:
    loose = {}
    for who, address in pages_of(cast):
        client = Client(headers={"accept-language": CARRIER})
        if who:
            client.force_login(account_of(cast.people[who]), "allauth.account.auth_backends.AuthenticationBackend")
        page = Loose()
        page.feed(client.get(address).content.decode())
        if page.loose:
            loose[address] = page.loose
    assert loose == {}


def test_a_word_that_bypasses_the_catalogues_is_seen() -> None:
    page = Loose()
    page.feed('<p>⟦Kept⟧ <b translate="no">Imani</b> <a title="bare">⟦x⟧</a> Loose words</p>')
    assert page.loose == ["bare", "Loose words"]


@pytest.mark.embedded
@pytest.mark.parametrize(("language", "direction"), [("en", "ltr"), ("es", "ltr"), ("fr", "ltr"), ("ar", "rtl")])
def test_a_page_says_its_language_and_its_direction(cast: Cast, language: str, direction: str) -> None:
    page = Client(headers={"accept-language": language}).get(reverse("hatch", args=[cast.building.uid, cast.drum.uid]))
    assert f'lang="{language}" dir="{direction}"' in page.content.decode()
