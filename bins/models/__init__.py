"""One noun a module; this list is what the rest of the house imports."""

from .assignment import Assignment
from .batch import Batch
from .contribution import Contribution, ContributionAttribution
from .decision import Decision
from .drum import Drum
from .place import Place
from .reading import Reading
from .stage_change import StageChange, StageChangeAttribution
from .visit import Visit, VisitAttribution

__all__ = [
    "Assignment",
    "Batch",
    "Contribution",
    "ContributionAttribution",
    "Decision",
    "Drum",
    "Place",
    "Reading",
    "StageChange",
    "StageChangeAttribution",
    "Visit",
    "VisitAttribution",
]
