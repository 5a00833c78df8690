"""What the block pays, keeps in store and decides: fees come in, browns are fetched and counted, a limit is set."""

import datetime as dt

from bins.committee.deciding import Decided, record_decision
from bins.mixing.storing import Stored, record_stock
from bins.money.cash import Cash, pay_back, record_money
from households.models import Building, Person

from . import people
from .block import day_of, drums, uid

FEE_EVERY, BROWNS_EVERY, COUNT_EVERY = 91, 42, 14  # days
FEES, SACK, SACK_LITRES = "140", "18.50", 600
LID_BROKE, LID_PAID_BACK = 402, 416
DECIDES = 60
STORE_GOES_DOWN = (520, 340, 170)  # litres seen at the three counts between two deliveries


def settle(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """A day's affairs, from `now` on."""
    yusra = people.committee(here)
    if number % FEE_EVERY == 5:
        _pay(here, yusra, number, now, way="in", amount=FEES, purpose="fee", words="28 households, 5 each")
    if number % BROWNS_EVERY == 1:
        _pay(here, wanda, number, now, way="out", amount=SACK, purpose="browns", words="Shavings, three sacks")
        _store(here, wanda, number, now, act="delivery", litres=SACK_LITRES)
    elif number % COUNT_EVERY == 9:
        seen = STORE_GOES_DOWN[number % BROWNS_EVERY // COUNT_EVERY]
        _store(here, wanda, number, now, act="count", litres=seen)
    if number == LID_BROKE:
        _pay(
            here,
            wanda,
            number,
            now,
            way="out",
            amount="31.90",
            purpose="repair",
            purse="own",
            owed_to="me",
            words="A latch for drum 2",
        )
    if number == LID_PAID_BACK:
        pay_back(building=here, uid=uid(f"repair {LID_BROKE}"), person=yusra, via="web", now=now)
    if number == DECIDES:
        told = Decided.from_raw(
            {
                "uid": str(uid("decision")),
                "about": "other",
                "decided_on": day_of(number).isoformat(),
                "words": "The beds by the gate get their fifth first.",
                "why": "Everybody walks past them.",
            }
        )
        record_decision(building=here, told=told, by=yusra, via="web", now=now)


def _pay(here: Building, person: Person, number: int, now: dt.datetime, **raw: str) -> None:
    told = Cash.from_raw({"uid": str(uid(f"{raw['purpose']} {number}")), **raw}, decimals=2)
    record_money(building=here, told=told, names_others=True, person=person, via="web", now=now)


def _store(here: Building, person: Person, number: int, now: dt.datetime, *, act: str, litres: int) -> None:
    site = drums(here)[0].site
    raw = {"uid": str(uid(f"store {number}")), "site": str(site.uid), "act": act, "litres": str(litres)}
    record_stock(building=here, told=Stored.from_raw(raw), person=person, via="web", now=now)
