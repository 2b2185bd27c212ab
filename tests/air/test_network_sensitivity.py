"""Derivatives of a solution against differences of solutions."""

from collections.abc import Callable
from dataclasses import replace
from math import exp
from random import Random

import numpy as np
import pytest
from network_cases import FLAT, PLATEAU, TABLE, curve_of, scaled_house, typical_house, wild

from airwarrant.air.network import (
    BEYOND_TABLE,
    Blower,
    BlowerCurve,
    Link,
    Network,
    NetworkError,
    NotConverged,
    Solution,
    lay_out,
    solve,
)
from airwarrant.air.network_sensitivity import Sensitivities, sensitivities

STEEP = [(0.02, 900.0), (0.04, 890.0), (0.06, 870.0)]  # the typical house stands beyond its last row
WEAK = [(1.2, 1100.0), (1.4, 1000.0), (1.6, 800.0)]  # and here before its first


def moved(network: Network, column: int, by: float) -> Network:
    """The network with one parameter's logarithm moved."""
    if column == len(network.links):
        assert network.blower is not None
        return replace(network, blower=replace(network.blower, curve=network.blower.curve.scaled(exp(by))))
    links = list(network.links)
    links[column] = replace(links[column], k=links[column].k * exp(by))
    return replace(network, links=tuple(links))


def rows_of(solution: Solution, slopes: Sensitivities) -> np.ndarray:
    ends = [solution.blower_flow or 0.0, solution.static or 0.0]
    return np.array([solution.pressures[x] for x in slopes.nodes] + [solution.flows[x] for x in slopes.links] + ends)


def central(read: Callable[[float], np.ndarray], step: float = 2e-3) -> np.ndarray:
    """Central differences at one and two steps, combined so that their second-order errors cancel (Richardson)."""
    near, far = read(step) - read(-step), read(2.0 * step) - read(-2.0 * step)
    return (8.0 * near - far) / (12.0 * step)


def compare(network: Network, within: float) -> None:
    solution = solve(network)
    slopes = sensitivities(network, solution)
    found = np.vstack([slopes.pressure, slopes.flow, slopes.blower_flow, slopes.static])
    columns = found.shape[1] if network.blower is not None else found.shape[1] - 1
    expected = np.column_stack(
        [central(lambda by, j=j: rows_of(solve(moved(network, j, by)), slopes)) for j in range(columns)]
    )
    # Pressures and flows are known to 1e-10 of their largest, so a difference over 0.002 to about 1e-7 of them.
    nodes = len(slopes.nodes)
    size = np.abs(rows_of(solution, slopes))
    pressure, flow = size[:nodes].max(), size[nodes:-1].max()
    floor = 2e-7 * np.array([pressure] * nodes + [flow] * (len(size) - nodes - 1) + [max(pressure, size[-1])])
    assert np.all(np.abs(found[:, :columns] - expected) <= within * np.abs(expected) + floor[:, None])


@pytest.mark.parametrize("rows", [TABLE, PLATEAU, STEEP, WEAK, FLAT])
def test_central_differences_agree(rows: list[tuple[float, float]]) -> None:
    compare(typical_house(rows), 1e-5)


def test_tables_beyond_which_the_house_stands_are_so() -> None:
    for rows in (STEEP, WEAK):
        assert BEYOND_TABLE in solve(typical_house(rows)).notes


def test_central_differences_agree_on_random_houses() -> None:
    draw = Random(31)
    for _ in range(6):
        # Where a step crosses a row of the table the curve's second derivative jumps, and the difference with it.
        compare(scaled_house(draw), 1e-4)


def test_one_link_without_a_blower_has_the_derivative_of_its_law() -> None:
    """By hand: ``q = (p/k)^(1/n)``, so dq/dln k = -q/n."""
    network = Network({"in": 18.0, "out": 0.0}, (Link("one", "in", "out", 2.0, 1.9),))
    solution = solve(network)
    slopes = sensitivities(network, solution)
    assert slopes.flow == pytest.approx(np.array([[-solution.flows["one"] / 1.9, 0.0]]), rel=1e-9)
    assert np.array_equal(slopes.pressure, np.zeros((2, 2)))
    assert np.array_equal(slopes.blower_flow, np.zeros(2))


def test_two_in_series_share_as_by_hand() -> None:
    """By hand, both of exponent 2: ``p_mid = 100 k2/(k1 + k2)`` and ``q = (100/(k1 + k2))^0.5``."""
    k1, k2 = 3.0, 5.0
    network = Network({"in": 100.0, "out": 0.0}, (Link("a", "in", "mid", k1), Link("b", "mid", "out", k2)))
    slopes = sensitivities(network, solve(network))
    q, middle = (100.0 / (k1 + k2)) ** 0.5, 100.0 * k1 * k2 / (k1 + k2) ** 2
    assert slopes.nodes[0] == "mid"
    assert slopes.pressure[0, :2] == pytest.approx([-middle, middle], rel=1e-8)
    for row in slopes.flow:
        assert row[:2] == pytest.approx([-0.5 * q * k1 / (k1 + k2), -0.5 * q * k2 / (k1 + k2)], rel=1e-8)


def test_on_an_exact_plateau_the_flow_hangs_on_its_scale_alone_and_the_static_on_both() -> None:
    house = typical_house(FLAT)
    solution = solve(house)
    slopes = sensitivities(house, solution)
    assert np.array_equal(slopes.blower_flow[:-1], np.zeros(31))
    assert slopes.blower_flow[-1] == pytest.approx(solution.blower_flow, rel=1e-12)
    coil = slopes.links.index("coil")
    # The coil carries all of the plateau's flow by a square law: its own drop is all that one of its percents adds.
    drop = solution.pressures["outlet"] - solution.pressures["plenum"]
    assert slopes.static[coil] == pytest.approx(drop, rel=1e-8)


def test_flows_of_every_derivative_balance() -> None:
    house = typical_house()
    slopes = sensitivities(house, solve(house))
    assert house.blower is not None
    for node in slopes.nodes:
        if node in house.fixed:
            continue
        off = sum(
            ((link.a == node) - float(link.b == node)) * slopes.flow[i] for i, link in enumerate(house.links)
        ) + slopes.blower_flow * ((house.blower.a == node) - float(house.blower.b == node))
        assert np.abs(off).max() <= 1e-12


def test_a_small_change_is_foretold() -> None:
    house = typical_house()
    before = solve(house)
    slopes = sensitivities(house, before)
    along = 0.01 * np.random.default_rng(32).standard_normal(32)
    links = tuple(replace(x, k=x.k * exp(by)) for x, by in zip(house.links, along, strict=False))
    assert house.blower is not None
    curve = house.blower.curve.scaled(exp(along[-1]))
    after = solve(replace(house, links=links, blower=replace(house.blower, curve=curve)))
    told = (
        rows_of(before, slopes) + np.vstack([slopes.pressure, slopes.flow, slopes.blower_flow, slopes.static]) @ along
    )
    assert rows_of(after, slopes) == pytest.approx(told, rel=1e-3, abs=2e-3)


def test_a_kept_layout_gives_the_same() -> None:
    house = typical_house()
    solution = solve(house)
    one, other = sensitivities(house, solution), sensitivities(house, solution, lay_out(house))
    assert np.array_equal(one.pressure, other.pressure)
    assert np.array_equal(one.flow, other.flow)


def test_another_networks_solution_is_refused_by_name() -> None:
    house = typical_house()
    small = Network({"out": 0.0}, (Link("coil", "plenum", "out", 1.0),))
    with pytest.raises(NetworkError, match="`outlet`"):
        sensitivities(house, solve(small))
    base = Network({"out": 0.0}, (Link("one", "in", "out", 1.0),))
    with pytest.raises(NetworkError, match="`blower`"):
        sensitivities(replace(base, blower=Blower("out", "in", curve_of(TABLE))), solve(base))


def test_wild_networks_give_finite_derivatives_or_say_that_they_cannot() -> None:
    draw, refused = Random(33), 0
    for _ in range(150):
        network = wild(draw)
        try:
            slopes = sensitivities(network, solve(network))
        except NotConverged:
            refused += 1
            continue
        assert np.isfinite(slopes.flow).all()
        # A link's own resistance never raises the flow through it.
        flows = np.array(list(solve(network).flows.values()))
        own = np.diag(slopes.flow) * np.sign(flows)
        assert np.all(own <= 1e-9 * max(np.abs(flows).max(), 1e-9))
    assert refused <= 3


def test_a_resistance_beside_a_steep_table_moves_less_than_beside_a_flat_one() -> None:
    rows = [(0.0, 1.0), (100.0, 1.0 - 1e-9)], [(0.0, 1.0), (100.0, 0.0)]
    found = []
    for table in rows:
        network = Network({"a": 0.0}, (Link("all", "b", "a", 40.0),), Blower("a", "b", BlowerCurve.of_rows(table)))
        found.append(float(sensitivities(network, solve(network)).static[0]))
    assert found[0] == pytest.approx(40.0, rel=1e-6)
    assert 0.0 < found[1] < found[0]
