import datetime as dt
from uuid import uuid4
import pytest
from django.urls import reverse
from tests.browser import chromium
from tests.test_pages import signed_in, faults
from tests.cast import NOW
from bins.cases import Report, receive, Promise, promise
from bins.case_steps import Step, take_step
from bins.importing import take_file, bring_in
from bins.dropoff import DropOff, record_drop_off
from households.tenancy import inside
from households.models import Building
from tests.filled import go_outside
import os
OUT="/tmp/ri_png"
os.makedirs(OUT, exist_ok=True)
pytestmark = pytest.mark.browser

def test_shots(cast_in_the_open, live_server):
    cast = cast_in_the_open
    from django.utils import timezone
    now = timezone.now()
    with inside(cast.building.uid) as here:
        promise(building=here, told=Promise.from_raw({"hours":"12","phone":"030 12 34 56"}), person=cast.caretaker, now=now)
        a = receive(building=here, told=Report(uuid4(),"animal",cast.drum.uid,"Two rats ran out under the drum when I came by this morning.",""), language="en", now=now-dt.timedelta(hours=30)).case
        receive(building=here, told=Report(uuid4(),"smell",None,"",""), language="en", now=now).case
        c = receive(building=here, told=Report(uuid4(),"leak",cast.drum.uid,"Brown puddle",""), language="en", now=now-dt.timedelta(hours=3)).case
        take_step(building=here, case_uid=c.uid, told=Step(uuid4(),"looked","",None), person=cast.caretaker, via="web", now=now)
        take_step(building=here, case_uid=c.uid, told=Step(uuid4(),"done","Wiped it up and put a tray under the drum.",None), person=cast.caretaker, via="web", now=now)
        sheet = "date,household,pails,weather\n2026-05-04,Flat 3,1,sun\n2026-05-04,Flat 5,2,\n2026-05-04,Flat 99,2,\n31.2.2026,Flat 3,many,\n"
        run = take_file(building=here, uid=uuid4(), kind="contributions", content=sheet.encode(), person=cast.caretaker, now=now)
        done = take_file(building=here, uid=uuid4(), kind="contributions", content=sheet.encode(), person=cast.caretaker, now=now)
        bring_in(building=here, uid=done.uid, person=cast.caretaker, now=now)
        row = record_drop_off(building=here, told=DropOff.from_raw({"uid":str(uuid4()),"drum":str(cast.drum.uid),"quarter_pails":4}), household=cast.resident.household, person=cast.resident, via="web", now=now).row
    go_outside()
    b = cast.building.uid
    pages = {
      "report": ("", reverse("report-drum", args=[b, cast.drum.uid])),
      "status": ("", reverse("report-status", args=[b, c.reference])),
      "status0": ("", reverse("report-status", args=[b, a.reference])),
      "today": ("caretaker", reverse("today", args=[b])),
      "cases": ("caretaker", reverse("cases", args=[b])),
      "case": ("caretaker", reverse("case", args=[b, a.uid])),
      "import": ("caretaker", reverse("import", args=[b])),
      "run": ("caretaker", reverse("import-run", args=[b, run.uid])),
      "done": ("caretaker", reverse("import-run", args=[b, done.uid])),
      "onbehalf": ("caretaker", reverse("on-behalf", args=[b])),
      "correct": ("resident", reverse("drop-off-correct", args=[b, row.uid])),
      "dropoff": ("resident", reverse("drop-off", args=[b, row.uid])),
      "leave": ("resident", reverse("leave", args=[b, cast.resident.household.uid])),
      "people": ("caretaker", reverse("people", args=[b])),
      "home": ("caretaker", reverse("building", args=[b])),
      "hatch": ("", reverse("hatch", args=[b, cast.drum.uid])),
    }
    bad = {}
    with chromium() as browser:
        for tag, size, lang in (("390", {"width":390,"height":844},"en"), ("1280", {"width":1280,"height":900},"en"), ("ar", {"width":390,"height":844},"ar"), ("320", {"width":320,"height":700},"ar")):
            context = browser.new_context(viewport=size, locale=lang)
            page = context.new_page()
            for name,(who,address) in pages.items():
                signed_in(context, cast, who, live_server.url)
                page.goto(live_server.url+address)
                if tag == "320":
                    if said := faults(page): bad[name]=said
                    continue
                page.screenshot(path=f"{OUT}/{name}-{tag}.png", full_page=True)
            context.close()
    print(bad)
    assert bad == {}
