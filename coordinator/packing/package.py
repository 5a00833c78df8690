"""A Frictionless data package: datapackage.json and CSV files in one zip. The same rows give the same bytes."""

import csv
import hashlib
import io
import json
import zipfile
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

SCHEMA = "https://datapackage.org/profiles/2.0/datapackage.json"
DESCRIPTOR = "datapackage.json"
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the first instant that a zip can tell: no clock in the bytes

MOST_UNPACKED_BYTES = 1_000_000_000  # chosen: a hundred buildings with twenty years of photos are less
MOST_CELL_LETTERS = 1_000_000  # a photo of 200 kB in base64 has 267,000


class NoPackage(Exception):
    """The file is not such a package, or not whole. Nothing was done with it."""


@dataclass(frozen=True)
class Resource:
    """One table: its fields as Frictionless describes them, and its rows as cells."""

    name: str
    fields: tuple[dict[str, Any], ...]
    rows: Sequence[Sequence[str]]
    primary_key: str = ""
    foreign_keys: tuple[dict[str, Any], ...] = ()


def packed(name: str, building: UUID, title: str, left_out: dict[str, str], resources: Iterable[Resource]) -> bytes:
    """The zip. `left_out`: what does not stand in it, and why."""
    files = [(resource, _csv(resource)) for resource in resources]
    descriptor = {
        "$schema": SCHEMA,
        "name": name,
        "id": str(building),
        "title": title,
        "description": (
            "Times are in UTC, amounts in the unit that their column names. A text that a program could take for a "
            "formula has an apostrophe before it; the first apostrophe of a text is never part of it."
        ),
        "leftOut": left_out,
        "resources": [_described(resource, content) for resource, content in files],
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        told = json.dumps(descriptor, ensure_ascii=False, indent=1, sort_keys=True).encode()
        for path, content in [(DESCRIPTOR, told), *((_path(resource), content) for resource, content in files)]:
            entry = zipfile.ZipInfo(path, LONG_AGO)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # the same on every machine
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return out.getvalue()


def unpacked(content: bytes) -> tuple[dict[str, Any], dict[str, list[dict[str, str]]]]:
    """The descriptor, and each table's rows by heading. NoPackage where something is missing or was changed."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MOST_UNPACKED_BYTES:
                raise NoPackage("It would unfold to more than any building has.")
            descriptor: dict[str, Any] = json.loads(archive.read(DESCRIPTOR))
            found = {}
            for told in descriptor["resources"]:
                read = archive.read(told["path"])
                if told["hash"] != _hash(read):
                    raise NoPackage(f"{told['path']} is not as it was written.")
                found[told["name"]] = _rows(read.decode())
    except (zipfile.BadZipFile, zlib.error, csv.Error, KeyError, TypeError, ValueError, RecursionError) as error:
        raise NoPackage(f"This is no data package, or a part of it is missing: {error}") from None
    return descriptor, found


def _rows(text: str) -> list[dict[str, str]]:
    before = csv.field_size_limit(MOST_CELL_LETTERS)  # one for all of the process, and too small for a photo
    try:
        return list(csv.DictReader(io.StringIO(text, newline="")))
    finally:
        csv.field_size_limit(before)


def _csv(resource: Resource) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([field["name"] for field in resource.fields])
    writer.writerows(resource.rows)
    return out.getvalue().encode()


def _described(resource: Resource, content: bytes) -> dict[str, Any]:
    schema: dict[str, Any] = {"fields": list(resource.fields), "missingValues": [""]}
    if resource.primary_key:
        schema["primaryKey"] = [resource.primary_key]
    if resource.foreign_keys:
        schema["foreignKeys"] = list(resource.foreign_keys)
    return {
        "name": resource.name,
        "path": _path(resource),
        "type": "table",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": _hash(content),
        "schema": schema,
    }


def _path(resource: Resource) -> str:
    return f"data/{resource.name}.csv"


def _hash(content: bytes) -> str:
    return f"sha256:{hashlib.sha256(content).hexdigest()}"
