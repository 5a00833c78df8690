"""The second wall: what the database itself refuses, built after every migration, as often as one likes.

PostgreSQL: row-level security on every table with a building, keys that carry the building, grants for the
app role, append-only triggers. SQLite: the same keys and triggers by trigger, since its table rebuilds drop
triggers and it has no policies.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.apps import apps
from django.db import connection, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from households.models import Attribution, Building, Job, LedgerRow, Notice, OrganisationRole, TenantModel

APP_ROLE = "app"
HERE = "SELECT unnest(string_to_array(NULLIF(current_setting('drums.buildings', true), ''), ',')::bigint[])"
DOOR = "SELECT NULLIF(current_setting('drums.door', true), '')::uuid"
ACCOUNT = "SELECT NULLIF(current_setting('drums.account', true), '')::bigint"


def tenant_models() -> list[type[models.Model]]:
    """Every model with a building, historical or not, in a fixed order."""
    return sorted(
        (m for m in apps.get_models() if issubclass(m, TenantModel) or m in (Job, Notice)),
        key=lambda m: m._meta.db_table,
    )


def ledger_models() -> list[type[LedgerRow]]:
    return [m for m in tenant_models() if issubclass(m, LedgerRow)]


@dataclass(frozen=True)
class Key:
    """A reference from one tenant table to another; both ends must lie in one building."""

    table: str
    column: str
    parent: str


def keys() -> Iterator[Key]:
    for model in tenant_models():
        for field in model._meta.local_fields:
            if isinstance(field, models.ForeignKey) and issubclass(field.related_model, TenantModel):
                yield Key(model._meta.db_table, field.column, field.related_model._meta.db_table)


def policies() -> dict[str, dict[str, str]]:
    """Table -> policy name -> SQL of the policy after its name."""
    found: dict[str, dict[str, str]] = {}
    for model in tenant_models():
        own = f"building_id IN ({HERE})"
        if model in (Job, Notice):
            own = f"(building_id IS NULL OR {own})"
        found[model._meta.db_table] = {"building": f"USING ({own}) WITH CHECK ({own})"}
    person = "households_person"
    found[person]["account"] = f"FOR SELECT USING (account_id = ({ACCOUNT}))"
    found[Building._meta.db_table] = {
        # A building is found by its uid, which is the door, or by the people of an account in it.
        "building": f"USING (uid = ({DOOR}) OR id IN ({HERE})) WITH CHECK (uid = ({DOOR}) OR id IN ({HERE}))",
        "account": f"FOR SELECT USING (id IN (SELECT building_id FROM {person} WHERE account_id = ({ACCOUNT})))",
        # Or by who acts for the organisation that looks after it: its own row, and nothing that is in it.
        "organisation": "FOR SELECT USING (organisation_id IN (SELECT organisation_id FROM "
        f"{OrganisationRole._meta.db_table} WHERE account_id = ({ACCOUNT})))",
    }
    return found


DUE_JOBS = """
CREATE OR REPLACE FUNCTION due_jobs(as_of timestamptz, most integer)
RETURNS TABLE (scope varchar, name varchar, key varchar)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
    SELECT j.scope, j.name, j.key FROM households_job j
    WHERE (j.state = 'due' AND j.wake_at <= as_of) OR (j.state = 'running' AND j.lease_until <= as_of)
    ORDER BY j.wake_at, j.scope, j.name, j.key LIMIT most
$$
"""

APPEND_ONLY = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is only added to: reverse the row instead', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def frozen() -> list[tuple[str, str]]:
    """(table, operation) pairs that are refused: the ledger wholly, attribution against change only."""
    pairs = [(m._meta.db_table, op) for m in ledger_models() for op in ("UPDATE", "DELETE")]
    return pairs + [(m._meta.db_table, "UPDATE") for m in tenant_models() if issubclass(m, Attribution)]


def build() -> None:
    """Build both walls anew on the current database, in one transaction."""
    with transaction.atomic():
        statements = _postgresql() if connection.vendor == "postgresql" else _sqlite()
        with connection.cursor() as cursor:
            for statement in statements:
                cursor.execute(statement)


def make_way(on: BaseDatabaseWrapper) -> None:
    """Take SQLite's triggers down for a migration; `build` puts them up again. Nothing on PostgreSQL."""
    if on.vendor != "sqlite":
        return
    with transaction.atomic(using=on.alias), on.cursor() as cursor:
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {on.ops.quote_name(name)}")


def _postgresql() -> Iterator[str]:
    yield f"GRANT USAGE ON SCHEMA public TO {APP_ROLE}"
    yield f"GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {APP_ROLE}"
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {APP_ROLE}"
    if "django_migrations" in connection.introspection.table_names():  # tests may do without
        yield f"REVOKE ALL ON django_migrations FROM {APP_ROLE}"
        yield f"GRANT SELECT ON django_migrations TO {APP_ROLE}"
    for table, wanted in policies().items():
        yield f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY"
        for name, clause in wanted.items():
            yield f"DROP POLICY IF EXISTS {name} ON {table}"
            yield f"CREATE POLICY {name} ON {table} {clause}"
    all_keys = list(keys())
    for key in all_keys:
        yield f"ALTER TABLE {key.table} DROP CONSTRAINT IF EXISTS {key.table}_{key.column}_same_building"
    for parent in sorted({key.parent for key in all_keys}):
        yield f"ALTER TABLE {parent} DROP CONSTRAINT IF EXISTS {parent}_in_building"
        yield f"ALTER TABLE {parent} ADD CONSTRAINT {parent}_in_building UNIQUE (building_id, id)"
    for key in all_keys:
        yield (
            f"ALTER TABLE {key.table} ADD CONSTRAINT {key.table}_{key.column}_same_building "
            f"FOREIGN KEY (building_id, {key.column}) REFERENCES {key.parent} (building_id, id)"
        )
    yield DUE_JOBS
    yield "REVOKE ALL ON FUNCTION due_jobs(timestamptz, integer) FROM PUBLIC"
    yield f"GRANT EXECUTE ON FUNCTION due_jobs(timestamptz, integer) TO {APP_ROLE}"
    yield APPEND_ONLY
    for table, operation in frozen():
        yield f"DROP TRIGGER IF EXISTS refuse_{operation.lower()} ON {table}"
        yield (
            f"CREATE TRIGGER refuse_{operation.lower()} BEFORE {operation} ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )


def _sqlite() -> Iterator[str]:
    for table, operation in frozen():
        name = f"{table}_refuse_{operation.lower()}"
        yield f"DROP TRIGGER IF EXISTS {name}"
        yield (
            f"CREATE TRIGGER {name} BEFORE {operation} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is only added to: reverse the row instead'); END"
        )
    for model in tenant_models():
        # What others point at must not leave either; PostgreSQL's keys look from both ends, a trigger from one.
        table = model._meta.db_table
        yield f"DROP TRIGGER IF EXISTS {table}_stays"
        yield (
            f"CREATE TRIGGER {table}_stays BEFORE UPDATE OF building_id ON {table} "
            f"WHEN NEW.building_id IS NOT OLD.building_id "
            f"BEGIN SELECT RAISE(ABORT, 'a row of {table} stays in its building'); END"
        )
    for key in keys():
        for moment in ("INSERT", f"UPDATE OF building_id, {key.column}"):
            name = f"{key.table}_{key.column}_{moment.split()[0].lower()}_same_building"
            yield f"DROP TRIGGER IF EXISTS {name}"
            yield (
                f"CREATE TRIGGER {name} BEFORE {moment} ON {key.table} "
                f"WHEN NEW.{key.column} IS NOT NULL AND NOT EXISTS (SELECT 1 FROM {key.parent} "
                f"WHERE id = NEW.{key.column} AND building_id = NEW.building_id) "
                f"BEGIN SELECT RAISE(ABORT, '{key.table}.{key.column} points into another building'); END"
            )
