"""The seam to the house's air network: record, lines and fan setting in, predicted readings with ± out.

The predictor here is a stand-in and says so in every result: one return resistance and one supply resistance in series with
the blower, each with its leak in parallel. It knows neither rooms' branches nor where leaks sit. The full air network takes
its place behind the same call.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Protocol

from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import Blower, JobRecord

METHOD = "stand-in: one return and one supply resistance in series, leaks in parallel"


@dataclass(frozen=True, slots=True)
class Work:
    """A line as the predictor sees it: what it changes, where, and its size (in the unit of the policy's table)."""

    change: str
    place: str
    size: float | None = None


@dataclass(frozen=True, slots=True)
class Prediction:
    """Readings to expect after some work, at one fan setting.

    `valid` is False where the answer stands outside the blower table.
    """

    setting: str
    readings: Mapping[tuple[str, str], Reading]
    method: str = METHOD
    valid: bool = True
    notes: tuple[str, ...] = field(default=())


class Predictor(Protocol):
    """What evaluate calls; `assumptions` are policy parameters whose names begin with ``predict_``, by name."""

    def __call__(
        self, record: JobRecord, work: Collection[Work], setting: str, assumptions: Mapping[str, float]
    ) -> Prediction | None: ...


@dataclass(slots=True)
class _Path:
    """Resistances (in. w.c. per cfm²) and leaks (cfm per in. w.c.^0.6) of the two sides; a scratch pad of one call."""

    inlet: float  # filter, grille and return duct: what a second path stands beside
    rest_return: float
    supply: float
    return_leak: float
    supply_leak: float


def predict(
    record: JobRecord, work: Collection[Work], setting: str, assumptions: Mapping[str, float]
) -> Prediction | None:
    """Predict the readings of the new unit at `setting` after `work`.

    Parameters
    ----------
    record : JobRecord
        Needs return and supply static, airflow and the new blower's table; otherwise there is no prediction.
    work : collection of Work
    setting : str
        Name of a setting of the new blower.
    assumptions : mapping of name to float
        Shares in percent: ``predict_elbow_keeps``, ``predict_plenum_keeps``, ``predict_grille_keeps``,
        ``predict_seal_keeps``, ``predict_flow_doubt``, ``predict_static_doubt``.

    Returns
    -------
    Prediction or None
        None where a needed reading or the setting's table is missing.

    Notes
    -----
    Pressure over a path is K·q²; a leak is C·Δp^0.6 (ASHRAE 152 exponent, from memory) at the static at the unit. Static and
    flow are found by bisection on the blower table.
    """
    table = _table(record.new_blower, setting)
    path = _path(record)
    if table is None or path is None:
        return None
    for one in sorted(work, key=lambda w: (w.change, w.place)):
        _do(path, record, one, assumptions)
    flow, valid = _operating_point(path, table)
    back, back_leak = _side(path.inlet + path.rest_return, path.return_leak, flow)
    ahead, ahead_leak = _side(path.supply, path.supply_leak, flow)
    return Prediction(
        setting,
        _readings(record, assumptions, flow, back, back_leak, ahead, ahead_leak),
        valid=valid,
        notes=() if valid else ("the answer stands outside the blower table",),
    )


def _table(blower: Blower | None, setting: str) -> tuple[tuple[float, float], ...] | None:
    for one in blower.settings if blower else ():
        if one.name == setting:
            return one.table
    return None


def _found(record: JobRecord, key: str, name: str) -> float | None:
    found = reading(record, key, name, "found")
    return None if found is None else found.value


def _path(record: JobRecord) -> _Path | None:
    house = "house"
    back, ahead, flow = (_found(record, house, n) for n in ("return_static", "supply_static", "airflow"))
    if back is None or ahead is None or not flow:
        return None
    back = abs(back)
    leak_back = _leak(record, "return_leak", "leakage_return_25", back)
    leak_ahead = _leak(record, "supply_leak", "leakage_supply_25", ahead)
    duct = max(flow - leak_back, 0.1 * flow)
    out = max(flow - leak_ahead, 0.1 * flow)
    inlet = sum(_found(record, house, n) or 0.0 for n in ("filter_drop", "return_duct_drop"))
    inlet = min(inlet, back) if inlet else back
    return _Path(
        inlet / duct**2,
        (back - inlet) / duct**2,
        ahead / out**2,
        leak_back / back**0.6 if back else 0.0,
        leak_ahead / ahead**0.6 if ahead else 0.0,
    )


def _leak(record: JobRecord, working: str, at_25: str, static: float) -> float:
    """Leak while running: as read, else from the leakage test at half the static at the unit."""
    direct = _found(record, "house", working)
    if direct is not None:
        return direct
    tested = _found(record, "house", at_25)
    return 0.0 if tested is None else tested * (static * 249.08891 / 2.0 / 25.0) ** 0.6


def _do(path: _Path, record: JobRecord, work: Work, assumptions: Mapping[str, float]) -> None:
    """Change the path by one line of work."""

    def keeps(name: str) -> float:
        return assumptions.get(name, 100.0) / 100.0

    back, ahead = abs(_found(record, "house", "return_static") or 0.0), _found(record, "house", "supply_static") or 0.0
    match work.change:
        case "widen-elbow":
            share = keeps("predict_elbow_keeps")
            if back:
                legs = (_found(record, work.place, "return_leg") or 0.0) / back
                path.rest_return -= (path.inlet + path.rest_return) * min(legs, 0.95) * (1.0 - share)
                path.rest_return = max(path.rest_return, 0.0)
            if ahead:
                legs = (_found(record, work.place, "supply_leg") or 0.0) / ahead
                path.supply *= 1.0 - min(legs, 0.95) * (1.0 - share)
        case "renew-plenum":
            drop = _found(record, work.place, "drop")
            if ahead and drop:
                path.supply *= 1.0 - min(drop / ahead, 0.95) * (1.0 - keeps("predict_plenum_keeps"))
        case "enlarge-grille":
            drop = _found(record, "house", "filter_drop")
            inlet = sum(_found(record, "house", n) or 0.0 for n in ("filter_drop", "return_duct_drop"))
            if drop and inlet:
                path.inlet *= 1.0 - min(drop / inlet, 0.95) * (1.0 - keeps("predict_grille_keeps"))
        case "add-return-path" | "upsize-return":
            sizes = [
                i.numbers["diameter"].value
                for i in record.items.values()
                if i.kind == "return" and "diameter" in i.numbers
            ]
            if sizes and work.size:
                # Friction of a round duct at one flow goes with the fifth power of the diameter.
                new = path.inlet * (max(sizes) / work.size) ** 5
                path.inlet = (
                    new if work.change == "upsize-return" else (path.inlet**-0.5 + new**-0.5) ** -2 if new else 0.0
                )
        case "seal-ducts":
            path.return_leak *= keeps("predict_seal_keeps")
            path.supply_leak *= keeps("predict_seal_keeps")
        case "seal-return":
            path.return_leak *= keeps("predict_seal_keeps")
        case _:
            pass  # other lines do not change the resistances of this two-part model


def _side(k: float, leak: float, flow: float) -> tuple[float, float]:
    """Static over one side carrying `flow` at the unit, and its leak: K·(flow - C·p^0.6)² = p, by bisection."""
    low, high = 0.0, k * flow**2
    for _ in range(44):
        middle = 0.5 * (low + high)
        if k * max(flow - leak * middle**0.6, 0.0) ** 2 > middle:
            low = middle
        else:
            high = middle
    return high, min(leak * high**0.6, flow)


def _operating_point(path: _Path, table: tuple[tuple[float, float], ...]) -> tuple[float, bool]:
    """Flow at which the blower's static meets both sides; False where that lies outside the table."""

    def static_at(flow: float) -> float:
        return (
            _side(path.inlet + path.rest_return, path.return_leak, flow)[0]
            + _side(path.supply, path.supply_leak, flow)[0]
        )

    low, high = 0.0, 2.0 * table[0][1]
    for _ in range(44):
        middle = 0.5 * (low + high)
        if _blower_flow(table, static_at(middle)) > middle:
            low = middle
        else:
            high = middle
    return high, table[0][0] <= static_at(high) <= table[-1][0]


def _blower_flow(table: tuple[tuple[float, float], ...], static: float) -> float:
    """Flow of the blower at a static; straight lines between rows and beyond the ends."""
    rows = list(pairwise(table))
    (p0, q0), (p1, q1) = next((pair for pair in rows if static <= pair[1][0]), rows[-1])
    return max(q0 + (q1 - q0) * (static - p0) / (p1 - p0), 0.0)


def _readings(
    record: JobRecord,
    assumptions: Mapping[str, float],
    flow: float,
    back: float,
    back_leak: float,
    ahead: float,
    ahead_leak: float,
) -> dict[tuple[str, str], Reading]:
    flow_doubt = assumptions.get("predict_flow_doubt", 0.0) / 100.0
    static_doubt = assumptions.get("predict_static_doubt", 0.0) / 100.0

    def made(name: str, value: float, unit: str, share: float) -> Reading:
        return Reading(value, unit, "predicted", abs(value) * share, f"predicted.{name}", None, None, "", {})

    out = {
        ("house", name): made(name, value, unit, share)
        for name, value, unit, share in (
            ("return_static", -back, "in. w.c.", static_doubt),
            ("supply_static", ahead, "in. w.c.", static_doubt),
            ("external_static", back + ahead, "in. w.c.", static_doubt),
            ("airflow", flow, "cfm", flow_doubt),
            ("register_flow", flow - ahead_leak, "cfm", flow_doubt),
            ("grille_flow", flow - back_leak, "cfm", flow_doubt),
        )
    }
    rooms = [item.key for item in record.items.values() if item.kind == "room"]
    flows = {key: f for key in rooms if (f := _found(record, key, "flow")) is not None}
    total = sum(flows.values())
    # Without the branches' own resistances every room keeps its share; balancing is not predicted here.
    if total:
        ratio = (flow - ahead_leak) / total
        for key, found in flows.items():
            out[key, "flow"] = made("flow", found * ratio, "cfm", flow_doubt)
            door = _found(record, key, "door_pressure")
            if door is not None:
                out[key, "door_pressure"] = made("door_pressure", door * ratio**2, "Pa", 2.0 * flow_doubt)
    return out
