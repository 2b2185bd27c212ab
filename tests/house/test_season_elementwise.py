"""The equations behind the season take numbers and arrays alike, and numbers without numpy."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.air import distribution as d
from airwarrant.air import elementwise, equipment
from airwarrant.air.heating import sensible_heat, temperature_rise
from airwarrant.air.season import running_hours, season_energy_with_ducts

SETS = 12
many = st.lists(st.tuples(st.floats(0.2, 0.9), st.floats(0.0, 0.45), st.floats(0.0, 0.45)), min_size=1, max_size=SETS)


@settings(max_examples=80, deadline=None)
@given(many, st.floats(270.0, 330.0), st.floats(275.0, 330.0), st.floats(0.7, 1.2))
def test_every_equation_answers_an_array_as_it_answers_each_number(
    sets: list[tuple[float, float, float]], return_zone: float, supply_zone: float, density: float
) -> None:
    flow, supply, back = (np.array(column) for column in zip(*sets, strict=True))

    def chain(q: object, s: object, r: object) -> list[object]:
        ducts = d.Ducts(q, s * q, r * q, 40.0, 10.0, 1.0, 1.1, density)  # type: ignore[operator, type-var]
        heat, indoor = -10550.0, 298.7
        cooling = d.cooling_delivery(ducts, heat, indoor, return_zone, 4e4, 5e4, 286.0, supply_zone)
        heating = d.heating_delivery(ducts, -heat, indoor, return_zone, supply_zone)
        regained = d.with_regain(ducts, cooling, heat, indoor, return_zone, 0.1, 0.6)
        net = d.net_infiltration(0.04, ducts.supply_leak, ducts.return_leak)
        load = d.load_factor(heat, 1.5 + cooling, net, -5000.0, density)
        ratio = d.flow_over_rated(ducts.flow, 10550.0)
        factors = [d.equipment_factor(ratio, txv=t) for t in (True, False)]
        system = d.system_efficiency(regained, factors[0], load, 0.02)
        running = running_hours(1000.0, 2.0 + system, factors[1], equipment.capacity_modifier(ratio))
        energy = season_energy_with_ducts(10550.0, 1000.0, 15.0, 2.0 + system, 100.0 * ratio, running)
        return [
            cooling, heating, regained, net, load, *factors, system, running, energy,
            d.return_temperature(ducts, indoor, return_zone), equipment.energy_input_modifier(ratio),
            temperature_rise(9000.0, ducts.flow, density), sensible_heat(ducts.flow, 11.0, density),
        ]  # fmt: skip

    together = chain(flow, supply, back)
    for i, one in enumerate(sets):
        for array, number in zip(together, chain(*one), strict=True):
            assert isinstance(number, float)
            # 1e-9 of numbers of the order of 1: differences cancel where a zone is as warm as the rooms.
            assert array[i] == pytest.approx(number, rel=1e-10, abs=1e-9)  # type: ignore[index]


def test_functions_meet_the_standard_library() -> None:
    x = np.linspace(0.01, 3.0, 50)
    for function in (elementwise.exp, elementwise.log):
        assert function(x) == pytest.approx([function(float(v)) for v in x], rel=1e-15)
    assert elementwise.power(x, 0.67) == pytest.approx([elementwise.power(float(v), 0.67) for v in x], rel=1e-15)
    assert (elementwise.at_most(2, 1.0), elementwise.at_least(2, 3.0)) == (1.0, 3.0)
    assert elementwise.at_most(x, 1.0).max() == 1.0
    assert elementwise.at_least(x, 1.0).min() == 1.0


def test_numbers_do_not_bring_numpy_in() -> None:
    code = (
        "import sys; from airwarrant.air import distribution as d, elementwise as e, heating, season, wet_bulb;"
        "q = d.Ducts(0.5, 0.05, 0.05, 40.0, 10.0, 1.0, 1.0);"
        "d.cooling_delivery(q, -1e4, 298.0, 320.0, 4e4, 5e4, 286.0); d.net_infiltration(0.04, 0.05, 0.02);"
        "d.equipment_factor(0.8, txv=True); assert 'numpy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
