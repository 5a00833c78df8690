"""A table as a CSV file that a spreadsheet program opens without running anything that stands in it."""

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.http import HttpResponse

# What makes a program take a cell for a formula, also in the wide forms of East Asian writing, or behind blanks.
STARTS = tuple("=+-@＝＋－＠|%")
BLANKS = "\t\r\n \u00a0"


def safe_cell(value: object) -> str:
    """A cell as text: with an apostrophe before it where it would be taken for a formula. A number is none."""
    text = str(value)
    if isinstance(value, int | Decimal):  # what was taken back stands below nothing, and has to add up
        return text
    is_formula = text.lstrip(BLANKS).startswith(STARTS) or text.startswith(tuple("\t\r\n"))
    return f"'{text}" if is_formula else text


def csv_file(name: str, rows: Iterable[Sequence[object]], separator: str = ",") -> HttpResponse:
    """A file to download, in UTF-8 with the mark by which spreadsheet programs know it."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, quoting=csv.QUOTE_MINIMAL)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return HttpResponse(
        "\ufeff" + out.getvalue(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
