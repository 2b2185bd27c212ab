"""What work makes of a drawn house, for the readings of later visits: balanced, or built in full."""

from dataclasses import replace

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.air_path import air_of
from airwarrant.made_jobs.causes import Planted
from airwarrant.made_jobs.draw import duct_piece, filter_piece
from airwarrant.made_jobs.drawn import CFM, IN2, INCHES, RETURN, SUPPLY, Blower, Door, House, Leak, Piece, Room
from airwarrant.made_jobs.stream import Stream

_STARVED = ("starved-room", "shut-damper")
_LEAKY = frozenset(("leaky-ducts", "platform-leak"))


def balanced(stream: Stream, house: House) -> House:
    """The house with its starved rooms fed again."""
    return replace(house, rooms=tuple(_fed(stream, room) for room in house.rooms))


def built(stream: Stream, house: House) -> tuple[House, Blower]:
    """The house with every planted cause cured, and the setting of the new unit that is then chosen.

    Poor work leaves most of the leaks and the rooms as they were.
    """
    poor = "poor-work" in house.planted
    if not poor:
        house = balanced(stream, house)
        house = replace(house, rooms=tuple(_let_out(stream, room) for room in house.rooms))
    house = _wider(stream, house)
    joints, opened = figures.pair("work/unit_keeps"), figures.names("work/unit_places")
    house = replace(
        house, leaks=tuple(_sealed(stream.between(joints), one) if one.at in opened else one for one in house.leaks)
    )
    if not _LEAKY.isdisjoint(house.planted.causes):
        keep = figures.pair("work/poor_leaks_keep" if poor else "work/leaks_keep")
        lined = figures.pair("work/poor_leaks_keep" if poor else "work/platform_keeps")
        leaks = tuple(
            one if one.at in opened else _sealed(stream.between(lined if _platform(house, one) else keep), one)
            for one in house.leaks
        )
        house = replace(house, leaks=leaks)
    return house, _chosen(house)


def _platform(house: House, leak: Leak) -> bool:
    return leak.side == RETURN and "platform-leak" in house.planted


def _sealed(keeps: float, leak: Leak) -> Leak:
    return replace(leak, at_25=max(round(leak.at_25 * keeps / CFM), 1) * CFM)


def _fed(stream: Stream, room: Room) -> Room:
    if room.fault not in _STARVED:
        return room
    kept = sum(figures.pair(f"cause/{room.fault}/keeps")) / 2.0
    return replace(
        room,
        k=room.k * (kept / stream.between(figures.pair("work/run_keeps"))) ** 2,
        offset=figures.number("work/offset_keeps") * room.offset,
    )


def _let_out(stream: Stream, room: Room) -> Room:
    """A door that was too tight, with a path beside it."""
    if room.fault != "closed-door" or room.door is None:
        return room
    wanted = room.door.area / stream.between(figures.pair("work/door")) ** 2
    more = round((wanted - room.door.area) / IN2) * IN2
    return replace(room, door=Door(room.door.width, room.door.undercut, room.door.cracks, room.door.transfer + more))


def _wider(stream: Stream, house: House) -> House:
    """Grille, return, elbow and plenum as they should have been."""
    planted, pieces, grille = house.planted, dict(house.pieces), house.grille_area
    swapped: dict[str, Piece] = {}
    if "tight-filter-grille" in planted or "platform-leak" in planted:
        load = stream.between(figures.pair("work/filter_load"))
        grille, swapped["filter-grille"] = filter_piece(load, 1.0, house.nominal)
    duct = house.duct
    if duct is not None and not {"undersized-return", "kinked-return"}.isdisjoint(planted.causes):
        diameter = int(figures.number(f"return/diameter/{house.tons:g}"))
        duct = replace(duct, diameter=max(diameter, duct.diameter), crushed=1.0)
        swapped["return-duct"] = duct_piece(duct, house.nominal)
    for name in _widened(planted):
        drop = stream.between(figures.pair("work/elbow")) * INCHES
        swapped[name] = Piece(name, drop / house.nominal**2, 2.0)
    for side in (RETURN, SUPPLY):
        pieces[side] = tuple(swapped.get(piece.id, piece) for piece in pieces[side])
    return replace(house, pieces=pieces, grille_area=grille, duct=duct)


def _widened(planted: Planted) -> tuple[str, ...]:
    elbow = ("return-elbow", "supply-elbow") if "narrow-elbow" in planted else ()
    return (*elbow, "plenum") if "bad-plenum" in planted else elbow


def _chosen(house: House) -> Blower:
    """The lowest setting of the new unit that moves enough air; else the highest."""
    least = figures.number("work/least_per_ton") * house.tons * CFM
    for blower in house.new:
        if air_of(house, blower, doors=False).flow >= least:
            return blower
    return house.new[-1]
