"""Every page that has words of its own, for tests that look at all of them."""

from django.urls import reverse

from .cast import Cast


def pages_of(cast: Cast) -> list[tuple[str, str]]:
    """(who, address) of every page that has words of its own."""
    uid, drum = cast.building.uid, cast.drum.uid
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
        ("caretaker", reverse("sign", args=[uid, drum])),
        ("committee", reverse("month", args=[uid, 2026, 5])),
        ("committee", reverse("setup")),
    ]
