"""Every page that has words of its own, for tests that look at all of them."""

from uuid import UUID

from django.urls import reverse
from django.utils import timezone

from bins.founding.arranging import STEPS
from bins.models import Batch
from households.models import RotaDraft
from households.tenancy import inside

from .bins.duties.planned import DAY, draft, kind
from .cast import Cast


def pages_of(cast: Cast) -> list[tuple[str, str]]:
    """(who, address) of every page that has words of its own."""
    uid, drum = cast.building.uid, cast.drum.uid
    home = cast.resident.household
    assert home is not None
    return [
        ("", reverse("home")),
        ("", reverse("account_login")),
        ("", reverse("account_signup")),
        ("", "/problems/uid-reused/"),
        ("", "/nowhere/"),
        ("", reverse("hatch", args=[uid, drum])),
        ("resident", reverse("building", args=[uid])),
        ("resident", reverse("drop-off-form", args=[uid])),
        ("resident", reverse("tokens", args=[uid])),
        ("caretaker", reverse("today", args=[uid])),
        ("caretaker", reverse("people", args=[uid])),
        ("caretaker", reverse("batch", args=[uid, _batch_of(cast)])),
        ("committee", reverse("batch", args=[uid, _batch_of(cast)])),
        ("caretaker", reverse("trouble", args=[uid, _batch_of(cast)])),
        ("committee", reverse("trouble", args=[uid, _batch_of(cast)])),
        ("caretaker", reverse("forecast-lot", args=[uid, _batch_of(cast)])),
        ("committee", reverse("forecast", args=[uid])),
        ("committee", reverse("what-if", args=[uid])),
        ("caretaker", reverse("drum-care", args=[uid, drum])),
        ("caretaker", reverse("site-rules", args=[uid, cast.drum.site.uid])),
        ("", reverse("accepted", args=[uid, drum])),
        ("caretaker", reverse("accepted-edit", args=[uid, cast.drum.site.uid])),
        ("caretaker", reverse("browns", args=[uid])),
        ("committee", reverse("browns", args=[uid])),
        ("caretaker", reverse("pails", args=[uid])),
        ("caretaker", reverse("buckets", args=[uid])),
        ("caretaker", reverse("wrong-item", args=[uid, drum])),
        ("caretaker", reverse("harvests", args=[uid])),
        ("caretaker", reverse("harvest", args=[uid, _batch_of(cast)])),
        ("resident", reverse("share", args=[uid])),
        ("caretaker", reverse("hand-out-day", args=[uid])),
        ("committee", reverse("sharing", args=[uid])),
        ("resident", reverse("sharing", args=[uid])),
        ("resident", reverse("duties", args=[uid])),
        *(
            ("caretaker", reverse(name, args=[uid, cast.drum.site.uid]))
            for name in ("duty-kinds", "rota", "stand-in", "stand-in-list")
        ),
        ("caretaker", reverse("rota-look", args=[uid, _draft_of(cast)])),
        ("caretaker", reverse("rota-month", args=[uid, cast.drum.site.uid, 2026, 5])),
        ("committee", reverse("committee", args=[uid])),
        ("caretaker", reverse("limits", args=[uid])),
        ("committee", reverse("period-log", args=[uid])),
        ("caretaker", reverse("store", args=[uid])),
        ("committee", reverse("store", args=[uid])),
        ("resident", reverse("browns-brought", args=[uid])),
        ("caretaker", reverse("money", args=[uid, 2026, 5])),
        ("committee", reverse("money", args=[uid, 2026, 5])),
        ("resident", reverse("committee", args=[uid])),
        ("caretaker", reverse("sign", args=[uid, drum])),
        ("committee", reverse("month", args=[uid, 2026, 5])),
        ("committee", reverse("exports", args=[uid])),
        ("committee", reverse("report-page", args=[uid, "quarter", 2026, 2])),
        ("committee", reverse("setup-step", args=["block"])),
        ("caretaker", reverse("arrange", args=[uid])),
        *(("caretaker", reverse("arrange-step", args=[uid, step])) for step in STEPS),
        ("caretaker", reverse("sheets", args=[uid])),
        ("caretaker", reverse("sheet-log", args=[uid, drum])),
        ("caretaker", reverse("sheet-week", args=[uid])),
        ("", reverse("report", args=[uid])),
        ("", reverse("report-drum", args=[uid, drum])),
        ("caretaker", reverse("cases", args=[uid])),
        ("caretaker", reverse("import", args=[uid])),
        ("caretaker", reverse("on-behalf", args=[uid])),
        ("resident", reverse("leave", args=[uid, home.uid])),
        ("", reverse("week", args=[uid])),
        ("caretaker", reverse("book-for", args=[uid])),
        ("resident", reverse("mine", args=[uid])),
        ("resident", reverse("plan", args=[uid])),
        ("resident", reverse("contact", args=[uid])),
        ("caretaker", reverse("slot-setup", args=[uid, cast.drum.site.uid])),
    ]


def _draft_of(cast: Cast) -> UUID:
    """A plan of the next two weeks, worked out; made once."""
    with inside(cast.building.uid) as here:
        row: RotaDraft | None = RotaDraft.objects.within(here).first()
        if row is None:
            now = timezone.now()
            kind(here, cast.drum.site, usual=1)
            row = draft(here, cast.drum.site, now.date() + 2 * DAY, now.date() + 16 * DAY, now)
    return row.uid


def _batch_of(cast: Cast) -> UUID:
    """The lot that is open from the start."""
    with inside(cast.building.uid) as here:
        uid: UUID = Batch.objects.within(here).get(drum=cast.drum, stage="filling").uid
    return uid
