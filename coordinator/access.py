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
    "uid", "happened_at", "drum", "batch", "pail", "quarter_pails", "browns_cups", "browns_in_pail", "scraps_g",
    "scraps_ml", "browns_ml", "known", "via", "doubt", "reverses", "place",
)  # fmt: skip
SETUP: Final = (
    "site", "browns", "permissions", "access", "opening", "decides", "sharing_kind", "reserve_percent",
    "households_expected",
)  # fmt: skip
CAPACITY: Final = (
    "site", "drums", "chamber_litres", "careful_households", "most_households", "has_curing_bin", "open_days",
    "base_layer_litres",
)  # fmt: skip
SHEET: Final = ("drum", "hatch", "stage", "level_percent", "decision", "access", "cancelled_card")
HATCH: Final = ("drum", "hatch", "stage", "level_percent", "cups_per_pail", "fallback")
VISIT: Final = ("uid", "happened_at", "drum", "turned", "trouble", "level_percent", "readings", "via", "doubt")
TURNING: Final = ("uid", "happened_at", "drum", "turned", "via", "doubt")
BATCH: Final = (
    "uid", "drum", "place", "stage", "opened_at", "closed_at", "ended_at", "merged_into", "history", "tests",
)  # fmt: skip
CARE: Final = ("act", "uid", "subject")
RULES: Final = (
    "site", "close_mark_percent", "longest_fill_days", "composting_days", "curing_days", "turn_open_days",
    "turn_resting_days", "winter_first", "spring_first",
)  # fmt: skip
DECISION: Final = ("uid", "drum", "batch", "rule", "reason", "figures", "state", "next_place", "made_at")
MONTH: Final = (
    "month",
    "scraps_g",
    "low_g",
    "high_g",
    "by_known",
    "browns_ml",
    "drop_offs",
    "households",
    "taking_part",
    "living_here",
    "visits",
    "turns",
    "compost_ml",
    "yields",
    "still_working",
    "reports",
    "wrong_items",
    "closed_at",
    "restated",
)
MONTH_ROW: Final = ("day", "amount", "known", "via", "is_correction")
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
BUCKET: Final = (
    "uid", "name", "drum", "shared", "millilitres", "bedding", "bedding_ml", "percent", "scraps_g", "drop_offs",
    "moisture_percent", "advice",
)  # fmt: skip
WRONG_ITEM: Final = (
    "uid", "happened_at", "drum", "hatch", "batch", "visit", "item", "millilitres", "grams", "taken_out", "shut",
    "via", "doubt",
)  # fmt: skip

HARVEST: Final = (
    "uid", "batch", "happened_at", "was_ready", "whole_tubs", "part_millionths", "tub_ml", "weighed_g", "overs_ml",
    "harvested_millionths", "given_millionths", "reserve_millionths", "unclaimed_millionths", "lost_millionths",
    "waiting_millionths", "via", "doubt",
)  # fmt: skip
SPLIT: Final = (
    "harvest", "is_final", "mark", "given_tubs", "beds_millionths", "given_up_tubs", "households", "groups",
    "withheld_groups", "tied", "served", "pick_up_on", "pick_up_until", "pick_up_where", "would_move_tubs",
)  # fmt: skip
SHARE: Final = (
    "uid", "harvest", "shared_at", "due_millionths", "credit_before_millionths", "tubs", "credit_after_millionths",
    "tub_ml", "to_garden", "given_millionths", "pick_up_on", "pick_up_until", "pick_up_where",
)  # fmt: skip
HAND_OUT: Final = ("share", "household", "tubs", "given_millionths", "unclaimed_millionths")
OUTGOING: Final = (
    "uid", "happened_at", "harvest", "share", "kind", "loss", "millionths", "reverses", "via", "doubt",
)  # fmt: skip
TERMS: Final = (
    "sharing_kind", "reserve_percent", "ceiling_percent", "least_drop_offs", "tub_ml", "unclaimed_after_days",
)  # fmt: skip

REPORT: Final = ("reference", "kind", "drum", "received_at", "answer_by", "closed_at", "steps")
CASE: Final = (*REPORT, "uid", "look_by", "times", "words")
LEAVE: Final = ("household", "last_day", "share", "is_forgotten")

TABLE: Final[dict[Rule, dict[As, Grant]]] = {
    Rule("see", "hatch"): {As.ANYONE: _all(*HATCH)},
    Rule("print", "sign"): {As.CARETAKER: _all(*HATCH)},
    Rule("print", "sheet"): {As.CARETAKER: _all(*SHEET)},
    Rule("see", "setup"): {As.CARETAKER: _all(*SETUP), As.COMMITTEE: _all(*SETUP)},
    Rule("set", "setup"): {As.CARETAKER: _all(*SETUP)},
    Rule("see", "capacity"): {As.CARETAKER: _all(*CAPACITY), As.COMMITTEE: _all(*CAPACITY)},
    Rule("renew", "card"): {As.CARETAKER: _all("household", "card")},
    Rule("see", "home"): {
        As.RESIDENT: _own(*HOME), As.CARETAKER: _own("hatch"), As.COMMITTEE: _own("hatch"), As.CHECKER: _own("hatch"),
    },
    Rule("add", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("see", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("undo", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("correct", "drop-off"): {As.RESIDENT: _own(*DROP_OFF)},
    Rule("add", "on-behalf"): {As.CARETAKER: _all(*DROP_OFF)},
    # Whoever has the reference reads what was done: never who reported, never who acted.
    Rule("add", "report"): {As.ANYONE: _all(*REPORT)},
    Rule("see", "report"): {As.ANYONE: _all(*REPORT)},
    Rule("see", "case"): {As.CARETAKER: _all(*CASE)},
    Rule("answer", "case"): {As.CARETAKER: _all(*CASE)},
    Rule("set", "report-promise"): {As.CARETAKER: _all("hours", "phone")},
    Rule("see", "import"): {As.CARETAKER: _all("line", "field", "reason", "value")},
    Rule("add", "import"): {As.CARETAKER: _all("kind", "file")},
    Rule("leave", "household"): {As.RESIDENT: _own(*LEAVE), As.CARETAKER: _all(*LEAVE)},
    Rule("see", "today"): {As.CARETAKER: _all(*VISIT, *DECISION)},
    Rule("add", "visit"): {As.CARETAKER: _all(*VISIT)},
    Rule("add", "turning"): {As.RESIDENT: _own(*TURNING)},
    Rule("see", "batch"): {As.CARETAKER: _all(*BATCH), As.COMMITTEE: _all(*BATCH)},
    Rule("change", "batch"): {As.CARETAKER: _all(*CARE)},
    Rule("see", "drum-care"): {As.CARETAKER: _all("drum", "hatches", "state", "households")},
    Rule("change", "drum-care"): {As.CARETAKER: _all(*CARE)},
    Rule("set", "site-rules"): {As.CARETAKER: _all(*RULES)},
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
    Rule("see", "bucket"): {As.RESIDENT: _own(*BUCKET), As.CARETAKER: _own(*BUCKET)},
    Rule("fill", "bucket"): {As.RESIDENT: _own(*BUCKET)},
    Rule("empty", "bucket"): {As.RESIDENT: _own(*BUCKET), As.CARETAKER: _own(*BUCKET)},
    Rule("set", "bucket"): {As.CARETAKER: _own(*BUCKET)},
    Rule("add", "wrong-item"): {As.CARETAKER: _all(*WRONG_ITEM)},
    Rule("add", "harvest"): {As.CARETAKER: _all(*HARVEST)},
    # Of a split the caretaker sees counts like the committee; names stand on the hand-out list, while it is open.
    Rule("see", "harvest"): {As.CARETAKER: _all(*HARVEST, *SPLIT), As.COMMITTEE: _all(*HARVEST, *SPLIT)},
    Rule("add", "split"): {As.CARETAKER: _all(*SPLIT), As.COMMITTEE: _all(*SPLIT)},
    Rule("see", "hand-out"): {As.CARETAKER: _all(*HAND_OUT)},
    Rule("add", "pick-up"): {As.CARETAKER: _all(*OUTGOING)},
    Rule("add", "loss"): {As.CARETAKER: _all(*OUTGOING)},
    Rule("undo", "outgoing"): {As.CARETAKER: _all(*OUTGOING)},
    Rule("see", "share"): {As.RESIDENT: _own(*SHARE)},
    Rule("choose", "share"): {As.RESIDENT: _own("gives")},
    Rule("see", "sharing"): {
        As.RESIDENT: _all(*TERMS), As.CARETAKER: _all(*TERMS), As.COMMITTEE: _all(*TERMS),
    },
    Rule("set", "sharing"): {As.COMMITTEE: _all(*TERMS)},
    Rule("see", "month-rows"): {
        As.CARETAKER: _all(*MONTH_ROW), As.COMMITTEE: _all(*MONTH_ROW), As.CHECKER: _all(*MONTH_ROW),
    },
    Rule("close", "month"): {As.COMMITTEE: _all(*MONTH)},
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
