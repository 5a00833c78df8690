"""Copies of a migrated database, for processes that are not the test's own and may be killed."""

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg
from django.db import connection

TRIES = 5  # the server itself waits 5 s for a connection that is just ending, each time


def administration() -> Any:
    """The owner's connection beside all test databases."""
    return psycopg.connect(os.environ["TEST_DATABASE_URL"], autocommit=True)


def copy(vendor: str, source: str, target: str) -> None:
    if vendor == "sqlite":
        with contextlib.closing(sqlite3.connect(source)) as old, contextlib.closing(sqlite3.connect(target)) as new:
            old.backup(new)
        return
    _once_nobody_is_there(f'CREATE DATABASE "{target}" TEMPLATE "{source}"')


def _once_nobody_is_there(statement: str) -> None:
    with administration() as admin:
        for left in reversed(range(TRIES)):
            try:
                admin.execute(statement)
                return
            except psycopg.errors.ObjectInUse:
                if not left:
                    raise


def drop(vendor: str, name: str) -> None:
    if vendor == "sqlite":
        for end in ("", "-wal", "-shm"):
            Path(name + end).unlink(missing_ok=True)
        return
    # Not WITH (FORCE): that would end the server's own housekeeping, which the owner may not.
    _once_nobody_is_there(f'DROP DATABASE IF EXISTS "{name}"')


def new_name(vendor: str, folder: Path) -> str:
    name = f"copy_{uuid4().hex[:12]}"
    return str(folder / f"{name}.sqlite3") if vendor == "sqlite" else name


@contextlib.contextmanager
def copied(vendor: str, source: str, folder: Path) -> Iterator[str]:
    """A copy of a database that nobody is connected to; it is dropped at the end."""
    name = new_name(vendor, folder)
    copy(vendor, source, name)
    try:
        yield name
    finally:
        drop(vendor, name)


@contextlib.contextmanager
def copy_of_the_test_database(folder: Path) -> Iterator[str]:
    """Of this test's own, as it is committed: the test needs `transactional_db`."""
    source = str(connection.settings_dict["NAME"])
    connection.close()
    with copied(connection.vendor, source, folder) as name:
        yield name


def service_environment(vendor: str, name: str, folder: Path) -> dict[str, str]:
    """What a process of the service is told to serve from that database, behind both walls."""
    if vendor == "sqlite":
        url = f"sqlite:///{name}"
    else:
        parts = urlsplit(os.environ["TEST_APP_DATABASE_URL"])
        url = urlunsplit((*parts[:2], f"/{name}", *parts[3:]))
    return {"DATABASE_URL": url, "DATA_DIR": str(folder), "SECRET_KEY": os.environ["SECRET_KEY"]}
