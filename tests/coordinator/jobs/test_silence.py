"""The broker is silent, or forgets everything: pages are served, jobs run, nothing is lost."""

import contextlib
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection
from django.utils import timezone

from coordinator.celery import app
from coordinator.jobs.tasks import hint
from households.models import Notice
from tests.cast import Cast
from tests.running import (
    CHECKOUT,
    ProcessGroup,
    accepting_but_silent_server,
    celery_worker,
    clean_environment,
    free_port,
    status_of,
    wait_until,
)

from .databases import copy_of_the_test_database, service_environment

BIN = Path(sys.executable).parent


@pytest.fixture
def service(cast_in_the_open: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, str]]:
    """The environment of a service on a database of its own, to which this test is connected as well."""
    (tmp_path / "static").mkdir()
    with copy_of_the_test_database(tmp_path) as name, monkeypatch.context() as patch:
        patch.setitem(connection.settings_dict, "NAME", name)
        yield service_environment(connection.vendor, name, tmp_path)
        connection.close()


def post_code() -> Notice:
    return Notice.post(
        building=None,
        kind="sign-in",
        to="imani@quince-court.invalid",
        subject="Code",
        body="K7Q2-M4XD",
        due_at=timezone.now(),
    )


def wait_until_sent(notice: Notice, by: ProcessGroup) -> None:
    def is_sent() -> bool:
        by.must_be_alive()
        notice.refresh_from_db()
        return notice.sent_at is not None

    wait_until(is_sent, timeout=30, what=by.said)
    assert notice.body == ""


@pytest.mark.embedded
def test_with_a_silent_broker_pages_are_served_without_a_connection_to_it_and_jobs_run_by_polling(
    service: dict[str, str],
) -> None:
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    with accepting_but_silent_server() as silent:
        environment = clean_environment({**service, "REDIS_URL": silent.redis_url, "PORT": str(port)})
        manage = [sys.executable, "manage.py"]
        if connection.vendor == "sqlite":  # the one-process default: the loop is a thread of it
            commands = [[*manage, "serve"]]
        else:  # as the units in deploy/ run them
            gunicorn = [str(BIN / "gunicorn"), "coordinator.wsgi:application", "--bind", f"127.0.0.1:{port}"]
            commands = [[*gunicorn, "--worker-class", "gthread", "--threads", "4"], [*manage, "poll"]]
        with contextlib.ExitStack() as stack:
            groups = [stack.enter_context(ProcessGroup(command, cwd=CHECKOUT, env=environment)) for command in commands]

            def is_well() -> bool:
                for group in groups:
                    group.must_be_alive()
                return status_of(f"{url}/healthz") == 200  # a canary sang

            wait_until(is_well, timeout=40, what=lambda: "\n".join(group.said() for group in groups))
            notice = post_code()
            wait_until_sent(notice, groups[-1])
            assert "K7Q2-M4XD" in groups[-1].said(), "mail is printed where no server is set"
            pages = ("/", "/sign-in/", "/setup/")
            assert [status_of(url + page) for page in pages] == [200] * 3
            assert silent.connections == 0
            assert status_of(silent.redis_url.replace("redis:", "http:"), timeout=0.3) == 0
            assert silent.connections == 1, "the silent server does not count"


@contextlib.contextmanager
def redis_of_our_own(folder: Path) -> Iterator[str]:
    """One that may be emptied without taking anything from other tests."""
    port = free_port()
    command = ["redis-server", "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--dir", str(folder)]
    with ProcessGroup(command, cwd=folder, env=clean_environment({})):
        yield f"redis://127.0.0.1:{port}/0"


def publish_hint(redis_url: str) -> None:
    """As beat does."""
    with app.connection_for_write(redis_url) as broker:
        hint.apply_async(connection=broker)


def test_a_worker_runs_a_hint_and_an_emptied_redis_loses_nothing(service: dict[str, str], tmp_path: Path) -> None:
    if shutil.which("redis-server") is None or connection.vendor == "sqlite":
        pytest.skip("with Redis and PostgreSQL")
    import redis

    with redis_of_our_own(tmp_path) as url:
        client = redis.Redis.from_url(url)
        # A hint that nobody has taken yet, and all of Redis, are lost. The job is a row.
        notice = post_code()
        publish_hint(url)
        assert client.llen("celery") == 1
        client.flushall()
        assert client.llen("celery") == 0
        with celery_worker({**service, "REDIS_URL": url}) as worker:
            client.flushall()  # and once more under a running worker
            notice.refresh_from_db()
            assert notice.sent_at is None
            publish_hint(url)
            wait_until_sent(notice, worker)
        client.close()
