"""Moving out: amounts stay, whose they were goes, and nobody else's rows are touched."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.db.models import Sum

from bins.care.visit import CareVisit, record_visit
from bins.harvests.balance import balance
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import (
    Assignment,
    Contribution,
    ContributionAttribution,
    Outgoing,
    Visit,
)
from bins.people import tidy
from bins.people.moving_out import Leaving, claims, move_out, settle_all
from bins.records import Refused
from households.ledger import UidReused
from households.models import (
    Account,
    ApiToken,
    Attribution,
    Audit,
    Building,
    Card,
    Departure,
    Household,
    Job,
    Notice,
    Person,
    Role,
)
from households.tenancy import inside
from tests.bins.harvests.harvested import OUT, TUB, bring, fetch, lot, mature, resident, share_out, shares_of, take_out
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import give_token

pytestmark = pytest.mark.embedded

DAY = dt.timedelta(days=1)


def leaving(**raw: Any) -> Leaving:
    return Leaving.from_raw({"uid": str(uuid4()), "last_day": "2026-05-04", "share": "garden", "sure": "yes"} | raw)


def go(
    here: Building, household: Household | None, by: Person | None = None, now: dt.datetime = NOW, **raw: Any
) -> Departure:
    assert household is not None
    return move_out(building=here, household=household, told=leaving(**raw), person=by, via="web", now=now)


def log(here: Building, cast: Cast, whose: Person, by: Person, grams: int = 1000) -> Contribution:
    raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": str(grams / 1000)}
    return record_drop_off(
        building=here, told=DropOff.from_raw(raw), household=whose.household, person=by, via="web", now=NOW
    ).row


def look(here: Building, cast: Cast, by: Person) -> Visit:
    told = CareVisit.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes"})
    return record_visit(building=here, told=told, person=by, via="web", now=NOW).row


def naming(here: Building, household: Household, people: set[int]) -> list[Attribution]:
    """Second rows of any kind that name a household or one of some people."""
    return [
        row
        for model in apps.get_models()
        if issubclass(model, Attribution)
        for row in model.objects.within(here)
        if row.household_id == household.pk or row.person_id in people
    ]


def test_nothing_says_any_more_whose_it_was_and_the_grams_are_the_same(cast: Cast) -> None:
    household, account = cast.resident.household, account_of(cast.resident)
    assert household is not None
    with inside(cast.building.uid) as here:
        log(here, cast, cast.resident, cast.resident, 2300)
        log(here, cast, cast.neighbour, cast.neighbour, 700)
        look(here, cast, cast.resident)
        give_token(here, cast.resident)
        Notice.post(building=here, kind="share", to=account.email, subject="s", body="Imani", due_at=NOW)
        grams = Contribution.objects.within(here).aggregate(sum=Sum("scraps_g"))["sum"]
        assert naming(here, household, {cast.resident.pk}), "the control: before, rows do name them"

        departure = go(here, household, cast.resident)

        assert departure.forgotten_at == NOW
        assert naming(here, household, {cast.resident.pk}) == []
        assert Contribution.objects.within(here).aggregate(sum=Sum("scraps_g"))["sum"] == grams == 3000
        assert Visit.objects.within(here).count() == 1
        assert not Person.objects.within(here).filter(pk=cast.resident.pk).exists()
        assert not Role.objects.within(here).filter(person=cast.resident.pk).exists()
        assert not ApiToken.objects.within(here).filter(person=cast.resident.pk).exists()
        assert not Assignment.objects.within(here).filter(household=household).exists()
        assert not Notice.objects.filter(building=here, to=account.email).exists()
        assert Card.objects.within(here).get(household=household).cancelled_on == NOW.date()
        assert ContributionAttribution.objects.within(here).get().household == cast.neighbour.household
        left = Household.objects.within(here).get(pk=household.pk)
        assert (left.label, left.left_on) == ("", NOW.date())
        acts = Audit.objects.within(here).filter(act__startswith="household-")
        assert sorted(acts.values_list("act", flat=True)) == ["household-forgotten", "household-left"]
        for row in Audit.objects.within(here):
            assert not {"Imani", "Flat 3", account.email} & {str(value) for value in row.detail.values()}
    assert not Account.objects.filter(pk=account.pk).exists()


def test_an_account_with_a_place_in_another_building_stays(cast: Cast) -> None:
    account = account_of(cast.resident)
    with inside(cast.elsewhere.uid) as there:
        Person.objects.create(building=there, name="Imani", account=account)
    with inside(cast.building.uid) as here:
        go(here, cast.resident.household)
        assert not Person.objects.within(here).filter(account=account).exists()
    assert Account.objects.filter(pk=account.pk).exists()
    with inside(cast.elsewhere.uid) as there:
        assert Person.objects.within(there).filter(account=account).exists()


def test_who_has_a_task_here_stays_with_it_and_keeps_visits_but_not_what_was_brought(cast: Cast) -> None:
    caretaker = newcomer(cast.building, "Edda", "Flat 6", "caretaker", "resident")
    household = caretaker.household
    assert household is not None
    with inside(cast.building.uid) as here:
        mine, visit = log(here, cast, caretaker, caretaker), look(here, cast, caretaker)
        for_others = log(here, cast, cast.neighbour, caretaker)
        go(here, household, caretaker)
        caretaker.refresh_from_db()
        assert (caretaker.name, caretaker.household, caretaker.account is not None) == ("Edda", None, True)
        kinds = Role.objects.within(here).filter(person=caretaker).held_on(NOW.date() + DAY)
        assert set(kinds.values_list("kind", flat=True)) == {"caretaker"}
        assert not hasattr(Contribution.objects.within(here).get(pk=mine.pk), "attribution")
        attribution = Visit.objects.within(here).get(pk=visit.pk).attribution
        assert (attribution.person, attribution.household) == (caretaker, None)
        other = Contribution.objects.within(here).get(pk=for_others.pk).attribution
        assert (other.household, other.person) == (cast.neighbour.household, caretaker)


def test_what_one_who_goes_wrote_down_for_others_stays_theirs(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = log(here, cast, cast.neighbour, cast.resident)
        go(here, cast.resident.household)
        attribution = Contribution.objects.within(here).get(pk=row.pk).attribution
        assert (attribution.household, attribution.person) == (cast.neighbour.household, None)


def test_the_next_tenant_of_the_name_is_a_new_household(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        log(here, cast, cast.resident, cast.resident)
        go(here, cast.resident.household)
    after = newcomer(cast.building, "Wanda", "Flat 3", "resident")
    assert after.household_id != cast.resident.household_id
    with inside(cast.building.uid) as here:
        assert not ContributionAttribution.objects.within(here).filter(household=after.household).exists()


def test_moving_out_arrives_once(cast: Cast) -> None:
    uid = str(uuid4())
    with inside(cast.building.uid) as here:
        first = go(here, cast.resident.household, uid=uid)
        assert go(here, cast.resident.household, uid=uid, now=NOW + DAY).pk == first.pk
        with pytest.raises(UidReused):
            go(here, cast.resident.household, uid=uid, last_day="2026-05-03")


@pytest.mark.parametrize(
    ("last_day", "is_taken"),
    [
        ("2026-03-04", False), ("2026-03-05", True),  # 60 days back
        ("2026-08-02", True), ("2026-08-03", False),  # 90 days ahead
    ],
)  # fmt: skip
def test_a_last_day_from_60_days_back_to_90_ahead_is_taken(cast: Cast, last_day: str, is_taken: bool) -> None:
    with inside(cast.building.uid) as here:
        Household.objects.within(here).update(joined_on=dt.date(2026, 1, 1))
        household = Household.objects.within(here).get(pk=cast.resident.household_id)
        if is_taken:
            assert go(here, household, last_day=last_day).last_day == dt.date.fromisoformat(last_day)
        else:
            with pytest.raises(Refused) as refused:
                go(here, household, last_day=last_day)
            assert set(refused.value.errors) == {"last_day"}


def test_a_last_day_before_the_first_one_and_one_that_is_not_sure_are_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here, pytest.raises(Refused):
        go(here, cast.resident.household, last_day="2026-05-03")  # came on the 4th
    with pytest.raises(Refused) as refused:
        leaving(sure="", last_day="")
    assert set(refused.value.errors) == {"sure", "last_day"}


def test_until_a_last_day_ahead_everything_works_and_the_night_after_it_is_forgotten(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        give_token(here, cast.resident)
        departure = go(here, cast.resident.household, last_day="2026-05-10")
        assert departure.forgotten_at is None
        roles = Role.objects.within(here).filter(person=cast.resident)
        assert roles.held_on(dt.date(2026, 5, 10)).exists()
        assert not roles.held_on(dt.date(2026, 5, 11)).exists()
        job = Job.objects.get(building=here, name=tidy.NAME)
        assert (job.key, job.wake_at) == ("2026-05-11", dt.datetime(2026, 5, 11, 1, 30, tzinfo=dt.UTC))
        settle_all(here, dt.datetime(2026, 5, 9, 21, 59, tzinfo=dt.UTC))
        assert Assignment.objects.within(here).filter(household=cast.resident.household).exists()
        assert ApiToken.objects.within(here).get(person=cast.resident).revoked_at is None
        settle_all(here, job.wake_at)
        departure.refresh_from_db()
        assert departure.forgotten_at == job.wake_at
        assert not Person.objects.within(here).filter(pk=cast.resident.pk).exists()


# The share that waits ------------------------------------------------------------------------------------------


def shared(cast: Cast, here: Building) -> Any:
    """Two households brought alike, and six tubs were shared out: 1.2 to the beds; two each, the odd ones too."""
    people = [resident(here, name) for name in ("Ada", "Bo")]
    for person in people:
        bring(here, cast.drum, person)
    batch = lot(here, cast.drum)
    mature(here, batch)
    harvest = take_out(here, batch, 6)
    split = share_out(here, harvest)
    return people, harvest, shares_of(here, split)


def test_a_share_that_waits_has_to_be_decided_on(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        (ada, _bo), _harvest, shares = shared(cast, here)
        assert ada.household is not None
        assert claims(here, ada.household).millionths == shares["Ada"].tubs * TUB > 0
        with pytest.raises(Refused) as refused:
            go(here, ada.household, now=OUT, last_day=OUT.date().isoformat(), share="")
        assert set(refused.value.errors) == {"share"}


def test_given_to_the_beds_it_leaves_the_balance_whole_and_the_names_go_at_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        (ada, bo), harvest, shares = shared(cast, here)
        before = balance(here, harvest)
        departure = go(here, ada.household, now=OUT, last_day=OUT.date().isoformat())
        after = balance(here, harvest)
        tubs = shares["Ada"].tubs * TUB
        assert departure.forgotten_at == OUT
        assert (after.unclaimed - before.unclaimed, before.waiting - after.waiting) == (tubs, tubs)
        assert after.given + after.reserve + after.unclaimed + after.lost + after.waiting == after.harvested
        assert Outgoing.objects.within(here).filter(share=shares["Bo"]).count() == 0
        assert claims(here, bo.household).millionths == shares["Bo"].tubs * TUB


def test_to_be_fetched_the_people_are_remembered_until_nothing_waits(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        (ada, _bo), _harvest, shares = shared(cast, here)
        assert ada.household is not None
        departure = go(here, ada.household, now=OUT, last_day=OUT.date().isoformat(), share="pick_up")
        assert departure.forgotten_at is None
        settle_all(here, OUT + DAY)
        assert Person.objects.within(here).filter(pk=ada.pk).exists()
        assert not Assignment.objects.within(here).filter(household=ada.household).exists()
        fetch(here, shares["Ada"], now=OUT + DAY)
        settle_all(here, OUT + 2 * DAY)
        assert not Person.objects.within(here).filter(pk=ada.pk).exists()
        assert Outgoing.objects.within(here).filter(share=shares["Ada"]).get().millionths == shares["Ada"].tubs * TUB


def test_what_is_brought_to_a_lot_that_still_works_is_a_claim_until_it_is_shared_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        ada = resident(here, "Ada")
        bring(here, cast.drum, ada)
        assert ada.household is not None
        assert claims(here, ada.household).brought_to == 1
        batch = lot(here, cast.drum)
        mature(here, batch)
        harvest = take_out(here, batch, 6)
        assert claims(here, ada.household).brought_to == 1, "taken out, not shared out yet"
        split = share_out(here, harvest)
        assert claims(here, ada.household).brought_to == 0
        fetch(here, shares_of(here, split)["Ada"])
        assert not claims(here, ada.household)


def test_tidying_goes_on_night_by_night_while_somebody_is_not_forgotten(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        tidy.promise_next(here, dt.date(2026, 5, 5))
        assert not Job.objects.filter(building=here, name=tidy.NAME).exists()
        go(here, cast.resident.household, last_day="2026-05-10")
        tidy.promise_next(here, dt.date(2026, 5, 11))
        assert set(Job.objects.filter(building=here, name=tidy.NAME).values_list("key", flat=True)) == {
            "2026-05-11",
            "2026-05-12",
        }
