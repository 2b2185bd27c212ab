"""The calculation of a whole air network from a file of nodes, links and a blower.

The solver is imported where it is called: its array library would cost every reader of the registry its start.
"""

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from airwarrant.calculations.calculation import Answer, Calculation, Impossible, Key, Line
from airwarrant.calculations.inputs import as_number
from airwarrant.calculations.measures import MEASURES, System
from airwarrant.calculations.network_links import LinkRow, read_links, write_laws, write_links

if TYPE_CHECKING:
    from airwarrant.air.network import Blower, Solution

_Row = Mapping[str, Any]
_ROUNDS = 30
_STILL = 1e-9


def _network(links: Sequence[LinkRow], nodes: Sequence[_Row] = (), blower: _Row | None = None) -> Answer:
    """Pressures and flows of a network of resistances with at most one blower, in standard air.

    Each link loses ``k Q^exponent`` from its `from` to its `to`; a node with a pressure is held, all others balance
    their flows. The blower takes its flow from its `from` to its `to` and reads its table by a monotone cubic, beyond
    it by a straight line. Newton's method on nodal pressures. Todini and Pilati 1988.

    ===========  =======================================================================================================
    link         keys beside id, from, to; `k` in the units of the file, the others by their suffix
    ===========  =======================================================================================================
    resistance   k, exponent = 2 (1 to 2)
    duct         material, diameter_in, length_ft, compression_pct = 0, coefficient = 0 (sum of its fittings')
    opening      free_area_in2, discharge = 0.606
    leak         cfm25, exponent = 0.6 (0.5 to 1, of the flow: ``Q = cfm25 (dP/25)^exponent``)
    ===========  =======================================================================================================

    A duct has the loss and the slope of Darcy and Weisbach's law at its flow; network and laws are solved in turn until
    both agree, so that its loss is that of `duct-friction`. `links` tells each link's k and exponent as solved. Below
    Reynolds number 2300 a duct's law is carried on from there. Valid where the blower stands within its table, ducts
    are turbulent and every link is within the range of the calculation of its kind.
    """
    import numpy as np

    from airwarrant.air.blower_curve import BlowerCurve, CurveError
    from airwarrant.air.network import Blower, NetworkError

    held = {node["id"]: node["pressure"] for node in nodes if "pressure" in node}
    try:
        fan = None if blower is None else Blower(blower["from"], blower["to"], BlowerCurve.of_rows(blower["table"]))
        # A number that leaves double precision ends the call as such, never as a warning beside an answer.
        with np.errstate(over="raise", divide="raise", invalid="raise"):
            found, laws, iterations = _solved(links, held, fan)
    except NetworkError as error:
        raise Impossible("links", str(error)) from error
    except np.linalg.LinAlgError as error:
        raise Impossible("links", f"the resistances are too far apart to solve ({error})") from error
    except CurveError as error:
        raise Impossible("blower", str(error)) from error
    flows = dict(found.flows)
    if found.blower_flow is not None:
        flows["blower"] = found.blower_flow
    values = {
        "flows": flows,
        "pressures": dict(found.pressures),
        "residual": found.residual,
        "iterations": iterations,
        "laws": laws,
    }
    return Answer(values, _left(links, found))


def _solved(
    links: Sequence[LinkRow], held: Mapping[str, float], fan: "Blower | None"
) -> tuple["Solution", dict[str, tuple[float, float]], int]:
    """Solve and take the ducts' laws at the flows found, in turn, until the flows stand still."""
    from airwarrant.air.network import Link, Network, solve

    flow = {one.id: one.typical_flow for one in links}
    iterations = 0
    for _ in range(_ROUNDS):
        laws = {one.id: one.law(flow[one.id]) for one in links}
        found = solve(Network(held, tuple(Link(one.id, one.a, one.b, *laws[one.id]) for one in links), fan))
        iterations += found.iterations
        now = {name: abs(q) for name, q in found.flows.items()}
        far = max((abs(now[one.id] - flow[one.id]) for one in links if one.follows_flow), default=0.0)
        if far <= _STILL * max(now.values()):
            return found, laws, iterations
        flow = now
    raise Impossible("links", f"the ducts' flows do not settle within {_ROUNDS} rounds", "ducts nearer to usual sizes")


def _left(links: Sequence[LinkRow], found: "Solution") -> tuple[Line, ...]:
    from airwarrant.air.network import BEYOND_TABLE

    beyond = BEYOND_TABLE in found.notes or not found.valid
    lines: tuple[Line, ...] = (Line("the blower stands beyond its table"),) if beyond else ()
    for one in links:
        drop = abs(found.pressures[one.a] - found.pressures[one.b])
        lines += one.lines(abs(found.flows[one.id]), drop)
    return lines


def _read_links(raw: object, system: System) -> tuple[LinkRow, ...]:
    return read_links(_tables(raw, "links", "link"), system)


def _read_nodes(raw: object, system: System) -> list[dict[str, Any]]:
    nodes = []
    head = 1.0 if system == "si" else MEASURES["pressure"].ip.factor
    for table in _tables(raw, "nodes", "node"):
        one = _keys(table, "nodes", ("id",), ("pressure",))
        if "pressure" in one:
            one["pressure"] = _finite(one["pressure"], "nodes", "pressure") * head
        nodes.append(one)
    names = [one["id"] for one in nodes]
    for name in names:
        if names.count(name) > 1:
            raise Impossible("nodes", f"node `{name}` stands twice", "each id once")
    return nodes


def _read_blower(raw: object, system: System) -> dict[str, Any]:
    if not isinstance(raw, Mapping):
        raise Impossible("blower", f"`{raw}` is no table", "[blower] with from, to, table")
    one = _keys(raw, "blower", ("from", "to", "table"), ())
    head = 1.0 if system == "si" else MEASURES["pressure"].ip.factor
    unit = 1.0 if system == "si" else MEASURES["flow"].ip.factor
    if not isinstance(one["table"], list) or any(not isinstance(row, list) or len(row) != 2 for row in one["table"]):
        raise Impossible("blower", "table is not a list of pairs", "[[static, flow], …]")
    rows = [[_finite(part, "blower", "table") for part in row] for row in one["table"]]
    return one | {"table": [(static * head, flow * unit) for static, flow in rows]}


def _tables(raw: object, key: str, block: str) -> list[_Row]:
    if not isinstance(raw, list) or not raw or any(not isinstance(one, Mapping) for one in raw):
        raise Impossible(key, f"no [[{block}]] in the file", f"[[{block}]] blocks")
    return raw


def _keys(table: _Row, key: str, needed: tuple[str, ...], may: tuple[str, ...]) -> dict[str, Any]:
    wrong = [name for name in table if name not in (*needed, *may)] + [name for name in needed if name not in table]
    if wrong:
        raise Impossible(key, f"{', '.join(wrong)} unknown or missing", ", ".join((*needed, *may)))
    return {name: str(value) if name in ("id", "from", "to") else value for name, value in table.items()}


def _finite(raw: object, key: str, name: str) -> float:
    value = as_number(raw)
    if value is None or not isfinite(value):
        raise Impossible(key, f"{name} is {raw}", "a finite number")
    return value


def _as_given(measure: str) -> Any:
    """Writer of a mapping of numbers: in. w.c. and cfm, or Pa and m3/s, which is how the file is read."""

    def write(values: Mapping[str, float], system: System) -> dict[str, float]:
        scale, si = MEASURES[measure].ip, MEASURES["number"].si
        return {name: (scale if system == "ip" else si).written(value) for name, value in values.items()}

    return write


def _write_residual(value: float, system: System) -> float:
    return (MEASURES["pressure"].of(system)).written(value)


def _echo_nodes(nodes: Sequence[_Row], system: System) -> list[dict[str, Any]]:
    pressure = MEASURES["pressure"].of(system)
    return [{**one, "pressure": pressure.written(one["pressure"])} if "pressure" in one else dict(one) for one in nodes]


def _echo_blower(blower: _Row, system: System) -> dict[str, Any]:
    flow = MEASURES["flow"].ip if system == "ip" else MEASURES["number"].si
    pressure = MEASURES["pressure"].of(system)
    return {**blower, "table": [[pressure.written(s), flow.written(q)] for s, q in blower["table"]]}


CALCULATIONS = (
    Calculation(
        "network",
        (
            Key("links", "link", form="structure", read=_read_links, write=write_links),
            Key("nodes", "node", form="structure", optional=True, read=_read_nodes, write=_echo_nodes),
            Key("blower", "blower", form="structure", optional=True, read=_read_blower, write=_echo_blower),
        ),
        (
            Key("flows", "flows", form="structure", write=_as_given("flow")),
            Key("pressures", "pressures", form="structure", write=_as_given("pressure")),
            Key("residual", "residual", form="structure", write=_write_residual),
            Key("iterations", "iterations", form="structure"),
            Key("laws", "links", form="structure", write=write_laws),
        ),
        _network,
        "nodal network of power-law resistances, Todini and Pilati 1988; ducts: Darcy-Weisbach with Colebrook 1939",
    ),
)
