"""The calculation of a whole air network from a file of nodes, links and a blower.

The solver is imported where it is called: its array library would cost every reader of the registry its start.
"""

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

from airwarrant.calculations.calculation import Answer, Calculation, Impossible, Key, Line
from airwarrant.calculations.inputs import as_number
from airwarrant.calculations.measures import MEASURES, System

_Row = Mapping[str, Any]


def _network(links: Sequence[_Row], nodes: Sequence[_Row] = (), blower: _Row | None = None) -> Answer:
    """Pressures and flows of a network of resistances with at most one blower.

    Each link loses ``k Q^exponent`` from its `from` to its `to`; a node with a pressure is held, all others balance their flows. The
    blower takes its flow from its `from` to its `to` and reads its table by a monotone cubic, beyond it by a straight line. Newton's
    method on nodal pressures. Valid where the blower stands within its table. Todini and Pilati 1988.
    """
    import numpy as np

    from airwarrant.air.blower_curve import BlowerCurve, CurveError
    from airwarrant.air.network import BEYOND_TABLE, Blower, Link, Network, NetworkError, solve

    held = {node["id"]: node["pressure"] for node in nodes if "pressure" in node}
    try:
        parts = tuple(Link(one["id"], one["from"], one["to"], one["k"], one["exponent"]) for one in links)
        fan = None if blower is None else Blower(blower["from"], blower["to"], BlowerCurve.of_rows(blower["table"]))
        # A number that leaves double precision ends the call as such, never as a warning beside an answer.
        with np.errstate(over="raise", divide="raise", invalid="raise"):
            found = solve(Network(held, parts, fan))
    except NetworkError as error:
        raise Impossible("links", str(error)) from error
    except np.linalg.LinAlgError as error:
        raise Impossible("links", f"the resistances are too far apart to solve ({error})") from error
    except CurveError as error:
        raise Impossible("blower", str(error)) from error
    flows = dict(found.flows)
    if found.blower_flow is not None:
        flows["blower"] = found.blower_flow
    warnings = (Line("the blower stands beyond its table"),) if BEYOND_TABLE in found.notes or not found.valid else ()
    return Answer(
        {
            "flows": flows,
            "pressures": dict(found.pressures),
            "residual": found.residual,
            "iterations": found.iterations,
        },
        warnings,
    )


def _read_links(raw: object, system: System) -> list[dict[str, Any]]:
    links = []
    pressure, flow = MEASURES["pressure"].of(system), MEASURES["flow"].of(system)
    unit = 1.0 if system == "si" else flow.factor
    head = 1.0 if system == "si" else pressure.factor
    for table in _tables(raw, "links", "link"):
        one = _keys(table, "links", ("id", "from", "to", "k"), ("exponent",))
        if one["id"] == "blower":
            raise Impossible("links", "a link is named `blower`, which is the blower's own name", "another id")
        k, exponent = _positive(one["k"], "links", "k"), _positive(one.get("exponent", 2.0), "links", "exponent")
        if not 1.0 <= exponent <= 2.0:
            raise Impossible("links", f"exponent of `{one['id']}` is {exponent:g}", "1 to 2")
        links.append(one | {"k": k * head / unit**exponent, "exponent": exponent})
    return links


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


def _positive(raw: object, key: str, name: str) -> float:
    value = _finite(raw, key, name)
    if value <= 0.0:
        raise Impossible(key, f"{name} is {raw}", "more than 0")
    return value


def _as_given(measure: str) -> Any:
    """Writer of a mapping of numbers: in. w.c. and cfm, or Pa and m3/s, which is how the file is read."""

    def write(values: Mapping[str, float], system: System) -> dict[str, float]:
        scale, si = MEASURES[measure].ip, MEASURES["number"].si
        return {name: (scale if system == "ip" else si).written(value) for name, value in values.items()}

    return write


def _write_residual(value: float, system: System) -> float:
    return (MEASURES["pressure"].of(system)).written(value)


def _echo_links(links: Sequence[_Row], system: System) -> list[dict[str, Any]]:
    flow, head = (1.0, 1.0) if system == "si" else (MEASURES["flow"].ip.factor, MEASURES["pressure"].ip.factor)
    plain = MEASURES["number"].ip
    return [{**one, "k": plain.written(one["k"] * flow ** one["exponent"] / head)} for one in links]


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
            Key("links", "link", form="structure", read=_read_links, write=_echo_links),
            Key("nodes", "node", form="structure", optional=True, read=_read_nodes, write=_echo_nodes),
            Key("blower", "blower", form="structure", optional=True, read=_read_blower, write=_echo_blower),
        ),
        (
            Key("flows", "flows", form="structure", write=_as_given("flow")),
            Key("pressures", "pressures", form="structure", write=_as_given("pressure")),
            Key("residual", "residual", form="structure", write=_write_residual),
            Key("iterations", "iterations", form="structure"),
        ),
        _network,
        "nodal network of power-law resistances; Todini and Pilati 1988",
    ),
)
