"""How many taps the two everyday deeds cost, counted on a phone without scripts."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Locator, Page, expect

from bins.models import Drum
from households.tenancy import inside

from .browser import chromium, phone
from .cast import Cast
from .filled import go_outside
from .test_pages import signed_in

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


class Finger:
    """Taps, and counts."""

    def __init__(self) -> None:
        self.taps = 0

    def tap(self, what: Locator) -> None:
        what.click()
        self.taps += 1


def page_of(page: Page, cast: Cast, who: str, url: str, address: str) -> Page:
    signed_in(page.context, cast, who, url)
    page.goto(url + address)
    return page


def test_a_pail_takes_at_most_three_taps_from_the_sign(
    cast_in_the_open: Cast, live_server: Any, browser: Browser
) -> None:
    cast, finger = cast_in_the_open, Finger()
    with phone(browser) as page:
        page_of(page, cast, "resident", live_server.url, reverse("hatch", args=[cast.building.uid, cast.drum.uid]))
        finger.tap(page.get_by_role("link", name="Log a pail"))
        finger.tap(page.locator("main form button").first)
        expect(page.get_by_role("heading", level=1)).to_contain_text("Written down")
    print(f"a pail: {finger.taps} taps")
    assert finger.taps <= 3


def test_a_visit_with_nothing_wrong_takes_at_most_five_taps(
    cast_in_the_open: Cast, live_server: Any, browser: Browser
) -> None:
    cast, finger = cast_in_the_open, Finger()
    with phone(browser) as page:
        page_of(page, cast, "caretaker", live_server.url, reverse("today", args=[cast.building.uid]))
        form = page.locator("form:has(input[name=level])").first
        # Tapped as a finger does: on the tile, not on the small circle in it.
        finger.tap(form.locator("label:has(input[name=turned][value=yes])"))
        finger.tap(form.locator("label:has(input[name=level][value=half])"))
        finger.tap(form.get_by_role("button").last)
        expect(page.get_by_text("The visit is written down.")).to_be_visible()
    print(f"a visit: {finger.taps} taps")
    assert finger.taps <= 5


def test_a_visit_to_a_drum_whose_hatches_turn_apart_takes_at_most_five_taps_too(
    cast_in_the_open: Cast, live_server: Any, browser: Browser
) -> None:
    cast, finger = cast_in_the_open, Finger()
    with inside(cast.building.uid) as here:
        Drum.objects.within(here).filter(uid=cast.drum.uid).update(turns="apart")
    go_outside()
    with phone(browser) as page:
        page_of(page, cast, "caretaker", live_server.url, reverse("today", args=[cast.building.uid]))
        form = page.locator("form:has(input[name=level])").first
        for letter in ("A", "B"):
            finger.tap(form.get_by_text(f"Hatch {letter}", exact=True))
        finger.tap(form.locator("label:has(input[name=level][value=half])"))
        finger.tap(form.get_by_role("button").last)
        expect(page.get_by_text("The visit is written down.")).to_be_visible()
    print(f"a visit, hatches apart: {finger.taps} taps")
    assert finger.taps <= 5
