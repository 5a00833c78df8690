"""What a drum or a curing bin is made of: told, told again, and what it was before."""

import datetime as dt
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from bins.care.making import EVER, BinMake, DrumMake, Made, makes_of, set_make
from bins.care.moving import Move, move
from bins.models import Place
from bins.process.model.border import Insulation, Vents
from bins.records import Refused
from households.models import Audit, Building
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, hatch, put_in
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def make(
    cast: Cast, here: Building, insulation: str, vents: str = "usual", since: str = "now", now: dt.datetime = NOW
) -> list[Place]:
    raw = {"uid": uuid4(), "drum": cast.drum.uid, "insulation": insulation, "vents": vents, "since": since}
    return set_make(told=DrumMake.from_raw(raw), **by(cast, here, now))


def a_bin(cast: Cast, here: Building) -> Place:
    batch = put_in(here, batch_in(here, cast, "A"), "curing", NOW)
    return move(told=Move(uuid4(), batch.uid, None, 200), **by(cast, here)).to_place


def bin_make(uid: UUID) -> BinMake:
    return BinMake.from_raw({"uid": uuid4(), "place": uid, "insulation": "bare", "vents": "many", "since": "now"})


def known(cast: Cast, here: Building, letter: str = "A") -> list[tuple[dt.datetime, str, str]]:
    place = hatch(here, cast, letter)
    return [(one.since, one.insulation, one.vents) for one in makes_of(here, [place])[place.pk]]


def test_what_can_be_told_is_what_the_model_knows() -> None:
    assert Place.Wall.values == [str(one) for one in Insulation]
    assert Place.Airing.values == [str(one) for one in Vents]


def test_a_drum_of_which_nothing_was_told_is_bare_with_the_usual_vents(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert known(cast, here) == [(EVER, "bare", "usual")]
        assert not Audit.objects.within(here).filter(act="place-made").exists()


def test_both_halves_of_a_drum_are_made_alike_and_another_drum_is_left_alone(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        elsewhere = list(Place.objects.within(there).values_list("insulation", "vents"))
    with inside(cast.building.uid) as here:
        assert [(p.letter, p.insulation, p.vents) for p in make(cast, here, "foam", "few")] == [
            ("A", "foam", "few"),
            ("B", "foam", "few"),
        ]
        assert known(cast, here, "B") == [(EVER, "bare", "usual"), (NOW, "foam", "few")]
    with inside(cast.elsewhere.uid) as there:
        assert list(Place.objects.within(there).values_list("insulation", "vents")) == elsewhere


def test_a_new_wall_counts_from_when_it_was_told_and_the_old_one_stays_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        make(cast, here, "double", now=NOW + DAY)
        make(cast, here, "foam", now=NOW + 5 * DAY)
        assert known(cast, here) == [
            (EVER, "bare", "usual"),
            (NOW + DAY, "double", "usual"),
            (NOW + 5 * DAY, "foam", "usual"),
        ]


def test_what_was_so_all_along_counts_from_the_beginning_whatever_was_told_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        make(cast, here, "double", now=NOW + DAY)
        make(cast, here, "foam", since="always", now=NOW + 5 * DAY)
        assert known(cast, here) == [(EVER, "foam", "usual")]
        make(cast, here, "bare", now=NOW + 9 * DAY)
        assert known(cast, here) == [(EVER, "foam", "usual"), (NOW + 9 * DAY, "bare", "usual")]
        # What it is now, it has always been: no other word of it is left.
        make(cast, here, "bare", since="always", now=NOW + 10 * DAY)
        assert known(cast, here) == [(EVER, "bare", "usual")]


@pytest.mark.parametrize("since", ["now", "always"])
def test_saying_it_twice_is_noted_once_for_each_half(cast: Cast, since: str) -> None:
    with inside(cast.building.uid) as here:
        for day in range(2):
            make(cast, here, "foam", since=since, now=NOW + day * DAY)
        assert Audit.objects.within(here).filter(act="place-made").count() == 2


def test_saying_what_stands_there_already_notes_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        make(cast, here, "bare")
        make(cast, here, "bare", since="always")
        assert not Audit.objects.within(here).filter(act="place-made").exists()


def test_a_curing_bin_has_a_make_of_its_own_and_a_hatch_alone_has_none(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        crate = a_bin(cast, here)
        assert [p.vents for p in set_make(told=bin_make(crate.uid), **by(cast, here))] == ["many"]
        assert makes_of(here, [crate])[crate.pk][-1] == Made(NOW, "bare", "many")
        assert known(cast, here) == [(EVER, "bare", "usual")]
        with pytest.raises(Place.DoesNotExist):
            set_make(told=bin_make(hatch(here, cast, "A").uid), **by(cast, here))


def test_a_drum_of_another_building_is_not_there(cast: Cast) -> None:
    raw = {"uid": uuid4(), "drum": cast.elsewhere_drum.uid, "insulation": "foam", "vents": "few", "since": "now"}
    with inside(cast.building.uid) as here, pytest.raises(Place.DoesNotExist):
        set_make(told=DrumMake.from_raw(raw), **by(cast, here))


def test_every_fault_is_named() -> None:
    with pytest.raises(Refused) as refused:
        DrumMake.from_raw({"uid": "x", "drum": uuid4(), "insulation": "straw", "vents": "", "since": "1999"})
    assert set(refused.value.errors) == {"uid", "insulation", "vents", "since"}


@pytest.mark.parametrize(
    ("values", "name"),
    [({"insulation": "straw"}, "place_insulation_known"), ({"vents": "none"}, "place_vents_known")],
)
def test_the_database_keeps_no_other_word(cast: Cast, values: dict[str, str], name: str) -> None:
    with inside(cast.building.uid) as here, pytest.raises(IntegrityError, match=name), transaction.atomic():
        Place.objects.within(here).filter(drum__uid=cast.drum.uid).update(**values)


def test_telling_asks_as_much_after_twenty_changes_as_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        make(cast, here, "foam")
        with CaptureQueriesContext(connection) as few:
            make(cast, here, "bare", now=NOW + DAY)
        for day in range(2, 22):
            make(cast, here, ("foam", "bare")[day % 2], now=NOW + day * DAY)
        with CaptureQueriesContext(connection) as many:
            make(cast, here, "foam", now=NOW + 30 * DAY)
    assert len(many) == len(few)
