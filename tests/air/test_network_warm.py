"""What a start from a solution and a kept layout must hold: the same answer, and never a failure that a cold solve has not."""

from dataclasses import replace
from math import inf, nan
from random import Random

import numpy as np
import pytest
from network_cases import FLAT, PLATEAU, TABLE, scaled_house, typical_house, wild

from airwarrant.air.network import Link, Network, NetworkError, Solution, lay_out, solve
from airwarrant.air.network_batch import solve_batch


def same(one: Solution, other: Solution, within: float = 1e-8) -> None:
    """Equal within the solver's tolerance, 1e-10 of the largest drop and flow, a hundredfold."""
    flow = max(
        abs(q) for q in (*other.flows.values(), other.blower_flow or 0.0, 1e-6)
    )  # below 1e-6 m3/s laws are straight lines
    pressure = max(abs(p) for p in (*other.pressures.values(), other.static or 0.0, 1e-6))
    assert list(one.flows) == list(other.flows)
    assert list(one.pressures) == list(other.pressures)
    assert np.allclose(list(one.flows.values()), list(other.flows.values()), rtol=0.0, atol=within * flow)
    assert np.allclose(list(one.pressures.values()), list(other.pressures.values()), rtol=0.0, atol=within * pressure)
    assert one.valid == other.valid


def other_k(draw: Random, network: Network, spread: float) -> Network:
    return replace(network, links=tuple(replace(x, k=x.k * spread ** draw.uniform(-1, 1)) for x in network.links))


def test_the_solution_itself_needs_no_iteration() -> None:
    house = typical_house()
    solution = solve(house)
    again = solve(house, solution)
    assert again.iterations == 0
    same(again, solution)


def test_nearby_houses_need_fewer_iterations_and_get_the_same_answer() -> None:
    draw, warm, cold = Random(41), 0, 0
    for _ in range(60):
        house = scaled_house(draw)
        near = other_k(draw, house, 1.2)
        expected = solve(near)
        found = solve(near, solve(house))
        same(found, expected)
        warm, cold = warm + found.iterations, cold + expected.iterations
    assert warm < cold


@pytest.mark.parametrize("rows", [TABLE, PLATEAU, FLAT])
def test_any_houses_solution_starts_any_other(rows: list[tuple[float, float]]) -> None:
    draw, start = Random(42), solve(typical_house(rows))
    for _ in range(60):
        house = scaled_house(draw)
        same(solve(house, start), solve(house))


def test_wild_networks_get_the_same_answer_whatever_the_start() -> None:
    draw = Random(43)
    for _ in range(150):
        network = wild(draw)
        start = solve(other_k(draw, network, 100.0))
        cold, warm = solve(network), solve(network, start)
        # As in the batch's test: where resistances lie twelve powers of ten apart, rounding of the pressures is a flow.
        same(warm, cold, 1e-6)
        assert warm.imbalance <= 1e-9 * max([abs(q) for q in warm.flows.values()] + [warm.blower_flow or 0.0])


def test_a_link_taken_out_put_in_or_turned_is_no_hindrance() -> None:
    house = typical_house()
    start = solve(house)
    fewer = replace(house, links=tuple(x for x in house.links if x.id not in ("grille-den", "leak-plenum")))
    second = Link("grille-second", "hall", "return-plenum", house.links[0].k, 2.0)
    more = replace(house, links=(*house.links, second))
    turned = replace(house, links=tuple(replace(x, a=x.b, b=x.a) for x in house.links))
    for changed in (fewer, more, turned):
        same(solve(changed, start), solve(changed))


def test_a_node_the_start_does_not_know_means_a_cold_start() -> None:
    house = typical_house()
    links = [*house.links, Link("new-duct", "plenum", "porch", 50.0), Link("new-register", "porch", "hall", 50.0)]
    changed = replace(house, links=tuple(links))
    assert solve(changed, solve(house)) == solve(changed)


@pytest.mark.parametrize("value", [0.0, 1e6, -1e9, 1e200, inf, -inf, nan])
def test_no_start_is_so_bad_that_the_answer_is_lost(value: float) -> None:
    house = typical_house()
    good = solve(house)
    for start in (
        replace(good, flows=dict.fromkeys(good.flows, value)),
        replace(good, pressures=dict.fromkeys(good.pressures, value)),
        replace(good, blower_flow=value),
        replace(good, flows=dict.fromkeys(good.flows, value), pressures=dict.fromkeys(good.pressures, value)),
        replace(good, flows={}, blower_flow=None, static=None),
        replace(good, flows={}, pressures={}),
    ):
        same(solve(house, start), good)


def test_a_start_given_up_is_followed_by_the_cold_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.air.network_warm.LIMIT", 1)
    house = typical_house()
    start = solve(typical_house(FLAT))
    assert solve(house, start) == solve(house)


def test_a_kept_layout_gives_the_same_to_the_last_bit() -> None:
    layout = lay_out(typical_house())
    draw = Random(44)
    for _ in range(10):
        house = scaled_house(draw)
        assert solve(house, layout=layout) == solve(house)
        k = np.array([link.k for link in house.links])[:, None] * np.linspace(0.8, 1.2, 5)
        assert np.array_equal(solve_batch(house, k, layout=layout).flows, solve_batch(house, k).flows)


def test_another_networks_layout_is_refused() -> None:
    house = typical_house()
    layout = lay_out(house)
    links = list(house.links)
    for other in (
        replace(house, links=tuple(links[:-1])),
        replace(house, links=(*links[:-1], replace(links[-1], a="attic"))),
        replace(house, links=tuple(reversed(links))),
        replace(house, fixed={**house.fixed, "hall": 0.0}),
        replace(house, blower=None),
    ):
        with pytest.raises(NetworkError, match="layout"):
            solve(other, layout=layout)
        with pytest.raises(NetworkError, match="layout"):
            solve_batch(other, np.ones((len(other.links), 2)), layout=layout)


def test_a_batch_gives_the_same_whatever_the_start() -> None:
    house, noise = typical_house(PLATEAU), np.random.default_rng(45)
    k = np.array([x.k for x in house.links])[:, None] * np.exp(0.3 * noise.standard_normal((31, 40)))
    expected = solve_batch(house, k)
    good = solve(house)
    for start in (good, solve(typical_house(TABLE)), replace(good, flows=dict.fromkeys(good.flows, nan))):
        found = solve_batch(house, k, start=start)
        assert np.allclose(found.flows, expected.flows, rtol=0.0, atol=1e-8)
        assert np.allclose(found.pressures, expected.pressures, rtol=0.0, atol=1e-6)
