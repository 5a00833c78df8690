"""Many reports at one moment: the tenth of a day is the last, since they are counted one by one under the lock."""

import datetime as dt
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

import pytest
from django.db import connection, transaction

from bins.cases import cases
from bins.cases.cases import MOST_A_DAY, PleasePhone, Report, receive
from bins.models import CaseReport
from households.models import Building
from households.tenancy import inside
from tests.cast import NOW, Cast

AT_ONCE = 14


def all_at_once(cast: Cast) -> int:
    """Reports that got in, of fourteen neighbours who press the button together."""
    start = threading.Barrier(AT_ONCE)

    def press() -> None:
        start.wait()
        try:
            with inside(cast.building.uid) as here:
                told = Report(uuid4(), "smell", None, "", "")
                receive(building=here, told=told, language="en", now=NOW)
        except PleasePhone:
            pass
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _number in range(AT_ONCE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    with inside(cast.building.uid) as here:
        return CaseReport.objects.within(here).count()


def test_of_fourteen_at_once_ten_get_in(cast_in_the_open: Cast) -> None:
    assert all_at_once(cast_in_the_open) == MOST_A_DAY


def test_without_the_lock_more_get_in(cast_in_the_open: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """The control: the race is real."""
    counted = threading.Barrier(AT_ONCE)

    @contextmanager
    def no_lock(building: Building) -> Iterator[None]:
        with transaction.atomic():
            yield

    def is_full(building: Building, now: dt.datetime) -> bool:
        found = CaseReport.objects.within(building).count() >= MOST_A_DAY
        counted.wait(60)
        return found

    monkeypatch.setattr(cases, "open_ledger", no_lock)
    monkeypatch.setattr(cases, "is_full", is_full)
    assert all_at_once(cast_in_the_open) == AT_ONCE
