"""Celery carries hints. All that it loses is found again by the poll, since a job is a database row."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")

from django.conf import settings

VISIBILITY_S = 3600
app = Celery("coordinator", broker=settings.REDIS_URL or "memory://", include=["coordinator.jobs.tasks"])
app.conf.update(
    task_ignore_result=True,
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_time_limit=900,  # below the visibility timeout, or a slow hint would be handed out twice
    # All three places, since each layer reads its own.
    visibility_timeout=VISIBILITY_S,
    broker_transport_options={
        "visibility_timeout": VISIBILITY_S,
        "socket_timeout": 10,
        "socket_connect_timeout": 5,
        "unacked_restore_interval": 10,
    },
    result_backend_transport_options={"visibility_timeout": VISIBILITY_S},
    broker_connection_retry_on_startup=True,
    worker_hijack_root_logger=False,
    beat_schedule={"hint": {"task": "coordinator.jobs.tasks.hint", "schedule": 15.0, "options": {"expires": 60}}},
)
