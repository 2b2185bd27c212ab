"""The words of a job record: every kind of thing, its fields, their units and closed words.

One list serves four readers: the record's shape and hard ranges, the JSON Schema, the policy's semantic checks and the
dictionary an owner writes rules with (``policy words``).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Form = Literal["word", "reading", "number", "link"]
Section = Literal["house", "old", "new", "blower", "visit", "item", "derived"]

UNKNOWN = "unknown"
YES_NO = ("yes", "no", UNKNOWN)


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind.

    Attributes
    ----------
    name : str
        The name rules and checks use, and the record's key unless `key` says otherwise.
    form : {"word", "reading", "number", "link"}
        A closed word; a reading with state and ±; a plain number (a size, a nameplate value); or the id of another item.
    title : str
        What it is, in the trade's terms.
    unit : str
        Canonical (inch-pound) unit of a reading or number; ``si_unit`` is the one a record in SI writes.
    words : tuple of str
        The closed words of a word field. ``unknown`` always belongs to them and stands for an absent field.
    hard : tuple of float or None
        Least and most the record may hold, in `unit`; outside it the record is refused.
    section : str
        Where the record holds it: ``[house]``, ``[old]``, ``[new]``, ``[old.blower]``/``[new.blower]``, a visit, the
        item's own block, or nowhere (derived by the program).
    timed : bool
        A figure of the equipment that is the old unit's for readings found and the new unit's for predicted and test-out.
    kind : str
        For a link: the kind of item it names.
    key : str
        The record's key where it differs from `name`.
    """

    name: str
    form: Form
    title: str
    unit: str = ""
    si_unit: str = ""
    words: tuple[str, ...] = ()
    hard: tuple[float, float] | None = None
    section: Section = "item"
    timed: bool = False
    kind: str = ""
    key: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of thing that rules speak of; `where` says where the survey asks for it."""

    name: str
    title: str
    where: str
    fields: Mapping[str, Field]


def _word(name: str, title: str, *words: str, section: Section = "item", key: str = "") -> Field:
    closed = words if UNKNOWN in words else (*words, UNKNOWN)
    return Field(name, "word", title, words=closed, section=section, key=key)


def _yes(name: str, title: str, section: Section = "item") -> Field:
    return _word(name, title, *YES_NO, section=section)


def _static(name: str, title: str, low: float = 0.0, high: float = 2.0, section: Section = "visit") -> Field:
    return Field(name, "reading", title, "in. w.c.", "Pa", hard=(low, high), section=section)


def _flow(name: str, title: str, high: float = 3500.0) -> Field:
    return Field(name, "reading", title, "cfm", "L/s", hard=(0.0, high), section="visit")


def _temp(name: str, title: str) -> Field:
    return Field(name, "reading", title, "F", "C", hard=(-60.0, 200.0), section="visit")


def _number(
    name: str, title: str, unit: str, si: str, low: float, high: float, section: Section = "item", timed: bool = False
) -> Field:
    return Field(name, "number", title, unit, si, hard=(low, high), section=section, timed=timed)


_FORMS = ("package-roof", "package-ground", "split-attic", "split-closet", "furnace-coil", "manufactured-home")
_BLOWERS = ("fixed-speed", "constant-torque", "constant-airflow")

_MATERIALS = ("flex", "metal", "duct-board", "lined")

_HOUSE = (
    _word("form", "Form of the new equipment", *_FORMS, section="new"),
    _word("old_form", "Form of the old equipment", *_FORMS, section="old", key="form"),
    _word("fuel", "Heating fuel of the new equipment", "gas", "oil", "electric", "heat-pump", "none", section="new"),
    _word("unit_runs", "The old unit can run", *YES_NO, section="old", key="runs"),
    _word("blower_kind", "Kind of the old blower", *_BLOWERS, section="blower", key="kind"),
    _word("new_blower_kind", "Kind of the new blower", *_BLOWERS, section="blower", key="kind"),
    _word(
        "table_includes",
        "What the old blower table includes (coil, filter) is stated",
        "stated",
        UNKNOWN,
        section="blower",
    ),
    _word(
        "return_path_space",
        "Space the return path runs through",
        "attic",
        "crawl",
        "garage",
        "roof",
        "closet",
        "basement",
        "inside",
        section="house",
    ),
    _word(
        "supply_path_space",
        "Space the supply ducts run through, if another than the return's",
        "attic",
        "crawl",
        "garage",
        "roof",
        "closet",
        "basement",
        "inside",
        section="house",
    ),
    _word(
        "filter_state",
        "Filter during the newest readings",
        "clean",
        "loaded",
        "wrong-size",
        section="visit",
        key="filter",
    ),
    _word("doors_state", "Inside doors during the newest readings", "open", "closed", section="visit", key="doors"),
    _word("fan_setting_known", "The fan setting of the readings is recorded", *YES_NO, section="derived"),
    _word("jurisdiction_known", "The market names its jurisdiction and code editions", *YES_NO, section="derived"),
    _word("tested", "A test-in visit on the old unit exists", *YES_NO, section="derived"),
    _number("floor_area", "Floor area the system serves", "ft2", "m2", 200, 8000, "house"),
    _number("year_built", "Year built", "year", "year", 1850, 2100, "house"),
    _number("altitude", "Altitude", "ft", "m", -280, 11000, "house"),
    _number("tons", "Nominal tons", "ton", "kW", 1, 6, "new", timed=True),
    _number("static_max", "Most external static on the nameplate", "in. w.c.", "Pa", 0.1, 1.5, "new", timed=True),
    _number(
        "maker_min_per_ton", "Least airflow the maker allows, per ton", "cfm/ton", "L/s/kW", 100, 600, "new", timed=True
    ),
    _number("heat_min_flow", "Least airflow the heating section needs", "cfm", "L/s", 0, 3500, "new", timed=True),
    _word("valve", "Metering device of the new coil", "txv", "other", section="new"),
    _number("capacity", "Rated total cooling capacity", "Btu/h", "kW", 6000, 90000, "new", timed=True),
    _number("seer", "Seasonal cooling efficiency on the label, Btu per Wh", "1", "1", 5, 40, "new", timed=True),
    _number("heat_output", "Output of the heating section", "Btu/h", "kW", 0, 200000, "new", timed=True),
    _number("rise_low", "Least temperature rise on the nameplate", "F diff", "K", 5, 100, "new", timed=True),
    _number("rise_high", "Most temperature rise on the nameplate", "F diff", "K", 5, 120, "new", timed=True),
    _number("strip_heat", "Electric heating elements installed", "kW", "kW", 0, 30, "new", timed=True),
    _number("ceiling_height", "Ceiling height", "ft", "m", 6.5, 25, "house"),
    _number("sensible_load", "Sensible cooling load of the house", "Btu/h", "kW", 1000, 150000, "house"),
    _number("supply_duct_area", "Surface of supply duct outside the rooms", "ft2", "m2", 0, 3000, "house"),
    _number("return_duct_area", "Surface of return duct outside the rooms", "ft2", "m2", 0, 2000, "house"),
    _number("supply_duct_r", "Insulation of supply duct, label", "h ft2 F/Btu", "m2 K/W", 0, 12, "house"),
    _number("return_duct_r", "Insulation of return duct, label", "h ft2 F/Btu", "m2 K/W", 0, 12, "house"),
    _number("electric_rate", "Price of electricity", "money/kWh", "money/kWh", 0.01, 2, "house"),
    Field(
        "conflict",
        "reading",
        "Worst disagreement between readings of one flow, in standard deviations",
        "1",
        "1",
        section="derived",
    ),
    Field("age", "number", "Days between the newest readings and the proposal", "d", "d", section="derived"),
    _static("return_static", "Return static pressure at the unit, negative", -2.0, 0.0),
    _static("supply_static", "Supply static pressure at the unit"),
    _static("external_static", "Total external static pressure"),
    _static("filter_drop", "Drop over filter and grille"),
    _static("return_duct_drop", "Drop over the return duct"),
    _static("collar_drop", "Drop over the collar at the unit"),
    _static("plenum_drop", "Drop over supply plenum and take-offs"),
    _static("branch_drop", "Drop over plenum and branches together"),
    _static("coil_drop", "Drop over an external coil"),
    _flow("airflow", "Blower airflow"),
    _flow("register_flow", "Sum of supply registers"),
    _flow("grille_flow", "Sum of return grilles"),
    Field("power", "reading", "Blower power", "W", "W", hard=(0, 2500), section="visit"),
    _flow("leakage_25", "Duct leakage at 25 Pa, total", 1200.0),
    _flow("leakage_return_25", "Duct leakage at 25 Pa, return side", 1200.0),
    _flow("leakage_supply_25", "Duct leakage at 25 Pa, supply side", 1200.0),
    _flow("return_leak", "Return leakage while running", 2000.0),
    _flow("supply_leak", "Supply leakage while running", 2000.0),
    Field(
        "house_pressure",
        "reading",
        "Pressure of the house, blower on less blower off",
        "Pa",
        "Pa",
        hard=(-30, 30),
        section="visit",
    ),
    _temp("grille_wet_bulb", "Wet bulb at the return grille"),
    _temp("grille_temp", "Air temperature at the return grille"),
    _temp("unit_temp", "Air temperature entering the unit"),
    _temp("supply_temp", "Air temperature leaving the unit"),
    _temp("attic_temp", "Air temperature in the attic or crawl"),
    _temp("outdoor_temp", "Outdoor air temperature"),
    Field("temperature_rise", "reading", "Heating temperature rise", "F diff", "K", hard=(0, 150), section="visit"),
    Field("ambient_co", "reading", "Carbon monoxide in the room air", "ppm", "ppm", hard=(0, 2000), section="visit"),
)

_ITEMS = (
    (
        "elbow",
        "Roof elbow",
        (
            _word("style", "Style of the elbow", "none", "narrow-two-plane", "wide-side-by-side", "radius", "square"),
            _yes("roof_access", "There is room and right on the roof for a wide elbow"),
            _number("return_area", "Inside area of the return leg", "in2", "cm2", 20, 1500),
            _number("supply_area", "Inside area of the supply leg", "in2", "cm2", 20, 1500),
            _number("return_opening", "Return opening of the new unit", "in2", "cm2", 20, 1500),
            _number("supply_opening", "Supply opening of the new unit", "in2", "cm2", 20, 1500),
            _static("return_leg", "Drop over the return leg"),
            _static("supply_leg", "Drop over the supply leg"),
        ),
    ),
    (
        "plenum",
        "Plenum",
        (
            _word("side", "Side of the unit", "supply", "return"),
            _yes("fits", "Right size for the new unit's flange"),
            _yes("sound", "Sound: no rust, rot or loose joints"),
            _yes("dry", "Dry and without mould"),
            _yes("clean", "Clean inside"),
            _yes("end_cap_takeoffs", "Take-offs in the end cap"),
            _static("drop", "Drop over the plenum"),
        ),
    ),
    (
        "platform",
        "Platform return",
        (
            _number("make_up", "Free area that joins its space to the rooms", "in2", "cm2", 0, 5000),
            _word("lining", "Lining of the platform", "bare", "lined", "ducted"),
            _yes("openings", "Open to wall, attic or floor spaces"),
            _yes("moisture", "Wet, or with mould-like growth"),
            Field("zone", "link", "Combustion zone it stands in", kind="zone"),
        ),
    ),
    ("grille", "Return grille with filter", (_number("gross", "Gross face area", "in2", "cm2", 30, 3000),)),
    (
        "return",
        "Return duct",
        (
            _number("diameter", "Inside diameter", "in", "mm", 3, 30),
            _number("length", "Length", "ft", "m", 0, 120),
            _number("bends", "Bends of a quarter turn", "1", "1", 0, 12),
            _word("material", "Material", *_MATERIALS),
            Field(
                "over_clean",
                "reading",
                "Drop over what such a duct would lose in good order",
                "1",
                "1",
                section="derived",
            ),
            _word("lands", "Where it ends", "unit-plenum", "return-box", "platform"),
            _word(
                "draws_from", "Where it takes its air", "rooms", "garage", "attic", "crawl", "closet", "furnace-room"
            ),
            _yes("same_space_as_flame", "Its opening is in one space with an open flame or draft hood"),
            Field(
                "flame_distance",
                "number",
                "Opening to the flame or draft hood",
                "ft",
                "m",
                hard=(0, 200),
                section="item",
            ),
        ),
    ),
    (
        "route",
        "Way for a further return",
        (
            _word("lands", "Where the new duct would end", "unit-plenum", "same-box", "same-grille"),
            _yes("possible", "There is a way for the duct"),
            _number("length", "Length of the way", "ft", "m", 1, 120),
            _number("diameter", "Largest inside diameter that fits", "in", "mm", 3, 30),
        ),
    ),
    (
        "leak",
        "Leaky place",
        (
            _word("side", "Side of the unit", "supply", "return"),
            _word(
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
            _word(
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
            Field("zone", "link", "Combustion zone it draws from", kind="zone"),
            _flow("leak_25", "Leakage of this place at 25 Pa", 1200.0),
            _flow("leak_flow", "Leakage of this place while running", 2000.0),
        ),
    ),
    (
        "run",
        "Branch duct",
        (
            _word("condition", "Condition", "good", "crushed", "kinked", "slack", "loose"),
            _word("damper", "Hand damper, as found", "none", "open", "part-shut"),
            _number("diameter", "Inside diameter", "in", "mm", 3, 20),
            _number("length", "Length", "ft", "m", 1, 120),
            Field("room", "link", "Room it serves", kind="room"),
        ),
    ),
    (
        "room",
        "Room",
        (
            _word("use", "Use of the room", "bedroom", "living", "kitchen", "dining", "bath", "hall", "other"),
            _word("complaint", "What the homeowner says of it", "hot", "cold", "stuffy", "noisy", "dusty", "none"),
            _yes("damper_access", "A balancing damper can be fitted or reached"),
            _yes("transfer_ok", "A transfer path to the hall is acceptable"),
            _yes("undercut_ok", "The door can be trimmed"),
            _word("balanced", "The system was balanced before the newest readings", *YES_NO, section="derived"),
            _number("target", "Design airflow", "cfm", "L/s", 0, 1000),
            _number("load", "Sensible cooling load", "Btu/h", "kW", 0, 40000),
            _number("area", "Floor area", "ft2", "m2", 10, 2000),
            _number("wall_area", "Outside wall, without windows", "ft2", "m2", 0, 2000),
            _number("glass_area", "Window glass", "ft2", "m2", 0, 600),
            _word(
                "glass_faces",
                "Side the glass faces",
                "north",
                "north-east",
                "east",
                "south-east",
                "south",
                "south-west",
                "west",
                "north-west",
            ),
            _word("ceiling_below", "What is above its ceiling", "attic", "roof", "inside"),
            _number("people", "People usually there in the afternoon", "1", "1", 0, 20),
            _number("door_width", "Width of its door", "in", "mm", 18, 72),
            _number("undercut", "Gap under its door, above the finished floor", "in", "mm", 0, 3),
            _number("transfer_area", "Net free area of transfer grille or jump duct", "in2", "cm2", 0, 400),
            _flow("flow", "Air into the room, door open", 1000.0),
            Field(
                "door_pressure",
                "reading",
                "Pressure in the room with its door shut",
                "Pa",
                "Pa",
                hard=(-60, 60),
                section="visit",
            ),
            Field("offset", "reading", "Room above the thermostat", "F diff", "K", hard=(-40, 40), section="visit"),
        ),
    ),
    (
        "zone",
        "Combustion zone",
        (
            _yes("open_draft", "Holds an appliance that takes its air from the room"),
            _word(
                "vents", "Weakest vent in the zone", "water-heater", "with-furnace", "induced", "power-vent", "sealed"
            ),
            _yes("return_leak_here", "A return leak draws from this zone"),
            Field("draft", "reading", "Worst-case pressure of the zone", "Pa", "Pa", hard=(-60, 30), section="visit"),
        ),
    ),
    (
        "appliance",
        "Combustion appliance",
        (
            _word("venting", "Venting", "natural-draft", "induced", "power-vent", "sealed"),
            Field("zone", "link", "Zone it stands in", kind="zone"),
            Field(
                "spill", "reading", "Spillage at the draft hood, warm vent", "s", "s", hard=(0, 1800), section="visit"
            ),
        ),
    ),
    (
        "material",
        "Wrap, tape or board of concern",
        (
            _yes("suspect_asbestos", "Asbestos-era wrap, tape or paper"),
            _yes("cut_needed", "It must be cut or disturbed for this job"),
        ),
    ),
)


def _kind(name: str, title: str, where: str, fields: tuple[Field, ...]) -> Kind:
    return Kind(name, title, where, MappingProxyType({f.name: f for f in fields}))


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "house": _kind("house", "The house and its system", "[house], [old], [new] and the head of each visit", _HOUSE),
        **{
            name: _kind(name, title, f"[[{name}]], readings in [[visit.{name}]]", fields)
            for name, title, fields in _ITEMS
        },
    }
)

TIMES = ("found", "predicted", "test-out")
HOUSE_KEY = "house"
