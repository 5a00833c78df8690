"""Who has a claim on a harvest: who took part in the batch, and what stands over from earlier splits."""

import datetime as dt
from collections import defaultdict
from uuid import UUID

from django.db.models import Count, Q, Sum

from bins.care.lineage import family
from bins.harvests.balance import balances
from bins.harvests.browns_brought import browns_brought
from bins.harvests.care_minutes import minutes_of_care
from bins.models import Batch, Contribution, Harvest, Share, ShareRequest
from bins.models.harvest import TUB
from households.models import Building, Household, Site
from households.sharing.claimant import Claimant
from households.sharing.rule import Kind

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


def weights(building: Building, harvest: Harvest) -> dict[UUID, int]:
    """Household -> what the batch's rule goes by; only those who took part.

    Equal, and on request: 1 for each with the drop-offs that the rule asks for, with a care visit or a duty done
    while the batch lived, or with browns brought for it. By weight: the grams of scraps brought, however often. By
    care work: set minutes. Drop-offs that nobody's name is on weigh for nobody, so what they made falls to everybody
    who took part.
    """
    batch = harvest.batch
    batches = list(Batch.objects.within(building).filter(pk__in=family(building, batch)))
    kind = Kind(batch.sharing_kind)
    if kind is Kind.CARE:
        return minutes_of_care(building, batch, batches)
    brought = {
        row["attribution__household__uid"]: (row["times"], row["grams"])
        for row in Contribution.objects.within(building)
        .filter(STANDS, batch__in=batches, attribution__household__isnull=False)
        .order_by()
        .values("attribution__household__uid")
        .annotate(times=Count("pk"), grams=Sum("scraps_g"))
    }
    if kind is Kind.CONTRIBUTION or (kind is Kind.REQUEST and batch.requests_by_weight):
        return {uid: grams for uid, (_, grams) in brought.items() if grams > 0}
    took_part = {uid for uid, (times, _) in brought.items() if times >= batch.least_drop_offs}
    # Care of a lot from before the record earns no share: those who brought to it are not known.
    took_part |= set(minutes_of_care(building, batch, batches))
    return dict.fromkeys(took_part | set(browns_brought(building, batch, batches)), 1)


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


def requests(building: Building, batch: Batch, before: int | None = None) -> dict[UUID, int]:
    """Household -> whole tubs that it asked for of a lot: its newest word. `before`: with a lower ledger number."""
    rows = ShareRequest.objects.within(building).filter(batch=batch, attribution__household__isnull=False)
    if before is not None:
        rows = rows.filter(ledger_number__lt=before)
    return dict(rows.order_by("ledger_number").values_list("attribution__household__uid", "tubs"))


def asked_for(building: Building, batch: Batch, before: int | None = None) -> dict[UUID, int]:
    """The requests that the batch's rule goes by; none, without a query, under any other."""
    return requests(building, batch, before) if Kind(batch.sharing_kind) is Kind.REQUEST else {}


def still_here(day: dt.date) -> Q:
    """Households whose last day has not passed on a day: what is owed to them is theirs until then."""
    return Q(left_on__isnull=True) | Q(left_on__gte=day)


def claimants(building: Building, harvest: Harvest, on: dt.date) -> tuple[Claimant, ...]:
    """Everybody with a claim when it is shared out on a day, by uid.

    Until its last day a household that moves out has its claim and all that is owed to it; after that the claim of
    what it brought, and no more.
    """
    part = weights(building, harvest)
    owed = credits(building, harvest.batch.drum.site)
    asked = asked_for(building, harvest.batch)
    uids = set(part) | {uid for uid, amount in owed.items() if amount}
    here = still_here(on) | Q(uid__in=part)
    return tuple(
        Claimant(
            uid=household.uid,
            weight=part.get(household.uid, 0),
            credit_millionths=owed.get(household.uid, 0),
            request_tubs=asked.get(household.uid),
            to_garden=household.gives_to_garden,
            to_neighbours=household.gives_to_neighbours,
        )
        for household in Household.objects.within(building).filter(here, uid__in=uids).order_by("uid")
    )
