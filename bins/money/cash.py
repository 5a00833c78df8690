"""Writing money down: once a uid, in the smallest coin. What was paid is recorded; a limit only asks for a look."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.photos import Encoded, keep_photos
from bins.records import Reader, Refused
from households.currency import currency_of, decimals_of
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Money, MoneyAttribution, Person

MOST_WHOLE: Final = 999_999  # of the currency, in one row: above that it is a slip of the pen
ME: Final = "me"
Part = MoneyAttribution.Part


@dataclass(frozen=True)
class Cash:
    """Money that came in or went out, as it was told. `owed_to`: a person's uid; None for whoever writes it."""

    uid: UUID
    day: dt.date | None
    way: str
    coins: int
    purpose: str
    purse: str
    owed_to: UUID | None
    words: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], decimals: int) -> Self:
        """Read and check raw values. Raises Refused with every fault named.

        amount: above 0, up to 999,999, with at most `decimals` (0 to 3) decimals; way: in, out; purse: box, own
        (somebody's own purse, only for what went out); owed_to: a person's uid, or "me"; words up to 120.
        """
        reader = Reader(raw)
        way = reader.choice("way", [Money.Way.IN.value, Money.Way.OUT.value])
        purpose = reader.choice("purpose", [*Money.Purpose.values])
        purse = reader.choice("purse", [*Money.Purse.values], Money.Purse.BOX) if way == Money.Way.OUT else "box"
        if purse == Money.Purse.OWN and purpose == Money.Purpose.DEPOSIT:
            reader.errors["purse"] = _("A deposit lies in the box, so it is paid back from there.")
        owed = raw.get("owed_to") if purse == Money.Purse.OWN else None
        told = cls(
            uid=reader.uid(),
            day=reader.day("day"),
            way=way,
            coins=_coins(reader, decimals),
            purpose=purpose,
            purse=purse,
            owed_to=reader.uid("owed_to") if owed and owed != ME else None,
            words=reader.words("words", 120, ""),
        )
        reader.finish()
        return told


def _coins(reader: Reader, decimals: int) -> int:
    """An amount in the smallest coin; 0 with the fault named."""
    told = reader.thousandths("amount", MOST_WHOLE * 1000)
    if told is None:
        reader.errors.setdefault("amount", _("How much was it?"))
        return 0
    scale: int = 10 ** (3 - decimals)
    coins, rest = divmod(told, scale)
    if rest or not coins:
        reader.errors["amount"] = _("There is no smaller coin than that: please give at most %(n)s decimals.") % {
            "n": decimals
        }
    return coins


@dataclass(frozen=True)
class Recorded:
    row: Money
    is_new: bool


def record_money(
    *, building: Building, told: Cash, names_others: bool, person: Person | None, via: str, now: dt.datetime,
    photos: Sequence[Encoded] = (),
) -> Recorded:  # fmt: skip
    """Add a row to the cash list, once a uid. The currency stays from the first row on.

    names_others: whether the writer may say that it is owed to somebody else. photos: of the receipt, three at
    most. Raises UidReused, and Refused for a person who isn't here, or whom the writer may not name.
    """
    print_ = fingerprint(asdict(told) | {"via": via, "photos": [one.sha256 for one in photos]})
    with open_ledger(building) as ledger:
        if known := already(Money, building, told.uid, print_):
            return Recorded(known, is_new=False)
        owed_to = _owed_to(building, told, names_others, person)
        _settle_currency(ledger.building)
        limit = ledger.building.approval_above
        row = ledger.add(
            Money(
                uid=told.uid, fingerprint=print_, **asdict(times(happened(building, told.day, now), now)), via=via,
                way=told.way, coins=told.coins, purpose=told.purpose, purse=told.purse, words=told.words,
                wants_approval=limit is not None and told.coins > limit,
            )
        )  # fmt: skip
        attribute(row, Part.WROTE, person)
        if told.purse == Money.Purse.OWN:
            attribute(row, Part.OWED, owed_to)
        keep_photos(building, row.uid, photos, now)
    return Recorded(row, is_new=True)


@dataclass(frozen=True)
class Back:
    """Money paid back: `coins` of it, or None for all that is still owed. Without a uid it is said once, whole."""

    uid: UUID | None = None
    coins: int | None = None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], decimals: int) -> Self:
        """Read and check raw values: amount as in `Cash`, with a uid; without one all of it. Refused."""
        reader = Reader(raw)
        is_part = bool(str(raw.get("amount") or "").strip())
        told = cls(
            uid=reader.uid() if is_part or raw.get("uid") else None, coins=_coins(reader, decimals) if is_part else None
        )
        reader.finish()
        return told


def pay_back(
    *, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime, told: Back | None = None
) -> Money:
    """Write down that what somebody had paid from their own purse was paid back to them from the box.

    All that is still owed of it, or a part. Once it is whole, saying it again gives the row that made it so. Raises
    Money.DoesNotExist for a row that nobody is owed anything for, UidReused, and Refused for more than is owed.
    """
    told = told or Back()
    print_ = fingerprint({"settles": uid} | ({"coins": told.coins, "via": via} if told.uid else {}))
    with open_ledger(building) as ledger:
        if told.uid is not None and (sent := already(Money, building, told.uid, print_)):
            return sent
        standing = Money.objects.within(building).filter(reverses__isnull=True, reversed_by__isnull=True)
        row: Money = standing.get(uid=uid, way=Money.Way.OUT, purse=Money.Purse.OWN)
        paid: list[Money] = list(standing.filter(settles=row).order_by("ledger_number"))
        rest = row.coins - sum(one.coins for one in paid)
        if rest == 0 and told.coins is None:
            return paid[-1]
        if told.coins is not None and told.coins > rest:
            raise Refused({"amount": _("That is more than is still owed. Nothing was written down.")})
        back = Money(
            uid=told.uid or uuid5(row.uid, f"back {ledger.building.ledger_number}"),
            fingerprint=print_, **asdict(times(now, now)), via=via, way=Money.Way.BACK,
            coins=told.coins or rest, purpose=row.purpose, settles=row,
        )  # fmt: skip
        attribute(ledger.add(back), Part.WROTE, person)
    return back


def undo_money(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> Money:
    """Take a row back by one that reverses it. Doing so twice gives the same row.

    Raises Money.DoesNotExist for a row of another building or a reversal, Refused for one that was paid back.
    """
    with open_ledger(building) as ledger:
        row: Money = Money.objects.within(building).get(uid=uid, reverses__isnull=True)
        known: Money | None = Money.objects.within(building).filter(reverses=row).first()
        if known is not None:
            return known
        paid_back = Money.objects.within(building).filter(settles=row, reverses__isnull=True, reversed_by__isnull=True)
        if paid_back.exists():
            raise Refused({"row": _("This was paid back already. Take that back first, then this.")})
        reversal = Money(
            uid=uuid5(row.uid, "reversal"), fingerprint=fingerprint({"reverses": row.uid}),
            happened_at=row.happened_at, heard_at=now, counts_at=row.counts_at, doubt=row.doubt, via=via,
            reverses=row, way=row.way, coins=-row.coins, purpose=row.purpose, purse=row.purse,
            settles_id=row.settles_id,
        )  # fmt: skip
        attribute(ledger.add(reversal), Part.WROTE, person)
    return reversal


def happened(building: Building, day: dt.date | None, now: dt.datetime) -> dt.datetime:
    """The instant that a told day stands for: now for today, its noon for another."""
    today = building.local(now).date()
    return now if day is None or day == today else building.instant(day, dt.time(12))


def attribute(row: Money, part: str, person: Person | None) -> None:
    MoneyAttribution.objects.create(
        building_id=row.building_id, uid=uuid5(row.uid, part), row=row, part=part, person=person,
        household=person.household if person else None,
    )  # fmt: skip


def _owed_to(building: Building, told: Cash, names_others: bool, person: Person | None) -> Person | None:
    if told.owed_to is None or (person is not None and told.owed_to == person.uid):
        return person
    found: Person | None = Person.objects.within(building).filter(uid=told.owed_to).first() if names_others else None
    if found is None:
        raise Refused({"owed_to": _("Who paid? Choose somebody from the list, or yourself.")})
    return found


def _settle_currency(building: Building) -> None:
    """The first row fixes what its amount is counted in. Call with the building locked."""
    if not building.currency:
        building.currency = currency_of(building)
        building.save(update_fields=["currency"])


def decimals_here(building: Building) -> int:
    return decimals_of(currency_of(building))
