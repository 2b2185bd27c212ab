"""The air path from room to room as the network solved it: what each piece loses, where it leaks, which ways back were added."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.network import solve
from airwarrant.house.calibrate import HOUSE
from airwarrant.house.changes import Altered
from airwarrant.house.solved import Solved, drop_over, network_of

#: The rooms' branches stand side by side: what they lose is the pressure that feeds them.
_BRANCHES = "branches"
#: Where the curve of the house is solved, in shares of its flow: enough points for a smooth line.
_SHARES = (0.4, 0.55, 0.7, 0.85, 1.0, 1.15, 1.3)


@dataclass(frozen=True, slots=True)
class PathPiece:
    """One piece in the order of the air, from the rooms to the rooms.

    Attributes
    ----------
    side : {"return", "supply"}
    id : str
        Kind of piece, as `house.pieces.Piece` names it.
    item : str
        Key of the item of the record, ``house`` if it is none.
    reading : str
        ``key.field`` of the reading that is or would be taken over it.
    drop : float
        Pressure it loses [Pa].
    read : bool
        Whether somebody measured it; otherwise it is what the readings around it leave.
    """

    side: str
    id: str
    item: str
    reading: str
    drop: float
    read: bool


@dataclass(frozen=True, slots=True)
class PathLeak:
    """A leaky place: flow [m3/s] while the unit runs, into the ducts on the return side, out of them on the supply side."""

    id: str
    side: str
    at: str
    space: str
    flow: float


@dataclass(frozen=True, slots=True)
class AirPath:
    """One state of the path: as found, or after some work at one fan setting.

    Attributes
    ----------
    setting : str
        Empty for the house as found.
    flow, static : float
        Of the blower [m3/s], [Pa].
    inlet, outlet : float
        Pressures at the unit against the rooms [Pa].
    added : mapping of place to float
        Flow of each return that the work adds [m3/s].
    system : tuple of (float, float)
        The house's own curve: what static [Pa] it takes to move a flow [m3/s], solved at shares of the flow it has.
    """

    setting: str
    flow: float
    static: float
    inlet: float
    outlet: float
    pieces: tuple[PathPiece, ...]
    leaks: tuple[PathLeak, ...]
    added: Mapping[str, float]
    system: tuple[tuple[float, float], ...]


def path_of(altered: Altered, solved: Solved, setting: str) -> AirPath:
    """Read the path off a solved network, at its point."""
    return AirPath(
        setting,
        float(solved.flow[0]),
        float(solved.static[0]),
        float(solved.inlet[0]),
        float(solved.outlet[0]),
        tuple(_pieces(altered, solved)),
        tuple(_leaks(altered, solved)),
        _added(altered, solved),
        tuple(_system(altered, float(solved.flow[0]))),
    )


def _system(altered: Altered, flow: float) -> Iterator[tuple[float, float]]:
    for share in _SHARES:
        held = solve(network_of(altered, BlowerCurve.held(share * flow)))
        yield share * flow, held.static or 0.0


def _pieces(altered: Altered, solved: Solved) -> list[PathPiece]:
    out: list[PathPiece] = []
    back, ahead = altered.house.back, altered.house.ahead
    # Both sides run from the rooms to the unit; the air leaves by the supply side the other way round.
    for side, pieces in ((back, back.pieces), (ahead, ahead.pieces[::-1])):
        for piece in pieces:
            drop = solved.plenum if piece.id == _BRANCHES else drop_over(altered, solved, piece.id)
            read = piece.reading is not None
            out.append(PathPiece(side.name, piece.id, piece.item, piece.name, float(drop[0]), read))
    return out


def _leaks(altered: Altered, solved: Solved) -> list[PathLeak]:
    base = altered.base
    return [
        PathLeak(one.id, one.side, one.at, one.space, float(solved.flows[base.leak_rows[one.id]][0]))
        for one in base.leaks
    ]


def _added(altered: Altered, solved: Solved) -> dict[str, float]:
    """Flow of each link that leaves the rooms and was not there before."""
    known = {link.id for link in altered.base.links}
    out: dict[str, float] = {}
    for i, link in enumerate(altered.links):
        if link.a == HOUSE and link.id not in known:
            place = link.id.partition(":")[2].rpartition(":")[0] or link.id
            out[place] = out.get(place, 0.0) + float(solved.flows[i][0])
    return out
