"""Cover: one household asks for one duty on one day, another takes it, or swaps it for one of its own."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import UidReused, fingerprint, open_ledger
from households.models import Building, Cover, CoverOffer, CoverTaking, Duty, DutyAssignment, Household, Site

from .cover_words import tell_offered, tell_taken
from .phase import is_past

ANSWERS = ("take", "offer", "accept", "withdraw")


@dataclass(frozen=True)
class CoverAsked:
    uid: UUID
    duty_uid: UUID

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(reader.uid(), reader.uid("duty"))
        reader.finish()
        return told


@dataclass(frozen=True)
class CoverAnswer:
    """take: we do it. offer: we do it if you do `duty`. accept: yes to an `offer`. withdraw: no longer needed."""

    answer: str
    duty_uid: UUID | None = None
    offer_uid: UUID | None = None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        answer = reader.choice("answer", [*ANSWERS])
        told = cls(
            answer,
            duty_uid=reader.uid("duty") if answer == "offer" else None,
            offer_uid=reader.uid("offer") if answer == "accept" else None,
        )
        reader.finish()
        return told


def ask(*, building: Building, household: Household, told: CoverAsked, now: dt.datetime) -> Cover:
    """Ask for cover of one's own duty. The household still has it until somebody takes it. Once a uid.

    Raises Refused where the duty isn't the household's, is over, or is asked for already; UidReused.
    """
    print_ = fingerprint({"duty": told.duty_uid, "household": household.uid})
    with open_ledger(building):
        known: Cover | None = Cover.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            if known.fingerprint != print_:
                raise UidReused(told.uid)
            return known
        own = _place_of(building, told.duty_uid, household, now)
        if own is None:
            raise Refused({"duty": _("That is not a duty of yours, or it is over.")})
        if _open(building).filter(duty=own.duty, household=household).exists():
            raise Refused({"duty": _("You have asked for that already. Nothing was changed.")})
        cover: Cover = Cover.objects.create(
            building=building, uid=told.uid, duty=own.duty, household=household, asked_at=now, fingerprint=print_
        )
    return cover


def answer(
    *, building: Building, cover_uid: UUID, household: Household, told: CoverAnswer, uid: UUID | None = None,
    now: dt.datetime,
) -> Cover:  # fmt: skip
    """Answer a request in one transaction. Of two households that take it, one wins.

    Raises Cover.DoesNotExist for one of another building, and for an answer that is only the asker's; Refused
    where it is taken, over, or would put a household on the same duty twice.
    """
    with open_ledger(building):
        cover: Cover = Cover.objects.within(building).select_related("duty__kind__site", "household").get(uid=cover_uid)
        if told.answer in ("accept", "withdraw") and cover.household_id != household.pk:
            raise Cover.DoesNotExist
        if told.answer == "take" and CoverTaking.objects.within(building).filter(
            cover=cover, household=household, offer__isnull=True
        ):
            return cover
        theirs = _place_of(building, cover.duty.uid, cover.household, now)
        if theirs is None or not _open(building).filter(pk=cover.pk).exists():
            raise Refused({"cover": _("Somebody else was quicker, or it is over. Nothing was changed.")})
        match told.answer:
            case "withdraw":
                _close(cover, now)
            case "take":
                _take(building, cover, theirs, household, None, now)
            case "offer":
                assert told.duty_uid is not None
                _offer(building, cover, household, told.duty_uid, now)
            case _:
                assert told.offer_uid is not None
                _accept(building, cover, theirs, told.offer_uid, now)
    return cover


def open_covers(building: Building, site: Site, household: Household, now: dt.datetime) -> list[Cover]:
    """What other households of a site ask for, soonest first, with duty and kind; nobody's name. One query."""
    found = (
        _open(building)
        .filter(duty__kind__site=site, duty__day__gte=building.local(now).date(), duty__done_at__isnull=True)
        .exclude(household=household)
        .exclude(duty__assignments__household=household)
        .select_related("duty__kind")
        .order_by("duty__day", "duty__begins_at", "pk")
    )
    return [cover for cover in found if not is_past(building, cover.duty, now)]


def own_covers(building: Building, household: Household, now: dt.datetime) -> list[Cover]:
    """What a household asks for and has not got yet, with the offers of others. Two queries."""
    return list(
        _open(building)
        .filter(household=household, duty__day__gte=building.local(now).date())
        .select_related("duty__kind")
        .prefetch_related("offers__duty__kind")
        .order_by("duty__day", "pk")
    )


def _open(building: Building) -> Any:
    return Cover.objects.within(building).filter(closed_at__isnull=True)


def _place_of(building: Building, duty_uid: UUID, household: Household, now: dt.datetime) -> DutyAssignment | None:
    """The household's place on a duty that can still be handed on."""
    own: DutyAssignment | None = (
        DutyAssignment.objects.within(building)
        .filter(duty__uid=duty_uid, household=household, duty__done_at__isnull=True, duty__lapsed_at__isnull=True)
        .select_related("duty__kind__site", "household")
        .first()
    )
    return None if own is None or is_past(building, own.duty, now) else own


def _is_on(building: Building, duty: Duty, household: Household) -> bool:
    return bool(DutyAssignment.objects.within(building).filter(duty=duty, household=household).exists())


def _close(cover: Cover, now: dt.datetime) -> None:
    cover.closed_at = now
    cover.save(update_fields=["closed_at"])


def _take(
    building: Building, cover: Cover, theirs: DutyAssignment, household: Household, offer: CoverOffer | None,
    now: dt.datetime,
) -> None:  # fmt: skip
    if household.pk == cover.household_id or _is_on(building, cover.duty, household):
        raise Refused({"cover": _("You have this duty already. Nothing was changed.")})
    CoverTaking.objects.create(
        building=building, uid=uuid5(cover.uid, "taking"), cover=cover, household=household, offer=offer, taken_at=now
    )
    _close(cover, now)
    theirs.household = household
    theirs.save(update_fields=["household"])
    tell_taken(building, cover, household, now)


def _offer(building: Building, cover: Cover, household: Household, duty_uid: UUID, now: dt.datetime) -> None:
    mine = _place_of(building, duty_uid, household, now)
    if mine is None or _is_on(building, mine.duty, cover.household) or _is_on(building, cover.duty, household):
        raise Refused({"duty": _("That duty can't be given in exchange. Nothing was changed.")})
    CoverOffer.objects.update_or_create(
        building=building,
        cover=cover,
        household=household,
        defaults={"duty": mine.duty, "offered_at": now, "uid": uuid5(cover.uid, f"offer {household.uid}")},
    )
    tell_offered(building, cover, mine.duty, now)


def _accept(building: Building, cover: Cover, theirs: DutyAssignment, offer_uid: UUID, now: dt.datetime) -> None:
    offer: CoverOffer | None = (
        CoverOffer.objects.within(building)
        .filter(uid=offer_uid, cover=cover)
        .select_related("duty__kind", "household")
        .first()
    )
    other = _place_of(building, offer.duty.uid, offer.household, now) if offer else None
    if offer is None or other is None or _is_on(building, other.duty, cover.household):
        raise Refused({"offer": _("That offer no longer stands. Nothing was changed.")})
    _take(building, cover, theirs, offer.household, offer, now)
    other.household = cover.household
    other.save(update_fields=["household"])
