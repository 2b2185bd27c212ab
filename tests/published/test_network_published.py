"""Networks whose answers are known otherwise."""

import numpy as np
import pytest
from scipy.optimize import brentq

from airwarrant.air.network import Blower, BlowerCurve, Link, Network, solve


def test_parallel_resistances_1_4_9_share_1100_as_600_300_200() -> None:
    """By hand: drop 360,000 gives 600 = sqrt(360000/1), 300 = sqrt(360000/4), 200 = sqrt(360000/9)."""
    source = Blower("out", "in", BlowerCurve.of_rows([(0.0, 1100.0), (1e6, 1100.0)]))
    links = tuple(Link(name, "in", "out", k) for name, k in (("one", 1.0), ("four", 4.0), ("nine", 9.0)))
    solution = solve(Network({"out": 0.0}, links, source))
    # The solver's own tolerance: 1e-10 of the largest flow and drop.
    assert [solution.flows[x] for x in ("one", "four", "nine")] == pytest.approx([600.0, 300.0, 200.0], abs=1e-6)
    assert solution.pressures["in"] == pytest.approx(360000.0, abs=1e-4)


PIPES = ((100.0, 0.20), (100.0, 0.15), (60.0, 0.10))  # length, diameter [m]
ROUGHNESS = 0.09e-3
VISCOSITY = 1.0e-6 * 1.02  # EPANET's water at 20 degrees: 1.1e-5 ft2/s
EPANET = (0.059612, 0.027922, 0.012466)


def swamee_jain(flow: float, diameter: float) -> float:
    reynolds = 4.0 * flow / (np.pi * diameter * VISCOSITY)
    return float(0.25 / np.log10(ROUGHNESS / (3.7 * diameter) + 5.74 / reynolds**0.9) ** 2)


def resistance(flow: float, length: float, diameter: float) -> float:
    return swamee_jain(flow, diameter) * 8.0 * length / (np.pi**2 * diameter**5)


def test_three_parallel_pipes_share_as_epanet_says_once_their_friction_is_swamee_jains() -> None:
    """EPANET 2.2 through wntr 1.5.0, three Darcy-Weisbach pipes, 0.1 m3/s in total, read from its run.

    EPANET's friction factor is Swamee and Jain's (not Colebrook's) and depends on flow; a link's law here does not, so each
    resistance is set at the flow found, again and again until both agree.
    """
    flows = [0.1 / 3.0] * 3
    source = Blower("out", "in", BlowerCurve.of_rows([(0.0, 0.1), (1e6, 0.1)]))
    for _ in range(30):
        links = tuple(
            Link(f"pipe-{i}", "in", "out", resistance(q, *pipe))
            for i, (q, pipe) in enumerate(zip(flows, PIPES, strict=True))
        )
        solution = solve(Network({"out": 0.0}, links, source))
        flows = [solution.flows[link.id] for link in links]
    # Six digits are given; the last may be rounded.
    assert flows == pytest.approx(EPANET, abs=1.5e-6)


def test_a_two_loop_network_solved_by_hardy_cross_gives_the_same_to_1e_5() -> None:
    """Own example. Loops (ab, bd, ad) and (bc, cd, bd); 1.0 m3/s enters at a and leaves at c."""
    k = {"ab": 40.0, "bd": 90.0, "ad": 60.0, "bc": 55.0, "dc": 35.0}
    q = {"ab": 0.6, "bd": 0.1, "ad": 0.4, "bc": 0.5, "dc": 0.5}
    loops = ({"ab": 1.0, "bd": 1.0, "ad": -1.0}, {"bc": 1.0, "dc": -1.0, "bd": -1.0})
    for _ in range(200):
        for loop in loops:
            drop = sum(sign * k[x] * q[x] * abs(q[x]) for x, sign in loop.items())
            slope = sum(2.0 * k[x] * abs(q[x]) for x in loop)
            for x, sign in loop.items():
                q[x] -= sign * drop / slope
    links = tuple(Link(name, name[0], name[1], value) for name, value in k.items())
    source = Blower("c", "a", BlowerCurve.of_rows([(0.0, 1.0), (1000.0, 1.0)]))
    solution = solve(Network({"c": 0.0}, links, source))
    assert solution.flows == pytest.approx(q, abs=1e-5)


def test_a_blower_meets_one_resistance_where_curve_and_law_cross() -> None:
    """Straight table q = 0.8 - 0.001 s against s = 500 q^1.9, the root by Brent's method."""
    expected = brentq(lambda q: 500.0 * q**1.9 - (0.8 - q) / 0.001, 1e-6, 0.8, xtol=1e-14)
    blower = Blower("a", "b", BlowerCurve.of_rows([(0.0, 0.8), (400.0, 0.4), (800.0, 0.0)]))
    solution = solve(Network({"a": 0.0}, (Link("house", "b", "a", 500.0, 1.9),), blower))
    assert solution.blower_flow == pytest.approx(expected, abs=1e-9)
