"""What solving many sets of resistances at once must hold."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from network_cases import PLATEAU, TABLE, scaled_house, typical_house, wild

from airwarrant.air.network import Network, NetworkError, solve
from airwarrant.air.network_batch import solve_batch

SEED = 21


def resistances(network: Network) -> np.ndarray:
    return np.array([link.k for link in network.links])


def one_of(network: Network, k: np.ndarray, scale: float) -> Network:
    links = tuple(replace(link, k=float(x)) for link, x in zip(network.links, k, strict=True))
    blower = network.blower
    if blower is not None:
        blower = replace(blower, curve=blower.curve.scaled(scale))
    return replace(network, links=links, blower=blower)


@pytest.mark.parametrize("rows", [TABLE, PLATEAU])
def test_every_set_equals_its_own_solve(rows: list[tuple[float, float]]) -> None:
    house = typical_house(rows)
    draw = np.random.default_rng(SEED)
    k = resistances(house)[:, None] * np.exp(0.3 * draw.standard_normal((31, 60)))
    scale = np.exp(0.05 * draw.standard_normal(60))
    batch = solve_batch(house, k, scale)
    for column in range(60):
        alone = solve(one_of(house, k[:, column], float(scale[column])))
        assert batch.flows[:, column] == pytest.approx([alone.flows[name] for name in batch.links], abs=1e-8)
        assert batch.pressures[:, column] == pytest.approx([alone.pressures[node] for node in batch.nodes], abs=1e-6)
        assert batch.blower_flow[column] == pytest.approx(alone.blower_flow, abs=1e-8)
        assert batch.static[column] == pytest.approx(alone.static, abs=1e-6)
        assert batch.valid[column] == alone.valid


def test_every_set_of_random_houses_and_wild_networks_is_answered() -> None:
    draw, noise = Random(SEED), np.random.default_rng(SEED)
    for i in range(60):
        network = scaled_house(draw) if i % 2 else wild(draw)
        k = resistances(network)[:, None] * np.exp(noise.standard_normal((len(network.links), 5)))
        batch = solve_batch(network, k)
        for column in range(5):
            alone = solve(one_of(network, k[:, column], 1.0))
            size = max([abs(q) for q in alone.flows.values()] + [abs(alone.blower_flow or 0.0), 1e-3])
            found, expected = batch.flows[:, column], np.array([alone.flows[name] for name in batch.links])
            assert np.abs(found - expected).max(initial=0.0) <= 1e-6 * size


def test_a_set_the_batch_gives_up_is_solved_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.air.network_batch_newton.LIMIT", 2)
    house = typical_house(PLATEAU)
    k = resistances(house)[:, None] * np.array([1.0, 1.4, 0.7])
    batch = solve_batch(house, k)
    assert batch.alone.any()
    for column in range(3):
        alone = solve(one_of(house, k[:, column], 1.0))
        assert batch.flows[:, column] == pytest.approx([alone.flows[name] for name in batch.links], abs=1e-8)


def test_order_of_sets_does_not_matter() -> None:
    house = typical_house()
    k = resistances(house)[:, None] * np.exp(0.3 * np.random.default_rng(SEED).standard_normal((31, 20)))
    assert np.allclose(solve_batch(house, k).flows[:, ::-1], solve_batch(house, k[:, ::-1]).flows, rtol=0.0, atol=1e-10)


def test_no_sets_give_no_answers() -> None:
    batch = solve_batch(typical_house(), np.empty((31, 0)))
    assert batch.flows.shape == (31, 0)


def test_wrong_shapes_and_numbers_not_above_zero_are_refused_with_the_links_name() -> None:
    house = typical_house()
    k = np.repeat(resistances(house)[:, None], 3, axis=1)
    with pytest.raises(NetworkError, match="shape"):
        solve_batch(house, k[:-1])
    with pytest.raises(NetworkError, match="curve_scale"):
        solve_batch(house, k, np.ones(2))
    with pytest.raises(NetworkError, match="curve_scale"):
        solve_batch(house, k, np.array([1.0, 0.0, 1.0]))
    k[5, 1] = 0.0
    with pytest.raises(NetworkError, match="`coil`"):
        solve_batch(house, k)
