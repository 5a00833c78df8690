"""Two buildings with at least one row in every table, and in each a spare row that nothing points at yet."""

import datetime as dt
from uuid import uuid4, uuid5

from django.db import connection, models

from bins import night
from bins.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Batch, Contribution, Decision, Drum, Place, Reading, StageChange, Visit
from bins.visit import CareVisit, record_visit
from households.models import ApiToken, Building, Household, LedgerRow, Notice, Person, Site
from households.tenancy import has_second_wall, inside

from .cast import NOW, Cast

HOUR = dt.timedelta(hours=1)
SECRET = "known-to-the-tests-alone"


def go_outside() -> None:
    """Leave every building. A test's own transaction goes on after `inside`, and the settings with it."""
    if has_second_wall():
        with connection.cursor() as cursor:
            for name in ("drums.door", "drums.buildings", "drums.account"):
                cursor.execute("SELECT set_config(%s, '', true)", [name])


def fill(cast: Cast) -> None:
    """Life in both blocks: drop-offs, visits, a proposal that waits for its answer, a token, a notice."""
    _live(cast.building, cast.drum, cast.resident, cast.caretaker)
    _live(cast.elsewhere, cast.elsewhere_drum, cast.elsewhere_person, cast.elsewhere_person)
    go_outside()


def _live(uid_of: Building, drum: Drum, resident: Person, caretaker: Person) -> None:
    with inside(uid_of.uid) as here:
        for number, quarter_pails in enumerate((4, 8)):
            row = record_drop_off(
                building=here,
                told=DropOff.from_raw(
                    {"uid": uuid5(here.uid, f"drop-off {number}"), "drum": drum.uid, "quarter_pails": quarter_pails}
                ),
                household=resident.household,
                person=resident,
                via="web",
                now=NOW,
            ).row
        undo_drop_off(building=here, row=row, person=resident, via="web", now=NOW)
        for number in range(2):
            record_visit(
                building=here,
                told=CareVisit.from_raw(
                    {"uid": uuid5(here.uid, f"visit {number}"), "drum": drum.uid, "turned": True, "level": "full"}
                ),
                person=caretaker,
                via="web",
                now=NOW + (1 + 24 * number) * HOUR,
            )
        at = NOW + 48 * HOUR
        night.apply(here, night.decide(night.gather(here, at)), at, uuid5(here.uid, "night"))
        ApiToken.objects.create(
            building=here,
            uid=uuid5(here.uid, "token"),
            person=caretaker,
            name="scale",
            secret_hash=ApiToken.hash_of(f"{SECRET} {here.uid}"),
            created_at=NOW,
            expires_at=NOW + dt.timedelta(days=3650),
        )
        Notice.post(building=here, kind="test", to="x@example.invalid", subject="s", body="b", due_at=NOW)


def decision_of(building: Building) -> Decision:
    with inside(building.uid) as here:
        decision: Decision = Decision.objects.within(here).proposed().get()
    return decision


def spares(of: Building, drum: Drum) -> dict[type[models.Model], models.Model]:
    """For each table that others point at, a row with nothing pointing at it."""
    with inside(of.uid) as here:
        site = Site.objects.create(building=here, name="Spare", fallback="the chute")
        household = Household.objects.create(building=here, label="Spare", joined_on=NOW.date())
        person = Person.objects.create(building=here, name="Spare")
        spare_drum = Drum.objects.create(building=here, site=drum.site, number=9)
        place = Place.objects.create(
            building=here, kind="chamber", site=site, drum=spare_drum, letter="A", shape="circle", litres=100
        )
        gone = {"stage": "discarded", "opened_at": NOW, "closed_at": NOW, "ended_at": NOW}
        batch = Batch.objects.create(building=here, drum=spare_drum, started_in=place, **gone)
        decision = Decision.objects.within(here).proposed().get()
        decision.pk, decision.uid, decision.batch, decision.rule = None, uuid4(), batch, "spare"
        decision.save(force_insert=True)
        told = {"happened_at": NOW, "heard_at": NOW, "counts_at": NOW, "via": "web", "fingerprint": "0", "building": here}
        contribution = Contribution.objects.create(
            ledger_number=9001, drum=spare_drum, scraps_g=0, scraps_ml=0, known="counted", pail_ml=8000,
            scraps_g_per_l=450, cup_ml=1000, browns_kind="pellets", **told,
        )  # fmt: skip
        visit = Visit.objects.create(ledger_number=9002, drum=spare_drum, turned=False, **told)
        change = StageChange.objects.create(ledger_number=9003, batch=batch, place=place, to_stage="filling", **told)
        reading = Reading.objects.create(
            ledger_number=9004, visit=visit, batch=batch, kind="level_percent", value=50, **told
        )
    go_outside()
    rows = (site, household, person, spare_drum, place, batch, decision, contribution, visit, change, reading)
    return {type(row): row for row in rows}


def copy_of(
    model: type[models.Model], building: Building, own: dict[type[models.Model], models.Model]
) -> models.Model:
    """An unsaved copy of a row of the building, whose references lead to the spares so that no other rule minds."""
    first = model._base_manager.filter(building=building).order_by("pk").first()
    row = own[model] if model in own and is_ledger(model) else first  # a reversal may not add: the spare has no amounts
    assert row is not None, f"no {model.__name__} to copy: fill one in tests/filled.py"
    fresh = model(**{f.attname: getattr(row, f.attname) for f in model._meta.concrete_fields if not f.primary_key})
    for field in model._meta.concrete_fields:
        if field.name == "uid":
            fresh.uid = uuid4()  # type: ignore[attr-defined]
        elif field.name == "ledger_number":
            fresh.ledger_number = 9100  # type: ignore[attr-defined]
        elif field.name in ("account", "reverses"):
            setattr(fresh, field.attname, None)
        elif field.name in ("secret_hash", "label", "key", "rule"):
            setattr(fresh, field.attname, uuid4().hex[:30])
        elif field.is_relation and field.related_model in own and getattr(row, field.attname) is not None:
            setattr(fresh, field.attname, own[field.related_model].pk)
        elif field.name in ("number", "letter"):
            setattr(fresh, field.attname, {"number": 8, "letter": "B"}[field.name])
    return fresh


def is_ledger(model: type[models.Model]) -> bool:
    return issubclass(model, LedgerRow)
