"""A second person's look at money above the committee's limit, and setting that limit and the currency."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final, Self
from uuid import UUID, uuid5

from babel.numbers import get_territory_currencies
from django.utils.translation import gettext as _

from bins.committee.deciding import About, write_decision
from bins.money.cash import MOST_WHOLE
from bins.records import Reader, Refused
from bins.signature import sign
from households.currency import currency_of
from households.ledger import already, fingerprint, open_ledger, times
from households.models import (
    Audit,
    Building,
    CommitteeDecision,
    Money,
    MoneyApproval,
    MoneyApprovalAttribution,
    MoneyAttribution,
    Person,
)
from households.zone_table import zones_by_country

CURRENCIES: Final = tuple(
    sorted({code for country in zones_by_country() for code in get_territory_currencies(country)})
)  # legal tender somewhere today


def approve(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> MoneyApproval:
    """A second person finds a row right; once a row. It counts either way: it was paid.

    Raises Money.DoesNotExist for a row that doesn't stand here, Refused for one that asks for no look, and for
    whoever wrote it down, or whom it is owed to.
    """
    with open_ledger(building) as ledger:
        row: Money = Money.objects.within(building).get(uid=uid, reverses__isnull=True, reversed_by__isnull=True)
        known: MoneyApproval | None = MoneyApproval.objects.within(building).filter(row=row).first()
        if known is not None:
            return known
        if not row.wants_approval:
            raise Refused({"row": _("This amount needs no second look. Nothing was changed.")})
        if person is None or MoneyAttribution.objects.within(building).filter(row=row, person=person).exists():
            raise Refused({"row": _("It takes another person than whoever wrote it down or is owed it.")})
        approval = MoneyApproval(
            uid=uuid5(row.uid, "approval"), fingerprint=fingerprint({"row": row.uid}), **asdict(times(now, now)),
            via=via, row=row,
        )  # fmt: skip
        sign(MoneyApprovalAttribution, ledger.add(approval), person)
    return approval


@dataclass(frozen=True)
class Limit:
    """Above this amount, in the smallest coin, a second person looks; None: no limit."""

    uid: UUID
    coins: int | None
    why: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], decimals: int) -> Self:
        """`above`: whole or with `decimals` (0 to 3), empty for no limit; `why` up to 300 characters. Refused."""
        reader = Reader(raw)
        told = reader.thousandths("above", MOST_WHOLE * 1000)
        if told is not None and told % 10 ** (3 - decimals):
            reader.errors["above"] = _("There is no smaller coin than that: please give at most %(n)s decimals.") % {
                "n": decimals
            }
        limit = cls(
            uid=reader.uid(),
            coins=None if told is None else told // 10 ** (3 - decimals),
            why=reader.words("why", 300, _("What is the reason?")),
        )
        reader.finish()
        return limit


def set_limit(*, building: Building, told: Limit, by: Person | None, via: str, now: dt.datetime) -> None:
    """Set the limit for rows from now on, as a decision of the committee. Once a uid.

    Raises Refused where `by` isn't on the committee, UidReused.
    """
    print_ = fingerprint(asdict(told))
    with open_ledger(building) as ledger:
        if already(CommitteeDecision, building, told.uid, print_):
            return
        write_decision(
            ledger, about=About.MONEY_LIMIT, by=by, via=via, now=now, uid=told.uid, print_=print_, why=told.why,
            figures={"approval_above": told.coins},
        )  # fmt: skip
        ledger.building.approval_above = told.coins
        ledger.building.save(update_fields=["approval_above"])


def set_currency(*, building: Building, currency: str, person: Person | None, now: dt.datetime) -> None:
    """Choose the currency. Refused once money is written down: amounts can't be changed, so it stays."""
    if currency not in CURRENCIES:
        raise Refused({"currency": _("Choose a currency from the list.")})
    with open_ledger(building) as ledger:
        here = ledger.building
        if currency == currency_of(here) and here.currency:
            return
        if here.approval_above is not None or Money.objects.within(here).exists():
            raise Refused({"currency": _("Amounts are written down already, so the currency stays.")})
        here.currency = currency
        here.save(update_fields=["currency"])
        Audit.note(here, person, "currency-set", now, currency=currency)
