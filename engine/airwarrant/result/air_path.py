"""The air path from room to room, as found and as the scope leaves it: what each piece loses, where it leaks, how much."""

from typing import Any

from airwarrant.house.path import AirPath
from airwarrant.run import Run
from airwarrant.units import UNITS, number

_INCHES, _FLOW = "in. w.c.", "cfm"


def air_path_json(run: Run) -> dict[str, Any]:
    """Return both states of the path; None where the house could not be predicted."""
    return {"found": _path(run.path_found), "scope": _path(run.path_scope)}


def _path(path: AirPath | None) -> dict[str, Any] | None:
    if path is None:
        return None
    return {
        "setting": path.setting,
        "flow": _in(path.flow, _FLOW),
        "static": _in(path.static, _INCHES),
        "inlet": _in(path.inlet, _INCHES),
        "outlet": _in(path.outlet, _INCHES),
        "pieces": _pieces(path),
        "leaks": [
            {"leak": p.id, "side": p.side, "at": p.at, "space": p.space, "flow": _in(p.flow, _FLOW)}
            for p in sorted(path.leaks, key=lambda one: (one.side, one.id))
        ],
        "added_returns": {place: _in(flow, _FLOW) for place, flow in sorted(path.added.items())},
        "system": [[_in(flow, _FLOW), _in(static, _INCHES)] for flow, static in path.system],
        "units": {"flow": _FLOW, "pressure": _INCHES},
    }


def _pieces(path: AirPath) -> list[dict[str, Any]]:
    """Pieces in the order of the air; `pressure` is what stands behind each, against the rooms."""
    out, pressure, side = [], 0.0, "return"
    for piece in path.pieces:
        if piece.side != side:
            pressure, side = path.outlet, piece.side
        pressure -= piece.drop
        out.append(
            {
                "side": piece.side,
                "piece": piece.id,
                "item": piece.item,
                "reading": piece.reading,
                "drop": _in(piece.drop, _INCHES),
                "pressure": _in(pressure, _INCHES),
                "read": piece.read,
            }
        )
    return out


def _in(value: float, unit: str) -> float:
    return number(value / UNITS[unit].factor, unit)
