"""A building's own log sheets go into the books: first shown as they would go in, then all good rows or nothing."""

import datetime as dt
import hashlib
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.models import ImportRun
from bins.people import tidy
from bins.records import Refused
from bins.sheets import import_households, import_rows, sheets
from bins.sheets.sheet_rows import ROWS, AnyRow, canonical
from bins.sheets.sheet_words import WEIGHTS
from households.ledger import UidReused, open_ledger
from households.models import Audit, Building, Person

KEPT = dt.timedelta(days=1)
MOST_KEPT = 50  # chosen: that wait for a yes; each may hold 2 MB


@dataclass(frozen=True)
class Fault:
    """One cell that keeps its row out, or (a note) that does not: the heading as it stands in the file."""

    line: int
    field: str
    reason: str
    value: str


@dataclass(frozen=True)
class Plan:
    """What a file would add. `ready` are rows as the kind's own writer takes them."""

    kind: str
    unknown: tuple[str, ...]  # headings that are not used
    ready: tuple[Any, ...]
    known_before: int  # rows that an earlier file has brought
    faults: tuple[Fault, ...]
    notes: tuple[Fault, ...]
    days: tuple[dt.date, dt.date] | None  # the first and the last day of what is ready

    @property
    def refused_rows(self) -> int:
        return len({fault.line for fault in self.faults})


def take_file(
    *, building: Building, uid: UUID, kind: str, content: bytes, person: Person | None, now: dt.datetime
) -> ImportRun:
    """Keep a file for a day at most, for looking at it and saying yes. Once a uid; nothing of it is in the books.

    Raises Refused for a file that can't be read as a whole, UidReused for another file under the same uid.
    """
    text = sheets.decode(content)
    sheets.read(kind, text)
    sha256 = hashlib.sha256(content).hexdigest()
    with open_ledger(building):
        known: ImportRun | None = ImportRun.objects.within(building).filter(uid=uid).first()
        if known is not None:
            if (known.sha256, known.kind) != (sha256, kind):
                raise UidReused(uid)
            return known
        if ImportRun.objects.within(building).exclude(text="").count() >= MOST_KEPT:
            raise Refused({"file": _("Too many files came within a day. They are deleted tonight: come tomorrow.")})
        run: ImportRun = ImportRun.objects.create(
            building=building, uid=uid, kind=kind, sha256=sha256, text=text, made_at=now, made_by=person
        )
        tidy.promise_after(building, KEPT, now)
    return run


def plan(building: Building, run: ImportRun, now: dt.datetime) -> Plan:
    """What a waiting file would add, on the books of now. Writes nothing; queries don't grow with the rows."""
    sheet = sheets.read(run.kind, run.text)
    faults: list[Fault] = []
    notes: list[Fault] = []

    def name(row: sheets.Row, errors: dict[str, str], into: list[Fault]) -> None:
        for field, reason in errors.items():
            others = WEIGHTS if field in WEIGHTS and not row.cells.get(field) else ()
            column = next((other for other in others if row.cells.get(other)), field)
            into.append(Fault(row.line, sheet.by_field.get(column, column), reason, row.cells.get(column, "")))

    read: list[tuple[sheets.Row, AnyRow, UUID]] = []
    times: Counter[str] = Counter()
    for row in sheet.rows:
        try:
            if row.has_too_many:
                raise Refused({"row": _("More cells than headings. A comma inside a number needs quotation marks.")})
            values = ROWS[run.kind].from_cells(row.cells, building, now)
        except Refused as refused:
            name(row, refused.errors, faults)
            continue
        said = canonical(values)
        read.append((row, values, uuid5(building.uid, f"{run.kind} {said} {times[said]}")))
        times[said] += 1
    here = _here(run.kind, building, now)
    known = here.known({uid for _row, _values, uid in read})
    ready = []
    for row, values, uid in read:
        if uid in known:
            continue
        try:
            one, remarks = here.fit(uid, values)
        except Refused as refused:
            name(row, refused.errors, faults)
            continue
        name(row, remarks, notes)
        ready.append(one)
    days = sorted(one.day for one in ready)
    return Plan(
        kind=run.kind,
        unknown=sheet.unknown,
        ready=tuple(ready),
        known_before=len(known),
        faults=tuple(sorted(faults, key=lambda fault: fault.line)),
        notes=tuple(notes),
        days=(days[0], days[-1]) if days else None,
    )


def bring_in(*, building: Building, uid: UUID, person: Person | None, now: dt.datetime) -> ImportRun:
    """Write the good rows of a waiting file, all in one transaction, and delete the file's content.

    Asked again it gives what came of it. Raises ImportRun.DoesNotExist for a file of another building or one
    that is gone.
    """
    with open_ledger(building) as ledger:
        run: ImportRun = ImportRun.objects.within(building).get(uid=uid)
        if run.state == ImportRun.State.DONE:
            return run
        found = plan(ledger.building, run, now)
        _here(run.kind, ledger.building, now).write(ledger, found.ready, person)
        run.state, run.text = ImportRun.State.DONE, ""
        run.added, run.known_before = len(found.ready), found.known_before
        run.refused = [[fault.line, fault.field, fault.reason] for fault in found.faults]
        run.save(update_fields=["state", "text", "added", "known_before", "refused"])
        Audit.note(building, person, "sheet-imported", now, kind=run.kind, rows=run.added, sha256=run.sha256)
    return run


def forget_files(building: Building, now: dt.datetime) -> None:
    """Delete files that were kept for a day, used or not."""
    ImportRun.objects.within(building).filter(made_at__lte=now - KEPT).delete()


def faults_by_line(faults: tuple[Fault, ...]) -> dict[int, list[Fault]]:
    """Faults of each row, in the order of the file."""
    found: defaultdict[int, list[Fault]] = defaultdict(list)
    for fault in faults:
        found[fault.line].append(fault)
    return dict(found)


def _here(kind: str, building: Building, now: dt.datetime) -> "import_rows.Here":
    if kind == ImportRun.Kind.HOUSEHOLDS:
        return import_households.Households(building, now)
    if kind == ImportRun.Kind.CONTRIBUTIONS:
        return import_rows.Contributions(building, now)
    return import_rows.Visits(building, now)
