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


class As(StrEnum):
    """In what capacity somebody comes. `anyone` needs no account."""

    ANYONE = "anyone"
    RESIDENT = "resident"
    CARETAKER = "caretaker"
    COMMITTEE = "committee"
    CHECKER = "checker"


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
        return cls.of(Person.objects.within(building).filter(account=user).select_related("household").first(), on)


def _own(*fields: str) -> Grant:
    return Grant(Reach.OWN, frozenset(fields))


def _all(*fields: str) -> Grant:
    return Grant(Reach.BUILDING, frozenset(fields))


DROP_OFF: Final = (
    "uid", "happened_at", "drum", "batch", "quarter_pails", "browns_cups", "scraps_g", "scraps_ml", "browns_ml",
    "known", "via", "doubt", "reverses",
)  # fmt: skip
HATCH: Final = ("drum", "hatch", "stage", "level_percent", "cups_per_pail", "fallback")
VISIT: Final = ("uid", "happened_at", "drum", "turned", "trouble", "level_percent", "via", "doubt")
DECISION: Final = ("uid", "drum", "batch", "rule", "reason", "figures", "state", "next_place", "made_at")
MONTH: Final = ("month", "scraps_g", "by_known", "browns_ml", "drop_offs", "households", "visits")
HOME: Final = ("hatch", "own_drop_offs")
BROWNS: Final = (
    "site", "browns", "cup_ml", "half_cups_per_pail", "cups_changed_on", "changes_from", "without_browns",
    "browns_out_since", "advised_half_cups", "moisture_percent", "available_c_to_n", "c_to_n", "preferred", "goal",
    "would_do", "least_cup_litres",
)  # fmt: skip
CORRECTION: Final = (
    "drum", "batch", "hatch", "browns", "browns_litres", "water_litres", "moisture_before_percent",
    "moisture_after_percent", "goal", "would_do",
)  # fmt: skip
AMENDMENT: Final = ("uid", "happened_at", "batch", "material", "millilitres", "via", "doubt")
PAIL: Final = (
    "uid", "site", "number", "name", "millilitres", "measured", "measured_on", "scraps_g_per_l", "calibrated_on",
    "weighed", "proposed_g_per_l", "is_due",
)  # fmt: skip
WEIGHING: Final = ("uid", "happened_at", "pail", "net_g", "gross_g", "tare_g", "pail_ml", "via", "doubt")
ACCEPTED: Final = ("uid", "site", "version", "dated", "items")
WRONG_ITEM: Final = (
    "uid", "happened_at", "drum", "hatch", "batch", "visit", "item", "millilitres", "grams", "taken_out", "shut",
    "via", "doubt",
)  # fmt: skip

TABLE: Final[dict[Rule, dict[As, Grant]]] = {
    Rule("see", "hatch"): {As.ANYONE: _all(*HATCH)},
    Rule("print", "sign"): {As.CARETAKER: _all(*HATCH)},
    Rule("see", "home"): {
        As.RESIDENT: _own(*HOME), As.CARETAKER: _own("hatch"), As.COMMITTEE: _own("hatch"), As.CHECKER: _own("hatch"),
    },
    Rule("add", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("see", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("undo", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("see", "today"): {As.CARETAKER: _all(*VISIT, *DECISION)},
    Rule("add", "visit"): {As.CARETAKER: _all(*VISIT)},
    Rule("see", "decision"): {As.CARETAKER: _all(*DECISION), As.COMMITTEE: _all(*DECISION)},
    Rule("settle", "decision"): {As.CARETAKER: _all(*DECISION)},
    Rule("see", "month"): {
        As.RESIDENT: _all(*MONTH), As.CARETAKER: _all(*MONTH), As.COMMITTEE: _all(*MONTH), As.CHECKER: _all(*MONTH),
    },
    Rule("see", "browns"): {As.CARETAKER: _all(*BROWNS), As.COMMITTEE: _all(*BROWNS)},
    Rule("set", "browns"): {As.CARETAKER: _all(*BROWNS)},
    Rule("see", "correction"): {As.CARETAKER: _all(*CORRECTION), As.COMMITTEE: _all(*CORRECTION)},
    Rule("add", "amendment"): {As.CARETAKER: _all(*AMENDMENT)},
    Rule("see", "pail"): {As.CARETAKER: _all(*PAIL), As.COMMITTEE: _all(*PAIL)},
    Rule("set", "pail"): {As.CARETAKER: _all(*PAIL)},
    Rule("add", "weighing"): {As.CARETAKER: _all(*WEIGHING)},
    Rule("see", "accepted"): {As.ANYONE: _all(*ACCEPTED)},
    Rule("set", "accepted"): {As.CARETAKER: _all(*ACCEPTED)},
    Rule("add", "wrong-item"): {As.CARETAKER: _all(*WRONG_ITEM)},
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
