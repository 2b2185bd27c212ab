"""Pictures to test with: an ordinary house, and everything that can go wrong with names and numbers. Fiction."""

from collections.abc import Callable, Iterator, Sequence
from math import inf, nan

from airwarrant.papers.pictures import (
    MISSING,
    AirPath,
    Axis,
    Curve,
    Door,
    DoorWords,
    Frame,
    Leak,
    Limit,
    Operation,
    Outlet,
    PathWords,
    Piece,
    ProfileWords,
    RoomFlow,
    RoomWords,
    Shown,
    Station,
    Step,
    WaterfallWords,
    air_path,
    blower_chart,
    door_pressures,
    pressure_profile,
    room_flows,
    waterfall,
)

WIDTHS = (672.0, 340.0, 240.0)
HOSTILE = (
    "<script>alert('x')</script>",
    "]]> & \" ' <!-- --> &amp; &#0;",
    "N" * 300,
    "word " * 80,
    "غرفة النوم الرئيسية في الطابق العلوي",
    "Bed 👩‍👩‍👧‍👦🏳️‍🌈🇲🇽 room",
    "a\x00b\x1b[31mc\ufffe\u202eevil\ud800",
    "寝室二号室大きい窓のある部屋",
    "z" + "\u0335" * 40,
    "﷽﷽﷽",
    "",
    " \n\t ",
)
BROKEN = (
    Shown(nan, ""),
    Shown(inf, "∞"),
    Shown(None, "", nan, 1.0),
    Shown(1e300, "1e300"),
    MISSING,
    Shown(-5.0, "−5"),
    Shown(0.0, "0"),
)


def fmt(value: float, decimals: int) -> str:
    return f"{value:,.{decimals}f}".replace("-", "−")


def exact(value: float, decimals: int = 0) -> Shown:
    return Shown(value, fmt(value, decimals))


def between(low: float, high: float, decimals: int = 0) -> Shown:
    return Shown((low + high) / 2.0, f"{fmt(low, decimals)}–{fmt(high, decimals)}", low, high)


PRESSURE = Axis("Static pressure against the rooms, in. w.c.", fmt)
FLOW = Axis("Air into the room, cfm", fmt)


def page(at: int, of: int) -> str:
    return f"({at} of {of})"


ROOM_WORDS = RoomWords("Room", "Now", "Asked for", "Predicted", "not measured", page)
DOOR_WORDS = DoorWords("Door of", "Found", "Predicted", "Most allowed", "not measured", page)
PROFILE_WORDS = ProfileWords("After each piece", "Found", "Predicted", "not measured")
WATERFALL_WORDS = WaterfallWords("Line of work", "Change", "Then at the registers", "not solved")
PATH_WORDS = PathWords(
    "From the rooms to the rooms",
    "Static pressure lost",
    "As found",
    "After the work",
    "Too tight",
    "Fine",
    "New",
    "Gets too little",
    "Air into each room, cfm",
    "not measured",
    lambda n: f"and {n} more",
)

ROOMS = (
    RoomFlow("Living room", exact(236), exact(304), between(282, 318)),
    RoomFlow("Kitchen", exact(172), exact(230), between(209, 235)),
    RoomFlow("Second bedroom", exact(72), exact(123), between(87, 99)),
    RoomFlow("Bathroom", exact(34), exact(37), between(35, 41)),
)
DOORS = (
    Door("Primary bedroom", exact(6.3, 1), between(7.0, 9.4, 1), exact(15)),
    Door("Second bedroom", exact(7.2, 1), between(11.3, 14.5, 1), exact(15)),
)
STATIONS = (
    Station("Rooms", exact(0.0, 2), exact(0.0, 2)),
    Station("Filter grille", exact(-0.14, 2), between(-0.09, -0.06, 2)),
    Station("Return duct", exact(-0.28, 2), between(-0.15, -0.11, 2)),
    Station("Roof elbow, return leg", exact(-0.46, 2), between(-0.26, -0.20, 2)),
    Station("Blower", exact(0.38, 2), between(0.33, 0.41, 2)),
    Station("Roof elbow, supply leg", exact(0.14, 2), between(0.23, 0.30, 2)),
    Station("Branches, to the rooms", exact(0.0, 2), exact(0.0, 2)),
)
START = Step("Like for like", between(877, 947))
STEPS = (
    Step("Replace the roof elbow", exact(1060), "+148"),
    Step("Add a return", exact(1178), "+118"),
    Step("Balance the rooms", exact(1170), "−8"),
)
END = Step("The whole scope", between(1143, 1197))
BLOWER = Curve(
    "Blower, from the maker's table",
    (
        (1500, 0.2),
        (1455, 0.3),
        (1405, 0.4),
        (1345, 0.5),
        (1275, 0.6),
        (1195, 0.7),
        (1105, 0.8),
        (1005, 0.9),
        (895, 1.0),
    ),
)
BEFORE = Operation(
    Curve("Ducts as they are", tuple((q, 0.88 * (q / 1026.0) ** 2) for q in range(600, 1101, 50))),
    "Like for like: 996–1,061 cfm at 0.84–0.92 in. w.c.",
    Shown(1026.0, "", 996.0, 1061.0),
    Shown(0.88, "", 0.839, 0.922),
)
AFTER = Operation(
    Curve("Ducts after the work", tuple((q, 0.633 * (q / 1249.0) ** 2) for q in range(600, 1501, 50))),
    "Whole scope: 1,182–1,316 cfm at 0.55–0.71 in. w.c.",
    Shown(1249.0, "", 1182.0, 1316.0),
    Shown(0.633, "", 0.555, 0.711),
)
LIMIT = Limit("Nameplate limit 0.80 in. w.c.", exact(0.80, 2))
HALL = (
    Piece("grille", "Hall return grille", mark="fine"),
    Piece(
        "filter",
        "Filter",
        exact(0.14, 2),
        between(0.06, 0.09, 2),
        leaks=(Leak(True, "43 cfm from the attic", "12 cfm left"),),
    ),
    Piece("duct", "Return duct, 14 in.", exact(0.14, 2), between(0.04, 0.07, 2), note="25 ft of flexible duct"),
)
NEW_RETURN = (
    Piece("grille", "Living room return grille", new=True),
    Piece("duct", "Return duct, 18 in.", None, between(0.04, 0.07, 2), new=True),
)
COMMON = (
    Piece("plenum", "Return box", leaks=(Leak(True, "69 cfm from the attic", "20 cfm left"),)),
    Piece("elbow", "Roof elbow, return leg", exact(0.18, 2), between(0.06, 0.12, 2), "tight", "Turns in two planes"),
    Piece("collar", "Collar", exact(0.02, 2), between(0.0, 0.08, 2), "fine"),
    Piece("blower", "Blower", leaks=(Leak(True, "32 cfm from outdoors"),)),
    Piece("elbow", "Roof elbow, supply leg", exact(0.24, 2), between(0.08, 0.14, 2), "tight"),
    Piece(
        "branches",
        "Branches",
        exact(0.12, 2),
        between(0.18, 0.25, 2),
        "fine",
        leaks=(Leak(False, "44 cfm to the attic"),),
    ),
)
OUTLETS = (
    Outlet("Living room", "236", "282–318"),
    Outlet("Second bedroom", "72", "87–99", short=True),
    Outlet("Bathroom", "34", "35–41"),
)
PATH = AirPath((HALL, NEW_RETURN), COMMON, OUTLETS)

Draw = Callable[[Frame], Sequence[str]]

ORDINARY: dict[str, Draw] = {
    "rooms": lambda f: room_flows(f, ROOMS, FLOW, ROOM_WORDS),
    "doors": lambda f: door_pressures(f, DOORS, PRESSURE, DOOR_WORDS),
    "profile": lambda f: [pressure_profile(f, STATIONS, PRESSURE, PROFILE_WORDS)],
    "waterfall": lambda f: [waterfall(f, START, STEPS, END, FLOW, WATERFALL_WORDS)],
    "blower": lambda f: [blower_chart(f, BLOWER, FLOW, PRESSURE, before=BEFORE, after=AFTER, limit=LIMIT)],
    "path": lambda f: [air_path(f, PATH, PATH_WORDS)],
}


def _broken(at: int) -> Shown:
    return BROKEN[at % len(BROKEN)]


def _name(at: int) -> str:
    return HOSTILE[at % len(HOSTILE)]


def hostile_piece(at: int) -> Piece:
    kinds = ("grille", "filter", "duct", "platform", "plenum", "collar", "elbow", "coil", "blower", "branches")
    leaks = tuple(Leak(bool(i % 2), _name(at + i), _name(at + i + 1)) for i in range(at % 3))
    marks = ("tight", "fine", "")
    lost = Shown(0.1 * (at % 4), _name(at + 2)) if at % 2 else _broken(at)
    return Piece(
        kinds[at % len(kinds)],  # type: ignore[arg-type]
        _name(at),
        lost,
        _broken(at + 1) if at % 3 else None,
        marks[at % 3],  # type: ignore[arg-type]
        _name(at + 3),
        leaks,
        at % 5 == 0,
    )


def _hostile_rooms() -> list[RoomFlow]:
    return [RoomFlow(_name(i), _broken(i), _broken(i + 1), Shown(50.0, _name(i + 1), 20.0, 90.0)) for i in range(26)]


def _hostile_doors() -> list[Door]:
    return [Door(_name(i), _broken(i), Shown(5.0, _name(i), 7.0, 3.0), _broken(i + 2)) for i in range(26)]


HARD: dict[str, Draw] = {
    "rooms": lambda f: room_flows(f, _hostile_rooms(), FLOW, ROOM_WORDS, most=12),
    "one room": lambda f: room_flows(f, ROOMS[:1], FLOW, ROOM_WORDS),
    "a hundred rooms": lambda f: room_flows(
        f,
        [RoomFlow(f"Room {i}", exact(30 + i), exact(60), between(40 + i, 50 + i)) for i in range(100)],
        FLOW,
        ROOM_WORDS,
    ),
    "all rooms missing": lambda f: room_flows(f, [RoomFlow("Room")] * 3, FLOW, ROOM_WORDS),
    "doors": lambda f: door_pressures(f, _hostile_doors(), PRESSURE, DOOR_WORDS, most=12),
    "profile": lambda f: [
        pressure_profile(f, [Station(_name(i), _broken(i), _broken(i + 3)) for i in range(14)], PRESSURE, PROFILE_WORDS)
    ],
    "no profile": lambda f: [pressure_profile(f, (), PRESSURE, PROFILE_WORDS)],
    "waterfall": lambda f: [
        waterfall(
            f,
            Step(_name(0), _broken(0)),
            [Step(_name(i), _broken(i), _name(i + 1)) for i in range(14)],
            END,
            FLOW,
            WATERFALL_WORDS,
        )
    ],
    "waterfall without steps": lambda f: [waterfall(f, START, (), END, FLOW, WATERFALL_WORDS)],
    "blower": lambda f: [
        blower_chart(
            f,
            Curve(HOSTILE[2], (*BLOWER.points, (nan, 1.0), (1000.0, inf))),
            FLOW,
            PRESSURE,
            before=Operation(Curve(HOSTILE[4], BEFORE.curve.points), HOSTILE[3], BEFORE.flow, BEFORE.static),
            after=Operation(Curve(HOSTILE[5], ()), HOSTILE[6], MISSING, AFTER.static),
            limit=Limit(HOSTILE[7], exact(0.8, 1)),
        )
    ],
    "blower, both alike": lambda f: [
        blower_chart(
            f,
            BLOWER,
            FLOW,
            PRESSURE,
            before=BEFORE,
            after=Operation(BEFORE.curve, AFTER.label, BEFORE.flow, BEFORE.static),
            limit=LIMIT,
        )
    ],
    "blower without anything": lambda f: [blower_chart(f, Curve("Blower", ()), FLOW, PRESSURE)],
    "path": lambda f: [
        air_path(
            f,
            AirPath(
                tuple((hostile_piece(2 * i), hostile_piece(2 * i + 1)) for i in range(3)),
                tuple(hostile_piece(i) for i in range(24)),
                tuple(Outlet(_name(i), _name(i + 1), _name(i + 2), i % 2 == 0) for i in range(100)),
            ),
            PATH_WORDS,
        )
    ],
    "path of thirty returns": lambda f: [air_path(f, AirPath((HALL[:2],) * 30, COMMON), PATH_WORDS)],
    "path of nothing": lambda f: [air_path(f, AirPath((), ()), PATH_WORDS)],
    "path of empty returns": lambda f: [air_path(f, AirPath(((), HALL, ()), COMMON), PATH_WORDS)],
}


def frame(prefix: str = "p", width: float = 672.0) -> Frame:
    return Frame(prefix, "A title", "A description.", width)


def every() -> Iterator[tuple[str, float, Draw]]:
    """Each sample at each width."""
    for width in WIDTHS:
        for name, draw in ORDINARY.items():
            yield f"{name} {width:.0f}", width, draw
        for name, draw in HARD.items():
            yield f"hard {name} {width:.0f}", width, draw
