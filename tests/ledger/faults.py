"""Twenty mistakes that somebody could make in the product: one line of one function, put in and taken out again."""

import importlib
import inspect
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import FunctionType
from typing import Any


@dataclass(frozen=True)
class Fault:
    name: str
    module: str
    function: str
    right: str  # what stands there, once
    wrong: str


FAULTS = [
    Fault("undo keeps the grams", "bins.intake.dropoff", "reverse", "scraps_g=-row.scraps_g", "scraps_g=0"),
    Fault("undo forgets the browns", "bins.intake.dropoff", "reverse", "browns_ml=-row.browns_ml", "browns_ml=0"),
    Fault(
        "a correction leaves the old row standing", "bins.intake.correcting", "correct_drop_off",
        "reverse(ledger, row, person=person, via=via, now=now)", "pass",
    ),
    Fault(
        "a late row goes to today's lot", "bins.intake.wrong_hatch", "where_it_went",
        "filter(drum=drum).filling_at(at)", 'filter(drum=drum, stage="filling")',
    ),
    Fault(
        "a wrong hatch counts for the open lot", "bins.intake.wrong_hatch", "where_it_went",
        "return standing, place", "return filling, place",
    ),
    Fault("those of a merged lot lose their claim", "bins.care.lineage", "family", "found += parts[key]", "pass"),
    Fault(
        "a yield leaves merged lots out", "bins.months.yields", "_yields",
        'grams[_last(row["batch"], into)]', 'grams[row["batch"]]',
    ),
    Fault(
        "the month ignores reversals", "bins.months.brought", "_grouped",
        'grams=Sum("scraps_g")', 'grams=Sum("scraps_g", filter=Q(reverses__isnull=True))',
    ),
    Fault(
        "the month begins at midnight UTC", "bins.months.calendar", "span",
        "counts_at__gte=building.instant(first_day)",
        "counts_at__gte=dt.datetime.combine(first_day, dt.time(), dt.UTC)",
    ),
    Fault(
        "what was fetched is fetched again", "bins.harvests.outgoing", "record_pick_up",
        "left = share.tubs * TUB - gone", "left = share.tubs * TUB",
    ),
    Fault("a loss has no bound", "bins.harvests.outgoing", "record_loss", "told.millionths > there", "False"),
    Fault(
        "the beds' part is rounded twice", "households.sharing.split", "garden_reserve",
        "goal = harvested_millionths * percent // 100",
        "goal = _nearest_tub(harvested_millionths * percent // 100) * MILLIONTHS",
    ),
    Fault(
        "a credit has the other sign", "bins.harvests.took_part", "credits",
        "owed[household] += due", "owed[household] -= due",
    ),
    Fault(
        "taking part counts what was taken back", "bins.harvests.took_part", "weights",
        ".filter(STANDS, batch__in", ".filter(reverses__isnull=True, batch__in",
    ),
    Fault(
        "leaving keeps what was given to the beds", "bins.people.moving_out", "move_out",
        "_to_the_beds(ledger, household, open_claims, told.uid, person, via, now)", "pass",
    ),
    Fault(
        "forgetting one household loses another's", "households.leaving", "_cut",
        "other_household = None if is_theirs else row.household_id", "other_household = None",
    ),
    Fault(
        "a repeated uid is not looked up", "bins.intake.dropoff", "record_drop_off",
        "known := already(Contribution, building, told.uid, print_)", "known := None",
    ),
    Fault(
        "the tag opens a second hatch", "bins.care.closing", "open_hatch",
        "live.filter(drum=drum, stage=Stage.FILLING).exists()", "False",
    ),
    Fault(
        "what was left lying counts as fetched", "bins.harvests.unclaimed", "apply",
        "Outgoing.Kind.UNCLAIMED if share", "Outgoing.Kind.GIVEN if share",
    ),
    Fault(
        "the books' number is not kept", "households.ledger", "open_ledger",
        'locked.save(update_fields=["ledger_number"])', "pass",
    ),
]  # fmt: skip
# Those that show within a few steps: tried each time. All twenty are tried by the proof.
QUICK = [
    "undo forgets the browns",
    "a correction leaves the old row standing",
    "a wrong hatch counts for the open lot",
    "the month ignores reversals",
    "a loss has no bound",
    "the tag opens a second hatch",
]


@contextmanager
def put_in(fault: Fault) -> Iterator[None]:
    """Put a fault into the product until the block ends, wherever the function was imported to."""
    module = importlib.import_module(fault.module)
    function = _function(module, fault.function)
    source = textwrap.dedent(inspect.getsource(function))
    assert source.count(fault.right) == 1, f"{fault.name}: the line is not there, or twice"
    space: dict[str, Any] = dict(vars(module))
    # The whole text was written here or by the product.
    exec(compile(source.replace(fault.right, fault.wrong), f"<{fault.name}>", "exec"), space)  # noqa: S102
    before, function.__code__ = function.__code__, _unwrapped(space[fault.function]).__code__
    try:
        yield
    finally:
        function.__code__ = before


def _function(module: Any, name: str) -> FunctionType:
    return _unwrapped(getattr(module, name))


def _unwrapped(function: Any) -> FunctionType:
    found = inspect.unwrap(function)
    assert isinstance(found, FunctionType)
    return found
