"""The loop for due jobs alone, for worker machines: what Celery's messages miss, this finds."""

import signal
from typing import Any

from django.core.checks import Tags
from django.core.management.base import BaseCommand

from coordinator.checks import refuse_the_owner
from coordinator.jobs.loop import jobs_until_told_to_end


class Command(BaseCommand):
    help = "Runs due jobs every few seconds, until Ctrl-C."

    def handle(self, *args: Any, **options: Any) -> None:
        refuse_the_owner()
        self.check(tags=[Tags.database], databases=["default"])  # the walls hold the role that we are
        with jobs_until_told_to_end():
            while True:
                signal.pause()
