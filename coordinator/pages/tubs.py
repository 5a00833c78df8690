"""Amounts of compost in tubs, as people say them."""

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from bins.harvests.balance import Balance
from bins.harvests.breakdown import Breakdown
from bins.models.harvest import TUB


def tubs(millionths: int) -> str:
    """Millionths -> "12.3" or "0.25", no more decimals than are needed."""
    return str(number_format(f"{round(millionths / TUB, 2):g}"))


def tubs_said(millionths: int) -> str:
    """ "1 tub", "4 tubs", "2.5 tubs". A part of a tub takes the form for what is not counted in whole ones."""
    whole, part = divmod(round(100 * millionths / TUB), 100)
    return ngettext("%(tubs)s tub", "%(tubs)s tubs", 100 if part else whole) % {"tubs": tubs(millionths)}


def groups_said(found: Breakdown) -> str:
    """ "9 households get 4, 3 households get 3": tubs for each of them."""
    said = [
        ngettext("%(n)s household gets %(tubs)s", "%(n)s households get %(tubs)s", group.households)
        % {"n": number_format(group.households), "tubs": number_format(group.tubs)}
        for group in found.groups
    ]
    return pgettext("between parts of a list", ", ").join(said)


def balance_said(standing: Balance) -> list[tuple[str, str]]:
    """Each part of a harvest with its tubs; the parts add up to the first."""
    return [
        (_("Came out"), tubs_said(standing.harvested)),
        (_("Fetched"), tubs_said(standing.given)),
        (_("For the beds"), tubs_said(standing.reserve)),
        (_("Given away"), tubs_said(standing.gift)),
        (_("Not fetched, for the beds"), tubs_said(standing.unclaimed)),
        (_("Gone or spoilt"), tubs_said(standing.lost)),
        (_("Waiting"), tubs_said(standing.waiting)),
    ]
