"""A refused form: it says so where the reader is, names each fault, leads to it, and keeps what was typed."""

import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bins.models import Batch
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


@pytest.fixture(autouse=True)
def _in_may() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def as_(cast: Cast, who: str) -> Client:
    client = Client()
    if who:
        client.force_login(account_of(cast.people[who]), "allauth.account.auth_backends.AuthenticationBackend")
    return client


def faulty(cast: Cast) -> dict[str, tuple[str, str, dict[str, Any]]]:
    """Page -> who sends it, its address, and values that it refuses."""
    uid, drum = cast.building.uid, cast.drum.uid
    with inside(uid) as here:
        batch = Batch.objects.within(here).get(drum=cast.drum, stage="filling")
    go_outside()
    home = cast.resident.household
    assert home is not None
    told = {"uid": str(uuid4()), "drum": str(drum)}
    reading = {f"temperature-{batch.uid}": "warm", f"squeeze-{batch.uid}": "soft", f"smell-{batch.uid}": "odd"}
    return {
        "drop-off": (
            "resident",
            reverse("drop-off-form", args=[uid]),
            told | {"kilograms": "x", "browns_cups": "many"},
        ),
        "visit": (
            "caretaker",
            reverse("today", args=[uid]),
            told | {"turned": "", "level": "brimming", "air": "warm", "trouble": "ghosts"} | reading,
        ),
        "wrong item on a visit": (
            "caretaker",
            reverse("today", args=[uid]),
            told | {"turned": "yes", "wrong_item": "metal", "wrong_hatch": "A", "wrong_millilitres": "some"},
        ),
        "wrong item": ("caretaker", reverse("wrong-item", args=[uid, drum]), {"uid": "", "item": "", "hatch": ""}),
        "report": ("", reverse("report", args=[uid]), {"uid": str(uuid4()), "kind": "", "email": "nobody"}),
        "harvest": (
            "caretaker",
            reverse("harvest", args=[uid, batch.uid]),
            {"uid": str(uuid4()), "whole_tubs": "", "part": "0.7", "tub_litres": "x", "overs_litres": "x", "rest": ""},
        ),
        "lot": ("caretaker", reverse("batch-act", args=[uid, batch.uid, "discards"]), {"uid": str(uuid4())}),
        "browns added": (
            "caretaker",
            reverse("amend", args=[uid, batch.uid]),
            {"uid": str(uuid4()), "water_litres": "x"},
        ),
        "people": ("caretaker", reverse("people", args=[uid]), {"uid": str(uuid4()), "name": "", "email": "x"}),
        "on behalf": (
            "caretaker",
            reverse("on-behalf", args=[uid]),
            {"via": "proxy", "uid-1": str(uuid4()), "household-1": str(home.uid), "day-1": "soon", "kilograms-1": "x"},
        ),
        "moving out": ("resident", reverse("leave", args=[uid, home.uid]), {"last_day": "soon"}),
        "promise": ("caretaker", reverse("cases", args=[uid]), {"hours": "x"}),
        "bucket": (
            "caretaker",
            reverse("buckets", args=[uid]),
            {"uid": str(uuid4()), "name": "", "drum": "x", "litres": "x", "bedding": "gold", "bedding_litres": "x"},
        ),
        "key": ("resident", reverse("tokens", args=[uid]), {"name": "", "days": "7"}),
        "numbers of the rules": (
            "caretaker",
            reverse("site-rules", args=[uid, cast.drum.site.uid]),
            {"uid": str(uuid4()), "turn_open_days": "x", "winter_first": "in autumn", "spring_first": "soon"},
        ),
        "reminders": ("resident", reverse("contact", args=[uid]), {"channel": "sms", "phone": "x"}),
        "set-up": ("committee", reverse("setup-step", args=["block"]), {"name": "", "time_zone": "Moon/Base"}),
    }


PAGES = [
    "drop-off",
    "visit",
    "wrong item on a visit",
    "wrong item",
    "report",
    "harvest",
    "lot",
    "browns added",
    "people",
    "on behalf",
    "moving out",
    "promise",
    "bucket",
    "key",
    "numbers of the rules",
    "reminders",
    "set-up",
]


def test_the_list_of_pages_is_whole(cast: Cast) -> None:
    assert [*faulty(cast)] == PAGES


@pytest.mark.parametrize("page", PAGES)
def test_each_fault_is_named_at_the_head_and_leads_to_its_own_words(cast: Cast, page: str) -> None:
    who, address, values = faulty(cast)[page]
    answer = as_(cast, who).post(address, values)
    assert answer.status_code == 422
    shown = answer.content.decode()
    head = re.search(r'<div class="notice notice-error" role="alert" tabindex="-1" autofocus>.*?</div>', shown, re.S)
    assert head, "without scripts only the focus tells a screen reader, and scrolls to it"
    targets = re.findall(r'href="#([^"]+)"', head[0])
    assert targets
    for target in targets:
        assert len(re.findall(rf'id="{re.escape(target)}"', shown)) == 1, target
    assert shown.count("autofocus") == 1
    assert "<title>Not written down yet. " in shown


def test_a_visit_to_mend_comes_first_of_all_drums_and_its_air_unfolded(cast: Cast) -> None:
    who, address, values = faulty(cast)["visit"]
    shown = as_(cast, who).post(address, {name: values[name] for name in ("uid", "drum", "air")} | {"turned": "yes"})
    page = shown.content.decode()
    assert page.index("notice-error") < page.index("Visit to drum 1")
    assert 'id="air-error-1"' in page
    more = re.search(r"<details([^>]*)>\s*<summary>Measured more\?", page)
    assert more, page
    assert "open" in more[1]


def test_what_was_written_down_is_said_in_the_title_too(cast: Cast) -> None:
    turned = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes"}
    shown = as_(cast, "caretaker").post(reverse("today", args=[cast.building.uid]), turned, follow=True)
    assert "<title>The visit is written down. Today - Quince Court</title>" in shown.content.decode()
