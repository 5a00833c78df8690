"""A building's own log sheets: shown first, then all good rows or nothing, and never twice."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bins.intake.dropoff import undo_drop_off
from bins.models import Assignment, Contribution, ImportRun, Reading, Visit
from bins.people import tidy
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from bins.sheets.importing import Plan, bring_in, forget_files, plan, take_file
from bins.sheets.sheet_words import HEADINGS, LEVELS, TROUBLES, WEIGHTS, field_of, offered, plain, word_of
from bins.sheets.sheets import MOST_BYTES, MOST_ROWS
from households.ledger import UidReused
from households.models import Account, Building, Card, Household, Job, Person, Role
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of, newcomer

pytestmark = pytest.mark.embedded

DAY = dt.timedelta(days=1)


def take(cast: Cast, kind: str, text: str | bytes, now: dt.datetime = NOW) -> ImportRun:
    content = text if isinstance(text, bytes) else text.encode()
    with inside(cast.building.uid) as here:
        return take_file(building=here, uid=uuid4(), kind=kind, content=content, person=cast.caretaker, now=now)


def dry(cast: Cast, kind: str, text: str | bytes, now: dt.datetime = NOW) -> Plan:
    run = take(cast, kind, text, now)
    with inside(cast.building.uid) as here:
        return plan(here, run, now)


def bring(cast: Cast, kind: str, text: str | bytes, now: dt.datetime = NOW) -> ImportRun:
    run = take(cast, kind, text, now)
    with inside(cast.building.uid) as here:
        return bring_in(building=here, uid=run.uid, person=cast.caretaker, now=now)


def count(cast: Cast, model: Any) -> int:
    with inside(cast.building.uid) as here:
        return int(model.objects.within(here).count())


def first_days(cast: Cast, day: dt.date = dt.date(2026, 1, 1)) -> None:
    """Let the two households have lived here since January, as a building that begins its record later has."""
    with inside(cast.building.uid) as here:
        Household.objects.within(here).update(joined_on=day)


# Five hundred rows -----------------------------------------------------------------------------------


def five_hundred() -> tuple[str, set[int]]:
    """A sheet of 500 rows, every 25th of them bad in one of four ways; with the lines of the bad ones."""
    lines, bad = ["date,household,pails,cups of browns"], set()
    for number in range(1, 501):
        day = dt.date(2026, 1, 2) + dt.timedelta(days=number % 120)
        row = [day.isoformat(), ("Flat 3", "Flat 5")[number % 2], str(number % 4 + 1), "2"]
        if number % 25 == 0:
            at = number // 25 % 4
            row[at] = ("31.02.2026", "Flat 99", "many", "-1")[at]
            bad.add(number + 1)
        lines.append(",".join(row))
    return "\n".join(lines), bad


def test_of_500_rows_with_20_bad_ones_480_go_in_and_20_are_named_and_again_none(cast: Cast) -> None:
    first_days(cast)
    text, bad = five_hundred()
    planned = dry(cast, "contributions", text)
    assert (len(planned.ready), planned.refused_rows, planned.known_before) == (480, 20, 0)
    assert {fault.line for fault in planned.faults} == bad
    assert {fault.field for fault in planned.faults} == {"date", "household", "pails", "cups of browns"}
    assert all(fault.reason and fault.value for fault in planned.faults)
    assert count(cast, Contribution) == 0, "a dry run writes nothing"
    done = bring(cast, "contributions", text)
    assert (done.added, len(done.refused), done.text) == (480, 20, "")
    assert count(cast, Contribution) == 480
    again = bring(cast, "contributions", text)
    assert (again.added, again.known_before, len(again.refused)) == (0, 480, 20)
    assert count(cast, Contribution) == 480


def test_the_queries_of_dry_run_and_import_do_not_grow_with_the_rows(
    cast: Cast, django_assert_max_num_queries: Any
) -> None:
    first_days(cast)
    for rows in (2, 200):
        text = "\n".join(["date,household,pails", *(f"2026-02-{n % 28 + 1:02},Flat 3,{rows}" for n in range(rows))])
        text = text.replace(",200", ",3")
        run = take(cast, "contributions", text)
        with inside(cast.building.uid) as here:
            with django_assert_max_num_queries(12):
                assert len(plan(here, run, NOW).ready) == rows
            with django_assert_max_num_queries(30):
                bring_in(building=here, uid=run.uid, person=None, now=NOW)


# What a sheet may look like ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "date,household,kilograms,cups of browns\n2026-05-02,Flat 3,2.5,1\n",
        "\ufeffdate,household,kilograms,cups of browns\r\n2026-05-02,Flat 3,2.5,1\r\n",
        "CUPS;Kg;Flat;Day\n1;2,5;Flat 3;2.5.2026\n",
        'date,household,kg,cups\n2026-05-02,"Flat 3","2,5",1\n',
        "fecha;hogar;peso;tazas\n02.05.2026;Flat 3;2,50;1\n",
        "Date;Foyer;Poids;Tasses\n2026-05-02;Flat 3;2,5;1,0\n",
        "التاريخ;الأسرة;الوزن;أكواب\n٢٠٢٦-٠٥-٠٢;Flat 3;٢٫٥;١\n",
        "sep=;\nDate;Foyer;Poids;Tasses\n2026-05-02;Flat 3;2,5;1\n",
        "\n\n date , household ,kg,cups\n\n2026-05-02, Flat 3 ,2.5,1\n,,,\n",
    ],
)
def test_languages_separators_decimals_orders_and_marks_all_say_the_same_row(cast: Cast, text: str) -> None:
    first_days(cast)
    bring(cast, "contributions", "date,household,kg,cups\n2026-05-02,Flat 3,2.5,1\n")
    planned = dry(cast, "contributions", text)
    assert (planned.known_before, planned.ready, planned.faults) == (1, (), ()), "the same row, so the same uid"


def test_a_row_is_counted_as_a_drop_off_of_its_household_on_its_day(cast: Cast) -> None:
    bring(cast, "contributions", "date,time,household,pails,cups\n2026-05-04,17:15,flat 3,1.5,2\n")
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).select_related("attribution__household").get()
        # 17:15 in Berlin is 15:15 UTC; 1.5 pails of 8 L at 0.45 kg/L are 5.4 kg.
        assert row.counts_at == dt.datetime(2026, 5, 4, 15, 15, tzinfo=dt.UTC)
        assert (row.quarter_pails, row.scraps_g, row.browns_ml) == (6, 5400, 2000)
        assert (row.known, row.via) == ("counted", "import")
        assert row.attribution.household == cast.resident.household
        assert row.attribution.person is None


@pytest.mark.parametrize(("day", "years"), [("2026-03-05", 0), ("2021-03-05", 5)])
def test_the_sheets_time_decides_whatever_its_age(cast: Cast, day: str, years: int) -> None:
    first_days(cast, dt.date(2020, 1, 1))
    bring(cast, "contributions", f"date,household,pails\n{day},Flat 3,1\n")
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).get()
        # Only the day is told, so noon in Berlin: 11:00 UTC in March.
        noon = dt.datetime(2026 - years, 3, 5, 11, 0, tzinfo=dt.UTC)
        assert (row.doubt, row.counts_at, row.heard_at) == ("none", noon, NOW)


def test_slashes_are_read_in_the_buildings_own_order(cast: Cast) -> None:
    first_days(cast)
    sheet = "date,household,pails\n03/04/2026,Flat 3,1\n"
    assert dry(cast, "contributions", sheet).days == (dt.date(2026, 4, 3), dt.date(2026, 4, 3))
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(units="us")
    assert dry(cast, "contributions", sheet).days == (dt.date(2026, 3, 4), dt.date(2026, 3, 4))


def test_alike_rows_of_one_file_each_count_and_a_longer_file_adds_what_is_new(cast: Cast) -> None:
    row = "2026-05-04,Flat 3,1\n"
    assert bring(cast, "contributions", "date,household,pails\n" + row * 2).added == 2
    again = bring(cast, "contributions", "date,household,pails\n" + row * 3)
    assert (again.added, again.known_before) == (1, 2)


def test_a_row_that_was_taken_back_does_not_come_again(cast: Cast) -> None:
    sheet = "date,household,pails\n2026-05-04,Flat 3,1\n"
    bring(cast, "contributions", sheet)
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).get()
        undo_drop_off(building=here, row=row, person=None, via="web", now=NOW)
    assert bring(cast, "contributions", sheet).added == 0


def test_unknown_columns_are_named_and_not_dropped_in_silence(cast: Cast) -> None:
    planned = dry(cast, "contributions", "date,household,pails,weather,Mood\n2026-05-04,Flat 3,1,sun,good\n")
    assert (planned.unknown, len(planned.ready)) == (("weather", "Mood"), 1)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        ("date,household,pails\n".encode("utf-16"), "UTF-8"),
        ("date,household\n\u00e9".encode("latin-1"), "UTF-8"),
        (b"date,household\n\0", "text file"),
        (b"date,pails\n", "household"),
        (b"date,day,household\n", "same"),
        (b'date,household\n2026-05-04,"Flat 3\n', "line 2"),
        (b"x" * (MOST_BYTES + 1), "2 MB"),
        (b"date,household\n" + b"x,y\n" * (MOST_ROWS + 1), "5,000"),
    ],
)
def test_a_file_that_cannot_be_read_as_a_whole_is_refused_with_the_reason(
    cast: Cast, content: bytes, says: str
) -> None:
    with pytest.raises(Refused) as refused:
        take(cast, "contributions", content)
    assert says in refused.value.errors["file"]
    assert count(cast, ImportRun) == 0


@pytest.mark.parametrize("rows", [MOST_ROWS])
def test_exactly_5000_rows_are_taken(cast: Cast, rows: int) -> None:
    assert dry(cast, "contributions", "date,household\n" + "x,y\n" * rows).refused_rows == rows


@pytest.mark.parametrize(
    ("row", "fields"),
    [
        ("2026-05-05,Flat 3,1", {"date"}),  # tomorrow
        ("1999-12-31,Flat 3,1", {"date"}),
        (",Flat 3,1", {"date"}),
        ("5.4,Flat 3,1", {"date"}),
        ("2026-05-04,,1", {"household"}),
        ("2026-05-04,Flat 4,1", {"household"}),
        ("2026-05-04,Flat 3,", {"pails"}),
        ("2026-05-04,Flat 3,0", {"pails"}),
        ("2026-05-04,Flat 3,0.3", {"pails"}),
        ("2026-05-04,Flat 3,41", {"pails"}),
        ("2026-05-04,Flat 3,1e3", {"pails"}),
        ("2026-05-04,Flat 3,nan", {"pails"}),
        ("2026-05-04,Flat 3,2,5", {"row"}),  # a decimal comma between commas
        ("x,,y", {"date", "household", "pails"}),
    ],
)
def test_a_bad_row_is_named_by_line_and_field(cast: Cast, row: str, fields: set[str]) -> None:
    first_days(cast)
    planned = dry(cast, "contributions", f"date,household,pails\n2026-05-04,Flat 3,1\n{row}\n")
    assert {fault.field for fault in planned.faults} == fields
    assert {fault.line for fault in planned.faults} == {3}
    assert len(planned.ready) == 1


# Whose it was --------------------------------------------------------------------------------------------


def test_the_card_of_a_household_does_for_its_name(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        number = Card.objects.within(here).get(household=cast.neighbour.household).number
    bring(cast, "contributions", f"date,household,pails\n2026-05-04,{number},1\n")
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).select_related("attribution__household").get()
        assert row.attribution.household == cast.neighbour.household


def test_a_day_before_the_household_came_is_its_own_unless_somebody_forgotten_may_have_lived_there(
    cast: Cast,
) -> None:
    sheet = "date,household,pails\n2026-04-01,Flat 3,1\n"  # the record begins in May
    assert len(dry(cast, "contributions", sheet).ready) == 1
    with inside(cast.building.uid) as here:
        Household.objects.within(here).filter(label="Flat 5").update(joined_on=dt.date(2026, 1, 1))
        told = Leaving.from_raw({"uid": str(uuid4()), "last_day": "2026-05-04", "sure": "yes"})
        neighbours = Household.objects.within(here).get(label="Flat 5")
        move_out(building=here, household=neighbours, told=told, person=None, via="web", now=NOW)
    assert {fault.field for fault in dry(cast, "contributions", sheet).faults} == {"household"}


def test_the_earlier_tenant_of_a_name_keeps_the_days_of_then(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        earlier = Household.objects.create(
            building=here, label="Flat 3", joined_on=dt.date(2026, 1, 1), left_on=dt.date(2026, 2, 28)
        )
    rows = ["date,household,drum,pails", "2026-02-28,Flat 3,1,1", "2026-03-01,Flat 3,1,1", "2026-05-04,Flat 3,1,1"]
    planned = dry(cast, "contributions", "\n".join(rows))
    assert [one.household for one in planned.ready] == [earlier, cast.resident.household]
    assert [fault.line for fault in planned.faults] == [3], "between the two nobody of that name lived here"


# Households and visits ---------------------------------------------------------------------------------------


def test_households_come_with_people_accounts_roles_a_drum_and_a_card_once(cast: Cast) -> None:
    sheet = (
        "household;people;e-mail;drum;joined\n"
        "Flat 7;Noor / Ilse;noor@x.invalid;1;2025-11-01\n"
        "Flat 8;;;;\n"
        "Flat 3;Somebody;;;\n"
        "Flat 9;Ana;imani@quince-court.invalid;;\n"
        "Flat 10;Bo;;7;\n"
        "flat 7;Cy;;;\n"
        "Flat 11;;x@x.invalid;;2026-05-05\n"
    )
    planned = dry(cast, "households", sheet)
    assert [(fault.line, fault.field) for fault in planned.faults] == [
        (4, "household"), (5, "e-mail"), (6, "drum"), (7, "household"), (8, "e-mail"), (8, "joined"),
    ]  # fmt: skip
    assert bring(cast, "households", sheet).added == 2
    assert bring(cast, "households", sheet).added == 0
    with inside(cast.building.uid) as here:
        people = Person.objects.within(here).filter(household__label="Flat 7").order_by("pk")
        assert [(p.name, p.account.email if p.account else "") for p in people] == [
            ("Noor", "noor@x.invalid"),
            ("Ilse", ""),
        ]
        roles = Role.objects.within(here).filter(person__in=people)
        assert {(role.kind, role.starts_on) for role in roles} == {("resident", dt.date(2025, 11, 1))}
        both = Household.objects.within(here).filter(label__in=["Flat 7", "Flat 8"])
        assert Assignment.objects.within(here).filter(household__in=both).count() == 2
        assert Card.objects.within(here).filter(household__in=both).count() == 2
        assert Account.objects.filter(email="noor@x.invalid").get().has_usable_password() is False


def test_one_household_too_many_stays_out_by_the_sheet_and_by_the_form(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bins.sheets.import_households.MOST_HOUSEHOLDS", 4)
    monkeypatch.setattr("bins.people.joining.MOST_HOUSEHOLDS", 4)
    planned = dry(cast, "households", "household\nFlat 7\nFlat 3\nFlat 8\nFlat 9\n")
    assert [(fault.line, fault.field) for fault in planned.faults] == [(3, "household"), (5, "household")]
    newcomer(cast.building, "Noor", "Flat 7", "resident")
    newcomer(cast.building, "Cleo", "Flat 8", "resident")
    newcomer(cast.building, "Ilse", "Flat 8", "resident")
    with pytest.raises(Refused) as refused:
        newcomer(cast.building, "Bo", "Flat 9", "resident")
    assert set(refused.value.errors) == {"household"}


def test_an_account_of_another_building_is_used_as_it_is(cast: Cast) -> None:
    email = account_of(cast.elsewhere_person).email
    bring(cast, "households", f"household,people,email\nFlat 7,Bram,{email.upper()}\n")
    with inside(cast.building.uid) as here:
        assert Person.objects.within(here).get(name="Bram").account == cast.elsewhere_person.account


def test_a_visit_counts_and_its_level_is_read_of_the_hatch_that_stood_open(cast: Cast) -> None:
    sheet = (
        "fecha;hora;tambor;trampilla;volteado;nivel;problema\n"
        "2026-05-04;18h00;1;A;sí;la mitad;mal olor\n"
        "2026-05-04;17:59;1;;no;1/4;\n"  # a minute before the hatch was first open on the record
        "2026-05-04;18:00;1;B;x;75 %;nada\n"
        "2026-05-04;18:00;2;;;;\n"
        "2026-05-04;18:00;1;C;quizás;más;fantasma\n"
    )
    planned = dry(cast, "visits", sheet)
    assert [(fault.line, fault.field) for fault in planned.faults] == [
        (5, "tambor"), (6, "volteado"), (6, "trampilla"), (6, "nivel"), (6, "problema"),
    ]  # fmt: skip
    assert [note.line for note in planned.notes] == [3, 4]
    assert bring(cast, "visits", sheet).added == 3
    assert bring(cast, "visits", sheet).added == 0
    with inside(cast.building.uid) as here:
        visits = Visit.objects.within(here).order_by("ledger_number")
        assert [(v.turned, v.trouble) for v in visits] == [(True, "smell"), (False, "nothing"), (True, "nothing")]
        assert [(r.value, r.batch.started_in.letter) for r in Reading.objects.within(here)] == [(50, "A")]
        assert not any(hasattr(visit, "attribution") for visit in visits), "who came is not on the sheet"


# Between the dry run and the yes -----------------------------------------------------------------------------


def test_the_same_uid_is_the_same_file_or_refused(cast: Cast) -> None:
    uid = uuid4()
    with inside(cast.building.uid) as here:
        first, again = (
            take_file(building=here, uid=uid, kind="visits", content=b"date,drum\n", person=None, now=NOW)
            for _time in range(2)
        )
        assert first.pk == again.pk
        with pytest.raises(UidReused):
            take_file(building=here, uid=uid, kind="visits", content=b"drum,date\n", person=None, now=NOW)


def test_one_file_too_many_waits_for_the_next_day_and_one_that_is_there_is_answered(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bins.sheets.importing.MOST_KEPT", 2)
    sheet = b"household\nFlat 7\n"
    with inside(cast.building.uid) as here:
        told: dict[str, Any] = {"building": here, "kind": "households", "person": None}
        uids = [uuid4() for _ in range(3)]
        for uid in (*uids[:2], uids[0]):
            take_file(**told, uid=uid, content=sheet, now=NOW)
        with pytest.raises(Refused, match="tomorrow"):
            take_file(**told, uid=uids[2], content=sheet, now=NOW)
        forget_files(here, NOW + DAY)
        take_file(**told, uid=uids[2], content=sheet, now=NOW + DAY)


def test_yes_twice_gives_what_came_of_it_the_first_time(cast: Cast) -> None:
    run = take(cast, "contributions", "date,household,pails\n2026-05-04,Flat 3,1\n")
    with inside(cast.building.uid) as here:
        for _time in range(2):
            assert bring_in(building=here, uid=run.uid, person=None, now=NOW).added == 1
    assert count(cast, Contribution) == 1


def test_a_fault_while_writing_keeps_the_whole_file_out(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    run = take(cast, "contributions", "date,household,pails\n2026-05-04,Flat 3,1\n2026-05-04,Flat 5,1\n")

    def fail(*_rows: object, **_more: object) -> None:
        raise RuntimeError("the light went out")

    monkeypatch.setattr("bins.sheets.import_rows.ContributionAttribution.objects.bulk_create", fail)
    with inside(cast.building.uid) as here, pytest.raises(RuntimeError):
        bring_in(building=here, uid=run.uid, person=None, now=NOW)
    assert count(cast, Contribution) == 0
    with inside(cast.building.uid) as here:
        assert ImportRun.objects.within(here).get().state == "waiting"


@pytest.mark.parametrize(("age", "kept"), [(DAY - dt.timedelta(seconds=1), 1), (DAY, 0)])
def test_a_file_is_kept_for_a_day_and_its_end_is_promised(cast: Cast, age: dt.timedelta, kept: int) -> None:
    take(cast, "visits", "date,drum\n")
    with inside(cast.building.uid) as here:
        job = Job.objects.get(building=here, name=tidy.NAME)
        assert job.key == "2026-05-06"
        assert job.wake_at >= NOW + DAY
        forget_files(here, NOW + age)
    assert count(cast, ImportRun) == kept


# Words ---------------------------------------------------------------------------------------------------------


def test_every_heading_means_one_field_and_every_word_one_code() -> None:
    for kind, fields in HEADINGS.items():
        words = [(plain(word), field) for field, by in fields.items() for many in by.values() for word in many]
        assert all(word for word, _field in words)
        assert len({word for word, _field in words}) == len(set(words)), "one word, two fields"
        assert all(set(by) == {"en", "es", "fr", "ar"} for by in fields.values())
        assert all(field_of(kind, f" {word.upper()}: ") == field for word, field in words)
    for table in (LEVELS, TROUBLES):
        assert all(word_of(table, word) == code for code, words in table.items() for word in words)


def test_a_weight_in_pounds_is_the_weight_in_kilograms_and_the_same_row(cast: Cast) -> None:
    for content in ("date,household,pounds\n2026-05-02,Flat 3,5.5\n", "date,household,kg\n2026-05-02,Flat 3,2.495\n"):
        bring(cast, "contributions", content)
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).get().scraps_g == 2495  # 5.5 pounds, to the gram


@pytest.mark.parametrize(("units", "grams"), [("metric", 5500), ("us", 2495)])
def test_a_weight_without_a_unit_is_in_that_of_the_building(cast: Cast, units: str, grams: int) -> None:
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(units=units)
    bring(cast, "contributions", "date,household,weight\n2026-05-02,Flat 3,5.5\n")
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).get().scraps_g == grams


def test_two_weights_in_one_row_and_too_much_of_one_are_named_at_their_column(cast: Cast) -> None:
    run = take(cast, "contributions", "date,household,kg,lbs\n2026-05-02,Flat 3,2,5\n2026-05-02,Flat 3,,900\n")
    with inside(cast.building.uid) as here:
        faults = plan(here, run, NOW).faults
    assert [(fault.line, fault.field, fault.value) for fault in faults] == [(2, "lbs", "5"), (3, "lbs", "900")]


def test_an_empty_sheet_asks_in_the_units_of_its_building() -> None:
    assert [field for field in offered("contributions", is_us=True) if field in WEIGHTS] == ["pounds"]
    assert [field for field in offered("contributions", is_us=False) if field in WEIGHTS] == ["kilograms"]


def test_every_trouble_that_a_visit_can_tell_has_words_for_a_sheet() -> None:
    assert set(TROUBLES) == set(Visit.Trouble.values)


def test_a_sheet_from_before_flies_had_a_word_of_their_own_adds_nothing_again(cast: Cast) -> None:
    """Then "flies" was kept as animals; the row's uid must not move with the word."""
    bring(cast, "visits", "date,drum,trouble\n2026-05-02,1,animals\n")
    bring(cast, "visits", "date,drum,trouble\n2026-05-02,1,flies\n")
    assert count(cast, Visit) == 1
    bring(cast, "visits", "date,drum,trouble\n2026-05-03,1,moscas\n")
    with inside(cast.building.uid) as here:
        assert sorted(Visit.objects.within(here).values_list("trouble", flat=True))[-1] == "flies"


# Anything at all -----------------------------------------------------------------------------------------------

cells = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["2026-05-04", "4/5/2026", "Flat 3", "1", "0,5", "2.5", '"', "=1+1", "A", "yes", "half", "24:00"]),
)
sheets = st.lists(st.lists(cells, max_size=8), max_size=6).map(lambda rows: "\n".join(",".join(row) for row in rows))
heads = st.sampled_from(
    ["date,household,pails,kg,cups,time,drum\n", "household;people;email;drum;joined\n", "date,drum,hatch,level\n", ""]
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(["households", "contributions", "visits"]),
    content=st.one_of(
        st.binary(max_size=200),
        st.text(max_size=200).map(str.encode),
        st.tuples(heads, sheets).map(lambda both: "".join(both).encode()),
    ),
)
def test_whatever_is_in_a_file_it_goes_in_whole_or_is_refused(cast: Cast, kind: str, content: bytes) -> None:
    model = {"households": Household, "contributions": Contribution, "visits": Visit}[kind]
    with inside(cast.building.uid) as here:
        forget_files(here, NOW + DAY)
    before = count(cast, model)
    try:
        planned = dry(cast, kind, content)
    except Refused:  # as a whole: nothing of it was kept
        assert count(cast, model) == before
        return
    done = bring(cast, kind, content)
    assert done.added == len(planned.ready)
    assert count(cast, model) == before + done.added
    assert bring(cast, kind, content).added == 0
