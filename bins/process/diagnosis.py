"""From symptoms and readings to ranked causes with their evidence: a naive Bayes over two tables of chosen weights.

    p(cause) ~ how usual it is  x  product of how usual each sign and band is under it

A symptom that nobody told and a reading that nobody took say nothing, but for hallmarks: what nobody can miss. The
guarantee, the worked case, the confusion table and what was rejected stand in DIAGNOSIS.md.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, log2

from bins.process.causes import HOW_USUAL, Cause
from bins.process.findings import Band, Findings
from bins.process.likelihoods import FRESH_TOLD, FRESH_TOLD_OF_OTHERS, HALLMARKS, HARDLY, READINGS, SIGNS, UNNAMED
from bins.process.symptom import Symptom

Clue = Symptom | Band
SPEAKS_FROM = 1.0  # bits, chosen: twice (or half) as usual as under the causes together; less is no evidence
LIKELY_FROM, PROBABLE_FROM, WORTH_NAMING = 0.6, 0.35, 0.1  # chosen: "most likely", "probably", "perhaps"


@dataclass(frozen=True, slots=True)
class Evidence:
    """A clue and its weight in bits: 1 is twice as usual under the cause as under all of them, -1 half as usual."""

    clue: Clue
    weight: float


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause, its probability among the causes known here (they sum to 1), and what speaks for it and against it."""

    cause: Cause
    probability: float
    supports: tuple[Evidence, ...]
    opposes: tuple[Evidence, ...]


def diagnose(findings: Findings) -> tuple[Suspect, ...]:
    """All causes, the likeliest first; empty where nothing says that anything is wrong.

    Ties go to the order of `Cause`. Evidence is strongest first.
    """
    if not findings.has_complaint:
        return ()
    clues: tuple[Clue, ...] = (*sorted(findings.signs), *findings.bands())
    total = {
        cause: log(HOW_USUAL[cause] * _hallmark(cause, findings)) + sum(log(likelihood(clue, cause)) for clue in clues)
        for cause in Cause
    }
    highest = max(total.values())
    odds = {cause: exp(value - highest) for cause, value in total.items()}
    whole = sum(odds.values())
    among_all = {clue: _among_all(clue) for clue in clues}
    order = list(Cause)
    ranked = sorted(Cause, key=lambda cause: (-odds[cause], order.index(cause)))
    return tuple(_suspect(cause, odds[cause] / whole, among_all) for cause in ranked)


def likelihood(clue: Clue, cause: Cause) -> float:
    """P(clue | cause), above 0."""
    if isinstance(clue, Symptom):
        return SIGNS[clue].get(cause, HARDLY)
    if clue is Band.FRESH:
        return FRESH_TOLD if cause is Cause.FED_LATE else FRESH_TOLD_OF_OTHERS
    bands, usual, named = next(row for row in READINGS if clue in row[0])
    return named.get(cause, usual)[bands.index(clue)]


def _hallmark(cause: Cause, findings: Findings) -> float:
    """What a hallmark that nobody named leaves of a cause; 1 where it was named or nobody complained."""
    marks = HALLMARKS.get(cause)
    return 1.0 if marks is None or not findings.symptoms or marks & findings.symptoms else UNNAMED


def _suspect(cause: Cause, probability: float, among_all: Mapping[Clue, float]) -> Suspect:
    weighed = [Evidence(clue, log2(likelihood(clue, cause) / usual)) for clue, usual in among_all.items()]
    return Suspect(
        cause,
        probability,
        tuple(sorted((e for e in weighed if e.weight >= SPEAKS_FROM), key=lambda e: -e.weight)),
        tuple(sorted((e for e in weighed if e.weight <= -SPEAKS_FROM), key=lambda e: e.weight)),
    )


def _among_all(clue: Clue) -> float:
    """How usual a clue is under all causes together."""
    return sum(HOW_USUAL[cause] * likelihood(clue, cause) for cause in Cause) / sum(HOW_USUAL.values())
