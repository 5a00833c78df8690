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
        (_("Came out"), tubs(standing.harvested)),
        (_("Fetched"), tubs(standing.given)),
        (_("For the beds"), tubs(standing.reserve)),
        (_("Given away"), tubs(standing.gift)),
        (_("Not fetched, for the beds"), tubs(standing.unclaimed)),
        (_("Gone or spoilt"), tubs(standing.lost)),
        (_("Waiting"), tubs(standing.waiting)),
    ]
