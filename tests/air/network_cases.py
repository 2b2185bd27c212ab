"""Air networks to solve: a typical house, random houses, and networks no house has."""

from random import Random

from airwarrant.air.network import Blower, BlowerCurve, Link, Network

CFM = 0.3048**3 / 60.0
IN_WC = 249.08891


def k_of(drop_inwc: float, flow_cfm: float, exponent: float = 2.0) -> float:
    """Resistance [Pa/(m3/s)^n] that takes a drop at a flow."""
    return drop_inwc * IN_WC / (flow_cfm * CFM) ** exponent


def curve_of(rows: list[tuple[float, float]]) -> BlowerCurve:
    """A blower's curve from rows of (in. w.c., cfm)."""
    return BlowerCurve.of_rows([(s * IN_WC, q * CFM) for s, q in rows])


TABLE = [(0.1, 1420.0), (0.2, 1390.0), (0.3, 1350.0), (0.4, 1300.0), (0.5, 1240.0), (0.6, 1165.0), (0.7, 1075.0)]
FLAT = [(0.1, 1200.0), (0.5, 1200.0), (0.9, 1200.0), (1.2, 1200.0), (1.5, 1000.0)]
PLATEAU = [(0.1, 1200.0), (0.3, 1200.0), (0.5, 1200.0), (0.7, 1190.0), (0.8, 1120.0), (0.9, 980.0)]


def typical_house(rows: list[tuple[float, float]] = TABLE) -> Network:
    """A split system in an attic: 31 links, 19 free nodes.

    Five closed-door rooms, each with a branch, a register and its door; two returns; leaks of the supply and the return to the
    attic; the house's own leaks.
    """
    links = [
        Link("grille-hall", "hall", "box-hall", k_of(0.05, 800)),
        Link("grille-den", "hall", "box-den", k_of(0.06, 400)),
        Link("return-duct-hall", "box-hall", "return-plenum", k_of(0.08, 800, 1.9), 1.9),
        Link("return-duct-den", "box-den", "return-plenum", k_of(0.09, 400, 1.9), 1.9),
        Link("filter", "return-plenum", "cabinet", k_of(0.12, 1200, 1.5), 1.5),
        Link("coil", "outlet", "plenum", k_of(0.22, 1200)),
        Link("trunk-east", "plenum", "east", k_of(0.05, 600, 1.9), 1.9),
        Link("trunk-west", "plenum", "west", k_of(0.05, 600, 1.9), 1.9),
        Link("leak-box", "attic", "box-hall", k_of(0.10, 30, 1 / 0.6), 1 / 0.6),
        Link("leak-return", "attic", "return-plenum", k_of(0.15, 40, 1 / 0.6), 1 / 0.6),
        Link("leak-cabinet", "attic", "cabinet", k_of(0.30, 25, 1 / 0.6), 1 / 0.6),
        Link("leak-plenum", "plenum", "attic", k_of(0.20, 40, 1 / 0.6), 1 / 0.6),
        Link("leak-east", "east", "attic", k_of(0.15, 25, 1 / 0.6), 1 / 0.6),
        Link("leak-west", "west", "attic", k_of(0.15, 25, 1 / 0.6), 1 / 0.6),
        Link("register-hall", "west", "hall", k_of(0.14, 160, 1.9), 1.9),
    ]
    rooms = {
        "bed-1": ("east", 220),
        "bed-2": ("east", 140),
        "study": ("east", 180),
        "kitchen": ("west", 260),
        "bath": ("west", 90),
    }
    for room, (trunk, flow) in rooms.items():
        links += [
            Link(f"branch-{room}", trunk, f"boot-{room}", k_of(0.10, flow, 1.9), 1.9),
            Link(f"register-{room}", f"boot-{room}", room, k_of(0.04, flow)),
            Link(f"door-{room}", room, "hall", k_of(0.012, flow)),
        ]
    links.append(Link("house", "hall", "outdoors", k_of(0.016, 800, 1 / 0.65), 1 / 0.65))
    return Network({"outdoors": 0.0, "attic": 0.0}, tuple(links), Blower("cabinet", "outlet", curve_of(rows)))


def scaled_house(draw: Random) -> Network:
    """The typical house with each resistance between a third and three times as large, and another blower."""
    base = typical_house()
    links = [Link(x.id, x.a, x.b, x.k * 3.0 ** draw.uniform(-1, 1), x.exponent) for x in base.links]
    size = draw.uniform(0.5, 1.6)
    rows = [(s, q * size) for s, q in draw.choice([TABLE, PLATEAU])]
    return Network(
        {"outdoors": 0.0, "attic": draw.uniform(-3.0, 3.0)}, tuple(links), Blower("cabinet", "outlet", curve_of(rows))
    )


def wild(draw: Random) -> Network:
    """Any connected graph: resistances over twelve powers of ten, any exponent, any falling table."""
    nodes = [f"n{i}" for i in range(draw.randint(2, 14))]
    fixed = {
        node: draw.choice([0.0, draw.uniform(-200.0, 200.0)])
        for node in nodes[: draw.randint(1, max(1, len(nodes) // 4))]
    }
    ends = [(nodes[i], nodes[draw.randrange(i)]) for i in range(1, len(nodes))]
    ends += [(draw.sample(nodes, 2)[0], draw.sample(nodes, 2)[1]) for _ in range(draw.randint(0, 20))]
    links = tuple(
        Link(
            f"l{i}", a, b, 10.0 ** draw.uniform(-2, 10), draw.choice([1.0, 1.5, 1 / 0.6, 1.9, 2.0, draw.uniform(1, 2)])
        )
        for i, (a, b) in enumerate(ends)
        if a != b
    )
    blower = None
    if draw.random() < 0.8:
        a, b = draw.sample(nodes, 2)
        static, flow, rows = draw.uniform(-50, 100), 10.0 ** draw.uniform(-2, 1), []
        for _ in range(draw.randint(2, 8)):
            rows.append((static, flow))
            static += draw.uniform(1, 80)
            flow *= draw.choice([1.0, draw.uniform(0.3, 1.0), draw.uniform(0.0, 1.0)])
        blower = Blower(a, b, BlowerCurve.of_rows(rows))
    return Network(fixed, links, blower)
