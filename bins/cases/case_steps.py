"""What the caretaker does about a case: look, do something, confirm it at the drum, close it."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.care.quarantine import Shutting, shut
from bins.care.visit import CareVisit, add_visit
from bins.cases.cases import NOTICE, WORDS_KEPT
from bins.models import Case, CaseNote, CaseNoteAttribution, CaseReport, Drum, Place, Visit
from bins.people import tidy
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Notice, Person
from households.quiet import due_by_day

MOST_WORDS = 300
MOST_LETTERS_A_DAY = 5  # chosen: a case has three or four steps
# What a case confirmed at the drum means for the visit that confirms it.
TROUBLES = {
    Case.Kind.SMELL: Visit.Trouble.SMELL,
    Case.Kind.ANIMAL: Visit.Trouble.ANIMALS,
    Case.Kind.LEAK: Visit.Trouble.WET,
    Case.Kind.FULL: Visit.Trouble.NOTHING,
    Case.Kind.BROKEN: Visit.Trouble.BROKEN,
    Case.Kind.OTHER: Visit.Trouble.NOTHING,
}


@dataclass(frozen=True)
class Step:
    """One step. `drum_uid`: where it was confirmed, for a case that names no drum."""

    uid: UUID
    what: str
    words: str
    drum_uid: UUID | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named. Words are needed except for a look."""
        reader = Reader(raw)
        what = reader.choice("what", [*CaseNote.What.values])
        asked = {
            CaseNote.What.DONE: _("What was done? The neighbour reads it here."),
            CaseNote.What.CONFIRMED: _("What did you see at the drum?"),
            CaseNote.What.CLOSED: _("How did it end? The neighbour reads it here."),
        }
        told = cls(
            uid=reader.uid(),
            what=what,
            words=reader.words("words", MOST_WORDS, next((text for key, text in asked.items() if key == what), "")),
            drum_uid=reader.uid("drum") if raw.get("drum") else None,
        )
        reader.finish()
        return told


def take_step(
    *, building: Building, case_uid: UUID, told: Step, person: Person | None, via: str, now: dt.datetime
) -> CaseNote:
    """Write a step down once and send it to whoever asked for an answer.

    Confirming shuts every hatch of the drum in the same transaction: from then on all pages send people to the
    site's way out, and each hatch opens again by a visit and a name. Raises Case.DoesNotExist, Drum.DoesNotExist,
    UidReused, and Refused for a case that is closed or one confirmed without a drum or a name.
    """
    print_ = fingerprint(asdict(told) | {"case": case_uid, "via": via})
    with transaction.atomic():
        with open_ledger(building) as ledger:
            if known := already(CaseNote, building, told.uid, print_):
                return known
            case = Case.objects.within(building).select_related("drum__site").get(uid=case_uid)
            if case.closed_at is not None:
                raise Refused({"what": _("This case is closed. Nothing was changed.")})
            visit = None
            if told.what == CaseNote.What.CONFIRMED:
                visit = _confirm(ledger, case, told, person, via, now, print_)
            note = ledger.add(
                CaseNote(
                    uid=told.uid, fingerprint=print_, **asdict(times(now, now)), via=via, case=case, what=told.what,
                    words=told.words, visit=visit,
                )
            )  # fmt: skip
            sign(CaseNoteAttribution, note, person)
            case.first_action_at = case.first_action_at or now
            case.closed_at = now if told.what == CaseNote.What.CLOSED else None
            case.save(update_fields=["drum", "first_action_at", "closed_at"])
            _answer(building, case, note, now)
        if visit is not None:  # a book of its own each, under the lock that is held already
            _shut_all(building, visit.drum, note, person, via, now)
    return note


def _confirm(
    ledger: Ledger, case: Case, told: Step, person: Person | None, via: str, now: dt.datetime, print_: str
) -> Visit:
    """The visit at which it was seen."""
    if person is None:
        raise Refused({"what": _("A name is needed for this. Nothing was changed.")})
    if told.drum_uid is not None and case.drum is None:
        case.drum = Drum.objects.within(ledger.building).select_related("site").get(uid=told.drum_uid)
    if case.drum is None:
        raise Refused({"drum": _("At which drum did you see it?")})
    trouble = TROUBLES[Case.Kind(case.kind)]
    seen = CareVisit(uuid5(told.uid, "visit"), case.drum.uid, None, turned=False, level="", trouble=trouble)
    return add_visit(ledger, seen, case.drum, person, via, now, print_)


def _shut_all(
    building: Building, drum: Drum, note: CaseNote, person: Person | None, via: str, now: dt.datetime
) -> None:
    open_ones = Place.objects.within(building).filter(drum=drum, kind=Place.Kind.CHAMBER, is_quarantined=False)
    for place in open_ones.order_by("letter"):
        told = Shutting(uuid5(note.uid, str(place.uid)), place.uid, note.words)
        shut(building=building, told=told, person=person, via=via, now=now)


def _answer(building: Building, case: Case, note: CaseNote, now: dt.datetime) -> None:
    """One message to each address of the case, by day; once it is closed the addresses are gone.

    Past five in a day to one address, from all cases, the next waits a day: whoever founds a block of their own could
    report with somebody else's address and write to it without end.
    """
    reports = CaseReport.objects.within(building).filter(case=case)
    languages = dict(reports.exclude(email="").order_by("heard_at", "pk").values_list("email", "language"))
    lately = Notice.objects.filter(building=building, kind=NOTICE, created_at__gt=now - dt.timedelta(days=1))
    told = Counter(lately.filter(to__in=languages).values_list("to", flat=True))
    for email, language in languages.items():
        with override(language):
            Notice.post(
                building=building,
                kind=NOTICE,
                to=email,
                subject=_("Your report %(reference)s") % {"reference": case.reference},
                body="\n\n".join(filter(None, [said(note), note.words])),
                due_at=due_by_day(building, now + dt.timedelta(days=told[email] // MOST_LETTERS_A_DAY)),
            )
    if case.closed_at is not None:
        reports.update(email="")
        tidy.promise_after(building, WORDS_KEPT, now)


def said(note: CaseNote) -> str:
    """A step in one sentence that names nobody."""
    match note.what:
        case CaseNote.What.LOOKED:
            return _("Somebody looked at it.")
        case CaseNote.What.DONE:
            return _("Something was done about it.")
        case CaseNote.What.CONFIRMED:
            return _("It was seen at the drum, and the drum is shut for now.")
        case _:
            return _("The case is closed.")
