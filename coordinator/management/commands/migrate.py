from typing import Any

from django.core.management.commands import migrate
from django.db import connections

from coordinator import walls


class Command(migrate.Command):
    """Django's own, on tables that nothing else holds on to.

    SQLite changes a table by making it anew, which fails as long as triggers of other tables name it.
    """

    help = f"{migrate.Command.help} Afterwards always run walls."

    def handle(self, *args: Any, **options: Any) -> str | None:
        if not (options["check_unapplied"] or options["plan"]):
            walls.make_way(connections[options["database"]])
        result: str | None = super().handle(*args, **options)
        return result
