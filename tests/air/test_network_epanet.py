"""The solver beside EPANET, run through wntr where it is installed."""

from math import log10, pi
from pathlib import Path

import pytest

from airwarrant.air.network import Blower, BlowerCurve, Link, Network, solve

PIPES = ((100.0, 0.20), (100.0, 0.15), (60.0, 0.10))  # length, diameter [m]
ROUGHNESS = 0.09e-3
TOTAL = 0.1
# EPANET 2.2's own constant for water at 20 degrees: 1.1e-5 ft2/s.
VISCOSITY = 1.1e-5 * 0.3048**2
HEAD = 100.0  # [m]
GRAVITY = 32.2 * 0.3048  # its own, 32.2 ft/s2


def resistance(flow: float, length: float, diameter: float) -> float:
    """Head [m] over flow squared, by Swamee and Jain's friction factor, EPANET's own in turbulent flow."""
    reynolds = 4.0 * flow / (pi * diameter * VISCOSITY)
    friction = 0.25 / log10(ROUGHNESS / (3.7 * diameter) + 5.74 / reynolds**0.9) ** 2
    return friction * 8.0 * length / (GRAVITY * pi**2 * diameter**5)


@pytest.mark.filterwarnings("ignore")
def test_three_parallel_pipes_share_and_lose_as_in_epanet(tmp_path: Path) -> None:
    pytest.importorskip("six")
    wntr = pytest.importorskip("wntr")
    water = wntr.network.WaterNetworkModel()
    water.options.hydraulic.headloss = "D-W"
    water.options.hydraulic.accuracy = 1e-8
    water.options.hydraulic.trials = 200
    water.add_reservoir("source", base_head=HEAD)
    water.add_junction("end", base_demand=TOTAL, elevation=0.0)
    for i, (length, diameter) in enumerate(PIPES):
        # Roughness in wntr is kept in metres, whatever headloss was in force when the pipe was added.
        water.add_pipe(f"pipe-{i}", "source", "end", length=length, diameter=diameter, roughness=ROUGHNESS)
    run = wntr.sim.EpanetSimulator(water).run_sim(file_prefix=str(tmp_path / "pipes"))
    theirs = [float(run.link["flowrate"][f"pipe-{i}"].iloc[0]) for i in range(len(PIPES))]
    loss = HEAD - float(run.node["head"]["end"].iloc[0])

    source = Blower("end", "source", BlowerCurve.of_rows([(0.0, TOTAL), (1e6, TOTAL)]))
    flows = [TOTAL / len(PIPES)] * len(PIPES)
    # A link's k does not follow its flow: set each by the flow found, until both agree.
    for _ in range(30):
        links = tuple(
            Link(f"pipe-{i}", "source", "end", resistance(q, *pipe))
            for i, (q, pipe) in enumerate(zip(flows, PIPES, strict=True))
        )
        solution = solve(Network({"end": 0.0}, links, source))
        flows = [solution.flows[link.id] for link in links]
    # EPANET writes its answers in single precision; the loss is a difference of two heads near 100 m.
    assert flows == pytest.approx(theirs, rel=1e-6)
    assert solution.pressures["source"] == pytest.approx(loss, rel=2e-5)
    # wntr 1.5.0 gave these before.
    assert theirs == pytest.approx([0.059612, 0.027922, 0.012466], abs=1e-6)
