"""The air network: do thousands of houses converge, and how long does one solve take, beside other solvers.

`python tests/bench/network.py [--houses 4000] [--wild 3000] [--seed 1]` prints one table. Nothing here asserts a time.
"""

import argparse
import platform
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from importlib.util import find_spec
from itertools import cycle
from pathlib import Path
from random import Random

import numpy as np
from scipy.optimize import root

sys.path.insert(0, str(Path(__file__).parents[1] / "air"))

from network_cases import CFM, PLATEAU, TABLE, scaled_house, typical_house, wild

from airwarrant.air.network import CONVEX_PATH, Link, Network, NotConverged, lay_out, solve
from airwarrant.air.network_batch import solve_batch
from airwarrant.air.network_sensitivity import sensitivities

SETS = 500


def converge(name: str, networks: Iterable[Network]) -> None:
    """Solve each network and print how many were solved, and how."""
    found: Counter[str] = Counter()
    worst_residual = worst_imbalance = 0.0
    iterations = []
    for network in networks:
        try:
            solution = solve(network)
        except NotConverged:
            found["not converged"] += 1
            continue
        found["on the convex path" if CONVEX_PATH in solution.notes else "by Newton"] += 1
        flow = max([abs(q) for q in solution.flows.values()] + [abs(solution.blower_flow or 0.0), 1e-9])
        drop = max([abs(p) for p in solution.pressures.values()] + [1e-9])
        worst_residual = max(worst_residual, solution.residual / drop)
        worst_imbalance = max(worst_imbalance, solution.imbalance / flow)
        iterations.append(solution.iterations)
    print(f"{name}: {dict(found)}, iterations median {int(np.median(iterations))}, most {max(iterations)}")
    print(
        f"  worst residual {worst_residual:.1e} of the largest pressure, worst imbalance {worst_imbalance:.1e} of the largest flow"
    )


def timed(work: Callable[[], object], times: int, each: float = 1e3, unit: str = "ms") -> str:
    """Median and least wall time and median processor time of several runs as text, in units of 1/`each` s.

    The processor's time shows what a busy machine adds to the wall's; another program started by the work is not in it.
    """
    wall, processor = [], []
    for _ in range(times):
        start, spent = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        processor.append(time.process_time() - spent)
    median = statistics.median
    return (
        f"median {median(wall) * each:.3f}, least {min(wall) * each:.3f} {unit}"
        f" (processor {median(processor) * each:.3f})"
    )


def scaled_link(link: Link, factor: float) -> Link:
    """The same link with its resistance multiplied."""
    return replace(link, k=link.k * float(factor))


def by_scipy(network: Network) -> np.ndarray:
    """Free pressures by scipy's hybrid Powell on continuity, from the linear start that `solve` takes too."""
    from airwarrant.air.network_layout import numbered
    from airwarrant.air.network_newton import first_guess, lawful

    net = numbered(network)
    return root(lambda p: net.turned @ lawful(net, p).q, first_guess(net).p).x


def by_wntr(network: Network, flow: float) -> Callable[[], object] | None:
    """EPANET on a network of the same size and shape: minor losses as resistances (all of exponent 2), the blower's flow given."""
    if find_spec("wntr") is None or network.blower is None:
        return None
    import tempfile

    import wntr

    water = wntr.network.WaterNetworkModel()
    water.options.hydraulic.headloss = "D-W"
    for node in dict.fromkeys(end for link in network.links for end in (link.a, link.b)):
        if node in network.fixed:
            water.add_reservoir(node, base_head=100.0)
        else:
            demand = {network.blower.a: flow, network.blower.b: -flow}.get(node, 0.0)
            water.add_junction(node, base_demand=demand, elevation=0.0)
    for link in network.links:
        area = np.pi * 0.25**2 / 4.0
        loss = link.k / 9.81 * 2.0 * 9.81 * area**2
        water.add_pipe(link.id, link.a, link.b, length=0.01, diameter=0.25, roughness=1e-4, minor_loss=loss)
    folder = tempfile.mkdtemp()
    return lambda: wntr.sim.EpanetSimulator(water).run_sim(file_prefix=str(Path(folder) / "bench"))


def main() -> None:
    """Run all and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--houses", type=int, default=4000)
    parser.add_argument("--wild", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print(f"Python {platform.python_version()}, numpy {np.__version__}, {platform.machine()}")
    draw = Random(asked.seed)
    converge(f"{asked.houses} houses", (scaled_house(draw) for _ in range(asked.houses)))
    converge(f"{asked.wild} wild networks", (wild(draw) for _ in range(asked.wild)))
    noise = np.random.default_rng(asked.seed)
    for name, rows in (("table", TABLE), ("plateau", PLATEAU)):
        house = typical_house(rows)
        own = np.array([x.k for x in house.links])
        k = own[:, None] * np.exp(0.15 * noise.standard_normal((len(house.links), SETS)))
        scale = np.exp(0.05 * noise.standard_normal(SETS))
        solution = solve(house)
        print(f"{name}: {len(house.links)} links, {len(solution.pressures) - len(house.fixed)} free nodes")
        print(
            f"  blower {(solution.blower_flow or 0.0) / CFM:.1f} cfm, {solution.iterations} iterations, {solution.residual:.0e} Pa"
        )
        print(f"  cold solve: {timed(lambda house=house: solve(house), 500)}")
        kept = lay_out(house)
        print(f"  layout kept: {timed(lambda house=house, kept=kept: solve(house, layout=kept), 500)}")
        near = [replace(house, links=tuple(map(scaled_link, house.links, row))) for row in (k / own[:, None]).T[:20]]
        turns = cycle(near)
        warm = timed(lambda turns=turns, kept=kept, solution=solution: solve(next(turns), solution, kept), 500)
        print(f"  layout kept, warm start from resistances 15 % away: {warm}")
        print(f"  sensitivities: {timed(lambda house=house, solution=solution: sensitivities(house, solution), 300)}")
        batch = timed(lambda house=house, k=k, scale=scale: solve_batch(house, k, scale), 30, 1e6 / SETS, "us")
        alone = int(solve_batch(house, k, scale).alone.sum())
        print(f"  batch of {SETS}: {batch} a solve, {alone} of them alone")
        print(f"  scipy root: {timed(lambda house=house: by_scipy(house), 20)}")
    other = by_wntr(typical_house(), 0.55)
    print("  wntr: not installed" if other is None else f"  wntr (EPANET): {timed(other, 10)}")


if __name__ == "__main__":
    main()
