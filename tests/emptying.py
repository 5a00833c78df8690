"""Emptying the tables after a test that committed, which neither the app role nor the triggers allow."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.apps import apps
from django.db import connection, transaction

from coordinator import walls
from coordinator.rows import in_order

STAYING = {"contenttypes", "auth"}  # the framework's lists of models and permissions: alike in every test, slow to fill
MANY = 5_000  # rows from which on new files for all tables are quicker than deleting


def empty_tables() -> None:
    models = in_order(m for m in apps.get_models(include_auto_created=True) if m._meta.app_label not in STAYING)
    tables = [model._meta.db_table for model in reversed(models)]  # what points at others first
    on_postgresql = connection.vendor == "postgresql"
    with transaction.atomic(), connection.cursor() as cursor:
        if on_postgresql:
            cursor.execute("SET LOCAL ROLE NONE")  # the owner, who signed in, until this transaction ends
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # or what waits would keep the triggers as they are
        cursor.execute(" UNION ALL ".join(f"SELECT '{table}', count(*) FROM {table}" for table in tables))
        counts = {table: count for table, count in cursor.fetchall() if count}
        if on_postgresql and sum(counts.values()) > MANY:
            cursor.execute(f"TRUNCATE {', '.join(tables)}")
            return
        with _thawed([table for table, operation in walls.frozen() if operation == "DELETE" and table in counts]):
            for table in filter(counts.__contains__, tables):
                cursor.execute(f"DELETE FROM {table}")


@contextmanager
def _thawed(tables: list[str]) -> Iterator[None]:
    """Tables of the ledger without the trigger that refuses to delete."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for table in tables:
                cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER refuse_delete")
            yield
            for table in tables:
                cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER refuse_delete")
            return
        wanted = {f"{table}_refuse_delete" for table in tables}
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = {name: sql for name, sql in cursor.fetchall() if name in wanted}
        for name in triggers:
            cursor.execute(f"DROP TRIGGER {name}")
        yield
        for sql in triggers.values():
            cursor.execute(sql)
