"""What the rota's room gives back, as plain values that a row can keep, and read again."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from fractions import Fraction
from typing import Any
from uuid import UUID

from households.rota.plan import Goal, Infeasible, Level, Load, Method, Plan, Remedy, Replan, Replans, Way
from households.rota.problem import Cell

# None: neither a plan was found in time nor a proof that there is none.
Outcome = Plan | Replans | Infeasible | None
NAMES: Mapping[str, type[Any]] = {"plan": Plan, "ways": Replans, "infeasible": Infeasible, "undecided": type(None)}


def as_raw(outcome: Outcome) -> dict[str, Any]:
    """An outcome as JSON has it, its kind beside it."""
    kind = next(name for name, one in NAMES.items() if isinstance(outcome, one))
    values = asdict(outcome) if outcome is not None else {}
    found: dict[str, Any] = json.loads(json.dumps({"kind": kind, **values}, default=str))
    return found


def of_raw(raw: Mapping[str, Any]) -> Outcome:
    """The outcome that `as_raw` was given. KeyError for what it did not make."""
    match raw["kind"]:
        case "plan":
            return _plan(raw)
        case "ways":
            return Replans(**{name: _replan(raw[name]) for name in ("fewest", "halfway", "fairest")})
        case "infeasible":
            return Infeasible(
                pins=_cells(raw["pins"]),
                short_by=raw["short_by"],
                ways=tuple(_way(way) for way in raw["ways"]),
                **{name: _uids(raw[name]) for name in ("tasks", "households", "only_households", "only_tasks")},
            )
        case "undecided":
            return None
        case kind:
            raise KeyError(kind)


def _plan(raw: Mapping[str, Any]) -> Plan:
    balances = {name: raw[name] for name in ("balance_before", "balance_after")}
    return Plan(
        cells=_cells(raw["cells"]),
        loads=tuple(Load(**{**load, "household": UUID(load["household"])}) for load in raw["loads"]),
        levels=tuple(
            Level(Goal(one["goal"]), one["value"], one["bound"], Method(one["method"])) for one in raw["levels"]
        ),
        **{name: None if text is None else Fraction(text) for name, text in balances.items()},
    )


def _replan(raw: Mapping[str, Any]) -> Replan:
    return Replan(_plan(raw["plan"]), _uids(raw["changed"]), _cells(raw["added"]), _cells(raw["dropped"]))


def _way(raw: Mapping[str, Any]) -> Way:
    task, household = (raw[name] and UUID(raw[name]) for name in ("task", "household"))
    return Way(Remedy(raw["remedy"]), raw["by"], task, household)


def _cells(raw: Iterable[Mapping[str, str]]) -> tuple[Cell, ...]:
    return tuple(Cell(UUID(one["household"]), UUID(one["task"])) for one in raw)


def _uids(raw: Iterable[str]) -> tuple[UUID, ...]:
    return tuple(UUID(one) for one in raw)
