from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from coordinator.checks import role_facts, wall_faults
from coordinator.jobs.claim import retry_parked
from coordinator.jobs.run import run_due
from households.models import Job
from households.tenancy import has_second_wall

BEHIND = "The jobs of buildings are behind the wall for this role. With DATABASE_ROLE=owner all are seen."


class Command(BaseCommand):
    help = "Lists the jobs that are not done."

    def add_arguments(self, parser: ArgumentParser) -> None:
        act = parser.add_mutually_exclusive_group()
        act.add_argument("--as-of", metavar="INSTANT", help="run what is due at an instant with its offset, as a drill")
        act.add_argument("--retry", action="store_true", help="make parked jobs due again, with all their attempts")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["as_of"]:
            self.stdout.write(f"{run_all(instant(options['as_of']))} ran")
            return
        if options["retry"]:
            self.stdout.write(f"{retry_parked(timezone.now())} due again")
        else:
            for job in Job.objects.exclude(state=Job.State.DONE).order_by("wake_at", "scope", "name", "key"):
                self.stdout.write(line(job))
        if has_second_wall() and not wall_faults(**role_facts()):
            self.stderr.write(BEHIND)


def run_all(at: datetime) -> int:
    """Round after round, since one ends after a while."""
    ran = 0
    while now_ran := run_due(at):
        ran += now_ran
    return ran


def instant(text: str) -> datetime:
    try:
        at = parse_datetime(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise CommandError("A date and time with offset is needed, such as 2026-11-25T03:00:00+01:00.")
    return at


def line(job: Job) -> str:
    error = job.last_error.partition("\n")[0]
    tried = f"{job.wake_at:%Y-%m-%dT%H:%M:%SZ}  {job.attempts} tried"
    return f"{job.state:7} {tried}  {job.scope}  {job.name} {job.key}  {error}".rstrip()
