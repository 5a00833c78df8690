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
HATCH: Final = ("drum", "hatch", "stage", "level_percent", "turns", "cups_per_pail", "fallback")
VISIT: Final = (
    "uid", "happened_at", "drum", "turned", "turned_place", "trouble", "level_percent", "readings", "via", "doubt",
)  # fmt: skip
TURNING: Final = ("uid", "happened_at", "drum", "turned", "turned_place", "via", "doubt")
BATCH: Final = (
    "uid", "drum", "place", "stage", "opened_at", "closed_at", "ended_at", "merged_into", "overs_ml",
    "history", "tests",
)  # fmt: skip
CARE: Final = ("act", "uid", "subject")
TROUBLE: Final = ("batch", "symptoms", "suspects", "steps", "figures", "decision")
FORECAST: Final = (
    "batch", "reason", "made_on", "horizon_days", "full", "curing", "ready", "compost_ml", "clash", "remedied", "bands",
)  # fmt: skip
WHAT_IF: Final = (
    "uid", "site", "households", "drums", "curing_bins", "browns_percent", "begins_on", "need_by", "asked_at", "state",
    "done_days", "all_days", "result",
)  # fmt: skip
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
KEPT_FILE: Final = ("uid", "name", "made_at", "content")
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
    "tub_empty_g", "tub_water_g", "tub_full_g", "harvested_millionths", "harvested_ml", "harvested_g", "parts",
    "given_millionths", "reserve_millionths", "gift_millionths", "unclaimed_millionths", "lost_millionths",
    "waiting_millionths", "via", "doubt",
)  # fmt: skip
SPLIT: Final = (
    "harvest", "is_final", "mark", "given_tubs", "beds_millionths", "given_up_tubs", "households", "groups",
    "withheld_groups", "tied", "served", "pick_up_on", "pick_up_until", "pick_up_where", "would_move_tubs",
)  # fmt: skip
SHARE: Final = (
    "uid", "harvest", "shared_at", "due_millionths", "credit_before_millionths", "tubs", "credit_after_millionths",
    "tub_ml", "to_garden", "to_neighbours", "given_millionths", "gift_millionths", "pick_up_on", "pick_up_until",
    "pick_up_where",
)  # fmt: skip
HAND_OUT: Final = (
    "harvest", "share", "household", "tubs", "given_millionths", "gift_millionths", "unclaimed_millionths",
)  # fmt: skip
OUTGOING: Final = (
    "uid", "happened_at", "harvest", "share", "kind", "loss", "gift_to", "millionths", "reverses", "via", "doubt",
)  # fmt: skip
ASKED: Final = ("uid", "batch", "tubs", "via", "doubt")
TERMS: Final = (
    "site", "sharing_kind", "reserve_percent", "ceiling_percent", "least_drop_offs", "tub_ml", "unclaimed_after_days",
    "least_tubs", "most_tubs", "minutes_a_visit", "requests_by_weight",
)  # fmt: skip

COMMITTEE_DECISION: Final = ("uid", "about", "site", "decided_on", "words", "why", "figures", "via")
WAYS: Final = ("site", "opening", "decides")
STOCK: Final = (
    "uid", "day", "act", "kind", "millilitres", "reverses", "site", "litres", "counted_at", "weekly_litres",
    "is_measured", "reorder_at_litres", "days_of_cover", "is_low", "room", "most_litres", "delivery_weeks",
    "review_weeks", "safety_weeks", "cautions", "via", "doubt",
)  # fmt: skip
SITE_LIMIT: Final = ("uid", "site", "what", "figure", "used", "percent", "is_near", "source", "dated")
PERIOD_LOG: Final = ("first", "last", "is_cut", "lines")
MONEY: Final = (
    "uid", "day", "way", "coins", "currency", "purpose", "purse", "words", "wants_approval", "is_approved", "reverses",
    "settles", "opening", "came_in", "went_out", "closing", "owed", "deposits", "in_the_box", "by_purpose",
    "cost_per_household", "cost_per_100_kg", "unseen", "approval_above", "via", "doubt",
)  # fmt: skip

SLOT_AHEAD: Final = ("slot", "site", "name", "day", "begins_at", "ends_at", "free", "out", "words", "is_off")
SLOT: Final = (
    "uid", "site", "name", "rule", "starts_on", "begins_at", "minutes", "households", "pails", "rests_in_winter",
    "last_day",
)  # fmt: skip
BOOKING: Final = ("uid", "slot", "day", "begins_at", "ends_at", "drum", "quarter_pails", "state", "cause")
CLOSURE: Final = ("uid", "site", "first_day", "last_day", "words")
ABSENCE: Final = ("uid", "first_day", "last_day")
WISHES: Final = ("visits_in_four_weeks", "slots", "duties")

DUTY_KIND: Final = (
    "uid", "work", "rule", "starts_on", "begins_at", "least", "usual", "minutes", "is_heavy", "is_on",
)  # fmt: skip
DUTY: Final = (
    "uid", "work", "day", "begins_at", "minutes", "least", "usual", "phase", "is_asked", "others", "shares",
)  # fmt: skip
WEEK_DUTY: Final = ("uid", "site", "work", "day", "begins_at", "least", "phase", "names")
# First names, for whoever plans; nobody else gets loads with a name.
ROTA: Final = (
    "first", "last", "mark", "proved", "levels", "duties", "loads", "obstacle", "number", "way", "people_changed",
    "ways",
)  # fmt: skip
COVER: Final = ("uid", "duty", "work", "day", "begins_at", "is_own", "offers", "closed_at")
LIMITS: Final = ("cannot_lift", "carry_for_me")
STAND_IN: Final = ("leads", "away", "stand_ins", "handover", "alone_from", "pause_from", "pause_began_on")

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
    Rule("see", "trouble"): {As.CARETAKER: _all(*TROUBLE), As.COMMITTEE: _all(*TROUBLE)},
    Rule("see", "forecast"): {As.CARETAKER: _all(*FORECAST), As.COMMITTEE: _all(*FORECAST)},
    Rule("see", "what-if"): {As.CARETAKER: _all(*WHAT_IF), As.COMMITTEE: _all(*WHAT_IF)},
    Rule("ask", "what-if"): {As.CARETAKER: _all(*WHAT_IF), As.COMMITTEE: _all(*WHAT_IF)},
    # One line a drum, for everybody who lives here.
    Rule("see", "ready-range"): {
        role: _all("drum", "batch", "low", "high") for role in (As.RESIDENT, As.CARETAKER, As.COMMITTEE, As.CHECKER)
    },
    Rule("see", "drum-care"): {As.CARETAKER: _all("drum", "hatches", "state", "turns", "households")},
    Rule("change", "drum-care"): {As.CARETAKER: _all(*CARE)},
    Rule("set", "site-rules"): {As.CARETAKER: _all(*RULES)},
    Rule("see", "decision"): {As.CARETAKER: _all(*DECISION), As.COMMITTEE: _all(*DECISION)},
    Rule("settle", "decision"): {As.CARETAKER: _all(*DECISION)},
    Rule("see", "month"): {
        As.RESIDENT: _all(*MONTH), As.CARETAKER: _all(*MONTH), As.COMMITTEE: _all(*MONTH), As.CHECKER: _all(*MONTH),
    },
    Rule("see", "browns"): {As.CARETAKER: _all(*BROWNS), As.COMMITTEE: _all(*BROWNS)},
    Rule("set", "browns"): {As.CARETAKER: _all(*BROWNS)},
    Rule("see", "stock"): {As.CARETAKER: _all(*STOCK), As.COMMITTEE: _all(*STOCK)},
    Rule("add", "stock"): {As.CARETAKER: _all(*STOCK)},
    Rule("set", "store"): {As.CARETAKER: _all(*STOCK)},
    Rule("see", "site-limit"): {
        As.CARETAKER: _all(*SITE_LIMIT), As.COMMITTEE: _all(*SITE_LIMIT), As.CHECKER: _all(*SITE_LIMIT),
    },
    Rule("set", "site-limit"): {As.CARETAKER: _all(*SITE_LIMIT), As.COMMITTEE: _all(*SITE_LIMIT)},
    Rule("see", "period-log"): {
        As.CARETAKER: _all(*PERIOD_LOG), As.COMMITTEE: _all(*PERIOD_LOG), As.CHECKER: _all(*PERIOD_LOG),
    },
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
    # Where the next shares go, what is given away of this one, and what is asked for of the next lot.
    Rule("choose", "share"): {As.RESIDENT: _own("wish")},
    Rule("give", "share"): {As.RESIDENT: _own(*OUTGOING)},
    Rule("ask", "share"): {As.RESIDENT: _own(*ASKED)},
    Rule("see", "sharing"): {
        As.RESIDENT: _all(*TERMS), As.CARETAKER: _all(*TERMS), As.COMMITTEE: _all(*TERMS),
    },
    Rule("set", "sharing"): {As.COMMITTEE: _all(*TERMS)},
    # What was decided is everybody's to read here; who decided is for those in charge.
    Rule("see", "committee-decision"): {
        As.RESIDENT: _all(*COMMITTEE_DECISION), As.CHECKER: _all(*COMMITTEE_DECISION),
        As.CARETAKER: _all(*COMMITTEE_DECISION, "people"), As.COMMITTEE: _all(*COMMITTEE_DECISION, "people"),
    },
    Rule("add", "committee-decision"): {As.COMMITTEE: _all(*COMMITTEE_DECISION, "people")},
    Rule("answer", "committee-question"): {As.COMMITTEE: _all(*DECISION)},
    Rule("set", "site-ways"): {As.COMMITTEE: _all(*WAYS)},
    # To whom something is owed is named to the super, who pays it back; each person sees their own.
    Rule("see", "money"): {
        As.CARETAKER: _all(*MONEY, "owed_to"), As.COMMITTEE: _all(*MONEY), As.CHECKER: _all(*MONEY),
    },
    Rule("add", "money"): {As.CARETAKER: _all(*MONEY, "owed_to"), As.COMMITTEE: _all(*MONEY)},
    Rule("undo", "money"): {As.CARETAKER: _all(*MONEY), As.COMMITTEE: _all(*MONEY)},
    Rule("approve", "money"): {As.CARETAKER: _all(*MONEY), As.COMMITTEE: _all(*MONEY)},
    Rule("set", "money-limit"): {As.COMMITTEE: _all("approval_above")},
    Rule("set", "currency"): {As.CARETAKER: _all("currency"), As.COMMITTEE: _all("currency")},
    Rule("see", "receipt"): {As.CARETAKER: _all("jpeg"), As.COMMITTEE: _all("jpeg"), As.CHECKER: _all("jpeg")},
    # Free places ahead are everybody's to see; who comes, and how many, is nobody's.
    Rule("see", "slot"): {As.ANYONE: _all(*SLOT_AHEAD, *CLOSURE)},
    Rule("set", "slot"): {As.CARETAKER: _all(*SLOT)},
    Rule("set", "closure"): {As.CARETAKER: _all(*CLOSURE)},
    Rule("see", "booking"): {As.RESIDENT: _own(*BOOKING)},
    Rule("add", "booking"): {As.RESIDENT: _own(*BOOKING)},
    Rule("cancel", "booking"): {As.RESIDENT: _own(*BOOKING)},
    Rule("see", "plan"): {As.RESIDENT: _own(*ABSENCE, *WISHES)},
    Rule("set", "plan"): {As.RESIDENT: _own(*WISHES)},
    # Whoever plans sees that a household is away, and never why: nobody is asked.
    Rule("see", "absence"): {As.RESIDENT: _own(*ABSENCE), As.CARETAKER: _all(*ABSENCE, "household")},
    Rule("set", "absence"): {As.RESIDENT: _own(*ABSENCE)},
    Rule("see", "contact"): {As.RESIDENT: _own("channel", "phone", "has_calendar")},
    Rule("set", "contact"): {As.RESIDENT: _own("channel", "phone", "has_calendar")},
    # The address is the key: whoever has it reads one person's own times and duties.
    Rule("see", "feed"): {As.ANYONE: _all("calendar")},
    Rule("set", "feed"): {As.RESIDENT: _own("address")},
    Rule("see", "duty-kind"): {As.CARETAKER: _all(*DUTY_KIND)},
    Rule("set", "duty-kind"): {As.CARETAKER: _all(*DUTY_KIND)},
    Rule("see", "rota"): {As.CARETAKER: _all(*ROTA)},
    Rule("publish", "rota"): {As.CARETAKER: _all(*ROTA)},
    Rule("fix", "rota"): {As.CARETAKER: _all(*ROTA)},
    Rule("see", "duty-week"): {As.CARETAKER: _all(*WEEK_DUTY)},
    Rule("see", "duty"): {As.RESIDENT: _own(*DUTY)},
    Rule("finish", "duty"): {As.RESIDENT: _own(*DUTY), As.CARETAKER: _all(*DUTY)},
    Rule("take", "duty"): {As.RESIDENT: _all(*DUTY)},
    # Of others' requests a duty and a date, until somebody says yes.
    Rule("see", "cover"): {As.RESIDENT: _all(*COVER)},
    Rule("add", "cover"): {As.RESIDENT: _own(*COVER)},
    Rule("answer", "cover"): {As.RESIDENT: _all(*COVER)},
    Rule("set", "duty-limits"): {As.RESIDENT: _own(*LIMITS)},
    Rule("see", "stand-in"): {As.CARETAKER: _all(*STAND_IN)},
    Rule("set", "stand-in"): {As.CARETAKER: _all(*STAND_IN)},
    Rule("see", "month-rows"): {
        As.CARETAKER: _all(*MONTH_ROW), As.COMMITTEE: _all(*MONTH_ROW), As.CHECKER: _all(*MONTH_ROW),
    },
    Rule("set", "greenhouse"): {As.COMMITTEE: _all("greenhouse")},
    Rule("see", "export"): {As.CARETAKER: _all(*KEPT_FILE), As.COMMITTEE: _all(*KEPT_FILE)},
    Rule("add", "export"): {As.CARETAKER: _all(*KEPT_FILE), As.COMMITTEE: _all(*KEPT_FILE)},
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
