"""Who has a claim on a harvest: who took part in the batch, and what stands over from earlier splits."""

from collections import defaultdict
from uuid import UUID

from django.db.models import Count, Q, Sum

from bins.care.lineage import family
from bins.harvests.balance import balances
from bins.models import Batch, Contribution, Harvest, Share, Visit
from bins.models.harvest import TUB
from households.models import Building, Household, Site
from households.sharing.claimant import Claimant
from households.sharing.rule import Kind

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


def weights(building: Building, harvest: Harvest) -> dict[UUID, int]:
    """Household -> what the batch's rule goes by; only those who took part.

    Equal: 1 for each with the drop-offs that the rule asks for, or with a care visit to the drum while the
    batch lived. By weight: the grams brought, however often.
    """
    batch = harvest.batch
    batches = list(Batch.objects.within(building).filter(pk__in=family(building, batch)))
    brought = {
        row["attribution__household__uid"]: (row["times"], row["grams"])
        for row in Contribution.objects.within(building)
        .filter(STANDS, batch__in=batches, attribution__household__isnull=False)
        .order_by()
        .values("attribution__household__uid")
        .annotate(times=Count("pk"), grams=Sum("scraps_g"))
    }
    if Kind(batch.sharing_kind) is Kind.CONTRIBUTION:
        return {uid: grams for uid, (_, grams) in brought.items() if grams > 0}
    took_part = {uid for uid, (times, _) in brought.items() if times >= batch.least_drop_offs}
    # Care of a lot from before the record earns no share: those who brought to it are not known.
    return dict.fromkeys(took_part | _cared(building, [one for one in batches if not one.from_record]), 1)


def _cared(building: Building, batches: list[Batch]) -> set[UUID]:
    span = Q()
    if not batches:
        return set()
    for batch in batches:
        lived = Q(drum=batch.drum_id, counts_at__gte=batch.opened_at)
        span |= lived & Q(counts_at__lte=batch.ended_at) if batch.ended_at else lived
    visits = Visit.objects.within(building).filter(STANDS, span, attribution__household__isnull=False)
    return set(visits.order_by().values_list("attribution__household__uid", flat=True).distinct())


def credits(building: Building, site: Site, before: int | None = None) -> dict[UUID, int]:
    """Household -> millionths of a tub that are owed to it at a site (negative: it is ahead).

    What it was due in all splits, less the tubs it was to get, and plus those of them that were lost before it
    could fetch them. What it left lying is not owed again. `before`: only splits with a lower ledger number.
    """
    shares = Share.objects.within(building).filter(
        split__harvest__batch__drum__site=site, attribution__household__isnull=False
    )
    if before is not None:
        shares = shares.filter(split__ledger_number__lt=before)
    rows = list(
        shares.annotate(went=Sum("outgoings__millionths"))
        .order_by()
        .values_list("attribution__household__uid", "due_millionths", "tubs", "went", "split__harvest_id")
    )
    lacking = {harvest for _, _, tubs, went, harvest in rows if (went or 0) < tubs * TUB}
    harvests = Harvest.objects.within(building).filter(pk__in=lacking) if lacking else []
    over = {key for key, standing in balances(building, harvests).items() if standing.waiting == 0}
    owed: defaultdict[UUID, int] = defaultdict(int)
    for household, due, tubs, went, harvest in rows:
        owed[household] += due - ((went or 0) if harvest in over else tubs * TUB)
    return dict(owed)


def claimants(building: Building, harvest: Harvest) -> tuple[Claimant, ...]:
    """Everybody with a claim, by uid. A household that moved away keeps the claim of what it brought, no more."""
    part = weights(building, harvest)
    owed = credits(building, harvest.batch.drum.site)
    uids = set(part) | {uid for uid, amount in owed.items() if amount}
    return tuple(
        Claimant(
            uid=household.uid,
            weight=part.get(household.uid, 0),
            credit_millionths=owed.get(household.uid, 0),
            to_garden=household.gives_to_garden,
        )
        for household in Household.objects.within(building).filter(uid__in=uids).order_by("uid")
        if household.uid in part or household.left_on is None
    )
