"""What an air network is made of, and what its solution holds."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from airwarrant.air.blower_curve import BlowerCurve


class NetworkError(ValueError):
    """A network that cannot be solved as it stands."""


class NotConverged(NetworkError):
    """No solution was reached; the network is attached and no number is given.

    Attributes
    ----------
    network : Network
        The network as it was given to the solver.
    """

    def __init__(self, network: "Network", text: str) -> None:
        self.network = network
        super().__init__(text)


@dataclass(frozen=True, slots=True)
class Link:
    """One resistance between two nodes: ``p(a) - p(b) = k q |q|^(exponent - 1)``, flow positive from `a` to `b`.

    Attributes
    ----------
    id, a, b : str
        Name of the link and of its two nodes.
    k : float
        Resistance [Pa / (m3/s)^exponent], above 0.
    exponent : float
        2 for fittings, boxes and coils, about 1.9 for long duct, 1/0.6 for a leak; within 1 to 2.
    """

    id: str
    a: str
    b: str
    k: float
    exponent: float = 2.0

    def __post_init__(self) -> None:
        if not (isfinite(self.k) and self.k > 0.0):
            raise NetworkError(f"link `{self.id}`: k must be finite and above 0; found {self.k!r}")
        if not 1.0 <= self.exponent <= 2.0:
            raise NetworkError(f"link `{self.id}`: exponent must lie within 1 to 2; found {self.exponent!r}")
        if self.a == self.b:
            raise NetworkError(f"link `{self.id}`: both ends are node `{self.a}`")


@dataclass(frozen=True, slots=True)
class Blower:
    """A blower that takes its flow out of node `a` and puts it into node `b`; its static is ``p(b) - p(a)``."""

    a: str
    b: str
    curve: BlowerCurve

    def __post_init__(self) -> None:
        if self.a == self.b:
            raise NetworkError(f"blower: both sides are node `{self.a}`")


@dataclass(frozen=True, slots=True)
class Network:
    """Nodes, links and at most one blower.

    Attributes
    ----------
    fixed : mapping of str to float
        Pressure [Pa] of the nodes whose pressure is known; every other node is solved.
    links : tuple of Link
    blower : Blower or None
    """

    fixed: Mapping[str, float]
    links: tuple[Link, ...]
    blower: Blower | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "links", tuple(self.links))
        seen: set[str] = set()
        for link in self.links:
            if link.id in seen:
                raise NetworkError(f"two links are named `{link.id}`")
            seen.add(link.id)
        for node, pressure in self.fixed.items():
            if not isfinite(pressure):
                raise NetworkError(f"node `{node}`: a fixed pressure must be finite; found {pressure!r}")


BEYOND_TABLE = "blower-beyond-table"
FAR_BEYOND_TABLE = "blower-far-beyond-table"
CONVEX_PATH = "solved-on-convex-path"


@dataclass(frozen=True, slots=True)
class Solution:
    """Pressures and flows of a solved network.

    Attributes
    ----------
    pressures : mapping of str to float
        Every node's pressure [Pa].
    flows : mapping of str to float
        Every link's flow [m3/s], positive from its `a` to its `b`.
    blower_flow, static : float or None
        Blower flow [m3/s] and its external static [Pa].
    residual : float
        Largest difference [Pa] between a link's drop and its law.
    imbalance : float
        Largest flow [m3/s] that appears or vanishes at a solved node.
    iterations : int
    valid : bool
        False when the blower stands further beyond its table than one spacing of its rows.
    notes : tuple of str
        Of `BEYOND_TABLE`, `FAR_BEYOND_TABLE`, `CONVEX_PATH`.
    """

    pressures: Mapping[str, float]
    flows: Mapping[str, float]
    blower_flow: float | None
    static: float | None
    residual: float
    imbalance: float
    iterations: int
    valid: bool = True
    notes: tuple[str, ...] = field(default=())
