"""Every page as a person meets it: no accessibility fault, no sideways scroll, in English and in Arabic."""

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page

from .browser import chromium
from .cast import Cast, account_of
from .pages import pages_of

pytestmark = pytest.mark.browser
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
NARROWEST = {"width": 320, "height": 700}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


def signed_in(context: BrowserContext, cast: Cast, who: str, url: str) -> None:
    """Give the browser the session of one of the cast, or of nobody."""
    context.clear_cookies()
    if who:
        client = Client()
        client.force_login(account_of(cast.people[who]), BACKEND)
        context.add_cookies([{"name": "session", "value": client.cookies["session"].value, "url": url}])


def faults(page: Page) -> list[str]:
    """What axe finds, and whether the page can be pushed sideways."""
    found: list[Any] = Axe().run(page).response["violations"]
    return [f"{fault['id']}: {[node['target'] for node in fault['nodes']]}" for fault in found] + too_wide(page)


def too_wide(page: Page) -> list[str]:
    wide = page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")
    return ["wider than the screen"] if wide else []


@pytest.mark.long
@pytest.mark.parametrize("language", ["en", "ar"])
def test_no_page_has_an_accessibility_fault(
    cast_in_the_open: Cast, live_server: Any, browser: Browser, language: str
) -> None:
    context = browser.new_context(viewport=NARROWEST, locale=language)  # type: ignore[arg-type]
    page = context.new_page()
    found = {}
    addresses = pages_of(cast_in_the_open)
    for who, address in addresses:
        signed_in(context, cast_in_the_open, who, live_server.url)
        page.goto(live_server.url + address)
        if said := faults(page):
            found[address] = said
    context.close()
    print(f"{len(addresses)} pages in {language}")
    assert found == {}


def test_a_fault_is_seen(browser: Browser) -> None:
    page = browser.new_page(viewport=NARROWEST)  # type: ignore[arg-type]
    page.set_content('<html lang="en"><title>x</title><main><h1>x</h1><img src="x"><p>' + "w" * 900)
    found = faults(page)
    page.close()
    assert any(fault.startswith("image-alt") for fault in found)
    assert "wider than the screen" in found
