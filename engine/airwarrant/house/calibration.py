"""What calibrating a house's network came to, in plain terms: flows with ±, where leaks sit, what disagrees, which drops look wrong."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot
from typing import Protocol

from airwarrant.house.assumptions import si
from airwarrant.house.calibrate import Calibrated, House
from airwarrant.house.sides import Side
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading

_SIGN = "the pressure of the house has the wrong sign for these leaks"


class _Returned(Protocol):
    """A prediction of the house as found."""

    @property
    def readings(self) -> Mapping[tuple[str, str], Reading]: ...


@dataclass(frozen=True, slots=True)
class DropCheck:
    """A measured drop beside what the piece would lose in good order, both Pa."""

    piece: str
    item: str
    measured: float
    clean: float

    @property
    def ratio(self) -> float:
        return self.measured / self.clean


@dataclass(frozen=True, slots=True)
class Calibration:
    """The calibrated house.

    Attributes
    ----------
    flow, return_leak, supply_leak : (float, float)
        Value and one standard deviation [m3/s].
    residuals : mapping of str to float
        Each reading's distance from what the others say of it, in its own standard deviations.
    chi_square_p : float or None
    conflict : (str, str) or None
        The two readings in conflict; the first is the one to take again.
    places : mapping of leak to (float, bool)
        Pressure where it sits [Pa], and whether that is read or was spread evenly.
    drops : tuple of DropCheck
    off_static, off_flow : float
        How far the network as found misses the readings it was made from: static [Pa], flow as a share.
    assumed, notes : tuple of str
    readings : mapping of (key, field) to Reading
        What checks can read of all this.
    """

    flow: tuple[float, float]
    return_leak: tuple[float, float]
    supply_leak: tuple[float, float]
    residuals: Mapping[str, float]
    chi_square_p: float | None
    conflict: tuple[str, str] | None
    places: Mapping[str, tuple[float, bool]]
    drops: tuple[DropCheck, ...]
    off_static: float
    off_flow: float
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    readings: Mapping[tuple[str, str], Reading]


def told(house: House, base: Calibrated, found: _Returned) -> Calibration:
    """Gather what calibrating came to."""
    flows = base.flows
    drops = tuple(d for side in (house.back, house.ahead) for d in _drop_checks(side, base))
    wrong_sign = _wrong_sign(house, base)
    readings: dict[tuple[str, str], Reading] = {}
    if flows.residuals:
        worst = max(abs(value) for value in flows.residuals.values())
        readings[HOUSE_KEY, "conflict"] = _reading("conflict", worst, 0.0)
    for one in drops:
        item = house.record.items.get(one.item)
        if one.piece == "return-duct" and item is not None and item.kind == "return":
            doubt = house.inputs.known.get("house.return_duct_drop")
            spread = 2.0 * doubt.sd / one.clean if doubt else 0.0
            readings[one.item, "over_clean"] = _reading("over_clean", one.ratio, spread)
    static = found.readings[HOUSE_KEY, "external_static"]
    flow = found.readings[HOUSE_KEY, "airflow"]
    own_static = float(base.statics[0][0] + base.statics[1][0])
    return Calibration(
        (float(flows.flow[0]), flows.sd[0]),
        (float(flows.return_leak[0]), flows.sd[1]),
        (float(flows.supply_leak[0]), flows.sd[2]),
        flows.residuals,
        flows.chi_square_p,
        flows.worst or wrong_sign,
        base.places,
        drops,
        abs(si(static) - own_static),
        abs(si(flow) / float(flows.flow[0]) - 1.0),
        base.assumed,
        (*base.notes, *((_SIGN,) if wrong_sign else ())),
        readings,
    )


def _wrong_sign(house: House, base: Calibrated) -> tuple[str, str] | None:
    """House pressure against the leaks: more loss than gain through the ducts pulls the house down, more gain pushes it up."""
    read = reading(house.record, HOUSE_KEY, "house_pressure", "found")
    outside = {leak.side: leak.space != "inside" for leak in base.leaks}
    if read is None or not all(outside.values()):
        return None
    lost = float(base.flows.supply_leak[0] - base.flows.return_leak[0])
    doubt = 2.0 * hypot(base.flows.sd[1], base.flows.sd[2])
    clear = abs(si(read)) > house.assumptions.doubt(read, "house_pressure") and abs(lost) > doubt
    if clear and lost * read.value > 0.0:
        name = "supply" if lost > 0.0 else "return"
        return "house.house_pressure", f"house.leakage_{name}_25"
    return None


def _drop_checks(side: Side, base: Calibrated) -> list[DropCheck]:
    """Measured drops of pieces whose size is recorded, at the flow that passed them."""
    leak = base.flows.return_leak if side.name == "return" else base.flows.supply_leak
    through = float(base.flows.flow[0] - leak[0])
    return [
        DropCheck(piece.id, piece.item, abs(si(piece.reading)), piece.clean(through))
        for piece in side.pieces
        if piece.reading is not None and piece.sized
    ]


def _reading(name: str, value: float, plus_minus: float) -> Reading:
    return Reading(value, "1", "table", plus_minus, f"network.{name}", None, None, "", {})
