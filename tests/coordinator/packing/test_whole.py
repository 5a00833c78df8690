"""A building out of one database and into another: nothing is lost, and nothing hangs on keys or clocks."""

import csv
import datetime as dt
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, models, transaction

from bins.months.calendar import Period
from bins.months.figures import figures
from coordinator import walls
from coordinator.demo import frozen
from coordinator.demo.block import UID
from coordinator.packing import package, whole
from coordinator.packing.cells import cell, value_of
from coordinator.packing.package import NoPackage, Resource, unpacked
from households.models import Building, Household, Job, LedgerRow, Person
from households.tenancy import inside
from tests.cast import Cast, cast_of_two_blocks
from tests.filled import fill, go_outside

pytestmark = pytest.mark.embedded


def packed(uid: Any) -> bytes:
    with inside(uid) as here:
        return whole.export(here)


def parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def rows_in(content: bytes, model: type[models.Model]) -> list[dict[str, str]]:
    told = parts(content)[f"data/{whole.resource_name(model)}.csv"].decode()
    return list(csv.DictReader(io.StringIO(told, newline="")))


def test_export_import_export_gives_the_same_bytes(db: None) -> None:
    """With a row of every table; the import goes into a database that has never had the building."""
    with transaction.atomic():
        cast = cast_of_two_blocks()
        fill(cast)
        uid, before = cast.building.uid, packed(cast.building.uid)
        transaction.set_rollback(True)
    go_outside()
    assert not Building.objects.filter(uid=uid).exists()
    assert whole.bring_in(before) == uid
    after = packed(uid)
    filled = [model for model in whole.models_in() if rows_in(before, model)]
    assert filled == whole.models_in(), "a table without a row proves nothing"
    differing = [name for name, content in parts(before).items() if parts(after)[name] != content]
    assert differing == []
    assert after == before


def test_eighteen_months_come_back_with_the_same_figures(db: None) -> None:
    year = Period(dt.date(2026, 1, 1), 12)
    with transaction.atomic():
        frozen.load()
        before = packed(UID)
        with inside(UID) as here:
            told = figures(here, year)
        transaction.set_rollback(True)
    go_outside()
    whole.bring_in(before)
    with inside(UID) as here:
        assert figures(here, year) == told
        assert told.has_data
    assert packed(UID) == before


def test_every_table_stands_in_the_package_or_on_the_list_with_a_reason() -> None:
    labels = {model._meta.label for model in walls.tenant_models()}
    inside_ = {model._meta.label for model in whole.models_in()}
    outside = {label for label in whole.LEFT_OUT if "," not in label}
    assert inside_ | outside == labels
    assert not inside_ & outside
    assert all(whole.LEFT_OUT.values())


def test_no_column_of_text_is_ever_null() -> None:
    """Or an empty cell could be either."""
    texts = [f for model in whole.models_in() for f in model._meta.fields if isinstance(f, models.CharField)]
    assert [str(field) for field in texts if field.null] == []


def test_no_internal_key_stands_in_it_and_each_reference_is_kept(cast: Cast) -> None:
    fill(cast)
    content = packed(cast.building.uid)
    go_outside()
    descriptor = json.loads(parts(content)["datapackage.json"])
    uids = {one["name"]: {row["uid"] for row in _read(content, one["path"])} for one in descriptor["resources"]}
    checked = 0
    for one in descriptor["resources"]:
        names = [field["name"] for field in one["schema"]["fields"]]
        assert not {"id", "building", "building_id"} & set(names)
        for key in one["schema"].get("foreignKeys", ()):
            (name,), parent = key["fields"], key["reference"]["resource"] or one["name"]
            for row in _read(content, one["path"]):
                assert row[name] == "" or row[name] in uids[parent], (one["name"], name)
                checked += bool(row[name])
    assert checked > 100


def _read(content: bytes, path: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(parts(content)[path].decode(), newline="")))


def test_rows_stand_in_the_order_of_the_books(cast: Cast) -> None:
    fill(cast)
    content = packed(cast.building.uid)
    go_outside()
    for model in whole.models_in():
        rows = rows_in(content, model)
        if issubclass(model, LedgerRow):
            numbers = [int(row["ledger_number"]) for row in rows]
            assert numbers == sorted(numbers)
        elif model is not Job:
            assert [row["uid"] for row in rows] == sorted(row["uid"] for row in rows)


@pytest.mark.parametrize(
    "text", ["", "plain", "=1+1", "'=1+1", "''", "@x", "-5", "+5", " =1", "a\r\nb\n", 'é\u200f,;"', "\t="]
)
def test_a_text_is_safe_to_open_and_comes_back_as_it_was(text: str) -> None:
    field = Household._meta.get_field("label")
    shown = cell(field, text)
    assert value_of(field, shown) == text
    assert not shown.lstrip("\t\r\n ").startswith(("=", "+", "-", "@"))


def test_a_changed_or_broken_package_is_refused_and_nothing_is_written(cast: Cast) -> None:
    content = packed(cast.building.uid)
    go_outside()
    found = parts(content)
    found["data/households-household.csv"] += b"\n"
    changed = io.BytesIO()
    with zipfile.ZipFile(changed, "w") as archive:
        for name, one in found.items():
            archive.writestr(name, one)
    people = Person.objects.count()
    for broken in (b"", b"PK", content[:-30], changed.getvalue()):
        with pytest.raises(NoPackage):
            whole.bring_in(broken)
    with pytest.raises(IntegrityError), transaction.atomic():
        whole.bring_in(content)  # the building is there already
    go_outside()
    assert Person.objects.count() == people


def zipped(**files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("_json", ".json"), content)
    return out.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(zipped(datapackage_json=b"[" * 100_000), id="brackets"),
        pytest.param(zipped(datapackage_json=b"[]"), id="a list"),
        pytest.param(zipped(datapackage_json=b'{"resources": [1]}'), id="a number"),
        pytest.param(zipped(datapackage_json=b'{"resources": [{"path": "x", "hash": "y"}]}'), id="no such file"),
        pytest.param(zipped(datapackage_json=b"{}", much=b" " * 20_000_000), id="much"),
    ],
)
def test_a_file_made_to_harm_is_no_package(content: bytes, db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coordinator.packing.package.MOST_UNPACKED_BYTES", 10_000_000)
    with pytest.raises(NoPackage):
        whole.bring_in(content)


def test_a_photo_of_any_size_that_is_kept_is_read_back() -> None:
    photo = "A" * (4 * 200_000 // 3)
    resource = Resource("photos", ({"name": "uid"}, {"name": "jpeg"}), [["1", photo]])
    found = package.packed("x", UID, "Quince Court", {}, [resource])
    assert unpacked(found)[1] == {"photos": [{"uid": "1", "jpeg": photo}]}


def test_the_command_takes_a_building_out_and_says_what_is_wrong(cast: Cast, tmp_path: Path) -> None:
    file = tmp_path / "building.zip"
    call_command("building", "export", str(cast.building.uid), str(file))
    go_outside()
    assert file.read_bytes() == packed(cast.building.uid)
    assert file.stat().st_mode & 0o077 == 0
    go_outside()
    with pytest.raises(CommandError, match="no building"):
        call_command("building", "export", "00000000-0000-4000-8000-000000000001", str(file))
    file.write_bytes(b"nonsense")
    with pytest.raises(CommandError, match="no data package"):
        call_command("building", "import", str(file))
