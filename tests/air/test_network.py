"""What the solver of the air network must hold."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_cases import CFM, IN_WC, PLATEAU, curve_of, scaled_house, typical_house, wild
from scipy.optimize import root

from airwarrant.air.network import (
    BEYOND_TABLE,
    CONVEX_PATH,
    FAR_BEYOND_TABLE,
    Blower,
    BlowerCurve,
    Link,
    Network,
    NetworkError,
    NotConverged,
    Solution,
    solve,
)
from airwarrant.air.network_convex import descend
from airwarrant.air.network_layout import lay_out, numbered


def imbalances(network: Network, solution: Solution) -> dict[str, float]:
    out = dict.fromkeys(solution.pressures, 0.0)
    for link in network.links:
        out[link.a] += solution.flows[link.id]
        out[link.b] -= solution.flows[link.id]
    if network.blower is not None and solution.blower_flow is not None:
        out[network.blower.a] += solution.blower_flow
        out[network.blower.b] -= solution.blower_flow
    return {node: off for node, off in out.items() if node not in network.fixed}


def with_k(network: Network, name: str, factor: float) -> Network:
    return replace(network, links=tuple(replace(x, k=x.k * factor) if x.id == name else x for x in network.links))


def test_reference_house_has_31_links_and_19_free_nodes() -> None:
    net = lay_out(typical_house())
    assert len(net.links) == 31
    assert len(net.free) == 19


@pytest.mark.parametrize("rows", [None, PLATEAU])
def test_mass_balances_at_every_node(rows: list[tuple[float, float]] | None) -> None:
    house = typical_house() if rows is None else typical_house(rows)
    assert max(map(abs, imbalances(house, solve(house)).values())) <= 1e-9


def test_300_realistic_houses_are_solved_and_balance() -> None:
    draw = Random(11)
    for _ in range(300):
        house = scaled_house(draw)
        solution = solve(house)
        assert max(map(abs, imbalances(house, solution).values())) <= 1e-9
        # 1e-10 of the largest drop is asked for; a house's largest is below 1000 Pa.
        assert solution.residual <= 1e-7


def test_200_wild_networks_are_solved_and_balance() -> None:
    draw = Random(12)
    for _ in range(200):
        network = wild(draw)
        solution = solve(network)
        largest = max([abs(q) for q in solution.flows.values()] + [solution.blower_flow or 0.0])
        assert max(map(abs, imbalances(network, solution).values()), default=0.0) <= 1e-9 * max(largest, 1.0)


def test_both_paths_give_one_answer() -> None:
    draw = Random(13)
    for _ in range(30):
        house = scaled_house(draw)
        quick = solve(house)
        sure = descend(numbered(house))
        assert sure.converged
        assert np.allclose(sure.state.q[:31], list(quick.flows.values()), rtol=0.0, atol=1e-8)


def test_a_general_root_finder_agrees_on_random_houses() -> None:
    """scipy's hybrid Powell on pressures alone, with its own law of a link and the curve's table from PchipInterpolator."""
    from scipy.interpolate import PchipInterpolator

    draw, compared = Random(14), 0
    while compared < 20:
        house = scaled_house(draw)
        solution = solve(house)
        if solution.notes or house.blower is None:
            continue
        free = [node for node in solution.pressures if node not in house.fixed]
        curve = PchipInterpolator(house.blower.curve.statics, house.blower.curve.flows)

        def continuity(
            x: np.ndarray, house: Network = house, free: list[str] = free, curve: object = curve
        ) -> list[float]:
            p = {**house.fixed, **dict(zip(free, x, strict=True))}
            out = dict.fromkeys(p, 0.0)
            for link in house.links:
                drop = p[link.a] - p[link.b]
                q = np.sign(drop) * (abs(drop) / link.k) ** (1.0 / link.exponent)
                out[link.a] += q
                out[link.b] -= q
            q = float(curve(p["outlet"] - p["cabinet"]))  # type: ignore[operator]
            out["cabinet"] += q
            out["outlet"] -= q
            return [out[node] for node in free]

        nearby = [solution.pressures[node] * 1.02 + 0.01 for node in free]
        found = root(continuity, nearby, method="hybr", options={"xtol": 1e-12})
        if not found.success:
            continue
        compared += 1
        # The smoothing of the law moves a flow by less than 1e-6 m3/s.
        assert np.allclose(found.x, [solution.pressures[node] for node in free], rtol=1e-6, atol=1e-5)


@settings(max_examples=25, deadline=None)
@given(index=st.integers(0, 30), factor=st.floats(1.01, 30.0))
def test_more_resistance_never_raises_that_links_flow_nor_lowers_the_loss_of_all(index: int, factor: float) -> None:
    house = typical_house()
    name = house.links[index].id
    before, after = solve(house), solve(with_k(house, name, factor))
    assert abs(after.flows[name]) <= abs(before.flows[name]) + 1e-9
    assert before.static is not None
    assert after.static is not None
    assert after.static >= before.static - 1e-6
    assert after.blower_flow is not None
    assert before.blower_flow is not None
    assert after.blower_flow <= before.blower_flow + 1e-9


def test_order_and_direction_of_links_do_not_matter() -> None:
    house = typical_house()
    mixed = list(house.links)
    Random(5).shuffle(mixed)
    turned = [replace(x, a=x.b, b=x.a) if i % 2 else x for i, x in enumerate(mixed)]
    expected, found = solve(house), solve(replace(house, links=tuple(turned)))
    for i, link in enumerate(turned):
        sign = -1.0 if i % 2 else 1.0
        assert sign * found.flows[link.id] == pytest.approx(expected.flows[link.id], abs=1e-10)
    for node, pressure in expected.pressures.items():
        assert found.pressures[node] == pytest.approx(pressure, abs=1e-7)


def test_moving_every_fixed_pressure_moves_every_pressure_and_no_flow() -> None:
    house = typical_house()
    moved = solve(replace(house, fixed={node: p + 40.0 for node, p in house.fixed.items()}))
    expected = solve(house)
    for name, flow in expected.flows.items():
        assert moved.flows[name] == pytest.approx(flow, abs=1e-9)
    for node, pressure in expected.pressures.items():
        assert moved.pressures[node] == pytest.approx(pressure + 40.0, abs=1e-6)


@pytest.mark.parametrize("factor", [0.25, 3.0])
def test_resistances_and_curve_scale_together(factor: float) -> None:
    """K times f and the table's statics times f: pressures times f, flows as they were."""
    house = typical_house()
    assert house.blower is not None
    curve = house.blower.curve
    rows = [(s * factor, q) for s, q in zip(curve.statics, curve.flows, strict=True)]
    links = tuple(replace(x, k=x.k * factor) for x in house.links)
    scaled = solve(replace(house, links=links, blower=replace(house.blower, curve=BlowerCurve.of_rows(rows))))
    expected = solve(house)
    for node, pressure in expected.pressures.items():
        assert scaled.pressures[node] == pytest.approx(pressure * factor, abs=1e-6)
    for name, flow in expected.flows.items():
        assert scaled.flows[name] == pytest.approx(flow, abs=1e-9)


def test_a_plateau_holds_the_flow_while_static_climbs_then_lets_go() -> None:
    house = typical_house([(0.1, 1000.0), (0.5, 1000.0), (0.8, 1000.0), (1.0, 900.0), (1.2, 700.0)])
    statics, flows = [], []
    for factor in (1.0, 1.8, 2.5, 12.0):
        solution = solve(with_k(house, "coil", factor))
        assert solution.static is not None
        assert solution.blower_flow is not None
        statics.append(solution.static / IN_WC)
        flows.append(solution.blower_flow / CFM)
    assert statics == sorted(statics)
    assert flows[0] == pytest.approx(1000.0, abs=1e-6)
    assert flows[1] == pytest.approx(1000.0, abs=1e-6)
    assert flows[3] < 950.0


def test_a_leak_closed_on_the_supply_raises_registers_and_on_the_return_raises_grilles() -> None:
    house = typical_house()
    as_is = solve(house)
    supply, back = with_k(house, "leak-plenum", 1e6), with_k(house, "leak-return", 1e6)
    registers = [x.id for x in house.links if x.id.startswith("register-")]
    grilles = ["grille-hall", "grille-den"]
    assert sum(solve(supply).flows[x] for x in registers) > sum(as_is.flows[x] for x in registers)
    assert sum(solve(back).flows[x] for x in grilles if x in as_is.flows) > sum(as_is.flows[x] for x in grilles)


def test_no_blower_and_no_difference_of_pressure_means_still_air() -> None:
    solution = solve(Network({"in": 3.0, "out": 3.0}, (Link("one", "in", "mid", 5.0), Link("two", "mid", "out", 7.0))))
    assert solution.pressures["mid"] == pytest.approx(3.0, abs=1e-12)
    assert solution.flows["one"] == pytest.approx(0.0, abs=1e-9)
    assert solution.blower_flow is None


def test_a_network_without_free_nodes_is_solved() -> None:
    solution = solve(Network({"in": 8.0, "out": 0.0}, (Link("one", "in", "out", 2.0),)))
    assert solution.flows["one"] == pytest.approx(2.0, rel=1e-9)


def test_a_bridge_without_flow_is_found_still() -> None:
    links = [
        Link("a", "in", "m", 100.0),
        Link("b", "in", "n", 100.0),
        Link("c", "m", "out", 50.0),
        Link("d", "n", "out", 50.0),
    ]
    solution = solve(Network({"in": 150.0, "out": 0.0}, (*links, Link("bridge", "m", "n", 10.0))))
    assert solution.flows["a"] == pytest.approx(1.0, rel=1e-9)
    assert abs(solution.flows["bridge"]) < 1e-6


def test_beyond_the_table_is_flagged_and_far_beyond_is_not_valid() -> None:
    base = Network(
        {"a": 0.0}, (Link("all", "b", "a", 1.0),), Blower("a", "b", BlowerCurve.of_rows([(10.0, 1.0), (20.0, 0.9)]))
    )
    inside = solve(with_k(base, "all", 15.0))
    near = solve(with_k(base, "all", 30.0))
    far = solve(with_k(base, "all", 80.0))
    assert (inside.valid, inside.notes) == (True, ())
    assert (near.valid, near.notes) == (True, (BEYOND_TABLE,))
    assert (far.valid, far.notes) == (False, (BEYOND_TABLE, FAR_BEYOND_TABLE))


@pytest.mark.parametrize("k", [0.0, -1.0, float("nan"), float("inf")])
def test_a_resistance_not_above_zero_is_refused(k: float) -> None:
    with pytest.raises(NetworkError, match="`duct`"):
        Link("duct", "a", "b", k)


@pytest.mark.parametrize("exponent", [0.99, 2.01, float("nan")])
def test_an_exponent_outside_one_to_two_is_refused(exponent: float) -> None:
    with pytest.raises(NetworkError, match="`duct`"):
        Link("duct", "a", "b", 1.0, exponent)


def test_a_link_from_a_node_to_itself_two_links_of_a_name_and_a_wrong_pressure_are_refused() -> None:
    with pytest.raises(NetworkError, match="both ends"):
        Link("loop", "a", "a", 1.0)
    with pytest.raises(NetworkError, match="`same`"):
        Network({"a": 0.0}, (Link("same", "a", "b", 1.0), Link("same", "b", "a", 1.0)))
    with pytest.raises(NetworkError, match="`a`"):
        Network({"a": float("nan")}, ())


def test_nodes_no_link_joins_to_a_fixed_pressure_are_named_and_a_blower_is_no_link() -> None:
    blower = Blower("a", "island", curve_of([(0.1, 100.0), (0.2, 100.0)]))
    with pytest.raises(NetworkError, match="`island`, `beach`"):
        solve(Network({"a": 0.0}, (Link("one", "a", "b", 1.0), Link("two", "island", "beach", 1.0)), blower))


def test_without_a_solution_there_is_an_error_with_the_network_and_no_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.air.network.newton", lambda net, start: replace(descend(net), converged=False))
    monkeypatch.setattr("airwarrant.air.network.descend", lambda net: replace(descend(net), converged=False))
    house = typical_house()
    with pytest.raises(NotConverged) as caught:
        solve(house)
    assert caught.value.network is house


def test_the_convex_path_is_noted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.air.network.newton", lambda net, start: replace(descend(net), converged=False))
    assert solve(typical_house()).notes == (CONVEX_PATH,)


def test_numbers_no_computer_can_hold_give_an_error_and_no_number() -> None:
    far = Link("far", "in", "mid", 1e300), Link("near", "mid", "out", 1e-300), Link("by", "in", "out", 1e-300)
    blower = Blower("out", "in", BlowerCurve.of_rows([(0.0, 1e200), (1.0, 1e200)]))
    with pytest.raises(NotConverged):
        solve(Network({"out": 0.0}, far, blower))
