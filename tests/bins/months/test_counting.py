"""Each figure beside its definition: days with an open hatch, wrong items, what a lot gave, shares fetched, hours."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.intake.wrong_items import Found, record_wrong_item
from bins.mixing.browns import tell_stock
from bins.models import Amendment, Batch, DrumChange, Place, PlaceChange
from bins.months.calendar import Period
from bins.months.figures import Figures, figures
from bins.months.open_days import OpenDays, open_days
from households.models import Building, Duty, DutyAssignment, DutyKind, Household, RotaPlan
from households.tenancy import inside
from tests.bins.care.caring import visit
from tests.bins.harvests.harvested import DAY, OUT, bring, fetch, lot, mature, resident, share_out, shares_of, take_out
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
MAY, AUGUST = Period(dt.date(2026, 5, 1)), Period(dt.date(2026, 8, 1))
JUNE_1 = dt.date(2026, 6, 1)
# NOW is the 4th of May, six in the evening: the first noon with an open hatch is that of the 5th.


def at(day: int, hour: int = 9) -> dt.datetime:
    return dt.datetime(2026, 5, day, hour, tzinfo=dt.UTC)


def days(cast: Cast, today: dt.date = JUNE_1) -> OpenDays | None:
    with inside(cast.building.uid) as here:
        return open_days(here, MAY, today)


def changed(here: Building, number: int, when: dt.datetime) -> dict[str, object]:
    return {
        "building": here, "uid": uuid4(), "ledger_number": 5000 + number, "happened_at": when, "heard_at": when,
        "counts_at": when, "via": "web", "fingerprint": "x",
    }  # fmt: skip


def test_days_count_from_the_first_lot_to_yesterday(cast: Cast) -> None:
    assert days(cast) == OpenDays(28, 27, 27)  # the 4th to the 31st; not open yet at noon of the 4th
    assert days(cast, dt.date(2026, 5, 6)) == OpenDays(2, 1, 1)
    assert days(cast, dt.date(2026, 5, 4)) is None
    with inside(cast.building.uid) as here:
        assert open_days(here, Period(dt.date(2026, 4, 1)), JUNE_1) is None


def test_a_closed_lot_a_shut_hatch_and_a_drum_out_of_use_are_not_open(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        place = Place.objects.within(here).get(drum=cast.drum, letter="A")
        seen = visit(cast, here, at(12))
        for number, (day, is_shut) in enumerate(((10, True), (12, False))):  # two noons shut
            PlaceChange.objects.create(
                **changed(here, number, at(day)), place=place, is_shut=is_shut, reason="glass", visit=seen
            )
        for number, (day, before, after) in enumerate(
            ((20, "in_service", "paused"), (23, "paused", "in_service")), start=2
        ):  # three noons
            DrumChange.objects.create(
                **changed(here, number, at(day)), drum=cast.drum, from_state=before, to_state=after
            )
    assert days(cast) == OpenDays(28, 27 - 2 - 3, 27 - 2 - 3)
    with inside(cast.building.uid) as here:
        Batch.objects.within(here).filter(drum=cast.drum).update(stage="composting", closed_at=at(30, 10))
    # Noon in Berlin is ten o'clock UTC in May: the lot closes at that instant, so it counts no more.
    assert days(cast) == OpenDays(28, 27 - 2 - 3 - 2, 27 - 2 - 3 - 2)


def test_without_browns_a_day_counts_as_open_only(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for when, is_out in ((at(8), True), (at(11), False)):
            tell_stock(building=here, site_uid=cast.drum.site.uid, is_out=is_out, person=cast.caretaker, now=when)
    assert days(cast) == OpenDays(28, 27, 24)


def told(cast: Cast, period: Period) -> Figures:
    with inside(cast.building.uid) as here:
        return figures(here, period)


def test_wrong_items_count_by_visit_and_by_mass_only_where_all_were_weighed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        visits = [visit(cast, here, NOW + n * DAY, trouble="wrong_item" if n == 0 else "nothing") for n in range(4)]
        bring(here, cast.drum, resident(here, "Ada"), times=2, grams=5000)
        for number, (seen, grams) in enumerate(((visits[0], 40), (visits[1], 60))):
            raw = {
                "uid": uuid4(), "drum": cast.drum.uid, "item": "bags", "grams": grams, "taken_out": "yes",
                "visit": seen.uid,
            }  # fmt: skip
            record_wrong_item(
                building=here, told=Found.from_raw(raw), person=cast.caretaker, via="web",
                now=NOW + (number + 5) * DAY,
            )  # fmt: skip
    found = told(cast, MAY)
    # Named as trouble at one visit, found at another: two visits of four; 100 g in 10 kg is 1 kg in 100 kg.
    assert (found.wrong_visits, found.visits, found.wrong_visits_percent) == (2, 4, 50)
    assert found.wrong_g_per_100_kg == 1000


def test_what_a_lot_gave_is_measured_against_what_went_into_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        for name in ("Ada", "Bea", "Cid", "Dov", "Eve"):
            bring(here, cast.drum, resident(here, name), times=4, grams=4500)  # 5 x 4 x 4.5 kg: 90 kg, 200 L
        Amendment.objects.create(**changed(here, 1, NOW), batch=batch, material="pellets", millilitres=50_000)
        Amendment.objects.create(**changed(here, 2, NOW), batch=batch, material="water", millilitres=90_000)
        mature(here, batch)
        harvest = take_out(here, batch, 10)  # ten tubs of 10 L
        split = share_out(here, harvest)
        shares = shares_of(here, split)
        fetch(here, shares["Ada"])
    found = told(cast, AUGUST)
    (one,) = found.yields
    assert (one.compost_ml, one.scraps_g, one.in_ml) == (100_000, 90_000, 250_000)  # water is no volume
    assert (found.compost_ml_per_kg, found.shrunk_percent) == (1111, 60)
    due = sum(share.tubs for share in shares.values())
    assert split.pick_up_until.month == 8
    assert (found.due_tubs, found.fetched_millionths) == (due, shares["Ada"].tubs * 1_000_000)
    assert found.collected_percent == round(100 * shares["Ada"].tubs / due)
    assert OUT.month == 8


def test_hours_are_the_set_minutes_of_duties_done(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        homes = list(Household.objects.within(here).order_by("pk"))
        bring(here, cast.drum, resident(here, "Ada"), times=2, grams=10_000)  # 20 kg
        kind, plan = DutyKind.objects.within(here).first(), RotaPlan.objects.within(here).first()
        from tests.filled import draft, fresh

        kind, plan = kind or fresh(DutyKind, here), plan or fresh(RotaPlan, here)
        for day, done, who in ((10, True, homes[:2]), (11, False, homes[:1])):
            duty = draft(Duty, here, kind_id=kind.pk, plan_id=plan.pk)
            duty.day, duty.minutes, duty.done_at = dt.date(2026, 5, day), 30, NOW if done else None  # type: ignore[attr-defined]
            duty.save(force_insert=True)
            for number, home in enumerate(who, start=1):
                DutyAssignment.objects.create(building=here, duty=duty, number=number, household=home)
    found = told(cast, MAY)
    assert found.duty_minutes == 60  # one duty done, by two
    assert found.hours_per_100_kg == pytest.approx(5.0)  # an hour for 20 kg
