"""The house's network from its record: which links there are, and the resistance of each in every set of inputs.

Each resistance is its own drop over its own flow, ``K = dp / q^n``, so that the network returns the readings it was made from.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.leakage import LEAK_EXPONENT
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.clean import FITTING_EXPONENT
from airwarrant.house.evidence import Evidence
from airwarrant.house.flows import Agreement, Flows, settle_flows
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.leaks import Leak, Placed, gather_leaks, leaks_of, place_leaks
from airwarrant.house.pieces import Piece, return_side, supply_side
from airwarrant.house.sides import Side
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.record import JobRecord
from airwarrant.units import UNITS

HOUSE, INLET, OUTLET = "house", "inlet", "outlet"
#: Every leak's link and part begin with this.
LEAK = "leak:"
#: Link that stands for all rooms, or for those that nobody read; no id of a record has a space.
LUMPED, OTHERS = "all rooms", "other rooms"
_INCHES, _CFM = UNITS["in. w.c."].factor, UNITS["cfm"].factor


@dataclass(frozen=True, slots=True)
class Joined:
    """A link of the network before its resistance: ends, exponent, and the piece, leak or room it stands for."""

    id: str
    a: str
    b: str
    exponent: float
    part: str


@dataclass(frozen=True, slots=True)
class Calibrated:
    """A house's network in every set.

    Attributes
    ----------
    links : tuple of Joined
    k : ndarray (links, sets)
        [Pa/(m3/s)^n].
    fixed : mapping of node to float
    rooms : mapping of room key to link row
    doors : mapping of room key to ndarray (sets,)
        Resistance of each door while shut [Pa/(m3/s)^2].
    plenum : str
        Node that feeds the rooms.
    leak_rows : mapping of leak id to link row
    flows : Flows
    places : mapping of leak id to (pressure at the point [Pa], whether it is read)
    assumed, notes : tuple of str
    efficiency : ndarray (sets,) or None
        Air power over electric power of the old blower.
    """

    links: tuple[Joined, ...]
    k: Floats
    fixed: Mapping[str, float]
    rooms: Mapping[str, int]
    doors: Mapping[str, Floats]
    plenum: str
    leaks: tuple[Leak, ...]
    leak_rows: Mapping[str, int]
    flows: Flows
    places: Mapping[str, tuple[float, bool]]
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    statics: tuple[Floats, Floats]
    efficiency: Floats | None

    def row(self, part: str) -> list[int]:
        """Rows of the links that stand for a piece, a leak or a room; a piece that a leak splits has two."""
        return [i for i, link in enumerate(self.links) if link.part == part]


def curve_of(table: tuple[tuple[float, float], ...]) -> BlowerCurve:
    """Curve of a record's table of in. w.c. and cfm."""
    return BlowerCurve.of_rows([(static * _INCHES, flow * _CFM) for static, flow in table])


@dataclass(slots=True)
class House:
    """A record made ready: its inputs are gathered once, its network can be calibrated in any sets of them."""

    record: JobRecord
    assumptions: Assumptions
    inputs: Inputs
    back: Side
    ahead: Side
    leaks: dict[str, list[Leak]]
    evidence: Evidence
    rooms: tuple[str, ...] = field(default=())

    @classmethod
    def of(cls, record: JobRecord, assumptions: Assumptions) -> "House | None":
        """Make a record ready; None where statics or every reading of the blower's flow are missing."""
        back = reading(record, HOUSE_KEY, "return_static", "found")
        ahead = reading(record, HOUSE_KEY, "supply_static", "found")
        if back is None or ahead is None or not back.value or not ahead.value:
            return None
        inputs = Inputs()
        evidence = Evidence.of(record, assumptions)
        if not evidence.has_flow:
            return None
        nominal = evidence.nominal
        sides = (
            Side("return", tuple(return_side(record, assumptions)), back, nominal),
            Side("supply", tuple(_room_first(record, assumptions)), ahead, nominal),
        )
        leaks = {side.name: leaks_of(record, side.name) for side in sides}
        for side in sides:
            side.gather(inputs, assumptions)
            gather_leaks(leaks[side.name], inputs, assumptions)
        evidence.gather(inputs, leaks)
        rooms = tuple(key for key, item in record.items.items() if item.kind == "room")
        read = tuple(key for key in rooms if (r := reading(record, key, "flow", "found")) is not None and r.value > 0.0)
        for key in read:
            _gather_room(record, key, inputs, assumptions)
        return cls(record, assumptions, inputs, *sides, leaks, evidence, read)

    def calibrate(self, sets: Sets) -> Calibrated:
        """Build the network in every set; which links there are follows from set 0, the readings as they stand."""
        drops: dict[str, list[Floats]] = {}
        placed: dict[str, list[Placed]] = {}
        notes: list[str] = []
        agreement = Agreement(self.assumptions["predict_conflict"], self.assumptions["predict_conflict_chance"])
        slack = self.assumptions["predict_place_beyond"]
        for side in (self.back, self.ahead):
            drops[side.name], said = side.drops(sets, agreement.apart)
            notes += said
            placed[side.name], _ = place_leaks(self.leaks[side.name], side.pieces, drops[side.name], sets, None, slack)
        statics = (self.back.static_pa(sets), self.ahead.static_pa(sets))
        # With one piece on a side there is no port but the unit's: the leak then may sit anywhere from half its pressure.
        outer = tuple(
            drops[side.name][0] if len(side.pieces) > 1 else 0.5 * static
            for side, static in zip((self.back, self.ahead), statics, strict=True)
        )
        rows = self.evidence.rows(sets, statics, (outer[0], outer[1]), placed)
        flows = settle_flows(rows, sets.count, agreement)
        build = _Build(sets.count)
        leak_of = {"return": flows.return_leak, "supply": flows.supply_leak}
        for side in (self.back, self.ahead):
            put, said = place_leaks(
                self.leaks[side.name], side.pieces, drops[side.name], sets, leak_of[side.name], slack
            )
            notes += said
            build.side(side, drops[side.name], put, flows.flow, leak_of[side.name], self._suction(put, sets))
        doors, rooms_said = self._rooms(build, drops["supply"][0], flows.flow - flows.supply_leak, sets)
        notes += rooms_said
        if flows.worst:
            notes.append(f"{flows.worst[0]} and {flows.worst[1]} do not agree")
        return Calibrated(
            tuple(build.links),
            np.stack(build.k),
            {HOUSE: 0.0, "outdoors": 0.0},
            build.rooms,
            doors,
            build.plenum,
            tuple(leak for several in self.leaks.values() for leak in several),
            build.leak_rows,
            flows,
            build.places,
            self.evidence.assumed(placed),
            tuple(dict.fromkeys(notes)),
            statics,
            self.evidence.efficiency(sets, flows.flow, statics[0] + statics[1]),
        )

    def _suction(self, placed: list[Placed], sets: Sets) -> dict[str, Floats]:
        """Pull on the zones that leaks draw from, by zone [Pa]: a closet or basement is a node of its own where its pull was read."""
        pulls: dict[str, Floats] = {}
        for one in placed:
            zone = one.leak.zone
            draft = reading(self.record, zone, "draft", "found") if zone in self.record.items else None
            if zone and draft is not None and draft.value < 0.0:
                # Never more than half of what the weakest of its leaks has to give.
                pulls[zone] = np.minimum(pulls.get(zone, np.full(sets.count, -si(draft))), 0.5 * one.pressure)
        return pulls

    def _rooms(
        self, build: "_Build", drop: Floats, register: Floats, sets: Sets
    ) -> tuple[dict[str, Floats], list[str]]:
        """Branches from room flows scaled to what the registers get; one lumped link where nobody read them."""
        read = {key: sets.positive(f"{key}.flow") for key in self.rooms}
        whole = sum(read.values(), start=np.zeros(sets.count))
        total = reading(self.record, HOUSE_KEY, "register_flow", "found")
        rest = None
        if read and len(read) < sum(1 for i in self.record.items.values() if i.kind == "room"):
            all_rooms = si(total) if total is not None else float(register[0])
            left = all_rooms - float(whole[0])
            if left > 0.02 * all_rooms:
                rest = np.full(sets.count, left)
                whole = whole + rest
        notes = []
        if not read:
            build.branch(LUMPED, LUMPED, drop, register)
            return {}, ["no room's airflow was read: rooms are not predicted"]
        scale = register / whole
        if abs(float(scale[0]) - 1.0) > self.assumptions["predict_room_scaling"]:
            notes.append(
                f"the rooms' flows were scaled by {float(scale[0]):.2f} to what the registers get: low confidence"
            )
        doors = {}
        for key, flow in read.items():
            build.branch(key, f"room:{key}", drop, flow * scale)
            name = f"{key}.door_pressure"
            if name in self.inputs.known:
                doors[key] = self._door(sets.positive(name), drop, flow * scale)
                if self.inputs.known[name].value > float(drop[0]):
                    notes.append(
                        f"the pressure behind the shut door of {key} is above the plenum's: read one of them again"
                    )
        if rest is not None:
            build.branch(OTHERS, OTHERS, drop, rest * scale)
        return doors, notes

    @staticmethod
    def _door(pressure: Floats, drop: Floats, flow: Floats) -> Floats:
        """Resistance of a shut door from its pressure and the flow with the door shut; the plenum's pressure hardly knows of it."""
        door = np.minimum(pressure, 0.9 * drop)
        shut = flow * np.sqrt((drop - door) / drop)
        return np.asarray(door / shut**2)


def _room_first(record: JobRecord, assumptions: Assumptions) -> list[Piece]:
    """Supply pieces from the rooms to the unit; branches and plenum read together leave the plenum's own part to the plenum."""
    pieces = supply_side(record, assumptions)
    plenum, branches = pieces[-2], pieces[-1]
    if branches.reading is not None and plenum.reading is not None:
        own = branches.reading.value - plenum.reading.value
        if own > 0.0:
            branches = replace(branches, reading=branches.reading._replace(value=own))
        pieces = [*pieces[:-2], plenum, branches]
    elif branches.reading is not None:
        pieces = [*pieces[:-2], branches]
    return pieces[::-1]


def _gather_room(record: JobRecord, key: str, inputs: Inputs, assumptions: Assumptions) -> None:
    flow = reading(record, key, "flow", "found")
    door = reading(record, key, "door_pressure", "found")
    if flow is not None:
        inputs.add(f"{key}.flow", si(flow), assumptions.doubt(flow, "flow") / 2.0)
    if door is not None and door.value > 0.0:
        inputs.add(f"{key}.door_pressure", si(door), assumptions.doubt(door, "door_pressure") / 2.0)


class _Build:
    """Links and resistances under way; one owner, inside one call."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.links: list[Joined] = []
        self.k: list[Floats] = []
        self.rooms: dict[str, int] = {}
        self.leak_rows: dict[str, int] = {}
        self.places: dict[str, tuple[float, bool]] = {}
        self.plenum = OUTLET

    def add(self, id: str, a: str, b: str, exponent: float, part: str, drop: Floats, flow: Floats) -> int:
        self.links.append(Joined(id, a, b, exponent, part))
        self.k.append(np.asarray(np.broadcast_to(drop / flow**exponent, (self.count,))))
        return len(self.links) - 1

    def branch(self, id: str, part: str, drop: Floats, flow: Floats) -> None:
        self.rooms[id] = self.add(f"branch:{id}", self.plenum, HOUSE, FITTING_EXPONENT, part, drop, flow)

    def side(
        self,
        side: Side,
        drops: list[Floats],
        placed: list[Placed],
        flow: Floats,
        leak: Floats,
        pulls: dict[str, Floats],
    ) -> None:
        """Chain the pieces from the rooms to the unit; the flow grows by each leak on the way. Branches are not chained here."""
        supply = side.name == "supply"
        end = OUTLET if supply else INLET
        weights = sum((one.coefficient for one in placed), start=np.zeros(self.count))
        own = {one.leak.id: leak * one.coefficient / weights for one in placed}
        self._make_up(placed, own, supply, pulls)
        carried = flow - leak
        at, node = np.zeros(self.count), HOUSE
        for index, (piece, drop) in enumerate(zip(side.pieces, drops, strict=True)):
            here = sorted((one for one in placed if one.piece == index), key=lambda one: (one.share, one.leak.id))
            last = index == len(side.pieces) - 1
            done = np.zeros(self.count)
            for one in here:
                if one.share < 1.0:
                    part = np.maximum(one.pressure - at - done, 1e-6 * drop)
                    mid = f"{side.name}:leak:{one.leak.id}"
                    self._piece(f"{piece.id}:{one.leak.id}", piece, supply, node, mid, part, carried)
                    node, done = mid, done + part
                    self._leak(one, node, own[one.leak.id], supply, pulls)
                    carried = carried + own[one.leak.id]
            after = end if last else f"{side.name}:{piece.id}"
            if supply and index == 0:
                # The branches join the plenum's node to the rooms one by one.
                self.plenum = node = after
            else:
                self._piece(piece.id, piece, supply, node, after, np.maximum(drop - done, 1e-6 * drop), carried)
                node = after
            at = at + drop
            for one in here:
                if one.share >= 1.0:
                    self._leak(one, node, own[one.leak.id], supply, pulls)
                    carried = carried + own[one.leak.id]

    def _make_up(self, placed: list[Placed], own: dict[str, Floats], supply: bool, pulls: dict[str, Floats]) -> None:
        """The openings through which a zone gets the air that leaks draw from it, by its pull and all of those leaks."""
        for zone, pull in pulls.items():
            drawn = sum((own[one.leak.id] for one in placed if one.leak.zone == zone), start=np.zeros(self.count))
            if not supply:
                self.add(f"make-up:{zone}", HOUSE, f"zone:{zone}", FITTING_EXPONENT, f"make-up:{zone}", pull, drawn)

    def _piece(self, id: str, piece: Piece, supply: bool, near: str, far: str, drop: Floats, flow: Floats) -> None:
        a, b = (far, near) if supply else (near, far)
        self.add(id, a, b, piece.exponent, piece.id, drop, flow)

    def _leak(self, one: Placed, node: str, flow: Floats, supply: bool, pulls: dict[str, Floats]) -> None:
        space, pressure, zone = "outdoors", one.pressure, one.leak.zone
        if not supply and zone in pulls:
            space, pressure = f"zone:{zone}", pressure - pulls[zone]
        a, b = (node, space) if supply else (space, node)
        row = self.add(f"{LEAK}{one.leak.id}", a, b, 1.0 / LEAK_EXPONENT, f"{LEAK}{one.leak.id}", pressure, flow)
        self.leak_rows[one.leak.id] = row
        self.places[one.leak.id] = (float(one.place[0]), one.read)
