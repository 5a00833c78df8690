"""The list of what goes in: the usual one to begin with, versions after that, none rewritten."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from bins.intake.accepting import DEFAULT, NITROGEN_RICH, Edition, change_list, lines_of, versions
from bins.models import AcceptedList
from bins.records import Refused
from households.ledger import UidReused
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def change(cast: Cast, now: dt.datetime = NOW, **raw: object) -> AcceptedList:
    with inside(cast.building.uid) as here:
        told = Edition.from_raw({"uid": str(uuid4())} | {name.replace("__", "-"): value for name, value in raw.items()})
        return change_list(building=here, site=cast.drum.site, told=told, person=cast.caretaker, via="web", now=now)


def test_a_new_site_begins_with_the_usual_list_dated_the_day_of_founding(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        (first,) = versions(here, cast.drum.site)
        verdicts = {line.key: line.verdict for line in lines_of(first)}
    assert (first.version, first.counts_at) == (1, NOW)
    assert verdicts == DEFAULT


def test_the_usual_list_is_as_practice_has_it() -> None:
    out = {key for key, verdict in DEFAULT.items() if verdict == "no"}
    assert {"fats", "dairy", "meat", "fish", "cooked", "bags", "pet_litter", "ash", "glossy_paper", "stickers"} <= out
    assert {DEFAULT[key] for key in NITROGEN_RICH} == {"yes"}
    assert {"coffee", "tea"} <= NITROGEN_RICH  # nitrogen-rich though brown: common practice


def test_a_change_makes_the_next_version_and_the_old_one_stays_readable(cast: Cast) -> None:
    later = NOW + dt.timedelta(days=40)
    changed = change(cast, later, verdict__citrus="no", note__citrus="The worms next door sulk.")
    with inside(cast.building.uid) as here:
        new, old = versions(here, cast.drum.site)
        assert (new.pk, new.version, new.counts_at) == (changed.pk, 2, later)
        assert {line.key: line.verdict for line in lines_of(old)} == DEFAULT
        assert next(line for line in lines_of(new) if line.key == "citrus").note == "The worms next door sulk."


def test_the_same_list_again_makes_no_version(cast: Cast) -> None:
    assert change(cast).version == 1


def test_a_list_arrives_once(cast: Cast) -> None:
    raw = {"uid": str(uuid4()), "note__bags": "Not even ours."}
    assert change(cast, **raw).pk == change(cast, **raw).pk
    with pytest.raises(UidReused):
        change(cast, **raw | {"note__bags": "No."})


def test_another_verdict_than_usual_asks_for_a_word(cast: Cast) -> None:
    with pytest.raises(Refused) as refused:
        change(cast, verdict__eggshells="no", verdict__ash="perhaps")
    assert set(refused.value.errors) == {"note-eggshells", "verdict-ash"}


def test_a_version_is_never_rewritten(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = versions(here, cast.drum.site)[0]
        row.version = 9
        with pytest.raises(IntegrityError), transaction.atomic():
            row.save()
