"""What the service refuses to start with, beyond single settings."""

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.management.base import CommandError
from django.db import connection


def wall_faults(*, is_superuser: bool, passes_policies: bool, owns_tables: bool) -> list[str]:
    """Why row-level security would not hold for a database role; empty where it holds."""
    faults = []
    if is_superuser:
        faults.append("is a super-user")
    if passes_policies:
        faults.append("has BYPASSRLS")
    if owns_tables:
        faults.append("owns the tables")
    return faults


def role_facts() -> dict[str, bool]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rolsuper, rolbypassrls, EXISTS (SELECT 1 FROM pg_class c WHERE c.relowner = r.oid "
            "AND c.relname = 'households_building') FROM pg_roles r WHERE rolname = current_user"
        )
        is_superuser, passes_policies, owns_tables = cursor.fetchone()
    return {"is_superuser": is_superuser, "passes_policies": passes_policies, "owns_tables": owns_tables}


def refuse_the_owner() -> None:
    """For what serves or runs jobs: the owner role is for migrating and for looking across buildings."""
    if settings.AS_OWNER:
        raise CommandError("DATABASE_ROLE=owner is for migrate and walls; no wall holds the owner. Start without it.")


@register(Tags.database)
def the_second_wall_holds(databases: Any = None, **_: Any) -> list[CheckMessage]:
    if not databases or connection.vendor != "postgresql" or settings.AS_OWNER:
        return []
    if faults := wall_faults(**role_facts()):
        return [
            Error(
                f"The database role {' and '.join(faults)}: row-level security would not hold.",
                hint="Serve as the app role; see the runbook.",
                id="coordinator.E001",
            )
        ]
    return []
