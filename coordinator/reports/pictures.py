"""The pictures of a report: each a question, its answer, the drawing, and the figures behind it as a table.

Drawn from the same figures as the lines, so that neither page nor paper asks anything twice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.months.work import Work
from bins.units import G_PER_LB, ML_PER_GALLON
from households.models import Building

from ..charts.bars import Bar, Panel, Part, panels, parts
from ..pages.amounts import ranged, rounded, volume, weight
from .report import Report


@dataclass(frozen=True)
class Picture:
    """Without a drawing where it is withheld: then the answer says why."""

    question: str
    answer: str
    drawing: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str

    @property
    def table(self) -> list[tuple[str, list[tuple[str, str]]]]:
        """The rows by name, each cell beside its heading: a narrow page shows them one below the other."""
        return [(name, list(zip(self.headings[1:], cells, strict=True))) for name, *cells in self.rows]


def pictures(report: Report) -> Iterator[Picture]:
    """In the language that is active: by month where there are several, and the work where some is on record."""
    if report.period.months > 1 and any(one is not None for one in report.figures.scraps_by_month):
        yield _in_and_out(report)
    if report.figures.work is not None:
        yield _work(report.figures.work)


def _in_and_out(report: Report) -> Picture:
    figures, building, firsts = report.figures, report.building, report.period.firsts
    is_us = building.units == Building.Units.US
    question = _("What went in and what came out?")
    with_record = sum(one is not None for one in figures.scraps_by_month)
    answer = ngettext(
        "Scraps in: %(scraps)s, over %(n)s month with a record. Compost out: %(compost)s.",
        "Scraps in: %(scraps)s, over %(n)s months with a record. Compost out: %(compost)s.",
        with_record,
    ) % {
        "scraps": ranged(figures.scraps_g, figures.low_g, figures.high_g, building),
        "n": number_format(with_record),
        "compost": volume(figures.compost_ml, building),
    }
    gaps = [_("still to come") if first_day > report.today else _("no record") for first_day in firsts]
    scraps, compost = figures.scraps_by_month, figures.compost_by_month
    drawing = panels(
        "in-and-out",
        question,
        answer,
        [date_format(first_day, "M") for first_day in firsts],
        [
            Panel(
                _("Scraps in, pounds") if is_us else _("Scraps in, kilograms"),
                _bars(scraps, gaps, G_PER_LB if is_us else 1000),
            ),
            Panel(
                _("Compost out, gallons") if is_us else _("Compost out, litres"),
                _bars(compost, gaps, ML_PER_GALLON if is_us else 1000),
            ),
        ],
    )
    rows = [
        (
            date_format(first_day, "F"),
            gap if grams is None else weight(grams, building),
            gap if millilitres is None else volume(millilitres, building),
        )
        for first_day, grams, millilitres, gap in zip(firsts, scraps, compost, gaps, strict=True)
    ]
    total = (_("All together"), weight(figures.scraps_g, building), volume(figures.compost_ml, building))
    is_broken = any(one is None and first_day <= report.today for one, first_day in zip(scraps, firsts, strict=True))
    note = _("A month without a record is left open. That is not zero: perhaps nobody wrote it down.")
    headings = (_("Month"), _("Scraps in"), _("Compost out"))
    return Picture(question, answer, drawing, headings, (*rows, total), note if is_broken else "")


def _bars(amounts: Sequence[int | None], gaps: Sequence[str], unit: float) -> list[Bar | str]:
    places = 0 if max(one or 0 for one in amounts) >= 10 * unit else 1
    return [
        gap if one is None else Bar(one / unit, rounded(one / unit, places))
        for one, gap in zip(amounts, gaps, strict=True)
    ]


def _work(work: Work) -> Picture:
    question = _("Who did the work?")
    if work.did_half is None:
        few = _("This is withheld: fewer than five households did duties, and one could tell whose part is whose.")
        return Picture(question, few, "", (), (), "")
    said = {"n": number_format(work.did_half), "all": number_format(work.helped)}
    rest = number_format(work.helped - work.did_half)
    answer = _("Half of the work or more was done by %(n)s of the %(all)s households that did duties.") % said
    drawing = parts(
        "work",
        question,
        answer,
        Part(work.did_half, _("Half of the work or more: %(n)s") % said),
        Part(work.helped - work.did_half, _("The rest: %(n)s") % {"n": rest}),
        _("if all had done the same"),
    )
    rows = ((_("Half of the work or more"), said["n"]), (_("The rest"), rest), (_("All together"), said["all"]))
    note = _(
        "Each part of the bar is a household, and none is named. The work is the set minutes of duties: "
        "nobody's time is measured."
    )
    return Picture(question, answer, drawing, (_("Part of the work"), _("Households")), rows, note)
