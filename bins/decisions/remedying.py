"""Yes to what is advised against a trouble means that it was done: the books get what that says.

Litres of browns and water are amendments, turning is a visit, and a rat seen at the drum shuts its hatches. A report
never stops intake; this is the word of a person who stood there.
"""

import datetime as dt
from uuid import uuid5

from django.utils.translation import gettext as _

from bins.care.quarantine import shut_at_once
from bins.care.visit import CareVisit, add_visit
from bins.mixing.amending import Added, add_amounts
from bins.models import Decision, Place, Visit
from bins.process.causes import Cause
from bins.process.remedies import Act, steps
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import Ledger, fingerprint
from households.models import Person


def note_remedy(ledger: Ledger, decision: Decision, *, person: Person | None, via: str, now: dt.datetime) -> None:
    """Write down what a remedy says was done, in an open book. Needs the decision's batch with its drum and site.

    Refused where a drum is to be shut and nobody gives a name.
    """
    batch, figures, cause = decision.batch, decision.figures, Cause(decision.reason)
    acts = steps(cause, figures, is_filling=batch.stage == Stage.FILLING)
    browns = round(figures.get("browns_litres", 0) + figures.get("cover_litres", 0))
    water = round(figures.get("water_litres", 0))
    if browns or water:
        told = Added(
            uid=uuid5(decision.uid, "added"), batch_uid=batch.uid, happened_at=None, browns_ml=1000 * browns,
            browns=batch.drum.site.browns if browns else "", water_ml=1000 * water,
        )  # fmt: skip
        add_amounts(ledger, told, batch, person=person, via=via, now=now)
    stands = batch.place
    if Act.TURN in acts and stands is not None and stands.drum is not None:  # a bin is stirred, and no drum turns
        visit = CareVisit(
            uuid5(decision.uid, "turned"), stands.drum.uid, None, True, "", Visit.Trouble.NOTHING,
            turned_place_uid=stands.uid,
        )  # fmt: skip
        add_visit(ledger, visit, stands.drum, person, via, now, fingerprint({"remedy": decision.uid}))
    if Act.SHUT in acts:
        if person is None:
            raise Refused({"answer": _("A name is needed for this. Nothing was changed.")})
        hatches = Place.objects.within(ledger.building).filter(drum=batch.drum, kind=Place.Kind.CHAMBER)
        for place in hatches.select_related("site").order_by("letter"):
            shut_at_once(
                ledger, place, uid=uuid5(decision.uid, f"shut {place.uid}"),
                reason=_("A rat or a mouse was seen at the drum."), person=person, via=via, now=now,
            )  # fmt: skip
