"""A neighbour reports something: a case with a reference. A report never stops intake; it asks somebody to look."""

import datetime as dt
import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from bins.models import Case, CaseNote, CaseReport, Drum
from bins.records import Reader, seen
from households.ledger import UidReused, fingerprint, open_ledger
from households.models import Audit, Building, Notice, Person

MOST_A_DAY = 10  # of all neighbours together; past that somebody wants a voice, or a program is at play
JOINS_WITHIN = dt.timedelta(hours=24)
MOST_WORDS = 500
NOTICE = "case"  # the kind of a letter to a neighbour
WORDS_KEPT = dt.timedelta(days=30)  # chosen: what a neighbour wrote, once the case is closed; its steps stay
# No look-alikes (0 O Q, 1 I L, 2 Z, 5 S, 8 B, U V) and no vowels, so that no word comes out.
LETTERS = "34679CDFGHJKMNPRTVWXY"
LETTERS_LONG = 6


class PleasePhone(Exception):
    """As many reports as a day takes have come already: nothing was kept."""


@dataclass(frozen=True)
class Report:
    """What somebody without an account saw. An empty e-mail address: no answer wanted by mail."""

    uid: UUID
    kind: str
    drum_uid: UUID | None
    words: str
    email: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named. drum, words, email: optional."""
        reader = Reader(raw)
        kind = reader.choice("kind", [*Case.Kind.values])
        needed = _("What is it? A few words will do.") if kind == Case.Kind.OTHER else ""
        told = cls(
            uid=reader.uid(),
            kind=kind,
            drum_uid=reader.uid("drum") if raw.get("drum") else None,
            words=reader.words("words", MOST_WORDS, needed),
            email=reader.words("email", 254, "").lower(),
        )
        if told.email and "email" not in reader.errors:
            try:
                validate_email(told.email)
            except ValidationError:
                reader.errors["email"] = _("That is no e-mail address. Leave it empty if you want no answer by mail.")
        reader.finish()
        return told


@dataclass(frozen=True)
class Received:
    case: Case
    is_new: bool  # False where this very report had come before
    joined: bool  # somebody reported the same at the same place before


def receive(*, building: Building, told: Report, language: str, now: dt.datetime) -> Received:
    """Take a report once; the same kind at the same place within 24 hours joins the case that is open.

    Raises PleasePhone past the tenth report of a day of the building's own calendar, UidReused, and
    Drum.DoesNotExist for a drum of another building.
    """
    print_ = fingerprint(asdict(told))
    with open_ledger(building):  # for its lock alone: ten at once are still counted one by one
        known = CaseReport.objects.within(building).filter(uid=told.uid).select_related("case__drum").first()
        if known is not None:
            if known.fingerprint != print_:
                raise UidReused(told.uid)
            return Received(known.case, is_new=False, joined=False)
        drum = Drum.objects.within(building).get(uid=told.drum_uid) if told.drum_uid else None
        if is_full(building, now):
            raise PleasePhone
        open_one = _the_same(building, told.kind, drum, now)
        case = open_one or _open(building, told, drum, now)
        CaseReport.objects.create(
            building=building,
            uid=told.uid,
            case=case,
            heard_at=now,
            words=told.words,
            email=told.email,
            language=language,
            fingerprint=print_,
        )
    return Received(case, is_new=True, joined=open_one is not None)


def is_full(building: Building, now: dt.datetime) -> bool:
    """Whether the reports of this local day are used up."""
    midnight = building.instant(building.local(now).date())
    return CaseReport.objects.within(building).filter(heard_at__gte=midnight).count() >= MOST_A_DAY


def find(building: Building, reference: str) -> Case | None:
    """The case of a reference as somebody typed it; None where there is none."""
    case: Case | None = (
        Case.objects.within(building)
        .filter(reference=seen(reference).replace(" ", "").replace("-", "").upper())
        .select_related("drum")
        .first()
    )
    return case


def steps(building: Building, case: Case) -> list[CaseNote]:
    """What was done about a case, oldest first."""
    return list(CaseNote.objects.within(building).filter(case=case).order_by("ledger_number"))


def open_cases(building: Building) -> list[Case]:
    """Cases that are not closed, the first to be answered first, each with its reports. Two queries."""
    return list(
        Case.objects.within(building)
        .open()
        .select_related("drum")
        .prefetch_related("reports")
        .order_by("answer_by", "pk")
    )


def forget_words(building: Building, now: dt.datetime) -> None:
    """Delete what neighbours wrote about cases closed long ago, and to whom answers were sent as long ago."""
    Notice.objects.filter(building=building, kind=NOTICE, sent_at__lte=now - WORDS_KEPT).delete()
    over = CaseReport.objects.within(building).filter(case__closed_at__lte=now - WORDS_KEPT)
    over.exclude(words="").update(words="")


@dataclass(frozen=True)
class Promise:
    """What neighbours are promised: hours to the first action, 1 to 168, and a number to phone or none."""

    hours: int
    phone: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(hours=reader.whole("hours", 1, 168, 24) or 24, phone=reader.words("phone", 40, ""))
        if told.phone and not any(letter.isdigit() for letter in told.phone):
            reader.errors["phone"] = _("A telephone number is needed. Leave it empty if there is none.")
        reader.finish()
        return told


def promise(*, building: Building, told: Promise, person: Person | None, now: dt.datetime) -> None:
    """Set what neighbours are promised from now on; cases that are open keep what they were promised."""
    with open_ledger(building):
        Building.objects.filter(pk=building.pk).update(report_answer_hours=told.hours, contact_phone=told.phone)
        Audit.note(building, person, "report-promise", now, hours=told.hours)


def _the_same(building: Building, kind: str, drum: Drum | None, now: dt.datetime) -> Case | None:
    if drum is None and kind == Case.Kind.OTHER:
        return None  # something, somewhere: nothing says that it is the same
    found: Case | None = (
        Case.objects.within(building)
        .open()
        .filter(kind=kind, drum=drum, received_at__gte=now - JOINS_WITHIN)
        .select_related("drum")
        .order_by("received_at", "pk")
        .last()
    )
    return found


def _open(building: Building, told: Report, drum: Drum | None, now: dt.datetime) -> Case:
    hours = Building.objects.values_list("report_answer_hours", flat=True).get(pk=building.pk)
    case: Case = Case.objects.create(
        building=building,
        uid=uuid5(told.uid, "case"),
        reference=_reference(building, told.uid),
        kind=told.kind,
        drum=drum,
        received_at=now,
        answer_by=now + dt.timedelta(hours=hours),
    )
    return case


def _reference(building: Building, uid: UUID) -> str:
    """Six letters that nobody in the building has yet, made from the report's uid: a replay makes the same."""
    attempt = 0
    while True:
        number = int.from_bytes(hashlib.sha256(f"{uid} {attempt}".encode()).digest())
        letters = ""
        for _place in range(LETTERS_LONG):
            number, at = divmod(number, len(LETTERS))
            letters += LETTERS[at]
        if not Case.objects.within(building).filter(reference=letters).exists():
            return letters
        attempt += 1
