"""How tests meet the database: as the app role, behind both walls, exactly as the service does.

On PostgreSQL the test database is made by its owner; then every connection takes the app role. A run that
passed the walls by (a super-user, the owner) would be green without any wall, so it is refused.
"""

import gc
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase
from django.utils import translation

from coordinator import walls
from coordinator.checks import role_facts, wall_faults

from .cast import Cast, cast_of_two_blocks
from .emptying import empty_tables
from .kept import Kept


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A long one that begins last would keep one worker busy and the others waiting."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_collection_finish() -> None:
    """What stands now stays to the end. Looking through it for garbage again and again is a twelfth of a run."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    database = connection.settings_dict
    database["OPTIONS"].pop("pool", None)  # a pool outlives the test database that it points to
    if connection.vendor == "sqlite":
        # A file, since a database in memory knows nothing of WAL, nor of two connections.
        worker = os.environ.get("PYTEST_XDIST_WORKER", "main")
        database["TEST"]["NAME"] = str(Path(settings.DATA_DIR) / f"test_{worker}.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    try:
        with django_db_blocker.unblock():
            walls.build()
            if connection.vendor == "postgresql":
                connection.close()
                connection.settings_dict["OPTIONS"]["assume_role"] = walls.APP_ROLE
                refuse_a_run_that_passes_the_walls_by()
        yield
    finally:  # after a refusal too, or the app role would be asked to drop the test database
        if connection.vendor == "postgresql":
            with django_db_blocker.unblock():
                connection.close()
                connection.settings_dict["OPTIONS"].pop("assume_role", None)
                # The last thread of a live server may still hold a connection, which would keep the database.
                with connection.cursor() as cursor:
                    cursor.execute(
                        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                        "WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()"
                    )
                connection.close()


def refuse_a_run_that_passes_the_walls_by() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = session_user")
        if cursor.fetchone()[0]:
            pytest.exit("Refused: the tests are connected as a super-user, whom no wall holds.", returncode=3)
    if faults := wall_faults(**role_facts()):
        pytest.exit(f"Refused: the test role {' and '.join(faults)}; no wall would hold it.", returncode=3)


@pytest.fixture(scope="session", autouse=True)
def _folder_of_static_files() -> None:
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)  # deploy/start makes it; its lack is a warning


@pytest.fixture(scope="session", autouse=True)
def _tables_emptied_as_the_owner() -> Iterator[None]:
    """After each transactional test."""
    flush = TransactionTestCase._fixture_teardown
    TransactionTestCase._fixture_teardown = lambda self: empty_tables()  # type: ignore[method-assign]
    yield
    TransactionTestCase._fixture_teardown = flush  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def kept_cast(django_db_setup: None, django_db_blocker: Any) -> Kept[Cast]:
    with django_db_blocker.unblock():
        return Kept(cast_of_two_blocks)


@pytest.fixture
def cast(kept_cast: Kept[Cast], db: None) -> Cast:
    return kept_cast.put_back()


@pytest.fixture
def cast_in_the_open(transactional_db: None) -> Cast:
    """The same cast, committed: for threads, processes and servers that must see it."""
    return cast_of_two_blocks()


@pytest.fixture(autouse=True)
def _in_english() -> Iterator[None]:
    """A request in another language leaves that language behind in its thread."""
    with translation.override("en"):
        yield
