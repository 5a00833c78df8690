"""One noun a module; this list is what the rest of the house imports."""

from .account import Account
from .audit import Audit
from .building import Building
from .household import Household
from .job import Job
from .ledger import Attribution, LedgerRow
from .notice import Notice
from .organisation import Organisation, OrganisationRole
from .person import Person, Role
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
    "Household",
    "Job",
    "LedgerRow",
    "Notice",
    "Organisation",
    "OrganisationRole",
    "Person",
    "Role",
    "SharingTerms",
    "Site",
    "TenantModel",
    "TenantQuerySet",
]
