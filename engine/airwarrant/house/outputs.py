"""From a solved network to the readings a technician would take, over sets."""

import numpy as np

from airwarrant.house.air_side import AirSide
from airwarrant.house.calibrate import LUMPED, OTHERS
from airwarrant.house.changes import Altered, grille_area
from airwarrant.house.inputs import Floats, Sets
from airwarrant.house.solved import Solved, drop_over
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.record import Setting
from airwarrant.units import UNITS

#: (key, field) -> SI values over sets and the unit they are shown in.
Values = dict[tuple[str, str], tuple[Floats, str]]
_INCHES = UNITS["in. w.c."].factor
#: Piece -> the house's reading of its drop; `branch_drop` is that of plenum and branches together.
_SHOWN = {
    "filter-grille": "filter_drop",
    "return-duct": "return_duct_drop",
    "platform": "return_duct_drop",
    "collar": "collar_drop",
    "coil": "coil_drop",
}
_LEGS = {"return-elbow": "return_leg", "supply-elbow": "supply_leg"}


def air_side(altered: Altered, solved: Solved, setting: Setting | None) -> AirSide:
    """Sums over the network. Leaks that draw in and leaks that blow out are counted by their direction."""
    nothing = np.zeros(solved.flow.shape)
    leak = {"return": nothing, "supply": nothing}
    for one in altered.base.leaks:
        leak[one.side] = leak[one.side] + solved.flows[altered.base.leak_rows[one.id]]
    return AirSide(
        solved.flow,
        solved.flow - leak["supply"],
        solved.flow - leak["return"],
        np.maximum(leak["supply"], 0.0),
        np.maximum(leak["return"], 0.0),
        solved.static,
        _power(altered, solved, setting),
    )


def _power(altered: Altered, solved: Solved, setting: Setting | None) -> Floats | None:
    """Blower power: the maker's where the table has it, else the old blower's efficiency on the new flow and static."""
    if setting is not None and setting.power:
        at = np.array([static for static, _ in setting.table]) * _INCHES
        return np.asarray(np.interp(solved.static, at, np.array(setting.power)))
    if altered.base.efficiency is None:
        return None
    doubt = altered.sets.positive("new-efficiency") if setting is not None else 1.0
    return np.asarray(solved.flow * solved.static / altered.base.efficiency * doubt)


def readings(altered: Altered, solved: Solved, air: AirSide) -> Values:
    """Statics, flows, power, leakage, drops, rooms and doors; SI."""
    inches, cfm = "in. w.c.", "cfm"
    out: Values = {
        (HOUSE_KEY, "return_static"): (solved.inlet, inches),
        (HOUSE_KEY, "supply_static"): (solved.outlet, inches),
        (HOUSE_KEY, "external_static"): (solved.static, inches),
        (HOUSE_KEY, "airflow"): (air.flow, cfm),
        (HOUSE_KEY, "register_flow"): (air.register_flow, cfm),
        (HOUSE_KEY, "grille_flow"): (air.grille_flow, cfm),
        (HOUSE_KEY, "return_leak"): (air.return_leak, cfm),
        (HOUSE_KEY, "supply_leak"): (air.supply_leak, cfm),
    }
    if air.power is not None:
        out[HOUSE_KEY, "power"] = (air.power, "W")
    area = grille_area(altered)
    if area is not None:
        out[HOUSE_KEY, "grille_area"] = (np.full(altered.sets.count, area), "in2")
    out |= _leakage(altered)
    out |= _drops(altered, solved)
    out |= _rooms(altered, solved)
    return out


def _leakage(altered: Altered) -> Values:
    """Leakage at 25 Pa after the work, by side and in all, where it was tested."""
    sets: Sets = altered.sets
    sides: dict[str, Floats] = {}
    for leak in altered.base.leaks:
        if leak.at_25 is None:
            return {}
        share = altered.leaks_keep.get(leak.id, np.ones(sets.count))
        sides[leak.side] = sides.get(leak.side, np.zeros(sets.count)) + sets.positive(leak.name) * share
    out: Values = {(HOUSE_KEY, f"leakage_{side}_25"): (flow, "cfm") for side, flow in sides.items()}
    if len(sides) == 2:
        out[HOUSE_KEY, "leakage_25"] = (sides["return"] + sides["supply"], "cfm")
    return out


def _drops(altered: Altered, solved: Solved) -> Values:
    """Drops that the survey names."""
    out: Values = {}
    together = solved.plenum
    for side in (altered.house.back, altered.house.ahead):
        for piece in side.pieces:
            drop = drop_over(altered, solved, piece.id)
            if piece.id in _SHOWN:
                out[HOUSE_KEY, _SHOWN[piece.id]] = (drop, "in. w.c.")
            elif piece.id in _LEGS:
                out[piece.item, _LEGS[piece.id]] = (drop, "in. w.c.")
            elif piece.id == "plenum":
                together = together + drop
    out[HOUSE_KEY, "branch_drop"] = (together, "in. w.c.")
    return out


def _rooms(altered: Altered, solved: Solved) -> Values:
    """Room flows; doors shut by the plenum's pressure over branch and door in a row."""
    out: Values = {}
    for room, row in altered.base.rooms.items():
        if room in (LUMPED, OTHERS):
            continue
        out[room, "flow"] = (solved.flows[row], "cfm")
        door = altered.doors.get(room)
        if door is not None:
            out[room, "door_pressure"] = (solved.plenum * door / (altered.k[row] + door), "Pa")
        added = altered.added.get(room)
        if added is not None:
            out[room, "damper_loss"] = (added * solved.flows[row] ** 2, "in. w.c.")
    return out
