"""Pictures of every page: 320, 390 and 1280 px, light and dark, Arabic, and as printed. For people to look at."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.browser import chromium
from tests.cast import Cast
from tests.pages import pages_of
from tests.test_pages import faults, signed_in, too_wide

from .record import record

pytestmark = pytest.mark.proof
WIDTHS = (320, 390, 1280)
LOOKS = (("en", "light"), ("en", "dark"), ("ar", "light"), ("ar", "dark"), ("es", "light"), ("fr", "light"))


def test_every_page_in_every_look(cast_in_the_open: Cast, live_server: Any) -> None:
    folder = Path(settings.BASE_DIR) / ".data" / "pictures"
    folder.mkdir(parents=True, exist_ok=True)
    pictures, found = 0, {}
    with chromium() as browser:
        for width in WIDTHS:
            for language, scheme in LOOKS:
                context = browser.new_context(
                    viewport={"width": width, "height": 844},
                    locale=language,
                    color_scheme=scheme,  # type: ignore[arg-type]
                )
                page = context.new_page()
                for who, address in pages_of(cast_in_the_open):
                    signed_in(context, cast_in_the_open, who, live_server.url)
                    page.goto(live_server.url + address)
                    name = address.strip("/").split("/", 2)[-1].replace("/", "-")[:60] or "home"
                    page.screenshot(path=folder / f"{name}-{width}-{language}-{scheme}.png", full_page=True)
                    pictures += 1
                    # Axe takes seconds a page: where the layout and the colours differ most.
                    is_read = (width, scheme) in ((320, "light"), (1280, "dark"))
                    if said := faults(page) if is_read else too_wide(page):
                        found[f"{address} {width} {language} {scheme}"] = said
                    if width == 1280 and scheme == "light":
                        page.emulate_media(media="print")
                        page.screenshot(path=folder / f"{name}-printed-{language}.png", full_page=True)
                        page.emulate_media(media="screen")
                context.close()
    record(
        "pages",
        ["coordinator/templates", "coordinator/static", "coordinator/pages", "coordinator/drawing.py"],
        trials=pictures,
        injected={},
        figures={"pictures": pictures, "with faults": len(found)},
    )
    assert found == {}
