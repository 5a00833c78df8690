"""One noun a module; this list is what the rest of the house imports."""

from .accepted import AcceptedItem, AcceptedList, AcceptedListAttribution
from .amendment import Amendment, AmendmentAttribution
from .assignment import Assignment
from .batch import Batch
from .browns_store import BrownsStock, BrownsStockAttribution, BrownsStore
from .bucket import Bucket, BucketDropOff, BucketDropOffAttribution, BucketEmptying, BucketEmptyingAttribution
from .case import Case, CaseNote, CaseNoteAttribution, CaseReport
from .contribution import Contribution, ContributionAttribution
from .decision import Decision
from .drum import Drum
from .forecast import Forecast, ForecastHit
from .forecast_lesson import ForecastLesson
from .forecast_state import ForecastState
from .harvest import Harvest, HarvestAttribution, HarvestPart, HarvestPartAttribution, Overs, OversAttribution
from .import_run import ImportRun
from .maturity_test import MaturityResult, MaturityResultAttribution, MaturityTest, MaturityTestAttribution
from .month_closing import MonthClosing
from .movement import Movement, MovementAttribution
from .outgoing import Outgoing, OutgoingAttribution
from .pail import Pail, PailWeighing, PailWeighingAttribution
from .place import Place
from .reading import Reading
from .share_request import ShareRequest, ShareRequestAttribution
from .site_limit import SiteLimit, SiteLimitAttribution
from .site_rules import SiteRules
from .split import Share, ShareAttribution, Split, SplitAttribution
from .stage_change import StageChange, StageChangeAttribution
from .standing import DrumChange, DrumChangeAttribution, PlaceChange, PlaceChangeAttribution
from .told_symptom import ToldSymptom
from .visit import Visit, VisitAttribution
from .what_if import WhatIf
from .wrong_item import WrongItem, WrongItemAttribution

__all__ = [
    "AcceptedItem",
    "AcceptedList",
    "AcceptedListAttribution",
    "Amendment",
    "AmendmentAttribution",
    "Assignment",
    "Batch",
    "BrownsStock",
    "BrownsStockAttribution",
    "BrownsStore",
    "Bucket",
    "BucketDropOff",
    "BucketDropOffAttribution",
    "BucketEmptying",
    "BucketEmptyingAttribution",
    "Case",
    "CaseNote",
    "CaseNoteAttribution",
    "CaseReport",
    "Contribution",
    "ContributionAttribution",
    "Decision",
    "Drum",
    "DrumChange",
    "DrumChangeAttribution",
    "Forecast",
    "ForecastHit",
    "ForecastLesson",
    "ForecastState",
    "Harvest",
    "HarvestAttribution",
    "HarvestPart",
    "HarvestPartAttribution",
    "ImportRun",
    "MaturityResult",
    "MaturityResultAttribution",
    "MaturityTest",
    "MaturityTestAttribution",
    "MonthClosing",
    "Movement",
    "MovementAttribution",
    "Outgoing",
    "OutgoingAttribution",
    "Overs",
    "OversAttribution",
    "Pail",
    "PailWeighing",
    "PailWeighingAttribution",
    "Place",
    "PlaceChange",
    "PlaceChangeAttribution",
    "Reading",
    "Share",
    "ShareAttribution",
    "ShareRequest",
    "ShareRequestAttribution",
    "SiteLimit",
    "SiteLimitAttribution",
    "SiteRules",
    "Split",
    "SplitAttribution",
    "StageChange",
    "StageChangeAttribution",
    "ToldSymptom",
    "Visit",
    "VisitAttribution",
    "WhatIf",
    "WrongItem",
    "WrongItemAttribution",
]
