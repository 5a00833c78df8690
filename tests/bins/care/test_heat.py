"""What is on record of a lot's heat."""

from datetime import timedelta

import pytest

from bins.care.heat import HeatOnRecord, heat_on_record
from bins.care.history import history
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import batch_in, visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def measured(cast: Cast, here: Building, *hours_and_c: tuple[int, str]) -> HeatOnRecord | None:
    batch = batch_in(here, cast, "A")
    for hours, celsius in hours_and_c:
        at = NOW + timedelta(hours=hours)
        visit(cast, here, at, readings=[{"batch": str(batch.uid), "temperature": celsius, "squeeze": "right"}])
    return heat_on_record(history(here, batch))


@pytest.mark.parametrize(
    ("readings", "found"),
    [
        ((), None),
        (((1, "54.9"),), HeatOnRecord(549, 0)),
        (((1, "60"),), HeatOnRecord(600, 0)),  # one look is no time
        (((1, "55"), (25, "58.5")), HeatOnRecord(585, 24)),
        (((1, "55"), (26, "58.5")), HeatOnRecord(585, 0)),  # over a day apart: nobody knows what was between
        # 40 CFR 257 appendix II counts 72 h at 55 °C in a vessel; here it is a figure and no verdict
        (((1, "55"), (25, "55"), (49, "56"), (73, "55")), HeatOnRecord(560, 72)),
    ],
)
def test_heat_is_what_was_written_down(
    cast: Cast, readings: tuple[tuple[int, str], ...], found: HeatOnRecord | None
) -> None:
    with inside(cast.building.uid) as here:
        assert measured(cast, here, *readings) == found
