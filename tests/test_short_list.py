"""Every model belongs to a building, but for those on one short list, each with its reason."""

from collections.abc import Iterable, Iterator, Mapping

import pytest
from django.apps import apps
from django.db import models
from django.test.utils import isolate_apps

from coordinator import walls
from households.models import Building
from households.tenancy import SOMETIMES_WITHOUT, WITHOUT_BUILDING

pytestmark = pytest.mark.embedded


def astray(
    found: Iterable[type[models.Model]], without: Mapping[str, str], sometimes: Mapping[str, str]
) -> Iterator[str]:
    """What is wrong between models and the two lists, as sentences; nothing where they agree."""
    labels = set()
    for model in found:
        label = model._meta.label
        labels.add(label)
        field = next((f for f in model._meta.concrete_fields if f.name == "building"), None)
        has_building = isinstance(field, models.ForeignKey) and field.related_model is Building
        if model is Building:
            continue
        if label in without:
            if has_building:
                yield f"{label} has a building and is listed as having none"
        elif not has_building:
            yield f"{label} has no building and is on no list"
        elif field is not None and field.null and label not in sometimes:
            yield f"{label} may lack its building and is on no list"
        elif field is not None and not field.null and label in sometimes:
            yield f"{label} always has its building and is listed as lacking it at times"
    yield from (f"{label} is listed and does not exist" for label in sorted({*without, *sometimes} - labels))


def test_every_model_has_a_building_or_stands_on_the_short_list() -> None:
    assert list(astray(apps.get_models(), WITHOUT_BUILDING, SOMETIMES_WITHOUT)) == []
    assert all({**WITHOUT_BUILDING, **SOMETIMES_WITHOUT}.values()), "each entry states its reason"


def test_the_walls_stand_round_every_table_with_a_building() -> None:
    with_building = {m for m in apps.get_models() if any(f.name == "building" for f in m._meta.concrete_fields)}
    assert set(walls.tenant_models()) == with_building


def test_names_made_by_the_walls_fit_into_postgresqls_63_characters() -> None:
    # Cut short silently, two names could become one, and the second key would drop the first.
    assert [k for k in walls.keys() if len(f"{k.table}_{k.column}_same_building") > 63] == []  # noqa: SIM118


def test_every_reference_between_tables_of_buildings_is_a_key_of_the_walls() -> None:
    tenants = set(walls.tenant_models())
    references = {
        (model._meta.db_table, field.column)
        for model in tenants
        for field in model._meta.concrete_fields
        if field.is_relation and field.related_model in tenants
    }
    assert {(key.table, key.column) for key in walls.keys()} == references  # noqa: SIM118
    assert not [m for m in tenants if m._meta.local_many_to_many], "a table between two is a model of its own"
    outsiders = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        if model not in tenants
        for field in model._meta.concrete_fields
        if field.is_relation and field.related_model in tenants
    ]
    assert outsiders == [], "a row without a building must not point into one"


@isolate_apps("bins")
def test_a_made_up_model_without_a_building_is_reported() -> None:
    class Sieve(models.Model):  # noqa: DJ008
        class Meta:
            app_label = "bins"

    class Fork(models.Model):  # noqa: DJ008
        building = models.ForeignKey(Building, null=True, on_delete=models.PROTECT, related_name="+")

        class Meta:
            app_label = "bins"

    assert list(astray([*apps.get_models(), Sieve, Fork], WITHOUT_BUILDING, SOMETIMES_WITHOUT)) == [
        "bins.Sieve has no building and is on no list",
        "bins.Fork may lack its building and is on no list",
    ]


def test_a_stale_entry_of_the_list_is_reported() -> None:
    stale = WITHOUT_BUILDING | {"bins.Gone": "gone", "bins.Drum": "wrong"}
    assert list(astray(apps.get_models(), stale, SOMETIMES_WITHOUT | {"bins.Visit": "wrong"})) == [
        "bins.Drum has a building and is listed as having none",
        "bins.Visit always has its building and is listed as lacking it at times",
        "bins.Gone is listed and does not exist",
    ]
