import pytest, re
from typing import Any
from django.urls import reverse
from bins.models import Place
from households.models import Building, Site
from households.tenancy import inside
from .browser import chromium
from .cast import Cast
from .test_pages import signed_in
from .filled import live

def test_shots(cast_in_the_open: Cast, live_server: Any) -> None:
    cast = cast_in_the_open
    live(cast)
    with inside(cast.building.uid) as here:
        Place.objects.within(here).update(litres=500)
        Building.objects.filter(pk=here.pk).update(second_language="ar")
        Site.objects.within(here).update(access="The key hangs at the super's door.", decides="committee")
    uid, drum = cast.building.uid, cast.drum.uid
    with chromium() as browser:
        for lang, width in (("en", 390), ("en", 1280), ("ar", 390)):
            ctx = browser.new_context(viewport={"width": width, "height": 900}, locale=lang)
            page = ctx.new_page()
            signed_in(ctx, cast, "committee", live_server.url)
            def shot(name):
                page.screenshot(path=f"/tmp/shots_setup/{name}-{lang}-{width}.png", full_page=True)
            for step in ("block", "people", "drums", "contents", "pail", "full"):
                page.goto(live_server.url + reverse("setup-step", args=[step]))
                if f"/{step}/" not in page.url: print("moved", page.url)
                shot(step)
                if step == "contents":
                    page.locator("details summary").first.click(); shot("contents-open")
                if step != "full" and lang=="en" and width==390:
                    page.locator("main form button").first.click()
            signed_in(ctx, cast, "caretaker", live_server.url)
            for name, args in (("arrange", [uid]), ("sheets", [uid]), ("sheet-log", [uid, drum]), ("sheet-week", [uid]), ("sign", [uid, drum]), ("people", [uid])):
                page.goto(live_server.url + reverse(name, args=args)); shot(name)
                if name in ("sheet-log", "sheet-week", "sign") and width == 1280:
                    page.emulate_media(media="print"); page.set_viewport_size({"width": 695, "height": 1017}); page.screenshot(path=f"/tmp/shots_setup/{name}-print.png", full_page=True)
                    print(name, page.evaluate("document.querySelector('article').getBoundingClientRect().height/3.7795"))
                    page.emulate_media(media="screen"); page.set_viewport_size({"width": 1280, "height": 900})
                    for fmt in ("A4", "Letter"):
                        page.pdf(path=f"/tmp/shots_setup/{name}-{fmt}.pdf", format=fmt)
            for step in ("accepted", "browns", "permissions", "access", "opening", "decides", "sharing", "households"):
                page.goto(live_server.url + reverse("arrange-step", args=[uid, step])); shot("later-" + step)
            ctx.close()
