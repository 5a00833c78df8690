"""The second wall: what the database refuses, whatever the application forgets."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.core.servers.basehttp import get_internal_wsgi_application
from django.db import DatabaseError, IntegrityError, ProgrammingError, connection, connections, models, transaction
from django.http import HttpRequest, JsonResponse
from django.test import RequestFactory
from django.urls import path

from coordinator import checks, walls
from coordinator.access import Rule
from coordinator.doors import Here, door
from households import tenancy
from households.models import Attribution, Audit, Building
from households.tenancy import inside
from tests.cast import NOW, Cast
from tests.filled import draft, fill, fresh, go_outside
from tests.running import CHECKOUT

postgresql = pytest.mark.skipif(
    connection.vendor != "postgresql", reason="SQLite has no row-level security: one wall and the keys stand there"
)


def sql(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values or None)


def answer(statement: str, *values: object) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values or None)
        return list(cursor.fetchall())


@contextmanager
def undone() -> Iterator[None]:
    """Whatever happens inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@contextmanager
def as_the_owner() -> Iterator[None]:
    """The test's transaction with the owner's rights; the app role again at the end, and nothing kept."""
    sql("SET CONSTRAINTS ALL IMMEDIATE")  # tables with checks outstanding cannot be altered
    with undone():
        sql("RESET ROLE")
        yield
    sql(f"SET ROLE {walls.APP_ROLE}")


@pytest.fixture
def full(cast: Cast) -> Cast:
    fill(cast)
    return cast


# What is seen without the application's filter ------------------------------------------------------


def seen(model: type[models.Model]) -> list[int | None]:
    """Buildings of the rows that a query without any filter finds."""
    return list(model._base_manager.order_by().values_list("building", flat=True).distinct())


def gaps(home: Building) -> list[str]:
    """The check: tables whose rows, without the application's filter, are not the building's and no others.

    The rows without a building (jobs of scope all, notices of sign-in) are everybody's.
    """
    found = []
    for model in walls.tenant_models():
        go_outside()
        if set(seen(model)) - {None}:
            found.append(f"{model._meta.db_table} shows rows outside any building")
        with inside(home.uid):
            inside_home = set(seen(model)) - {None}
        if inside_home - {home.pk}:
            found.append(f"{model._meta.db_table} shows rows of another building")
        if home.pk not in inside_home:
            found.append(f"{model._meta.db_table} shows nothing of its own building")
    go_outside()
    return found


@postgresql
def test_without_the_applications_filter_each_table_shows_one_building_and_outside_none(full: Cast) -> None:
    with as_the_owner():
        for model in walls.tenant_models():
            assert {full.building.pk, full.elsewhere.pk} <= set(seen(model)), f"fill {model.__name__} in tests/filled"
    assert answer("SELECT current_user") == [(walls.APP_ROLE,)]
    assert gaps(full.building) == []
    assert gaps(full.elsewhere) == []
    print(f"tables walled: {len(walls.tenant_models())}")
    assert len(walls.tenant_models()) > 10


@postgresql
def test_a_connection_that_was_never_in_a_building_sees_none(cast_in_the_open: Cast) -> None:
    connection.close()
    assert Building._base_manager.count() == 0
    assert [m for m in walls.tenant_models() if set(seen(m)) - {None}] == []
    with inside(cast_in_the_open.building.uid) as here:
        assert list(Building._base_manager.all()) == [here]
        assert seen(Audit) == [here.pk]
    assert Building._base_manager.count() == 0, "the view ends with its block"


@postgresql
def test_an_account_sees_its_own_person_rows_and_their_buildings_and_nothing_else(full: Cast) -> None:
    account = full.resident.account
    assert account is not None
    go_outside()
    with tenancy.as_account(account):
        assert list(type(full.resident)._base_manager.all()) == [full.resident]
        assert list(Building._base_manager.all()) == [full.building]
        left = [m for m in walls.tenant_models() if m is not type(full.resident) and set(seen(m)) - {None}]
        assert left == []
        assert type(full.resident)._base_manager.update(name="Mallory") == 0, "for reading only"


@postgresql
@pytest.mark.parametrize("removal", ["DROP POLICY building ON {}", "ALTER TABLE {} DISABLE ROW LEVEL SECURITY"])
def test_taking_a_policy_away_turns_the_check_red(full: Cast, removal: str) -> None:
    for table in ("bins_contribution", "households_audit", "bins_decision"):
        with as_the_owner():
            sql(removal.format(table))
            sql(f"SET ROLE {walls.APP_ROLE}")
            red = gaps(full.building)
        assert red, f"{removal.format(table)} went by unseen"
        assert {fault.split()[0] for fault in red} == {table}
    assert gaps(full.building) == []


# What cannot be written -----------------------------------------------------------------------------


def refused(save: Callable[[], object], words: str) -> str:
    """Why it is wrong that a write was taken, or refused in other words; empty where all is well."""
    try:
        with undone():
            save()
    except DatabaseError as error:
        return "" if words in str(error) else f"refused by something else: {error}".splitlines()[0]
    return "taken"


def frozen_models() -> list[type[models.Model]]:
    tables = {table for table, operation in walls.frozen() if operation == "UPDATE"}
    return [m for m in walls.tenant_models() if m._meta.db_table in tables]


@postgresql
def test_a_row_carrying_another_building_is_refused_by_the_policy(full: Cast) -> None:
    policy, wrong = "row-level security policy", {}
    with inside(full.building.uid) as here:
        for model in walls.tenant_models():
            row = draft(model, here)
            row.building_id = full.elsewhere.pk  # type: ignore[attr-defined]
            move = f"UPDATE {model._meta.db_table} SET building_id = {full.elsewhere.pk}"
            wrong[f"insert {model.__name__}"] = refused(partial(row.save, force_insert=True), policy)
            words = "only added to" if model in frozen_models() else policy
            wrong[f"update {model.__name__}"] = refused(partial(sql, move), words)
            # Rows of the other building are not there to be changed or deleted.
            assert model._base_manager.filter(building=full.elsewhere).update(building=here) == 0
            assert model._base_manager.filter(building=full.elsewhere)._raw_delete("default") == 0
    assert {what: why for what, why in wrong.items() if why} == {}


@pytest.mark.embedded
def test_a_row_of_one_building_pointing_into_another_is_refused_by_the_key(full: Cast) -> None:
    tables = {model._meta.db_table: model for model in walls.tenant_models()}
    wrong, count = {}, 0
    with inside(full.elsewhere.uid) as there:
        foreign = {table: fresh(tables[table], there).pk for table in {key.parent for key in walls.keys()}}  # noqa: SIM118
    with inside(full.building.uid) as here:
        for key in walls.keys():  # noqa: SIM118
            count += 1
            model, name = tables[key.table], f"{key.table}.{key.column}"
            words = f"{key.table}_{key.column}_same_building"
            if connection.vendor == "sqlite":
                words = f"{name} points into another building"
            astray = draft(model, here, **{key.column: foreign[key.parent]})
            wrong[f"insert {name}"] = refused(partial(astray.save, force_insert=True), words)
            # The control: the same row pointing at home is taken, so it is the key that refused.
            home = fresh(tables[key.parent], here).pk
            row = draft(model, here, **{key.column: home})
            row.save(force_insert=True)
            turn = f"UPDATE {key.table} SET {key.column} = {foreign[key.parent]} WHERE id = {row.pk}"
            if model in frozen_models() and connection.vendor == "postgresql":
                words = "only added to"
            wrong[f"update {name}"] = refused(partial(sql, turn), words)
    print(f"keys between tables: {count}")
    assert {what: why for what, why in wrong.items() if why} == {}
    assert count > 30


@pytest.mark.embedded
def test_a_row_that_others_point_at_cannot_move_to_another_building(full: Cast) -> None:
    site = full.drum.site
    with inside(full.building.uid), pytest.raises(DatabaseError, match=r"building|policy"), undone():
        sql(f"UPDATE households_site SET building_id = {full.elsewhere.pk} WHERE id = {site.pk}")


@pytest.mark.embedded
def test_a_row_in_the_books_is_neither_changed_nor_deleted(full: Cast) -> None:
    with inside(full.building.uid):
        wrong = {
            change: refused(partial(sql, change), "only added to")
            for model in walls.ledger_models()
            for table in [model._meta.db_table]
            for change in (f"UPDATE {table} SET via = 'sheet'", f"DELETE FROM {table}")
        }
    assert {what: why for what, why in wrong.items() if why} == {}
    assert len(wrong) >= 8


@postgresql
def test_not_even_the_owner_changes_the_books_and_the_app_role_cannot_empty_or_alter_them(full: Cast) -> None:
    with as_the_owner(), pytest.raises(IntegrityError, match="only added to"), transaction.atomic():
        sql("DELETE FROM bins_contribution")
    for statement in (
        "TRUNCATE bins_contribution CASCADE",
        "ALTER TABLE bins_contribution DISABLE TRIGGER ALL",
        "DROP TRIGGER refuse_delete ON bins_contribution",
        "ALTER TABLE bins_contribution DISABLE ROW LEVEL SECURITY",
        "CREATE TABLE escape (x integer)",
        "SET session_replication_role = replica",
    ):
        with pytest.raises(ProgrammingError), undone():
            sql(statement)


@pytest.mark.embedded
def test_whose_a_row_is_cannot_be_changed_but_can_be_erased(full: Cast) -> None:
    with inside(full.building.uid) as here:
        for model in walls.tenant_models():
            if issubclass(model, Attribution):
                table, rows = model._meta.db_table, model._base_manager.filter(building=here)
                change = f"UPDATE {table} SET person_id = NULL"
                assert refused(partial(sql, change), "only added to") == "", table
                assert rows.exists(), table
                with undone():
                    sql(f"DELETE FROM {table} WHERE building_id = {here.pk}")
                    assert not rows.exists(), table


# Building the walls ---------------------------------------------------------------------------------


def what_stands() -> list[tuple[Any, ...]]:
    if connection.vendor == "sqlite":
        return answer("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name")
    return answer(
        "SELECT tablename, policyname, cmd || coalesce(qual, '') || coalesce(with_check, '') FROM pg_policies "
        "UNION SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint "
        "UNION SELECT tgrelid::regclass::text, tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal "
        "UNION SELECT relname, relrowsecurity::text, relacl::text FROM pg_class WHERE relkind = 'r' "
        "AND relnamespace = 'public'::regnamespace ORDER BY 1, 2, 3"
    )


@pytest.mark.embedded
@pytest.mark.django_db
def test_building_the_walls_again_changes_nothing() -> None:
    stood = what_stands()
    assert len(stood) > 20
    if connection.vendor == "postgresql":
        with as_the_owner():
            call_command("walls")
            call_command("walls")
            assert what_stands() == stood
    else:
        call_command("walls")
        call_command("walls")
        assert what_stands() == stood


@postgresql
@pytest.mark.django_db
def test_the_service_does_not_start_as_a_role_that_no_wall_holds() -> None:
    assert checks.the_second_wall_holds(databases=["default"]) == []
    with as_the_owner():
        (error,) = checks.the_second_wall_holds(databases=["default"])
    assert error.id == "coordinator.E001"
    assert "owns the tables" in error.msg
    assert checks.wall_faults(is_superuser=True, passes_policies=True, owns_tables=True) == [
        "is a super-user", "has BYPASSRLS", "owns the tables",
    ]  # fmt: skip


@postgresql
@pytest.mark.skipif("TEST_SUPER_DATABASE_URL" not in os.environ, reason="TEST_SUPER_DATABASE_URL is not set")
def test_a_test_run_as_a_super_user_is_refused() -> None:
    address = urlsplit(os.environ["TEST_SUPER_DATABASE_URL"])
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "xdist", "-n", "0", "--nomigrations",
         "tests/bins/intake/test_dropoff.py::test_a_counted_pail_is_kept_as_seen_and_as_grams_by_the_sites_own_density"],
        cwd=CHECKOUT,
        env=os.environ | {"DATABASE_URL": address._replace(path=f"/super_{uuid4().hex[:8]}").geturl()},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )  # fmt: skip
    assert run.returncode == 3, run.stdout + run.stderr
    assert "Refused: the tests are connected as a super-user, whom no wall holds." in run.stdout + run.stderr
    assert "passed" not in run.stdout


@postgresql
def test_the_policy_is_asked_once_a_query_and_not_once_a_row(full: Cast) -> None:
    with as_the_owner():
        blocks = Building.objects.bulk_create(Building(name="B", time_zone="UTC", created_at=NOW) for _ in range(200))
        sql(
            "INSERT INTO households_audit (building_id, uid, at, act, detail) SELECT b.id, gen_random_uuid(), now(), "
            "'x', '{}' FROM households_building b, generate_series(1, 200) WHERE b.name = 'B'"
        )
        sql("ANALYZE households_audit")
        sql("SET CONSTRAINTS ALL IMMEDIATE")
        home = blocks[7].pk
        sql(f"SET ROLE {walls.APP_ROLE}")
        sql("SELECT set_config('drums.buildings', %s, true)", str(home))
        for where in ("", f"WHERE building_id = {home}"):
            count = f"SELECT count(*) FROM households_audit {where}"
            assert answer(count) == [(200,)]
            lines = [line for (line,) in answer(f"EXPLAIN (VERBOSE, COSTS OFF) {count}")]
            asked = [i for i, line in enumerate(lines) if "current_setting" in line]
            planned = [i for i, line in enumerate(lines) if "SubPlan" in line or "InitPlan" in line or "Semi" in line]
            # The setting is read below the sub-plan, which is run once and hashed; rows only probe it.
            assert min(asked, default=-1) > min(planned, default=99), "\n".join(lines)
            assert any("hashed SubPlan" in line or "InitPlan" in line for line in lines), "\n".join(lines)
            assert not [line for line in lines if "Filter" in line and "current_setting" in line], "\n".join(lines)


# Pooled connections ---------------------------------------------------------------------------------


def everything(request: HttpRequest, here: Here | None = None) -> JsonResponse:
    """A view that forgot its filter."""
    return JsonResponse({"seen": sorted({*seen(Audit), *Building._base_manager.values_list("pk", flat=True)})})


urlpatterns = [
    door("everything/", everything, name="everything", get=Rule("see", "hatch")),
    path("outside/", everything, name="outside"),
]


@contextmanager
def pool_of_two() -> Iterator[None]:
    """Connections come from a pool of two, signed in as the app role itself: exactly as the service has them."""
    app, database = urlsplit(os.environ["TEST_APP_DATABASE_URL"]), connection.settings_dict
    before = dict(database)
    connection.close()
    database |= {"USER": app.username, "PASSWORD": app.password or ""}
    database["OPTIONS"] = {"pool": {"min_size": 2, "max_size": 2, "timeout": 30}}
    try:
        yield
    finally:
        connection.close()
        connection.close_pool()  # type: ignore[attr-defined]
        database |= before


def leaks(addresses: Iterable[tuple[str, list[int]]], threads: int = 4) -> tuple[int, int]:
    """(requests answered, answers with other buildings than expected), through the whole stack on threads."""
    application, rest, lock = get_internal_wsgi_application(), iter(list(addresses)), threading.Lock()
    answered, leaked = [], []

    def work() -> None:
        while True:
            with lock:
                address, expected = next(rest, ("", []))
            if not address:
                break
            environ = RequestFactory().get(address).environ
            response: Any = application(environ, lambda *_: None)
            body = b"".join(response)
            response.close()
            answered.append(response.status_code)
            if json.loads(body)["seen"] != expected:
                leaked.append(address)
        connections.close_all()

    workers = [threading.Thread(target=work) for _ in range(threads)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert set(answered) == {200}
    return len(answered), len(leaked)


def rounds(cast: Cast, count: int) -> list[tuple[str, list[int]]]:
    one, two = cast.building, cast.elsewhere
    each = [
        (f"/b/{one.uid}/everything/", [one.pk]),
        (f"/b/{two.uid}/everything/", [two.pk]),
        ("/outside/", []),
        (f"/b/{two.uid}/everything/", [two.pk]),
    ]
    return [each[n % 4] for n in range(count)]


@postgresql
@pytest.mark.skipif("TEST_APP_DATABASE_URL" not in os.environ, reason="TEST_APP_DATABASE_URL is not set")
@pytest.mark.urls("tests.test_walls")
def test_a_thousand_requests_of_two_buildings_over_two_pooled_connections_leak_nothing(
    cast_in_the_open: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pool_of_two():
        assert leaks(rounds(cast_in_the_open, 1000)) == (1000, 0)

    # The control: were the settings made for the session, the next request on the connection would see them.
    def for_the_session(name: str, value: str) -> None:
        sql("SELECT set_config(%s, %s, false)", name, value)

    monkeypatch.setattr(tenancy, "_set", for_the_session)
    with pool_of_two():
        answered, leaked = leaks(rounds(cast_in_the_open, 100))
    print(f"leaks with settings of the session: {leaked} of {answered}")
    assert leaked > 0
