"""Words of the air path: elbows, plenums, platforms, grilles, returns, trunks, branches, leaky places, leftover openings."""

from airwarrant.job.fields import Field, flow, link, number, static, word, yes

_SIDES = ("supply", "return")
_PLACES = ("attic", "crawl", "garage", "roof", "closet", "basement", "inside")
_MATERIALS = ("flex", "metal", "duct-board", "lined")
_CAVITIES = ("lined-cavity", "bare-cavity")


def _side() -> Field:
    return word("side", "Side of the unit", *_SIDES)


def _duct(wet: bool = True) -> tuple[Field, ...]:
    """What is asked of every piece of duct."""
    of_all = (
        word("space", "Space it runs through", *_PLACES),
        number("insulation", "Insulation, label", "h ft2 F/Btu", "m2 K/W", 0, 12),
        word("closure", "What closes its joints", "mastic-mesh", "mastic", "listed-tape", "cloth-tape", "none"),
        word("reach", "It can be reached", "yes", "unit-off", "no"),
        yes("disturbed", "It is new or will be opened or moved in this job"),
    )
    return (*of_all, yes("wet", "Wet, sweating, or with mould-like growth")) if wet else of_all


AIR_PATH = (
    (
        "elbow",
        "Roof elbow",
        (
            word("style", "Style of the elbow", "none", "narrow-two-plane", "wide-side-by-side", "radius", "square"),
            yes("roof_access", "There is room and right on the roof for a wide elbow"),
            number("return_area", "Inside area of the return leg", "in2", "cm2", 20, 1500),
            number("supply_area", "Inside area of the supply leg", "in2", "cm2", 20, 1500),
            number("return_opening", "Return opening of the new unit", "in2", "cm2", 20, 1500),
            number("supply_opening", "Supply opening of the new unit", "in2", "cm2", 20, 1500),
            yes("vanes", "It has turning vanes"),
            yes("weathertight", "Its outside sheds the weather"),
            static("return_leg", "Drop over the return leg"),
            static("supply_leg", "Drop over the supply leg"),
        ),
    ),
    (
        "plenum",
        "Plenum",
        (
            _side(),
            yes("fits", "Right size for the new unit's flange"),
            yes("sound", "Sound: no rust, rot or loose joints"),
            yes("dry", "Dry and without mould"),
            yes("clean", "Clean inside"),
            yes("end_cap_takeoffs", "Take-offs in the end cap"),
            number("straight", "Straight length before the first take-off", "in", "mm", 0, 120),
            word("material", "Material", *_MATERIALS, *_CAVITIES),
            yes("lined_inside", "Lined inside"),
            *_duct(wet=False),
            static("drop", "Drop over the plenum"),
        ),
    ),
    (
        "platform",
        "Platform return",
        (
            number("make_up", "Free area that joins its space to the rooms", "in2", "cm2", 0, 5000),
            word("lining", "Lining of the platform", "bare", "lined", "ducted"),
            yes("openings", "Open to wall, attic or floor spaces"),
            number("opening_area", "Area of those openings", "in2", "cm2", 0, 1000),
            yes("pipes_through", "Pipes or wires pass through it"),
            word("touches", "Space its openings lead to", "attic", "crawl", "garage", "closet", "wall"),
            yes("moisture", "Wet, or with mould-like growth"),
            link("zone", "Combustion zone it stands in", kind="zone"),
        ),
    ),
    (
        "grille",
        "Return grille with filter",
        (
            number("gross", "Gross face area", "in2", "cm2", 30, 3000),
            number("box_opening", "Opening of the return box behind it", "in2", "cm2", 20, 3000),
            number("largest", "Largest gross face area that box or wall has room for", "in2", "cm2", 30, 5000),
            word("filter_at", "Where the filter sits", "grille", "unit", "none"),
            number("filter_depth", "Nominal depth of the filter", "in", "mm", 0.2, 8),
            number("filter_rating", "Rating of the filter, MERV", "1", "1", 1, 20),
        ),
    ),
    (
        "return",
        "Return duct",
        (
            number("diameter", "Inside diameter", "in", "mm", 3, 30),
            word("diameter_over", "What the diameter was measured over", "inside", "jacket"),
            number("length", "Length", "ft", "m", 0, 120),
            number("bends", "Bends of a quarter turn", "1", "1", 0, 12),
            word("material", "Material", *_MATERIALS, *_CAVITIES),
            word("condition", "Condition", "good", "crushed", "kinked", "slack", "loose"),
            Field(
                "over_clean",
                "reading",
                "Drop over what such a duct would lose in good order",
                "1",
                "1",
                section="derived",
            ),
            word("lands", "Where it ends", "unit-plenum", "return-box", "platform"),
            word(
                "draws_from",
                "Where it takes its air",
                "rooms",
                "garage",
                "attic",
                "crawl",
                "closet",
                "furnace-room",
                "bath",
                "kitchen",
            ),
            number("source_share", "Volume of the room it draws from, of all it serves", "%", "%", 0, 100),
            yes("source_open", "That room stands open to the others"),
            yes("same_space_as_flame", "Its opening is in one space with an open flame or draft hood"),
            number("flame_distance", "Opening to the flame or draft hood", "ft", "m", 0, 200),
            *_duct(),
        ),
    ),
    (
        "route",
        "Way for a further return",
        (
            word("lands", "Where the new duct would end", "unit-plenum", "same-box", "same-grille"),
            yes("possible", "There is a way for the duct"),
            yes("asked", "The homeowner asks for it"),
            word("space", "Space it would run through", *_PLACES),
            word(
                "draws_from",
                "Where it would take its air",
                "rooms",
                "garage",
                "attic",
                "crawl",
                "closet",
                "furnace-room",
                "bath",
                "kitchen",
            ),
            number("length", "Length of the way", "ft", "m", 1, 120),
            number("diameter", "Largest inside diameter that fits", "in", "mm", 3, 30),
        ),
    ),
    (
        "trunk",
        "Trunk duct",
        (
            _side(),
            number("inside_area", "Inside area", "in2", "cm2", 10, 2000),
            number("length", "Length", "ft", "m", 1, 200),
            word("material", "Material", *_MATERIALS, *_CAVITIES),
            word("condition", "Condition", "good", "crushed", "loose", "rusted"),
            *_duct(),
        ),
    ),
    (
        "leak",
        "Leaky place",
        (
            _side(),
            word(
                "at",
                "Where on the air path it sits",
                "grille",
                "duct",
                "box",
                "elbow",
                "platform",
                "unit",
                "coil",
                "plenum",
                "branches",
            ),
            word(
                "space",
                "Space it leaks to or draws from",
                "attic",
                "outdoors",
                "crawl",
                "garage",
                "closet",
                "basement",
                "inside",
            ),
            link("zone", "Combustion zone it draws from", kind="zone"),
            word("gap", "Width of the gap", "under-quarter-inch", "to-three-quarters", "over-three-quarters"),
            number("from_unit", "Way along the duct to the unit", "ft", "m", 0, 200),
            word(
                "surface", "What must be sealed", "clean-metal", "metal", "flex", "duct-board", "wood", "service-panel"
            ),
            word("reach", "It can be reached", "yes", "unit-off", "no"),
            word("state", "State of the surface", "sound", "wet", "mould-like", "suspect-wrap"),
            flow("leak_25", "Leakage of this place at 25 Pa", 1200.0),
            flow("leak_flow", "Leakage of this place while running", 2000.0),
        ),
    ),
    (
        "run",
        "Branch duct",
        (
            word("condition", "Condition", "good", "crushed", "kinked", "slack", "loose"),
            word("damper", "Hand damper, as found", "none", "open", "part-shut"),
            number("diameter", "Inside diameter", "in", "mm", 3, 20),
            word("diameter_over", "What the diameter was measured over", "inside", "jacket"),
            number("length", "Length", "ft", "m", 1, 120),
            number("bends", "Bends of a quarter turn", "1", "1", 0, 12),
            word("material", "Material", *_MATERIALS, *_CAVITIES),
            word("takes_off", "Where it leaves the plenum or trunk", "side", "top", "end-cap"),
            yes("crossover", "It joins two halves of a manufactured home"),
            yes("on_ground", "It lies on the ground"),
            number("support_gap", "Widest gap between supports", "ft", "m", 0, 40),
            link("room", "Room it serves", kind="room"),
            *_duct(),
        ),
    ),
    (
        "opening",
        "Leftover opening in the ducts",
        (
            word("was", "What it served", "evaporative-cooler", "old-return", "other"),
            word("closed_by", "What closes it", "nothing", "thin-damper", "capped"),
            word("space", "Space it leads to", *_PLACES, "outdoors"),
            word("reach", "It can be reached", "yes", "unit-off", "no"),
        ),
    ),
)
