"""The air network of a drawn house, solved: what the air does, before anybody reads it."""

from collections.abc import Mapping
from dataclasses import dataclass

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.leakage import LEAK_EXPONENT, TEST_PRESSURE, leak_resistance
from airwarrant.air.network import Blower as NetworkBlower
from airwarrant.air.network import Link, Network, NetworkLayout, Solution, lay_out, solve
from airwarrant.air.openings import DISCHARGE, opening_resistance
from airwarrant.house.clean import FITTING_EXPONENT
from airwarrant.made_jobs.drawn import CFM, INCHES, RETURN, SUPPLY, Blower, House, Leak, Piece

_HOUSE, _INLET, _OUTLET, _PLENUM, _OUTDOORS = "house", "inlet", "outlet", "plenum", "outdoors"
#: Where a leak joins: the end of a piece, or half way along it. Others join at the unit.
_AFTER: Mapping[tuple[str, str], tuple[str, ...]] = {
    (RETURN, "grille"): ("filter-grille",),
    (RETURN, "platform"): ("filter-grille",),
    (RETURN, "box"): ("return-duct", "platform"),
}
_WITHIN: Mapping[tuple[str, str], str] = {
    (RETURN, "duct"): "return-duct",
    (SUPPLY, "elbow"): "supply-elbow",
    (SUPPLY, "coil"): "coil",
}
_AT_PLENUM = frozenset(("plenum", "branches"))
#: A leak along the branches sees half of the plenum's pressure on the way.
_HALF = 0.5


@dataclass(frozen=True, slots=True)
class Air:
    """What the air of a house does, SI.

    Attributes
    ----------
    flow : float
        Of the blower [m3/s].
    ports : mapping of side to tuple of float
        Pressures against the rooms [Pa]: on the return after each piece, the last at the unit; on the supply at the unit, then
        after each piece, the last in the plenum.
    rooms, leaks : mapping of key to float
        [m3/s].
    doors : mapping of key to float
        Pressure in a room with its own door shut [Pa].
    zone : float
        Pressure that the leaks make in the zone [Pa], 0 or below.
    """

    flow: float
    ports: Mapping[str, tuple[float, ...]]
    rooms: Mapping[str, float]
    leaks: Mapping[str, float]
    doors: Mapping[str, float]
    zone: float

    @property
    def static(self) -> float:
        """External static pressure [Pa]."""
        return self.ports[SUPPLY][0] - self.ports[RETURN][-1]

    def leak(self, side: str, house: House) -> float:
        """Leakage of a side at work [m3/s]."""
        return sum(self.leaks[one.id] for one in house.leaks if one.side == side)


def curve_of(blower: Blower) -> BlowerCurve:
    """The real blower: the maker's table times what it differs by."""
    return BlowerCurve.of_rows([(at * INCHES, flow * CFM) for at, flow in blower.table]).scaled(blower.apart)


def air_of(house: House, blower: Blower, *, filter_times: float = 1.0, doors: bool = True) -> Air:
    """Solve a house, doors open, and once more for each door shut.

    Parameters
    ----------
    house : House
    blower : Blower
    filter_times : float
        Resistance of filter and grille over that of a clean filter.
    doors : bool
        Whether the pressures behind shut doors are wanted.

    Raises
    ------
    NotConverged
        As `airwarrant.air.network.solve`.
    """
    curve = curve_of(blower)
    links = _links(house, filter_times)
    network = _network(links, curve)
    layout = lay_out(network)
    solution = solve(network, layout=layout)
    shut = _doors(house, links, curve, solution, layout) if doors else {}
    return _told(house, solution, shut)


def _network(links: Mapping[str, Link], curve: BlowerCurve) -> Network:
    return Network({_HOUSE: 0.0, _OUTDOORS: 0.0}, tuple(links.values()), NetworkBlower(_INLET, _OUTLET, curve))


def _links(house: House, filter_times: float) -> dict[str, Link]:
    made: list[Link] = []
    for side, first, last in ((RETURN, _HOUSE, _INLET), (SUPPLY, _OUTLET, _PLENUM)):
        made += _chain(house, side, first, last, filter_times)
    made += [Link(f"room:{room.key}", _PLENUM, _HOUSE, room.k, FITTING_EXPONENT) for room in house.rooms]
    if any(leak.zone for leak in house.leaks):
        k = opening_resistance(house.zone.make_up, DISCHARGE)
        made.append(Link("make-up", _HOUSE, _zone_node(house.zone.key), k, FITTING_EXPONENT))
    return {link.id: link for link in made}


def _zone_node(key: str) -> str:
    return f"zone:{key}"


def _chain(house: House, side: str, first: str, last: str, filter_times: float) -> list[Link]:
    """A side's pieces one behind the other in the direction of the air, each leak where it joins."""
    pieces = house.pieces[side]
    leaks = [leak for leak in house.leaks if leak.side == side]
    made: list[Link] = []
    at = {leak.id: _PLENUM if leak.at in _AT_PLENUM and side == SUPPLY else _unit(side) for leak in leaks}
    before = first
    for index, piece in enumerate(pieces):
        after = last if index == len(pieces) - 1 else f"{side}:{piece.id}"
        k = piece.k * (filter_times if piece.id == "filter-grille" else 1.0)
        within = [leak for leak in leaks if _WITHIN.get((side, leak.at)) == piece.id]
        if within:
            middle = f"{side}:{piece.id}:half"
            made += [
                _piece(piece, f"{piece.id}:{i}", a, b, _HALF * k)
                for i, (a, b) in enumerate(((before, middle), (middle, after)))
            ]
            at |= {leak.id: middle for leak in within}
        else:
            made.append(_piece(piece, piece.id, before, after, k))
        at |= {leak.id: after for leak in leaks if piece.id in _AFTER.get((side, leak.at), ())}
        before = after
    return made + [_leak(leak, at[leak.id]) for leak in leaks]


def _unit(side: str) -> str:
    return _INLET if side == RETURN else _OUTLET


def _piece(piece: Piece, id: str, a: str, b: str, k: float) -> Link:
    return Link(id, a, b, k, piece.exponent)


def _leak(leak: Leak, node: str) -> Link:
    k = leak_resistance(leak.at_25 * leak.at_work, TEST_PRESSURE, LEAK_EXPONENT)
    if leak.side == SUPPLY:
        return Link(leak.id, node, _OUTDOORS, k / _HALF if leak.at == "branches" else k, 1.0 / LEAK_EXPONENT)
    return Link(leak.id, _zone_node(leak.zone) if leak.zone else _OUTDOORS, node, k, 1.0 / LEAK_EXPONENT)


def _doors(
    house: House, links: Mapping[str, Link], curve: BlowerCurve, start: Solution, layout: NetworkLayout
) -> dict[str, float]:
    """Pressure behind each door with that door alone shut: branch and door in a row."""
    found = {}
    for room in house.rooms:
        if room.door is not None:
            k = opening_resistance(room.door.area, DISCHARGE)
            id = f"room:{room.key}"
            shut = {**links, id: Link(id, _PLENUM, _HOUSE, room.k + k, FITTING_EXPONENT)}
            found[room.key] = k * solve(_network(shut, curve), start, layout).flows[id] ** 2
    return found


def _told(house: House, solution: Solution, doors: Mapping[str, float]) -> Air:
    pressures, flows = solution.pressures, solution.flows
    ports = {
        RETURN: tuple(pressures[node] for node in (*_nodes(house, RETURN), _INLET)),
        SUPPLY: tuple(pressures[node] for node in (_OUTLET, *_nodes(house, SUPPLY), _PLENUM)),
    }
    zone = pressures.get(_zone_node(house.zone.key), 0.0)
    return Air(
        solution.blower_flow or 0.0,
        ports,
        {room.key: flows[f"room:{room.key}"] for room in house.rooms},
        {leak.id: flows[leak.id] for leak in house.leaks},
        doors,
        zone,
    )


def _nodes(house: House, side: str) -> list[str]:
    return [f"{side}:{piece.id}" for piece in house.pieces[side][:-1]]
