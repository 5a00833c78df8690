"""What the product says of itself, read as its readers do, and compared with the tally."""

import datetime as dt
import json
from collections import Counter
from collections.abc import Iterable

from django.apps import apps
from django.db.models import Sum

from bins.harvests.balance import Balance, balances
from bins.hatch import drum_states
from bins.models import Batch, Contribution, ContributionAttribution, Harvest, Share
from bins.months.figures import month
from bins.months.rows import rows
from coordinator.digest import rows_of
from households.models import Building, Job, LedgerRow

from .tally import ORDER, Tally, month_of


def check_books(here: Building, tally: Tally, months: Iterable[dt.date]) -> None:
    """Lots, hatches, harvests, shares and whose it was; and the months given, each with the rows behind it."""
    check_lots(here, tally)
    check_harvests(here, tally)
    check_whose(here, tally)
    for first_day in months:
        check_month(here, tally, first_day)


def check_lots(here: Building, tally: Tally) -> None:
    found = Batch.objects.within(here).values_list("uid", "stage", "place__uid", "merged_into__uid")
    assert sorted(map(str, found)) == sorted(
        str((lot.uid, lot.stage, lot.place, lot.into.uid if lot.into else None)) for lot in tally.lots
    )
    sums = Contribution.objects.within(here).order_by().values_list("batch__uid")
    grams = {uid: (scraps, browns) for uid, scraps, browns in sums.annotate(Sum("scraps_g"), Sum("browns_ml"))}
    mine: dict[object, tuple[int, int]] = {}
    for pail in tally.pails:
        uid = pail.lot.uid if pail.lot else None
        scraps, browns = mine.get(uid, (0, 0))
        amount = (pail.amount.grams, pail.amount.browns_ml) if pail.stands else (0, 0)
        mine[uid] = (scraps + amount[0], browns + amount[1])
    assert {uid: sums for uid, sums in grams.items() if any(sums)} == {
        uid: sums for uid, sums in mine.items() if any(sums)
    }
    for state in drum_states(here):
        opened = [hatch.batch.uid for hatch in state.hatches if hatch.stage == "filling" and hatch.batch]
        expected = [lot.uid for lot in tally.lots if lot.drum == state.drum.uid and lot.stage == "filling"]
        assert opened == expected
        assert len(opened) <= 1


def check_harvests(here: Building, tally: Tally) -> None:
    standing = Harvest.objects.within(here).filter(reverses__isnull=True, reversed_by__isnull=True)
    harvests = {row.uid: row for row in standing}
    assert set(harvests) == {heap.uid for heap in tally.heaps}
    found = balances(here, harvests.values())
    for heap in tally.heaps:
        stands = found[harvests[heap.uid].pk]
        assert stands == Balance(heap.came_out, heap.given, heap.reserve, heap.unclaimed, heap.lost)
        assert stands.given + stands.reserve + stands.unclaimed + stands.lost + stands.waiting == heap.came_out
        assert min(stands.given, stands.reserve, stands.unclaimed, stands.lost, stands.waiting) >= 0
    shares = Share.objects.within(here).annotate(went=Sum("outgoings__millionths")).select_related("split")
    assert Counter((row.split.uid, row.due_millionths, row.tubs, row.went or 0) for row in shares) == Counter(
        (heap.split, share.due, share.tubs, share.went) for heap in tally.heaps for share in heap.shares.values()
    )


def check_whose(here: Building, tally: Tally) -> None:
    """Each household's own grams: those who are forgotten have none, and nobody else lost any."""
    theirs = ContributionAttribution.objects.within(here).filter(household__isnull=False).order_by()
    found = dict(theirs.values_list("household__uid").annotate(Sum("row__scraps_g")))
    mine: Counter[object] = Counter()
    for pail in tally.pails:
        if pail.whose is not None:
            mine[pail.whose] += pail.amount.grams if pail.stands else 0
    assert found == dict(mine)


def check_month(here: Building, tally: Tally, first_day: dt.date) -> None:
    """The figure, the sum of the rows behind it and the tally are one number."""
    told, mine = month(here, first_day), tally.figures(first_day)
    assert {one.known: one.scraps_g for one in told.by_known} == mine.grams
    assert told.scraps_g == sum(mine.grams.values()) == behind(here, first_day, "scraps")
    assert told.browns_ml == mine.browns_ml == behind(here, first_day, "browns")
    assert told.visits == mine.visits == behind(here, first_day, "visits")
    assert told.compost_ml == sum(ml for _, ml, _ in mine.yields) == behind(here, first_day, "compost")
    assert (told.drop_offs, told.turns) == (mine.drop_offs, mine.turns)
    assert sorted((one.day, one.compost_ml, one.scraps_g) for one in told.yields) == sorted(mine.yields)


def behind(here: Building, first_day: dt.date, figure: str) -> int:
    return sum(row.amount for row in rows(here, first_day, figure))


def check_export(here: Building, tally: Tally) -> None:
    """The full export tells the same sums; each row of the books has a number of its own; no job went wrong."""
    scraps: Counter[dt.date] = Counter()
    outgoing: Counter[str] = Counter()
    for line in rows_of(here):
        label, values = json.loads(line)
        if label == "bins.Contribution":
            scraps[month_of(dt.datetime.fromisoformat(values["counts_at"]))] += values["scraps_g"]
        elif label == "bins.Outgoing":
            outgoing[values["kind"]] += values["millionths"]
    for first_day in tally.months():
        assert scraps[first_day] == sum(tally.figures(first_day).grams.values())
    for kind in ("given", "reserve", "unclaimed", "lost"):
        assert outgoing[kind] == sum(getattr(heap, kind) for heap in tally.heaps)
    numbers = [
        number
        for model in apps.get_models()
        if issubclass(model, LedgerRow)
        for number in model._base_manager.filter(building=here).values_list("ledger_number", flat=True)
    ]
    assert len(numbers) == len(set(numbers)), "two rows of the books have one number"
    assert max(numbers) == Building.objects.get(pk=here.pk).ledger_number
    assert not Job.objects.filter(scope=str(here.uid)).exclude(last_error="").exists()
    assert all(lot.stage not in ORDER for lot in tally.lots if lot.place is None)
