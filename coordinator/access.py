"""The one module that admits a person to a thing: a table of role x act x resource x field.

What is not allowed answers like what does not exist. A route without a rule from this table does not come
into being (see doors.py), and a test walks every route with every role and with another building's people.
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from django.contrib.auth.models import AnonymousUser

from households.models import Account, Building, Person, Role
from households.organisations import acts_for

from . import fields as f


class As(StrEnum):
    """In what capacity somebody comes. `anyone` needs no account."""

    ANYONE = "anyone"
    RESIDENT = "resident"
    CARETAKER = "caretaker"
    COMMITTEE = "committee"
    CHECKER = "checker"
    ORGANISATION = "organisation"  # acts for the one that looks after the building; no person of it


class Reach(StrEnum):
    OWN = "own"  # rows of one's own household or person
    BUILDING = "building"


@dataclass(frozen=True)
class Grant:
    """What an admission allows: whose rows, and which fields of them."""

    reach: Reach
    fields: frozenset[str]


@dataclass(frozen=True)
class Rule:
    act: str
    resource: str

    def __str__(self) -> str:
        return f"{self.act} {self.resource}"


@dataclass(frozen=True)
class Actor:
    """Who came: nobody known, or a person of this building with the roles held today."""

    person: Person | None
    capacities: frozenset[As]

    @classmethod
    def stranger(cls) -> "Actor":
        return cls(None, frozenset({As.ANYONE}))

    @classmethod
    def of(cls, person: Person | None, on: dt.date) -> "Actor":
        if person is None:
            return cls.stranger()
        kinds = Role.objects.within(person.building).filter(person=person).held_on(on).values_list("kind", flat=True)
        return cls(person, frozenset({As.ANYONE, *(As(kind) for kind in kinds)}))

    @classmethod
    def signed_in(cls, user: Account | AnonymousUser, building: Building, on: dt.date) -> "Actor":
        if not user.is_authenticated or not user.is_active:
            return cls.stranger()
        found = cls.of(Person.objects.within(building).filter(account=user).select_related("household").first(), on)
        if not acts_for(user, building.organisation_id, on):
            return found
        return cls(found.person, found.capacities | {As.ORGANISATION})


def _own(*fields: str) -> Grant:
    return Grant(Reach.OWN, frozenset(fields))


def _all(*fields: str) -> Grant:
    return Grant(Reach.BUILDING, frozenset(fields))


TABLE: Final[dict[Rule, dict[As, Grant]]] = {
    Rule("see", "hatch"): {As.ANYONE: _all(*f.HATCH)},
    Rule("print", "sign"): {As.CARETAKER: _all(*f.HATCH)},
    Rule("print", "sheet"): {As.CARETAKER: _all(*f.SHEET)},
    Rule("see", "setup"): {As.CARETAKER: _all(*f.SETUP), As.COMMITTEE: _all(*f.SETUP)},
    Rule("set", "setup"): {As.CARETAKER: _all(*f.SETUP)},
    Rule("see", "capacity"): {As.CARETAKER: _all(*f.CAPACITY), As.COMMITTEE: _all(*f.CAPACITY)},
    Rule("renew", "card"): {As.CARETAKER: _all("household", "card")},
    Rule("see", "home"): {
        As.RESIDENT: _own(*f.HOME), As.CARETAKER: _own("hatch"), As.COMMITTEE: _own("hatch"), As.CHECKER: _own("hatch"),
    },
    Rule("add", "drop-off"): {As.RESIDENT: _own(*f.DROP_OFF)},
    Rule("see", "drop-off"): {As.RESIDENT: _own(*f.DROP_OFF)},
    Rule("undo", "drop-off"): {As.RESIDENT: _own(*f.DROP_OFF)},
    Rule("correct", "drop-off"): {As.RESIDENT: _own(*f.DROP_OFF)},
    Rule("add", "on-behalf"): {As.CARETAKER: _all(*f.DROP_OFF)},
    # Whoever has the reference reads what was done: never who reported, never who acted.
    Rule("add", "report"): {As.ANYONE: _all(*f.REPORT)},
    Rule("see", "report"): {As.ANYONE: _all(*f.REPORT)},
    Rule("see", "case"): {As.CARETAKER: _all(*f.CASE)},
    Rule("answer", "case"): {As.CARETAKER: _all(*f.CASE)},
    Rule("set", "report-promise"): {As.CARETAKER: _all("hours", "phone")},
    Rule("see", "import"): {As.CARETAKER: _all("line", "field", "reason", "value")},
    Rule("add", "import"): {As.CARETAKER: _all("kind", "file")},
    Rule("leave", "household"): {As.RESIDENT: _own(*f.LEAVE), As.CARETAKER: _all(*f.LEAVE)},
    Rule("see", "today"): {As.CARETAKER: _all(*f.VISIT, *f.DECISION)},
    Rule("add", "visit"): {As.CARETAKER: _all(*f.VISIT)},
    Rule("add", "turning"): {As.RESIDENT: _own(*f.TURNING)},
    Rule("see", "batch"): {As.CARETAKER: _all(*f.BATCH), As.COMMITTEE: _all(*f.BATCH)},
    Rule("change", "batch"): {As.CARETAKER: _all(*f.CARE)},
    Rule("see", "trouble"): {As.CARETAKER: _all(*f.TROUBLE), As.COMMITTEE: _all(*f.TROUBLE)},
    Rule("see", "forecast"): {As.CARETAKER: _all(*f.FORECAST), As.COMMITTEE: _all(*f.FORECAST)},
    Rule("see", "what-if"): {As.CARETAKER: _all(*f.WHAT_IF), As.COMMITTEE: _all(*f.WHAT_IF)},
    Rule("ask", "what-if"): {As.CARETAKER: _all(*f.WHAT_IF), As.COMMITTEE: _all(*f.WHAT_IF)},
    # One line a drum, for everybody who lives here.
    Rule("see", "ready-range"): {
        role: _all("drum", "batch", "low", "high") for role in (As.RESIDENT, As.CARETAKER, As.COMMITTEE, As.CHECKER)
    },
    Rule("see", "drum-care"): {
        As.CARETAKER: _all("drum", "hatches", "state", "turns", "insulation", "vents", "households"),
    },
    Rule("change", "drum-care"): {As.CARETAKER: _all(*f.CARE)},
    Rule("set", "site-rules"): {As.CARETAKER: _all(*f.RULES)},
    Rule("see", "decision"): {As.CARETAKER: _all(*f.DECISION), As.COMMITTEE: _all(*f.DECISION)},
    Rule("settle", "decision"): {As.CARETAKER: _all(*f.DECISION)},
    Rule("see", "month"): {
        As.RESIDENT: _all(*f.MONTH), As.CARETAKER: _all(*f.MONTH),
        As.COMMITTEE: _all(*f.MONTH), As.CHECKER: _all(*f.MONTH),
    },
    Rule("see", "period"): {
        As.RESIDENT: _all(*f.MONTH, *f.PERIOD), As.CARETAKER: _all(*f.MONTH, *f.PERIOD),
        As.COMMITTEE: _all(*f.MONTH, *f.PERIOD), As.CHECKER: _all(*f.MONTH, *f.PERIOD),
    },
    Rule("see", "browns"): {As.CARETAKER: _all(*f.BROWNS), As.COMMITTEE: _all(*f.BROWNS)},
    Rule("set", "browns"): {As.CARETAKER: _all(*f.BROWNS)},
    Rule("see", "stock"): {As.CARETAKER: _all(*f.STOCK), As.COMMITTEE: _all(*f.STOCK)},
    Rule("add", "stock"): {As.CARETAKER: _all(*f.STOCK)},
    # What a household brought itself; the store's own rows name nobody.
    Rule("bring", "browns"): {As.RESIDENT: _own(*f.BROUGHT)},
    Rule("set", "store"): {As.CARETAKER: _all(*f.STOCK)},
    Rule("see", "site-limit"): {
        As.CARETAKER: _all(*f.SITE_LIMIT), As.COMMITTEE: _all(*f.SITE_LIMIT), As.CHECKER: _all(*f.SITE_LIMIT),
    },
    Rule("set", "site-limit"): {As.CARETAKER: _all(*f.SITE_LIMIT), As.COMMITTEE: _all(*f.SITE_LIMIT)},
    Rule("see", "period-log"): {
        As.CARETAKER: _all(*f.PERIOD_LOG), As.COMMITTEE: _all(*f.PERIOD_LOG), As.CHECKER: _all(*f.PERIOD_LOG),
    },
    Rule("see", "correction"): {As.CARETAKER: _all(*f.CORRECTION), As.COMMITTEE: _all(*f.CORRECTION)},
    Rule("add", "amendment"): {As.CARETAKER: _all(*f.AMENDMENT)},
    Rule("see", "pail"): {As.CARETAKER: _all(*f.PAIL), As.COMMITTEE: _all(*f.PAIL)},
    Rule("set", "pail"): {As.CARETAKER: _all(*f.PAIL)},
    Rule("add", "weighing"): {As.CARETAKER: _all(*f.WEIGHING)},
    Rule("see", "accepted"): {As.ANYONE: _all(*f.ACCEPTED)},
    Rule("set", "accepted"): {As.CARETAKER: _all(*f.ACCEPTED)},
    Rule("see", "bucket"): {As.RESIDENT: _own(*f.BUCKET), As.CARETAKER: _own(*f.BUCKET)},
    Rule("fill", "bucket"): {As.RESIDENT: _own(*f.BUCKET)},
    Rule("empty", "bucket"): {As.RESIDENT: _own(*f.BUCKET), As.CARETAKER: _own(*f.BUCKET)},
    Rule("set", "bucket"): {As.CARETAKER: _own(*f.BUCKET)},
    Rule("add", "wrong-item"): {As.CARETAKER: _all(*f.WRONG_ITEM)},
    Rule("add", "harvest"): {As.CARETAKER: _all(*f.HARVEST)},
    # Of a split the caretaker sees counts like the committee; names stand on the hand-out list, while it is open.
    Rule("see", "harvest"): {As.CARETAKER: _all(*f.HARVEST, *f.SPLIT), As.COMMITTEE: _all(*f.HARVEST, *f.SPLIT)},
    Rule("add", "split"): {As.CARETAKER: _all(*f.SPLIT), As.COMMITTEE: _all(*f.SPLIT)},
    Rule("see", "hand-out"): {As.CARETAKER: _all(*f.HAND_OUT)},
    Rule("add", "pick-up"): {As.CARETAKER: _all(*f.OUTGOING)},
    Rule("add", "loss"): {As.CARETAKER: _all(*f.OUTGOING)},
    Rule("undo", "outgoing"): {As.CARETAKER: _all(*f.OUTGOING)},
    Rule("see", "share"): {As.RESIDENT: _own(*f.SHARE)},
    Rule("see", "part-taken"): {As.RESIDENT: _own(*f.PART_TAKEN)},
    # Where the next shares go, what is given away of this one, and what is asked for of the next lot.
    Rule("choose", "share"): {As.RESIDENT: _own("wish")},
    Rule("give", "share"): {As.RESIDENT: _own(*f.OUTGOING)},
    Rule("ask", "share"): {As.RESIDENT: _own(*f.ASKED)},
    Rule("see", "sharing"): {
        As.RESIDENT: _all(*f.TERMS), As.CARETAKER: _all(*f.TERMS), As.COMMITTEE: _all(*f.TERMS),
    },
    Rule("set", "sharing"): {As.COMMITTEE: _all(*f.TERMS)},
    # What was decided is everybody's to read here; who decided is for those in charge.
    Rule("see", "committee-decision"): {
        As.RESIDENT: _all(*f.COMMITTEE_DECISION), As.CHECKER: _all(*f.COMMITTEE_DECISION),
        As.CARETAKER: _all(*f.COMMITTEE_DECISION, "people"), As.COMMITTEE: _all(*f.COMMITTEE_DECISION, "people"),
    },
    Rule("add", "committee-decision"): {As.COMMITTEE: _all(*f.COMMITTEE_DECISION, "people")},
    Rule("answer", "committee-question"): {As.COMMITTEE: _all(*f.DECISION)},
    Rule("set", "site-ways"): {As.COMMITTEE: _all(*f.WAYS)},
    # To whom something is owed is named to the super, who pays it back; each person sees their own.
    Rule("see", "money"): {
        As.CARETAKER: _all(*f.MONEY, "owed_to"), As.COMMITTEE: _all(*f.MONEY), As.CHECKER: _all(*f.MONEY),
    },
    Rule("add", "money"): {As.CARETAKER: _all(*f.MONEY, "owed_to"), As.COMMITTEE: _all(*f.MONEY)},
    Rule("undo", "money"): {As.CARETAKER: _all(*f.MONEY), As.COMMITTEE: _all(*f.MONEY)},
    Rule("approve", "money"): {As.CARETAKER: _all(*f.MONEY), As.COMMITTEE: _all(*f.MONEY)},
    Rule("set", "money-limit"): {As.COMMITTEE: _all("approval_above")},
    Rule("set", "currency"): {As.CARETAKER: _all("currency"), As.COMMITTEE: _all("currency")},
    Rule("see", "receipt"): {As.CARETAKER: _all("jpeg"), As.COMMITTEE: _all("jpeg"), As.CHECKER: _all("jpeg")},
    # Free places ahead are everybody's to see; who comes, and how many, is nobody's.
    Rule("see", "slot"): {As.ANYONE: _all(*f.SLOT_AHEAD, *f.CLOSURE)},
    Rule("set", "slot"): {As.CARETAKER: _all(*f.SLOT)},
    Rule("set", "closure"): {As.CARETAKER: _all(*f.CLOSURE)},
    Rule("see", "booking"): {As.RESIDENT: _own(*f.BOOKING)},
    Rule("add", "booking"): {As.RESIDENT: _own(*f.BOOKING)},
    Rule("cancel", "booking"): {As.RESIDENT: _own(*f.BOOKING)},
    # Of others' bookings those that were made here on their behalf, by whoever looks after the place.
    Rule("add", "booking-on-behalf"): {As.CARETAKER: _all(*f.BOOKING, "household")},
    Rule("see", "plan"): {As.RESIDENT: _own(*f.ABSENCE, *f.WISHES)},
    Rule("set", "plan"): {As.RESIDENT: _own(*f.WISHES)},
    # Whoever plans sees that a household is away, and never why: nobody is asked.
    Rule("see", "absence"): {As.RESIDENT: _own(*f.ABSENCE), As.CARETAKER: _all(*f.ABSENCE, "household")},
    Rule("set", "absence"): {As.RESIDENT: _own(*f.ABSENCE)},
    Rule("see", "contact"): {As.RESIDENT: _own("channel", "phone", "has_calendar")},
    Rule("set", "contact"): {As.RESIDENT: _own("channel", "phone", "has_calendar")},
    # The address is the key: whoever has it reads one person's own times and duties.
    Rule("see", "feed"): {As.ANYONE: _all("calendar")},
    Rule("set", "feed"): {As.RESIDENT: _own("address")},
    Rule("see", "duty-kind"): {As.CARETAKER: _all(*f.DUTY_KIND)},
    Rule("set", "duty-kind"): {As.CARETAKER: _all(*f.DUTY_KIND)},
    Rule("set", "duty-sharers"): {As.CARETAKER: _all("household", "shares")},
    Rule("see", "rota"): {As.CARETAKER: _all(*f.ROTA)},
    Rule("publish", "rota"): {As.CARETAKER: _all(*f.ROTA)},
    Rule("fix", "rota"): {As.CARETAKER: _all(*f.ROTA)},
    Rule("see", "duty-week"): {As.CARETAKER: _all(*f.WEEK_DUTY)},
    Rule("see", "duty"): {As.RESIDENT: _own(*f.DUTY)},
    Rule("finish", "duty"): {As.RESIDENT: _own(*f.DUTY), As.CARETAKER: _all(*f.DUTY)},
    Rule("take", "duty"): {As.RESIDENT: _all(*f.DUTY)},
    # Of others' requests a duty and a date, until somebody says yes.
    Rule("see", "cover"): {As.RESIDENT: _all(*f.COVER)},
    Rule("add", "cover"): {As.RESIDENT: _own(*f.COVER)},
    Rule("answer", "cover"): {As.RESIDENT: _all(*f.COVER)},
    Rule("set", "duty-limits"): {As.RESIDENT: _own(*f.LIMITS)},
    Rule("see", "stand-in"): {As.CARETAKER: _all(*f.STAND_IN)},
    Rule("set", "stand-in"): {As.CARETAKER: _all(*f.STAND_IN)},
    Rule("see", "month-rows"): {
        As.CARETAKER: _all(*f.MONTH_ROW), As.COMMITTEE: _all(*f.MONTH_ROW), As.CHECKER: _all(*f.MONTH_ROW),
    },
    # Of its buildings an organisation sees totals, what asks for a visit, and who is in charge.
    Rule("see", "organisation-building"): {As.ORGANISATION: _all("totals", "needs", "people_in_charge")},
    Rule("set", "greenhouse"): {As.COMMITTEE: _all("greenhouse")},
    Rule("see", "export"): {As.CARETAKER: _all(*f.KEPT_FILE), As.COMMITTEE: _all(*f.KEPT_FILE)},
    Rule("add", "export"): {As.CARETAKER: _all(*f.KEPT_FILE), As.COMMITTEE: _all(*f.KEPT_FILE)},
    Rule("close", "month"): {As.COMMITTEE: _all(*f.MONTH)},
    Rule("see", "people"): {As.CARETAKER: _all("name", "household", "drum", "roles", "has_account")},
    Rule("add", "people"): {As.CARETAKER: _all("name", "household", "drum", "roles", "email")},
    Rule("see", "token"): {
        role: _own("name", "created_at", "expires_at") for role in (As.RESIDENT, As.CARETAKER, As.COMMITTEE)
    },
    Rule("add", "token"): {
        role: _own("name", "expires_at", "secret") for role in (As.RESIDENT, As.CARETAKER, As.COMMITTEE)
    },
    Rule("revoke", "token"): {role: _own("name") for role in (As.RESIDENT, As.CARETAKER, As.COMMITTEE)},
}  # fmt: skip


def admit(actor: Actor, rule: Rule) -> Grant | None:
    """What the actor may do under a rule, joined over all capacities; None for not at all.

    KeyError for a rule that isn't in the table: a route can't be made with one.
    """
    grants = [grant for capacity, grant in TABLE[rule].items() if capacity in actor.capacities]
    if not grants:
        return None
    reach = Reach.BUILDING if any(grant.reach is Reach.BUILDING for grant in grants) else Reach.OWN
    return Grant(reach, frozenset().union(*(grant.fields for grant in grants)))


def is_public(rule: Rule) -> bool:
    return As.ANYONE in TABLE[rule]
