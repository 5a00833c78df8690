"""What is on record of a lot's heat -> sentences in the reader's language. They describe; they promise nothing."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.care.heat import HeatOnRecord
from bins.process.hygiene import HOT_C
from households.models import Building

from .telling import degrees


def heat_line(found: HeatOnRecord | None, building: Building) -> str:
    """Empty where nobody measured."""
    if found is None:
        return ""
    values = {
        "hottest": degrees(found.hottest_tenths_c, building),
        "hot": degrees(int(HOT_C * 10), building),
        "hours": found.hot_hours,
    }
    if not found.hot_hours:
        return _("The hottest on record is %(hottest)s. It was not %(hot)s or more twice within a day.") % values
    said = (
        ngettext(
            "The hottest on record is %(hottest)s. The longest time on record at %(hot)s or more is %(hours)s hour.",
            "The hottest on record is %(hottest)s. The longest time on record at %(hot)s or more is %(hours)s hours.",
            found.hot_hours,
        )
        % values
    )
    return said + " " + _("The rim is cooler than the middle, so some germs and seeds may live on.")
