"""One noun a module; this list is what the rest of the house imports."""

from .absence import Absence
from .account import Account
from .audit import Audit
from .booking import Booking
from .building import Building
from .card import Card
from .closure import Closure
from .committee_decision import CommitteeDecision, CommitteeDecisionAttribution
from .cover import Cover, CoverOffer, CoverTaking
from .departure import Departure
from .duty import Duty, DutyAssignment
from .duty_entry import DutyEntry
from .duty_kind import DutyKind, DutyLimits
from .feed_key import FeedKey
from .household import Household
from .job import Job
from .kept_file import KeptFile
from .ledger import Attribution, LedgerRow
from .money import Money, MoneyApproval, MoneyApprovalAttribution, MoneyAttribution
from .notice import Notice
from .organisation import Organisation, OrganisationRole
from .permission import Permission
from .person import Person, Role
from .photo import Photo
from .pin import Pin
from .reminder import Reminder
from .rota_draft import RotaDraft
from .rota_plan import RotaDue, RotaPlan
from .setup_draft import SetupDraft
from .setup_step import SetupStep
from .site import Site
from .slot import Slot
from .stand_in import Handover, IntakePause, Lead, LeadAway, StandIn
from .tenant import TenantModel, TenantQuerySet
from .terms import SharingTerms
from .token import ApiToken
from .wish import Wish

__all__ = [
    "Absence",
    "Account",
    "ApiToken",
    "Attribution",
    "Audit",
    "Booking",
    "Building",
    "Card",
    "Closure",
    "CommitteeDecision",
    "CommitteeDecisionAttribution",
    "Cover",
    "CoverOffer",
    "CoverTaking",
    "Departure",
    "Duty",
    "DutyAssignment",
    "DutyEntry",
    "DutyKind",
    "DutyLimits",
    "FeedKey",
    "Handover",
    "Household",
    "IntakePause",
    "Job",
    "KeptFile",
    "Lead",
    "LeadAway",
    "LedgerRow",
    "Money",
    "MoneyApproval",
    "MoneyApprovalAttribution",
    "MoneyAttribution",
    "Notice",
    "Organisation",
    "OrganisationRole",
    "Permission",
    "Person",
    "Photo",
    "Pin",
    "Reminder",
    "Role",
    "RotaDraft",
    "RotaDue",
    "RotaPlan",
    "SetupDraft",
    "SetupStep",
    "SharingTerms",
    "Site",
    "Slot",
    "StandIn",
    "TenantModel",
    "TenantQuerySet",
    "Wish",
]
