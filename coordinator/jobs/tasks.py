"""The Celery side: a message says no more than "look whether something is due"."""

from celery import shared_task
from django.utils import timezone

from .run import run_due

AT_ONCE = 100


@shared_task(ignore_result=True)  # type: ignore[untyped-decorator]
def hint() -> int:
    """Run what is due. Where a full load was run there may be more: hint again, so that other workers share it."""
    ran = run_due(timezone.now(), limit=AT_ONCE)
    if ran >= AT_ONCE:
        hint.delay()
    return ran
