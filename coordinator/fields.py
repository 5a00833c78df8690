"""Which fields of a thing there are to be seen or told: what the grants of access.py name.

`fmt: skip` after each: a thing's fields are read as one line or two; a name a line would make this table 600 long.
"""

from typing import Final

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
HATCH: Final = ("drum", "hatch", "stage", "level_percent", "turns", "insulation", "vents", "cups_per_pail", "fallback")
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
    "turn_resting_days", "winter_first", "spring_first", "air_c",
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
# Of a quarter or a year, beside those of a month.
PERIOD: Final = (
    "span", "first_day", "last_day", "is_running", "open_days", "days_with_browns", "days", "wrong_visits",
    "wrong_g_per_100_kg", "compost_ml_per_kg", "shrunk_percent", "shares_fetched_percent", "carers",
    "hours_per_100_kg", "co2e_g",
)  # fmt: skip
MONTH_ROW: Final = ("day", "until", "amount", "known", "via", "is_correction")
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
BROUGHT: Final = ("uid", "site", "day", "kind", "millilitres", "reverses", "via", "doubt")
PART_TAKEN: Final = ("harvest", "takes_part", "drop_offs", "scraps_g", "care_minutes", "browns_ml")
SITE_LIMIT: Final = ("uid", "site", "what", "figure", "used", "percent", "is_near", "source", "dated")
PERIOD_LOG: Final = ("first", "last", "is_cut", "lines")
MONEY: Final = (
    "uid", "day", "way", "coins", "currency", "purpose", "purse", "words", "wants_approval", "is_approved", "reverses",
    "settles", "opening", "came_in", "went_out", "closing", "owed", "deposits", "in_the_box", "by_purpose",
    "cost_per_household", "cost_per_100_kg", "unseen", "approval_above", "via", "doubt", "owed_coins", "photos",
)  # fmt: skip

SLOT_AHEAD: Final = ("slot", "site", "name", "day", "begins_at", "ends_at", "free", "out", "words", "is_off")
SLOT: Final = (
    "uid", "site", "name", "rule", "starts_on", "begins_at", "minutes", "households", "pails", "rests_in_winter",
    "last_day",
)  # fmt: skip
BOOKING: Final = ("uid", "slot", "day", "begins_at", "ends_at", "drum", "quarter_pails", "state", "cause")
CLOSURE: Final = ("uid", "site", "first_day", "last_day", "words", "each_year")
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
    "uid", "site", "first", "last", "again", "asked_at", "state", "is_current", "drafts", "proved", "levels", "duties",
    "loads", "obstacle", "number", "way", "people_changed", "plans",
)  # fmt: skip
COVER: Final = ("uid", "duty", "work", "day", "begins_at", "is_own", "offers", "closed_at")
LIMITS: Final = ("cannot_lift", "carry_for_me")
STAND_IN: Final = ("leads", "away", "stand_ins", "handover", "alone_from", "pause_from", "pause_began_on")

REPORT: Final = ("reference", "kind", "drum", "received_at", "answer_by", "closed_at", "steps")
CASE: Final = (*REPORT, "uid", "look_by", "times", "words")
LEAVE: Final = ("household", "last_day", "share", "is_forgotten")
