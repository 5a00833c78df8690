"""Reading what the committee decided."""

from households.models import Building, CommitteeDecision

MOST = 100  # the newest; a committee that meets monthly fills this in years


def decisions_of(building: Building) -> list[CommitteeDecision]:
    """The decisions, newest first, 100 at most, with who decided; two queries however many there are."""
    rows = CommitteeDecision.objects.within(building).select_related("site")
    return list(rows.prefetch_related("attributions__person").order_by("-decided_on", "-ledger_number")[:MOST])
