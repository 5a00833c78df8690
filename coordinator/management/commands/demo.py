from typing import Any

from django.core.management import BaseCommand
from django.utils import timezone

from coordinator import demo


class Command(BaseCommand):
    help = "Puts the invented block into an empty database; says so and does nothing where there are people."

    def handle(self, *args: Any, **options: Any) -> None:
        if not demo.is_empty():
            self.stdout.write("The database has people already; the invented block was not added.")
            return
        founded = demo.play(timezone.now())
        self.stdout.write(f"{founded.building.name} is there, with its last {demo.DAYS} days.")
