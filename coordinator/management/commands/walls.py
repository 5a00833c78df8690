from typing import Any

from django.core.management import BaseCommand, call_command

from coordinator import walls


class Command(BaseCommand):
    help = "Builds policies, keys, grants and append-only triggers. Run after every migrate; repeat at will."

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("createcachetable", verbosity=0)
        walls.build()
        if options["verbosity"] > 1:
            self.stdout.write("The walls stand.")
