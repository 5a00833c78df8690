"""What can be done with a batch, a hatch, a drum or a test: one table that the pages and the API both go by."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Protocol
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.care import (
    closing,
    discarding,
    drum_state,
    making,
    maturity_tests,
    merging,
    moving,
    quarantine,
    stepping,
    turning,
)
from bins.models import Batch, Drum, MaturityTest, Place

from .doors import Here


class Record(Protocol):
    """A record with the one validator that page and API share."""

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Any: ...


@dataclass(frozen=True)
class Act:
    """`subject`: the field of the record that the address fills in."""

    subject: str
    record: type[Record]
    do: Callable[..., Any]
    said: Any  # what the page says once it is done


OF_BATCH: Final = {
    "closings": Act("batch", closing.Closing, closing.close_now, gettext_lazy("Closed. The pages say so.")),
    "overrides": Act(
        "batch", stepping.Step, stepping.say_finished,
        gettext_lazy("It counts as finished now. The reason and your name stand beside it."),
    ),
    "steps-back": Act("batch", stepping.Step, stepping.step_back, gettext_lazy("It went back one step.")),
    "moves": Act("batch", moving.Move, moving.move, gettext_lazy("Moved. The record has it.")),
    "merges": Act("batch", merging.Merge, merging.merge, gettext_lazy("The two lots are one now.")),
    "discards": Act(
        "batch", discarding.Discard, discarding.discard,
        gettext_lazy("Thrown out. Those who brought to it and have an account are told by e-mail."),
    ),
    "tests": Act("batch", maturity_tests.BeginTest, maturity_tests.begin_test, gettext_lazy("The test has begun.")),
}  # fmt: skip
OF_PLACE: Final = {
    "openings": Act("place", closing.Opening, closing.open_hatch, gettext_lazy("This hatch is open now.")),
    "shuttings": Act("place", quarantine.Shutting, quarantine.shut, gettext_lazy("Shut for now. The pages say so.")),
    "reopenings": Act(
        "place",
        quarantine.Reopening,
        quarantine.reopen,
        gettext_lazy("No longer shut. Your look inside is written down."),
    ),
    "bin-make": Act(
        "place", making.BinMake, making.set_make, gettext_lazy("Kept. The next night's forecast goes by it.")
    ),
}
OF_DRUM: Final = {
    "states": Act("drum", drum_state.DrumWord, drum_state.change_drum, gettext_lazy("Done. The record has it.")),
    "turning": Act("drum", turning.Turning, turning.set_turning, gettext_lazy("Kept. The list goes by it now.")),
    "make": Act("drum", making.DrumMake, making.set_make, gettext_lazy("Kept. The next night's forecast goes by it.")),
}
OF_TEST: Final = {
    "results": Act(
        "test", maturity_tests.ReadTest, maturity_tests.read_test, gettext_lazy("The result is written down.")
    ),
}
ACTS: Final = OF_BATCH | OF_PLACE | OF_DRUM | OF_TEST
PLURAL: Final = {"batch": "batches", "place": "places", "drum": "drums", "test": "tests"}
MODELS: Final[dict[str, Any]] = {"batch": Batch, "place": Place, "drum": Drum, "test": MaturityTest}


def perform(here: Here, name: str, uid: UUID, raw: Mapping[str, Any], via: str) -> Any:
    """Do an act to the thing of that uid: 404 where there is none here, Refused or UidReused where it can't be."""
    act = ACTS.get(name)
    if act is None or not MODELS[act.subject].objects.within(here.building).filter(uid=uid).exists():
        raise Http404
    told = act.record.from_raw({**raw, act.subject: str(uid)})
    try:
        return act.do(building=here.building, told=told, person=here.actor.person, via=via, now=here.now)
    except ObjectDoesNotExist:
        # The thing of the address is here, so it is another one that the record names.
        raise Http404 from None


def reused() -> str:
    return _("This form was already sent with other values. The first one was kept as it is.")
