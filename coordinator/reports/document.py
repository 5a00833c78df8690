"""A report in the reader's words: sections of lines, each with its figure and what the figure means.

Page, PDF and CSV show these lines and no others, so that they cannot differ. Pictures stand on page and PDF, drawn
from the same figures.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.formats import date_format, number_format
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _

from households.models import Building, Money

from ..month_money import cost, cost_said
from ..pages.amounts import per_hundred, ranged, rounded, small_weight, volume, weight, yield_of
from ..pages.coins import coins
from ..words import KNOWN
from .pictures import Picture, pictures
from .report import Report

FEWEST = 5  # people: fewer are not counted out loud


@dataclass(frozen=True)
class Line:
    """`number` in `unit` is what the books hold, for other programs; empty where it is not known or withheld."""

    label: str
    shown: str
    meaning: str
    number: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Section:
    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Document:
    title: str
    building: str
    answer: str
    stamp: str
    pictures: tuple[Picture, ...]
    sections: tuple[Section, ...]
    foot: str
    language: str
    is_right_to_left: bool
    headings: tuple[str, str, str]


def document(report: Report) -> Document:
    """The report in the language that is active."""
    sections = [_went_in(report), _how_known(report), _wrong(report), _came_out(report), _work(report)]
    sections += [_money(report), _emission(report)]
    return Document(
        title=title(report),
        building=report.building.name,
        answer=answer(report),
        stamp=stamp(report),
        pictures=tuple(pictures(report)) if report.figures.has_data else (),
        sections=tuple(Section(name, lines) for name, lines in sections if lines) if report.figures.has_data else (),
        foot=_("Local rules, the landlord and the insurer decide; this record does not."),
        language=get_language() or "en",
        is_right_to_left=get_language_bidi(),
        headings=(_("Figure"), _("Amount"), _("What it means")),
    )


def title(report: Report) -> str:
    period = report.period
    if period.months == 1:
        return date_format(period.first_day, "YEAR_MONTH_FORMAT")
    year = str(period.first_day.year)
    if period.months == 12:
        return _("The year %(year)s") % {"year": year}
    return _("Quarter %(number)s of %(year)s") % {"number": period.number, "year": year}


def answer(report: Report) -> str:
    figures, building = report.figures, report.building
    if not figures.has_data:
        return _("Nothing is recorded for this time.")
    said = {"title": title(report), "scraps": weight(figures.scraps_g, building)}
    if figures.low_g != figures.high_g:
        said |= {"low": weight(figures.low_g, building), "high": weight(figures.high_g, building)}
        first = _("%(title)s: about %(scraps)s in (%(low)s to %(high)s).") % said
    else:
        first = _("%(title)s: %(scraps)s in.") % said
    if not figures.yields:
        return first
    return f"{first} {_('%(compost)s of compost out.') % {'compost': volume(figures.compost_ml, building)}}"


def stamp(report: Report) -> str:
    if report.is_running:
        return _("still running")
    if report.closing is None:
        return ""
    day = date_format(report.building.local(report.closing.closed_at), "DATE_FORMAT")
    return _("closed on %(day)s") % {"day": day}


def _went_in(report: Report) -> tuple[str, tuple[Line, ...]]:
    return _("What went in"), tuple(_went_in_lines(report))


def _went_in_lines(report: Report) -> Iterator[Line]:
    figures, building = report.figures, report.building
    yield _count(
        _("Scraps kept out of the bin"), figures.scraps_g, "g",
        ranged(figures.scraps_g, figures.low_g, figures.high_g, building),
        _("All that was brought, less what was taken back. Weighed is certain; the range is for counted and guessed."),
    )  # fmt: skip
    yield _count(_("Drop-offs"), figures.drop_offs, "", "", _("Each time that somebody wrote down what they brought."))
    label = _("Households taking part")
    meaning = _("With at least one drop-off in the last three weeks, taken as three opportunities (WRAP 2010).")
    shown = _("%(n)s of %(all)s") % {"n": figures.taking_part, "all": figures.living_here}
    # Its last three weeks are still to come.
    yield (
        Line(label, _("not yet"), meaning)
        if report.is_running
        else _count(label, figures.taking_part, "", shown, meaning)
    )
    yield _count(
        _("Browns"), figures.browns_ml, "ml", volume(figures.browns_ml, building),
        _("Cups of browns that people put in with their scraps, as they told it."),
    )  # fmt: skip
    days = report.open_days
    label, meaning = _("Days with an open hatch"), _("Days on which a hatch was open at noon, in a drum in use.")
    yield _of(label, days.open, days.days, meaning) if days else _unknown(label, meaning)
    label = _("Days with an open hatch and enough browns")
    meaning = _("The same days, less those on which the browns were reported as gone.")
    yield _of(label, days.with_browns, days.days, meaning) if days else _unknown(label, meaning)


def _how_known(report: Report) -> tuple[str, tuple[Line, ...]]:
    figures = report.figures
    return _("How we know"), tuple(
        Line(str(KNOWN[known.known]), _("withheld"), _("Few households stand behind this line, so it is not told."))
        if known.is_withheld
        else Line(
            str(KNOWN[known.known]),
            _("%(grams)s (%(percent)s %%)")
            % {"grams": weight(known.scraps_g, report.building), "percent": figures.percent(known)},
            _("The part of the scraps that is known this way."),
            str(known.scraps_g),
            "g",
        )
        for known in figures.by_known
    )


def _wrong(report: Report) -> tuple[str, tuple[Line, ...]]:
    figures = report.figures
    is_us = report.building.units == Building.Units.US
    visits, by_mass = _("Visits that found a wrong item"), _("Wrong items by weight")
    of_visits = _("Of all visits: each one looks. No household is ever named.")
    of_mass = (
        _("Their weight for each 100 pounds of scraps, where every wrong item was weighed.")
        if is_us
        else _("Their weight for each 100 kg of scraps, where every wrong item was weighed.")
    )
    grams = figures.wrong_g_per_100_kg
    weighs = {"grams": small_weight(per_hundred(grams or 0, report.building), report.building)}
    shown = _("%(grams)s for each 100 pounds") % weighs if is_us else _("%(grams)s for each 100 kg") % weighs
    return _("What was wrong"), (
        _of(visits, figures.wrong_visits, figures.visits, of_visits)
        if figures.visits
        else _unknown(visits, of_visits),
        _unknown(by_mass, of_mass) if grams is None else Line(by_mass, shown, of_mass, str(grams), "g/100 kg"),
        _count(
            _("Reports by neighbours"), figures.reports, "", "",
            _("Smell, animals, leaks and the like, told by people of the house."),
        ),
    )  # fmt: skip


def _came_out(report: Report) -> tuple[str, tuple[Line, ...]]:
    figures, building = report.figures, report.building
    out = _("What was taken out of the drums, measured in tubs.")
    label = _("Compost")
    if figures.yields:
        compost = _count(label, figures.compost_ml, "ml", volume(figures.compost_ml, building), out)
    else:
        compost = Line(label, _("not yet") if figures.still_working else _("none"), out)
    is_us = building.units == Building.Units.US
    per_kg, shrunk, fetched = figures.compost_ml_per_kg, figures.shrunk_percent, figures.collected_percent
    return _("What came out"), (
        compost,
        _known(
            _("Compost for each pound of the same lot") if is_us else _("Compost for each kilo of the same lot"),
            per_kg, "ml/kg",
            yield_of(per_kg, building) if is_us else _("%(n)s L") % {"n": rounded((per_kg or 0) / 1000, 2)},
            _("What came out of a lot, over the scraps that had gone into that same lot."),
        ),
        _known(
            _("Shrunk by"), shrunk, "%", f"{shrunk} %",
            _("What came out of a lot, against the scraps and browns that had gone in, both by volume and loose."),
        ),
        _known(
            _("Shares fetched"), fetched, "%", f"{fetched} %",
            _("Of the tubs whose last day to be fetched was in this time."),
        ),
    )  # fmt: skip


def _work(report: Report) -> tuple[str, tuple[Line, ...]]:
    figures, building = report.figures, report.building
    few = 0 < figures.carers < FEWEST
    hours, is_us = figures.hours_per_100_kg, building.units == Building.Units.US
    return _("The work"), (
        _count(_("Visits"), figures.visits, "", "", _("Each time that somebody looked after a drum.")),
        _count(_("Turns"), figures.turns, "", "", _("Visits at which the drum was turned.")),
        Line(
            _("People who looked after the drums"),
            _("fewer than five") if few else number_format(figures.carers),
            _("With at least one visit. Fewer than five are not counted out loud."),
            "" if few else str(figures.carers),
        ),
        _known(
            _("Hours for each 100 pounds") if is_us else _("Hours for each 100 kg"),
            None if hours is None else round(hours, 2), "h/100 kg", rounded(per_hundred(hours or 0, building), 1),
            _("Set minutes of the duties done, for each 100 pounds of scraps. Nobody's time is measured.") if is_us
            else _("Set minutes of the duties done, for each 100 kg of scraps. Nobody's time is measured."),
        ),
    )  # fmt: skip


def _money(report: Report) -> tuple[str, tuple[Line, ...]]:
    return _("Money"), tuple(_money_lines(report))


def _money_lines(report: Report) -> Iterator[Line]:
    money, building, figures = report.money, report.building, report.figures
    if money is None:
        return
    for label, number, meaning in (
        (_("At the start"), money.opening, _("What all before came to, without deposits.")),
        (_("Came in"), money.came_in, _("Without deposits.")),
        (_("Went out"), money.went_out, _("Without deposits; from the box or from somebody's own purse.")),
        (_("At the end"), money.closing, _("The start, and what came in, less what went out.")),
        (_("Owed"), money.owed, _("Paid from somebody's own purse and not yet paid back.")),
        (_("Deposits"), money.deposits, _("Held for those who gave them, and counted apart.")),
    ):
        yield Line(label, coins(number, building), meaning, str(number), "coins")
    for purpose, came_in, went_out in money.by_purpose:
        net = came_in - went_out
        yield Line(
            str(Money.Purpose(purpose).label), coins(net, building), _("What came in for this, less what went out."),
            str(net), "coins",
        )  # fmt: skip
    each, (per_household, per_hundred_said) = cost(money, figures), cost_said(money, figures, building)
    yield _known(
        _("Cost for each household"),
        each.per_household,
        "coins",
        per_household,
        _("What went out, over the households with a drop-off."),
    )
    if building.units == Building.Units.US:
        label, meaning = _("Cost for each 100 pounds"), _("What went out, for each 100 pounds of scraps.")
    else:
        label, meaning = _("Cost for each 100 kg"), _("What went out, for each 100 kg of scraps.")
    yield _known(label, each.per_100_kg, "coins/100 kg", per_hundred_said, meaning)


def _emission(report: Report) -> tuple[str, tuple[Line, ...]]:
    found, building = report.emission, report.building
    if found is None:
        return "", ()
    low, middle, high = (weight(round(grams), building) for grams in (found.low_g, found.co2e_g, found.high_g))
    shown = _("about %(scraps)s (%(low)s to %(high)s)") % {"scraps": middle, "low": low, "high": high}
    meaning = _(
        "An estimate, not a measurement: methane and nitrous oxide from composting, by the usual factors of the IPCC "
        "(2006, volume 5, table 4.1) and its %(report)s assessment report. "
        "What the bin would give off is not taken away."
    ) % {"report": building.greenhouse.upper()}
    return _("Greenhouse gas"), (
        Line(_("Given off, as carbon dioxide"), shown, meaning, str(round(found.co2e_g)), "g CO2e"),
    )


def _count(label: str, number: int, unit: str, shown: str, meaning: str) -> Line:
    return Line(label, shown or number_format(number, force_grouping=True), meaning, str(number), unit)


def _of(label: str, number: int, whole: int, meaning: str) -> Line:
    percent = 100 * number / whole
    is_fine = 0 < percent < 10 or 99 < percent < 100  # or one of many would read as none, and nearly all as all
    said = {"n": number, "all": whole, "percent": rounded(percent, int(is_fine))}
    return Line(label, _("%(n)s of %(all)s (%(percent)s %%)") % said, meaning, str(number), f"/{whole}")


def _known(label: str, number: float | None, unit: str, shown: str, meaning: str) -> Line:
    return _unknown(label, meaning) if number is None else Line(label, shown, meaning, str(number), unit)


def _unknown(label: str, meaning: str) -> Line:
    """No data is not zero."""
    return Line(label, _("not known"), meaning)
