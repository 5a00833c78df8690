"""What is on record of a lot's heat, in words."""

from bins.care.heat import HeatOnRecord
from coordinator.heat_words import heat_line
from households.models import Building


def test_it_is_told_as_a_record_in_the_building_s_unit_and_promises_nothing() -> None:
    building = Building(units=Building.Units.METRIC)
    assert heat_line(None, building) == ""
    assert heat_line(HeatOnRecord(423, 0), building) == (
        "The hottest on record is 42.3 °C. It was not 55.0 °C or more twice within a day."
    )
    said = heat_line(HeatOnRecord(610, 72), building)
    assert said.startswith(
        "The hottest on record is 61.0 °C. The longest time on record at 55.0 °C or more is 72 hours."
    )
    assert said.endswith("The rim is cooler than the middle, so some germs and seeds may live on.")
    building.units = Building.Units.US
    assert "131 °F or more is 1 hour." in heat_line(HeatOnRecord(560, 1), building)
