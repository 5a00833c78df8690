"""One noun a module; this list is what the rest of the house imports."""

from .account import Account
from .audit import Audit
from .building import Building
from .card import Card
from .departure import Departure
from .household import Household
from .job import Job
from .ledger import Attribution, LedgerRow
from .notice import Notice
from .organisation import Organisation, OrganisationRole
from .permission import Permission
from .person import Person, Role
from .setup_draft import SetupDraft
from .setup_step import SetupStep
from .site import Site
from .tenant import TenantModel, TenantQuerySet
from .terms import SharingTerms
from .token import ApiToken

__all__ = [
    "Account",
    "ApiToken",
    "Attribution",
    "Audit",
    "Building",
    "Card",
    "Departure",
    "Household",
    "Job",
    "LedgerRow",
    "Notice",
    "Organisation",
    "OrganisationRole",
    "Permission",
    "Person",
    "Role",
    "SetupDraft",
    "SetupStep",
    "SharingTerms",
    "Site",
    "TenantModel",
    "TenantQuerySet",
]
