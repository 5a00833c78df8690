"""The whole building as a package, and a package as a building: everything that was ever written down, and who.

Export, import into a database without the building, export: the same bytes.
"""

from typing import Any
from uuid import UUID

from django.db import models, transaction

from households.kept_files import EXPORT
from households.models import Account, Building, Job, LedgerRow

from .. import rows, walls
from ..jobs.deliver import NAME as DELIVER
from .cells import cell, type_of, value_of
from .package import NoPackage, Resource, packed, unpacked

NAME = "compost-drums-building"
# Tables with a building that stand in no package, and why. A test compares this list with the models.
LEFT_OUT = {
    "households.ApiToken": "keys open doors: new ones are made where the building goes",
    "households.FeedKey": "keys open doors: new ones are made where the building goes",
    "households.Notice": "letters: what was to be sent was sent from where the building was",
    "bins.ForecastState": "made anew from the rows, and of no use to another version of the model",
    "households.RotaDraft": "drafts: plans between the look and the yes, which rest on what stood when they were made",
    "bins.ImportRun": "drafts: a file of sheets between the look and the yes",
    "households.KeptFile": "packages like this one",
    "households.Job, unless it is due": "what is done is done; what is promised stands in it",
}
FIELDS_LEFT_OUT = {
    # Whose houses there are is not the building's to tell; how it stood, its next night says again.
    Building: ("organisation", "need", "is_alive", "pulse", "pulse_at"),
    Job: ("building", "scope", "state", "token", "lease_until", "attempts", "last_error", "done_at"),
}


def models_in() -> list[type[models.Model]]:
    """The models of a package, each after those that it points at."""
    return rows.in_order(model for model in walls.tenant_models() if model._meta.label not in LEFT_OUT)


def resource_name(model: type[models.Model]) -> str:
    return model._meta.label_lower.replace(".", "-")


def export(building: Building) -> bytes:
    """The package. Call inside the building; two queries a table at most."""
    return packed(NAME, building.uid, building.name, LEFT_OUT, resources(building))


def resources(building: Building) -> list[Resource]:
    accounts = Account.objects.filter(people__building=building)
    names: rows.Names = {Account: dict(accounts.values_list("pk", "email"))}
    tables = [rows.table(Building, [building], names, FIELDS_LEFT_OUT[Building])]
    for model in models_in():
        found = model._base_manager.filter(building=building).order_by(_order(model))
        if model is Job:
            found = found.filter(state__in=[Job.State.DUE, Job.State.RUNNING]).exclude(name__in=[DELIVER, EXPORT])
        tables.append(rows.table(model, found, names, FIELDS_LEFT_OUT.get(model, ())))
    return [resource_of(table) for table in tables]


def bring_in(content: bytes) -> UUID:
    """Write a packed building into a database that does not have it, in one transaction; its uid.

    NoPackage for what is none; IntegrityError where the building is there already.
    """
    descriptor, told = unpacked(content)
    if descriptor.get("name") != NAME:
        raise NoPackage("This package is not of a whole building.")
    parents_first: list[type[models.Model]] = [Building, *models_in()]
    tables = [_table(model, told) for model in parents_first]
    uid = UUID(descriptor["id"])
    keys: rows.Keys = {}
    with transaction.atomic():
        keys[Account] = _accounts(tables)
        for table in tables:
            rows.insert(table, keys, _values(uid))
    return uid


def _order(model: type[models.Model]) -> str:
    if issubclass(model, LedgerRow):
        return "ledger_number"
    return "wake_at" if model is Job else "uid"


def resource_of(table: rows.Table) -> Resource:
    fields = [table.model._meta.get_field(name) for name in table.fields[1:]]
    kind = {"type": "string"} if table.model is Job else {"type": "string", "format": "uuid"}
    lines = [
        [row[0], *(cell(field, value) for field, value in zip(fields, row[1:], strict=True))]
        for row in table.rows.values()
    ]
    return Resource(
        name=resource_name(table.model),
        fields=({"name": "uid", **kind}, *({"name": field.name, **type_of(field)} for field in fields)),
        rows=sorted(lines) if table.model is Job else lines,
        primary_key="uid",
        foreign_keys=tuple(
            {
                "fields": [field.name],
                "reference": {
                    "resource": "" if field.related_model is table.model else resource_name(field.related_model),
                    "fields": ["uid"],
                },
            }
            for field in fields
            if isinstance(field, models.ForeignKey) and field.related_model is not Account
        ),
    )


def _table(model: type[models.Model], told: dict[str, list[dict[str, str]]]) -> rows.Table:
    """A model's rows out of a package: every field of it, and no other."""
    fields = rows.fields_of(model, FIELDS_LEFT_OUT.get(model, ()))
    names = [field.name for field in fields]
    try:
        lines = told[resource_name(model)]
        found = {line["uid"]: [line["uid"], *(value_of(field, line[field.name]) for field in fields)] for line in lines}
    except (KeyError, ValueError, TypeError) as error:
        raise NoPackage(f"{resource_name(model)}: {error} is missing or is not a value.") from None
    return rows.Table(model, ("uid", *names), found)


def _accounts(tables: list[rows.Table]) -> dict[str, int]:
    """Accounts of the people, by address; made where there is none, without a password: sign-in is by mailed code."""
    emails = {
        row[table.fields.index("account")]
        for table in tables
        if "account" in table.fields
        for row in table.rows.values()
    }
    found = {}
    for email in sorted(filter(None, emails)):
        account = Account.objects.filter(email__iexact=email).first() or Account.objects.create_user(email)
        found[email] = account.pk
    return found


def _values(uid: UUID) -> rows.Values:
    def values(model: type[models.Model], row: rows.Row, fields: list[Any], keys: rows.Keys) -> dict[str, Any]:
        found = {field.attname: rows.read(field, value, keys) for field, value in zip(fields, row[1:], strict=True)}
        if model is Building:
            return found | {"uid": UUID(row[0])}
        if model is Job:
            return found | {"building_id": keys[Building][str(uid)], "scope": str(uid)}
        return found | {"building_id": keys[Building][str(uid)], "uid": UUID(row[0])}

    return values
