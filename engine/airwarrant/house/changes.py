"""What each kind of work does to the house's network: it scales a resistance, adds a path, closes a leak, trims a branch."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from airwarrant.air.openings import opening_area, opening_resistance
from airwarrant.air.trimming import trimmed
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.calibrate import HOUSE, INLET, LUMPED, OTHERS, Calibrated, House, Joined
from airwarrant.house.clean import DUCT_EXPONENT, area_of, duct_loss
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.surroundings import air_density
from airwarrant.house.work import Work
from airwarrant.units import UNITS

_IN, _IN2 = (UNITS[name].factor for name in ("in", "in2"))
#: Assumptions that the draws vary, each with the parameter that says how far it may be off.
_DOUBTED = {
    "predict_elbow_wide": "predict_elbow_doubt",
    "predict_plenum_keeps": "predict_work_doubt",
    "predict_repair_keeps": "predict_work_doubt",
    "predict_damper_keeps": "predict_work_doubt",
    "predict_seal_keeps": "predict_work_doubt",
    "predict_filter_grille_drop": "predict_new_duct_doubt",
}
_DUCT = "new-duct"
#: All filter grilles of the house as found, among the grilles of its network.
FOUND = "found"


def gather_assumptions(inputs: Inputs, assumptions: Assumptions) -> None:
    """Tell what of the work itself is uncertain."""
    for name, doubt in _DOUBTED.items():
        inputs.add(name, assumptions[name], assumptions[name] * assumptions[doubt] / 2.0)
    inputs.add(_DUCT, 1.0, assumptions["predict_new_duct_doubt"] / 2.0)


@dataclass(slots=True)
class Altered:
    """A network on its way from as found to after the work; one owner, inside one call.

    `leaks_keep` holds the share of each leak that is left; `added` the resistance that dampers add, by room; `grilles` the gross area
    [m2] of filter grilles that the work changes or brings, None where nobody says it.
    """

    house: House
    base: Calibrated
    sets: Sets
    links: list[Joined]
    k: list[Floats]
    doors: dict[str, Floats]
    leaks_keep: dict[str, Floats]
    added: dict[str, Floats] = field(default_factory=dict)
    grilles: dict[str, float | None] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def scale(self, part: str, factor: Floats | float) -> bool:
        """Multiply the resistance of every link of a part; False if the house has none."""
        rows = [i for i, link in enumerate(self.links) if link.part == part]
        for row in rows:
            self.k[row] = self.k[row] * factor
        return bool(rows)

    def keep_leak(self, leak: str, share: Floats) -> None:
        """Leave a share of a leak; sealed twice it is not sealed further."""
        self.leaks_keep[leak] = np.minimum(self.leaks_keep.get(leak, np.ones(self.sets.count)), share)

    def add(self, id: str, a: str, b: str, exponent: float, k: Floats) -> None:
        self.links.append(Joined(id, a, b, exponent, id))
        self.k.append(np.asarray(np.broadcast_to(k, (self.sets.count,))))


def grille_area(altered: Altered) -> float | None:
    """Gross area of all filter grilles after the work [m2]; None where the work leaves them or one is not known."""
    if not altered.grilles:
        return None
    gross = [item.numbers.get("gross") for item in altered.house.record.items.values() if item.kind == "grille"]
    found = None if None in gross or not gross else sum(si(one) for one in gross if one is not None)
    areas = {FOUND: found, **altered.grilles}.values()
    return None if None in areas else sum(area for area in areas if area is not None)


def alter(house: House, base: Calibrated, sets: Sets, work: Collection[Work], targets: Mapping[str, float]) -> Altered:
    """Apply lines of work to a calibrated network.

    Parameters
    ----------
    targets : mapping of room to float
        Design airflow of rooms [m3/s], for the dampers.
    """
    altered = Altered(house, base, sets, list(base.links), list(base.k), dict(base.doors), {})
    ordered = sorted(work, key=lambda w: (w.change, w.place, w.size or 0.0))
    for one in ordered:
        change = _CHANGES.get(one.change)
        if change is not None:
            change(altered, one)
    for leak, share in altered.leaks_keep.items():
        row = base.leak_rows[leak]
        altered.k[row] = altered.k[row] / share ** base.links[row].exponent
    if any(one.change == "balance" for one in ordered):
        _balance(altered, [one.place for one in ordered if one.change == "damper"], targets)
    return altered


def _widen_elbow(altered: Altered, work: Work) -> None:
    """Wide legs for narrow ones: the measured drop times the ratio of the losses, and of the squares of the areas where recorded."""
    a, numbers = altered.house.assumptions, altered.house.record.items[work.place].numbers
    ratio = altered.sets.positive("predict_elbow_wide") / a["predict_elbow_narrow"]
    pieces = (*altered.house.back.pieces, *altered.house.ahead.pieces)
    if not any(piece.item == work.place for piece in pieces):
        altered.notes.append(f"{work.place} is not on the path that was read: no effect of a new one is counted")
        return
    for leg in ("return", "supply"):
        own, opening = numbers.get(f"{leg}_area"), numbers.get(f"{leg}_opening")
        areas = (si(own) / (a["predict_elbow_opening"] * si(opening))) ** 2 if own and opening else 1.0
        altered.scale(f"{leg}-elbow", np.minimum(ratio * areas, 1.0))


def _renew_plenum(altered: Altered, work: Work) -> None:
    side = altered.house.record.items[work.place].words.get("side", "supply")
    part = "plenum" if side == "supply" else "collar"
    if not altered.scale(part, altered.sets.positive("predict_plenum_keeps")):
        altered.notes.append(f"the drop over {work.place} was not read: no effect of a new one is counted")


def _enlarge_grille(altered: Altered, work: Work) -> None:
    """The same filter at a lower face velocity: the drop goes with the velocity to the filter's exponent."""
    gross = [
        i.numbers["gross"] for i in altered.house.record.items.values() if i.kind == "grille" and "gross" in i.numbers
    ]
    area = sum(si(one) for one in gross)
    if not area or not work.size:
        altered.notes.append("the area of the filter grille was not recorded: no effect of a larger one is counted")
        return
    altered.grilles[FOUND] = work.size * _IN2
    exponent = altered.house.assumptions["predict_filter_exponent"]
    altered.scale("filter-grille", min(area / (work.size * _IN2), 1.0) ** exponent)


def _add_return(altered: Altered, work: Work) -> None:
    """A path of its own from the rooms to the plenum at the unit: filter grille, duct, opening."""
    route = altered.house.record.items[work.place]
    diameter = (work.size or 0.0) * _IN or (si(route.numbers["diameter"]) if "diameter" in route.numbers else 0.0)
    if not diameter:
        altered.notes.append(f"no size for the return of {work.place}: no effect is counted")
        return
    length = (
        si(route.numbers["length"]) if "length" in route.numbers else altered.house.assumptions["predict_duct_length"]
    )
    altered.grilles[work.place] = None if work.grille is None else work.grille * _IN2
    share = _share_of_new(altered)
    duct = _duct(altered, share, diameter, length)
    own = f"{work.place}:{len(altered.links)}"
    exponent = altered.house.assumptions["predict_filter_exponent"]
    altered.add(f"new-grille:{own}", HOUSE, f"new:{own}", exponent, _filter_grille(altered, share))
    end = _ENDS.get(route.words.get("lands", ""), _entry)(altered)
    altered.add(f"new-duct:{own}", f"new:{own}", end, DUCT_EXPONENT, duct)


def _upsize_return(altered: Altered, work: Work) -> None:
    """A larger duct: what the old one loses beyond its size stays, be it its box, its opening or a bend that must be."""
    rows = altered.base.row("return-duct")
    duct = next((p for p in altered.house.back.pieces if p.id == "return-duct"), None)
    if not rows or duct is None or not duct.sized or not work.size:
        altered.notes.append("the return duct's drop or size was not recorded: no effect of a larger one is counted")
        return
    numbers = altered.house.record.items[work.place].numbers
    length = si(numbers["length"]) if "length" in numbers else altered.house.assumptions["predict_duct_length"]
    flow = float(altered.base.flows.flow[0] - altered.base.flows.return_leak[0])
    today = sum(float(altered.base.k[r][0]) for r in rows) * flow**DUCT_EXPONENT
    new = float(_duct(altered, flow, work.size * _IN, length)[0]) * flow**DUCT_EXPONENT
    old = min(duct.clean(flow), today)
    spread = altered.sets.positive(_DUCT)
    altered.scale("return-duct", np.minimum((today - old + new * spread) / today, 1.0))


def _filter_grille(altered: Altered, flow: float) -> Floats:
    """Resistance of a new filter grille sized for a flow, from the drop that policy gives one at its loading."""
    exponent = altered.house.assumptions["predict_filter_exponent"]
    return np.asarray(altered.sets.positive("predict_filter_grille_drop") / flow**exponent)


def _duct(altered: Altered, flow: float, diameter: float, length: float) -> Floats:
    compression = altered.house.assumptions["predict_compression"]
    density = air_density(altered.house.record, [])
    loss = duct_loss(flow, diameter, length, compression=compression, density=density)
    return np.asarray(loss / flow**DUCT_EXPONENT * altered.sets.positive(_DUCT))


def _share_of_new(altered: Altered) -> float:
    """Flow [m3/s] at which a new path's resistance is taken."""
    return altered.house.assumptions["predict_new_return_share"] * float(altered.base.flows.flow[0])


def _entry(altered: Altered) -> str:
    """Node where an added return enters: behind the duct that is there and its opening, before a roof elbow's leg."""
    rows = altered.base.row("return-duct")
    return altered.base.links[rows[-1]].b if rows else INLET


def _behind_grille(altered: Altered) -> str:
    return altered.base.links[altered.base.row("filter-grille")[-1]].b


def _before_opening(altered: Altered) -> str:
    """Node in the box that the duct there is ends in, before the opening that all its air must pass.

    What a duct loses beyond its size is taken as the loss of that opening; where its size is not recorded, or it is no duct but a
    platform, all of the drop is.
    """
    piece = next((p for p in altered.house.back.pieces if p.id in ("return-duct", "platform")), None)
    rows = altered.base.row(piece.id) if piece is not None else []
    if piece is None or not rows or not piece.sized:
        return _behind_grille(altered)
    flow = float(altered.base.flows.flow[0] - altered.base.flows.return_leak[0])
    today = sum(float(altered.base.k[row][0]) for row in rows) * flow**piece.exponent
    clean = min(piece.clean(flow) / today, 1.0)
    row = rows[-1]
    link, k = altered.links[row], altered.k[row]
    if link.b.startswith(_BOX):
        return link.b
    box = f"{_BOX}{link.id}"
    opening = np.clip(max(1.0 - clean, 0.0) * sum(altered.k[r] for r in rows), 1e-3 * k, (1.0 - 1e-3) * k)
    altered.links[row], altered.k[row] = replace(link, b=box), k - opening
    altered.links.append(replace(link, id=f"opening:{link.id}", a=box))
    altered.k.append(np.asarray(opening))
    return box


_BOX = "box:"
#: Word of the record for where a further return ends -> its node; at the unit where it does not say.
_ENDS: Mapping[str, Callable[[Altered], str]] = {
    "unit-plenum": _entry,
    "same-box": _before_opening,
    "same-grille": _behind_grille,
}


def _seal(sides: Collection[str], places: Collection[str] = ()) -> Callable[[Altered, Work], None]:
    def seal(altered: Altered, work: Work) -> None:
        share = altered.sets.positive("predict_seal_keeps")
        found = [leak for leak in altered.base.leaks if leak.side in sides and (not places or leak.at in places)]
        for leak in found:
            altered.keep_leak(leak.id, share)
        if not found:
            altered.notes.append(f"no leak was recorded where {work.change} closes one: no effect is counted")

    return seal


def _seal_plenum(altered: Altered, work: Work) -> None:
    side = altered.house.record.items[work.place].words.get("side", "supply")
    _seal((side,), ("plenum", "box"))(altered, work)


def _repair_run(altered: Altered, work: Work) -> None:
    """A damaged branch made good keeps a share of its resistance."""
    run = altered.house.record.items[work.place]
    room = run.links.get("room", "")
    row = altered.base.rooms.get(room)
    if row is None:
        altered.notes.append(f"the airflow of the room that {work.place} serves was not read: no effect is counted")
        return
    keeps = altered.sets.positive("predict_repair_keeps")
    altered.k[row] = altered.k[row] * np.minimum(keeps, 1.0)


def _open_dampers(altered: Altered) -> None:
    for item in altered.house.record.items.values():
        if item.kind == "run" and item.words.get("damper") == "part-shut":
            row = altered.base.rooms.get(item.links.get("room", ""))
            if row is not None:
                altered.k[row] = altered.k[row] * altered.sets.positive("predict_damper_keeps")


def _balance(altered: Altered, dampers: list[str], targets: Mapping[str, float]) -> None:
    _open_dampers(altered)
    rooms = {room: row for room, row in altered.base.rooms.items() if room not in (LUMPED, OTHERS)}
    changed = trimmed({room: altered.k[row] for room, row in rooms.items()}, targets, dampers)
    for room, k in changed.items():
        altered.added[room] = k - altered.k[rooms[room]]
        altered.k[rooms[room]] = k


def _door_area(altered: Altered, room: str, area: float) -> None:
    """More free area beside a shut door: openings side by side add their areas."""
    door = altered.doors.get(room)
    if door is None:
        altered.notes.append(f"the door of {room} was not read: no effect is counted")
        return
    discharge = altered.house.assumptions["predict_discharge"]
    altered.doors[room] = opening_resistance(opening_area(door, discharge) + area, discharge)


def _undercut(altered: Altered, work: Work) -> None:
    a, numbers = altered.house.assumptions, altered.house.record.items[work.place].numbers
    gap = (work.size or 0.0) * _IN or a["predict_undercut"]
    width = si(numbers["door_width"]) if "door_width" in numbers else a["predict_door_width"]
    there = si(numbers["undercut"]) if "undercut" in numbers else a["predict_undercut_share"] * gap
    _door_area(altered, work.place, max(gap - there, 0.0) * width)


def _transfer(altered: Altered, work: Work) -> None:
    if work.place not in altered.base.rooms:
        return
    _door_area(altered, work.place, _usual_area(altered, work.place) if work.size is None else work.size * _IN2)


def _bedroom_return(altered: Altered, work: Work) -> None:
    if work.place not in altered.base.rooms:
        return
    area = area_of(work.size * _IN) if work.size else _usual_area(altered, work.place)
    _door_area(altered, work.place, area)


def _usual_area(altered: Altered, room: str) -> float:
    """Free area of a path back for the room's flow as read [m2], by policy's area a flow."""
    flow = altered.house.inputs.known[f"{room}.flow"].value
    return flow / altered.house.assumptions["predict_transfer_load"]


_CHANGES: Mapping[str, Callable[[Altered, Work], None]] = {
    "widen-elbow": _widen_elbow,
    "renew-plenum": _renew_plenum,
    "enlarge-grille": _enlarge_grille,
    "add-return-path": _add_return,
    "upsize-return": _upsize_return,
    "seal-ducts": _seal(("return", "supply")),
    "seal-return": _seal(("return",)),
    "seal-cabinet": _seal(("return", "supply"), ("unit", "elbow", "coil")),
    "seal-plenum": _seal_plenum,
    "repair-run": _repair_run,
    "undercut": _undercut,
    "transfer": _transfer,
    "bedroom-return": _bedroom_return,
}
#: Every word a task's `changes` may be; the last do nothing to the network by themselves.
CHANGES = (*_CHANGES, "balance", "damper", "fan-setting")
