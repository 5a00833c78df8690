"""A file of a building's own log sheets -> rows of cells by field. What can't be read is said, with its line."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from bins.records import Refused
from bins.sheets.sheet_words import HEADINGS, NEEDED, field_of, plain

MOST_BYTES = 2_000_000
MOST_ROWS = 5_000
MOST_COLUMNS = 60
# Marks of direction and width that programs leave in cells; nobody sees them, and they spoil every comparison.
UNSEEN = dict.fromkeys([0x200B, 0x200E, 0x200F, 0x061C, 0xFEFF, *range(0x202A, 0x202F), *range(0x2066, 0x206A)])


@dataclass(frozen=True)
class Row:
    """One row: its first line in the file, its cells by field, and all its cells as they stand."""

    line: int
    cells: Mapping[str, str]
    whole: tuple[str, ...]
    has_too_many: bool  # more cells than headings


@dataclass(frozen=True)
class Sheet:
    headings: tuple[str, ...]
    by_field: Mapping[str, str]  # field -> the heading as it stands in the file
    unknown: tuple[str, ...]  # headings that mean nothing here
    rows: tuple[Row, ...]


def decode(content: bytes) -> str:
    """The text of a file in UTF-8, with or without a byte order mark. Refused for another encoding or too much."""
    if len(content) > MOST_BYTES:
        raise Refused({"file": _("The file is larger than 2 MB. Cut it into parts.")})
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused({"file": _("The file is not in UTF-8. Save it again as CSV UTF-8.")}) from None
    if "\0" in text:
        raise Refused({"file": _("This is no text file. Save the sheet as CSV UTF-8.")})
    return text.replace("\r\n", "\n").replace("\r", "\n")


def read(kind: str, text: str) -> Sheet:
    """The sheet in a text; the first line that isn't blank holds the headings, in any order and language.

    Refused for one that can't be read as a whole: no headings, one named twice, a needed one missing, an open
    quotation mark, more than 5,000 rows.
    """
    found = _records(*_separated(kind, text))
    if not found:
        raise Refused({"file": _("The file is empty.")})
    (_line, headings), *records = found
    if len(headings) > MOST_COLUMNS:
        raise Refused({"file": _("The first line has too many columns.")})
    fields = [field_of(kind, heading) for heading in headings]
    known = [field for field in fields if field is not None]
    twice = [heading for heading, field in zip(headings, fields, strict=True) if field and known.count(field) > 1]
    if twice:
        raise Refused({"file": _("Two columns mean the same: %(columns)s.") % {"columns": ", ".join(twice)}})
    if missing := [HEADINGS[kind][field]["en"][0] for field in NEEDED[kind] if field not in known]:
        raise Refused({"file": _("The first line lacks these columns: %(columns)s.") % {"columns": ", ".join(missing)}})
    if len(records) > MOST_ROWS:
        raise Refused({"file": _("The file has more than 5,000 rows. Cut it into parts.")})
    return Sheet(
        headings=headings,
        by_field={field: heading for field, heading in zip(fields, headings, strict=True) if field},
        unknown=tuple(h for h, field in zip(headings, fields, strict=True) if field is None and plain(h)),
        rows=tuple(_row(line, cells, fields) for line, cells in records),
    )


def _row(line: int, cells: tuple[str, ...], fields: list[str | None]) -> Row:
    by_field = {field: cell for field, cell in zip(fields, cells, strict=False) if field}
    return Row(line, by_field, cells, any(cells[len(fields) :]))


def _separated(kind: str, text: str) -> tuple[str, str]:
    """The text, and its separator: the one that finds more headings. Some programs name it in a line of its own."""
    first, _newline, rest = text.lstrip("\n").partition("\n")
    if first.strip().lower() in ("sep=;", "sep=,"):
        return "\n" + rest, first.strip()[-1]

    def known(separator: str) -> int:
        return sum(field_of(kind, cell.strip(' "').translate(UNSEEN)) is not None for cell in first.split(separator))

    return text, max((",", ";"), key=known)


def _records(text: str, separator: str) -> list[tuple[int, tuple[str, ...]]]:
    """(first line, cells) of each record that isn't blank."""
    reader = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    records: list[tuple[int, tuple[str, ...]]] = []
    line = 1
    try:
        for cells in reader:
            clean = tuple(cell.translate(UNSEEN).strip() for cell in cells)
            if any(clean):
                records.append((line, clean))
            line = reader.line_num + 1
    except csv.Error:
        raise Refused(
            {"file": _("From line %(line)s on the file cannot be read. Is a quotation mark open?") % {"line": line}}
        ) from None
    return records
