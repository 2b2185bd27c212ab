"""The heating rise on the predicted air: the airside heat factor, altitude, nameplate flows, what is missing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.house.heat import heat_readings
from house.seasons import HOUSE, air, assumed, record, shown, without

FURNACE = {"form": "furnace-coil", "fuel": "gas", "tons": 3, "heat_output": 64000, "rise_low": 35, "rise_high": 65}
STRIPS = {"form": "split-closet", "fuel": "heat-pump", "tons": 2.5, "strip_heat": 7.5, "heat_min_flow": 850}


@pytest.mark.parametrize(
    ("altitude", "factor"), [(0, 1.08), (1000, 1.0415), (3000, 0.9679), (5000, 0.8986), (7000, 0.8334)]
)
def test_the_rise_follows_the_airside_heat_factor_of_the_altitude(altitude: float, factor: float) -> None:
    # The trade's 1.08 Btu/(h cfm °F) times the pressure ratio of ASHRAE Handbook—Fundamentals 2017 ch. 1 eq. 3
    # (computed): 0.8986 at 5,000 ft. Tolerance 0.1 %: four figures are printed.
    job = record(HOUSE | {"altitude": altitude}, FURNACE)
    found = heat_readings(job, assumed(), air(1120))
    assert shown(found, "temperature_rise") == pytest.approx(64000 / (factor * 1120), rel=1e-3)


def test_a_furnace_of_64000_btuh_rises_as_a_hand_calculation_says_and_its_nameplate_bounds_the_air() -> None:
    # 64,000 / (1.08 × 1,120) = 52.9 °F; 64,000 / (1.08 × 65) = 912 and / (1.08 × 35) = 1,693 cfm. Printed to three or
    # four figures.
    found = heat_readings(record(HOUSE, FURNACE), assumed(), air([1120, 900]))
    assert shown(found, "temperature_rise") == pytest.approx(52.9, abs=0.05)
    assert shown(found, "temperature_rise", 1) == pytest.approx(52.9 * 1120 / 900, abs=0.1)
    assert shown(found, "heat_flow_low") == pytest.approx(912, abs=0.5)
    assert shown(found, "heat_flow_high", 1) == pytest.approx(1693, abs=0.5)


def test_strips_of_7_5_kilowatts() -> None:
    # 1 kW is 3,412 Btu/h: 25,590 / (1.08 × 1,019) = 23.3 °F.
    found = heat_readings(record(HOUSE, STRIPS), assumed(), air(1019))
    assert shown(found, "temperature_rise") == pytest.approx(23.3, abs=0.05)
    assert {name for _, name in found.values} == {"temperature_rise"}
    assert not found.notes


@settings(max_examples=50, deadline=None)
@given(st.floats(500, 2000), st.floats(10000, 120000), st.floats(15, 45), st.floats(5, 50), st.floats(-200, 9000))
def test_a_rise_is_within_the_nameplate_just_where_the_flow_is_within_what_it_implies(
    flow: float, output: float, low: float, span: float, altitude: float
) -> None:
    new = FURNACE | {"heat_output": output, "rise_low": low, "rise_high": low + span}
    found = heat_readings(record(HOUSE | {"altitude": altitude}, new), assumed(), air(flow))
    rise = shown(found, "temperature_rise")
    assert rise * flow / shown(found, "heat_flow_low") == pytest.approx(low + span, rel=1e-9)
    assert rise * flow / shown(found, "heat_flow_high") == pytest.approx(low, rel=1e-9)
    assert (rise <= low + span) == (flow >= shown(found, "heat_flow_low"))


@pytest.mark.parametrize(
    ("new", "named"),
    [
        (without(FURNACE, "heat_output"), "heat_output"),
        (without(STRIPS, "strip_heat"), "strip_heat or heat_output"),
        (without(STRIPS, "heat_min_flow"), "heat_min_flow"),
    ],
)
def test_what_is_missing_is_named(new: dict[str, object], named: str) -> None:
    found = heat_readings(record(HOUSE, new), assumed(), air(1000))
    (note,) = found.notes
    assert named in note
    assert bool(found.values) == (named == "heat_min_flow")


def test_without_heating_there_is_nothing_to_say() -> None:
    found = heat_readings(record(HOUSE, {"form": "split-attic", "tons": 3, "fuel": "none"}), assumed(), air(1000))
    assert (dict(found.values), found.notes, found.assumed) == ({}, (), ())


def test_a_gas_output_is_taken_as_derated_and_says_so() -> None:
    found = heat_readings(record(without(HOUSE, "altitude"), FURNACE), assumed(), air(1000))
    assert any("derating" in text for text in found.assumed)
    assert any("sea level" in text for text in found.assumed)
    still = heat_readings(record(HOUSE, FURNACE), assumed(), air(0))
    assert not still.values
    assert np.all(found.values["house", "temperature_rise"][0] > 0)
