"""Every route x method x role x another building's person, against the access table."""

import datetime as dt
import logging
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4, uuid5

import pytest
import time_machine
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import URLPattern, get_resolver

from bins.duties.cover import CoverAsked, ask
from bins.duties.drafting import DaysToPlan
from bins.duties.drafting import ask as ask_for_plan
from bins.forecasts.what_if import Levers
from bins.forecasts.what_if import ask as ask_what_if
from bins.harvests.measured import Measured
from bins.harvests.parts import record_part
from bins.mixing.storing import Stored, record_stock
from bins.models import Batch, Case, Drum, Harvest, ImportRun, MaturityTest, Outgoing, Pail, Place
from bins.money.cash import Cash, record_money
from bins.photos import encode_all
from bins.slots.absences import Away, note_absence
from bins.slots.booking import WantsSlot, book
from bins.slots.closures import ClosedDays, close_days
from bins.slots.proxy import ForSomebody, book_for
from bins.slots.slots import NewSlot, add_slot
from coordinator.access import TABLE, Actor, As, Rule, admit, is_public
from coordinator.api.base import BuildingView, api_door
from coordinator.doors import Here, door, rules_of
from households.models import ApiToken, Building, Duty, FeedKey, Household, Person, Photo, Site
from households.tenancy import inside
from tests.bins.duties.planned import duty, kind
from tests.bins.harvests.harvested import lose, share_out, take_out
from tests.bins.pictures import a_photo
from tests.cast import NOW, Cast, account_of
from tests.filled import decision_of, give_token, go_outside, live

pytestmark = pytest.mark.embedded

LATER = NOW + dt.timedelta(days=2, hours=1)  # after the night that made the proposal

# Every route without a building, and why it needs none.
PUBLIC = {
    "home": "the first page",
    "healthz": "for whatever watches the service",
    "set_language": "a cookie, and the reader's own account",
    "problem": "what an error of the API means",
    "demo": "only while the database carries the demo mark",
    "setup": "founds a building; needs an account",
    "setup-step": "the same, question by question",
    "organisation": "spans buildings; asks for a role in it",
    "account_login": "sign-in",
    "account_request_login_code": "sign-in",
    "account_confirm_login_code": "sign-in",
    "account_signup": "sign-in",
    "account_email_verification_sent": "sign-in",
    "account_logout": "sign-in",
    "account_inactive": "sign-in",
    "api-schema": "what the API is",
}
# An act for each route whose address names one.
ACT_OF = {"batch-act": "tests", "hatch-act": "shuttings"}
PUBLIC_RULES = {
        Rule("see", "hatch"), Rule("see", "accepted"), Rule("add", "report"), Rule("see", "report"),
        Rule("see", "slot"), Rule("see", "feed"),
    }  # fmt: skip
# Words that stand in an address for a uid of their own kind.
NAMED = ("site", "pail", "batch", "harvest", "outgoing", "part", "money", "photo", "stored")
METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS")


def routes() -> list[URLPattern]:
    found = get_resolver().url_patterns
    assert all(isinstance(route, URLPattern) for route in found), "an included list of routes would go unseen"
    return list(found)


def is_tenant(route: URLPattern) -> bool:
    return "<uuid:building>" in str(route.pattern)


def is_api(route: URLPattern) -> bool:
    return str(route.pattern).startswith("api/")


@dataclass(frozen=True)
class Things:
    """What an address or a body names: real objects of one building, or made-up ones."""

    building: UUID
    drum: UUID
    drop_off: UUID
    decision: UUID
    token: UUID
    more: Mapping[str, UUID] = field(default_factory=dict)  # by what stands before the uid in an address

    def uid_in(self, pattern: str) -> UUID:
        """The thing that an address means, by the word before its uid; made up where there is none."""
        found = re.search(r"([\w-]+)/<uuid:uid>", pattern)
        word = found.group(1) if found else ""
        known = {
            "drop-off": self.drop_off, "drop-offs": self.drop_off, "decision": self.decision,
            "decisions": self.decision, "question": self.decision, "questions": self.decision,
            "tokens": self.token, **self.more,
        }  # fmt: skip
        return known.get(word) or uuid5(self.building, f"made up {word}")

    def named(self, word: str) -> UUID:
        """The thing that an address names by its own word; made up where there is none."""
        return self.more.get(word) or uuid5(self.building, f"made up {word}")

    @property
    def reference(self) -> str:
        """Of a neighbour's report; made up where there is none."""
        return str(self.more.get("reference") or "K7M3CX")

    @property
    def secret(self) -> str:
        """Of a person's calendar; made up where there is none."""
        return str(self.more.get("secret") or uuid5(self.building, "made up secret"))

    def address(self, route: URLPattern) -> str:
        name = str(route.name)
        found = "/" + str(route.pattern)
        for part, value in (
            ("<uuid:building>", self.building), ("<uuid:drum>", self.drum), ("<uuid:uid>", self.uid_in(found)),
            ("<int:year>", 2026), ("<int:number>", 5), ("<int:version>", 1), ("<slug:act>", ACT_OF.get(name, "")),
            ("<slug:step>", "access"), ("<slug:kind>", "visits"), ("<slug:figure>", "scraps"),
            ("<slug:span>", "month"), ("<slug:paper>", "a4"),
            ("<str:reference>", self.reference), ("<str:secret>", self.secret),
            *((f"<uuid:{word}>", self.named(word)) for word in NAMED),
        ):  # fmt: skip
            found = found.replace(part, str(value))
        assert "<" not in found, f"{name}: tell this test what {found} can name"
        return found

    def body(self) -> dict[str, Any]:
        """One body that every form and the API can make something of."""
        return {
            "uid": str(uuid5(self.building, "sent by the matrix")),
            "drum": str(self.drum),
            "quarter_pails": 4,
            "turned": "yes",
            "answer": "yes",
            "name": "Wren",
            "roles": ["caretaker"],
            "days": "30",
            "kind": "bag",
            "bad_smell": "no",
            "reason": "a test",
            "state": "paused",
            "looked": "yes",
            "browns": "pellets",
            "cup_ml": 500,
            "half_cups": 4,
            "browns_litres": 5,
            "litres": 8,
            "net_kg": 4,
            "item": "bags",
            "begins_at": "18:00",
            "weekdays": ["MO"],
            "slot": str(self.named("slot")),
            "day": "2026-05-12",
            "first_day": "2026-05-20",
            "words": "a test",
            "channel": "mail",
            "batch": str(self.named("batch")),
            "pail": str(self.named("pail")),
            "act": "delivery",
            "room": "aired",
            "way": "out",
            "amount": "5",
            "purpose": "repair",
            "above": "50",
            "why": "a test",
            "currency": "EUR",
            "site": str(self.named("site")),
        }

    @classmethod
    def of(cls, cast: Cast, *, elsewhere: bool = False) -> "Things":
        building, drum = (cast.elsewhere, cast.elsewhere_drum) if elsewhere else (cast.building, cast.drum)
        owner = cast.elsewhere_person if elsewhere else cast.caretaker
        return cls(
            building.uid, drum.uid, uuid5(building.uid, "drop-off 0"), decision_of(building).uid,
            uuid5(owner.uid, "token 3650"), things_in(building),
        )  # fmt: skip


def things_in(building: Building) -> dict[str, UUID]:
    """The word before a uid in an address -> the thing of this building that it can name."""
    with inside(building.uid) as here:
        batch = Batch.objects.within(here).live().select_related("place", "drum__site").order_by("pk")[0]
        test = MaturityTest.objects.within(here).order_by("pk")[0]
        pail = Pail.objects.within(here).order_by("pk")[0]
        household = Household.objects.within(here).order_by("pk")[0]
        harvest, lost = harvest_in(here, batch.drum)
        part = part_of(here, batch)
        case = Case.objects.within(here).get()
        run = ImportRun.objects.within(here).get()
        slots = slots_in(here, batch.drum.site)
        imagined = what_if_in(here, batch.drum.site)
        money, photo = money_in(here)
        stored = stock_in(here, batch.drum)
        duties = duty_in(here, batch.drum.site)
        drafted = draft_in(here, batch.drum.site)
    go_outside()
    return {
        "batch": batch.uid, "batches": batch.uid, "hatch": batch.place.uid, "places": batch.place.uid,
        "drum": batch.drum.uid, "drums": batch.drum.uid, "site": batch.drum.site.uid, "sites": batch.drum.site.uid,
        "test": test.uid, "tests": test.uid, "pail": pail.uid,
        "exports": uuid5(building.uid, "export"), "buckets": uuid5(building.uid, "bucket"), "household": household.uid,
        "harvest": harvest, "outgoing": lost, "part": part, "households": household.uid, "case": case.uid,
        "cases": case.uid,
        "import": run.uid, "imports": run.uid, "reference": case.reference, "money": money, "photo": photo,
        "stored": stored, "what-if": imagined, "what-ifs": imagined, "look": drafted,
        "rota": drafted,
        **slots, **duties,
    }  # fmt: skip


def what_if_in(here: Building, site: Site) -> UUID:
    """A question of what would be; made once."""
    uid = uuid5(here.uid, "what if")
    told = Levers(uid, site.uid, 6, 1, 0, 100, None, None)
    return ask_what_if(building=here, told=told, person=None, now=NOW).uid


def slots_in(here: Building, site: Site) -> dict[str, UUID]:
    """A set time, and what the first resident has to do with it; made once."""
    resident = Person.objects.within(here).filter(roles__kind="resident").order_by("pk")[0]
    home, secret = resident.household, f"calendar-of-{here.uid}"
    assert home is not None
    names = {word: uuid5(here.uid, word) for word in ("slot", "closure", "booking", "absence", "for")}
    told = {"uid": names["slot"], "weekdays": ["TU"], "begins_at": "18:00", "households": 5}
    slot = add_slot(building=here, site=site, told=NewSlot.from_raw(told), person=None, now=NOW)
    if not FeedKey.objects.within(here).exists():
        wants = WantsSlot(names["booking"], slot.uid, dt.date(2026, 5, 19), 4)
        book(building=here, told=wants, household=home, now=NOW)
        word = {"uid": names["for"], "household": home.uid, "slot": slot.uid, "day": "2026-05-05"}
        book_for(building=here, told=ForSomebody.from_raw(word), person=None, now=NOW)
        closed = {"uid": names["closure"], "first_day": "2026-05-26", "words": "paved"}
        close_days(building=here, site=site, told=ClosedDays.from_raw(closed), person=None, now=NOW)
        away = Away.from_raw({"uid": names["absence"], "first_day": "2026-06-02"})
        note_absence(building=here, household=home, told=away, now=NOW)
        FeedKey.objects.create(
            building=here, uid=uuid5(here.uid, "feed"), person=resident, secret_hash=ApiToken.hash_of(secret),
            made_at=NOW,
        )  # fmt: skip
    plurals = {"slots": "slot", "closures": "closure", "bookings": "booking", "absences": "absence", "on-behalf": "for"}
    return {**names, **{word: names[one] for word, one in plurals.items()}, "secret": secret}  # type: ignore[dict-item]


def harvest_in(here: Building, drum: Drum) -> tuple[UUID, UUID]:
    """A harvest of hatch B that is shared out, and a loss of it; made once."""
    row: Harvest | None = Harvest.objects.within(here).first()
    if row is None:
        place = Place.objects.within(here).get(drum=drum, letter="B")
        old = Batch.objects.create(
            building=here, drum=drum, place=place, started_in=place, stage="ready", opened_at=NOW, closed_at=NOW
        )
        row = take_out(here, old, 4, now=NOW)
        lose(here, row, 1_000_000, now=NOW)
        share_out(here, row, NOW)
    return row.uid, Outgoing.objects.within(here).get(harvest=row, kind="lost", reverses__isnull=True).uid


def duty_in(here: Building, site: Site) -> dict[str, UUID]:
    """A duty of the first resident on the matrix's own day, and a request for cover of it; made once."""
    resident = Person.objects.within(here).filter(roles__kind="resident").order_by("pk")[0]
    row: Duty | None = Duty.objects.within(here).first()
    if row is None:
        row = duty(here, kind(here, site), LATER.date(), resident)
    assert resident.household is not None
    told, uid = {"uid": uuid5(here.uid, "cover"), "duty": row.uid}, uuid5(here.uid, "cover")
    ask(building=here, household=resident.household, told=CoverAsked.from_raw(told), now=LATER)
    return {"duty": row.uid, "duties": row.uid, "cover": uid, "covers": uid}


def draft_in(here: Building, site: Site) -> UUID:
    """A plan that was asked for; once."""
    uid = uuid5(here.uid, "rota")
    told = DaysToPlan(uid, dt.date(2026, 6, 10), dt.date(2026, 6, 20), False)
    return ask_for_plan(building=here, site=site, told=told, person=None, now=NOW).uid


def stock_in(here: Building, drum: Drum) -> UUID:
    """Browns that the first resident's household brought; once."""
    uid = uuid5(here.uid, "browns")
    resident = Person.objects.within(here).filter(roles__kind="resident").order_by("pk")[0]
    assert resident.household is not None
    brought = {"act": "delivery", "litres": 90, "fetched_by": resident.household.uid}
    told = Stored.from_raw({"uid": uid, "site": drum.site.uid} | brought)
    record_stock(building=here, told=told, person=None, via="web", now=NOW)
    return uid


def money_in(here: Building) -> tuple[UUID, UUID]:
    """What somebody paid from their own purse, and the photo of its receipt; made once."""
    uid = uuid5(here.uid, "money")
    raw = {"uid": uid, "way": "out", "amount": "5", "purpose": "browns", "purse": "own"}
    photos = encode_all([a_photo()])
    told = Cash.from_raw(raw, 2)
    record_money(building=here, told=told, names_others=False, person=None, via="web", now=NOW, photos=photos)
    return uid, Photo.objects.within(here).get(of=uid).uid


def part_of(here: Building, batch: Batch) -> UUID:
    """A part of the lot that is open, measured by itself; made once."""
    uid = uuid5(here.uid, "part")
    told = Measured(uid, None, None, 1, 0, None, None, 0, more=True)
    return record_part(building=here, batch_uid=batch.uid, told=told, person=None, via="web", now=NOW).row.uid


@dataclass(frozen=True)
class Reply:
    status: int
    place: str
    body: str

    @classmethod
    def of(cls, response: Any, *secrets: UUID | str) -> "Reply":
        """An answer without what differs between any two: the CSRF token, a form's fresh uid, the ids asked for."""
        text = response.content.decode(errors="replace")  # a picture or a printed page is answered as well
        body = re.sub(r'name="(csrfmiddlewaretoken|uid(-[0-9]+)?)" value="[\w-]+"', "", text)
        place = response.headers.get("Location", "")
        for uid in secrets:
            body, place = body.replace(str(uid), "UID"), place.replace(str(uid), "UID")
        return cls(response.status_code, place, body)

    @property
    def is_redirect_to_sign_in(self) -> bool:
        return self.status == 302 and self.place.startswith("/sign-in/")


Ask = Callable[[URLPattern, str, Things], Reply]


def asker(account: Any = None, token: str = "") -> Ask:
    """Ask as somebody; whatever the request does is taken back."""
    client = Client(raise_request_exception=False)
    if account is not None:
        client.force_login(account, backend="allauth.account.auth_backends.AuthenticationBackend")
    headers = {"Authorization": f"Bearer {token}"} if token else {}

    def ask(route: URLPattern, method: str, things: Things) -> Reply:
        more: dict[str, Any] = {}
        if method in ("POST", "PUT", "PATCH"):
            more = {"data": things.body()}
            if is_api(route) or method != "POST":
                more["content_type"] = "application/json"
        client.cookies.pop("messages", None)  # of what was taken back
        with transaction.atomic():
            response = getattr(client, method.lower())(things.address(route), headers=headers, **more)
            reply = Reply.of(
                response, things.building, things.drum, things.drop_off, things.decision, things.token,
                things.uid_in("/" + str(route.pattern)), things.reference, things.secret, *things.more.values(),
                *map(things.named, NAMED),
            )  # fmt: skip
            transaction.set_rollback(True)
        return reply

    return ask


@pytest.fixture
def full(cast: Cast, caplog: pytest.LogCaptureFixture) -> Iterator[Cast]:
    live(cast)
    caplog.set_level(logging.ERROR, "django.request")  # refusals are what is asked for here
    with time_machine.travel(LATER, tick=False):
        yield cast


def test_every_route_is_a_door_with_rules_or_stands_on_the_short_list() -> None:
    others = {str(route.name) for route in routes() if not is_tenant(route)}
    assert others == set(PUBLIC)
    without = [route.name for route in routes() if is_tenant(route) and not rules_of(route.callback)]
    assert without == []
    stated = {rule for route in routes() if is_tenant(route) for rule in (rules_of(route.callback) or {}).values()}
    assert stated <= set(TABLE)
    # An address with a building in a query, or under another name, would pass the doors by.
    named = [r.name for r in routes() if "building" in str(r.pattern) and not is_tenant(r)]
    assert [name for name in named if name != "api-schema"] == []


@pytest.mark.long
def test_each_route_answers_each_role_as_the_access_table_says(full: Cast) -> None:
    things, tested, wrong = Things.of(full), set(), []
    with inside(full.building.uid):
        roles = {name: Actor.of(person, LATER.date()) for name, person in full.people.items()}
    asks = {name: asker(account_of(person)) for name, person in full.people.items()} | {"stranger": asker()}
    roles["stranger"] = Actor.stranger()
    go_outside()
    for route in filter(is_tenant, routes()):
        rules = rules_of(route.callback) or {}
        for method in METHODS:
            rule = rules.get("GET" if method == "HEAD" else method)
            for role, actor in roles.items():
                if rule is None and role not in ("stranger", "caretaker"):
                    continue  # no rule, no handler: one who may nearly all and one who may nothing are enough
                reply = asks[role](route, method, things)
                if rule is None:
                    right = reply.status == 405 or (reply.status == 401 and role == "stranger" and is_api(route))
                elif admit(actor, rule):
                    own_one = "<uuid:uid>" in str(route.pattern) and owner_of(rule) not in (None, role)
                    # Admitted, and told what is wrong with the record, is admitted.
                    right = reply.status == 404 if own_one else is_success(reply) or reply.status == 422
                elif role == "stranger":
                    right = reply.status == 401 if is_api(route) else reply.is_redirect_to_sign_in
                else:
                    right = reply.status == 404
                if not right:
                    wrong.append(f"{method} {route.name} as {role}: {reply.status} {reply.place} {reply.body[:300]}")
        tested.add(route.name)
    registered = [route.name for route in routes() if is_tenant(route)]
    print(f"routes tested / registered = {len(tested) / len(registered)} ({len(registered)})")
    assert wrong == []
    assert len(tested) / len(registered) == 1.0


def is_success(reply: Reply) -> bool:
    return (200 <= reply.status < 300) or (reply.status == 302 and not reply.is_redirect_to_sign_in)


def owner_of(rule: Rule) -> str | None:
    """Whose the object in the address is, where a rule reaches no further than one's own."""
    owners = {"drop-off": "resident", "booking": "resident", "absence": "resident", "token": "caretaker"}
    return owners.get(rule.resource)


@pytest.mark.long
def test_another_buildings_person_is_answered_as_if_there_were_nothing(full: Cast) -> None:
    here, there = Things.of(full), Things.of(full, elsewhere=True)
    nowhere = Things(*(uuid4() for _ in range(5)))
    with inside(full.elsewhere.uid) as elsewhere:
        token = give_token(elsewhere, full.elsewhere_person, days=3649)
    go_outside()
    person, bearer = asker(account_of(full.elsewhere_person)), asker(token=token)
    nonsense, successes, checked, wrong = asker(token="nonsense"), 0, 0, []
    for route in filter(is_tenant, routes()):
        rules = rules_of(route.callback) or {}
        for method in METHODS:
            rule = rules.get("GET" if method == "HEAD" else method)
            if rule is None and method not in ("DELETE", "OPTIONS"):
                continue
            foreign = person(route, method, here)
            pairs = [
                ("an unknown building", foreign, person(route, method, nowhere)),
                ("an unknown thing in it", foreign, person(route, method, made_up(here.building))),
            ]
            # These name no thing, and each answer holds a new secret.
            if route.name not in ("tokens", "feed-new", "api-feed"):
                # At home with a thing from elsewhere: as with a thing that does not exist.
                at_home = person(route, method, mixed(there, here)), person(route, method, made_up(there.building))
                pairs.append(("a thing of another building at home", *at_home))
            if is_api(route):
                by_token = bearer(route, method, here)
                pairs += [
                    ("nonsense for a token", by_token, nonsense(route, method, here)),
                    ("a token at an unknown building", by_token, bearer(route, method, nowhere)),
                ]
                successes += is_success(by_token)
            if rule is not None and is_public(rule):
                pairs = pairs[2:]  # the sign is for everybody who stands before the drum
            else:
                successes += is_success(foreign)
            for what, one, other in pairs:
                checked += 1
                if one != other:
                    wrong.append(f"{method} {route.name}, {what}: {one.status} {other.status} {differing(one, other)}")
    print(f"pairs of answers compared: {checked}; successes in another building: {successes}")
    assert (successes, wrong) == (0, [])


def made_up(building: UUID) -> Things:
    return Things(building, *(uuid4() for _ in range(4)))


def mixed(home: Things, things: Things) -> Things:
    return Things(home.building, things.drum, things.drop_off, things.decision, things.token, things.more)


def differing(one: Reply, other: Reply) -> str:
    at = next((i for i, (a, b) in enumerate(zip(one.body, other.body, strict=False)) if a != b), 0)
    return f"...{one.body[max(0, at - 60) : at + 60]!r} != {other.body[max(0, at - 60) : at + 60]!r}"


def test_a_neighbours_thing_in_ones_own_building_is_not_there_either(full: Cast) -> None:
    things, neighbour = Things.of(full), asker(account_of(full.neighbour))
    for route in filter(is_tenant, routes()):
        rules = rules_of(route.callback) or {}
        for method, rule in rules.items():
            if "<uuid:uid>" in str(route.pattern) and owner_of(rule):
                reply = neighbour(route, method, things)
                assert (reply.status, reply) == (404, neighbour(route, method, made_up(things.building))), route.name


def test_a_token_opens_at_home_what_its_person_may(full: Cast) -> None:
    """The control to the refusals above: a token does open something."""
    things, by_name = Things.of(full), {route.name: route for route in routes()}
    with inside(full.building.uid) as here:
        resident, caretaker = give_token(here, full.resident), give_token(here, full.caretaker, days=9)
    go_outside()
    assert asker(token=resident)(by_name["api-drop-offs"], "GET", things).status == 200
    assert asker(token=resident)(by_name["api-drop-offs"], "POST", things).status == 201
    assert asker(token=resident)(by_name["api-decisions"], "GET", things).status == 404
    assert asker(token=caretaker)(by_name["api-decision-answer"], "POST", things).status == 200
    assert asker(token=caretaker)(by_name["api-visits"], "POST", things).status == 201


def test_a_role_opens_from_its_first_day_to_its_last_and_no_longer(full: Cast) -> None:
    things, by_name = Things.of(full), {route.name: route for route in routes()}
    ask = asker(account_of(full.resident))
    with inside(full.building.uid) as here:
        full.resident.roles.all().update(starts_on=dt.date(2026, 5, 1), ends_on=dt.date(2026, 5, 6))
        assert Person.objects.within(here).filter(pk=full.resident.pk).exists()
    go_outside()
    answers = {}
    for moment in ("2026-04-30T21:59:59Z", "2026-04-30T22:00:00Z", "2026-05-06T21:59:59Z", "2026-05-06T22:00:00Z"):
        with time_machine.travel(dt.datetime.fromisoformat(moment), tick=False):
            answers[moment] = ask(by_name["building"], "GET", things).status
    # Midnight in Berlin is 22:00 UTC.
    assert list(answers.values()) == [404, 200, 200, 404]


def test_whoever_is_signed_in_no_longer_or_was_shut_out_is_a_stranger(full: Cast) -> None:
    things, by_name = Things.of(full), {route.name: route for route in routes()}
    with inside(full.building.uid) as here:
        token = give_token(here, full.resident)
    go_outside()
    ask, bearer = asker(account_of(full.resident)), asker(token=token)
    assert ask(by_name["building"], "GET", things).status == 200
    account = account_of(full.resident)
    account.is_active = False
    account.save()
    assert ask(by_name["building"], "GET", things).is_redirect_to_sign_in
    assert bearer(by_name["api-drop-offs"], "GET", things).status == 401


def a_view(request: HttpRequest, here: Here) -> HttpResponse:
    return HttpResponse()


def test_a_door_without_a_rule_or_with_one_that_is_not_in_the_table_is_not_made() -> None:
    with pytest.raises(LookupError, match="states a rule"):
        door("x/", a_view, name="x")
    with pytest.raises(LookupError, match="states a rule"):
        door("x/", a_view, name="x", get=Rule("see", "everything"))
    with pytest.raises(LookupError, match="states a rule"):
        door("x/", a_view, name="x", get=Rule("see", "home"), delete=Rule("see", "home"))

    class Bare(BuildingView):
        def get(self, request: Any) -> Any: ...

    class Astray(BuildingView):
        rules = {"GET": Rule("see", "everything")}

    class Half(BuildingView):
        """A handler that no rule speaks of."""

        rules = {"GET": Rule("see", "home")}

        def get(self, request: Any) -> Any: ...
        def delete(self, request: Any) -> Any: ...

    for view in (Bare, Astray, Half):
        with pytest.raises(LookupError, match="states a rule"):
            api_door("x/", view, name="x")


def test_a_route_that_is_no_door_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    from django.urls import path

    loose = path("b/<uuid:building>/loose/", lambda request, building: HttpResponse(), name="loose")
    monkeypatch.setattr(get_resolver(), "url_patterns", [*routes(), loose, path("quiet/", a_view, name="quiet")])
    with pytest.raises(AssertionError, match="quiet"):
        test_every_route_is_a_door_with_rules_or_stands_on_the_short_list()
    monkeypatch.setattr(get_resolver(), "url_patterns", [*routes()[:-1]])
    with pytest.raises(AssertionError, match="loose"):
        test_every_route_is_a_door_with_rules_or_stands_on_the_short_list()


def test_every_rule_of_the_table_admits_somebody_and_strangers_only_to_what_hangs_at_the_drum() -> None:
    assert all(TABLE.values())
    assert {str(rule) for rule in TABLE if is_public(rule)} == {
        "see hatch", "see accepted", "add report", "see report", "see slot", "see feed",
    }  # fmt: skip
    assert {As(capacity) for grants in TABLE.values() for capacity in grants} == set(As)
    assert ApiToken._meta.get_field("person").null is False
