"""What the page Today shows of duties: openings short of people, what is not done yet, and this week by first name."""

import datetime as dt
from typing import Any

from bins.duties.doing import not_done
from bins.duties.limits import to_carry_for
from bins.duties.mine import duties_by_first_name
from bins.duties.openings import short_openings
from bins.duties.phase import Phase, phase
from bins.duties.wanting import wanting
from bins.slots.proxy import booked_for_others, to_be_told

from ..doors import Here
from ..duty_words import work


def duties_now(here: Here) -> dict[str, Any]:
    """Nine queries however many duties there are."""
    sunday = here.today + dt.timedelta(days=6 - here.today.weekday())
    week = duties_by_first_name(here.building, here.today, sunday, here.now)
    waiting = [duty for duty in not_done(here.building, here.today) if phase(duty, here.today) is Phase.LISTED]
    want = wanting(here.building, here.now)
    return {
        "wanting": [(duty, work(duty.kind)) for duty in want],
        "sites": list({duty.kind.site_id: duty.kind.site for duty in want}.values()),
        "carried": to_carry_for(here.building),
        "to_tell": to_be_told(booked_for_others(here.building, here.now)),
        "short": short_openings(here.building, here.now),
        "waiting": [(duty, work(duty.kind)) for duty in waiting],
        "week": [(one, work(one.duty.kind), ", ".join(one.names)) for one in week if one.phase is not Phase.OVER],
    }
